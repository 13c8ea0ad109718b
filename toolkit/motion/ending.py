"""The end of a tick: the log is kept, and it is judged whether the case ends."""

from __future__ import annotations

from math import isfinite, sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, separate
from toolkit.motion.aftermath import note_after_failure
from toolkit.motion.failures import LINE_PARTS
from toolkit.motion.layout import MEMORY, REPORT, STATE, P
from toolkit.motion.log import TICK, larger, note_line, note_motion, overlaps
from toolkit.motion.manoeuvres.manoeuvre import Look
from toolkit.motion.phases import ENDED
from toolkit.motion.room import note_room
from toolkit.quantities import Outcome

__all__ = ["DEEPEST_OVERLAP", "close_tick", "note_and_judge", "note_tick"]

DEEPEST_OVERLAP = 1.5
"""Overlap of the two hulls, beyond what a fender takes, at which a push has gone wrong [m]; judgement."""
ESCAPED = 1e5
"""Distance [m] beyond which a case has gone astray numerically."""
FASTEST = 60.0
"""Sum of the speeds of both hulls through the water, ahead and across [m/s], beyond which it has; judgement."""

DECK_EDGE = int(Outcome.deck_edge_immersed)
CAPSIZED = int(Outcome.capsized)
PARTED = int(Outcome.line_parted)
RELEASED = int(Outcome.line_released)
COLLIDED = int(Outcome.collided)
EDGE_MET = int(Outcome.edge_met)
NOT_CONVERGED = int(Outcome.not_converged)


@separate
def note_tick(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64],
    w: NDArray[np.float64], basin: NDArray[np.float64], k: int,
) -> bool:  # fmt: skip
    """Note one tick and decide whether what endangers every manoeuvre ends the case.

    Parameters
    ----------
    s, p, m, report : ndarray, shape (rows * lanes,)
        State, parameters, memory and the report of loads at this instant.
    w : ndarray, shape (WINDOW * lanes,)
        Means of tension over the last ticks.
    basin : ndarray, shape (segments, 5)
        Edges of basin and shoals.
    k : int
        Lane.

    Returns
    -------
    bool
        Whether the case goes on, so that its manoeuvre is to be judged.
    """
    m[MEMORY.time + k] += TICK
    note_line(s, p, m, w, k, report[REPORT.tension + k])
    note_motion(s, p, m, k)
    note_after_failure(s, p, m, k)
    note_room(s, p, m, basin, k)
    m[MEMORY.ticks + k] += 1.0

    time = m[MEMORY.time + k]
    # with what was before a failure, which may have come in this very tick
    peak_heel = larger(m[MEMORY.heel_starboard + k], m[MEMORY.heel_port + k])
    peak_heel = larger(peak_heel, m[MEMORY.heel_before + k])
    peak_tension = larger(m[MEMORY.peak_tension + k], m[MEMORY.tension_before + k])
    check = s[STATE.barge_north + k] + s[STATE.tug_north + k] + s[STATE.heel + k] + s[STATE.turned + k]
    tug_speed = abs(s[STATE.tug_surge + k]) + abs(s[STATE.tug_sway + k])
    speed = tug_speed + abs(s[STATE.barge_surge + k]) + abs(s[STATE.barge_sway + k])
    astray = not speed < FASTEST or not sqrt(m[MEMORY.drift_square + k]) < ESCAPED
    if peak_heel >= p[P.release_heel + k] * p[P.deck_edge_angle + k] and m[MEMORY.alarm_at + k] < 0.0:
        m[MEMORY.alarm_at + k] = time
    parted = p[P.failure + k] == LINE_PARTS and m[MEMORY.failed_at + k] >= 0.0
    if not isfinite(check) or astray:
        m[MEMORY.outcome + k] = NOT_CONVERGED
    elif peak_heel >= p[P.heel_end + k]:
        m[MEMORY.outcome + k] = CAPSIZED if p[P.heel_end + k] > p[P.deck_edge_angle + k] else DECK_EDGE
    elif peak_tension >= p[P.line_breaking + k]:
        m[MEMORY.outcome + k] = PARTED
    elif overlaps(s, p, k, DEEPEST_OVERLAP if p[P.pushing + k] > 0.0 else 0.0):
        m[MEMORY.outcome + k] = COLLIDED
    elif m[MEMORY.edge_met_at + k] >= 0.0:
        m[MEMORY.outcome + k] = EDGE_MET
    elif parted and time >= m[MEMORY.failed_at + k] + p[P.watch_time + k]:
        m[MEMORY.outcome + k] = PARTED
    elif m[MEMORY.released_at + k] >= 0.0 and time >= m[MEMORY.released_at + k] + p[P.watch_time + k]:
        m[MEMORY.outcome + k] = RELEASED
    return bool(m[MEMORY.outcome + k] == 0.0)


@kernel
def close_tick(m: NDArray[np.float64], k: int) -> None:
    """Leave the phase of a case that has ended in this tick as ended."""
    if m[MEMORY.outcome + k] != 0.0:
        m[MEMORY.phase + k] = ENDED


@kernel
def note_and_judge(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64],
    w: NDArray[np.float64], basin: NDArray[np.float64], judge: Look, k: int,
) -> None:  # fmt: skip
    """Note one tick and decide whether the case ends; parameters as for `note_tick`, `judge` of its manoeuvre."""
    if note_tick(s, p, m, report, w, basin, k):
        judge(s, p, m, report, k)
    close_tick(m, k)
