"""Side push: the barge bodily sideways onto a berth, or off it.

The berth is a straight, endless, open face: no water is trapped between her and
a quay, which would cushion the landing.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import asin, exp

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import outlined
from toolkit.loads.scalars import clip
from toolkit.motion.layout import MEMORY, MEMORY_ROW, PARAMETER_ROW, STATE, P
from toolkit.motion.log import TICK
from toolkit.motion.manoeuvres.alongside import GAP_AT_START
from toolkit.motion.manoeuvres.bodily import displaced, over_ground, work_bodily
from toolkit.motion.manoeuvres.bodily_rows import bodily_gear, bodily_place, bodily_rows
from toolkit.motion.manoeuvres.manoeuvre import Given, Manoeuvre, Place, Ran
from toolkit.motion.room import clearance_of_face
from toolkit.quantities import Outcome
from toolkit.rules.berthing import (
    berthing_energy,
    block_coefficient,
    eccentricity_factor,
    gyration_radius,
    virtual_mass_factor,
)

__all__ = ["MANOEUVRE", "judge_side", "look_side"]

Array = NDArray[np.float64]

ONTO, GAP, APPROACH = P.own_5, P.own_6, P.own_7
"""Whether onto the berth (1) or off it (0), the gap to open, the speed aimed at."""
CLEAR, BERTHED_AT, CONTACT_SPEED, CONTACT_ANGLE, ALONG, OTHER_GAP = (
    MEMORY.own_4, MEMORY.own_5, MEMORY.own_6, MEMORY.own_7, MEMORY.own_8, MEMORY.own_9,
)  # fmt: skip
"""The last clearance, and what is noted at the end; the gap of the other corner."""

CROSSING_SPEED = 0.3
"""Most he makes across a wide gap, or off the berth [m/s]; common practice, no source: 0.2 to 0.4."""
EASE_SHARE = 0.4
"""Share of the barge's own loss of way that he reckons with as he eases, so that he still has to push and can steer her
by it; judgement, spread 0.2 to 0.8."""
FLAT_GAP = 0.2
"""Gap of the second corner at which a landing no longer counts as flat: what the berth's fenders give [m]; judgement,
spread 0.05 to 0.5."""

COMPLETED = int(Outcome.completed)
TIMED_OUT = int(Outcome.timed_out)


@outlined
def look_side(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """One look of a master who brings a barge onto a berth, or takes her off it; arguments as for every look.

    Notes
    -----
    A tug that only pushes cannot take way off, so he eases early: at a
    distance d he wants no more than a speed from which the barge's own drag D
    brings her down to the approach speed at the face. Drag alone does it from
    ``v exp(d D / M)``; he reckons with `EASE_SHARE` of that exponent.
    """
    most = p[APPROACH + k]
    if most < CROSSING_SPEED:
        most = CROSSING_SPEED
    wanted = most
    if p[ONTO + k] > 0.0:
        left, _, _ = clearance_of_face(s, p, k)
        loss = 2.0 * p[P.barge_cross_flow + k] * p[P.barge_half_length + k] / p[P.barge_sway_mass + k]
        wanted = clip(p[APPROACH + k] * exp(clip(EASE_SHARE * loss * left, 0.0, 10.0)), 0.0, most)
    work_bodily(s, p, m, report, k, wanted, p[P.slack_distance + k], True, False)


@outlined
def judge_side(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """End a side push at the first touch of the berth by any corner, or once the gap is opened."""
    time = m[MEMORY.time + k]
    clear, x, y = clearance_of_face(s, p, k)
    onto = p[ONTO + k] > 0.0
    before = m[CLEAR + k] if m[MEMORY.ticks + k] > 1.0 else clear
    m[CLEAR + k] = clear
    left = clear if onto else p[GAP + k] - clear
    if left <= 0.0:
        change = before - clear if onto else clear - before
        share = left / change if change > 0.0 else 0.0
        m[BERTHED_AT + k] = time + TICK * share
        along, across, _, _ = over_ground(s, p, k)
        turn = p[P.turn + k]
        corner_x = -p[P.barge_half_length + k] if x > 0.0 else p[P.barge_half_length + k]
        corner_y = -p[P.barge_half_beam + k] if y > 0.0 else p[P.barge_half_beam + k]
        yaw = s[STATE.barge_yaw + k]
        m[CONTACT_SPEED + k] = -(x * (along - yaw * corner_y) + y * (turn * across + yaw * corner_x))
        m[CONTACT_ANGLE + k] = asin(clip(abs(x), 0.0, 1.0))
        m[OTHER_GAP + k] = 2.0 * abs(x) * p[P.barge_half_length + k]
        m[ALONG + k], _ = displaced(s, p, k)
        m[MEMORY.outcome + k] = COMPLETED
    elif time >= p[P.time_limit + k]:
        m[MEMORY.outcome + k] = TIMED_OUT


def _rows(given: Given) -> dict[str, Array]:
    c, barge = given.columns, given.barge
    onto = given.choice("side_way", "onto")
    gap = c["berth_gap"]
    mass = virtual_mass_factor(barge.draught, under_keel_clearance=np.maximum(c["water_depth"] - barge.draught, 0.0))
    block = block_coefficient(barge.displacement, barge.length, barge.beam, barge.draught, c["water_density"])
    heading = np.deg2rad(c["initial_heading"])
    return {
        "meant_north": -given.turn * np.sin(heading),
        "meant_east": given.turn * np.cos(heading),
        **bodily_rows(given, gap=np.where(onto, gap, 0.0), face=np.where(onto, 1.0, -1.0), sprung=~onto),
        "own_5": onto.astype(np.float64),
        "own_6": gap,
        "own_7": c["approach_speed"],
        "own_8": berthing_energy(barge.displacement, 1.0, virtual_mass=mass),
        "own_9": gyration_radius(block, barge.length),
    }


def _place(given: Given, rows: Mapping[str, Array]) -> Place:
    return bodily_place(given, rows, GAP_AT_START)


def _outcomes(ran: Ran) -> dict[str, Array]:
    m, p = ran.memories, ran.parameters
    onto = p[PARAMETER_ROW.own_5] > 0.0
    touched = ran.completed & onto
    speed, angle = np.maximum(m[MEMORY_ROW.own_6], 0.0), m[MEMORY_ROW.own_7]
    length, beam = p[PARAMETER_ROW.barge_half_length], p[PARAMETER_ROW.barge_half_beam]
    # the way she moves at contact is square to the face: the angle to the corner is that of her diagonal
    diagonal = np.hypot(length, beam)
    to_corner = np.arccos(np.clip((beam * np.cos(angle) + length * np.sin(angle)) / diagonal, 0.0, 1.0))
    corner = eccentricity_factor(p[PARAMETER_ROW.own_9], diagonal, to_corner)
    flat = np.clip(1.0 - m[MEMORY_ROW.own_9] / FLAT_GAP, 0.0, 1.0)
    energy = p[PARAMETER_ROW.own_8] * speed**2 * (flat + (1.0 - flat) * corner)
    return {
        "time_to_berth": np.where(ran.completed, m[MEMORY_ROW.own_5], np.nan),
        "contact_speed": np.where(touched, speed, np.nan),
        "contact_angle": np.where(touched, np.rad2deg(angle), np.nan),
        "berthing_energy": np.where(touched, energy, np.nan),
        "drift_along_berth": np.where(ran.completed, m[MEMORY_ROW.own_8], np.nan),
    }


MANOEUVRE = Manoeuvre(look=look_side, judge=judge_side, rows=_rows, gear=bodily_gear, place=_place, outcomes=_outcomes)
