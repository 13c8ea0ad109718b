"""The master's judgement: which rate of swing he wants, with how much power, from which side."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.motion.coasting import coasted
from toolkit.motion.crew import AIM_BEYOND, ANTICIPATION, FLOOR_RATE, RESPONSE_TIME
from toolkit.motion.layout import MEMORY, STATE, P
from toolkit.motion.phases import ACCELERATE, CHECK, HOLD, SHIFT, STEADY

__all__ = ["judge_power", "judgement_due", "order_power", "ordered_power", "power_for", "power_in_force", "wanted_rate"]

SHIFT_MARGIN = 0.25
"""Excess of the swing rate, over the rate he came with, that makes him go round to check."""
INSIST_TIME = 10.0
"""Time in which he gives about double to a barge that lies off the target and does not answer [s]; spread 5 to 30."""
INSIST_MOST = 6.0
"""Most he gives then, over what he judged; judgement, spread 3 to 10."""
RUNAWAY_MARGIN = 1.0
"""The same on the rate limit, before easing: a wind that turns the barge at twice the rate she may have."""


@kernel
def wanted_rate(left: float, easing_angle: float, rate_limit: float, rate_cap: float) -> float:
    """Rate of swing [rad/s] that the master wants with an angle left to turn.

    The limit until `easing_angle` before the target; from there the rate he
    came with falls in proportion to what is left, through nothing at the
    target, to a turn back beyond it.
    """
    easing = clip(rate_cap * left / easing_angle, -rate_cap, rate_cap)
    return rate_limit if left > easing_angle else easing


@kernel
def power_for(p: NDArray[np.float64], k: int, need: float, wanted: float, leaning: float, lever: float) -> float:
    """Share of bollard pull that changes the swing by `need` within `RESPONSE_TIME`, and holds `wanted`.

    A master who has the feel of his barge: her inertia with the tug's mass at
    the lever, the drag of pure yaw at the rate he wants, and how wind and her
    drift lean on her.
    """
    half_length = p[P.barge_half_length + k]
    inertia = p[P.barge_yaw_inertia + k] + p[P.tug_surge_mass + k] * lever * lever
    hold = 0.5 * p[P.barge_cross_flow + k] * half_length * half_length * half_length * half_length
    moment = inertia * need / RESPONSE_TIME + hold * wanted * abs(wanted) - leaning
    share: float = moment / (lever * 2.0 * p[P.unit_thrust + k])
    return share


@outlined
def judge_power(s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int, lever: float) -> float:
    """Decide on the power and on a shift; the phase and the hand are kept in memory.

    Parameters
    ----------
    s, p, m : ndarray, shape (rows * lanes,)
        State, parameters, memory.
    k : int
        Lane.
    lever : float
        Lever of the pull or push about the barge's midships [m].

    Returns
    -------
    float
        Power wanted from the present side as a share of the power setting,
        before limits: above 1 means that more would be used if there were
        more; 0 means to feather.

    Notes
    -----
    The *hand* is +1 on the side that turns the barge the ordered way and -1
    on the side that checks her. He reads the trend of the swing a few seconds
    ahead, works from the side he is on while that helps, feathers while it
    does not, and shifts when the swing is well off what he wants.
    """
    rate = p[P.turn + k] * s[STATE.barge_yaw + k]
    left = p[P.target + k] - s[STATE.turned + k]
    limit, easing_angle = p[P.rate_limit + k], p[P.easing_angle + k]
    interval = m[MEMORY.time + k] - m[MEMORY.judged_at + k]
    trend = (rate - m[MEMORY.last_rate + k]) / interval if interval > 0.0 else 0.0
    m[MEMORY.last_rate + k] = rate
    m[MEMORY.judged_at + k] = m[MEMORY.time + k]
    expected = rate + trend * ANTICIPATION
    easing = left <= easing_angle
    if not easing:
        floor = FLOOR_RATE if limit > FLOOR_RATE else limit
        m[MEMORY.rate_cap + k] = clip(rate, floor, limit)
    cap = m[MEMORY.rate_cap + k]
    beyond = AIM_BEYOND * p[P.steady_angle + k]
    wanted = wanted_rate(left + beyond, easing_angle, limit, cap)
    need = wanted - expected

    steady_angle, steady_rate = p[P.steady_angle + k], p[P.steady_rate + k]
    hand = m[MEMORY.hand + k]
    if -0.8 * steady_angle < left <= 0.0 and abs(rate) < 0.8 * steady_rate:
        m[MEMORY.phase + k] = STEADY
        return 0.0

    # were he to shift now, how would he find her when he is ready on the other side?
    left_then, rate_then, leaning = coasted(s, p, k, p[P.shift_time + k])
    excess = hand * (rate_then - wanted_rate(left_then + beyond, easing_angle, limit, cap))
    runaway = hand > 0.0 and left_then > easing_angle
    near = clip(SHIFT_MARGIN * cap, 0.0, 1.5 * steady_rate)
    margin = (RUNAWAY_MARGIN * limit if runaway else near) + 0.5 * steady_rate
    if excess > margin:
        m[MEMORY.hand + k] = -hand
        m[MEMORY.phase + k] = SHIFT
        m[MEMORY.phase_start + k] = m[MEMORY.time + k]
        m[MEMORY.shifts + k] += 1.0
        return 0.0

    insistence = 1.0
    if abs(rate) < steady_rate:
        insistence = clip(m[MEMORY.insistence + k] * (1.0 + interval / INSIST_TIME), 1.0, INSIST_MOST)
    m[MEMORY.insistence + k] = insistence
    power = insistence * hand * power_for(p, k, need, wanted, leaning, lever) / p[P.power_setting + k]
    if hand < 0.0:
        m[MEMORY.phase + k] = CHECK
    elif easing or power < 1.0:
        m[MEMORY.phase + k] = HOLD
    else:
        m[MEMORY.phase + k] = ACCELERATE
    return power if power > 0.0 else 0.0


@kernel
def ordered_power(p: NDArray[np.float64], m: NDArray[np.float64], k: int, wanted: float) -> float:
    """Power ordered, a share of the bollard pull, from what is wanted as a share of the power setting.

    It is not rounded here: drives that stand against each other give any small
    force by their angle; each drive's own thrust comes in steps. Counts the
    looks and those that met the limit.
    """
    m[MEMORY.looks + k] += 1.0
    if wanted > 1.0:
        m[MEMORY.saturated + k] += 1.0
    power: float = clip(wanted, 0.0, 1.0) * p[P.power_setting + k]
    return power


@kernel
def judgement_due(m: NDArray[np.float64], k: int) -> bool:
    """Let an order for power that is due come into force; whether it is time to judge anew."""
    if m[MEMORY.time + k] >= m[MEMORY.power_due + k]:
        m[MEMORY.power_in_force + k] = m[MEMORY.power_pending + k]
    return bool(m[MEMORY.time + k] >= m[MEMORY.next_judgement + k])


@kernel
def order_power(p: NDArray[np.float64], m: NDArray[np.float64], k: int, wanted: float, at_once: bool) -> None:
    """Order a power, wanted as a share of the power setting; in force after the order's delay, or at once."""
    time = m[MEMORY.time + k]
    m[MEMORY.power_pending + k] = ordered_power(p, m, k, wanted)
    m[MEMORY.power_due + k] = time + p[P.order_delay + k]
    m[MEMORY.next_judgement + k] = time + p[P.order_interval + k]
    if at_once or p[P.order_delay + k] == 0.0:
        m[MEMORY.power_in_force + k] = m[MEMORY.power_pending + k]


@outlined
def power_in_force(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int, lever: float
) -> float:
    """Power in force, a share of the bollard pull: judged once an order interval, in force after the order's delay.

    Parameters as for :func:`judge_power`. A shift takes the power off at once.
    """
    if judgement_due(m, k):
        hand = m[MEMORY.hand + k]
        wanted = judge_power(s, p, m, k, lever)
        order_power(p, m, k, wanted, m[MEMORY.hand + k] != hand)
    power: float = m[MEMORY.power_in_force + k]
    return power
