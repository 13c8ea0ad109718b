"""When a record keeps the limit, and when it does not: step by step, joint and as a box (floor 5)."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.operability.limit import NEVER, WIDEST, box_limits, limit_at
from toolkit.findings.operability.report import reading_counts

__all__ = ["RULES", "refuse_spliced", "workable_time"]

RULES = ("box", "joint")
"""Ways to hold a limit: one value for all directions, and by direction."""

_SAME = 1e-9


def refuse_spliced(record: xr.Dataset, what: str) -> None:
    """Refuse what means nothing in a typical year.

    Raises
    ------
    StudyError
        If the record is spliced of months of several years.
    """
    if record.attrs["kind"] == "typical_year":
        raise StudyError([
            Problem(where=str(record.attrs.get("title", "record")), what=f"{what} cannot be found in a typical year",
                    why="it is spliced of months of several years, so that neither spells of weather across a splice "
                    "nor differences between years are real",
                    remedy="Use a record of whole years; exceedance and availability can be found in this one")
        ])  # fmt: skip


def workable_time(record: xr.Dataset, limit: xr.Dataset) -> xr.Dataset:
    """Hold a record against a limit.

    Parameters
    ----------
    record : xarray.Dataset
        From :func:`toolkit.findings.operability.read_record` or
        :func:`toolkit.findings.operability.invented_record`.
    limit : xarray.Dataset
        From :func:`toolkit.findings.operability.limit_table` or
        :func:`toolkit.findings.operability.limit_of_results`, lessened as wanted.

    Returns
    -------
    xarray.Dataset
        ``workable`` (bool; rule, time): the wind is at or below the limit;
        ``known`` (bool; time): the wind, and the current where the limit hangs
        on it, are known; ``limit`` (rule, time) [m s-1]; ``beyond`` (bool;
        time): not workable under the joint limit only because nothing more
        was run: a larger wind, a current above those run, or an arc of
        bearings; ``wind_speed``, ``wind_from``, ``local_time``.
        What is not known is not workable and not counted. Attributes of the record,
        with ``box_wind`` and ``box_current`` [m s-1].

    Notes
    -----
    The joint limit is read at the bearing of the wind, as the least of the two
    neighbouring bearings. The box is the least limit of all directions; where
    the limit hangs on the current, the box of wind and current with the most
    time in it.
    """
    reading_counts(record)
    speed = record["wind_speed"].values
    bearing = record["wind_from"].values
    known = ~np.isnan(speed)
    stream: NDArray[np.float64] | None = None
    if "current_speed" in limit["limit"].dims and "current_speed" in record:
        stream = record["current_speed"].values
        known &= ~np.isnan(stream)
    run_to = record["current_to"].values if "current_to" in record else None
    joint = limit_at(limit, bearing, stream, run_to)
    if _has_arcs(limit):  # a wind without a bearing may come from there
        joint = np.where(np.isnan(bearing) & (speed > 0.0), np.nan, joint)
    keeps = known & _within(speed, joint)
    box_wind, box_current, boxed = _best_box(limit, speed, stream, known & ~np.isnan(joint))
    closed = limit.assign(limit=limit["limit"].where(~limit["open_ended"], np.inf))
    beyond = known & ~keeps & (np.isnan(joint) | _within(speed, limit_at(closed, bearing, stream, run_to)))
    held = xr.Dataset(
        {
            "workable": (("rule", "time"), np.stack([boxed, keeps])),
            "known": ("time", known),
            "limit": (("rule", "time"), np.stack([np.where(np.isnan(joint), np.nan, box_wind), joint])),
            "beyond": ("time", beyond),
            "wind_speed": record["wind_speed"],
            "wind_from": record["wind_from"],
        },
        coords={"rule": list(RULES), "time": record["time"], "local_time": record["local_time"]},
        attrs={**record.attrs, "box_wind": box_wind, "box_current": box_current},
    )
    held["workable"].attrs = {"long_name": "the limit is kept"}
    held["known"].attrs = {"long_name": "the weather is known"}
    held["limit"].attrs = {"long_name": "wind limit in force", "units": "m s-1"}
    held["beyond"].attrs = {"long_name": "not workable because nothing more was run"}
    return held


def _within(speed: NDArray[np.float64], limit: NDArray[np.float64] | float) -> NDArray[np.bool_]:
    """Whether a speed is at or below a limit, up to rounding; never where either is unknown."""
    return np.asarray((speed <= limit * (1.0 + _SAME)) & (np.asarray(limit) != NEVER))


def _best_box(
    limit: xr.Dataset, speed: NDArray[np.float64], stream: NDArray[np.float64] | None, may: NDArray[np.bool_]
) -> tuple[float, float, NDArray[Any]]:
    """Box with the most time in it: its wind and current, and when it is kept; with no current, the only one."""
    best: tuple[float, float, NDArray[Any]] = (np.nan, np.inf, np.zeros(speed.shape, dtype=bool))
    most = -1
    for current, wind in box_limits(limit):
        kept = may & _within(speed, wind)
        if stream is not None:
            kept = kept & (stream <= current * (1.0 + _SAME))
        if int(kept.sum()) > most:
            best, most = (wind, current, kept), int(kept.sum())
    return best


def _has_arcs(limit: xr.Dataset) -> bool:
    """Whether neighbouring bearings are so far apart that nothing is known in between."""
    axis = limit["limit"]["wind_from"].values
    return bool((np.mod(np.roll(axis, -1) - axis, 360.0) > WIDEST).any()) or axis.size == 1
