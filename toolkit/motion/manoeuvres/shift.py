"""Shifting: the tug alone goes round the barge from one station to another."""

from __future__ import annotations

from collections.abc import Mapping
from math import atan2, cos, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.motion.crew import SHIFT_SPEED, STATION_SHARE
from toolkit.motion.helm import pose, wrapped
from toolkit.motion.layout import MEMORY, STATE, P
from toolkit.motion.manoeuvres.alone import (
    AT_REST,
    BEGUN,
    HEADING_KEPT,
    IN_PLACE,
    IN_PLACE_TIME,
    alone_outcomes,
    begin_alone,
    judge_alone,
    no_gear,
    order_velocity,
    toward,
    walking_pace,
)
from toolkit.motion.manoeuvres.manoeuvre import Given, Manoeuvre, Place
from toolkit.motion.manoeuvres.route import clear_of_box, corner_x, corner_y, edge_place, edge_way
from toolkit.motion.manoeuvres.station import quality_of
from toolkit.motion.manoeuvres.stations import station_place
from toolkit.motion.phases import SHIFT, STEADY

__all__ = ["MANOEUVRE"]

Array = NDArray[np.float64]

ROUND_CLEAR = 3.0
"""Clear water she keeps from the barge as she goes round, however she heads [m]; judgement, spread 2 to 6."""
INSIDE = 1.0
"""What she may cut off the way round [m]; judgement, spread 0.5 to 2."""
ROUND_SPEED = 1.5
"""Speed no faster than which she goes round, heading along her way [m/s]; judgement, spread 1 to 2.5."""
EASE_RATE = 0.04
"""Speed that she takes off as she nears a corner, over the distance from it [1/s]; judgement, spread 0.03 to 0.06."""
CLOSE_SPEED = 0.4
"""Speed no faster than which she closes on her station [m/s]; common practice: dead slow, 0.2 to 0.5."""
STEERAGE = 0.2
"""Speed through the water below which she does not turn her head along it [m/s]; judgement, spread 0.1 to 0.3."""
WORTH_TURNING = 25.0
"""Way to go for which she turns her head along it [m]; judgement, spread 15 to 60."""
ABREAST = 2.0
"""Distance from the point abreast of the station at which she stops to turn, over what counts as in place; 1 to 4."""
TURNED = 0.1
"""Heading error at which she has turned [rad]; judgement, spread 0.05 to 0.2."""
TURN_STOPPED = 0.02
"""Rate of turn, off the barge's, at which she has stopped turning [rad/s]; judgement, spread 0.01 to 0.03."""
POOR_TRACK, USELESS_TRACK = 0.2, 0.8
"""Heading off her track at which a conventional tug eases, and at which she stops to turn [rad]; judgement."""
CRAB = 0.5
"""Most that a conventional tug heads off to come onto her track as she closes [rad]; judgement, spread 0.3 to 0.7."""
CRAB_LENGTH = 8.0
"""Way in which she means to come onto it [m]; judgement, spread 5 to 15."""
MORE_CLEAR = 8.0
"""Clear water that she keeps besides as she goes round, for she moves as she turns [m]; judgement, spread 4 to 15."""
OFF_TRACK = 4.0
"""Distance along the barge at which a conventional tug is in place all the same [m]; judgement, spread 2 to 6."""
SAME_WAY = 0.01
"""Half-turns are made to port of the mirrored axes within this of a half-turn [rad]; numerical."""

GOAL_X, GOAL_Y, GOAL_HEADING = P.own_1, P.own_2, P.own_3
ABREAST_X, ABREAST_Y = P.own_4, P.own_5
ROUND_X, ROUND_Y = P.own_6, P.own_7
MAKE_FAST_TIME, TOLERANCE = P.own_8, P.own_9
STAGE, WAY, HEADING = MEMORY.own_9, MEMORY.own_10, MEMORY.own_11
LEAVING, GOING, TURNING, CLOSING = 0.0, 1.0, 2.0, 3.0


