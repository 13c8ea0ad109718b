"""What a figure shows of a many-dimensional dataset: the slice chosen, and the caption that says so (floor 6)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.figures.style import CAUTION, DIRECTION_NOTE
from toolkit.findings import share_of_runs, shares_text, worst_over, worst_values
from toolkit.findings.conditions import facts_of_results, fixed_text, idle_of, said_once
from toolkit.findings.display import as_sentence, display_text, long_name
from toolkit.findings.reading import axis_is_numeric, axis_values, bare, provenance
from toolkit.findings.worst import VALUED
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "Slice", "bare", "caption", "default_place", "fixed_text", "master_note", "number_axes", "position_of",
    "take_slice",
]  # fmt: skip

_CALM = ("wind_speed", "current_speed")
_DIRECTIONS = ("wind_from", "current_to")
_MIDDLE = ("bollard_pull", "displacement", "power_setting")
_OF_THE_MASTER = (Outcome.not_steady, Outcome.timed_out, Outcome.lost_station, Outcome.collided)


def number_axes(dataset: xr.Dataset) -> tuple[str, ...]:
    """Swept axes of numbers that are in use, with two values or more, in the order of the dataset."""
    idle = idle_of(dataset)
    return tuple(
        str(dim)
        for dim in dataset["outcome"].dims
        if dataset.sizes[dim] > 1 and axis_is_numeric(dataset, str(dim)) and str(dim) not in idle
    )


def position_of(dataset: xr.Dataset, axis: str, value: Any) -> int:
    """Position of a value on an axis.

    Raises
    ------
    StudyError
        If the axis has no such value.
    """
    values = axis_values(dataset, axis)
    for place, option in enumerate(values):
        if option == value or (
            not isinstance(option, str)
            and isinstance(value, (int, float))
            and math.isclose(option, value, rel_tol=1e-9, abs_tol=1e-12)
        ):
            return place
    raise StudyError(
        [
            Problem(
                where=f"slice.{axis}",
                what=f"{axis} = {value} is not on the grid",
                why="a figure shows cases that were run, nothing in between",
                remedy=f"Use one of: {', '.join(display_text(axis, v) for v in values)}",
            )
        ]
    )


@dataclass(frozen=True, kw_only=True)
class Slice:
    """What is left of a dataset once the axes that a figure does not show are cut.

    Attributes
    ----------
    dataset, judged : xarray.Dataset
        What is drawn. Where directions were reduced, the worst over them.
    cases : xarray.Dataset
        Judgement of every case behind it, for counting.
    behind : int
        Cases behind each one drawn: 1, or as many as it is the worst of.
    notes : tuple of str
        One line of text an axis cut.
    """

    dataset: xr.Dataset
    judged: xr.Dataset
    cases: xr.Dataset
    behind: int
    notes: tuple[str, ...]


def default_place(dataset: xr.Dataset, axis: str) -> tuple[int, str]:
    """Position at which an axis is cut unless a caller says, and why: ``lowest``, ``middle`` or ``first``."""
    values = axis_values(dataset, axis)
    if axis in _CALM:
        return values.index(min(values)), "lowest"
    if axis in _MIDDLE:
        order = sorted(range(len(values)), key=values.__getitem__)
        return order[(len(values) - 1) // 2], "middle"
    return 0, "first"


def take_slice(
    dataset: xr.Dataset,
    judged: xr.Dataset,
    keep: Iterable[str],
    at: Mapping[str, Any] | None = None,
    *,
    names: Iterable[str] = (),
) -> Slice:
    """Cut every axis that is not kept down to one value, and say which.

    Where `at` gives no value: directions of wind and current are reduced to the
    worst over all of them, so that only what passes in every direction passes;
    wind and current speed take their lowest (calm), bollard pull, displacement
    and power their middle value, all else its first.

    Parameters
    ----------
    dataset, judged : xarray.Dataset
        Results and their judgement, with the same dimensions.
    keep : iterable of str
        Axes to keep; samples along ``case`` are always kept.
    at : mapping, optional
        Values [dataset units] or words to cut at, by axis.
    names : iterable of str
        Outcomes that are drawn, beside ``outcome``.

    Returns
    -------
    Slice
        With coordinates along its axes alone. Lazy if the two are.

    Raises
    ------
    StudyError
        If a value of `at` is not on the grid.
    """
    kept, wanted = {*keep, "case"}, dict(at or {})
    places: dict[str, int] = {}
    over: list[str] = []
    notes: list[str] = []
    idle = idle_of(dataset)
    for dim in map(str, dataset["outcome"].dims):
        size = dataset.sizes[dim]
        if dim in kept or size == 0:
            continue
        if dim in _DIRECTIONS and dim not in wanted and size > 1:
            over.append(dim)
            notes.append(f"{long_name(dim)}: worst over {size} directions (only what passes in every one passes)")
            continue
        if dim in idle:
            places[dim] = 0
            continue  # not used: all values are one case
        chosen = dim in wanted
        places[dim], why = (position_of(dataset, dim, wanted[dim]), "chosen") if chosen else default_place(dataset, dim)
        note = f"{long_name(dim)} {display_text(dim, axis_values(dataset, dim)[places[dim]])}"
        notes.append(note if size == 1 else f"{note} ({why} of {size})")
    shown = [name for name in names if name in dataset.data_vars]
    # without the fixed inputs as scalar coordinates, which every step would merge anew
    part, cases = (bare(one.isel(places)) for one in (dataset[["outcome", *shown]], judged))
    part = part.assign_attrs({VALUED: " ".join(facts_of_results(dataset).valued_though_failed)})
    if not over:
        return Slice(dataset=part, judged=cases, cases=cases, behind=1, notes=tuple(notes))
    return Slice(
        dataset=worst_values(part, cases, over, shown),
        judged=worst_over(cases, over),
        cases=cases,
        behind=math.prod(dataset.sizes[dim] for dim in over),
        notes=tuple(notes),
    )


def master_note(drawn: Iterable[xr.Dataset]) -> tuple[str, ...]:
    """Sentence on symbols that hang on what the modelled master did; none where no such symbol is drawn.

    Parameters
    ----------
    drawn : iterable of xarray.Dataset
        With the ``outcome`` of every case that gets a symbol.
    """
    codes = set().union(*(np.unique(one["outcome"].values).tolist() for one in drawn))
    found = [outcome.name.replace("_", " ") for outcome in _OF_THE_MASTER if int(outcome) in codes]
    if not found:
        return ()
    words = as_sentence(", ".join(found))
    return (f"{words}: such ends say what the modelled master did; neighbouring cases may differ.",)


def caption(
    dataset: xr.Dataset, judged: xr.Dataset, *, lead: Sequence[str] = (), notes: Sequence[str] = ()
) -> tuple[str, ...]:
    """Paragraphs below a figure: what it shows, limits, runs, inputs, conventions, provenance, caution.

    Parameters
    ----------
    dataset : xarray.Dataset
        The whole results dataset or the slice drawn; its scalar coordinates are
        told as fixed inputs unless they are among the slice notes.
    judged : xarray.Dataset
        The cases drawn: their counts are told.
    lead : sequence of str
        Sentences on how to read this figure.
    notes : sequence of str
        Lines of :func:`take_slice`.
    """
    lines = [" ".join(lead)] if lead else []
    if notes:
        lines.append(f"Slice: {said_once('; '.join(notes))}.")
    lines.append(f"Limits: {judged.attrs.get('limits_applied', 'none')}.")
    lines.append(f"Cases drawn: {shares_text(share_of_runs(judged))}")
    lines.append(f"Fixed: {fixed_text(dataset)}.")
    lines.append(f"{DIRECTION_NOTE}. {provenance(dataset.attrs)}")
    lines.append(CAUTION)
    return tuple(lines)
