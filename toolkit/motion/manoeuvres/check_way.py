"""Checking: taking the way off a barge, from her trailing end or by standing clear ahead of her."""

from __future__ import annotations

from collections.abc import Mapping
from math import atan2, cos, pi, sin

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import outlined
from toolkit.loads.scalars import clip
from toolkit.motion.crew import (
    POOR_LEAD,
    SHIFT_SPEED,
    STATION_FREQUENCY,
    STATION_SHARE,
    TAKE_WEIGHT_POWER,
    USELESS_LEAD,
)
from toolkit.motion.helm import pose, station_force
from toolkit.motion.layout import MEMORY, MEMORY_ROW, PARAMETER_ROW, REPORT, STATE, P
from toolkit.motion.lead import lead_angles
from toolkit.motion.log import TICK
from toolkit.motion.manoeuvres.manoeuvre import Given, Manoeuvre, Place, Ran
from toolkit.motion.manoeuvres.station import quality_of, watch_station
from toolkit.motion.manoeuvres.towing import (
    MOST_CRAB,
    along_barge,
    begin,
    gear_of_line,
    in_line_place,
    in_line_rows,
    note_margin,
    power_when_due,
    ramp,
    slack_force,
    through_water,
    way_made,
    weight_taken,
)
from toolkit.motion.phases import CHECK, TAKE_WEIGHT
from toolkit.motion.under_way import held_moment, steer_under_way, under_way
from toolkit.quantities import Outcome

__all__ = ["MANOEUVRE", "judge_check", "look_check"]

Array = NDArray[np.float64]

EASE_TIME = 5.0
"""Time in which the pull he gives would take off the way that is left: so he eases as she slows [s]; judgement,
spread 3 to 10."""
STAND_OFF = 0.8
"""Distance from the barge over the line's length at which a tug ahead of her stands clear: a line that hangs nearly
tight would tow her on; judgement, spread 0.6 to 0.95."""

ASTERN, SLOW = P.own_1, P.own_2
RUN, SPEED, STOPPED = MEMORY.own_1, MEMORY.own_2, MEMORY.own_3

COMPLETED = int(Outcome.completed)
TIMED_OUT = int(Outcome.timed_out)


