"""A barge moved, or kept, bodily: how the master works in side_push and in hold."""

from __future__ import annotations

from math import cos

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.loads.shear import local_current
from toolkit.motion.crew import HELM_INTERVAL, POOR_LEAD, TAKE_WEIGHT_POWER, USELESS_LEAD
from toolkit.motion.helm import pose
from toolkit.motion.hulls import water_on_barge, wind_on_barge
from toolkit.motion.layout import MEMORY, REPORT, STATE, P
from toolkit.motion.lead import lead_angles
from toolkit.motion.manoeuvres.alongside import lie_to_side, side_quality, wash_while_hauling
from toolkit.motion.manoeuvres.hanging_line import lying_distance
from toolkit.motion.manoeuvres.station import quality_of, watch_station
from toolkit.motion.master import judgement_due, order_power
from toolkit.motion.phases import ACCELERATE, CHECK, HOLD, TAKE_WEIGHT

__all__ = ["displaced", "over_ground", "work_bodily"]

# filled by `toolkit.motion.manoeuvres.bodily_rows`
FACE = P.own_11
"""Side of the barge on which a berth lies, mirrored: +1, -1, or 0."""
SIDE, HEADING = P.own_1, P.own_2
"""The tug's side of the barge (mirrored, +1 where she hauls, -1 where she pushes), and her heading off the barge's."""
START_COSINE, START_SINE = P.own_3, P.own_4
"""Of the barge's heading at the start, and of the berth's face."""
FELT_AT = P.own_10
"""Where a push acts, forward of the tug's midships along the barge, as he expects it [m]."""
LEARNED, TRIM, OFFSET, LEAD = MEMORY.own_1, MEMORY.own_2, MEMORY.own_3, MEMORY.own_12
"""What the master has learned of loads that he does not see [N], the station he works at, how far from where he expects
it a push acts [m], and the lead he takes off square (sine, ahead positive)."""

WASH = MEMORY.own_13
"""Strength of the wash that strikes the barge while the tug hauls."""

LEARN_TIME = 40.0
"""Time in which he learns what his judgement of wind, current and wash misses [s]; judgement, spread 20 to 80."""
LEARN_MOST = 0.5
"""Most that he takes in of it, over bollard pull; judgement, spread 0.3 to 1."""
SWAY_RESPONSE = 20.0
"""Time in which he means to bring her sideways way to what he wants [s]; judgement, spread 10 to 40."""
READ_AHEAD = 8.0
"""Time over which he reads the trend of it ahead, well below the time above lest he hunt [s]; judgement, 4 to 12."""
TURN_FREQUENCY = 0.03
"""Natural frequency with which he keeps the barge parallel [rad/s]; judgement, spread 0.02 to 0.06."""
ALONG_FREQUENCY = 0.05
"""The same with which he keeps her from going ahead or astern by pushing; judgement, spread 0.03 to 0.07."""
TRIM_SHARE = 0.5
"""Farthest station from midships for that, over her half length; judgement, spread 0.3 to 0.8."""
TRIM_FROM = 0.0175
"""Angle off parallel to which the least push belongs by which he reckons [rad]; judgement, spread 0.01 to 0.03."""
TRIM_TIME = 10.0
"""Time in which he goes over to another station [s]; judgement, spread 5 to 20."""
TRIM_SPEED = 0.1
"""Most that he shifts the station with [m/s]: she slides along the side; judgement, spread 0.05 to 0.2."""
STRAIGHTEN_FROM, STRAIGHTEN_AHEAD = 0.035, 20.0
"""Angle off parallel, foreseen over this time, from which he pushes for that alone [rad, s]; judgement, 0.02 to 0.07
and 10 to 40."""
STRAIGHTEN_SPEED = 0.04
"""Speed above the one wanted at which he no longer does [m/s]; judgement, spread 0.02 to 0.1."""
LEAD_MOST = 0.7
"""Farthest lead of the line off square to the side, sine; judgement, spread 0.5 to 0.8."""
LEAD_FREQUENCY = 0.015
"""The same by the lead of a line, for which she has to go round; judgement, spread 0.01 to 0.03."""
LEAD_FLOOR = 0.05
"""Least pull, over bollard pull, from which he reckons the lead; judgement, spread 0.02 to 0.1."""
LEAD_TIME = 20.0
"""Time in which he goes over to another lead [s]; judgement, spread 10 to 40."""
GRIP = 0.8
"""Share of the fender's friction he uses to push the barge along; judgement, spread 0.5 to 1."""
FIRM_MOST = 0.5
"""Most that he pushes for that grip, over bollard pull; judgement, spread 0.2 to 1."""
LEAN_SHARE = 0.01
"""Least that he leans on a barge that lies at her berth with, over bollard pull: she rests between tug and berth, where
one left alone would be tossed from one to the other; judgement, spread 0.005 to 0.03."""
ALONG_SHARE = 0.04
"""Force along her, over bollard pull, that he uses besides, for what his drives do not give as ordered; judgement,
spread 0 to 0.1."""
SLIDE_FROM = 1.0
"""Station error from which she slides along the side, against her fender's friction [m]; judgement, spread 0.5 to 2."""
OFFSET_SHARE = 0.1
"""Share of a change of the push point that he takes in at a look; judgement, spread 0.05 to 0.3."""
CHECK_MARGIN = 0.02
"""Force the other way, over bollard pull, at which a tug made fast goes over to the line, or back; 0.01 to 0.05."""
EXCESS_SHARE, EXCESS_LEAST = 0.15, 0.01
"""Excess of speed from which she does so, over that wanted, and at least [m/s]; judgement, 0.1 to 0.3, 0 to 0.03."""


