"""The engine's loop: many cases side by side through the integrator, lanes refilled from a queue."""

from __future__ import annotations

from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined, separate, with_wide_vectors
from toolkit.motion.conditions import change_conditions
from toolkit.motion.derivatives import (
    berth_loads,
    drive_rates,
    motions,
    pushing_loads,
    surrounding_loads,
    thrust_loads,
    towing_loads,
    wash_loads,
)
from toolkit.motion.ending import note_and_judge
from toolkit.motion.layout import GUST_ROWS, LANES, MEMORY, ORDER, REPORT, STATE, P
from toolkit.motion.log import FAR, NEVER, TICK, WINDOW, note_step
from toolkit.motion.manoeuvres.manoeuvre import Look
from toolkit.motion.orders import look_and_order, take_orders

__all__ = ["CHANNELS", "load_lane", "rates_of_lanes", "run_batch", "step_lanes", "workplace"]

STATES = len(STATE)
PARAMETERS = len(P)
ORDERS = len(ORDER)
REPORTS = len(REPORT)
MEMORIES = len(MEMORY)
D0, H0, TOTAL0, TRIAL0, P0, O0, M0, REPORT0, W0, G0, WORK = (
    LANES * rows
    for rows in accumulate(
        (STATES, STATES, STATES, STATES, STATES, PARAMETERS, ORDERS, MEMORIES, REPORTS, WINDOW, GUST_ROWS)
    )
)
CHANNELS = STATES + REPORTS + 5
"""Rows of a recorded history: state, report, time, phase, power, lead error, gust factor."""


