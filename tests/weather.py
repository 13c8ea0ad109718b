"""Invented records of wind and current by their values, for tests of operability."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr


def made_record(
    wind_speed: Any, wind_from: Any = 0.0, *, start: str = "2001-01-01", step_hours: float = 1.0, **current: Any
) -> xr.Dataset:
    """Record with even steps, as reading one gives it; NaN is a gap."""
    size = np.size(wind_speed)
    time = pd.date_range(start, periods=size, freq=pd.Timedelta(hours=step_hours))
    variables = {"wind_speed": wind_speed, "wind_from": wind_from, **current}
    record = xr.Dataset(
        {k: ("time", np.broadcast_to(np.asarray(v, dtype=np.float64), size)) for k, v in variables.items()},
        coords={"time": time, "local_time": ("time", time)},
    )
    known = int(record["wind_speed"].notnull().sum())
    counts = {
        "rows": size, "usable": known, "steps": size, "known_steps": known, "gaps": 0, "longest_gap_hours": 0.0,
        "first": str(time[0]), "last": str(time[-1]), "other_steps": {}, "told": [], "height": None,
        "averaging": "", "averaging_factor": 1.0, "spliced_years": [], "times_at": "start",
    }  # fmt: skip
    return record.assign_attrs(
        title="made", kind="measured", step_hours=step_hours, time_zone="UTC", hours_zone="UTC",
        reading=json.dumps(counts),
    )  # fmt: skip
