"""Water and wind on each hull of a case, about her midships."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.loads.cross_flow import cross_flow
from toolkit.loads.linear_hull import linear_hull
from toolkit.loads.resistance import surge_resistance
from toolkit.loads.trailing_lift import trailing_lift
from toolkit.loads.wind import wind_load
from toolkit.motion.layout import P

__all__ = ["water_on_barge", "water_on_tug", "wind_on_barge", "wind_on_tug"]


@kernel
def water_on_barge(p: NDArray[np.float64], k: int, surge: float, sway: float, yaw: float) -> tuple[float, float, float]:
    """Force ahead, to starboard [N] and yaw moment [N m] of the water on the barge of lane `k`."""
    half_length = p[P.barge_half_length + k]
    side, moment = cross_flow(sway, yaw, half_length, p[P.barge_cross_flow + k])
    ahead = surge_resistance(surge, p[P.barge_surge_linear + k], p[P.barge_surge_quadratic + k])
    lift, turning = linear_hull(
        surge, sway, yaw, p[P.barge_sway_by_sway + k], p[P.barge_sway_by_yaw + k], p[P.barge_yaw_by_sway + k],
        p[P.barge_yaw_by_yaw + k], p[P.barge_skeg + k], p[P.barge_skeg_x + k], half_length,
    )  # fmt: skip
    return ahead, side + lift, moment + turning


@kernel
def wind_on_barge(
    p: NDArray[np.float64], k: int, cosine: float, sine: float, air_north: float, air_east: float
) -> tuple[float, float, float]:
    """Force ahead, to starboard [N] and yaw moment [N m] of the wind on the barge.

    `cosine` and `sine` are of her heading; `air_north`, `air_east` the velocity
    of the air past her [m/s].
    """
    return wind_load(
        cosine * air_north + sine * air_east,
        cosine * air_east - sine * air_north,
        p[P.barge_wind_lateral + k],
        p[P.barge_wind_frontal + k],
        p[P.barge_wind_transverse + k],
        p[P.barge_wind_bow + k],
        p[P.barge_wind_stern + k],
        p[P.barge_wind_cross + k],
        p[P.barge_wind_offset + k],
        2.0 * p[P.barge_half_length + k],
    )


@kernel
def water_on_tug(p: NDArray[np.float64], k: int, surge: float, sway: float, yaw: float) -> tuple[float, float, float]:
    """Force ahead, to starboard [N] and yaw moment [N m] of the water on the tug.

    Her centre of lateral resistance lies off midships; the cross flow is taken
    there and its moment brought back. The lift of her trailing end comes on top.
    """
    centre = p[P.tug_resistance_centre + k]
    side, moment = cross_flow(sway + centre * yaw, yaw, p[P.tug_half_length + k], p[P.tug_cross_flow + k])
    ahead = surge_resistance(surge, p[P.tug_surge_linear + k], p[P.tug_surge_quadratic + k])
    lift, turning = trailing_lift(
        surge, sway, yaw, p[P.tug_half_length + k], p[P.tug_lift_aft + k], p[P.tug_lift_fore + k],
        p[P.tug_lift_reach + k],
    )  # fmt: skip
    return ahead, side + lift, moment + centre * side + turning


@kernel
def wind_on_tug(
    p: NDArray[np.float64], k: int, cosine: float, sine: float, air_north: float, air_east: float
) -> tuple[float, float, float]:
    """Force ahead, to starboard [N] and yaw moment [N m] of the wind on the tug; as :func:`wind_on_barge`."""
    return wind_load(
        cosine * air_north + sine * air_east,
        cosine * air_east - sine * air_north,
        p[P.tug_wind_lateral + k],
        p[P.tug_wind_frontal + k],
        p[P.tug_wind_transverse + k],
        p[P.tug_wind_bow + k],
        p[P.tug_wind_stern + k],
        p[P.tug_wind_cross + k],
        0.0,
        2.0 * p[P.tug_half_length + k],
    )
