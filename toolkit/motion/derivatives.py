"""Equations of motion of tug and barge: the right-hand side of one case."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.loads.drives import direction_share, drive_force, slew_rate, spool_rate, wash_share
from toolkit.loads.heel import righting_lever
from toolkit.loads.scalars import clip, cosine_of_heel, sine_of_heel
from toolkit.loads.towline import line_tension
from toolkit.motion.contact import touch
from toolkit.motion.hulls import water_on_barge, water_on_tug, wind_on_barge, wind_on_tug
from toolkit.motion.layout import ORDER, REPORT, STATE, P
from toolkit.motion.rigid import planar_accelerations, sway_and_roll

__all__ = ["derivatives"]


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
        Receives line tension [N], contact force [N], the contact's station
        times force [N m], and the side force of line and barge on the tug [N].
    k : int
        Lane.

    Notes
    -----
    A drive gives its ordered power only as far as it points the ordered way: a
    master eases while his drives turn. No branches and no trigonometry, so that
    a compiler can work on many lanes at once. Every load acts on the body it
    belongs to and its reaction on the other, at the same point.
    """
    cb, sb = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    ub, vb, rb = s[STATE.barge_surge + k], s[STATE.barge_sway + k], s[STATE.barge_yaw + k]
    ct, st = s[STATE.tug_cosine + k], s[STATE.tug_sine + k]
    ut, vt, rt = s[STATE.tug_surge + k], s[STATE.tug_sway + k], s[STATE.tug_yaw + k]
    heel, heel_rate = s[STATE.heel + k], s[STATE.heel_rate + k]
    heel_cosine, heel_sine = cosine_of_heel(heel), sine_of_heel(heel)

    # velocities of both hulls through the water, in north and east
    barge_north, barge_east = cb * ub - sb * vb, sb * ub + cb * vb
    tug_north, tug_east = ct * ut - st * vt, st * ut + ct * vt

    # water and wind on either hull
    air_north = p[P.wind_north + k] - p[P.current_north + k]
    air_east = p[P.wind_east + k] - p[P.current_east + k]
    ahead_b, side_b, moment_b = water_on_barge(p, k, ub, vb, rb)
    ahead, side, moment = wind_on_barge(p, k, cb, sb, air_north - barge_north, air_east - barge_east)
    ahead_b += ahead
    side_b += side
    moment_b += moment
    resistance_height = heel_cosine * p[P.tug_resistance_height + k]
    ahead_t, side_t, moment_t = water_on_tug(p, k, ut, vt + resistance_height * heel_rate, rt)
    roll_t = resistance_height * side_t
    ahead, side, moment = wind_on_tug(p, k, ct, st, air_north - tug_north, air_east - tug_east)
    ahead_t += ahead
    side_t += side
    moment_t += moment
    roll_t += p[P.tug_wind_height + k] * side

    # drives
    t1, c1, s1 = s[STATE.thrust_starboard + k], s[STATE.starboard_cosine + k], s[STATE.starboard_sine + k]
    t2, c2, s2 = s[STATE.thrust_port + k], s[STATE.port_cosine + k], s[STATE.port_sine + k]
    astern, share, band = p[P.astern_ratio + k], p[P.athwart_share + k], p[P.athwart_band_sine + k]
    tandem = p[P.tandem_ratio + k]
    drive_x, drive_y = p[P.drive_x + k], p[P.drive_half_spacing + k]
    weight_on_port = p[P.wash_share + k] * clip(t1 / (t2 + 1.0), 0.0, 1.0)
    weight_on_starboard = p[P.wash_share + k] * clip(t2 / (t1 + 1.0), 0.0, 1.0)
    loss, ram = p[P.speed_loss + k], p[P.ram + k]
    drive_height = heel_cosine * p[P.drive_height + k]
    drive_side = vt + drive_x * rt + drive_height * heel_rate
    ahead_1, side_1 = drive_force(
        t1 * direction_share(c1, astern, share, band) * wash_share(-s2, c2, tandem, weight_on_starboard),
        c1,
        s1,
        ut - drive_y * rt,
        drive_side,
        loss,
        ram,
    )
    ahead_2, side_2 = drive_force(
        t2 * direction_share(c2, astern, share, band) * wash_share(s1, c1, tandem, weight_on_port),
        c2,
        s2,
        ut + drive_y * rt,
        drive_side,
        loss,
        ram,
    )
    ahead_t += ahead_1 + ahead_2
    side_t += side_1 + side_2
    moment_t += drive_x * (side_1 + side_2) + drive_y * (ahead_2 - ahead_1)
    roll_t += drive_height * (side_1 + side_2)

    # towline: from the tug's towing point to the barge's
    apart_north = s[STATE.barge_north + k] - s[STATE.tug_north + k]
    apart_east = s[STATE.barge_east + k] - s[STATE.tug_east + k]
    tow_x, tow_height, tow_b = p[P.tug_towing_x + k], p[P.tug_towing_height + k], p[P.barge_towing_x + k]
    tow_y = tow_height * heel_sine
    line_north = apart_north + cb * tow_b - (ct * tow_x - st * tow_y)
    line_east = apart_east + sb * tow_b - (st * tow_x + ct * tow_y)
    reach = sqrt(line_north * line_north + line_east * line_east + 1e-12)
    line_north /= reach
    line_east /= reach
    point_ahead = ut - tow_y * rt
    point_side = vt + tow_x * rt + tow_height * heel_cosine * heel_rate
    rate = line_north * (barge_north - sb * tow_b * rb - (ct * point_ahead - st * point_side)) + line_east * (
        barge_east + cb * tow_b * rb - (st * point_ahead + ct * point_side)
    )
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
    ahead_t += pull_ahead
    side_t += pull_side
    moment_t += tow_x * pull_side - tow_y * pull_ahead
    roll_t += tow_height * heel_cosine * pull_side
    barge_pull_side = tension * (cb * line_east - sb * line_north)
    ahead_b -= tension * (cb * line_north + sb * line_east)
    side_b -= barge_pull_side
    moment_b -= tow_b * barge_pull_side

    # fender: two points of the tug against one side of the barge
    relative_cosine, relative_sine = ct * cb + st * sb, st * cb - ct * sb
    tug_station = -(cb * apart_north + sb * apart_east)
    tug_offset = -(cb * apart_east - sb * apart_north)
    height = p[P.fender_height + k]
    tug_along = relative_cosine * ut - relative_sine * vt
    tug_across = relative_sine * ut + relative_cosine * vt

    x1, flank = p[P.fender_first_x + k], p[P.fender_first_y + k]
    y1, up_1 = flank * heel_cosine + height * heel_sine, height * heel_cosine - flank * heel_sine
    arm_x1, arm_y1 = relative_cosine * x1 - relative_sine * y1, relative_sine * x1 + relative_cosine * y1
    station_1, offset_1 = tug_station + arm_x1, tug_offset + arm_y1
    normal_1, along_1 = touch(
        p,
        k,
        station_1,
        offset_1,
        tug_along - rt * arm_y1 - relative_sine * up_1 * heel_rate - (ub - rb * offset_1),
        tug_across + rt * arm_x1 + relative_cosine * up_1 * heel_rate - (vb + rb * station_1),
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
        tug_along - rt * arm_y2 - relative_sine * up_2 * heel_rate - (ub - rb * offset_2),
        tug_across + rt * arm_x2 + relative_cosine * up_2 * heel_rate - (vb + rb * station_2),
    )
    across_1, across_2 = p[P.pushed_side + k] * normal_1, p[P.pushed_side + k] * normal_2
    push_side_1 = relative_cosine * across_1 - relative_sine * along_1
    push_side_2 = relative_cosine * across_2 - relative_sine * along_2
    ahead_t += relative_cosine * (along_1 + along_2) + relative_sine * (across_1 + across_2)
    side_t += push_side_1 + push_side_2
    moment_t += arm_x1 * across_1 - arm_y1 * along_1 + arm_x2 * across_2 - arm_y2 * along_2
    roll_t += up_1 * push_side_1 + up_2 * push_side_2
    ahead_b -= along_1 + along_2
    side_b -= across_1 + across_2
    moment_b -= station_1 * across_1 - offset_1 * along_1 + station_2 * across_2 - offset_2 * along_2

    # motion
    coupling = p[P.barge_coupling + k]
    barge_surge_rate, barge_sway_rate, barge_yaw_rate = planar_accelerations(
        ub, vb, rb, p[P.barge_surge_mass + k], p[P.barge_sway_mass + k], p[P.barge_yaw_inertia + k],
        coupling, ahead_b, side_b, moment_b,
    )  # fmt: skip
    tug_surge_rate, tug_sway_rate, tug_yaw_rate = planar_accelerations(
        ut, vt, rt, p[P.tug_surge_mass + k], p[P.tug_sway_mass + k], p[P.tug_yaw_inertia + k],
        coupling, ahead_t, side_t, moment_t,
    )  # fmt: skip
    # sway and roll share the added mass, whose centre lies off the centre of gravity
    below = p[P.tug_resistance_height + k]
    added = p[P.tug_sway_added_mass + k]
    righting = p[P.tug_weight + k] * righting_lever(heel, p[P.metacentric_height + k], p[P.metacentric_radius + k])
    roll_t -= righting + p[P.tug_roll_damping + k] * heel_rate + below * p[P.tug_surge_added_mass + k] * ut * rt
    tug_sway_rate, heel_acceleration = sway_and_roll(
        p[P.tug_sway_mass + k] * tug_sway_rate, roll_t, p[P.tug_sway_mass + k], p[P.tug_roll_inertia + k], added * below
    )
    turn_1 = slew_rate(
        c1, s1, o[ORDER.starboard_cosine + k], o[ORDER.starboard_sine + k], p[P.slew + k], p[P.slew_settle + k]
    )
    turn_2 = slew_rate(c2, s2, o[ORDER.port_cosine + k], o[ORDER.port_sine + k], p[P.slew + k], p[P.slew_settle + k])

    d[STATE.barge_north + k] = barge_north + p[P.current_north + k]
    d[STATE.barge_east + k] = barge_east + p[P.current_east + k]
    d[STATE.barge_cosine + k] = -sb * rb
    d[STATE.barge_sine + k] = cb * rb
    d[STATE.barge_surge + k] = barge_surge_rate
    d[STATE.barge_sway + k] = barge_sway_rate
    d[STATE.barge_yaw + k] = barge_yaw_rate
    d[STATE.turned + k] = p[P.turn + k] * rb
    d[STATE.tug_north + k] = tug_north + p[P.current_north + k]
    d[STATE.tug_east + k] = tug_east + p[P.current_east + k]
    d[STATE.tug_cosine + k] = -st * rt
    d[STATE.tug_sine + k] = ct * rt
    d[STATE.tug_surge + k] = tug_surge_rate
    d[STATE.tug_sway + k] = tug_sway_rate
    d[STATE.tug_yaw + k] = tug_yaw_rate
    d[STATE.heel + k] = heel_rate
    d[STATE.heel_rate + k] = heel_acceleration
    ready_1 = clip(c1 * o[ORDER.starboard_cosine + k] + s1 * o[ORDER.starboard_sine + k], 0.0, 1.0)
    ready_2 = clip(c2 * o[ORDER.port_cosine + k] + s2 * o[ORDER.port_sine + k], 0.0, 1.0)
    spool, settle = p[P.spool + k], p[P.spool_settle + k]
    d[STATE.thrust_starboard + k] = spool_rate(t1, ready_1 * o[ORDER.thrust_starboard + k], spool, settle)
    d[STATE.starboard_cosine + k] = -s1 * turn_1
    d[STATE.starboard_sine + k] = c1 * turn_1
    d[STATE.thrust_port + k] = spool_rate(t2, ready_2 * o[ORDER.thrust_port + k], spool, settle)
    d[STATE.port_cosine + k] = -s2 * turn_2
    d[STATE.port_sine + k] = c2 * turn_2
    d[STATE.drive_energy + k] = p[P.power_factor + k] * (t1 * sqrt(t1) + t2 * sqrt(t2))

    report[REPORT.tension + k] = tension
    report[REPORT.contact + k] = normal_1 + normal_2
    report[REPORT.side + k] = pull_side + push_side_1 + push_side_2
    report[REPORT.contact_station + k] = normal_1 * station_1 + normal_2 * station_2
