"""What a figure shows of a many-dimensional dataset: the slice chosen, and the caption that says so (floor 6)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from toolkit.errors import Problem, StudyError
from toolkit.figures.style import CAUTION, DIRECTION_NOTE
from toolkit.findings import share_of_runs, shares_text
from toolkit.findings.display import display_text, long_name
from toolkit.findings.reading import axis_is_numeric, axis_values, provenance

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["caption", "fixed_text", "number_axes", "position_of", "take_slice"]

_CALM = ("wind_speed", "current_speed")
_DIRECTIONS = ("wind_from", "current_to")
_TOLD = (
    "manoeuvre", "tug_attitude", "tug_type", "working_end", "turn", "target_angle", "bollard_pull", "power_setting",
    "displacement", "loading", "line_length", "line_material", "wind_speed", "wind_from", "gust_factor",
    "current_speed", "current_to", "water_depth", "swing_rate_limit", "basin_radius",
)  # fmt: skip
_LINE_ONLY = ("line_length", "line_material")


def number_axes(dataset: xr.Dataset) -> tuple[str, ...]:
    """Swept axes of numbers with two values or more, in the order of the dataset."""
    return tuple(
        str(dim) for dim in dataset["outcome"].dims if dataset.sizes[dim] > 1 and axis_is_numeric(dataset, str(dim))
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


def _direction_of_fewest(judged: xr.Dataset, axis: str) -> int:
    """Position of the direction in which the fewest cases pass; the first of several."""
    passes = judged["passes"]
    return int(passes.sum([d for d in passes.dims if d != axis]).argmin(axis).item())


def take_slice(
    dataset: xr.Dataset, judged: xr.Dataset, keep: Iterable[str], at: Mapping[str, Any] | None = None
) -> tuple[xr.Dataset, xr.Dataset, tuple[str, ...]]:
    """Cut every axis that is not kept down to one value, and say which.

    Where `at` gives no value: wind and current speed take their lowest (calm),
    a direction the one in which the fewest cases pass, all else its first value.

    Parameters
    ----------
    dataset, judged : xarray.Dataset
        Results and their judgement, with the same dimensions.
    keep : iterable of str
        Axes to keep; samples along ``case`` are always kept.
    at : mapping, optional
        Values [dataset units] or words to cut at, by axis.

    Returns
    -------
    tuple
        The two cut datasets, and one line of text an axis cut.
    """
    kept, wanted = {*keep, "case"}, dict(at or {})
    places: dict[str, int] = {}
    notes: list[str] = []
    for dim in map(str, dataset["outcome"].dims):
        if dim in kept:
            continue
        size = dataset.sizes[dim]
        if size == 0:
            continue
        values = axis_values(dataset, dim)
        if dim in wanted:
            places[dim], why = position_of(dataset, dim, wanted[dim]), "chosen"
        elif dim in _CALM and size > 1:
            places[dim], why = values.index(min(values)), "lowest"
        elif dim in _DIRECTIONS and size > 1:
            places[dim], why = _direction_of_fewest(judged, dim), "fewest cases pass there"
        else:
            places[dim], why = 0, "first"
        note = f"{long_name(dim)} {display_text(dim, values[places[dim]])}"
        notes.append(note if size == 1 else f"{note} ({why} of {size})")
    return dataset.isel(places), judged.isel(places), tuple(notes)


def fixed_text(dataset: xr.Dataset, leave_out: Iterable[str] = ()) -> str:
    """Inputs with one value that matter to a reader, in users' units."""
    left = set(leave_out) | {str(dim) for dim in dataset.dims}
    values: dict[str, Any] = {}
    for name in _TOLD:
        if name in dataset.coords and name not in left and dataset[name].ndim == 0:
            value = dataset[name].item()
            if isinstance(value, str) or not math.isnan(value):
                values[name] = value
    for speed, direction in (("wind_speed", "wind_from"), ("current_speed", "current_to")):
        if values.get(speed) == 0.0:
            values.pop(direction, None)
    if values.get("gust_factor") == 1.0:
        values.pop("gust_factor")
    if values.get("manoeuvre") == "swing_push":
        for name in _LINE_ONLY:
            values.pop(name, None)
    said = []
    for name, value in values.items():
        words = display_text(name, value)
        said.append(words if name == "manoeuvre" else f"{long_name(name)} {words}")
    return _once(", ".join(said)) or "none recorded"


def _once(text: str) -> str:
    """Say 'from' and 'to' once where the name of a bearing ends in it."""
    return text.replace("wind from from ", "wind from ").replace("current to to ", "current to ")


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
        lines.append(f"Slice: {_once('; '.join(notes))}.")
    lines.append(f"Limits: {judged.attrs.get('limits_applied', 'none')}.")
    lines.append(f"Cases drawn: {shares_text(share_of_runs(judged))}")
    lines.append(f"Fixed: {fixed_text(dataset)}.")
    lines.append(f"{DIRECTION_NOTE}. {provenance(dataset.attrs)}")
    lines.append(CAUTION)
    return tuple(lines)
