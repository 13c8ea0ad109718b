"""How far a run is, and how long it will still take."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

__all__ = ["Pace", "progress_bar"]


class Pace:
    """Rate of a run: the mean since the first blocks were done.

    The first blocks are left out, one for each worker, since they may have
    waited for the compiler and end together. Blocks differ in what they take;
    where they are run in an order that is even over the study (see
    `toolkit.execution.runner`), those done are a fair sample of those to come,
    and the mean over all of them tells more than that over the last few.

    Parameters
    ----------
    workers : int
        Blocks side by side.
    """

    def __init__(self, workers: int) -> None:
        self._first = workers
        self._began = math.nan
        self._last = math.nan
        self._cases = 0

    def add(self, cases: int, now: float) -> None:
        """Count a block that was done at the time `now` [s], by any clock."""
        if self._first > 0:
            self._first -= 1
            self._began = now
            return
        self._cases += cases
        self._last = now

    @property
    def rate(self) -> float | None:
        """Cases a second, or None while there is nothing to tell it from."""
        return self._cases / (self._last - self._began) if self._last > self._began else None


@contextmanager
def progress_bar(total: int, done: int, workers: int, shown: bool) -> Iterator[Callable[[int], Any]]:
    """Bar over all cases of a study, those done before included; gives what is to be called with cases done."""
    if not shown:
        yield lambda cases: None
        return
    import sys

    from tqdm import tqdm

    pace = Pace(workers)

    class Bar(tqdm):  # type: ignore[type-arg]
        """A bar whose rate and time to go are those of a `Pace`."""

        @property
        def format_dict(self) -> Any:
            """What the line is made of, as tqdm documents for rates of one's own."""
            return {**super().format_dict, "rate": pace.rate}

    often = 0.2 if sys.stderr.isatty() else 10.0
    with Bar(total=total, initial=done, unit=" cases", mininterval=often, dynamic_ncols=True) as bar:

        def advance(cases: int) -> None:
            pace.add(cases, time.monotonic())
            bar.update(cases)

        yield advance
