"""Orders on their way to the drives: looks, delays, and what a failure makes of them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.motion.crew import HELM_INTERVAL
from toolkit.motion.failures import LATE_ORDER, LINE_PARTS, WRONG_ORDER
from toolkit.motion.layout import MEMORY, ORDER, STATE, P
from toolkit.motion.manoeuvres.manoeuvre import Look

__all__ = ["look_and_order", "take_due_orders", "take_orders", "time_to_look"]


@outlined
def take_orders(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], o: NDArray[np.float64], k: int
) -> None:
    """Let the pending orders come into force, as far as the drives can obey and the orders are right."""
    wrong = 1.0
    if p[P.failure + k] == WRONG_ORDER and m[MEMORY.failed_at + k] >= 0.0:
        over = m[MEMORY.time + k] - m[MEMORY.failed_at + k] >= p[P.fault_duration + k] + p[P.recognition_time + k]
        wrong = 1.0 if over else -1.0
    o[ORDER.thrust_starboard + k] = m[MEMORY.pending_thrust_starboard + k] * (1.0 - m[MEMORY.starboard_lost + k])
    o[ORDER.thrust_port + k] = m[MEMORY.pending_thrust_port + k] * (1.0 - m[MEMORY.port_lost + k])
    if m[MEMORY.steering_lost + k] == 0.0:
        o[ORDER.starboard_cosine + k] = wrong * m[MEMORY.pending_starboard_cosine + k]
        o[ORDER.starboard_sine + k] = wrong * m[MEMORY.pending_starboard_sine + k]
    else:
        o[ORDER.starboard_cosine + k] = s[STATE.starboard_cosine + k]
        o[ORDER.starboard_sine + k] = s[STATE.starboard_sine + k]
    if m[MEMORY.steering_lost + k] < 2.0:
        o[ORDER.port_cosine + k] = wrong * m[MEMORY.pending_port_cosine + k]
        o[ORDER.port_sine + k] = wrong * m[MEMORY.pending_port_sine + k]
    else:
        o[ORDER.port_cosine + k] = s[STATE.port_cosine + k]
        o[ORDER.port_sine + k] = s[STATE.port_sine + k]
    m[MEMORY.order_due + k] = -1.0


@kernel
def stand_clear(m: NDArray[np.float64], k: int) -> None:
    """Take the power off and wait: the line is gone."""
    m[MEMORY.power + k] = 0.0
    m[MEMORY.pending_thrust_starboard + k] = 0.0
    m[MEMORY.pending_thrust_port + k] = 0.0
    m[MEMORY.order_due + k] = m[MEMORY.time + k]
    m[MEMORY.next_look + k] = m[MEMORY.time + k] + HELM_INTERVAL


@kernel
def take_due_orders(
    s: NDArray[np.float64], p: NDArray[np.float64], o: NDArray[np.float64], m: NDArray[np.float64], k: int
) -> None:
    """Let pending orders come into force if they are due."""
    if 0.0 <= m[MEMORY.order_due + k] <= m[MEMORY.time + k]:
        take_orders(s, p, m, o, k)


@outlined
def time_to_look(
    s: NDArray[np.float64], p: NDArray[np.float64], o: NDArray[np.float64], m: NDArray[np.float64], k: int
) -> bool:
    """Let due orders come into force; whether the master looks now.

    After a failure the master notices once `recognition_time` has passed; while
    his orders are late he gives none, and once the line is gone he stands clear.
    """
    time = m[MEMORY.time + k]
    failed = m[MEMORY.failed_at + k]
    if failed >= 0.0 and m[MEMORY.recognised + k] == 0.0 and time >= failed + p[P.recognition_time + k]:
        m[MEMORY.recognised + k] = 1.0
    take_due_orders(s, p, o, m, k)
    gone = m[MEMORY.released_at + k] >= 0.0 or (p[P.failure + k] == LINE_PARTS and m[MEMORY.recognised + k] > 0.0)
    asleep = p[P.failure + k] == LATE_ORDER and failed >= 0.0 and time < failed + p[P.fault_duration + k]
    due = m[MEMORY.next_look + k] <= time and not asleep
    if due and gone:
        stand_clear(m, k)
        take_due_orders(s, p, o, m, k)
    return bool(due and not gone)


@kernel
def look_and_order(
    s: NDArray[np.float64], p: NDArray[np.float64], o: NDArray[np.float64], m: NDArray[np.float64],
    report: NDArray[np.float64], look: Look, k: int,
) -> None:  # fmt: skip
    """Let due orders come into force, look if it is time to, and obey at once where there is no delay.

    `look` is that of the case's manoeuvre.
    """
    if time_to_look(s, p, o, m, k):
        look(s, p, m, report, k)
        take_due_orders(s, p, o, m, k)
