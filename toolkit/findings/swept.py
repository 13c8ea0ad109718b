"""What many runs of one configuration sweep over the ground: the share of runs, cell by cell (floor 5)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.execution.attributes import flag_attributes, quantity_attributes
from toolkit.execution.distinct import Columns, used_columns
from toolkit.execution.history import one_case
from toolkit.findings.conditions import legs_of
from toolkit.findings.reading import outcome_of
from toolkit.quantities import INPUTS, Outcome
from toolkit.study.legs import leg_codes

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["CONDITIONS", "SHARES", "SweptRun", "chosen_cases", "swept_share"]

Array = NDArray[np.float64]

SHARES = (0.0, 0.5, 0.9)
"""Shares of the completed runs for which the ground swept is told: any run, half of them, nine in ten."""

CONDITIONS = ("wind_speed", "wind_from", "current_speed", "current_to")
"""Inputs that are kept of every run."""

CELLS = 400
"""Cells along the longer side of the raster, at most."""
CELL_SIZES = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
"""Sides of a cell that are used [m]."""
MOST_LOOKED_AT = 20
"""Cases looked at for each one wanted, for some may be one and the same."""


@dataclass(frozen=True, kw_only=True)
class SweptRun:
    """Where one run lay, moment by moment.

    Attributes
    ----------
    case : int
        Its number in the whole study.
    outcome : str
        How it ended, the name of an `Outcome`.
    barge, tug : ndarray, shape (moments, corners, 2)
        Outlines as (east, north) of the basin's centre [m], each convex, the
        first at the start, close enough together that they cover the ground
        between; no moments where she never moved or her place is not known.
    track : ndarray, shape (2, 2)
        The barge's midships at start and end as (east, north) [m]; NaN if not known.
    room : float
        Least room to the basin's edge [m]; NaN if there is none.
    conditions : mapping of str to float
        Values of `CONDITIONS` [dataset units].
    """

    case: int
    outcome: str
    barge: Array
    tug: Array
    track: Array
    room: float
    conditions: Mapping[str, float]

    @property
    def completed(self) -> bool:
        """Whether she did what was meant."""
        return self.outcome == Outcome.completed.name

    @property
    def outlines(self) -> list[Array]:
        """Every outline of both hulls whose corners are all known."""
        return [corners for hull in (self.barge, self.tug) for corners in hull if np.isfinite(corners).all()]


def chosen_cases(dataset: xr.Dataset, count: int, *, seed: int = 0) -> list[int]:
    """Draw cases at random, each another one in what it uses.

    A case that differs from one already drawn only in what neither uses, such
    as the direction of no wind, is passed over: its outlines are the same.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results, or a part of them, that `toolkit.history` can run again.
    count : int
        Most cases.
    seed : int
        Of the draw; the same seed draws the same cases.

    Returns
    -------
    list of int
        Positions in C order over the dimensions of ``outcome``, rising; of
        cases that were run only, fewer than `count` where there are no more.

    Raises
    ------
    StudyError
        If a case cannot be told from the dataset.
    """
    was_run = np.flatnonzero(np.ravel(outcome_of(dataset).values) != int(Outcome.not_run))
    order = np.random.default_rng(seed).permutation(was_run)
    legs = leg_codes(legs_of(dataset))
    seen: dict[tuple[float, ...], int] = {}
    for place in order[: MOST_LOOKED_AT * count].tolist():
        seen.setdefault(_what_is_used(one_case(dataset, place, {})[0], legs), place)
        if len(seen) == count:
            break
    return sorted(seen.values())


def _what_is_used(columns: Columns, legs: Sequence[Mapping[str, float]]) -> tuple[float, ...]:
    """Values that a case uses, of a job in each of its legs, with the defaults of the others."""
    from toolkit.motion.legs import leg_columns

    parts = [used_columns(leg_columns(columns, changes)) for changes in legs] or [used_columns(columns)]
    # NaN stands for "derived", and is not equal to itself
    return tuple(float(np.nan_to_num(values[0], nan=math.inf)) for part in parts for values in part.values())


def swept_share(runs: Sequence[SweptRun], *, cell: float | None = None) -> xr.Dataset:
    """Count the runs that sweep each cell of a raster over the ground.

    A cell is swept by a run if its centre lies inside an outline of barge or
    tug at any moment; the line between them is not counted. Shares are of the
    runs that completed. What runs that failed swept until they ended is counted
    beside them, never among them.

    Parameters
    ----------
    runs : sequence of SweptRun
    cell : float, optional
        Side of a cell [m]; unless given the least of `CELL_SIZES` that takes no
        more than `CELLS` cells along the longer side.

    Returns
    -------
    xarray.Dataset
        Along ``north`` and ``east`` (centres of the cells [m] from the basin's
        centre): ``completed_count`` and ``failed_count``, runs that sweep a
        cell; ``share_swept`` of the completed runs (NaN where none completed).
        Along ``share`` (`SHARES`; 0 stands for any run): ``least_count``, runs
        that make up the share, and ``area_swept`` [m2] by so many of them or
        more (NaN where none completed). Along ``run``: ``case``, ``outcome``
        (code), ``room`` [m], ``barge_area`` and ``area`` [m2] swept by the barge
        and by both hulls, `CONDITIONS`, ``track_east`` and ``track_north`` along
        ``moment`` (start, end), and the outlines at the start along ``corner``
        and ``point``. Attributes ``cell`` [m], ``run_count``,
        ``completed_count``, ``failed_count`` and ``without_place``, runs whose
        outlines are not known. Without any outline the raster has no cells.
    """
    import xarray as xr

    corners = [corners for run in runs for corners in run.outlines]
    east, north, side = _raster(corners, cell)
    completed, failed = (np.zeros((north.size, east.size), dtype=np.int64) for _ in range(2))
    areas = np.zeros((len(runs), 2))
    for number, run in enumerate(runs):
        mask = np.zeros((north.size, east.size), dtype=np.bool_)
        for part, hull in enumerate((run.barge, run.tug)):
            for outline in hull:
                if np.isfinite(outline).all():
                    _fill(mask, east, north, side, outline)
            areas[number, part] = mask.sum() * side**2
        counts = completed if run.completed else failed
        counts += mask
    whole = sum(run.completed for run in runs)
    least = np.array([max(1, math.ceil(share * whole - 1e-9)) for share in SHARES])
    swept = np.array([(completed >= number).sum() * side**2 if whole else np.nan for number in least])
    plane = ("north", "east")
    found = xr.Dataset(
        {
            "completed_count": (plane, completed, _words("completed runs that sweep the cell", "1")),
            "failed_count": (plane, failed, _words("failed runs that sweep the cell before they end", "1")),
            "share_swept": (
                plane, completed / whole if whole else np.full(completed.shape, np.nan),
                _words("share of the completed runs that sweep the cell", "1"),
            ),
            "least_count": ("share", least, _words("completed runs that make up the share", "1")),
            "area_swept": ("share", swept, _words("area swept by the share of completed runs or more", "m2")),
            **_of_runs(runs, areas),
        },
        coords={
            "north": ("north", north, _words("north of the basin's centre", "m")),
            "east": ("east", east, _words("east of the basin's centre", "m")),
            "share": ("share", np.array(SHARES), _words("share of the completed runs, 0 for any run", "1")),
            "moment": ["start", "end"],
        },
        attrs={
            "cell": side, "run_count": len(runs), "completed_count": whole, "failed_count": len(runs) - whole,
            "without_place": sum(not run.outlines for run in runs),
        },
    )  # fmt: skip
    return found.assign_coords(case=("run", [run.case for run in runs], {"long_name": "number of the case"}))


def _words(long_name: str, units: str) -> dict[str, Any]:
    return {"long_name": long_name, "units": units}


def _of_runs(runs: Sequence[SweptRun], areas: Array) -> dict[str, Any]:
    """Variables along ``run``."""
    codes = np.array([int(Outcome[run.outcome]) for run in runs], dtype=np.int8)
    tracks = np.array([run.track for run in runs], dtype=np.float64).reshape(-1, 2, 2)
    found: dict[str, Any] = {
        "outcome": ("run", codes, {"long_name": "how the run ended", **flag_attributes(Outcome, codes.dtype)}),
        "room": ("run", np.array([run.room for run in runs], dtype=np.float64),
                 _words("least room to the basin's edge", "m")),
        "barge_area": ("run", areas[:, 0], _words("area swept by the barge", "m2")),
        "area": ("run", areas[:, 1], _words("area swept by barge and tug", "m2")),
    }  # fmt: skip
    for place, way in enumerate(("east", "north")):
        found[f"track_{way}"] = (
            ("run", "moment"), tracks[:, :, place], _words(f"barge's midships {way} of the basin's centre", "m"),
        )  # fmt: skip
        for hull, dim in (("barge", "corner"), ("tug", "point")):
            starts = _starts([getattr(run, hull) for run in runs])
            words = _words(f"outline of the {hull} at the start, {way} of the basin's centre", "m")
            found[f"{hull}_start_{way}"] = (("run", dim), starts[:, :, place], words)
    for name in CONDITIONS:
        values = np.array([run.conditions.get(name, math.nan) for run in runs], dtype=np.float64)
        found[name] = ("run", values, quantity_attributes(INPUTS[name]))
    return found


def _starts(hulls: Sequence[Array]) -> Array:
    """First outline of each run, NaN where there is none; shape (runs, corners, 2)."""
    size = max((hull.shape[1] for hull in hulls if len(hull)), default=0)
    found = np.full((len(hulls), size, 2), np.nan)
    for number, hull in enumerate(hulls):
        if len(hull):
            found[number, : hull.shape[1]] = hull[0]
    return found


def _raster(corners: Sequence[Array], cell: float | None) -> tuple[Array, Array, float]:
    """Centres of cells east and north [m], and the side of a cell [m]; multiples of it are their edges."""
    if not corners:
        return np.empty(0), np.empty(0), cell or CELL_SIZES[0]
    points = np.vstack(corners)
    low, high = points.min(axis=0), points.max(axis=0)
    reach = float((high - low).max())
    side = cell or next((size for size in CELL_SIZES if reach / size <= CELLS), CELL_SIZES[-1])
    first, last = np.floor(low / side) - 1, np.ceil(high / side) + 1
    east, north = ((np.arange(a, b) + 0.5) * side for a, b in zip(first, last, strict=True))
    return east, north, side


def _fill(mask: NDArray[np.bool_], east: Array, north: Array, side: float, outline: Array) -> None:
    """Mark the cells whose centres lie in a convex outline, whichever way round it runs."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    rows = slice(*np.searchsorted(north, (low[1], high[1] + side)))
    columns = slice(*np.searchsorted(east, (low[0], high[0] + side)))
    x, y = east[columns][None, :], north[rows][:, None]
    step = np.roll(outline, -1, axis=0) - outline
    turn = np.sign(np.sum(outline[:, 0] * np.roll(outline[:, 1], -1) - np.roll(outline[:, 0], -1) * outline[:, 1]))
    inside = np.ones((y.shape[0], x.shape[1]), dtype=np.bool_)
    for (across, up), (at_east, at_north) in zip(step, outline, strict=True):
        inside &= turn * (across * (y - at_north) - up * (x - at_east)) >= 0.0
    mask[rows, columns] |= inside
