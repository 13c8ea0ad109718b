"""The helm: where the tug should lie, and what her two drives are told to get her there.

Everything here is done at a look, once an order interval, in the barge's axes
mirrored so that the ordered turn is always to starboard. Trigonometry and
branches are welcome: a look costs little beside the steps between two looks.
"""

from __future__ import annotations

from math import atan2, cos, floor, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.loads.shear import local_current
from toolkit.motion.allocation import give_orders
from toolkit.motion.crew import HEADING_FREQUENCY
from toolkit.motion.hulls import wind_on_tug
from toolkit.motion.layout import STATE, P
from toolkit.motion.thrust import ahead_or_astern

__all__ = ["heading_moment", "needs", "pose", "set_of_water", "station_force", "steer", "wrapped"]


@kernel
def wrapped(angle: float) -> float:
    """Angle [rad] brought within -pi..pi."""
    return angle - 2.0 * pi * floor((angle + pi) / (2.0 * pi))


@kernel
def station_force(frequency: float, mass: float, error: float, missing: float, speed_limit: float) -> float:
    """Force [N] that closes a position error [m] no faster than a speed limit [m/s].

    A speed toward the station in proportion to the error, held to the limit,
    and a force in proportion to what is missing of that speed: the two make a
    critically damped approach at `frequency` [rad/s]. `missing` is the velocity
    of the station less that of the tug, the way the error counts [m/s].
    """
    closing = clip(0.5 * frequency * error, -speed_limit, speed_limit)
    return mass * 2.0 * frequency * (missing + closing)


@kernel
def heading_moment(frequency: float, inertia: float, error: float, wanted_rate: float, rate: float) -> float:
    """Moment [N m] that brings the tug to her heading, critically damped at `frequency` [rad/s]."""
    return inertia * frequency * (frequency * clip(error, -0.5, 0.5) + 2.0 * (wanted_rate - rate))


@outlined
def drag_of(
    s: NDArray[np.float64], p: NDArray[np.float64], k: int, ahead: float, side: float
) -> tuple[float, float, float, float]:
    """Force [N], in the tug's mirrored axes, that holds her at a steady velocity [m/s] against the water.

    Returns
    -------
    hull_ahead, hull_side : float
        Against the hull.
    drive_ahead, drive_side : float
        Against the flow through the drives as they stand.
    """
    resist = ahead * (p[P.tug_surge_linear + k] + p[P.tug_surge_quadratic + k] * abs(ahead))
    cross = 2.0 * p[P.tug_cross_flow + k] * p[P.tug_half_length + k] * side * abs(side)
    turn, ram = p[P.turn + k], p[P.ram + k]
    t1, c1, s1 = ahead_or_astern(
        s[STATE.thrust_starboard + k], s[STATE.starboard_cosine + k], turn * s[STATE.starboard_sine + k]
    )
    t2, c2, s2 = ahead_or_astern(s[STATE.thrust_port + k], s[STATE.port_cosine + k], turn * s[STATE.port_sine + k])
    flow_1 = ram * sqrt(t1) * (side * c1 - ahead * s1)
    flow_2 = ram * sqrt(t2) * (side * c2 - ahead * s2)
    return resist, cross, -flow_1 * s1 - flow_2 * s2, flow_1 * c1 + flow_2 * c2


@outlined
def wind_felt(s: NDArray[np.float64], p: NDArray[np.float64], k: int) -> tuple[float, float, float]:
    """Wind on the tug as she lies, in her mirrored axes [N, N, N m], for which her master allows."""
    cosine, sine = s[STATE.tug_cosine + k], s[STATE.tug_sine + k]
    surge, sway = s[STATE.tug_surge + k], s[STATE.tug_sway + k]
    air_north = p[P.wind_north + k] - p[P.current_north + k] - (cosine * surge - sine * sway)
    air_east = p[P.wind_east + k] - p[P.current_east + k] - (sine * surge + cosine * sway)
    ahead, side, moment = wind_on_tug(p, k, cosine, sine, air_north, air_east)
    return ahead, p[P.turn + k] * side, p[P.turn + k] * moment


