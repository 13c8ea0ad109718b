"""Fenders of the tug on the side of the barge: two points, and what they give to either hull."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.motion.contact import touch
from toolkit.motion.layout import STATE, P

__all__ = ["fender_loads"]


@kernel
def fender_loads(
    s: NDArray[np.float64], p: NDArray[np.float64], k: int, relative_cosine: float, relative_sine: float,
    tug_station: float, tug_offset: float, barge_along: float, barge_across: float, tug_along: float,
    tug_across: float, heel_cosine: float, heel_sine: float,
) -> tuple[float, float, float, float, float, float, float, float, float]:  # fmt: skip
    """Loads of the fender contact.

    Parameters
    ----------
    s, p, k
        State, parameters, lane.
    relative_cosine, relative_sine : float
        Of the tug's heading off the barge's.
    tug_station, tug_offset : float
        Tug's midships in the barge's axes [m].
    barge_along, barge_across, tug_along, tug_across : float
        Velocities of both midships over the ground, in the barge's axes [m/s].
    heel_cosine, heel_sine : float
        Of the tug's heel.

    Returns
    -------
    tuple of nine float
        On the tug: ahead, to starboard [N, N], yaw and roll moment [N m, N m].
        On the barge: ahead, to starboard [N, N] and yaw moment [N m]. The
        normal force [N], and its moment about midships of the barge [N m].
    """
    rb, rt = s[STATE.barge_yaw + k], s[STATE.tug_yaw + k]
    heel_rate = s[STATE.heel_rate + k]
    height = p[P.fender_height + k]

    x1, flank = p[P.fender_first_x + k], p[P.fender_first_y + k]
    y1, up_1 = flank * heel_cosine + height * heel_sine, height * heel_cosine - flank * heel_sine
    arm_x1, arm_y1 = relative_cosine * x1 - relative_sine * y1, relative_sine * x1 + relative_cosine * y1
    station_1, offset_1 = tug_station + arm_x1, tug_offset + arm_y1
    normal_1, along_1 = touch(
        p,
        k,
        station_1,
        offset_1,
        tug_along - rt * arm_y1 - relative_sine * up_1 * heel_rate - (barge_along - rb * offset_1),
        tug_across + rt * arm_x1 + relative_cosine * up_1 * heel_rate - (barge_across + rb * station_1),
    )
    x2, flank = p[P.fender_second_x + k], p[P.fender_second_y + k]
    y2, up_2 = flank * heel_cosine + height * heel_sine, height * heel_cosine - flank * heel_sine
    arm_x2, arm_y2 = relative_cosine * x2 - relative_sine * y2, relative_sine * x2 + relative_cosine * y2
    station_2, offset_2 = tug_station + arm_x2, tug_offset + arm_y2
    normal_2, along_2 = touch(
        p,
        k,
        station_2,
        offset_2,
        tug_along - rt * arm_y2 - relative_sine * up_2 * heel_rate - (barge_along - rb * offset_2),
        tug_across + rt * arm_x2 + relative_cosine * up_2 * heel_rate - (barge_across + rb * station_2),
    )
    across_1, across_2 = p[P.pushed_side + k] * normal_1, p[P.pushed_side + k] * normal_2
    push_side_1 = relative_cosine * across_1 - relative_sine * along_1
    push_side_2 = relative_cosine * across_2 - relative_sine * along_2
    return (
        relative_cosine * (along_1 + along_2) + relative_sine * (across_1 + across_2),
        push_side_1 + push_side_2,
        arm_x1 * across_1 - arm_y1 * along_1 + arm_x2 * across_2 - arm_y2 * along_2,
        up_1 * push_side_1 + up_2 * push_side_2,
        -(along_1 + along_2),
        -(across_1 + across_2),
        -(station_1 * across_1 - offset_1 * along_1 + station_2 * across_2 - offset_2 * along_2),
        normal_1 + normal_2,
        normal_1 * station_1 + normal_2 * station_2,
    )
