"""How fast this machine ran before: the last recorded rate, for ``towage check``."""

from __future__ import annotations

import contextlib
import json
import math
import uuid
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import NamedTuple

from toolkit.execution.provenance import timestamp
from toolkit.kernels import cache_root

__all__ = ["SHORTEST", "BlockTime", "Rate", "last_rate", "record_rate"]

FILE = "rate.json"

SHORTEST = 10.0
"""Engine time of a run [s], all workers together, below which its rate says nothing."""


class BlockTime(NamedTuple):
    """What the engine did in one block.

    Attributes
    ----------
    begun : float
        Time of day at which it began [s].
    seconds : float
        How long it took [s].
    distinct : int
        Cases really run.
    simulated : float
        Simulated time of these [s]: the sum of ``end_time``.
    """

    begun: float
    seconds: float
    distinct: int
    simulated: float


@dataclass(frozen=True, kw_only=True)
class Rate:
    """Rate of the last long run on this machine.

    Attributes
    ----------
    cases_per_second : float
        Distinct cases, those really run, by all workers together.
    simulated_per_second : float
        Simulated seconds of these, likewise.
    cases : int
        Cases that the rate rests on.
    workers : int
        Blocks that ran side by side.
    model_hash : str
        Model that was run.
    recorded : str
        UTC time.
    """

    cases_per_second: float
    simulated_per_second: float
    cases: int
    workers: int
    model_hash: str
    recorded: str


def record_rate(blocks: Sequence[BlockTime], *, workers: int, model_hash: str) -> None:
    """Keep the rate of a run, if it was long enough to tell one.

    The first block of each worker, which may have waited for the compiler, is
    left out. Nothing is kept of a run with less than `SHORTEST` of engine time
    in the others. A cache folder that cannot be written is no error.

    Parameters
    ----------
    blocks : sequence of BlockTime
        In any order.
    workers, model_hash
        As in `Rate`.
    """
    counted = sorted(blocks)[workers:]
    seconds = sum(block.seconds for block in counted)
    if not seconds > SHORTEST:
        return
    cases = sum(block.distinct for block in counted)
    rate = Rate(
        cases_per_second=workers * cases / seconds,
        simulated_per_second=workers * sum(block.simulated for block in counted) / seconds,
        cases=cases,
        workers=workers,
        model_hash=model_hash,
        recorded=timestamp(),
    )
    file = cache_root() / FILE
    partial = file.with_name(f"{FILE}.{uuid.uuid4().hex[:8]}.partial")
    with contextlib.suppress(OSError):
        file.parent.mkdir(parents=True, exist_ok=True)
        partial.write_text(json.dumps(asdict(rate)), encoding="utf-8")
        partial.replace(file)


def last_rate() -> Rate | None:
    """Rate of the last long run on this machine, or None if there was none that can be read."""
    try:
        rate = Rate(**json.loads((cache_root() / FILE).read_text(encoding="utf-8")))
        numbers = (rate.cases_per_second, rate.simulated_per_second)
        told = all(isinstance(number, float) and 0.0 < number < math.inf for number in numbers)
    except (OSError, ValueError, TypeError, RecursionError):
        return None
    return rate if told else None
