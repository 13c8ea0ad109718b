"""Rows of the kernel's parameters that belong to the surroundings, to failures and to the crew's orders."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from toolkit.particulars import Crew
from toolkit.quantities import INPUTS

__all__ = ["NEVER_GIVEN", "failure_rows", "order_rows", "surrounding_rows"]

Array = NDArray[np.float64]

NEVER_GIVEN = 1e9
"""Where a time or a heel that triggers something is not given."""


def surrounding_rows(c: Mapping[str, Array]) -> dict[str, Array]:
    """Rows of wind and current."""
    from_bearing, to_bearing = np.deg2rad(c["wind_from"]), np.deg2rad(c["current_to"])
    wind = c["wind_speed"] * c["gust_factor"]
    north, east = -wind * np.cos(from_bearing), -wind * np.sin(from_bearing)
    front = c["front_factor"] != 1.0
    return {
        "wind_north": north,
        "wind_east": east,
        "mean_wind_north": north,
        "mean_wind_east": east,
        "gust_share": c["gust_intensity"],
        "front_start": np.where(front, c["front_time"], NEVER_GIVEN),
        "front_rise": c["front_rise_time"],
        "front_factor": c["front_factor"],
        "current_north": c["current_speed"] * np.cos(to_bearing),
        "current_east": c["current_speed"] * np.sin(to_bearing),
        "current_cosine": np.cos(to_bearing),
        "current_sine": np.sin(to_bearing),
        "current_shear": c["current_shear"],
        "berth_north": np.asarray(1.0),
        "berth_distance": np.asarray(NEVER_GIVEN),
        "start_north": c["start_north"],
        "start_east": c["start_east"],
        "origin_north": c["start_north"],
        "origin_east": c["start_east"],
    }


def failure_rows(c: Mapping[str, Array], crew: Crew) -> dict[str, Array]:
    """Rows of what fails and of the emergency release."""
    none = c["failure"] == INPUTS["failure"].choices.index("none")
    angle = np.deg2rad(np.nan_to_num(c["failure_angle"], nan=-1.0))
    return {
        "failure": c["failure"],
        "failure_time": np.where(none, NEVER_GIVEN, c["failure_time"]),
        "failure_angle": np.where(np.isnan(c["failure_angle"]), -1.0, angle),
        "restart_time": c["restart_time"],
        "fault_duration": c["fault_duration"],
        "recognition_time": crew.recognition_time,
        "watch_time": c["watch_time"],
        "release_heel": np.nan_to_num(c["release_heel_fraction"], nan=NEVER_GIVEN),
        "release_time": c["release_time"],
    }


def order_rows(c: Mapping[str, Array], crew: Crew) -> dict[str, Array]:
    """Rows of how orders are given, and of what counts as steady and as too long."""
    return {
        "power_setting": c["power_setting"],
        "power_step": crew.power_step,
        "order_interval": crew.order_interval,
        "order_delay": crew.order_delay,
        "rate_limit": crew.swing_rate_limit,
        "easing_angle": crew.easing_angle,
        "steady_angle": np.deg2rad(c["steady_angle"]),
        "steady_rate": np.deg2rad(c["steady_rate"]),
        "steady_time": c["steady_time"],
        "time_limit": c["time_limit"],
        "slow_speed": c["slow_speed"],
    }
