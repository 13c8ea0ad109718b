"""Towing ahead: from a slack line and rest, gently up to speed, on the course of the start."""

from __future__ import annotations

from collections.abc import Mapping
from math import atan2, cos, hypot, pi, sin

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.motion.crew import (
    POOR_LEAD,
    SHIFT_SPEED,
    STATION_FREQUENCY,
    STATION_SHARE,
    TAKE_WEIGHT_POWER,
    USELESS_LEAD,
)
from toolkit.motion.helm import pose, set_of_water, station_force
from toolkit.motion.layout import LANES, MEMORY, MEMORY_ROW, REPORT, STATE, P
from toolkit.motion.lead import lead_angles
from toolkit.motion.log import TICK
from toolkit.motion.manoeuvres.manoeuvre import Given, Manoeuvre, Place, Ran
from toolkit.motion.manoeuvres.station import quality_of, watch_station
from toolkit.motion.manoeuvres.towing import (
    MOST_CRAB,
    along_and_off,
    along_barge,
    begin,
    course_of,
    gear_of_line,
    in_line_place,
    in_line_rows,
    note_margin,
    power_when_due,
    ramp,
    slack_force,
    through_water,
    weight_taken,
)
from toolkit.motion.phases import ACCELERATE, HOLD, TAKE_WEIGHT
from toolkit.motion.setting_rows import NEVER_GIVEN
from toolkit.motion.sheer import linear_growth_rate
from toolkit.motion.under_way import held_moment, steer_under_way, under_way
from toolkit.quantities import Outcome

__all__ = ["MANOEUVRE", "judge_tow", "look_tow"]

Array = NDArray[np.float64]

MINUTE = 60.0
"""Time over which speeds are averaged; sheers are looked at over two of them, counted from the start [s]."""
STEADY_SHARE = 0.01
"""The speed is steady if its mean over a minute is within this share of that over the minute before; judgement,
spread 0.005 to 0.02."""
SHEER_SEEN = 0.03490658503988659
"""Half the range of the barge's heading that counts as a sheer: 2 degrees [rad]; judgement, spread 1 to 5 degrees."""
WILD_SHEER = 0.3490658503988659
"""Half the range of the barge's heading beyond which nobody goes on towing: 20 degrees [rad]; judgement, spread 10 to
45 degrees."""
GROWTH = 1.1
"""Sheer of two minutes over that of the two before from which it grows; judgement, spread 1 to 1.3."""
REACHED = 0.95
"""Share of the steady speed at which time and distance to it are taken."""
LOWEST_RUNG = 0.05
"""Speed from which on first passages are kept [m/s]; a tow slower than this is none."""
RUNGS = 4
"""Speeds, each `REACHED` of the next, whose first passage is kept: the steady speed may be up to 14 percent below the
largest, and still be found."""
EASE_BAND = 0.2
"""Share of the speed aimed at over which he eases from full power to nothing, centred on it; judgement, spread 0.1 to
0.4."""
CRAB_SPEED = 1.0
"""Speed below which he lays off for current as if he made it [m/s]; judgement, spread 0.5 to 1.5."""

RUN, SPEED, MARK, MEAN, BEFORE = MEMORY.own_1, MEMORY.own_2, MEMORY.own_3, MEMORY.own_4, MEMORY.own_5
YAW_LOW, YAW_HIGH, SHEER, SHEER_BEFORE = MEMORY.own_6, MEMORY.own_7, MEMORY.own_8, MEMORY.own_9
OFF_LOW, OFF_HIGH, OFF = MEMORY.own_10, MEMORY.own_11, MEMORY.own_12
STEADY_AT, RUNG = MEMORY.own_13, MEMORY.own_14
RUNG_TIME, RUNG_RUN = MEMORY.own_15, MEMORY.own_19
DISTANCE, SPEED_LIMIT = P.own_1, P.own_2

COMPLETED = int(Outcome.completed)
NOT_STEADY = int(Outcome.not_steady)
TIMED_OUT = int(Outcome.timed_out)


