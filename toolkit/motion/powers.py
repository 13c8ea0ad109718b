"""Power of every load on the two hulls, for the balance of energy."""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.loads.berth import berth_on_barge
from toolkit.loads.bridle import bridle
from toolkit.loads.scalars import clip, cosine_of_heel, sine_of_heel
from toolkit.loads.shear import local_current, shear_acceleration, turn_through_water
from toolkit.loads.towline import static_tension
from toolkit.motion.contact import DEEPEST_CONTACT, END_FADE, touch
from toolkit.motion.fenders import fender_loads
from toolkit.motion.hulls import water_on_barge, water_on_tug, wind_on_barge, wind_on_tug
from toolkit.motion.layout import STATE, P
from toolkit.motion.thrust import barge_wash, drive_loads
from toolkit.motion.tow import line_loads

__all__ = ["POWER", "Power", "line_reach", "powers"]


class Power(NamedTuple):
    """Rows of the powers [W]; positive where the two hulls gain energy."""

    drives: int
    drives_size: int
    wash: int
    barge_water: int
    tug_water: int
    roll_damping: int
    barge_wind: int
    tug_wind: int
    berth: int
    line_loss: int
    fender_loss: int
    shear: int


Ground = tuple[float, float, float, float]
"""Velocities over the ground of the barge's midships and of the tug's, north and east [m/s]."""

POWER = Power(*range(len(Power._fields)))
"""Where each power stands; of one lane alone."""


@kernel
def fender_point_loss(
    p: NDArray[np.float64], k: int, station: float, offset: float, along_rate: float, across_rate: float
) -> float:
    """Power that a fender point loses by friction, by damping and by running off the barge's end [W].

    Parameters as for `toolkit.motion.contact.touch`.
    """
    normal, along = touch(p, k, station, offset, along_rate, across_rate)
    half_length, side = p[P.barge_half_length + k], p[P.pushed_side + k]
    compression, rate = p[P.barge_half_beam + k] - side * offset, -side * across_rate
    near = compression if 0.0 < compression < DEEPEST_CONTACT else 0.0
    stiffness = p[P.fender_stiffness + k]
    on_side = clip((half_length - abs(station)) / END_FADE, 0.0, 1.0)
    leaving = along_rate / END_FADE if 0.0 < on_side < 1.0 else 0.0
    gone = leaving if station > 0.0 else -leaving
    stored = on_side * stiffness * near * rate - 0.5 * stiffness * near * near * gone
    lost: float = normal * rate - along * along_rate - stored
    return lost


@kernel
def fender_loss(s: NDArray[np.float64], p: NDArray[np.float64], k: int, ground: Ground) -> float:
    """Power that both fender points lose [W]; `ground` holds velocities over the ground, see `powers`."""
    cb, sb, rb = s[STATE.barge_cosine + k], s[STATE.barge_sine + k], s[STATE.barge_yaw + k]
    ct, st, rt = s[STATE.tug_cosine + k], s[STATE.tug_sine + k], s[STATE.tug_yaw + k]
    heel_rate = s[STATE.heel_rate + k]
    heel_cosine, heel_sine = cosine_of_heel(s[STATE.heel + k]), sine_of_heel(s[STATE.heel + k])
    north, east = s[STATE.tug_north + k] - s[STATE.barge_north + k], s[STATE.tug_east + k] - s[STATE.barge_east + k]
    rise = p[P.fender_height + k]
    lost = 0.0
    for point in range(2):
        x = p[P.fender_first_x + k] if point == 0 else p[P.fender_second_x + k]
        flank = p[P.fender_first_y + k] if point == 0 else p[P.fender_second_y + k]
        y, up = flank * heel_cosine + rise * heel_sine, rise * heel_cosine - flank * heel_sine
        # place and velocity of the point over the ground, then in the axes of the barge, which turn with her
        own_ahead, own_side = -rt * y, rt * x + up * heel_rate
        away_north, away_east = north + ct * x - st * y, east + st * x + ct * y
        fast_north = ground[2] + ct * own_ahead - st * own_side - ground[0]
        fast_east = ground[3] + st * own_ahead + ct * own_side - ground[1]
        station, offset = cb * away_north + sb * away_east, cb * away_east - sb * away_north
        along_rate = cb * fast_north + sb * fast_east + rb * offset
        across_rate = cb * fast_east - sb * fast_north - rb * station
        lost += fender_point_loss(p, k, station, offset, along_rate, across_rate)
    return lost


