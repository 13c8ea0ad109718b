"""Hold: the barge kept where she is against wind and current, alongside a berth or in open water."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.motion.layout import MEMORY, MEMORY_ROW, P
from toolkit.motion.log import TICK
from toolkit.motion.manoeuvres.bodily import displaced, leaning, over_ground, work_bodily
from toolkit.motion.manoeuvres.bodily_rows import bodily_gear, bodily_place, bodily_rows
from toolkit.motion.manoeuvres.hanging_line import bight_rows, ease_line, most_by_weight
from toolkit.motion.manoeuvres.manoeuvre import Given, Manoeuvre, Place, Ran
from toolkit.motion.phases import HOLD
from toolkit.quantities import Outcome

__all__ = ["MANOEUVRE", "TAKE_OVER_TIME", "judge_hold", "look_hold"]

Array = NDArray[np.float64]

TOLERANCE, HOLD_TIME = P.own_5, P.own_6
"""Displacement that counts as held, and for how long."""
SLACK = P.own_7
"""Distance between the towing points at which the line hangs so slack that its weight hardly draws the barge."""
COUNTED, HELD, POWER = MEMORY.own_4, MEMORY.own_5, MEMORY.own_6
"""Time counted, time held, and power in use summed over the time."""
LYING, CHANGED_AT = MEMORY.own_7, MEMORY.own_8
"""Whether she lies on her line without hauling, and when she last changed hands."""

TAKE_OVER_TIME = 60.0
"""Time to take the weight, before the time to hold begins [s]; judgement, spread 30 to 120."""
RETURN_RATE = 0.04
"""Speed at which he brings her back, over the displacement [1/s]; judgement, spread 0.02 to 0.08."""
RETURN_SPEED = 0.2
"""Most he brings her back with [m/s]; judgement, spread 0.1 to 0.4."""
SLACK_SHARE, SLACK_CLEAR = 0.75, 2.0
"""That distance over the line's length, and the clear water she keeps between the hulls all the same [m]; judgement,
spread 0.6 to 0.9 and 1 to 5."""
SLACK_FROM = 0.2
"""Displacement toward the tug at which she slacks so [m]; judgement, spread 0.1 to 1."""
LIGHT_SHARE, LIGHT_MARGIN = 0.005, 2.0
"""Load of wind and current off her, over bollard pull, below which he does not haul but lies so that the line's weight
draws as much as it takes, lest he draw the barge after him; and factor by which it has to pass that either way before
he changes over; judgement, spread 0.002 to 0.02, and 1.5 to 3."""
HAUL_FROM = 0.5
"""Displacement away from the tug, over the tolerance, from which he hauls all the same; judgement, 0.3 to 0.7."""
LIGHT_FROM, LIGHT_RATE = 0.02, 0.004
"""Displacement away from the tug, over the tolerance, from which he then draws at all, and speed at which he means to
bring her back, over the displacement [1/s], for he cannot stop her; judgement, spread 0 to 0.05, and 0.002 to 0.01."""
CHANGE_SHARE, CHANGE_APART = 0.25, 30.0
"""Displacement the wrong way, over the tolerance, from which a tug made fast by a line besides her fender goes over to
the other, and time from one such change to the next [s]; judgement, spread 0.1 to 0.5 and 15 to 60."""
JUST_SLACK = 0.5
"""How much closer she lies than where the bight of a line that floats comes to lie in the water [m]; judgement, spread
0.2 to 2."""
START_GAP = 0.0
"""Clear water between fender and barge at the start [m]: the tug is there already."""

COMPLETED = int(Outcome.completed)
NOT_HELD = int(Outcome.not_held)
TIMED_OUT = int(Outcome.timed_out)


@kernel
def held_by_weight(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int, gone: float
) -> bool:  # fmt: skip
    """Whether so little leans on the barge, away from the tug, that the weight of the line holds her, and does.

    `gone` is her displacement toward the tug [m].
    """
    along, _, _, _ = over_ground(s, p, k)
    _, toward, _ = leaning(s, p, k, along, 0.0)
    most, by_weight = LIGHT_SHARE * 2.0 * p[P.unit_thrust + k], most_by_weight(m, k)
    most = most if most < by_weight else by_weight
    margin, within = 1.0 / LIGHT_MARGIN, LIGHT_FROM
    if m[LYING + k] > 0.0:
        margin, within = LIGHT_MARGIN, HAUL_FROM
    elif m[MEMORY.time + k] == 0.0:
        margin = 1.0
    return bool(-toward < most * margin and gone > -within * p[TOLERANCE + k])


@outlined
def look_hold(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """One look of a master who keeps a barge in her place; arguments as for every look.

    Notes
    -----
    On a line alone he lies slack in a calm, and in light weather holds her by
    the weight of the line. Made fast both ways he leans on the fender, or
    hauls, against the load of wind and current, and changes over only when the
    barge has really gone the other way.
    """
    _, gone = displaced(s, p, k)
    hand, time, tolerance = m[MEMORY.hand + k], m[MEMORY.time + k], p[TOLERANCE + k]
    wanted = clip(-RETURN_RATE * gone, -RETURN_SPEED, RETURN_SPEED)
    lying = False
    if p[P.pushing + k] == 0.0:
        ease_line(s, p, m, k)
        lying = held_by_weight(s, p, m, k, gone)
        m[LYING + k] = 1.0 if lying else 0.0
    if lying:
        m[MEMORY.phase + k] = HOLD
        left = -gone - LIGHT_FROM * tolerance
        wanted = clip(LIGHT_RATE * left, 0.0, RETURN_SPEED) if left > 0.0 else -RETURN_SPEED
    slack = lying or gone > SLACK_FROM
    may_change = hand * gone > CHANGE_SHARE * tolerance and time - m[CHANGED_AT + k] >= CHANGE_APART
    work_bodily(s, p, m, report, k, wanted, p[SLACK + k] if slack else p[P.slack_distance + k], may_change, lying)
    if m[MEMORY.hand + k] != hand:
        m[CHANGED_AT + k] = time


@outlined
def judge_hold(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """Count the time held and the power in use; the case ends with the time to hold."""
    time = m[MEMORY.time + k]
    if time > TAKE_OVER_TIME:
        along, across = displaced(s, p, k)
        m[COUNTED + k] += TICK
        if along * along + across * across <= p[TOLERANCE + k] * p[TOLERANCE + k]:
            m[HELD + k] += TICK
        m[POWER + k] += TICK * m[MEMORY.power + k]
    if m[COUNTED + k] >= p[HOLD_TIME + k]:
        m[MEMORY.outcome + k] = COMPLETED if m[HELD + k] >= m[COUNTED + k] else NOT_HELD
    elif time >= p[P.time_limit + k]:
        m[MEMORY.outcome + k] = TIMED_OUT


def _rows(given: Given) -> dict[str, Array]:
    alongside, tug = given.choice("side_way", "onto"), given.tug
    rows = bodily_rows(given, gap=np.zeros(alongside.shape), face=np.where(alongside, 1.0, 0.0), sprung=alongside)
    hull = np.where(given.athwart, 0.5 * tug.beam, 0.5 * tug.length - np.abs(rows["tug_towing_x"]))
    length, bight = rows["line_length"], bight_rows(given, rows["line_length"])
    floats = bight["own_9"] == 0.0
    slack = np.maximum(np.where(floats, bight["own_8"] - JUST_SLACK, SLACK_SHARE * length), hull + SLACK_CLEAR)
    return {
        **rows,
        **bight,
        "own_5": given.columns["hold_tolerance"],
        "own_6": given.columns["hold_time"],
        "own_7": np.minimum(slack, rows["slack_distance"]),
    }


def _place(given: Given, rows: Mapping[str, Array]) -> Place:
    return bodily_place(given, rows, START_GAP)


def _outcomes(ran: Ran) -> dict[str, Array]:
    m = ran.memories
    counted = m[MEMORY_ROW.own_4] > 0.0
    time = np.where(counted, m[MEMORY_ROW.own_4], 1.0)
    return {
        "held_share": np.where(counted, m[MEMORY_ROW.own_5] / time, np.nan),
        "mean_power_held": np.where(counted, m[MEMORY_ROW.own_6] / time, np.nan),
    }


MANOEUVRE = Manoeuvre(look=look_hold, judge=judge_hold, rows=_rows, gear=bodily_gear, place=_place, outcomes=_outcomes)
