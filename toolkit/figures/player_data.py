"""What the player page is fed with: columns along time, and what they mean (floor 6)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from toolkit.figures.reading_history import bears, channel, events_of, outcome_name, phase_spans
from toolkit.figures.scene import Hull, Scene, scene_of, swept_places
from toolkit.figures.strips import Strip
from toolkit.figures.surroundings import Surroundings, surroundings_of, view_of
from toolkit.quantities.channels import CHANNELS
from toolkit.quantities.units import to_user_unit, user_label

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["Moment", "moments_of", "player_data", "readings_of"]

CLOSE = 1.6
"""Size of the view that stays with barge and tug, over their reach."""

DECIMALS = {"m": 2, "degree": 1, "percent": 0}
"""Decimals of what is shown in a unit; 2 where none is named."""

_PEAKS = {
    "tug_heel": "largest heel on record",
    "line_tension": "largest tension on record",
    "contact_force": "largest contact force on record",
}
_READINGS = (
    "angle_turned", "swing_rate", "barge_heading", "tug_heading", "tug_heel", "line_tension", "line_lead",
    "contact_force", "power_ordered", "thrust_port", "thrust_starboard", "gust",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Moment:
    """One line of the list of moments.

    Attributes
    ----------
    time : float
        [s].
    words : str
    marked : bool
        Whether it has an upright line in the curves.
    """

    time: float
    words: str
    marked: bool


def moments_of(history: xr.Dataset, strips: tuple[Strip, ...]) -> list[Moment]:
    """Beginnings of phases, events, and the largest heel and force on record, in order of time."""
    time = channel(history, "time")
    found = [
        Moment(time=start, words=f"phase: {words}", marked=False)
        for start, end, words in phase_spans(history)
        if end > start
    ]
    found += [Moment(time=event.time, words=event.words, marked=True) for event in events_of(history)]
    for strip in strips:
        size = np.abs(strip.values)
        if strip.name in _PEAKS and np.isfinite(size).any() and np.nanmax(size) > 0.0:
            at = int(np.nanargmax(size))
            words = f"{_PEAKS[strip.name]}, {strip.values[at]:.3g} {strip.unit}"
            found.append(Moment(time=float(time[at]), words=words, marked=True))
    return sorted(found, key=lambda moment: moment.time)


def readings_of(history: xr.Dataset) -> list[str]:
    """Names of the channels whose present value is told in words: what the case has, gusts where there are any."""
    gusty = np.unique(channel(history, "gust")).size > 1
    return [name for name in _READINGS if bears(history, name) and (gusty or name != "gust")]


def player_data(history: xr.Dataset, strips: tuple[Strip, ...], moments: list[Moment]) -> dict[str, Any]:
    """Everything that the page draws, as plain lists, numbers and words; missing numbers are None.

    Parameters
    ----------
    history : xarray.Dataset
        Channels along ``time``, facts as attributes or scalar variables.
    strips : tuple of Strip
        Of :func:`toolkit.figures.strips.strips_of`.
    moments : list of Moment
        Of :func:`moments_of`.

    Returns
    -------
    dict
        ``columns`` hold channels by name in the units that people use; all
        else refers to them by name.
    """
    scene, around = scene_of(history), surroundings_of(history)
    columns: dict[str, list[float | None]] = {}
    for name in {*readings_of(history), *(strip.name for strip in strips)}:
        columns[name] = _plain(_shown(history, name), _decimals(name))
    data: dict[str, Any] = {
        "outcome": outcome_name(history),
        "time": _plain(channel(history, "time"), 2),
        "phases": [{"start": a, "end": b, "words": words} for a, b, words in phase_spans(history)],
        "moments": [
            {"number": place + 1, "time": one.time, "words": one.words, "marked": one.marked}
            for place, one in enumerate(moments)
        ],
        "strips": [_strip(strip) for strip in strips],
        "readings": [
            {"column": name, "unit": user_label(CHANNELS[name]), "decimals": _decimals(name)}
            for name in readings_of(history)
        ],
        "scene": None if scene is None else _scene(scene, around, columns),
    }
    return {**data, "columns": dict(sorted(columns.items()))}


def _shown(history: xr.Dataset, name: str) -> NDArray[np.float64]:
    return to_user_unit(CHANNELS[name], channel(history, name))


def _decimals(name: str) -> int:
    return DECIMALS.get(CHANNELS[name].user_unit, 2)


def _plain(values: ArrayLike, decimals: int) -> list[float | None]:
    """Rounded numbers, None where one is missing or not finite."""
    rounded = np.round(np.asarray(values, dtype=np.float64), decimals)
    return [value if math.isfinite(value) else None for value in rounded.tolist()]


def _points(values: NDArray[np.float64] | None) -> list[list[float]] | None:
    return None if values is None else np.round(values, 2).tolist()


def _strip(strip: Strip) -> dict[str, Any]:
    return {
        "column": strip.name,
        "low": strip.low,
        "high": strip.high,
        "levels": [
            {"value": level.value, "words": level.words, "dashes": _dashes(level.line)} for level in strip.levels
        ],
    }


def _dashes(line: Any) -> str:
    """Line style of matplotlib as the dashes of SVG."""
    return " ".join(f"{2 * part:g}" for part in line[1]) if isinstance(line, tuple) else ""


def _scene(scene: Scene, around: Surroundings, columns: dict[str, list[float | None]]) -> dict[str, Any]:
    places = swept_places(scene)
    view = view_of(scene, around, places)
    low, high = view.points.min(axis=0), view.points.max(axis=0)
    room = 0.05 * view.reach()
    for name, hull in (("barge", scene.barge), ("tug", scene.tug)):
        columns[f"{name}_north"] = _plain(hull.north, 2)
        columns[f"{name}_east"] = _plain(hull.east, 2)
        columns[f"{name}_heading"] = _plain(hull.heading, 1)
    if scene.line is not None:
        columns["line_taut"] = _plain(np.where(scene.line.on, scene.line.taut, np.nan), 0)
    thrust = CHANNELS["thrust_port"]
    for drive in scene.drives:
        columns[drive.words] = _plain(to_user_unit(thrust, drive.thrust), 2)
        columns[f"direction of the {drive.words}"] = _plain(drive.direction, 1)
    return {
        "view": [*(low - room).tolist(), *(high + room).tolist()],
        "close": CLOSE * view.pair,
        "swept": places.tolist(),
        "barge": _hull("barge", scene.barge),
        "tug": _hull("tug", scene.tug),
        "bow": _points(scene.barge.outline[:2] * [0.9, 1.0]),
        "line": None if scene.line is None else {"barge": scene.line.barge_point, "tug": scene.line.tug_point},
        "drives": [
            {"ahead": drive.ahead, "starboard": drive.starboard, "thrust": drive.words,
             "direction": f"direction of the {drive.words}"} for drive in scene.drives
        ],
        "largest": float(to_user_unit(thrust, scene.largest_thrust())),
        "arrow": float(np.ptp(scene.tug.outline[:, 0])),
        "radius": around.radius if math.isfinite(around.radius) else None,
        "edge": _points(around.edge),
        "shoals": [_points(shoal) for shoal in around.shoals],
        "berth": _points(around.berth),
    }  # fmt: skip


def _hull(name: str, hull: Hull) -> dict[str, Any]:
    return {"outline": _points(hull.outline), **{part: f"{name}_{part}" for part in ("north", "east", "heading")}}
