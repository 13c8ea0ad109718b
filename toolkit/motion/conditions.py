"""What changes from outside as a case goes on: gusts, a front, failures, and the line let go."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined, separate
from toolkit.loads.gusts import advance_gusts, front_factor
from toolkit.motion.failures import (
    BLACK_OUT,
    DRIVE_STUCK,
    FENDER_SLIPS,
    LINE_PARTS,
    PORT_DRIVE_LOST,
    STARBOARD_DRIVE_LOST,
)
from toolkit.motion.layout import GUST_ROWS, LANES, MEMORY, ORDER, STATE, P

__all__ = ["change_conditions", "let_go"]

HARMONICS = GUST_ROWS // 5


@kernel
def wind_factor(p: NDArray[np.float64], g: NDArray[np.float64], time: float, k: int) -> float:
    """Factor on the mean wind at this time; carries the gusts on by one tick."""
    factor = 1.0
    if p[P.gust_share + k] > 0.0:
        factor = advance_gusts(
            g, g, 0, HARMONICS * LANES, 2 * HARMONICS * LANES, 3 * HARMONICS * LANES, 4 * HARMONICS * LANES,
            HARMONICS, LANES, k,
        )  # fmt: skip
    return factor * front_factor(time, p[P.front_start + k], p[P.front_rise + k], p[P.front_factor + k])


@kernel
def let_go(p: NDArray[np.float64], k: int) -> None:
    """Take the towline out of a lane's numbers: parted or released, it pulls no more."""
    p[P.line_stiffness + k] = 0.0
    p[P.line_sag + k] = 0.0
    p[P.line_sag_tension + k] = 0.0


@outlined
def fail(
    s: NDArray[np.float64], p: NDArray[np.float64], o: NDArray[np.float64], m: NDArray[np.float64], time: float, k: int
) -> None:
    """Let the failure of the case happen; peaks are counted anew from here."""
    kind = int(p[P.failure + k])
    m[MEMORY.failed_at + k] = time
    m[MEMORY.failed_north + k] = s[STATE.barge_north + k]
    m[MEMORY.failed_east + k] = s[STATE.barge_east + k]
    m[MEMORY.heel_before + k] = max(m[MEMORY.heel_starboard + k], m[MEMORY.heel_port + k])
    m[MEMORY.tension_before + k] = m[MEMORY.peak_tension + k]
    m[MEMORY.heel_starboard + k] = 0.0
    m[MEMORY.heel_port + k] = 0.0
    m[MEMORY.peak_tension + k] = 0.0
    if kind in (STARBOARD_DRIVE_LOST, BLACK_OUT):
        m[MEMORY.starboard_lost + k] = 1.0
        o[ORDER.thrust_starboard + k] = 0.0
    if kind in (PORT_DRIVE_LOST, BLACK_OUT):
        m[MEMORY.port_lost + k] = 1.0
        o[ORDER.thrust_port + k] = 0.0
    if kind in (DRIVE_STUCK, BLACK_OUT):
        m[MEMORY.steering_lost + k] = 2.0 if kind == BLACK_OUT else 1.0
        o[ORDER.starboard_cosine + k] = s[STATE.starboard_cosine + k]
        o[ORDER.starboard_sine + k] = s[STATE.starboard_sine + k]
        if kind == BLACK_OUT:
            o[ORDER.port_cosine + k] = s[STATE.port_cosine + k]
            o[ORDER.port_sine + k] = s[STATE.port_sine + k]
    if kind == LINE_PARTS:
        let_go(p, k)
    if kind == FENDER_SLIPS:
        p[P.fender_friction + k] = 0.0


@separate
def change_conditions(
    s: NDArray[np.float64], p: NDArray[np.float64], o: NDArray[np.float64], m: NDArray[np.float64],
    g: NDArray[np.float64], tick: float, k: int,
) -> None:  # fmt: skip
    """Bring wind, drives and line of lane `k` to what they are at this tick, before its loads are weighed.

    Parameters
    ----------
    s, p, o, m : ndarray, shape (rows * lanes,)
        State, parameters, orders, memory. The parameters are the lane's own
        copy: wind and line in them are those in force.
    g : ndarray, shape (GUST_ROWS * lanes,)
        Harmonics of the gusts.
    tick : float
        Interval between two ticks [s].
    k : int
        Lane.
    """
    time = m[MEMORY.time + k] + m[MEMORY.begun + k] * tick
    clock = time + p[P.clock_start + k]
    if m[MEMORY.begun + k] == 0.0 and p[P.failed_before + k] > 0.0:  # in an earlier leg, and not mended
        fail(s, p, o, m, time, k)
        m[MEMORY.failed_north + k], m[MEMORY.failed_east + k] = p[P.failed_north + k], p[P.failed_east + k]
    m[MEMORY.begun + k] = 1.0
    factor = wind_factor(p, g, clock, k)
    m[MEMORY.gust + k] = factor
    p[P.wind_north + k] = factor * p[P.mean_wind_north + k]
    p[P.wind_east + k] = factor * p[P.mean_wind_east + k]
    if p[P.failure + k] > 0.0:
        if m[MEMORY.failed_at + k] < 0.0:
            due = clock >= p[P.failure_time + k]
            if p[P.failure_angle + k] >= 0.0:
                due = s[STATE.turned + k] >= p[P.failure_angle + k]
            if due:
                fail(s, p, o, m, time, k)
        elif p[P.failure + k] == BLACK_OUT and time >= m[MEMORY.failed_at + k] + p[P.restart_time + k]:
            m[MEMORY.starboard_lost + k] = 0.0
            m[MEMORY.port_lost + k] = 0.0
            m[MEMORY.steering_lost + k] = 0.0
    if m[MEMORY.alarm_at + k] >= 0.0 and m[MEMORY.released_at + k] < 0.0:
        freed = m[MEMORY.alarm_at + k] + p[P.recognition_time + k] + p[P.release_time + k]
        if time >= freed:
            m[MEMORY.released_at + k] = time
            let_go(p, k)
