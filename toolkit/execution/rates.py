"""How fast this machine ran before: the last recorded rate, for ``towage check``."""

from __future__ import annotations

import contextlib
import json
import uuid
from dataclasses import asdict, dataclass

from toolkit.execution.provenance import timestamp
from toolkit.kernels import cache_root

__all__ = ["Rate", "last_rate", "record_rate"]

FILE = "rate.json"


@dataclass(frozen=True, kw_only=True)
class Rate:
    """Rate of the last run on this machine.

    Attributes
    ----------
    cases_per_second : float
        Cases really run, by all workers together, in the median block: the
        first block of each worker, which may have waited for the compiler,
        hardly counts.
    cases : int
        Cases really run.
    workers : int
        Blocks that ran side by side.
    model_hash : str
        Model that was run.
    recorded : str
        UTC time.
    """

    cases_per_second: float
    cases: int
    workers: int
    model_hash: str
    recorded: str


def record_rate(seconds_per_case: list[float], *, cases: int, workers: int, model_hash: str) -> None:
    """Keep the rate of a run; a cache folder that cannot be written is no error.

    Parameters
    ----------
    seconds_per_case : list of float
        For each block [s].
    cases, workers, model_hash
        As in `Rate`.
    """
    if not seconds_per_case:
        return
    ordered = sorted(seconds_per_case)
    middle = ordered[(len(ordered) - 1) // 2]
    rate = Rate(
        cases_per_second=workers / max(middle, 1e-9),
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
    """Rate of the last run on this machine, or None if there was none that can be read."""
    try:
        return Rate(**json.loads((cache_root() / FILE).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None
