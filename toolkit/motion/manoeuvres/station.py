"""What keeping a station has in common between manoeuvres: its clock and its quality."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel
from toolkit.loads.scalars import clip
from toolkit.motion.crew import HELM_INTERVAL, LOST_TIME, PATIENCE, TAKE_UP_SHARE
from toolkit.motion.layout import MEMORY, P
from toolkit.motion.phases import SHIFT, TAKE_WEIGHT
from toolkit.quantities import Outcome

__all__ = ["gentle_speed", "quality_of", "watch_station"]

LOST_STATION = int(Outcome.lost_station)


@kernel
def gentle_speed(p: NDArray[np.float64], k: int, lever: float, most: float) -> float:
    """Speed [m/s] at which to come onto the line or the side without giving the barge a jerk.

    A share of the speed that her end, at a lever [m], has at the rate limit;
    never above `most` [m/s].
    """
    gentle = TAKE_UP_SHARE * p[P.rate_limit + k] * lever
    return gentle if gentle < most else most


@kernel
def quality_of(error: float, poor: float, useless: float) -> float:
    """Share of power a master uses at a station error: 1 up to `poor`, 0 from `useless` on."""
    return clip((useless - abs(error)) / (useless - poor), 0.0, 1.0)


@kernel
def watch_station(p: NDArray[np.float64], m: NDArray[np.float64], k: int, quality: float) -> None:
    """End a case whose tug cannot keep, or cannot reach, her station.

    Lost is a station held with no quality for `LOST_TIME` on end while working,
    and one not reached within `PATIENCE`.
    """
    time, phase = m[MEMORY.time + k], m[MEMORY.phase + k]
    if m[MEMORY.failed_at + k] >= 0.0 and time <= m[MEMORY.failed_at + k] + p[P.watch_time + k]:
        m[MEMORY.lost_since + k] = time  # what a failure leads to is watched first
    elif phase in (SHIFT, TAKE_WEIGHT):
        m[MEMORY.lost_since + k] = time
        if time - m[MEMORY.phase_start + k] > PATIENCE:
            m[MEMORY.outcome + k] = LOST_STATION
    elif quality > 0.0:
        m[MEMORY.lost_since + k] = time
    elif time - m[MEMORY.lost_since + k] > LOST_TIME:
        m[MEMORY.outcome + k] = LOST_STATION
    m[MEMORY.next_look + k] = time + HELM_INTERVAL
