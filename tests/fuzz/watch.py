"""A watch on work that might hang, also inside compiled code."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
from collections.abc import Iterator

__all__ = ["HUNG", "watched"]

HUNG = 9
"""Exit code of a process in which something took too long."""


@contextlib.contextmanager
def watched(seconds: float, what: str) -> Iterator[None]:
    """End the process, saying what hangs, unless the block is done in time."""

    def told() -> None:
        print(f"hangs for more than {seconds:g} s: {what}", file=sys.stderr, flush=True)
        os._exit(HUNG)

    timer = threading.Timer(seconds, told)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
