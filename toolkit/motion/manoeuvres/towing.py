"""What tugs on a line that leads along the barge's axis have in common: towing ahead, and checking the way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import cos, sin

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.loads.scalars import clip
from toolkit.motion.crew import SHIFT_SPEED, STATION_FREQUENCY
from toolkit.motion.helm import pose, station_force
from toolkit.motion.layout import MEMORY, STATE, P
from toolkit.motion.log import TUG_SHARE
from toolkit.motion.manoeuvres.manoeuvre import Given, Place
from toolkit.motion.manoeuvres.swing_pull import SLACK_AT_START, TAKE_UP_RATE, pull_place
from toolkit.motion.master import judgement_due, order_power
from toolkit.motion.phases import TAKE_WEIGHT
from toolkit.particulars.tug_lift import LIFT_REACH, trailing_end_lift

__all__ = [
    "MOST_CRAB",
    "NEARLY_TIGHT",
    "RAMP_TIME",
    "START_LEAD",
    "along_and_off",
    "along_barge",
    "begin",
    "course_of",
    "gear_of_line",
    "in_line_place",
    "in_line_rows",
    "note_margin",
    "power_when_due",
    "ramp",
    "slack_force",
    "through_water",
    "way_made",
    "weight_taken",
]

Array = NDArray[np.float64]

START_LEAD = 0.03490658503988659
"""Line lead off the barge's axis at the start: 2 degrees, for no tug lies dead in line, and a barge that will not keep
her course then shows it [rad]; judgement, spread 0.5 to 5 degrees."""
NEARLY_TIGHT = 0.99
"""Distance between the towing points over the line's length where both vessels make way at the start;
judgement, spread 0.97 to 1."""
DEAD_SLOW = 0.1
"""Power he has on as the line comes tight, over the bollard pull; common practice: dead slow, 0.05 to 0.15."""
RAMP_TIME = 60.0
"""Time in which he would work up from there by a full bollard pull [s]; common practice is to build up in steps, the
time is judgement, spread 30 to 180."""
GENTLE_SPEED = 0.1
"""Speed at which a line comes tight that leads along the barge's axis [m/s]; judgement, spread 0.05 to 0.2."""
TIGHT_SHARE = 0.05
"""Tension over the pull of the power setting at which a line that hangs counts as tight; judgement, spread 0.02 to
0.1."""
LONG_ENOUGH = 60.0
"""Time after which he no longer waits for the last of the slack [s]; judgement, spread 30 to 120."""
MOST_CRAB = 0.4363323129985824
"""Most angle he lays off for current, wind and station: 25 degrees [rad]; judgement, spread 15 to 35."""


@kernel
def course_of(s: NDArray[np.float64], p: NDArray[np.float64], k: int) -> tuple[float, float, float, float]:
    """Course of the start in the barge's mirrored axes as she lies now.

    Returns
    -------
    course_x, course_y : float
        The way the end worked pointed at the start; length one.
    normal_x, normal_y : float
        To (mirrored) starboard of the barge as she lay then; length one.
    """
    turned, end = s[STATE.turned + k], p[P.end + k]
    c, sn = cos(turned), sin(turned)
    return end * c, -end * sn, sn, c


@kernel
def along_and_off(
    s: NDArray[np.float64], p: NDArray[np.float64], k: int, north: float, east: float
) -> tuple[float, float]:
    """How far a place lies from the barge's start along the course of the start, and off it [m, m].

    Along: the way the end worked pointed. Off: to (mirrored) starboard of the
    barge as she lay then. Of velocities the same, if `north` and `east` are one
    with the start added.
    """
    angle = p[P.turn + k] * s[STATE.turned + k]
    c, sn = cos(angle), sin(angle)
    cosine = s[STATE.barge_cosine + k] * c + s[STATE.barge_sine + k] * sn
    sine = s[STATE.barge_sine + k] * c - s[STATE.barge_cosine + k] * sn
    n, e = north - p[P.start_north + k], east - p[P.start_east + k]
    return p[P.end + k] * (cosine * n + sine * e), p[P.turn + k] * (cosine * e - sine * n)


@kernel
def way_made(s: NDArray[np.float64], p: NDArray[np.float64], k: int) -> float:
    """Velocity of the barge through the water along the course of the start [m/s], toward the end worked positive."""
    c, sn = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    surge, sway = s[STATE.barge_surge + k], s[STATE.barge_sway + k]
    way, _ = along_and_off(
        s, p, k, c * surge - sn * sway + p[P.start_north + k], sn * surge + c * sway + p[P.start_east + k]
    )
    return way


@kernel
def through_water(
    s: NDArray[np.float64], p: NDArray[np.float64], k: int, x: float, y: float, heading: float
) -> tuple[float, float, float, float]:
    """Velocities through the water in the barge's mirrored axes [m/s].

    Parameters
    ----------
    x, y, heading : float
        Pose of the tug there [m, m, rad].

    Returns
    -------
    steady_x, steady_y : float
        Of the place where the tug is, were it fixed to the barge.
    tug_x, tug_y : float
        Of the tug.
    """
    turn = p[P.turn + k]
    surge, sway, yaw = s[STATE.barge_surge + k], turn * s[STATE.barge_sway + k], turn * s[STATE.barge_yaw + k]
    ahead, side = s[STATE.tug_surge + k], turn * s[STATE.tug_sway + k]
    c, sn = cos(heading), sin(heading)
    return surge - yaw * y, sway + yaw * x, c * ahead - sn * side, sn * ahead + c * side