@outlined
def look_tow(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """One look of a master who tows a barge ahead on a line.

    Parameters as for `look` of `toolkit.motion.manoeuvres.manoeuvre.Manoeuvre`.

    Notes
    -----
    He keeps his tug over the ground on the line through the barge's midships
    along her heading at the start, lays off for the set of the current, and
    lets the barge follow as she will. A tug whose screws give no force to the
    side lays off for her station too.
    """
    lead, distance, off_axis, heading = lead_angles(s, p, k)
    tension = report[REPORT.tension + k]
    full = 2.0 * p[P.unit_thrust + k]
    quality = 1.0
    if m[MEMORY.phase + k] == TAKE_WEIGHT and weight_taken(p, m, k, distance, tension):
        begin(m, k, ACCELERATE)
    wanted = 1.0 if m[MEMORY.phase + k] == HOLD else ramp(p, m, k)
    towed = hypot(s[STATE.barge_surge + k], s[STATE.barge_sway + k])
    eased = clip(0.5 + (1.0 - towed / p[SPEED_LIMIT + k]) / EASE_BAND, 0.0, 1.0)
    power = power_when_due(p, m, k, wanted if wanted < eased else eased)
    if m[MEMORY.phase + k] != TAKE_WEIGHT:
        quality = quality_of(off_axis, POOR_LEAD, USELESS_LEAD)
        power *= quality
    if m[MEMORY.phase + k] == ACCELERATE and wanted >= 1.0:
        begin(m, k, HOLD)
    m[MEMORY.power + k] = power
    m[MEMORY.lead + k] = lead
    taut = m[MEMORY.phase + k] != TAKE_WEIGHT and distance > p[P.taut_distance + k]

    x, y, _ = pose(s, p, k)
    course_x, course_y, normal_x, normal_y = course_of(s, p, k)
    steady_x, steady_y, tug_x, tug_y = through_water(s, p, k, x, y, heading)
    set_x, set_y = set_of_water(s, p, k, s[STATE.barge_cosine + k], s[STATE.barge_sine + k])
    _, off = along_and_off(s, p, k, s[STATE.tug_north + k], s[STATE.tug_east + k])
    across_set = set_x * normal_x + set_y * normal_y
    way = tug_x * course_x + tug_y * course_y
    out_x, out_y = p[P.end + k] * cos(lead), p[P.end + k] * sin(lead)

    # to the side: back to the track, and against what the line pulls that way
    mass = 0.5 * (p[P.tug_surge_mass + k] + p[P.tug_sway_mass + k])
    missing = -(tug_x * normal_x + tug_y * normal_y + across_set)
    side = station_force(STATION_FREQUENCY, mass, -off, missing, SHIFT_SPEED)
    side += tension * (out_x * normal_x + out_y * normal_y)
    keep = STATION_SHARE * full
    side = clip(side, -keep, keep)

    # along the course: the power ordered, or the line brought tight
    along, outward = way, clip(power * full, 0.0, p[P.most_force + k])
    if not taut:
        along = steady_x * course_x + steady_y * course_y
        stretch = slack_force(p, k, mass, distance, (steady_x - tug_x) * out_x + (steady_y - tug_y) * out_y)
        outward = clip(stretch, -TAKE_WEIGHT_POWER * full, TAKE_WEIGHT_POWER * full) + tension
        if m[MEMORY.phase + k] != TAKE_WEIGHT:  # a barge that is fast enough may come up on her
            outward *= eased

    brisk = way if way > CRAB_SPEED else CRAB_SPEED
    share = under_way(p, k, way)
    crab = atan2(-across_set, brisk) + share * side / (abs(outward) + 2.0 * STATION_FREQUENCY * mass * brisk)
    crab = clip(crab, -MOST_CRAB, MOST_CRAB)
    side *= 1.0 - share
    c, sn = cos(crab), sin(crab)
    aim_x, aim_y = c * course_x + sn * normal_x, c * course_y + sn * normal_y
    heading_aim = atan2(aim_y, aim_x) + (pi if p[P.stern_first + k] > 0.0 else 0.0)
    # what she meets: at her station, or, under way, as she goes
    steady_x, steady_y = along * course_x - across_set * normal_x, along * course_y - across_set * normal_y
    steer_under_way(
        s, p, m, k, share, not taut,
        outward * aim_x + side * normal_x, outward * aim_y + side * normal_y,
        steady_x + share * (tug_x - steady_x), steady_y + share * (tug_y - steady_y),
        heading, heading_aim, 0.0, held_moment(s, p, k, lead, heading, tension),
    )  # fmt: skip
    watch_station(p, m, k, quality)


@kernel
def note_speed(m: NDArray[np.float64], k: int, speed: float) -> None:
    """Add up the run, note when speeds were first passed, and take the mean of every minute."""
    time = m[MEMORY.time + k]
    before = m[SPEED + k]
    if m[MEMORY.ticks + k] <= 1.0:
        before = speed
        m[RUNG + k] = LOWEST_RUNG
    m[RUN + k] += 0.5 * TICK * (speed + before)
    m[SPEED + k] = speed
    while speed * REACHED >= m[RUNG + k]:
        m[RUNG + k] /= REACHED
        for i in range(RUNGS - 1, 0, -1):
            m[RUNG_TIME + i * LANES + k] = m[RUNG_TIME + (i - 1) * LANES + k]
            m[RUNG_RUN + i * LANES + k] = m[RUNG_RUN + (i - 1) * LANES + k]
        ago = TICK * clip((speed - m[RUNG + k]) / (speed - before), 0.0, 1.0) if speed > before else 0.0
        m[RUNG_TIME + k] = time - ago
        m[RUNG_RUN + k] = m[RUN + k] - ago * speed
    if time % MINUTE == 0.0:
        m[BEFORE + k] = m[MEAN + k]
        m[MEAN + k] = (m[RUN + k] - m[MARK + k]) / MINUTE
        m[MARK + k] = m[RUN + k]


@kernel
def note_sheer(m: NDArray[np.float64], k: int, yaw: float, off: float) -> None:
    """Keep the range of the barge's heading and of her offset, and close it every two minutes."""
    time = m[MEMORY.time + k]
    if time % (2.0 * MINUTE) == TICK:
        m[YAW_LOW + k] = m[YAW_HIGH + k] = yaw
        m[OFF_LOW + k] = m[OFF_HIGH + k] = off
    m[YAW_LOW + k] = yaw if yaw < m[YAW_LOW + k] else m[YAW_LOW + k]
    m[YAW_HIGH + k] = yaw if yaw > m[YAW_HIGH + k] else m[YAW_HIGH + k]
    m[OFF_LOW + k] = off if off < m[OFF_LOW + k] else m[OFF_LOW + k]
    m[OFF_HIGH + k] = off if off > m[OFF_HIGH + k] else m[OFF_HIGH + k]
    if time % (2.0 * MINUTE) == 0.0:
        m[SHEER_BEFORE + k] = m[SHEER + k]
        m[SHEER + k] = 0.5 * (m[YAW_HIGH + k] - m[YAW_LOW + k])
        m[OFF + k] = 0.5 * (m[OFF_HIGH + k] - m[OFF_LOW + k])


@outlined
def judge_tow(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """End a tow that is steady, or has run its distance, or is out of time; parameters as for `look_tow`.

    Notes
    -----
    Looked at every two minutes, once the power ordered has been in force for
    two. The tow is steady if its mean speeds over the last two minutes are
    within `STEADY_SHARE` and its sheer does not grow: it is below `SHEER_SEEN`,
    or not above `GROWTH` times that of the two minutes before. It is given up
    as not steady if the sheer was above `WILD_SHEER` in both. At the time
    limit a tow with a sheer that is seen and does not die is not steady; any
    other is timed out.
    """
    time = m[MEMORY.time + k]
    note_margin(s, p, m, k)
    note_speed(m, k, hypot(s[STATE.barge_surge + k], s[STATE.barge_sway + k]))
    run, off = along_and_off(s, p, k, s[STATE.barge_north + k], s[STATE.barge_east + k])
    note_sheer(m, k, s[STATE.turned + k], off)
    outcome = 0
    if time % (2.0 * MINUTE) == 0.0 and m[MEMORY.phase + k] == HOLD:
        even = abs(m[MEAN + k] - m[BEFORE + k]) <= STEADY_SHARE * m[MEAN + k]
        growing = m[SHEER + k] > SHEER_SEEN and m[SHEER + k] > GROWTH * m[SHEER_BEFORE + k]
        wild = m[SHEER + k] > WILD_SHEER and m[SHEER_BEFORE + k] > WILD_SHEER
        if time - m[MEMORY.phase_start + k] >= 2.0 * MINUTE:
            if wild:
                outcome = NOT_STEADY
            elif even and not growing and m[STEADY_AT + k] == 0.0:
                m[STEADY_AT + k] = time
    if run >= p[DISTANCE + k] if p[DISTANCE + k] > 0.0 else m[STEADY_AT + k] > 0.0:
        outcome = COMPLETED
    elif outcome == 0 and time >= p[P.time_limit + k]:
        lasting = m[SHEER + k] > SHEER_SEEN and m[SHEER + k] >= m[SHEER_BEFORE + k]
        outcome = NOT_STEADY if lasting else TIMED_OUT
    m[MEMORY.outcome + k] = outcome


def _first_passage(memories: Array, level: Array) -> tuple[Array, Array]:
    """Time and run at which the speed first passed a level [s, m]; missing where no two rungs lie about it."""
    rungs = memories[MEMORY_ROW.own_14] * REACHED ** np.arange(RUNGS)[:, np.newaxis]
    first_time, first_run = MEMORY_ROW.own_15, MEMORY_ROW.own_15 + RUNGS
    times, runs = memories[first_time : first_time + RUNGS], memories[first_run : first_run + RUNGS]
    time, run = np.full(level.shape, np.nan), np.full(level.shape, np.nan)
    for i in range(RUNGS - 1):
        between = (rungs[i + 1] <= level) & (level <= rungs[i]) & (times[i + 1] > 0.0)
        # the last of the way is made as an exponential is: even in the logarithm of what is missing
        whole = 1.01 * np.maximum(level / REACHED, rungs[i])
        share = np.log((whole - rungs[i + 1]) / (whole - level)) / np.log((whole - rungs[i + 1]) / (whole - rungs[i]))
        time = np.where(between, times[i + 1] + share * (times[i] - times[i + 1]), time)
        run = np.where(between, runs[i + 1] + share * (runs[i] - runs[i + 1]), run)
    return time, run


def _outcomes(ran: Ran) -> dict[str, Array]:
    m = ran.memories
    code = m[MEMORY_ROW.outcome]
    speed = m[MEMORY_ROW.own_4]
    towed = np.isin(code, (COMPLETED, NOT_STEADY, TIMED_OUT)) & (speed > 0.0)
    steady = towed & (m[MEMORY_ROW.own_13] > 0.0)
    sheered = towed & (m[MEMORY_ROW.time] >= 2.0 * MINUTE)
    time, run = _first_passage(m, REACHED * speed)
    growth = np.full(speed.shape, np.nan)
    growth[towed] = linear_growth_rate(ran.parameters[:, towed], speed[towed])
    return {
        "tow_speed": np.where(towed, speed, np.nan),
        "time_to_tow_speed": np.where(steady, time, np.nan),
        "distance_to_tow_speed": np.where(steady, run, np.nan),
        "sheer_yaw": np.where(sheered, np.rad2deg(m[MEMORY_ROW.own_8]), np.nan),
        "sheer_sway": np.where(sheered, m[MEMORY_ROW.own_12], np.nan),
        "course_growth_rate": growth,
        "overrun_margin": m[MEMORY_ROW.least_margin],
    }


def _rows(given: Given) -> dict[str, Array]:
    c = given.columns
    return {
        **in_line_rows(given),
        **along_barge(given, given.end),
        "own_1": np.nan_to_num(c["tow_distance"]),
        "own_2": np.nan_to_num(c["tow_speed_limit"], nan=NEVER_GIVEN),
    }


def _place(given: Given, rows: Mapping[str, Array]) -> Place:
    return in_line_place(given, rows, given.end * given.columns["start_speed"])


MANOEUVRE = Manoeuvre(
    look=look_tow, judge=judge_tow, rows=_rows, gear=gear_of_line, place=_place, outcomes=_outcomes
)  # fmt: skip
