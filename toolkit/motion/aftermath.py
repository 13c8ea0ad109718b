"""What becomes of the barge after a failure: how far she drifts until she is in hand again, and what she meets."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.motion.failures import BLACK_OUT, LATE_ORDER, LINE_PARTS, WRONG_ORDER
from toolkit.motion.layout import MEMORY, STATE, P
from toolkit.motion.log import TICK
from toolkit.motion.room import clearance_of_face

__all__ = ["note_after_failure"]

CLEAR_OF_BERTH = 0.5
"""Clear water to her berth from which on touching it again counts as contact [m]: one that lies at her berth as
something fails has not met it; judgement, spread 0.2 to 1."""


@kernel
def able_again(p: NDArray[np.float64], m: NDArray[np.float64], k: int) -> bool:
    """Whether the tug can do, and has begun to do, what she still can after the failure.

    Both drives are back after a black-out, a late or wrong order is over; with one drive, or without the fender's
    grip, she works on as soon as it is recognised; without her line she does not.
    """
    kind = p[P.failure + k]
    if kind == LINE_PARTS:
        return False
    wait = p[P.recognition_time + k]
    if kind == BLACK_OUT:
        wait = p[P.restart_time + k]
    elif kind == LATE_ORDER:
        wait = p[P.fault_duration + k]
    elif kind == WRONG_ORDER:
        wait += p[P.fault_duration + k]
    return bool(m[MEMORY.time + k] >= m[MEMORY.failed_at + k] + wait)


@outlined
def note_after_failure(s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int) -> None:
    """Note how far the barge drifts after something has failed, and when she comes onto her berth.

    Notes
    -----
    The drift is counted until the tug has her in hand again: able to work, and
    the barge moving away from where she was at the failure slower than
    `slow_speed`. What she has gone the way the manoeuvre means her to go, if
    it does, is left out; what she has gone the other way, or across it, is not.
    Of a failure in an earlier leg of a job the tug has her in hand as soon as
    she is able to: that leg was completed.
    """
    if m[MEMORY.failed_at + k] < 0.0:
        return
    north = s[STATE.barge_north + k] - m[MEMORY.failed_north + k]
    east = s[STATE.barge_east + k] - m[MEMORY.failed_east + k]
    meant = north * p[P.meant_north + k] + east * p[P.meant_east + k]
    if meant > 0.0:
        north -= meant * p[P.meant_north + k]
        east -= meant * p[P.meant_east + k]
    drift = sqrt(north * north + east * east)
    able = able_again(p, m, k)
    if able and p[P.failed_before + k] > 0.0:
        m[MEMORY.in_hand + k] = 1.0
    if m[MEMORY.in_hand + k] == 0.0:
        if drift * drift > m[MEMORY.drift_after_square + k]:
            m[MEMORY.drift_after_square + k] = drift * drift
        if able and drift - m[MEMORY.drift_last + k] < p[P.slow_speed + k] * TICK:
            m[MEMORY.in_hand + k] = 1.0
    m[MEMORY.drift_last + k] = drift
    clear, _, _ = clearance_of_face(s, p, k)
    if clear > CLEAR_OF_BERTH:
        m[MEMORY.berth_clear + k] = 1.0
    elif clear <= 0.0 and m[MEMORY.berth_clear + k] > 0.0 and m[MEMORY.berth_met_at + k] < 0.0:
        m[MEMORY.berth_met_at + k] = m[MEMORY.time + k]
