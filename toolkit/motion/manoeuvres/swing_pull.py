"""Swinging by pulling: the tug on a line from one end, in line astern or lying across it."""

from __future__ import annotations

from collections.abc import Mapping
from math import atan2, cos, pi, sin

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import outlined
from toolkit.loads.scalars import clip
from toolkit.motion.crew import (
    BROADSIDE_SHARE,
    FLOOR_RATE,
    POOR_LEAD,
    SHIFT_READY,
    SHIFT_SPEED,
    STATION_FREQUENCY,
    STATION_SHARE,
    TAKE_UP_SPEED,
    TAKE_WEIGHT_POWER,
    USELESS_LEAD,
)
from toolkit.motion.helm import pose, station_force, steer
from toolkit.motion.layout import MEMORY, REPORT, STATE, P
from toolkit.motion.lead import lead_angles
from toolkit.motion.manoeuvres.alone import walking_pace
from toolkit.motion.manoeuvres.manoeuvre import Given, Manoeuvre, Place
from toolkit.motion.manoeuvres.station import gentle_speed, quality_of, watch_station
from toolkit.motion.manoeuvres.swing import judge_swing, swing_rows
from toolkit.motion.master import power_in_force
from toolkit.motion.phases import ACCELERATE, CHECK, SHIFT, TAKE_WEIGHT

__all__ = ["MANOEUVRE", "look_pull", "pull_place"]

Array = NDArray[np.float64]

SLACK_AT_START = 0.97
"""Distance between the towing points over the line's length at the start; judgement, spread 0.9 to 1."""
MOVING_SHARE = 0.2
"""Swing rate over the limit at which the weight is as good as taken; judgement, spread 0.1 to 0.4."""
ARRIVED = 0.2
"""Lead error at which going round is over [rad]; judgement, spread 0.1 to 0.4."""
ROUND_SHARE = 0.88
"""The same while going round the end, when a line coming tight would pull the barge along; spread 0.8 to 0.95."""
ROUND_SLACK = 2.5
"""Most slack she keeps for that [m]; judgement, spread 1.5 to 4."""
READY_SHARE = 0.4
"""Share of that slack at which she goes round at full speed; judgement, spread 0.2 to 0.8."""
TAKE_UP_RATE = 0.15
"""Speed at which she takes up slack, over the slack [1/s]; judgement, spread 0.1 to 0.25."""