@kernel
def set_of_water(
    s: NDArray[np.float64], p: NDArray[np.float64], k: int, cosine: float, sine: float
) -> tuple[float, float]:
    """Velocity of the water where the tug lies [m/s], in mirrored axes whose heading has this cosine and sine."""
    north, east = local_current(
        s[STATE.tug_north + k], s[STATE.tug_east + k], p[P.current_north + k], p[P.current_east + k],
        p[P.current_shear + k], p[P.current_cosine + k], p[P.current_sine + k],
    )  # fmt: skip
    return cosine * north + sine * east, p[P.turn + k] * (cosine * east - sine * north)


@kernel
def pose(s: NDArray[np.float64], p: NDArray[np.float64], k: int) -> tuple[float, float, float]:
    """Tug's midships [m, m] and heading [rad] in the barge's mirrored axes."""
    cb, sb = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    north = s[STATE.tug_north + k] - s[STATE.barge_north + k]
    east = s[STATE.tug_east + k] - s[STATE.barge_east + k]
    turn = p[P.turn + k]
    cosine = s[STATE.tug_cosine + k] * cb + s[STATE.tug_sine + k] * sb
    sine = turn * (s[STATE.tug_sine + k] * cb - s[STATE.tug_cosine + k] * sb)
    return cb * north + sb * east, turn * (cb * east - sb * north), atan2(sine, cosine)


@outlined
def needs(
    s: NDArray[np.float64], p: NDArray[np.float64], k: int, force_x: float, force_y: float, steady_x: float,
    steady_y: float, heading: float, heading_aim: float, turn_aim: float, held_moment: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Force ahead and to the side [N, N] and moment [N m], in her mirrored axes, asked of the tug's drives.

    Parameters as for :func:`steer`.
    """
    c, sn = cos(heading), sin(heading)
    hull_ahead, hull_side, drive_ahead, drive_side = drag_of(
        s, p, k, c * steady_x + sn * steady_y, c * steady_y - sn * steady_x
    )
    wind_ahead, wind_side, wind_moment = wind_felt(s, p, k)
    moment = heading_moment(
        HEADING_FREQUENCY,
        p[P.tug_yaw_inertia + k],
        wrapped(heading_aim - heading),
        turn_aim,
        p[P.turn + k] * s[STATE.tug_yaw + k],
    )
    moment += p[P.tug_resistance_centre + k] * hull_side + p[P.drive_x + k] * drive_side - held_moment - wind_moment
    ahead = c * force_x + sn * force_y + hull_ahead + drive_ahead - wind_ahead
    side = c * force_y - sn * force_x + hull_side + drive_side - wind_side
    return ahead, side, moment


@outlined
def steer(
    s: NDArray[np.float64],
    p: NDArray[np.float64],
    m: NDArray[np.float64],
    k: int,
    force_x: float,
    force_y: float,
    steady_x: float,
    steady_y: float,
    heading: float,
    heading_aim: float,
    turn_aim: float,
    held_moment: float,
) -> None:
    """Order the drives to give a force in the barge's mirrored axes and to hold a heading.

    Parameters
    ----------
    s, p, m : ndarray, shape (rows * lanes,)
        State, parameters, memory.
    k : int
        Lane.
    force_x, force_y : float
        Force wanted on the tug [N].
    steady_x, steady_y : float
        Velocity through the water that the station itself has; its drag is
        added, so that a moving station is kept without lag [m/s].
    heading, heading_aim : float
        Heading, and the heading wanted, off the barge's [rad].
    turn_aim : float
        Rate of turn of the heading wanted [rad/s].
    held_moment : float
        Moment about the tug's midships that line or fender already exert [N m].
    """
    ahead, side, moment = needs(
        s, p, k, force_x, force_y, steady_x, steady_y, heading, heading_aim, turn_aim, held_moment
    )
    give_orders(p, m, k, ahead, side, moment)
