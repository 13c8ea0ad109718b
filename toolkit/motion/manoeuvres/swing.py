"""What both ways of swinging have in common: when a swing is over, and its own outcomes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import outlined
from toolkit.motion.layout import MEMORY, P
from toolkit.motion.manoeuvres.manoeuvre import Given
from toolkit.quantities import Outcome

__all__ = ["judge_swing", "swing_rows"]

Array = NDArray[np.float64]

PASSING_TIME = 120.0
"""Time after coming steady for which a case goes on, if the target heading has not been passed yet [s]; judgement."""
EASING_SHARE = 0.5
"""A small turn is eased from this share of it on; judgement, spread 0.3 to 0.7."""

COMPLETED = int(Outcome.completed)
NOT_STEADY = int(Outcome.not_steady)
TIMED_OUT = int(Outcome.timed_out)


@outlined
def judge_swing(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """End a swing that is steady on its target, or out of time."""
    time = m[MEMORY.time + k]
    if m[MEMORY.time_to_steady + k] >= 0.0:
        # steady already: a barge that lies just short of the target is given time to pass it
        waited = time - m[MEMORY.time_to_steady + k] >= PASSING_TIME or time >= p[P.time_limit + k]
        if m[MEMORY.time_to_turn + k] >= 0.0 or waited:
            m[MEMORY.outcome + k] = COMPLETED
    elif time >= p[P.time_limit + k]:
        m[MEMORY.outcome + k] = TIMED_OUT if m[MEMORY.time_to_turn + k] < 0.0 else NOT_STEADY


LEAST_TURN = 5.0
"""Least turn that is made to come to a heading [degree]: what is less is steadied."""


def swing_rows(given: Given) -> dict[str, Array]:
    """Rows of a swing: target, rate and easing."""
    c = given.columns
    heading = np.where(given.turn > 0.0, 1.0, -1.0) * (c["target_heading"] - c["initial_heading"]) % 360.0
    # there but for a little, or past it by no more: she is steadied where she is
    heading = np.maximum(np.where(heading > 360.0 - LEAST_TURN, LEAST_TURN, heading), LEAST_TURN)
    target = np.deg2rad(np.where(np.isnan(c["target_heading"]), c["target_angle"], heading))
    return {
        "target": target,
        "rate_limit": given.crew.swing_rate_limit,
        "easing_angle": np.minimum(given.crew.easing_angle, EASING_SHARE * target),
    }
