"""Equations of motion of tug and barge: the right-hand side of one case."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.loads.berth import berth_on_barge
from toolkit.loads.drives import slew_rate, spool_rate
from toolkit.loads.heel import beyond_deck_edge, righting_lever
from toolkit.loads.scalars import clip, cosine_of_heel, sine_of_heel
from toolkit.loads.shear import local_current, shear_acceleration, turn_through_water
from toolkit.motion.fenders import fender_loads
from toolkit.motion.hulls import water_on_barge, water_on_tug, wind_on_barge, wind_on_tug
from toolkit.motion.layout import ORDER, REPORT, STATE, P
from toolkit.motion.rigid import planar_accelerations, rolling_added_mass, sway_and_roll
from toolkit.motion.thrust import barge_wash, drive_loads
from toolkit.motion.tow import line_loads

__all__ = [
    "berth_loads", "derivatives", "drive_rates", "motions", "pushing_loads", "surrounding_loads", "thrust_loads",
    "towing_loads", "wash_loads",
]  # fmt: skip


@kernel
def drive_rates(
    s: NDArray[np.float64], p: NDArray[np.float64], o: NDArray[np.float64], d: NDArray[np.float64], k: int
) -> None:
    """Write the rates of both drives, the only ones that orders decide at once; parameters as for `derivatives`."""
    t1, c1, s1 = s[STATE.thrust_starboard + k], s[STATE.starboard_cosine + k], s[STATE.starboard_sine + k]
    t2, c2, s2 = s[STATE.thrust_port + k], s[STATE.port_cosine + k], s[STATE.port_sine + k]
    wanted_c1, wanted_s1 = o[ORDER.starboard_cosine + k], o[ORDER.starboard_sine + k]
    wanted_c2, wanted_s2 = o[ORDER.port_cosine + k], o[ORDER.port_sine + k]
    turn_1 = slew_rate(c1, s1, wanted_c1, wanted_s1, p[P.slew + k], p[P.slew_pace + k])
    turn_2 = slew_rate(c2, s2, wanted_c2, wanted_s2, p[P.slew + k], p[P.slew_pace + k])
    ready_1 = clip(c1 * wanted_c1 + s1 * wanted_s1, 0.0, 1.0)
    ready_2 = clip(c2 * wanted_c2 + s2 * wanted_s2, 0.0, 1.0)
    spool, pace = p[P.spool + k], p[P.spool_pace + k]
    d[STATE.thrust_starboard + k] = spool_rate(t1, ready_1 * o[ORDER.thrust_starboard + k], spool, pace)
    d[STATE.starboard_cosine + k] = -s1 * turn_1
    d[STATE.starboard_sine + k] = c1 * turn_1
    d[STATE.thrust_port + k] = spool_rate(t2, ready_2 * o[ORDER.thrust_port + k], spool, pace)
    d[STATE.port_cosine + k] = -s2 * turn_2
    d[STATE.port_sine + k] = c2 * turn_2


@kernel
def surrounding_loads(
    s: NDArray[np.float64], p: NDArray[np.float64], d: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """Write velocities over the ground, and the loads of water and wind on both hulls; as for `derivatives`."""
    cb, sb = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    ub, vb, rb = s[STATE.barge_surge + k], s[STATE.barge_sway + k], s[STATE.barge_yaw + k]
    ct, st = s[STATE.tug_cosine + k], s[STATE.tug_sine + k]
    ut, vt, rt = s[STATE.tug_surge + k], s[STATE.tug_sway + k], s[STATE.tug_yaw + k]
    heel_cosine, heel_rate = cosine_of_heel(s[STATE.heel + k]), s[STATE.heel_rate + k]

    # velocities of both hulls through the water, in north and east
    barge_north, barge_east = cb * ub - sb * vb, sb * ub + cb * vb
    tug_north, tug_east = ct * ut - st * vt, st * ut + ct * vt

    # water where they lie, and over the ground
    shear, set_north, set_east = p[P.current_shear + k], p[P.current_cosine + k], p[P.current_sine + k]
    current_north, current_east = p[P.current_north + k], p[P.current_east + k]
    water_north, water_east = local_current(
        s[STATE.barge_north + k], s[STATE.barge_east + k], current_north, current_east, shear, set_north, set_east
    )
    ground_north_b, ground_east_b = barge_north + water_north, barge_east + water_east
    water_north, water_east = local_current(
        s[STATE.tug_north + k], s[STATE.tug_east + k], current_north, current_east, shear, set_north, set_east
    )
    ground_north_t, ground_east_t = tug_north + water_north, tug_east + water_east

    # water and wind on either hull
    wind_north, wind_east = p[P.wind_north + k], p[P.wind_east + k]
    turn_b = turn_through_water(rb, cb, sb, shear, set_north, set_east)
    turn_t = turn_through_water(rt, ct, st, shear, set_north, set_east)
    ahead_b, side_b, moment_b = water_on_barge(p, k, ub, vb, turn_b)
    ahead, side, moment = wind_on_barge(p, k, cb, sb, wind_north - ground_north_b, wind_east - ground_east_b)
    ahead_b += ahead
    side_b += side
    moment_b += moment
    resistance_height = heel_cosine * p[P.tug_resistance_height + k]
    ahead_t, side_t, moment_t = water_on_tug(p, k, ut, vt + resistance_height * heel_rate, turn_t)
    roll_t = resistance_height * side_t
    ahead, side, moment = wind_on_tug(p, k, ct, st, wind_north - ground_north_t, wind_east - ground_east_t)
    ahead_t += ahead
    side_t += side
    moment_t += moment
    roll_t += p[P.tug_wind_height + k] * side

    d[STATE.barge_north + k] = ground_north_b
    d[STATE.barge_east + k] = ground_east_b
    d[STATE.tug_north + k] = ground_north_t
    d[STATE.tug_east + k] = ground_east_t
    report[REPORT.barge_ahead + k] = ahead_b
    report[REPORT.barge_side + k] = side_b
    report[REPORT.barge_moment + k] = moment_b
    report[REPORT.tug_ahead + k] = ahead_t
    report[REPORT.tug_side + k] = side_t
    report[REPORT.tug_moment + k] = moment_t
    report[REPORT.tug_roll + k] = roll_t
    report[REPORT.tension + k] = 0.0
    report[REPORT.contact + k] = 0.0
    report[REPORT.contact_station + k] = 0.0
    report[REPORT.side + k] = 0.0
    report[REPORT.berth + k] = 0.0


@kernel
def berth_loads(
    s: NDArray[np.float64], p: NDArray[np.float64], d: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """Add the load of the berth on the barge; as for `derivatives`, after `surrounding_loads`.

    Nothing, to the last bit, where there is no berth: not even the sign of a
    nought is changed, so that a case does not show whether its neighbours have one.
    """
    cb, sb = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    ground_north, ground_east = d[STATE.barge_north + k], d[STATE.barge_east + k]
    face_north, face_east = p[P.berth_north + k], p[P.berth_east + k]
    clearance = p[P.berth_distance + k] + face_north * s[STATE.barge_north + k] + face_east * s[STATE.barge_east + k]
    ahead, side, moment, force = berth_on_barge(
        clearance, cb * face_north + sb * face_east, cb * face_east - sb * face_north,
        cb * ground_north + sb * ground_east, cb * ground_east - sb * ground_north, s[STATE.barge_yaw + k],
        p[P.barge_half_length + k], p[P.barge_half_beam + k],
        p[P.berth_stiffness + k], p[P.fender_loss_time + k], p[P.fender_fade + k], p[P.fender_friction + k],
        p[P.fender_creep + k],
    )  # fmt: skip
    touching = force > 0.0
    report[REPORT.barge_ahead + k] += ahead if touching else -0.0
    report[REPORT.barge_side + k] += side if touching else -0.0
    report[REPORT.barge_moment + k] += moment if touching else -0.0
    report[REPORT.berth + k] = force


@kernel
def thrust_loads(
    s: NDArray[np.float64], p: NDArray[np.float64], d: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """Add the loads of the drives on the tug; as for `derivatives`, after `surrounding_loads`."""
    drive_height = cosine_of_heel(s[STATE.heel + k]) * p[P.drive_height + k]
    ahead, side, moment, given_1, given_2 = drive_loads(s, p, k, drive_height)
    report[REPORT.tug_ahead + k] += ahead
    report[REPORT.tug_side + k] += side
    report[REPORT.tug_moment + k] += moment
    report[REPORT.tug_roll + k] += drive_height * side
    report[REPORT.given_starboard + k] = given_1
    report[REPORT.given_port + k] = given_2


@kernel
def tug_from_barge(s: NDArray[np.float64], k: int) -> tuple[float, float, float, float]:
    """Cosine and sine of the tug's heading off the barge's, and her midships ahead and to starboard of hers [m]."""
    cb, sb = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    ct, st = s[STATE.tug_cosine + k], s[STATE.tug_sine + k]
    north = s[STATE.tug_north + k] - s[STATE.barge_north + k]
    east = s[STATE.tug_east + k] - s[STATE.barge_east + k]
    return ct * cb + st * sb, st * cb - ct * sb, cb * north + sb * east, cb * east - sb * north


@kernel
def wash_loads(
    s: NDArray[np.float64], p: NDArray[np.float64], d: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """Add the loads of the drives' wash on the barge; as for `derivatives`, after `thrust_loads`.

    Where the barge takes none it changes nothing, as `berth_loads` has it.
    """
    cosine, sine, station, offset = tug_from_barge(s, k)
    ahead, side, moment = barge_wash(
        s, p, k, cosine, sine, station, offset, report[REPORT.given_starboard + k], report[REPORT.given_port + k]
    )
    washed = p[P.barge_wash + k] > 0.0
    report[REPORT.barge_ahead + k] += ahead if washed else -0.0
    report[REPORT.barge_side + k] += side if washed else -0.0
    report[REPORT.barge_moment + k] += moment if washed else -0.0


@kernel
def towing_loads(
    s: NDArray[np.float64], p: NDArray[np.float64], d: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """Add the loads of the line on both hulls; as for `derivatives`, after `surrounding_loads`.

    A slack line without weight changes nothing, as `berth_loads` has it.
    """
    ahead, side, moment, roll, ahead_on_barge, side_on_barge, moment_on_barge, tension = line_loads(
        s, p, k, d[STATE.barge_north + k] - d[STATE.tug_north + k], d[STATE.barge_east + k] - d[STATE.tug_east + k],
        cosine_of_heel(s[STATE.heel + k]), sine_of_heel(s[STATE.heel + k]),
    )  # fmt: skip
    taut = tension > 0.0
    report[REPORT.barge_ahead + k] += ahead_on_barge if taut else -0.0
    report[REPORT.barge_side + k] += side_on_barge if taut else -0.0
    report[REPORT.barge_moment + k] += moment_on_barge if taut else -0.0
    report[REPORT.tug_ahead + k] += ahead if taut else -0.0
    report[REPORT.tug_side + k] += side if taut else -0.0
    report[REPORT.tug_moment + k] += moment if taut else -0.0
    report[REPORT.tug_roll + k] += roll if taut else -0.0
    report[REPORT.side + k] += side if taut else -0.0
    report[REPORT.tension + k] = tension


@kernel
def pushing_loads(
    s: NDArray[np.float64], p: NDArray[np.float64], d: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """Add the loads of the fender, two points of the tug against one side of the barge; as `towing_loads`."""
    cb, sb = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    cosine, sine, station, offset = tug_from_barge(s, k)
    ground_north_b, ground_east_b = d[STATE.barge_north + k], d[STATE.barge_east + k]
    ground_north_t, ground_east_t = d[STATE.tug_north + k], d[STATE.tug_east + k]
    ahead, side, moment, roll, ahead_on_barge, side_on_barge, moment_on_barge, normal, normal_at = fender_loads(
        s, p, k, cosine, sine, station, offset,
        cb * ground_north_b + sb * ground_east_b, cb * ground_east_b - sb * ground_north_b,
        cb * ground_north_t + sb * ground_east_t, cb * ground_east_t - sb * ground_north_t,
        cosine_of_heel(s[STATE.heel + k]), sine_of_heel(s[STATE.heel + k]),
    )  # fmt: skip
    pressed = normal > 0.0
    report[REPORT.barge_ahead + k] += ahead_on_barge if pressed else -0.0
    report[REPORT.barge_side + k] += side_on_barge if pressed else -0.0
    report[REPORT.barge_moment + k] += moment_on_barge if pressed else -0.0
    report[REPORT.tug_ahead + k] += ahead if pressed else -0.0
    report[REPORT.tug_side + k] += side if pressed else -0.0
    report[REPORT.tug_moment + k] += moment if pressed else -0.0
    report[REPORT.tug_roll + k] += roll if pressed else -0.0
    report[REPORT.side + k] += side if pressed else -0.0
    report[REPORT.contact + k] = normal
    report[REPORT.contact_station + k] = normal_at


@kernel
def motions(
    s: NDArray[np.float64], p: NDArray[np.float64], d: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """Write the rates of both hulls from their loads; as for `derivatives`, after all loads."""
    cb, sb = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    ub, vb, rb = s[STATE.barge_surge + k], s[STATE.barge_sway + k], s[STATE.barge_yaw + k]
    ct, st = s[STATE.tug_cosine + k], s[STATE.tug_sine + k]
    ut, vt, rt = s[STATE.tug_surge + k], s[STATE.tug_sway + k], s[STATE.tug_yaw + k]
    heel, heel_rate = s[STATE.heel + k], s[STATE.heel_rate + k]
    ground_north_b, ground_east_b = d[STATE.barge_north + k], d[STATE.barge_east + k]
    ground_north_t, ground_east_t = d[STATE.tug_north + k], d[STATE.tug_east + k]
    shear, set_north, set_east = p[P.current_shear + k], p[P.current_cosine + k], p[P.current_sine + k]

    coupling = p[P.barge_coupling + k]
    barge_surge_rate, barge_sway_rate, barge_yaw_rate = planar_accelerations(
        ub, vb, rb, p[P.barge_surge_mass + k], p[P.barge_sway_mass + k], p[P.barge_yaw_inertia + k],
        coupling, report[REPORT.barge_ahead + k], report[REPORT.barge_side + k], report[REPORT.barge_moment + k],
    )  # fmt: skip
    # sway and roll share the added mass, whose centre lies off the centre of gravity
    below = p[P.tug_resistance_height + k]
    added = p[P.tug_sway_added_mass + k]
    ahead, moment, roll = rolling_added_mass(ut, rt, heel_rate, p[P.tug_surge_added_mass + k], added, below)
    tug_surge_rate, tug_sway_rate, tug_yaw_rate = planar_accelerations(
        ut, vt, rt, p[P.tug_surge_mass + k], p[P.tug_sway_mass + k], p[P.tug_yaw_inertia + k], coupling,
        report[REPORT.tug_ahead + k] + ahead, report[REPORT.tug_side + k], report[REPORT.tug_moment + k] + moment,
    )  # fmt: skip
    upright = righting_lever(heel, p[P.metacentric_height + k], p[P.metacentric_radius + k])
    beyond = beyond_deck_edge(
        heel, p[P.deck_edge_angle + k], p[P.lever_at_edge + k], p[P.lever_slope_at_edge + k], p[P.lever_top + k],
        p[P.lever_top_angle + k], p[P.vanishing_angle + k],
    )  # fmt: skip
    righting = p[P.tug_weight + k] * (upright if abs(heel) < p[P.lever_from + k] else beyond)
    roll_t = report[REPORT.tug_roll + k] + roll - (righting + p[P.tug_roll_damping + k] * heel_rate)
    tug_sway_rate, heel_acceleration = sway_and_roll(
        p[P.tug_sway_mass + k] * tug_sway_rate, roll_t, p[P.tug_sway_mass + k], p[P.tug_roll_inertia + k], added * below
    )

    more_ahead_b, more_side_b = shear_acceleration(
        ground_north_b, ground_east_b, cb, sb, shear, set_north, set_east
    )  # fmt: skip
    more_ahead_t, more_side_t = shear_acceleration(
        ground_north_t, ground_east_t, ct, st, shear, set_north, set_east
    )  # fmt: skip

    d[STATE.barge_cosine + k] = -sb * rb
    d[STATE.barge_sine + k] = cb * rb
    d[STATE.barge_surge + k] = barge_surge_rate + more_ahead_b
    d[STATE.barge_sway + k] = barge_sway_rate + more_side_b
    d[STATE.barge_yaw + k] = barge_yaw_rate
    d[STATE.turned + k] = p[P.turn + k] * rb
    d[STATE.tug_cosine + k] = -st * rt
    d[STATE.tug_sine + k] = ct * rt
    d[STATE.tug_surge + k] = tug_surge_rate + more_ahead_t
    d[STATE.tug_sway + k] = tug_sway_rate + more_side_t
    d[STATE.tug_yaw + k] = tug_yaw_rate
    d[STATE.heel + k] = heel_rate
    d[STATE.heel_rate + k] = heel_acceleration
    t1, t2 = abs(s[STATE.thrust_starboard + k]), abs(s[STATE.thrust_port + k])
    d[STATE.drive_energy + k] = p[P.power_factor + k] * (t1 * sqrt(t1) + t2 * sqrt(t2))


@kernel
def derivatives(
    s: NDArray[np.float64],
    p: NDArray[np.float64],
    o: NDArray[np.float64],
    d: NDArray[np.float64],
    report: NDArray[np.float64],
    k: int,
) -> None:
    """Write the rates of state of the case in lane `k`.

    Parameters
    ----------
    s, p, o : ndarray, shape (rows * lanes,)
        State, parameters and orders in force, rows by `toolkit.motion.layout`.
    d : ndarray, shape (rows of state * lanes,)
        Receives the rates.
    report : ndarray, shape (rows of report * lanes,)
        Receives the loads, by `toolkit.motion.layout.Report`.
    k : int
        Lane.

    Notes
    -----
    A drive gives its ordered power only as far as it points the ordered way: a
    master eases while his drives turn. No branches and no trigonometry, so that
    a compiler can work on many lanes at once. Every load acts on the body it
    belongs to and its reaction on the other, at the same point.

    In parts, each a loop over the lanes of its own in
    `toolkit.motion.batch.rates_of_lanes`: one loop over everything reads more
    rows than the compiler will check, and it gives up making vector code.
    """
    surrounding_loads(s, p, d, report, k)
    thrust_loads(s, p, d, report, k)
    wash_loads(s, p, d, report, k)
    towing_loads(s, p, d, report, k)
    pushing_loads(s, p, d, report, k)
    berth_loads(s, p, d, report, k)
    motions(s, p, d, report, k)
    drive_rates(s, p, o, d, k)
