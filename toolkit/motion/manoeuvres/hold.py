"""Hold: the barge kept where she is against wind and current, alongside a berth or in open water."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import outlined
from toolkit.loads.scalars import clip
from toolkit.motion.layout import MEMORY, MEMORY_ROW, P
from toolkit.motion.log import TICK
from toolkit.motion.manoeuvres.bodily import displaced, work_bodily
from toolkit.motion.manoeuvres.bodily_rows import bodily_gear, bodily_place, bodily_rows
from toolkit.motion.manoeuvres.manoeuvre import Given, Manoeuvre, Place, Ran
from toolkit.quantities import Outcome

__all__ = ["MANOEUVRE", "TAKE_OVER_TIME", "judge_hold", "look_hold"]

Array = NDArray[np.float64]

TOLERANCE, HOLD_TIME = P.own_5, P.own_6
"""Displacement that counts as held, and for how long."""
SLACK = P.own_7
"""Distance between the towing points at which the line hangs so slack that its weight hardly draws the barge."""
COUNTED, HELD, POWER = MEMORY.own_4, MEMORY.own_5, MEMORY.own_6
"""Time counted, time held, and power in use summed over the time."""

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
START_GAP = 0.0
"""Clear water between fender and barge at the start [m]: the tug is there already."""

COMPLETED = int(Outcome.completed)
NOT_HELD = int(Outcome.not_held)
TIMED_OUT = int(Outcome.timed_out)


@outlined
def look_hold(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """One look of a master who keeps a barge in her place; arguments as for every look."""
    _, gone = displaced(s, p, k)
    rest = p[SLACK + k] if gone > SLACK_FROM else p[P.slack_distance + k]
    work_bodily(s, p, m, report, k, clip(-RETURN_RATE * gone, -RETURN_SPEED, RETURN_SPEED), rest)


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
    slack = np.maximum(SLACK_SHARE * rows["line_length"], hull + SLACK_CLEAR)
    return {
        **rows,
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
