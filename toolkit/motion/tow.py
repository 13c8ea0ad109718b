"""The towline between the two hulls, from the tug's towing point to the barge's."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.loads.bridle import bridle
from toolkit.loads.towline import line_tension
from toolkit.motion.layout import STATE, P

__all__ = ["line_loads"]

NEAREST = 1e-6
"""Distance between the ends of a line below which it counts as this long, so that nothing is divided by zero [m]."""


@kernel
def line_loads(
    s: NDArray[np.float64], p: NDArray[np.float64], k: int, barge_north: float, barge_east: float,
    heel_cosine: float, heel_sine: float,
) -> tuple[float, float, float, float, float, float, float, float]:  # fmt: skip
    """Loads of the towline.

    Parameters
    ----------
    s, p, k
        State, parameters, lane.
    barge_north, barge_east : float
        Velocity of the barge's midships less that of the tug's [m/s].
    heel_cosine, heel_sine : float
        Of the tug's heel.

    Returns
    -------
    tuple of eight float
        On the tug: ahead, to starboard [N, N], yaw and roll moment [N m, N m].
        On the barge: ahead, to starboard [N, N] and yaw moment [N m]. The
        tension [N].
    """
    cb, sb, rb = s[STATE.barge_cosine + k], s[STATE.barge_sine + k], s[STATE.barge_yaw + k]
    ct, st, rt = s[STATE.tug_cosine + k], s[STATE.tug_sine + k], s[STATE.tug_yaw + k]
    heel_rate = s[STATE.heel_rate + k]
    apart_north = s[STATE.barge_north + k] - s[STATE.tug_north + k]
    apart_east = s[STATE.barge_east + k] - s[STATE.tug_east + k]
    tow_x, tow_height = p[P.tug_towing_x + k], p[P.tug_towing_height + k]
    tow_y = tow_height * heel_sine
    # tug's towing point from the barge's midships, in the barge's axes
    away_north = ct * tow_x - st * tow_y - apart_north
    away_east = st * tow_x + ct * tow_y - apart_east
    away_x, away_y = cb * away_north + sb * away_east, cb * away_east - sb * away_north
    fitting_x, fitting_y = p[P.barge_towing_x + k], p[P.barge_towing_y + k]
    away_x -= fitting_x
    away_y -= fitting_y
    reach, point_x, point_y = bridle(away_x, away_y, p[P.bridle_half_spread + k], p[P.bridle_leg + k])
    line_x, line_y = point_x - away_x, point_y - away_y
    span = abs(reach)  # the line's own, also where it takes a leg along
    per_span = 1.0 / (span if span > NEAREST else NEAREST)
    line_x *= per_span
    line_y *= per_span
    point_x += fitting_x
    point_y += fitting_y
    line_north, line_east = cb * line_x - sb * line_y, sb * line_x + cb * line_y
    # velocity of the barge's towing point less that of the tug's
    own_ahead, own_side = -tow_y * rt, tow_x * rt + tow_height * heel_cosine * heel_rate
    gone_north = barge_north - (ct * own_ahead - st * own_side)
    gone_east = barge_east - (st * own_ahead + ct * own_side)
    rate = line_north * gone_north + line_east * gone_east + rb * (line_y * point_x - line_x * point_y)
    tension = line_tension(
        reach - p[P.line_length + k],
        rate,
        p[P.line_stiffness + k],
        p[P.line_loss_time + k],
        p[P.line_fade + k],
        p[P.line_sag + k],
        p[P.line_sag_tension + k],
    )
    pull_ahead = tension * (ct * line_north + st * line_east)
    pull_side = tension * (ct * line_east - st * line_north)
    return (
        pull_ahead,
        pull_side,
        tow_x * pull_side - tow_y * pull_ahead,
        tow_height * heel_cosine * pull_side,
        -tension * line_x,
        -tension * line_y,
        -tension * (line_y * point_x - line_x * point_y),
        tension,
    )
