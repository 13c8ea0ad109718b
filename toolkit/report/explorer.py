"""What the part of the page that can be moved is fed with: verdicts and outcomes along the swept axes (floor 6)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.view import default_place
from toolkit.findings.conditions import facts_of_results
from toolkit.findings.display import display_text, display_unit, long_name, to_display
from toolkit.findings.limits import MISSING_VALUE, OUTCOME_OFFSET, binding_short, binding_words, limit_words, limits_of
from toolkit.findings.reading import axis_is_numeric, axis_values
from toolkit.quantities import OUTCOMES, Outcome

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["MOST_AXES", "MOST_NUMBERS", "SHOWN", "explorer_data"]

MOST_AXES = 8
"""Two axes of the grid and six to move along."""

MOST_NUMBERS = 160_000
"""Numbers that the page holds; above it axes are thinned."""

MOST_OUTCOMES = 10

_NOT_RUN = OUTCOME_OFFSET + int(Outcome.not_run)
SHOWN = (
    "time_to_steady", "time_to_turn", "peak_heel", "peak_tension", "peak_contact_force", "swept_radius_all",
    "residual_speed", "drift_distance",
)  # fmt: skip
"""Outcomes of a case, behind those that limits are set on and those that are drawn of its manoeuvre."""
_IMPORTANT = (
    "bollard_pull", "displacement", "wind_speed", "wind_from", "manoeuvre", "tug_attitude", "current_speed",
    "line_length", "power_setting", "water_depth", "current_to", "failure",
)  # fmt: skip
_GRID = ("displacement", "bollard_pull", "wind_speed", "current_speed", "line_length", "power_setting", "water_depth")
_POOLED = ("wind_from", "current_to", "draw")


@dataclass
class _Axis:
    """One swept axis and the places of it that are kept."""

    name: str
    size: int
    stride: int
    places: list[int]


def explorer_data(
    dataset: xr.Dataset,
    judged: xr.Dataset,
    *,
    source: str = "RESULTS",
    grid: Sequence[str] = (),
    begin: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """Verdicts and outcomes as plain lists, in C order over the axes named; missing numbers are None.

    Parameters
    ----------
    dataset, judged : xarray.Dataset
        Results on a grid and their judgement, with the same dimensions.
    source : str
        What commands name as the results.
    grid : sequence of str
        Axes to begin with, down and across; the usual ones after them.
    begin : mapping, optional
        Words of choices to begin at, by axis.

    Returns
    -------
    dict
        ``axes``, ``binding`` (codes of `binding_limit`), ``used`` (largest
        value over limit [%]), ``outcomes``, ``codes`` (words), ``notes`` on what
        was cut or thinned; ``why`` where there is no grid to show.
    """
    dims = [str(dim) for dim in judged["passes"].dims]
    if not judged["passes"].size or "case" in dims:
        why = "there is no case in these results" if not judged["passes"].size else (
            "they are samples, each case at values of its own, and make no grid"
        )  # fmt: skip
        return {"axes": [], "why": f"Nothing can be moved along in these results: {why}."}
    stride, axes = 1, []
    for dim in reversed(dims):
        size = judged.sizes[dim]
        axes.append(_Axis(name=dim, size=size, stride=stride, places=list(range(size))))
        stride *= size
    axes.reverse()
    names = _outcomes(dataset)
    notes = _cut(dataset, axes) + _thin(axes, len(names) + 2)
    kept = {axis.name: axis.places for axis in axes}
    part, verdict = dataset.isel(kept), judged.isel(kept)
    shown = [axis for axis in axes if len(axis.places) > 1]
    if len(shown) < 1:
        return {"axes": [], "why": "Nothing can be moved along in these results: one case was run."}
    codes = np.asarray(verdict["binding_limit"].values).ravel().astype(int)
    if len(names) < len(_candidates(dataset)):
        notes.append(f"Of each case {len(names)} outcomes are shown here; all of them are in the store.")
    return {
        "source": source,
        "axes": [_described(dataset, axis, (*grid, *_GRID), begin or {}) for axis in shown],
        "first": sum(axis.places[0] * axis.stride for axis in axes if len(axis.places) == 1),
        "binding": codes.tolist(),
        "used": _plain(100.0 * verdict["utilisation"].values, 3),
        "outcomes": [_outcome(part, name, limits_of(judged)) for name in names],
        "codes": [
            {"code": code, "short": "pass" if code == 0 else binding_short(code), "words": _words(code),
             "ended": code >= MISSING_VALUE}
            for code in _by_number(codes)
        ],
        "notRun": _NOT_RUN,
        "notes": notes,
    }  # fmt: skip


def _candidates(dataset: xr.Dataset) -> list[str]:
    told = dict.fromkeys((*limits_of(dataset), *facts_of_results(dataset).figures, *SHOWN))
    wanted = [name for name in told if name != "peak_heel_fraction" or name in limits_of(dataset)]
    return [n for n in wanted if n in dataset.data_vars and bool(np.isfinite(dataset[n].values.astype(float)).any())]


def _outcomes(dataset: xr.Dataset) -> list[str]:
    return _candidates(dataset)[:MOST_OUTCOMES]


def _cut(dataset: xr.Dataset, axes: list[_Axis]) -> list[str]:
    """Cut the least important axes at one value, where there are more than can be moved along."""
    swept = [axis for axis in axes if axis.size > 1]
    rank = {name: place for place, name in enumerate(_IMPORTANT)}
    swept.sort(key=lambda axis: rank.get(axis.name, len(rank)))
    told = []
    for axis in swept[MOST_AXES:]:
        place, why = default_place(dataset, axis.name)
        axis.places = [place]
        value = display_text(axis.name, axis_values(dataset, axis.name)[place])
        told.append(f"{long_name(axis.name)} is held at {value} ({why} of {axis.size}) here.")
    return told


def _thin(axes: list[_Axis], columns: int) -> list[str]:
    """Keep every other value of the longest axes until the page can hold the numbers; the ends stay."""
    before = {axis.name: len(axis.places) for axis in axes}
    while math.prod(len(axis.places) for axis in axes) * columns > MOST_NUMBERS:
        longest = max(axes, key=lambda axis: (len(axis.places), axis.name in _POOLED))
        if len(longest.places) < 3:
            longest.places = longest.places[:1]
            continue
        last = longest.places[-1]
        longest.places = [*longest.places[:-1:2], last] if longest.name not in _POOLED else longest.places[::2]
    return [
        f"{long_name(axis.name)}: {len(axis.places)} of the {axis.size} values run are in this grid, so that the page "
        "stays small."
        for axis in axes
        if len(axis.places) < before[axis.name]
    ]


def _described(dataset: xr.Dataset, axis: _Axis, order: Sequence[str], begin: Mapping[str, str]) -> dict[str, Any]:
    values = axis_values(dataset, axis.name)
    numbers = axis_is_numeric(dataset, axis.name)
    middle = axis.places.index(min(axis.places, key=lambda p: abs(p - (axis.size - 1) // 2)))
    words = [values[p] for p in axis.places]
    first = words.index(begin[axis.name]) if begin.get(axis.name) in words else 0
    return {
        "name": axis.name,
        "label": long_name(axis.name),
        "values": [display_text(axis.name, values[p]) for p in axis.places],
        "kind": "number" if numbers else "choice",
        "offsets": [p * axis.stride for p in axis.places],
        "start": -1 if axis.name in _POOLED else middle if numbers else first,
        "grid": order.index(axis.name) if axis.name in order else len(order) + (not numbers),
    }


def _outcome(part: xr.Dataset, name: str, limits: dict[str, float]) -> dict[str, Any]:
    limit = limit_words(name, limits[name]).removeprefix(long_name(name)).strip() if name in limits else ""
    return {
        "label": long_name(name),
        "unit": display_unit(name),
        "limit": limit,
        "meaning": OUTCOMES[name].help if name in OUTCOMES else "",
        "values": _plain(to_display(name, part[name].values), 4),
    }


def _plain(values: NDArray[np.float64], digits: int) -> list[float | None]:
    """Numbers of so many significant digits in C order, None where one is missing or not finite."""
    return [
        None
        if not math.isfinite(value)
        else int(short)
        if (short := float(f"{value:.{digits}g}")).is_integer()
        else short
        for value in np.asarray(values, dtype=float).ravel().tolist()
    ]


def _by_number(codes: NDArray[np.int64]) -> list[int]:
    """Codes that occur: passing first, then the most frequent."""
    found, counts = np.unique(codes, return_counts=True)
    order = sorted(zip(found.tolist(), counts.tolist(), strict=True), key=lambda pair: (pair[0] != 0, -pair[1]))
    return [code for code, _ in order]


def _words(code: int) -> str:
    """What a code says of a case, as the end of a sentence that begins with the case."""
    if code == 0:
        return "completed, and keeps every limit"
    if code == MISSING_VALUE:
        return "lacks a value that a limit is set on"
    if code == _NOT_RUN:
        return "was not run"
    if code >= OUTCOME_OFFSET:
        return f"did not complete: {binding_words(code)}"
    return f"breaks the limit on {binding_words(code)}"