@kernel
def line_reach(s: NDArray[np.float64], p: NDArray[np.float64], k: int) -> tuple[float, float, float, float, float]:
    """Least line that spans the gap [m], its direction from tug to barge, north and east, and where on the barge it
    pulls, in her axes [m, m].
    """
    cb, sb = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    ct, st = s[STATE.tug_cosine + k], s[STATE.tug_sine + k]
    tow_x, tow_y = p[P.tug_towing_x + k], p[P.tug_towing_height + k] * sine_of_heel(s[STATE.heel + k])
    north = s[STATE.tug_north + k] + ct * tow_x - st * tow_y - s[STATE.barge_north + k]
    east = s[STATE.tug_east + k] + st * tow_x + ct * tow_y - s[STATE.barge_east + k]
    x = cb * north + sb * east - p[P.barge_towing_x + k]
    y = cb * east - sb * north - p[P.barge_towing_y + k]
    reach, pull_x, pull_y = bridle(x, y, p[P.bridle_half_spread + k], p[P.bridle_leg + k])
    line_x, line_y = pull_x - x, pull_y - y
    span = sqrt(line_x * line_x + line_y * line_y + 1e-12)
    line_north, line_east = (cb * line_x - sb * line_y) / span, (sb * line_x + cb * line_y) / span
    return reach, line_north, line_east, pull_x + p[P.barge_towing_x + k], pull_y + p[P.barge_towing_y + k]


@kernel
def line_loss(s: NDArray[np.float64], p: NDArray[np.float64], k: int, ground: Ground, tension: float) -> float:
    """Power that the line loses [W]: what its tension is above that at rest, times the rate at which it stretches."""
    cb, sb, rb = s[STATE.barge_cosine + k], s[STATE.barge_sine + k], s[STATE.barge_yaw + k]
    ct, st, rt = s[STATE.tug_cosine + k], s[STATE.tug_sine + k], s[STATE.tug_yaw + k]
    reach, line_north, line_east, x, y = line_reach(s, p, k)
    tow_x, high, heel = p[P.tug_towing_x + k], p[P.tug_towing_height + k], s[STATE.heel + k]
    own_ahead = -rt * high * sine_of_heel(heel)
    own_side = rt * tow_x + high * cosine_of_heel(heel) * s[STATE.heel_rate + k]
    fast_north = ground[0] - rb * (sb * x + cb * y) - ground[2] - ct * own_ahead + st * own_side
    fast_east = ground[1] + rb * (cb * x - sb * y) - ground[3] - st * own_ahead - ct * own_side
    at_rest = static_tension(
        reach - p[P.line_length + k], p[P.line_stiffness + k], p[P.line_sag + k], p[P.line_sag_tension + k]
    )
    lost: float = (tension - at_rest) * (line_north * fast_north + line_east * fast_east)
    return lost