@kernel
def weight_taken(p: NDArray[np.float64], m: NDArray[np.float64], k: int, distance: float, tension: float) -> bool:
    """Whether a line that was slack is tight: stretched, or heavy and pulling a share of the power to come.

    A heavy line may draw a light barge along before it is tight: after `LONG_ENOUGH` one that hangs little will do.
    """
    share = TIGHT_SHARE * p[P.power_setting + k] * 2.0 * p[P.unit_thrust + k]
    waited = m[MEMORY.time + k] - m[MEMORY.phase_start + k] > LONG_ENOUGH
    hanging = waited and distance > p[P.taut_distance + k]
    return bool(distance > p[P.line_length + k] or tension > share or hanging)


@kernel
def slack_force(p: NDArray[np.float64], k: int, mass: float, distance: float, missing: float) -> float:
    """Force [N] outward along a slack line that brings it tight gently; `missing` as in `station_force`."""
    speed = clip(GENTLE_SPEED + TAKE_UP_RATE * (p[P.taut_distance + k] - distance), GENTLE_SPEED, SHIFT_SPEED)
    return station_force(STATION_FREQUENCY, mass, p[P.line_length + k], missing, speed)


@kernel
def ramp(p: NDArray[np.float64], m: NDArray[np.float64], k: int) -> float:
    """Power over the power setting that he has worked up to: dead slow as he takes the weight, 1 in the end."""
    working = m[MEMORY.time + k] - m[MEMORY.phase_start + k] if m[MEMORY.phase + k] != TAKE_WEIGHT else 0.0
    return clip((DEAD_SLOW + working / RAMP_TIME) / p[P.power_setting + k], 0.0, 1.0)


@kernel
def power_when_due(p: NDArray[np.float64], m: NDArray[np.float64], k: int, wanted: float) -> float:
    """Power in force, a share of the bollard pull, of a master who wants a share of the power setting now.

    Ordered once an order interval, in force after the order's delay.
    """
    if judgement_due(m, k):
        order_power(p, m, k, wanted, False)
    power: float = m[MEMORY.power_in_force + k]
    return power


@kernel
def note_margin(s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int) -> None:
    """Note the least clear water between the tug and the end worked, along the barge's axis, while the line is on.

    Negative alongside.
    """
    if p[P.line_stiffness + k] <= 0.0:
        return
    x, _, heading = pose(s, p, k)
    reach = TUG_SHARE * (p[P.tug_half_length + k] * abs(cos(heading)) + p[P.tug_half_beam + k] * abs(sin(heading)))
    margin = p[P.end + k] * x - reach - p[P.barge_half_length + k]
    if m[MEMORY.ticks + k] <= 1.0 or margin < m[MEMORY.least_margin + k]:
        m[MEMORY.least_margin + k] = margin


@kernel
def begin(m: NDArray[np.float64], k: int, phase: float) -> None:
    """Begin a phase."""
    m[MEMORY.phase + k] = phase
    m[MEMORY.phase_start + k] = m[MEMORY.time + k]


def in_line_rows(given: Given) -> dict[str, Array]:
    """Rows of a tug that lies along her line, whatever attitude is asked for, with the lead aimed at along the axis."""
    station, code = given.columns["tug_towing_station"], given.columns["tug_type"].astype(np.int64)
    aft, fore = trailing_end_lift(given.tug.draught, code, given.columns["water_density"])
    many = given.columns["tug_drag_multiplier"]
    nothing = np.zeros(given.end.shape)
    return {
        "athwart": nothing,
        "lead": nothing,
        "stern_first": given.stern_drive.astype(np.float64),
        "tug_lift_aft": many * aft,
        "tug_lift_fore": many * fore,
        "tug_lift_reach": LIFT_REACH.value * given.tug.length,
        "most_force": 2.0 * given.tug.unit_thrust_ahead,
        "tug_towing_x": np.where(
            np.isnan(station), given.tug.towing_point_x_fore_and_aft, station * given.tug.length
        ),
    }  # fmt: skip


def along_barge(given: Given, sign: Array) -> dict[str, Array]:
    """Rows of the way the barge is meant to go: along her heading at the start, bow first where `sign` is positive."""
    heading = np.deg2rad(given.columns["initial_heading"])
    return {"meant_north": sign * np.cos(heading), "meant_east": sign * np.sin(heading)}


def gear_of_line(given: Given) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """A line and no fender."""
    line = np.ones(given.end.shape, dtype=np.bool_)
    return line, ~line


def in_line_place(given: Given, rows: Mapping[str, Array], way: Array) -> Place:
    """Place of a tug on her line along the barge's axis, but for `START_LEAD`, both vessels making way.

    Parameters
    ----------
    given, rows
        Cases and their parameters.
    way : ndarray, shape (n,)
        Along the barge's axis, forward positive [m/s]; where there is any, the line is nearly tight.
    """
    along = replace(given, athwart=np.zeros(given.athwart.shape, dtype=np.bool_))
    length = np.where(way != 0.0, NEARLY_TIGHT / SLACK_AT_START, 1.0) * rows["line_length"]
    place = pull_place(along, {**rows, "lead": np.full(way.shape, START_LEAD), "line_length": length})
    return replace(place, way=way)