@outlined
def look_pull(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """One look of a master who swings a barge on the line.

    Parameters as for `look` of `toolkit.motion.manoeuvres.manoeuvre.Manoeuvre`.

    Notes
    -----
    While working, the line keeps the distance and the drives keep the lead
    square to the barge (or at `lead_angle`) as her end comes round; to check,
    the tug goes round the end on a slack line and pulls the other way.
    """
    lead, distance, _, heading = lead_angles(s, p, k)
    full = 2.0 * p[P.unit_thrust + k]
    tension = report[REPORT.tension + k]
    length = p[P.line_length + k]
    taut = distance > p[P.taut_distance + k]
    end = p[P.end + k]

    power = 0.0
    if m[MEMORY.time + k] == 0.0 and abs(lead - p[P.lead + k]) > POOR_LEAD:
        m[MEMORY.phase + k] = SHIFT  # not where she should be, in a later leg of a job: round first, on a slack line
    phase = m[MEMORY.phase + k]
    if phase == TAKE_WEIGHT:
        power = TAKE_WEIGHT_POWER
        rate = abs(s[STATE.barge_yaw + k])  # a heavy line may turn a light barge before it is tight
        if taut or rate > MOVING_SHARE * p[P.rate_limit + k] or rate > FLOOR_RATE:
            m[MEMORY.phase + k] = ACCELERATE
    if phase == SHIFT and abs(lead - m[MEMORY.hand + k] * p[P.lead + k]) < ARRIVED:
        m[MEMORY.phase + k] = CHECK if m[MEMORY.hand + k] < 0.0 else ACCELERATE
    if m[MEMORY.phase + k] not in (SHIFT, TAKE_WEIGHT):
        power = power_in_force(s, p, m, k, p[P.barge_half_length + k])
    shifting = m[MEMORY.phase + k] == SHIFT

    aim = m[MEMORY.hand + k] * p[P.lead + k]
    error = lead - aim  # never taken the short way round: the barge is in between
    m[MEMORY.lead + k] = error
    quality = 1.0 if shifting else quality_of(error, POOR_LEAD, USELESS_LEAD)
    power *= quality
    m[MEMORY.power + k] = power

    # velocities through the water in the barge's mirrored axes
    turn = p[P.turn + k]
    ub, vb, rb = s[STATE.barge_surge + k], turn * s[STATE.barge_sway + k], turn * s[STATE.barge_yaw + k]
    ut, vt = s[STATE.tug_surge + k], turn * s[STATE.tug_sway + k]
    c, sn = cos(heading), sin(heading)
    x, y, _ = pose(s, p, k)
    steady_x, steady_y = ub - rb * y, vb + rb * x
    missing_x, missing_y = steady_x - (c * ut - sn * vt), steady_y - (sn * ut + c * vt)

    # outward along the line, and across it the way the lead grows
    out_x, out_y = end * cos(lead), end * sin(lead)
    across_x, across_y = -out_y, out_x
    mass = 0.5 * (p[P.tug_surge_mass + k] + p[P.tug_sway_mass + k])
    frequency = STATION_FREQUENCY
    round_slack = clip((1.0 - ROUND_SHARE) * length, 0.0, ROUND_SLACK)
    ready = clip((length - distance) / (READY_SHARE * round_slack), 0.1, 1.0)
    walk = SHIFT_SPEED * (BROADSIDE_SHARE if p[P.athwart + k] > 0.0 else 1.0)
    if shifting and m[MEMORY.shifts + k] == 0.0:  # from off the end: she walks
        walk = clip(walking_pace(p, k, STATION_SHARE), 0.0, walk)
    speed = walk * (ready if shifting else 1.0)
    slide = clip(-0.5 * frequency * distance * error, -speed, speed)
    across = station_force(frequency, mass, -distance * error, missing_x * across_x + missing_y * across_y, speed)
    keep = STATION_SHARE * full
    apart = p[P.slack_distance + k]
    if shifting and apart > length - round_slack:
        apart = length - round_slack
    across = clip(across, -keep, keep)
    # along the line: pull, stretch it gently, or keep it slack
    gentle = gentle_speed(p, k, p[P.barge_half_length + k], TAKE_UP_SPEED)
    outward = clip(power * full, 0.0, p[P.most_force + k])
    radial = missing_x * out_x + missing_y * out_y
    if power > 0.0 and not taut:
        take_up = clip(gentle + TAKE_UP_RATE * (p[P.taut_distance + k] - distance), gentle, SHIFT_SPEED)
        stretch = station_force(frequency, mass, length, radial, take_up)
        # what the line's own weight pulls is allowed for
        outward = clip(stretch, -TAKE_WEIGHT_POWER * full, TAKE_WEIGHT_POWER * full) + tension
    elif power <= 0.0:
        spin = rb + (slide / distance if shifting else 0.0)  # going round takes a force toward the centre
        outward = station_force(frequency, mass, apart - distance, radial, SHIFT_SPEED) - mass * spin * spin * distance
        outward = clip(outward, -keep, keep)
    steady_across = steady_x * across_x + steady_y * across_y + (slide if shifting else 0.0)

    # heading: along the line, bow or stern first, or across it
    heading_aim = atan2(out_y, out_x) + (pi if p[P.stern_first + k] > 0.0 else 0.0)
    turn_aim = rb + (slide / length if shifting else 0.0)
    if p[P.athwart + k] > 0.0:
        square = p[P.lead + k]
        forward = end * p[P.tug_towing_x + k] > 0.0  # the longer part of her hull clear of the end she goes round
        heading_aim = (pi if forward else 0.0) + clip(lead / square, -1.0, 1.0) * (square - 0.5 * pi)
        turn_aim = rb
    pull_side = -tension * (c * out_y - sn * out_x)
    steer(
        s, p, m, k,
        outward * out_x + across * across_x, outward * out_y + across * across_y,
        steady_across * across_x, steady_across * across_y,
        heading, heading_aim, turn_aim, p[P.tug_towing_x + k] * pull_side,
    )  # fmt: skip
    watch_station(p, m, k, quality)


def _rows(given: Given) -> dict[str, Array]:
    lead = np.deg2rad(given.columns["lead_angle"])
    speed = SHIFT_SPEED * np.where(given.athwart, BROADSIDE_SHARE, 1.0)
    return {
        **swing_rows(given),
        "lead": lead,
        "shift_time": SHIFT_READY + 2.0 * lead * given.columns["line_length"] / speed,
        "stern_first": given.stern_drive.astype(np.float64),
    }


def _gear(given: Given) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    line = np.ones(given.athwart.shape, dtype=np.bool_)
    return line, ~line


def pull_place(given: Given, rows: Mapping[str, Array]) -> Place:
    """Place of a tug on her line, a little slack, at the lead aimed at, along the line or across it."""
    end, lead = given.end, rows["lead"]
    out_x, out_y = end * np.cos(lead), end * np.sin(lead)
    along_line = np.arctan2(out_y, out_x) + np.where(rows["stern_first"] > 0.0, np.pi, 0.0)
    across_line = np.where(end * rows["tug_towing_x"] > 0.0, np.pi, 0.0) + lead - 0.5 * np.pi
    heading = np.where(given.athwart, across_line, along_line)
    reach = SLACK_AT_START * rows["line_length"]
    return Place(
        x=rows["barge_towing_x"] + reach * out_x - rows["tug_towing_x"] * np.cos(heading),
        y=given.turn * rows["barge_towing_y"] + reach * out_y - rows["tug_towing_x"] * np.sin(heading),
        heading=heading,
    )


MANOEUVRE = Manoeuvre(look=look_pull, judge=judge_swing, rows=_rows, gear=_gear, place=pull_place, swings=True)