@kernel
def over_ground(s: NDArray[np.float64], p: NDArray[np.float64], k: int) -> tuple[float, float, float, float]:
    """Velocity of the barge over the ground, and of the water where she lies, in her mirrored axes [m/s]."""
    cosine, sine, turn = s[STATE.barge_cosine + k], s[STATE.barge_sine + k], p[P.turn + k]
    north, east = local_current(
        s[STATE.barge_north + k], s[STATE.barge_east + k], p[P.current_north + k], p[P.current_east + k],
        p[P.current_shear + k], p[P.current_cosine + k], p[P.current_sine + k],
    )  # fmt: skip
    set_along, set_across = cosine * north + sine * east, turn * (cosine * east - sine * north)
    return s[STATE.barge_surge + k] + set_along, turn * s[STATE.barge_sway + k] + set_across, set_along, set_across


@kernel
def displaced(s: NDArray[np.float64], p: NDArray[np.float64], k: int) -> tuple[float, float]:
    """How far the barge's midships are from where they began: along her first heading, and the ordered way [m]."""
    north = s[STATE.barge_north + k] - p[P.start_north + k]
    east = s[STATE.barge_east + k] - p[P.start_east + k]
    cosine, sine = p[START_COSINE + k], p[START_SINE + k]
    return cosine * north + sine * east, p[P.turn + k] * (cosine * east - sine * north)


@kernel
def leaning(
    s: NDArray[np.float64], p: NDArray[np.float64], k: int, along: float, across: float
) -> tuple[float, float, float]:
    """How wind and water lean on the barge while she moves over the ground as said, mirrored [N, N, N m]."""
    cosine, sine, turn = s[STATE.barge_cosine + k], s[STATE.barge_sine + k], p[P.turn + k]
    _, _, set_along, set_across = over_ground(s, p, k)
    east_of = turn * across
    ahead, side, moment = wind_on_barge(
        p, k, cosine, sine,
        p[P.wind_north + k] - (cosine * along - sine * east_of), p[P.wind_east + k] - (sine * along + cosine * east_of),
    )  # fmt: skip
    surge, sway = along - set_along, turn * (across - set_across)
    drag_ahead, drag_side, drag_moment = water_on_barge(p, k, surge, sway, 0.0)
    drag_moment -= p[P.barge_coupling + k] * (p[P.barge_sway_mass + k] - p[P.barge_surge_mass + k]) * surge * sway
    return ahead + drag_ahead, turn * (side + drag_side), turn * (moment + drag_moment)


@kernel
def force_along(s: NDArray[np.float64], p: NDArray[np.float64], k: int, f: float) -> float:
    """Force along the barge [N] that would keep her where she began, ahead or astern, at a frequency [rad/s]."""
    along, across, _, _ = over_ground(s, p, k)
    ahead, _, _ = leaning(s, p, k, along, across)
    gone, _ = displaced(s, p, k)
    force: float = -p[P.barge_surge_mass + k] * (2.0 * f * along + f * f * clip(gone, -10.0, 10.0)) - ahead
    return force


@kernel
def take_lead(s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int, force: float) -> None:
    """Set the lead of a line that hauls with a force [N], off square to the side, against a drift ahead or astern."""
    floor = LEAD_FLOOR * 2.0 * p[P.unit_thrust + k]
    aim = clip(force_along(s, p, k, LEAD_FREQUENCY) / (force if force > floor else floor), -LEAD_MOST, LEAD_MOST)
    m[LEAD + k] += HELM_INTERVAL / LEAD_TIME * (aim - m[LEAD + k])


