"""Whether two results differ only in what is compared (floor 5)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.display import display_text
from toolkit.findings.reading import axis_values
from toolkit.quantities import INPUTS
from toolkit.quantities.units import parse

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["check_draws", "cut_at", "differing_inputs", "value_at"]

_SAME = 1e-9


def value_at(dataset: xr.Dataset, axis: str, value: Any) -> tuple[int, str]:
    """Place of a value on an axis of a grid, and words for it.

    Parameters
    ----------
    dataset : xarray.Dataset
    axis : str
        Name of a swept input.
    value : str or float
        Word of a choice, number in dataset units, or text with a unit.

    Raises
    ------
    StudyError
        If the axis is not swept on a grid, or has no such value.
    """
    values = axis_values(dataset, axis) if axis in dataset["outcome"].dims else []
    wanted = value
    if isinstance(value, str) and axis in INPUTS and not INPUTS[axis].is_choice:
        wanted = parse(INPUTS[axis], value, where=axis)
    for place, option in enumerate(values):
        alike = option == wanted if isinstance(option, str) else _close(option, wanted)
        if alike:
            return place, display_text(axis, option)
    raise StudyError(
        [
            Problem(
                where=str(dataset.attrs.get("title", "dataset")),
                what=f"{axis} = {value} is not swept",
                why="only cases that were run can be taken or paired, nothing in between",
                remedy=f"Sweep {axis} on a grid with this value; it has: "
                + (", ".join(display_text(axis, option) for option in values) or "none"),
            )
        ]
    )


def cut_at(dataset: xr.Dataset, at: dict[str, str]) -> xr.Dataset:
    """Part of a grid with each named axis cut at one value, as :func:`value_at` reads it; all problems at once."""
    places: dict[str, int] = {}
    problems: list[Problem] = []
    for axis, value in at.items():
        try:
            places[axis] = value_at(dataset, axis, value)[0]
        except StudyError as error:
            problems.extend(error.problems)
    if problems:
        raise StudyError(problems)
    return dataset.isel(places)


def _close(a: Any, b: Any) -> bool:
    if isinstance(a, str) or isinstance(b, str):
        return bool(a == b)
    return bool(np.isclose(float(a), float(b), rtol=_SAME, atol=1e-12, equal_nan=True))


def differing_inputs(first: xr.Dataset, second: xr.Dataset) -> tuple[str, ...]:
    """Fixed inputs in which two results differ, in the order of the register."""
    found = []
    for name in INPUTS:
        values = [
            d[name].item() if name in d.coords and d[name].ndim == 0 else None
            for d in (first, second)
            if name not in d.dims
        ]
        if len(values) == 2 and not (values[0] is None and values[1] is None):
            a, b = (np.nan if v is None else v for v in values)
            if not _close(a, b):
                found.append(name)
    return tuple(found)


def check_draws(first: xr.Dataset, second: xr.Dataset) -> None:
    """Refuse two results whose cases of the same number are not alike.

    Raises
    ------
    StudyError
        If inputs along ``case`` differ, or the seeds of the draws do.
    """
    problems = []
    if "case" in first.dims and "case" in second.dims:
        shared = np.intersect1d(axis_values(first, "case"), axis_values(second, "case"))
        for name in INPUTS:
            if all(name in d.coords and d[name].dims == ("case",) for d in (first, second)) and shared.size:
                rows = [d[name].values[np.isin(axis_values(d, "case"), shared)] for d in (first, second)]
                alike = np.array([_close(a, b) for a, b in zip(*(r.tolist() for r in rows), strict=True)])
                if not alike.all():
                    problems.append(
                        Problem(
                            where="pairing",
                            what=f"{name} differs in {np.count_nonzero(~alike)} of {alike.size} cases of one number",
                            why="the two were sampled otherwise, so no case has all else alike",
                            remedy="Sample both with the same swept inputs and seed, and fix what is compared in each",
                        )
                    )
    seeds = [_seed(d) for d in (first, second)]
    if any("draw" in d.dims for d in (first, second)) and seeds[0] != seeds[1]:
        problems.append(
            Problem(
                where="pairing",
                what=f"the draws come from seeds {seeds[0]} and {seeds[1]}",
                why="draws of one number are the same gusts and crew only with the same seed",
                remedy="Give both studies the same seed, or the same draw_seed",
            )
        )
    if problems:
        raise StudyError(problems)


def _seed(dataset: xr.Dataset) -> str:
    """Seed of the draws: the input, else that of the study."""
    given = dataset.coords.get("draw_seed")
    if given is not None and given.ndim == 0 and np.isfinite(float(given)):
        return f"{float(given):.0f}"
    return str(dataset.attrs.get("seed", "not recorded"))
