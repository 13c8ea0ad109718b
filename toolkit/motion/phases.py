"""The phases of a swing, and the numbers that the kernel knows them by."""

from __future__ import annotations

from enum import IntEnum

__all__ = ["ACCELERATE", "CHECK", "ENDED", "HOLD", "SHIFT", "STEADY", "TAKE_WEIGHT", "Phase"]


class Phase(IntEnum):
    """What the tug's master is doing."""

    take_weight = 0
    accelerate = 1
    hold = 2
    shift = 3
    check = 4
    steady = 5
    ended = 6


TAKE_WEIGHT = int(Phase.take_weight)
ACCELERATE = int(Phase.accelerate)
HOLD = int(Phase.hold)
SHIFT = int(Phase.shift)
CHECK = int(Phase.check)
STEADY = int(Phase.steady)
ENDED = int(Phase.ended)
