"""Hold: the barge kept where she is against wind and current, alongside a berth or in open water."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.motion.layout import MEMORY, MEMORY_ROW, P
from toolkit.motion.lead import lead_angles
from toolkit.motion.log import TICK
from toolkit.motion.manoeuvres.bodily import displaced, leaning, over_ground, work_bodily
from toolkit.motion.manoeuvres.bodily_rows import bodily_gear, bodily_place, bodily_rows
from toolkit.motion.manoeuvres.manoeuvre import Given, Manoeuvre, Place, Ran
from toolkit.motion.phases import HOLD
from toolkit.quantities import Outcome

__all__ = ["MANOEUVRE", "TAKE_OVER_TIME", "judge_hold", "look_hold"]

Array = NDArray[np.float64]

TOLERANCE, HOLD_TIME = P.own_5, P.own_6
"""Displacement that counts as held, and for how long."""
SLACK = P.own_7
"""Distance between the towing points at which the line hangs so slack that its weight hardly draws the barge."""
BIGHT, SUNK = P.own_8, P.own_9
"""Distance between the towing points below which the line's bight lies in the water, and the share of its weight that
the water does not bear."""
COUNTED, HELD, POWER = MEMORY.own_4, MEMORY.own_5, MEMORY.own_6
"""Time counted, time held, and power in use summed over the time."""
RESTING, CHANGED_AT = MEMORY.own_7, MEMORY.own_8
"""Whether she lies on a line that is not wanted, and when she last changed hands."""
SAG, SAG_TENSION = MEMORY.own_14, MEMORY.own_15
"""Rows of the line's weight as it hangs clear of the water."""

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
REST_SHARE = 0.005
"""Load of wind and current off her, over bollard pull, below which he waits for the barge to move before he hauls, lest
he draw her after him; judgement, spread 0.002 to 0.02."""
WORK_FROM, REST_FROM = 0.1, 0.02
"""Displacement away from the tug, over the tolerance, from which he does, and within which he rests again; judgement,
spread 0.05 to 0.3, and 0 to 0.05."""
CHANGE_SHARE, CHANGE_APART = 0.25, 30.0
"""Displacement the wrong way, over the tolerance, from which a tug made fast by a line besides her fender goes over to
the other, and time from one such change to the next [s]; judgement, spread 0.1 to 0.5 and 15 to 60."""
FLOATING_SHARE = (0.0, 0.26, 0.10, 0.87)
"""Share of its weight that a line of each material keeps in the water: of densities 0.97, 1.38, 1.14 and 7.85 t/m3;
from memory, not verified."""
START_GAP = 0.0
"""Clear water between fender and barge at the start [m]: the tug is there already."""

COMPLETED = int(Outcome.completed)
NOT_HELD = int(Outcome.not_held)
TIMED_OUT = int(Outcome.timed_out)


@kernel
def ease_line(s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int) -> None:
    """Let the water bear a line that is so slack that its bight lies in it."""
    if m[MEMORY.time + k] == 0.0:
        m[SAG + k], m[SAG_TENSION + k] = p[P.line_sag + k], p[P.line_sag_tension + k]
    if p[P.line_stiffness + k] > 0.0:  # neither parted nor let go
        _, distance, _, _ = lead_angles(s, p, k)
        share = p[SUNK + k] if distance < p[BIGHT + k] else 1.0
        p[P.line_sag + k] = share * share * m[SAG + k]
        p[P.line_sag_tension + k] = (share * share) ** (1.0 / 3.0) * m[SAG_TENSION + k]


@kernel
def rests(s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int, gone: float) -> bool:
    """Whether a tug that holds on a line alone lies slack: nothing leans on the barge, and she is in her place."""
    along, _, _, _ = over_ground(s, p, k)
    _, toward, _ = leaning(s, p, k, along, 0.0)
    light = -toward < REST_SHARE * 2.0 * p[P.unit_thrust + k]
    begun = m[MEMORY.time + k] > 0.0
    within = REST_FROM if begun and m[RESTING + k] == 0.0 else WORK_FROM
    resting = light and gone > -within * p[TOLERANCE + k]
    m[RESTING + k] = 1.0 if resting else 0.0
    return resting


@outlined
def look_hold(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """One look of a master who keeps a barge in her place; arguments as for every look.

    Notes
    -----
    On a line alone he lies slack while nothing leans on the barge. Made fast
    both ways he leans on the fender, or hauls, against the load of wind and
    current, and changes over only when the barge has really gone the other way.
    """
    _, gone = displaced(s, p, k)
    resting = False
    if p[P.pushing + k] == 0.0:
        ease_line(s, p, m, k)
        resting = rests(s, p, m, k, gone)
        if resting:
            m[MEMORY.phase + k] = HOLD
    slack = resting or gone > SLACK_FROM
    hand, time = m[MEMORY.hand + k], m[MEMORY.time + k]
    may_change = hand * gone > CHANGE_SHARE * p[TOLERANCE + k] and time - m[CHANGED_AT + k] >= CHANGE_APART
    work_bodily(
        s, p, m, report, k, clip(-RETURN_RATE * gone, -RETURN_SPEED, RETURN_SPEED),
        p[SLACK + k] if slack else p[P.slack_distance + k], may_change, resting,
    )  # fmt: skip
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
    length = rows["line_length"]
    slack = np.maximum(SLACK_SHARE * length, hull + SLACK_CLEAR)
    height = 0.5 * (given.barge.freeboard + tug.towing_point_height)
    sunk = np.array(FLOATING_SHARE)[given.columns["line_material"].astype(np.int64)]
    return {
        **rows,
        "own_5": given.columns["hold_tolerance"],
        "own_6": given.columns["hold_time"],
        "own_7": np.minimum(slack, rows["slack_distance"]),
        "own_8": length - 8.0 * height**2 / (3.0 * length),  # of a parabola with this sag
        "own_9": sunk,
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