@outlined
def look_check(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """One look of a master who takes the way off a barge.

    Parameters as for `look` of `toolkit.motion.manoeuvres.manoeuvre.Manoeuvre`.

    Notes
    -----
    Astern of the barge he takes the weight gently, works up his power against
    the way and eases as it comes off. Ahead of her he keeps the line slack and
    himself on her axis, and lets the water stop her.
    """
    lead, distance, off_axis, heading = lead_angles(s, p, k)
    tension = report[REPORT.tension + k]
    full = 2.0 * p[P.unit_thrust + k]
    astern = p[ASTERN + k] > 0.0
    if m[MEMORY.phase + k] == TAKE_WEIGHT and (not astern or weight_taken(p, m, k, distance, tension)):
        begin(m, k, CHECK)
    pulling = astern and m[MEMORY.phase + k] == CHECK and distance > p[P.taut_distance + k]
    power, quality = 0.0, 1.0
    if astern:
        needed = p[P.barge_surge_mass + k] * -way_made(s, p, k) / (EASE_TIME * full * p[P.power_setting + k])
        worked_up = ramp(p, m, k)
        power = power_when_due(p, m, k, clip(needed if needed < worked_up else worked_up, 0.0, 1.0))
        if m[MEMORY.phase + k] == CHECK:
            quality = quality_of(off_axis, POOR_LEAD, USELESS_LEAD)
            power *= quality
    m[MEMORY.power + k] = power
    m[MEMORY.lead + k] = lead

    x, y, _ = pose(s, p, k)
    steady_x, steady_y, tug_x, tug_y = through_water(s, p, k, x, y, heading)
    # astern of her along the line, ahead of her along her axis
    bearing = lead if astern else 0.0
    out_x, out_y = p[P.end + k] * cos(bearing), p[P.end + k] * sin(bearing)
    across_x, across_y = -out_y, out_x
    mass = 0.5 * (p[P.tug_surge_mass + k] + p[P.tug_sway_mass + k])
    radial = (steady_x - tug_x) * out_x + (steady_y - tug_y) * out_y
    missing = (steady_x - tug_x) * across_x + (steady_y - tug_y) * across_y
    keep = STATION_SHARE * full
    across = clip(station_force(STATION_FREQUENCY, mass, -distance * sin(lead), missing, SHIFT_SPEED), -keep, keep)

    # along the line: pull, bring it tight, or keep it slack
    if pulling:
        outward = clip(power * full, 0.0, p[P.most_force + k])
    elif astern:
        stretch = slack_force(p, k, mass, distance, radial)
        outward = clip(stretch, -TAKE_WEIGHT_POWER * full, TAKE_WEIGHT_POWER * full) + tension
    else:
        apart = STAND_OFF * p[P.line_length + k]
        clear = station_force(STATION_FREQUENCY, mass, apart - distance * cos(lead), radial, SHIFT_SPEED)
        outward = clip(clear, -keep, keep)

    # under way the line keeps her in line astern of the barge, and her heading ahead of her
    speed = tug_x * out_x + tug_y * out_y
    share = under_way(p, k, speed)
    off = 0.0
    if not astern:
        off = share * across / (abs(outward) + 2.0 * STATION_FREQUENCY * mass * (1.0 + abs(speed)))
        off = clip(off, -MOST_CRAB, MOST_CRAB)
    across *= 1.0 - share
    heading_aim = atan2(out_y, out_x) + off + (pi if p[P.stern_first + k] > 0.0 else 0.0)
    steer_under_way(
        s, p, m, k, share, not pulling,
        outward * out_x + across * across_x, outward * out_y + across * across_y,
        steady_x + share * (tug_x - steady_x), steady_y + share * (tug_y - steady_y),
        heading, heading_aim, p[P.turn + k] * s[STATE.barge_yaw + k],
        held_moment(s, p, k, lead, heading, tension),
    )  # fmt: skip
    watch_station(p, m, k, quality)


@outlined
def judge_check(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """End a check once the barge's way through the water, along the course of the start, is off."""
    time = m[MEMORY.time + k]
    way = way_made(s, p, k)
    speed = -way if p[ASTERN + k] > 0.0 else way
    before = m[SPEED + k] if m[MEMORY.ticks + k] > 1.0 else speed
    note_margin(s, p, m, k)
    slow = p[SLOW + k]
    if speed < slow:
        share = clip((before - slow) / (before - speed), 0.0, 1.0) if before > speed else 0.0
        m[STOPPED + k] = time - TICK * (1.0 - share)
        m[RUN + k] += 0.5 * TICK * share * (before + slow)
        m[MEMORY.outcome + k] = COMPLETED
    else:
        m[RUN + k] += 0.5 * TICK * (speed + before)
        m[SPEED + k] = speed
        if time >= p[P.time_limit + k]:
            m[MEMORY.outcome + k] = TIMED_OUT


def _outcomes(ran: Ran) -> dict[str, Array]:
    ahead = ran.parameters[PARAMETER_ROW.own_1] == 0.0
    m = ran.memories
    return {
        "stopping_time": np.where(ran.completed, m[MEMORY_ROW.own_3], np.nan),
        "stopping_distance": np.where(ran.completed, m[MEMORY_ROW.own_1], np.nan),
        "overrun_margin": np.where(ahead, m[MEMORY_ROW.least_margin], np.nan),
    }


def _rows(given: Given) -> dict[str, Array]:
    astern = given.choice("check_from", "astern")
    return {
        **in_line_rows(given),
        **along_barge(given, np.where(astern, -given.end, given.end)),
        "own_1": astern.astype(np.float64),
        "own_2": given.columns["slow_speed"],
    }


def _place(given: Given, rows: Mapping[str, Array]) -> Place:
    toward = np.where(rows["own_1"] > 0.0, -given.end, given.end)
    return in_line_place(given, rows, toward * given.columns["start_speed"])


MANOEUVRE = Manoeuvre(
    look=look_check, judge=judge_check, rows=_rows, gear=gear_of_line, place=_place, outcomes=_outcomes
)  # fmt: skip