@kernel
def turning_moment(s: NDArray[np.float64], p: NDArray[np.float64], k: int) -> float:
    """Moment [N m] that would keep the barge parallel to how she lay."""
    along, across, _, _ = over_ground(s, p, k)
    _, _, moment = leaning(s, p, k, along, across)
    f, yaw = TURN_FREQUENCY, p[P.turn + k] * s[STATE.barge_yaw + k]
    wanted: float = p[P.barge_yaw_inertia + k] * (2.0 * f * yaw + f * f * clip(s[STATE.turned + k], -0.2, 0.2))
    return -wanted - moment


@kernel
def straightening(s: NDArray[np.float64], p: NDArray[np.float64], k: int, too_fast: float) -> float:
    """Least push [N], at the farthest station, that keeps the barge parallel; none while she is, or comes too fast.

    `too_fast` is her speed above the one wanted [m/s].
    """
    to_be = s[STATE.turned + k] + p[P.turn + k] * s[STATE.barge_yaw + k] * STRAIGHTEN_AHEAD
    if abs(to_be) < STRAIGHTEN_FROM or too_fast > STRAIGHTEN_SPEED:
        return 0.0
    push: float = abs(turning_moment(s, p, k)) / (TRIM_SHARE * p[P.barge_half_length + k])
    return push


@kernel
def take_station(s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int, force: float) -> float:
    """Set the station of a push [N] for the barge to stay parallel; returns the force along her to give besides [N]."""
    most = GRIP * p[P.fender_friction + k] * force + ALONG_SHARE * 2.0 * p[P.unit_thrust + k]
    wanted = clip(force_along(s, p, k, ALONG_FREQUENCY), -most, most)
    farthest = TRIM_SHARE * p[P.barge_half_length + k]
    least = p[P.barge_yaw_inertia + k] * TURN_FREQUENCY * TURN_FREQUENCY * TRIM_FROM / farthest
    # a push along her, at her side, turns her too
    grip = GRIP * p[P.fender_friction + k] * force
    turning = turning_moment(s, p, k) + p[SIDE + k] * p[P.barge_half_beam + k] * clip(wanted, -grip, grip)
    aim = clip(turning / (force if force > least else least), -farthest, farthest)
    m[TRIM + k] += HELM_INTERVAL * clip((aim - m[TRIM + k]) / TRIM_TIME, -TRIM_SPEED, TRIM_SPEED)
    return wanted


@kernel
def judge_force(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int,
    wanted: float, may_change: bool,
) -> float:  # fmt: skip
    """Force, over bollard pull and the way the present hand works, that brings the barge to a wanted speed.

    `wanted` is over the ground, the ordered way [m/s]. As in the judgement of
    a swing he reads the trend a little ahead, knows her mass and how wind and
    water lean on her; what he misses he learns. A tug made fast by a line
    besides her fender changes hands, if she `may_change`, once the other way
    is called for.
    """
    along, across, _, _ = over_ground(s, p, k)
    full = 2.0 * p[P.unit_thrust + k]
    interval = m[MEMORY.time + k] - m[MEMORY.judged_at + k]
    trend = 0.0
    pushing = p[P.pushing + k] > 0.0 and m[MEMORY.hand + k] > 0.0
    if m[MEMORY.judged_at + k] > 0.0:
        trend = (across - m[MEMORY.last_rate + k]) / interval
        _, side, _ = leaning(s, p, k, along, across)
        given = p[SIDE + k] * report[REPORT.tension + k]
        if pushing:
            given = m[MEMORY.power + k] * full
        unseen = p[P.barge_sway_mass + k] * trend - side - given + p[FACE + k] * report[REPORT.berth + k]
        change = clip(interval / LEARN_TIME, 0.0, 1.0) * (unseen - m[LEARNED + k])
        m[LEARNED + k] = clip(m[LEARNED + k] + change, -LEARN_MOST * full, LEARN_MOST * full)
    m[MEMORY.last_rate + k] = across
    m[MEMORY.judged_at + k] = m[MEMORY.time + k]
    _, side, _ = leaning(s, p, k, along, wanted)
    mass = p[P.barge_sway_mass + k] + p[P.tug_surge_mass + k]
    share = (mass * (wanted - across - READ_AHEAD * trend) / SWAY_RESPONSE - side - m[LEARNED + k]) / full
    most = p[P.power_setting + k]
    both_ways = p[P.on_line + k] > 0.0 and p[P.pushing + k] > 0.0
    hand = m[MEMORY.hand + k]
    excess = clip(EXCESS_SHARE * abs(wanted), EXCESS_LEAST, 1.0)
    if may_change and both_ways and hand * share < -CHECK_MARGIN and hand * (across - wanted) > excess:
        m[MEMORY.hand + k] = -m[MEMORY.hand + k]
        m[MEMORY.shifts + k] += 1.0
    share *= m[MEMORY.hand + k]
    if p[P.pushing + k] > 0.0 and m[MEMORY.hand + k] > 0.0:
        least = straightening(s, p, k, across - wanted) / full
        share = share if share > least else least
        if p[P.berth_stiffness + k] > 0.0:  # alongside, a firm push lends grip against a drift ahead or astern
            grip = GRIP * p[P.fender_friction + k] * full
            firm = clip(abs(force_along(s, p, k, ALONG_FREQUENCY)) / (grip + 1.0), 0.0, FIRM_MOST)
            firm = firm if firm > LEAN_SHARE else LEAN_SHARE
            share = share if share > firm else firm
    if m[MEMORY.hand + k] < 0.0:
        m[MEMORY.phase + k] = CHECK
    else:
        m[MEMORY.phase + k] = ACCELERATE if share > most else HOLD
    return share if share > 0.0 else 0.0


