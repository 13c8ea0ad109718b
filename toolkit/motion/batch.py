"""The engine's loop: many cases side by side through the integrator, lanes refilled from a queue."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.motion.derivatives import derivatives
from toolkit.motion.layout import LANES, MEMORY, ORDER, REPORT, STATE, P
from toolkit.motion.log import TICK, WINDOW, note_step, note_tick
from toolkit.motion.manoeuvres.swing_pull import look_pull
from toolkit.motion.manoeuvres.swing_push import look_push

__all__ = ["CHANNELS", "run_batch", "step_lanes"]

NEVER = -10.0
"""Peak of heel toward or away from a side force, before there was any [rad]."""
STATES = len(STATE)
PARAMETERS = len(P)
ORDERS = len(ORDER)
REPORTS = len(REPORT)
MEMORIES = len(MEMORY)
CHANNELS = STATES + REPORTS + 4
"""Rows of a recorded history: state, report, time, phase, power, lead error."""


@kernel
def rates_of_lanes(
    s: NDArray[np.float64], p: NDArray[np.float64], o: NDArray[np.float64], d: NDArray[np.float64],
    report: NDArray[np.float64],
) -> None:  # fmt: skip
    """Right-hand side of all lanes."""
    for k in range(LANES):
        derivatives(s, p, o, d, report, k)


@kernel
def renormalise(s: NDArray[np.float64], cosine_row: int, sine_row: int) -> None:
    """Bring direction pairs back to length one, where rounding and the step have moved them."""
    for k in range(LANES):
        c, sn = s[cosine_row + k], s[sine_row + k]
        scale = 1.0 / sqrt(c * c + sn * sn)
        s[cosine_row + k] = c * scale
        s[sine_row + k] = sn * scale


@kernel
def step_lanes(
    s: NDArray[np.float64], p: NDArray[np.float64], o: NDArray[np.float64], m: NDArray[np.float64],
    d: NDArray[np.float64], total: NDArray[np.float64], trial: NDArray[np.float64], report: NDArray[np.float64],
    step: float,
) -> None:  # fmt: skip
    """One step of the classical Runge-Kutta method of fourth order, in all lanes."""
    rates_of_lanes(s, p, o, d, report)
    for k in range(LANES):
        note_step(s, p, m, report, k)
    for i in range(STATES * LANES):
        total[i] = d[i]
        trial[i] = s[i] + 0.5 * step * d[i]
    rates_of_lanes(trial, p, o, d, report)
    for i in range(STATES * LANES):
        total[i] += 2.0 * d[i]
        trial[i] = s[i] + 0.5 * step * d[i]
    rates_of_lanes(trial, p, o, d, report)
    for i in range(STATES * LANES):
        total[i] += 2.0 * d[i]
        trial[i] = s[i] + step * d[i]
    rates_of_lanes(trial, p, o, d, report)
    for i in range(STATES * LANES):
        s[i] += step / 6.0 * (total[i] + d[i])
    renormalise(s, STATE.barge_cosine, STATE.barge_sine)
    renormalise(s, STATE.tug_cosine, STATE.tug_sine)
    renormalise(s, STATE.starboard_cosine, STATE.starboard_sine)
    renormalise(s, STATE.port_cosine, STATE.port_sine)


@kernel
def load_lane(
    initial: NDArray[np.float64], parameters: NDArray[np.float64], s: NDArray[np.float64], p: NDArray[np.float64],
    o: NDArray[np.float64], m: NDArray[np.float64], w: NDArray[np.float64], case: int, k: int,
) -> None:  # fmt: skip
    """Put a case into a lane."""
    for i in range(STATES):
        s[i * LANES + k] = initial[i, case]
    for i in range(PARAMETERS):
        p[i * LANES + k] = parameters[i, case]
    for i in range(MEMORIES):
        m[i * LANES + k] = 0.0
    for i in range(WINDOW):
        w[i * LANES + k] = 0.0
    m[MEMORY.hand + k] = 1.0
    m[MEMORY.insistence + k] = 1.0
    m[MEMORY.heel_toward + k] = NEVER
    m[MEMORY.heel_away + k] = NEVER
    m[MEMORY.first_taut + k] = -1.0
    m[MEMORY.time_to_turn + k] = -1.0
    m[MEMORY.time_to_steady + k] = -1.0
    m[MEMORY.order_due + k] = -1.0
    m[MEMORY.pending_thrust_starboard + k] = s[STATE.thrust_starboard + k]
    m[MEMORY.pending_thrust_port + k] = s[STATE.thrust_port + k]
    m[MEMORY.pending_starboard_cosine + k] = s[STATE.starboard_cosine + k]
    m[MEMORY.pending_starboard_sine + k] = s[STATE.starboard_sine + k]
    m[MEMORY.pending_port_cosine + k] = s[STATE.port_cosine + k]
    m[MEMORY.pending_port_sine + k] = s[STATE.port_sine + k]
    take_orders(m, o, k)


@kernel
def take_orders(m: NDArray[np.float64], o: NDArray[np.float64], k: int) -> None:
    """Let the pending orders come into force."""
    o[ORDER.thrust_starboard + k] = m[MEMORY.pending_thrust_starboard + k]
    o[ORDER.starboard_cosine + k] = m[MEMORY.pending_starboard_cosine + k]
    o[ORDER.starboard_sine + k] = m[MEMORY.pending_starboard_sine + k]
    o[ORDER.thrust_port + k] = m[MEMORY.pending_thrust_port + k]
    o[ORDER.port_cosine + k] = m[MEMORY.pending_port_cosine + k]
    o[ORDER.port_sine + k] = m[MEMORY.pending_port_sine + k]
    m[MEMORY.order_due + k] = -1.0


@kernel
def look_and_order(
    s: NDArray[np.float64], p: NDArray[np.float64], o: NDArray[np.float64], m: NDArray[np.float64],
    report: NDArray[np.float64], k: int,
) -> None:  # fmt: skip
    """Let due orders come into force, look if it is time to, and obey at once where there is no delay."""
    time = m[MEMORY.time + k]
    if 0.0 <= m[MEMORY.order_due + k] <= time:
        take_orders(m, o, k)
    if m[MEMORY.next_look + k] <= time:
        if p[P.pushing + k] > 0.0:
            look_push(s, p, m, report, k)
        else:
            look_pull(s, p, m, report, k)
        if 0.0 <= m[MEMORY.order_due + k] <= time:
            take_orders(m, o, k)


@kernel
def record(
    history: NDArray[np.float64], s: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64],
    entry: int, k: int,
) -> None:  # fmt: skip
    """Write one entry of a history."""
    for i in range(STATES):
        history[i, entry] = s[i * LANES + k]
    for i in range(REPORTS):
        history[STATES + i, entry] = report[i * LANES + k]
    history[STATES + REPORTS, entry] = m[MEMORY.time + k]
    history[STATES + REPORTS + 1, entry] = m[MEMORY.phase + k]
    history[STATES + REPORTS + 2, entry] = m[MEMORY.power + k]
    history[STATES + REPORTS + 3, entry] = m[MEMORY.lead + k]


@kernel
def run_batch(
    initial: NDArray[np.float64],
    parameters: NDArray[np.float64],
    steps: int,
    memories: NDArray[np.float64],
    finals: NDArray[np.float64],
    history: NDArray[np.float64],
) -> int:
    """Run all cases of a batch to their ends.

    Parameters
    ----------
    initial : ndarray, shape (rows of state, cases)
        State at the start.
    parameters : ndarray, shape (rows of parameters, cases)
        All with the same number of steps a tick.
    steps : int
        Steps a tick; the step is 0.5 s over this.
    memories : ndarray, shape (rows of memory, cases)
        Receives the memory at the end.
    finals : ndarray, shape (rows of state, cases)
        Receives the state at the end.
    history : ndarray, shape (CHANNELS, entries)
        Receives an entry a tick of the *first* case, as many as fit; pass no
        entries to record nothing.

    Returns
    -------
    int
        Ticks that the lanes worked, idle ones included.

    Notes
    -----
    A lane whose case has ended takes the next case of the queue at once. What
    a case comes to does not depend on its lane nor on its neighbours.
    """
    cases = initial.shape[1]
    entries = history.shape[1]
    s, d = np.zeros(STATES * LANES), np.zeros(STATES * LANES)
    total, trial = np.zeros(STATES * LANES), np.zeros(STATES * LANES)
    p, o = np.zeros(PARAMETERS * LANES), np.zeros(ORDERS * LANES)
    m, w = np.zeros(MEMORIES * LANES), np.zeros(WINDOW * LANES)
    report = np.zeros(REPORTS * LANES)
    lane_case = np.zeros(LANES, np.int64)
    step = TICK / steps
    waiting, ended, worked = 0, 0, 0

    for k in range(LANES):
        lane_case[k] = waiting if waiting < cases else -1
        load_lane(initial, parameters, s, p, o, m, w, lane_case[k] if lane_case[k] >= 0 else 0, k)
        waiting += 1
    rates_of_lanes(s, p, o, d, report)
    for k in range(LANES):
        look_and_order(s, p, o, m, report, k)
    if entries > 0:
        record(history, s, m, report, 0, 0)

    while ended < cases:
        for _ in range(steps):
            step_lanes(s, p, o, m, d, total, trial, report, step)
        rates_of_lanes(s, p, o, d, report)
        worked += LANES
        for k in range(LANES):
            case = lane_case[k]
            if case < 0:
                continue
            note_step(s, p, m, report, k)
            m[MEMORY.window_sum + k] -= report[REPORT.tension + k]
            note_tick(s, p, m, report, w, k)
            if m[MEMORY.outcome + k] == 0.0:
                look_and_order(s, p, o, m, report, k)
            if case == 0:
                entry = int(m[MEMORY.ticks + k])
                if entry < entries:
                    record(history, s, m, report, entry, k)
            if m[MEMORY.outcome + k] != 0.0:
                for i in range(MEMORIES):
                    memories[i, case] = m[i * LANES + k]
                for i in range(STATES):
                    finals[i, case] = s[i * LANES + k]
                ended += 1
                lane_case[k] = -1
                load_lane(initial, parameters, s, p, o, m, w, waiting if waiting < cases else case, k)
                if waiting < cases:
                    lane_case[k] = waiting
                    waiting += 1
                    # its first look needs the loads of its own start
                    derivatives(s, p, o, d, report, k)
                    look_and_order(s, p, o, m, report, k)
    return worked
