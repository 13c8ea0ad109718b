"""Rows of a record that cannot be used, and why; calms; directions that are missing (floor 5)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.operability.raw import RawRecord

__all__ = ["CURRENT_BOUND", "LEAST_SHARE", "WIND_BOUND", "judge_rows"]

WIND_BOUND = 75.0
"""Mean wind speeds above this are codes for "missing", or wrong [m s-1]; a judgement, beyond any harbour's wind."""

CURRENT_BOUND = 10.0
"""Current speeds above this are codes for "missing", or wrong [m s-1]; a judgement, beyond any tidal race."""

LEAST_SHARE = 0.5
"""Share of rows that must give a wind speed; below it the way of reading is wrong, not the rows."""

_MOST_NAMED = 5


def judge_rows(raw: RawRecord, times: pd.DatetimeIndex) -> tuple[pd.DataFrame, dict[str, Any]]:
    """Tell usable rows from others, and count both.

    Parameters
    ----------
    raw : RawRecord
        Rows of the file.
    times : pandas.DatetimeIndex
        Time of each row, NaT where it cannot be read.

    Returns
    -------
    tuple
        Rows by time, in the order of the file, with a wind speed or a known
        absence of one: ``wind_speed``, ``wind_from`` and so on, NaN where
        missing; and counts of every fault, each with the first rows it is found
        in. A bearing is kept in [0, 360); none is kept in a calm.

    Raises
    ------
    StudyError
        If fewer than `LEAST_SHARE` of the rows give a wind speed at a time.
    """
    speed, bearing = raw.values["wind_speed"], raw.values["wind_from"]
    counts: dict[str, Any] = {"rows": int(raw.rows.size), "first_rows": {}}

    def count(name: str, here: NDArray[np.bool_]) -> NDArray[np.bool_]:
        counts[name] = int(here.sum())
        if here.any():
            counts["first_rows"][name] = [int(n) for n in raw.rows[here][:_MOST_NAMED]]
        return here

    unreadable = count("row_unreadable", raw.unreadable)
    no_time = np.asarray(times.isna())
    count("time_unreadable", no_time & ~unreadable)
    fine = ~(no_time | unreadable)
    missing = count("speed_missing", fine & np.isnan(speed))
    wrong = count("speed_out_of_range", fine & ((speed < 0.0) | (speed > WIND_BOUND)))
    known = fine & ~missing & ~wrong
    calm = count("calms", known & (speed == 0.0))
    blowing = known & ~calm
    count("direction_missing", blowing & np.isnan(bearing))
    count("direction_out_of_range", blowing & ((bearing < 0.0) | (bearing > 360.0)))
    directed = blowing & (bearing >= 0.0) & (bearing <= 360.0)
    table = {
        "wind_speed": np.where(known, speed, np.nan),
        "wind_from": np.where(directed, np.mod(bearing, 360.0), np.nan),
    }
    if "current_speed" in raw.values:
        stream, set_to = raw.values["current_speed"], raw.values["current_to"]
        outside = count("current_out_of_range", fine & ((stream < 0.0) | (stream > CURRENT_BOUND)))
        count("current_missing", fine & np.isnan(stream))
        runs = fine & ~outside & ~np.isnan(stream)
        told = runs & (stream > 0.0) & (set_to >= 0.0) & (set_to <= 360.0)
        count("current_direction_missing", runs & (stream > 0.0) & ~told)
        table["current_speed"] = np.where(runs, stream, np.nan)
        table["current_to"] = np.where(told, np.mod(set_to, 360.0), np.nan)
    counts["usable"] = int(known.sum())
    if known.sum() < LEAST_SHARE * max(raw.rows.size, 1):
        reasons = {
            "time_unreadable": "time unreadable",
            "row_unreadable": "cells unreadable",
            "speed_missing": "no wind speed",
            "speed_out_of_range": f"wind speed outside [0, {WIND_BOUND:g} m/s]",
        }
        told_why = ", ".join(f"{words} in {counts[key]:,}" for key, words in reasons.items() if counts[key])
        raise StudyError([
            Problem(where=raw.name, what=f"only {counts['usable']:,} of {raw.rows.size:,} rows give a wind speed",
                    why=told_why, remedy="Name the columns and their units, or the pattern of the times")
        ])  # fmt: skip
    # a row that is known to hold nothing still says which step the file has
    kept = ~no_time
    rows = pd.DataFrame({name: values[kept] for name, values in table.items()}, index=times[kept])
    counts["unsorted"] = int((np.diff(times[kept].to_numpy()) < np.timedelta64(0)).sum())
    return rows, counts