@outlined
def work_bodily(
    s: NDArray[np.float64],
    p: NDArray[np.float64],
    m: NDArray[np.float64],
    report: NDArray[np.float64],
    k: int,
    wanted: float,
    rest: float,
    may_change: bool,
    lying: bool,
) -> None:
    """One look of a master who gives the barge a speed sideways and keeps her parallel.

    Parameters
    ----------
    s, p, m, report, k
        As for a look, see `toolkit.motion.manoeuvres.manoeuvre.Manoeuvre`.
    wanted : float
        Speed over the ground wanted, the way `turn` says [m/s].
    rest : float
        Distance between the towing points at which she lies on a line that is not wanted [m].
    may_change : bool
        Whether one made fast by a line besides her fender may go over from the one to the other.
    lying : bool
        Whether she draws by the weight of her line alone: in `hold`, on a line.

    Notes
    -----
    The wash of a tug made fast by a line besides strikes the barge while she
    hauls, not while she pushes or backs off her fender, as one without a line.
    Pushing, he shifts the push a little along the side against any turning,
    and angles it, as far as the fender grips, against a drift ahead or astern.
    Hauling, the line is fast amidships and he leads it against such a drift;
    the barge then lies as wind and current leave her.
    """
    x, _, heading = pose(s, p, k)
    lead, distance, _, _ = lead_angles(s, p, k)
    touching = report[REPORT.contact + k] > 0.0
    line_only = p[P.pushing + k] == 0.0
    full = 2.0 * p[P.unit_thrust + k]
    power = 0.0
    if m[MEMORY.phase + k] == TAKE_WEIGHT:
        power = TAKE_WEIGHT_POWER if line_only else 0.0
        if touching or (line_only and distance > p[P.taut_distance + k]):
            m[MEMORY.phase + k] = ACCELERATE
    if m[MEMORY.phase + k] != TAKE_WEIGHT:
        if judgement_due(m, k):
            hand = m[MEMORY.hand + k]
            share = judge_force(s, p, m, report, k, wanted, may_change)
            order_power(p, m, k, share / p[P.power_setting + k], m[MEMORY.hand + k] != hand)
        power = m[MEMORY.power_in_force + k]
    hauling = line_only or m[MEMORY.hand + k] < 0.0
    wash_while_hauling(p, m, k, WASH, hauling)

    along, off_lead = 0.0, 0.0
    if hauling:
        take_lead(s, p, m, k, power * full)
        off_lead = cos(lead) - m[LEAD + k]
        error = distance * off_lead
    else:
        along = take_station(s, p, m, k, power * full)
        if touching:
            felt = report[REPORT.contact_station + k] / report[REPORT.contact + k] - x - p[FELT_AT + k]
            m[OFFSET + k] += OFFSET_SHARE * (felt - m[OFFSET + k])
        error = x + p[FELT_AT + k] + m[OFFSET + k] - m[TRIM + k]
        if touching:  # what little she is off her station she bears, lest she drag the barge along
            error -= clip(error, -SLIDE_FROM, SLIDE_FROM)
            along -= p[P.fender_friction + k] * report[REPORT.contact + k] * clip(error / SLIDE_FROM, -1.0, 1.0)
    # on the line it is the lead that counts, not how far she is off it
    quality = side_quality(p, k, 0.0 if hauling else error, p[HEADING + k] - heading, False)
    if hauling:
        quality *= quality_of(off_lead, POOR_LEAD, USELESS_LEAD)
    power *= quality
    m[MEMORY.power + k] = power
    m[MEMORY.lead + k] = lead - p[P.lead + k] if hauling else 0.0
    if lying:
        rest, power = lying_distance(p, m, k, power * full, rest, report[REPORT.tension + k]), 0.0
    lie_to_side(s, p, m, report, k, p[SIDE + k], error, p[HEADING + k], power, hauling, rest, along)
    watch_station(p, m, k, quality)