@kernel
def powers(s: NDArray[np.float64], p: NDArray[np.float64], e: NDArray[np.float64], k: int) -> None:
    """Write the power of every load on the hulls of lane `k`.

    Parameters
    ----------
    s, p : ndarray, shape (rows * lanes,)
        State and parameters.
    e : ndarray, shape (rows of `Power`,)
        Receives the powers [W].
    k : int
        Lane.

    Notes
    -----
    A load's power is force times velocity through the water plus moment times
    rate of turn, plus roll moment times roll rate: energies are those seen from
    the water, which is where added mass belongs. Line and fender act between
    the hulls, so what they give to one they take from the other or keep: only
    what they lose stands here. In a sheared current the hulls lie in different
    water; what that comes to is `shear`. Loads come from the functions of the
    equations of motion, one at a time; velocities and what line and fender
    lose are worked out anew.
    """
    cb, sb = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    ub, vb, rb = s[STATE.barge_surge + k], s[STATE.barge_sway + k], s[STATE.barge_yaw + k]
    ct, st = s[STATE.tug_cosine + k], s[STATE.tug_sine + k]
    ut, vt, rt = s[STATE.tug_surge + k], s[STATE.tug_sway + k], s[STATE.tug_yaw + k]
    heel_rate = s[STATE.heel_rate + k]
    heel_cosine, heel_sine = cosine_of_heel(s[STATE.heel + k]), sine_of_heel(s[STATE.heel + k])
    shear, set_north, set_east = p[P.current_shear + k], p[P.current_cosine + k], p[P.current_sine + k]
    current_north, current_east = p[P.current_north + k], p[P.current_east + k]
    water_north_b, water_east_b = local_current(
        s[STATE.barge_north + k], s[STATE.barge_east + k], current_north, current_east, shear, set_north, set_east
    )
    water_north_t, water_east_t = local_current(
        s[STATE.tug_north + k], s[STATE.tug_east + k], current_north, current_east, shear, set_north, set_east
    )
    ground = (  # of the barge's midships and of the tug's, north and east
        cb * ub - sb * vb + water_north_b, sb * ub + cb * vb + water_east_b,
        ct * ut - st * vt + water_north_t, st * ut + ct * vt + water_east_t,
    )  # fmt: skip

    # drives and wash
    height = heel_cosine * p[P.drive_height + k]
    ahead, side, moment, given_1, given_2 = drive_loads(s, p, k, height)
    given = ahead * ut + side * vt + moment * rt + height * side * heel_rate
    e[POWER.drives] = given
    e[POWER.drives_size] = abs(given)
    north, east = s[STATE.tug_north + k] - s[STATE.barge_north + k], s[STATE.tug_east + k] - s[STATE.barge_east + k]
    relative_cosine, relative_sine = ct * cb + st * sb, st * cb - ct * sb
    station, offset = cb * north + sb * east, cb * east - sb * north
    ahead, side, moment = barge_wash(s, p, k, relative_cosine, relative_sine, station, offset, given_1, given_2)
    e[POWER.wash] = ahead * ub + side * vb + moment * rb

    # water, roll damping, wind, berth
    ahead, side, moment = water_on_barge(p, k, ub, vb, turn_through_water(rb, cb, sb, shear, set_north, set_east))
    e[POWER.barge_water] = ahead * ub + side * vb + moment * rb
    low = heel_cosine * p[P.tug_resistance_height + k]
    ahead, side, moment = water_on_tug(
        p, k, ut, vt + low * heel_rate, turn_through_water(rt, ct, st, shear, set_north, set_east)
    )
    e[POWER.tug_water] = ahead * ut + side * (vt + low * heel_rate) + moment * rt
    e[POWER.roll_damping] = -p[P.tug_roll_damping + k] * heel_rate * heel_rate
    wind_north, wind_east = p[P.wind_north + k], p[P.wind_east + k]
    ahead, side, moment = wind_on_barge(p, k, cb, sb, wind_north - ground[0], wind_east - ground[1])
    e[POWER.barge_wind] = ahead * ub + side * vb + moment * rb
    ahead, side, moment = wind_on_tug(p, k, ct, st, wind_north - ground[2], wind_east - ground[3])
    e[POWER.tug_wind] = ahead * ut + side * (vt + p[P.tug_wind_height + k] * heel_rate) + moment * rt
    face_north, face_east = p[P.berth_north + k], p[P.berth_east + k]
    ahead, side, moment, _ = berth_on_barge(
        p[P.berth_distance + k] + face_north * s[STATE.barge_north + k] + face_east * s[STATE.barge_east + k],
        cb * face_north + sb * face_east, cb * face_east - sb * face_north,
        cb * ground[0] + sb * ground[1], cb * ground[1] - sb * ground[0], rb,
        p[P.barge_half_length + k], p[P.barge_half_beam + k], p[P.berth_stiffness + k], p[P.fender_loss_time + k],
        p[P.fender_fade + k], p[P.fender_friction + k], p[P.fender_creep + k],
    )  # fmt: skip
    e[POWER.berth] = ahead * ub + side * vb + moment * rb

    # what line and fender lose
    _, _, _, _, ahead_b, side_b, _, tension = line_loads(
        s, p, k, ground[0] - ground[2], ground[1] - ground[3], heel_cosine, heel_sine
    )
    e[POWER.line_loss] = -line_loss(s, p, k, ground, tension)
    e[POWER.fender_loss] = -fender_loss(s, p, k, ground) if p[P.fender_stiffness + k] > 0.0 else 0.0

    # hulls that move into other water, and that pull on each other from different water
    more_ahead_b, more_side_b = shear_acceleration(ground[0], ground[1], cb, sb, shear, set_north, set_east)
    more_ahead_t, more_side_t = shear_acceleration(ground[2], ground[3], ct, st, shear, set_north, set_east)
    _, _, _, _, push_ahead, push_side, _, _, _ = fender_loads(
        s, p, k, relative_cosine, relative_sine, station, offset, cb * ground[0] + sb * ground[1],
        cb * ground[1] - sb * ground[0], cb * ground[2] + sb * ground[3], cb * ground[3] - sb * ground[2],
        heel_cosine, heel_sine,
    )  # fmt: skip
    ahead_b += push_ahead
    side_b += push_side
    pull_north, pull_east = cb * ahead_b - sb * side_b, sb * ahead_b + cb * side_b
    lag_north, lag_east = water_north_b - water_north_t, water_east_b - water_east_t
    shared = p[P.tug_sway_added_mass + k] * p[P.tug_resistance_height + k] * heel_rate
    e[POWER.shear] = (
        p[P.barge_surge_mass + k] * ub * more_ahead_b + p[P.barge_sway_mass + k] * vb * more_side_b
        + p[P.tug_surge_mass + k] * ut * more_ahead_t + (p[P.tug_sway_mass + k] * vt + shared) * more_side_t
        - pull_north * lag_north - pull_east * lag_east
    )  # fmt: skip