@kernel
def next_point(p: NDArray[np.float64], k: int, x: float, y: float, way: float) -> tuple[float, float, float]:
    """Point to make for from (x, y), in the barge's mirrored axes, and the way that is left by it [m, m, m].

    The point abreast of the station once it is in sight; else the farthest
    corner in sight of the clear box about the barge, the way round she goes.
    """
    box_x, box_y = p[ROUND_X + k], p[ROUND_Y + k]
    goal_x, goal_y = p[ABREAST_X + k], p[ABREAST_Y + k]
    straight = sqrt((goal_x - x) * (goal_x - x) + (goal_y - y) * (goal_y - y))
    if clear_of_box(x, y, goal_x, goal_y, box_x - INSIDE, box_y - INSIDE):
        return goal_x, goal_y, straight
    here, there = edge_place(x, y, box_x, box_y), edge_place(goal_x, goal_y, box_x, box_y)
    whole = 4.0 * (box_x + box_y)
    to_goal = edge_way(here, there, way, whole)
    nearest, farthest = 1e9, -1.0
    to_x, to_y = goal_x, goal_y
    for corner in range(4):
        at_x, at_y = corner_x(corner, box_x), corner_y(corner, box_y)
        ahead = edge_way(here, edge_place(at_x, at_y, box_x, box_y), way, whole)
        if ahead < to_goal:
            seen = clear_of_box(x, y, at_x, at_y, box_x - INSIDE, box_y - INSIDE)
            if seen and ahead > farthest:
                farthest = ahead
                to_x, to_y = at_x, at_y
            elif farthest < 0.0 and ahead < nearest:
                nearest = ahead
                to_x, to_y = at_x, at_y
    return to_x, to_y, to_goal


@kernel
def way_out(p: NDArray[np.float64], k: int, x: float, y: float) -> tuple[float, float]:
    """Point straight off the barge, on the clear box, from a place within it [m, m]."""
    off_end, off_side = abs(x) - p[P.barge_half_length + k], abs(y) - p[P.barge_half_beam + k]
    if off_end > off_side:
        return p[ROUND_X + k] if x > 0.0 else -p[ROUND_X + k], y
    return x, p[ROUND_Y + k] if y > 0.0 else -p[ROUND_Y + k]


@kernel
def shorter_way(p: NDArray[np.float64], k: int, x: float, y: float) -> float:
    """The shorter way round from (x, y): by starboard (1) or by port (-1); by the stern where both are alike."""
    box_x, box_y = p[ROUND_X + k], p[ROUND_Y + k]
    here = edge_place(x, y, box_x, box_y)
    there = edge_place(p[ABREAST_X + k], p[ABREAST_Y + k], box_x, box_y)
    whole = 4.0 * (box_x + box_y)
    longer = edge_way(here, there, 1.0, whole) - 0.5 * whole
    if abs(longer) < 1e-6 * whole:
        return 1.0 if there > here else -1.0
    return 1.0 if longer < 0.0 else -1.0


@kernel
def begin_shift(s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int) -> None:
    """Note where she begins, and settle the way round."""
    begin_alone(s, m, k)
    x, y, heading = pose(s, p, k)
    m[HEADING + k] = heading
    m[STAGE + k] = LEAVING
    far = sqrt((p[GOAL_X + k] - x) * (p[GOAL_X + k] - x) + (p[GOAL_Y + k] - y) * (p[GOAL_Y + k] - y))
    if far < 2.0 * IN_PLACE and abs(wrapped(p[GOAL_HEADING + k] - heading)) < POOR_TRACK:
        m[STAGE + k] = CLOSING  # there already
    m[WAY + k] = shorter_way(p, k, x, y)


@kernel
def along_track(heading: float, track: float) -> float:
    """Heading [rad] along a track, bow or stern first, whichever is nearer."""
    off = wrapped(track - heading + SAME_WAY) - SAME_WAY
    return track if abs(off) <= 0.5 * pi + SAME_WAY else wrapped(track + pi)


@kernel
def off_goal(p: NDArray[np.float64], k: int, x: float, y: float) -> tuple[float, float]:
    """Station from (x, y), ahead and to the side of one who heads as she should there [m, m]."""
    c, sn = cos(p[GOAL_HEADING + k]), sin(p[GOAL_HEADING + k])
    off_x, off_y = p[GOAL_X + k] - x, p[GOAL_Y + k] - y
    return c * off_x + sn * off_y, c * off_y - sn * off_x


