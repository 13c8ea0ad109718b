"""What moves in the plan view of one case: hulls, line and drives, entry by entry (floor 6)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.reading_history import bears, channel, fact, number
from toolkit.particulars.tug_shares import DRIVE_HALF_SPACING_SHARE, TYPE_SHARES
from toolkit.quantities import INPUTS

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "MOST_SWEPT", "SLACK_SHARE", "Drive", "Hull", "Scene", "TowingLine", "barge_outline", "placed", "scene_of",
    "spaced", "swept_places", "tug_outline",
]  # fmt: skip

Array = NDArray[np.float64]

SLACK_SHARE = 0.002
"""Tension over breaking load below which a line is drawn slack; as in the outcome `share_of_time_slack`."""


MOST_SWEPT = 400
"""Outlines of a hull that together stand for the ground swept, at most."""


def barge_outline(length: float, beam: float) -> Array:
    """Corners of a box-like barge, bow first.

    Parameters
    ----------
    length, beam : float
        [m].

    Returns
    -------
    ndarray, shape (4, 2)
        Forward and to starboard of midships [m].
    """
    a, b = length / 2, beam / 2
    return np.array([[a, -b], [a, b], [-a, b], [-a, -b]])


def tug_outline(length: float, beam: float) -> Array:
    """Waterline of a tug, drawn with a rounded stem and a square stern; shape (n, 2) [m]."""
    a, b = length / 2, beam / 2
    round_stem = np.linspace(-np.pi / 2, np.pi / 2, 15)
    stem = np.column_stack((0.1 * length + (a - 0.1 * length) * np.cos(round_stem), b * np.sin(round_stem)))
    return np.vstack((stem, [[-a, 0.85 * b], [-a, -0.85 * b]]))


def placed(shape: Array, north: float, east: float, heading: float) -> Array:
    """Points of a hull as (east, north) [m].

    Parameters
    ----------
    shape : ndarray, shape (n, 2)
        Forward and to starboard of midships [m].
    north, east : float
        Midships [m].
    heading : float
        [degree, true].

    Returns
    -------
    ndarray, shape (n, 2)
    """
    c, s = math.cos(math.radians(heading)), math.sin(math.radians(heading))
    ahead, starboard = shape[:, 0], shape[:, 1]
    return np.column_stack((east + ahead * s + starboard * c, north + ahead * c - starboard * s))


@dataclass(frozen=True, kw_only=True)
class Hull:
    """A hull along time.

    Attributes
    ----------
    outline : ndarray, shape (n, 2)
        Forward and to starboard of midships [m].
    north, east : ndarray, shape (entries,)
        Midships [m].
    heading : ndarray, shape (entries,)
        [degree, true].
    """

    outline: Array
    north: Array
    east: Array
    heading: Array

    def at(self, place: int, shape: Array | None = None) -> Array:
        """Outline, or another shape of this hull, at one entry as (east, north) [m]."""
        points = self.outline if shape is None else shape
        return placed(points, self.north[place], self.east[place], self.heading[place])

    def known(self) -> NDArray[np.bool_]:
        """Entries at which she has a place; shape (entries,)."""
        return np.isfinite(self.north) & np.isfinite(self.east) & np.isfinite(self.heading)


@dataclass(frozen=True, kw_only=True)
class TowingLine:
    """The line from barge to tug.

    Attributes
    ----------
    barge_point, tug_point : tuple of float
        Where it is made fast, forward and to starboard of midships [m].
    taut : ndarray of bool, shape (entries,)
    on : ndarray of bool, shape (entries,)
        Whether it is made fast: a job has legs without it.
    """

    barge_point: tuple[float, float]
    tug_point: tuple[float, float]
    taut: NDArray[np.bool_]
    on: NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class Drive:
    """One drive of the tug.

    Attributes
    ----------
    words : str
    ahead, starboard : float
        Its place from midships [m].
    thrust : ndarray, shape (entries,)
        On the tug [N].
    direction : ndarray, shape (entries,)
        Of that thrust, clockwise from the tug's bow [degree].
    """

    words: str
    ahead: float
    starboard: float
    thrust: Array
    direction: Array


@dataclass(frozen=True, kw_only=True)
class Scene:
    """Plan view of a case, entry by entry.

    Attributes
    ----------
    time : ndarray, shape (entries,)
        [s].
    barge, tug : Hull
    line : TowingLine or None
        None where no line is used.
    drives : tuple of Drive
    """

    time: Array
    barge: Hull
    tug: Hull
    line: TowingLine | None
    drives: tuple[Drive, ...]

    def line_ends(self, place: int) -> Array:
        """Line at one entry, barge's end first: (east, north) [m], shape (2, 2); NaN without a line."""
        if self.line is None:
            return np.full((2, 2), np.nan)
        ends = [
            hull.at(place, np.array([point]))
            for hull, point in ((self.barge, self.line.barge_point), (self.tug, self.line.tug_point))
        ]
        return np.vstack(ends)

    def corners(self, places: NDArray[np.int64]) -> Array:
        """All corners of both hulls that are known at some entries, as (east, north) [m]."""
        points = np.vstack([hull.at(int(place)) for place in places for hull in (self.barge, self.tug)])
        return points[np.isfinite(points).all(axis=1)]

    def largest_thrust(self) -> float:
        """Largest thrust of one drive [N]; 0 where none is recorded."""
        values = np.concatenate([drive.thrust for drive in self.drives]) if self.drives else np.empty(0)
        return float(np.nanmax(values)) if np.isfinite(values).any() else 0.0