def workplace() -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Room that `run_batch` works in, made here so that the compiled code never allocates."""
    return np.zeros(WORK), np.zeros(3 * LANES, np.int64)


@separate
def rates_of_lanes(
    s: NDArray[np.float64], p: NDArray[np.float64], o: NDArray[np.float64], d: NDArray[np.float64],
    report: NDArray[np.float64],
) -> None:  # fmt: skip
    """Right-hand side of all lanes, as `derivatives` has it for one.

    Wash, line, fender and berth are left out where no lane has one, which does
    not change a bit: what a lane without one would add is nothing.
    """
    with_wide_vectors()
    washes, lines, fenders, berths = False, False, False, False
    for k in range(LANES):
        washes = washes or p[P.barge_wash + k] > 0.0
        lines = lines or p[P.line_stiffness + k] > 0.0
        fenders = fenders or p[P.fender_stiffness + k] > 0.0
        berths = berths or p[P.berth_stiffness + k] > 0.0
    for k in range(LANES):
        surrounding_loads(s, p, d, report, k)
    for k in range(LANES):
        thrust_loads(s, p, d, report, k)
    if washes:
        for k in range(LANES):
            wash_loads(s, p, d, report, k)
    if lines:
        for k in range(LANES):
            towing_loads(s, p, d, report, k)
    if fenders:
        for k in range(LANES):
            pushing_loads(s, p, d, report, k)
    if berths:
        for k in range(LANES):
            berth_loads(s, p, d, report, k)
    for k in range(LANES):
        motions(s, p, d, report, k)
    for k in range(LANES):
        drive_rates(s, p, o, d, k)


@kernel
def renormalise(s: NDArray[np.float64], trial: NDArray[np.float64], cosine_row: int, sine_row: int) -> None:
    """Bring direction pairs back to length one, where rounding and the step have moved them; also in `trial`.

    By one stride of Newton's for the root, which leaves the square of an error that is small at every step.
    """
    for k in range(LANES):
        c, sn = s[cosine_row + k], s[sine_row + k]
        scale = 1.5 - 0.5 * (c * c + sn * sn)
        s[cosine_row + k] = c * scale
        s[sine_row + k] = sn * scale
        trial[cosine_row + k] = c * scale
        trial[sine_row + k] = sn * scale


@kernel
def advance(
    stage: int, s: NDArray[np.float64], d: NDArray[np.float64], total: NDArray[np.float64],
    trial: NDArray[np.float64], h: NDArray[np.float64],
) -> None:  # fmt: skip
    """What the classical Runge-Kutta method of fourth order does with the rates of a stage, 0 to 3.

    `h` is the step [s] of each entry of the state, `trial` the state at which
    the next stage is weighed, which after the last is the new state.
    """
    with_wide_vectors()
    if stage == 0:
        for i in range(STATES * LANES):
            total[i] = d[i]
            trial[i] = s[i] + 0.5 * h[i] * d[i]
    elif stage == 1:
        for i in range(STATES * LANES):
            total[i] += 2.0 * d[i]
            trial[i] = s[i] + 0.5 * h[i] * d[i]
    elif stage == 2:
        for i in range(STATES * LANES):
            total[i] += 2.0 * d[i]
            trial[i] = s[i] + h[i] * d[i]
    else:
        for i in range(STATES * LANES):
            new = s[i] + h[i] * (1.0 / 6.0) * (total[i] + d[i])
            s[i] = new
            trial[i] = new
        renormalise(s, trial, STATE.barge_cosine, STATE.barge_sine)
        renormalise(s, trial, STATE.tug_cosine, STATE.tug_sine)
        renormalise(s, trial, STATE.starboard_cosine, STATE.starboard_sine)
        renormalise(s, trial, STATE.port_cosine, STATE.port_sine)


@kernel
def step_lanes(
    s: NDArray[np.float64], p: NDArray[np.float64], o: NDArray[np.float64], m: NDArray[np.float64],
    d: NDArray[np.float64], total: NDArray[np.float64], trial: NDArray[np.float64], report: NDArray[np.float64],
    h: NDArray[np.float64],
) -> None:  # fmt: skip
    """One step of all lanes, as `run_batch` does it; peaks are noted at its start."""
    for i in range(STATES * LANES):
        trial[i] = s[i]
    for stage in range(4):
        rates_of_lanes(trial, p, o, d, report)
        if stage == 0:
            note_step_of_lanes(s, p, m, report)
        advance(stage, s, d, total, trial, h)


@kernel
def note_step_of_lanes(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64]
) -> None:
    """Note peaks of all lanes, as `note_step` has it for one."""
    with_wide_vectors()
    for k in range(LANES):
        note_step(s, p, m, report, k)


@separate
def load_lane(
    initial: NDArray[np.float64], parameters: NDArray[np.float64], gusts: NDArray[np.float64],
    s: NDArray[np.float64], p: NDArray[np.float64], o: NDArray[np.float64], m: NDArray[np.float64],
    w: NDArray[np.float64], g: NDArray[np.float64], h: NDArray[np.float64], case: int, k: int,
) -> None:  # fmt: skip
    """Put a case into a lane."""
    for i in range(PARAMETERS):
        p[i * LANES + k] = parameters[i, case]
    step = TICK / p[P.steps_per_tick + k]
    for i in range(STATES):
        s[i * LANES + k] = initial[i, case]
        h[i * LANES + k] = step
    for i in range(MEMORIES):
        m[i * LANES + k] = 0.0
    for i in range(WINDOW):
        w[i * LANES + k] = 0.0
    for i in range(GUST_ROWS):
        g[i * LANES + k] = gusts[i, case] if gusts.shape[0] > 0 else 0.0
    m[MEMORY.hand + k] = 1.0
    m[MEMORY.insistence + k] = 1.0
    m[MEMORY.heel_toward + k] = NEVER
    m[MEMORY.heel_away + k] = NEVER
    m[MEMORY.first_taut + k] = -1.0
    m[MEMORY.time_to_turn + k] = -1.0
    m[MEMORY.time_to_steady + k] = -1.0
    m[MEMORY.order_due + k] = -1.0
    m[MEMORY.failed_at + k] = -1.0
    m[MEMORY.released_at + k] = -1.0
    m[MEMORY.alarm_at + k] = -1.0
    m[MEMORY.edge_met_at + k] = -1.0
    m[MEMORY.berth_met_at + k] = -1.0
    m[MEMORY.least_clearance + k] = FAR
    m[MEMORY.gust + k] = 1.0
    m[MEMORY.pending_thrust_starboard + k] = s[STATE.thrust_starboard + k]
    m[MEMORY.pending_thrust_port + k] = s[STATE.thrust_port + k]
    m[MEMORY.pending_starboard_cosine + k] = s[STATE.starboard_cosine + k]
    m[MEMORY.pending_starboard_sine + k] = s[STATE.starboard_sine + k]
    m[MEMORY.pending_port_cosine + k] = s[STATE.port_cosine + k]
    m[MEMORY.pending_port_sine + k] = s[STATE.port_sine + k]
    take_orders(s, p, m, o, k)


@outlined
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
    history[STATES + REPORTS + 4, entry] = m[MEMORY.gust + k]


@kernel
def run_batch(
    initial: NDArray[np.float64],
    parameters: NDArray[np.float64],
    gusts: NDArray[np.float64],
    basin: NDArray[np.float64],
    memories: NDArray[np.float64],
    finals: NDArray[np.float64],
    history: NDArray[np.float64],
    work: NDArray[np.float64],
    turns: NDArray[np.int64],
    look: Look,
    judge: Look,
) -> int:
    """Run all cases of a batch, of one manoeuvre, to their ends.

    Parameters
    ----------
    initial : ndarray, shape (rows of state, cases)
        State at the start.
    parameters : ndarray, shape (rows of parameters, cases)
        The step of a case is 0.5 s over its `steps_per_tick`.
    gusts : ndarray, shape (GUST_ROWS, cases), or (0, 0)
        Harmonics of the gusts of each case; none.
    basin : ndarray, shape (segments, 5)
        Edges of basin and shoals: ends [m, m, m, m], and what lies there.
    memories : ndarray, shape (rows of memory, cases)
        Receives the memory at the end.
    finals : ndarray, shape (rows of state, cases)
        Receives the state at the end.
    history : ndarray, shape (CHANNELS, entries)
        Receives an entry a tick of the *first* case, as many as fit; pass no
        entries to record nothing.
    work : ndarray, shape (WORK,)
        Room for what the cases in the lanes have at hand, all zero.
    turns : ndarray, shape (3 * lanes,)
        Room for which case is whose turn, all zero.
    look, judge : callable
        Those of the cases' manoeuvre.

    Returns
    -------
    int
        Steps that the lanes worked, idle ones included.

    Notes
    -----
    A lane whose case has ended takes the next case of the queue before the
    next step. What a case comes to does not depend on its lane nor on its
    neighbours. The right-hand side stands in one place only, so that it is
    compiled once: what is to be done at a tick is done between the first stage
    of a step, whose loads it needs, and the second.
    """
    with_wide_vectors()
    cases = initial.shape[1]
    entries = history.shape[1]
    s, d, h = work[:D0], work[D0:H0], work[H0:TOTAL0]
    total, trial, p = work[TOTAL0:TRIAL0], work[TRIAL0:P0], work[P0:O0]
    o, m, report = work[O0:M0], work[M0:REPORT0], work[REPORT0:W0]
    w, g = work[W0:G0], work[G0:]
    lane_case, left, fresh = turns[:LANES], turns[LANES : 2 * LANES], turns[2 * LANES :]
    waiting, ended, worked = 0, 0, 0
    for k in range(LANES):
        lane_case[k] = -2

    while ended < cases:
        for k in range(LANES):
            if lane_case[k] == -2:  # to be filled; one for which nothing waits goes through the motions
                load_lane(initial, parameters, gusts, s, p, o, m, w, g, h, min(waiting, cases - 1), k)
                lane_case[k] = waiting if waiting < cases else -1
                left[k] = 0 if waiting < cases else -1
                fresh[k] = 1
                waiting += 1
                for i in range(STATES):
                    trial[i * LANES + k] = s[i * LANES + k]
            if left[k] == 0:
                change_conditions(s, p, o, m, g, TICK, k)
        for stage in range(4):
            rates_of_lanes(trial, p, o, d, report)
            if stage == 0:
                note_step_of_lanes(s, p, m, report)
                for k in range(LANES):
                    if left[k] != 0:
                        continue
                    case = lane_case[k]
                    left[k] = int(p[P.steps_per_tick + k])
                    if fresh[k] == 0:
                        m[MEMORY.window_sum + k] -= report[REPORT.tension + k]  # it belongs to the span that begins
                        note_and_judge(s, p, m, report, w, basin, judge, k)
                    else:
                        m[MEMORY.window_first + k] = report[REPORT.tension + k]
                    fresh[k] = 0
                    if m[MEMORY.outcome + k] == 0.0:
                        look_and_order(s, p, o, m, report, look, k)
                    if case == 0:
                        entry = int(m[MEMORY.ticks + k])
                        if entry < entries:
                            record(history, s, m, report, entry, k)
                    if m[MEMORY.outcome + k] == 0.0:
                        m[MEMORY.window_sum + k] = report[REPORT.tension + k]
                        drive_rates(s, p, o, d, k)
                    else:
                        for i in range(MEMORIES):
                            memories[i, case] = m[i * LANES + k]
                        for i in range(STATES):
                            finals[i, case] = s[i * LANES + k]
                        ended += 1
                        lane_case[k] = -2
                        left[k] = -1
            advance(stage, s, d, total, trial, h)
        worked += LANES
        for k in range(LANES):
            left[k] -= 1
    return worked