@kernel
def crab(ahead: float, side: float) -> float:
    """Angle [rad] that a tug which cannot move sideways heads off, to come onto her track as she closes.

    `ahead` and `side` as in :func:`off_goal`; near her station she stops doing so.
    """
    angle = clip(side / CRAB_LENGTH, -CRAB, CRAB) * clip(abs(ahead) / CRAB_LENGTH - 0.5, 0.0, 1.0)
    return angle if ahead > 0.0 else -angle


@outlined
def look_shift(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """One look of a master who takes his tug round the barge.

    Parameters as for `look` of `toolkit.motion.manoeuvres.manoeuvre.Manoeuvre`.

    Notes
    -----
    First straight off the barge, then round her by the corners of a clear box,
    bow or stern first where the way is worth turning for, to the point abreast of the
    station; there she turns on the spot, her drives set against each other,
    and then closes. All in the axes of the barge, which may drift and turn. A
    conventional tug, which cannot move sideways, turns before each stretch.
    """
    if m[BEGUN + k] == 0.0:
        begin_shift(s, p, m, k)
    x, y, heading = pose(s, p, k)
    turn = p[P.turn + k]
    fixed = p[P.fixed_drives + k] > 0.0
    rb = turn * s[STATE.barge_yaw + k]
    stage = m[STAGE + k]
    goal_heading = p[GOAL_HEADING + k]
    to_x, to_y, left, most = x, y, 0.0, CLOSE_SPEED
    if stage == LEAVING:
        if abs(x) > p[ROUND_X + k] - INSIDE or abs(y) > p[ROUND_Y + k] - INSIDE:
            stage = GOING
        else:
            to_x, to_y = way_out(p, k, x, y)
            left = 2.0 * INSIDE + abs(to_x - x) + abs(to_y - y)
            most = SHIFT_SPEED
    if stage == GOING:
        to_x, to_y, left = next_point(p, k, x, y, m[WAY + k])
        near = sqrt((to_x - x) * (to_x - x) + (to_y - y) * (to_y - y))
        easy = clip(CLOSE_SPEED + EASE_RATE * near, 0.0, ROUND_SPEED)  # she turns at the corner
        if fixed or left > WORTH_TURNING:  # along her way through the water, which is not that past a barge under way
            way_x = s[STATE.barge_surge + k] - rb * y + easy * (to_x - x) / (near + 1e-9)
            way_y = turn * s[STATE.barge_sway + k] + rb * x + easy * (to_y - y) / (near + 1e-9)
            if way_x * way_x + way_y * way_y > STEERAGE * STEERAGE:
                m[HEADING + k] = along_track(heading, atan2(way_y, way_x))
        off = wrapped(m[HEADING + k] - heading)
        if fixed:
            left = near
        most = easy * quality_of(off, POOR_TRACK, USELESS_TRACK)
        if abs(p[ABREAST_X + k] - x) + abs(p[ABREAST_Y + k] - y) < ABREAST * p[TOLERANCE + k]:
            stage = TURNING
    if stage == TURNING:
        if not fixed:  # one that cannot move sideways just turns
            to_x, to_y = p[ABREAST_X + k], p[ABREAST_Y + k]
        m[HEADING + k] = goal_heading
        spinning = abs(turn * s[STATE.tug_yaw + k] - rb)
        if abs(wrapped(goal_heading - heading)) < TURNED and spinning < TURN_STOPPED:
            stage = CLOSING
    if stage == CLOSING:
        to_x, to_y = p[GOAL_X + k], p[GOAL_Y + k]
        m[HEADING + k] = goal_heading
        if fixed:
            ahead, side = off_goal(p, k, x, y)
            m[HEADING + k] += crab(ahead, side)
            if abs(ahead) < IN_PLACE and abs(side) > p[TOLERANCE + k]:
                stage = GOING  # missed it: once more
                m[WAY + k] = shorter_way(p, k, x, y)
    if stage >= TURNING:
        left = sqrt((to_x - x) * (to_x - x) + (to_y - y) * (to_y - y))
    m[STAGE + k] = stage
    m[MEMORY.phase + k] = STEADY if m[IN_PLACE_TIME + k] > 0.0 else SHIFT

    # the station's own velocity and that toward it, through the water, in the tug's mirrored axes
    c, sn = cos(heading), sin(heading)
    apart = sqrt((to_x - x) * (to_x - x) + (to_y - y) * (to_y - y)) + 1e-9
    go_x, go_y = (to_x - x) / apart, (to_y - y) / apart
    if not fixed:  # no faster than she can walk, lest she leave her track
        most = clip(walking_pace(p, k, STATION_SHARE) / (abs(c * go_y - sn * go_x) + 1e-9), 0.0, most)
    go_x, go_y = toward(left * go_x, left * go_y, most)
    wanted_x = s[STATE.barge_surge + k] - rb * y + go_x
    wanted_y = turn * s[STATE.barge_sway + k] + rb * x + go_y
    error = wrapped(m[HEADING + k] - heading + SAME_WAY) - SAME_WAY
    order_velocity(
        s, p, m, k, c * wanted_x + sn * wanted_y, c * wanted_y - sn * wanted_x, STATION_SHARE, error, rb,
    )  # fmt: skip


@outlined
def judge_shift(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """End a shift that is over; parameters as for :func:`look_shift`."""
    x, y, heading = pose(s, p, k)
    turn = p[P.turn + k]
    rb = turn * s[STATE.barge_yaw + k]
    c, sn = cos(heading), sin(heading)
    ut, vt = s[STATE.tug_surge + k], turn * s[STATE.tug_sway + k]
    slip_x = c * ut - sn * vt - (s[STATE.barge_surge + k] - rb * y)
    slip_y = sn * ut + c * vt - (turn * s[STATE.barge_sway + k] + rb * x)
    ahead, side = off_goal(p, k, x, y)
    side *= IN_PLACE / p[TOLERANCE + k]
    left = sqrt(ahead * ahead + side * side)
    right = left < IN_PLACE and slip_x * slip_x + slip_y * slip_y < AT_REST * AT_REST
    right = right and m[STAGE + k] == CLOSING and abs(wrapped(p[GOAL_HEADING + k] - heading)) < HEADING_KEPT
    if m[STAGE + k] <= GOING:
        _, _, left = next_point(p, k, x, y, m[WAY + k])
        left += p[ROUND_X + k] + p[ROUND_Y + k]  # what is left at later stages is less
    elif m[STAGE + k] == TURNING:
        left = p[ROUND_X + k]
    judge_alone(s, p, m, k, left, right, p[MAKE_FAST_TIME + k])


def _rows(given: Given) -> dict[str, Array]:
    x, y, heading, off_end = station_place(given, "station_to")
    fixed = given.choice("tug_type", "conventional")
    round_tug = 0.5 * np.hypot(given.tug.length, given.tug.beam) + ROUND_CLEAR + np.where(fixed, MORE_CLEAR, 0.0)
    box_x, box_y = 0.5 * given.barge.length + round_tug, 0.5 * given.barge.beam + round_tug
    return {
        "own_1": x,
        "own_2": y,
        "own_3": heading,
        "own_4": np.where(off_end, np.sign(x) * np.maximum(np.abs(x), box_x), x),
        "own_5": np.where(off_end, y, np.sign(y) * np.maximum(np.abs(y), box_y)),
        "own_6": box_x,
        "own_7": box_y,
        "own_8": given.columns["make_fast_time"],
        "own_9": np.where(fixed, OFF_TRACK, IN_PLACE),
    }


def _place(given: Given, rows: Mapping[str, Array]) -> Place:
    x, y, heading, _ = station_place(given, "station_from")
    return Place(x=x, y=y, heading=heading)


MANOEUVRE = Manoeuvre(
    look=look_shift, judge=judge_shift, rows=_rows, gear=no_gear, place=_place, outcomes=alone_outcomes
)
