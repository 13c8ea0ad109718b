"""Walking: the tug alone moves sideways, her heading held by both drives."""

from __future__ import annotations

from collections.abc import Mapping
from math import atan2, cos, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.motion.helm import set_of_water
from toolkit.motion.layout import MEMORY, STATE, P
from toolkit.motion.manoeuvres.alone import (
    AT_REST,
    BEGIN_EAST,
    BEGIN_NORTH,
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
)
from toolkit.motion.manoeuvres.manoeuvre import Given, Manoeuvre, Place
from toolkit.motion.phases import SHIFT, STEADY

__all__ = ["CLEAR_OF_BARGE", "MANOEUVRE"]

Array = NDArray[np.float64]

CLEAR_OF_BARGE = 60.0
"""Clear water between barge and tug at the start, so that the barge plays no part [m]."""
FASTEST_WALK = 3.0
"""Speed that she never means to pass, however much power there is [m/s]; judgement, spread 2 to 4."""

DISTANCE = P.own_1
COSINE, SINE = MEMORY.own_9, MEMORY.own_10


@kernel
def distance_left(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int
) -> tuple[float, float, float]:
    """What is left to go, ahead and to the side as she headed when she began [m, m], and her heading off that [rad]."""
    c, sn, turn = m[COSINE + k], m[SINE + k], p[P.turn + k]
    north, east = s[STATE.tug_north + k] - m[BEGIN_NORTH + k], s[STATE.tug_east + k] - m[BEGIN_EAST + k]
    gone = turn * (c * east - sn * north)
    off = turn * atan2(
        s[STATE.tug_sine + k] * c - s[STATE.tug_cosine + k] * sn,
        s[STATE.tug_cosine + k] * c + s[STATE.tug_sine + k] * sn,
    )
    return -(c * north + sn * east), p[DISTANCE + k] - gone, off


@outlined
def look_walk(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """One look of a master who walks his tug sideways.

    Parameters as for `look` of `toolkit.motion.manoeuvres.manoeuvre.Manoeuvre`.

    Notes
    -----
    The place is one over the ground; heading and track are those she began with.
    """
    if m[BEGUN + k] == 0.0:
        begin_alone(s, m, k)
        m[COSINE + k], m[SINE + k] = s[STATE.tug_cosine + k], s[STATE.tug_sine + k]
    along, across, off = distance_left(s, p, m, k)
    m[MEMORY.phase + k] = STEADY if m[IN_PLACE_TIME + k] > 0.0 else SHIFT
    c, sn = cos(off), sin(off)
    ahead, side = toward(c * along + sn * across, c * across - sn * along, FASTEST_WALK)
    current_ahead, current_side = set_of_water(s, p, k, s[STATE.tug_cosine + k], s[STATE.tug_sine + k])
    order_velocity(s, p, m, k, ahead - current_ahead, side - current_side, p[P.power_setting + k], -off, 0.0)


@outlined
def judge_walk(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """End a walk that is over; parameters as for :func:`look_walk`.

    A tug that cannot walk, such as one with fixed screws, has `lost_station`.
    """
    along, across, off = distance_left(s, p, m, k)
    left = sqrt(along * along + across * across)
    current_ahead, current_side = set_of_water(s, p, k, s[STATE.tug_cosine + k], s[STATE.tug_sine + k])
    ahead = s[STATE.tug_surge + k] + current_ahead
    side = p[P.turn + k] * s[STATE.tug_sway + k] + current_side
    still = ahead * ahead + side * side < AT_REST * AT_REST
    judge_alone(s, p, m, k, left, left < IN_PLACE and still and abs(off) < HEADING_KEPT, 0.0)


def _rows(given: Given) -> dict[str, Array]:
    return {"own_1": given.columns["walk_distance"]}


def _place(given: Given, rows: Mapping[str, Array]) -> Place:
    nothing = np.zeros(given.turn.shape)
    clear = rows["barge_half_beam"] + CLEAR_OF_BARGE + rows["tug_half_beam"]
    return Place(x=nothing, y=clear, heading=nothing)


MANOEUVRE = Manoeuvre(look=look_walk, judge=judge_walk, rows=_rows, gear=no_gear, place=_place, outcomes=alone_outcomes)