def scene_of(history: xr.Dataset) -> Scene | None:
    """Read what moves; None where the history holds no positions or lacks the dimensions of the hulls.

    Parameters
    ----------
    history : xarray.Dataset
        Channels along ``time``, facts as attributes or scalar variables. The
        drives are drawn at ``tug_drive_point`` forward of midships and
        ``tug_drive_half_spacing`` off the centreline [m] where these facts are
        given, otherwise where tugs of her type have them.
    """
    sizes = [number(history, name) for name in ("barge_length", "barge_beam", "tug_length", "tug_beam")]
    if not all(math.isfinite(size) for size in sizes):
        return None
    hulls = {
        name: Hull(outline=outline, **{part: channel(history, f"{name}_{part}") for part in
                                       ("north", "east", "heading")})
        for name, outline in (("barge", barge_outline(*sizes[:2])), ("tug", tug_outline(*sizes[2:])))
    }  # fmt: skip
    if not hulls["barge"].known().any():
        return None
    return Scene(
        time=channel(history, "time"), **hulls, line=_line_of(history), drives=_drives_of(history, sizes[2], sizes[3])
    )


def _line_of(history: xr.Dataset) -> TowingLine | None:
    points = [number(history, name) for name in ("barge_towing_point", "tug_towing_point")]
    if not bears(history, "line_tension") or not all(math.isfinite(point) for point in points):
        return None
    mbl = number(history, "line_mbl")
    slack = SLACK_SHARE * mbl if math.isfinite(mbl) else 0.0
    # the fact, in metres, is the attribute; the input of the same name is a share of the beam
    offset = float(history.attrs.get("barge_towing_offset", 0.0))
    return TowingLine(
        barge_point=(points[0], offset),
        tug_point=(points[1], 0.0),
        taut=channel(history, "line_tension") > slack,
        on=np.isfinite(channel(history, "line_tension")),
    )


def _drives_of(history: xr.Dataset, length: float, beam: float) -> tuple[Drive, ...]:
    tug_type, ahead = fact(history, "tug_type"), number(history, "tug_drive_point")
    kinds = INPUTS["tug_type"].choices
    if not math.isfinite(ahead):
        kind = kinds.index(tug_type) if tug_type in kinds else 0
        ahead = TYPE_SHARES[min(kind, len(TYPE_SHARES) - 1)].drive_x.value * length
    off = number(history, "tug_drive_half_spacing")
    off = off if math.isfinite(off) else DRIVE_HALF_SPACING_SHARE.value * beam
    return tuple(
        Drive(
            words=f"{side} drive",
            ahead=ahead,
            starboard=sign * off,
            thrust=channel(history, f"thrust_{side}"),
            direction=channel(history, f"azimuth_{side}"),
        )
        for side, sign in (("port", -1.0), ("starboard", 1.0))
        if bears(history, f"thrust_{side}")
    )


def _steps(hull: Hull, usable: NDArray[np.int64]) -> Array:
    """How far no point of a hull moves more than, from each entry to the next [m]."""
    half = 0.5 * float(np.ptp(hull.outline[:, 0]))
    turned = np.diff(np.deg2rad(hull.heading[usable]))
    turned = np.abs(np.mod(turned + np.pi, 2.0 * np.pi) - np.pi)
    step = np.hypot(np.diff(hull.north[usable]), np.diff(hull.east[usable])) + half * turned
    return np.where(np.isfinite(step), step, 0.0)


def _evenly(usable: NDArray[np.int64], step: Array, count: int) -> NDArray[np.int64]:
    """Some of the entries, so that about as much movement lies between each and the next."""
    if usable.size <= count:
        return usable
    moved = np.concatenate(([0.0], np.cumsum(step)))
    if moved[-1] <= 0.0:
        moved = np.arange(usable.size, dtype=np.float64)
    found = np.searchsorted(moved, np.linspace(0.0, moved[-1], count))
    chosen: NDArray[np.int64] = usable[np.unique(np.concatenate((found[:-1], [usable.size - 1])))]
    return chosen


def spaced(scene: Scene, count: int, *, of_tug: bool = False) -> NDArray[np.int64]:
    """Entries at which the barge, or the tug, has moved by equal amounts, first and last included.

    Parameters
    ----------
    scene : Scene
    count : int
        Most entries.
    of_tug : bool
        Whether the tug's movement counts, not the barge's.

    Returns
    -------
    ndarray of int
        Rising; all of them where there are no more than `count`.
    """
    usable = np.nonzero(scene.barge.known())[0]
    return _evenly(usable, _steps(scene.tug if of_tug else scene.barge, usable), count)


def swept_places(scene: Scene, within: float = 0.5) -> NDArray[np.int64]:
    """Entries whose outlines together cover what both hulls sweep, first and last included.

    Between one and the next no point of either hull moves more than a share
    `within` of the smaller beam, as long as :data:`MOST_SWEPT` entries are
    enough for that.
    """
    usable = np.nonzero(scene.barge.known())[0]
    step = np.maximum(_steps(scene.barge, usable), _steps(scene.tug, usable))
    beam = min(float(np.ptp(hull.outline[:, 1])) for hull in (scene.barge, scene.tug))
    return _evenly(usable, step, int(np.clip(np.ceil(step.sum() / (within * beam)) + 1, 2, MOST_SWEPT)))
