"""The engine's machine code: compiled once for a machine and a version of the model, in two processes at a time."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from functools import cache
from threading import Lock
from typing import Any

from toolkit.kernels import build, cache_folder, compiled
from toolkit.motion.batch import load_lane, rates_of_lanes, run_batch
from toolkit.motion.conditions import change_conditions
from toolkit.motion.ending import note_tick
from toolkit.motion.orders import look_and_order

__all__ = ["build_looks", "engine", "engine_is_kept"]

ENGINE = "batch.run_batch-*.nbi"
"""How the compiler names the index of the engine's machine code in the cache."""
PATIENCE = 600.0
"""How long the other process may take [s]; it is done without after that."""

_LOCK = Lock()


def engine_is_kept() -> bool:
    """Whether the engine's machine code is in the cache of this machine."""
    return any(cache_folder().rglob(ENGINE))


def engine() -> Callable[..., Any]:
    """The engine's loop, `toolkit.motion.batch.run_batch`, as machine code.

    Notes
    -----
    Where it is not in the cache, its parts are compiled first: the master's
    looks, half of the work, by another process, all else by this one. What the
    other process has not left in the cache, for whatever reason, is compiled
    here, so that the worst that can come of it is time.
    """
    with _LOCK:
        return _engine()


@cache
def _engine() -> Callable[..., Any]:
    if not engine_is_kept():
        _build_parts()
    return compiled(run_batch)


def build_looks() -> None:
    """Compile the master's looks, of every manoeuvre, into the cache."""
    build(look_and_order, *["row"] * 5, "whole")


def _build_parts() -> None:
    """Compile the parts of the engine, the looks in another process meanwhile."""
    helper = _helper()
    try:
        build(rates_of_lanes, *["row"] * 5)
        build(note_tick, *["row"] * 5, "table", "whole")
        build(change_conditions, *["row"] * 5, "number", "whole")
        build(load_lane, *["table"] * 3, *["row"] * 7, "whole", "whole")
        if helper is not None:
            helper.wait(PATIENCE)
    except subprocess.TimeoutExpired:
        pass
    finally:
        if helper is not None and helper.poll() is None:
            helper.kill()
            helper.wait()


def _helper() -> subprocess.Popen[bytes] | None:
    """Process that compiles the looks; none where there is no second processor, or no interpreter to start."""
    if (os.cpu_count() or 1) < 2 or not sys.executable:
        return None
    words = [sys.executable, "-c", f"import gc; gc.disable(); from {__name__} import build_looks; build_looks()"]
    try:
        return subprocess.Popen(
            words, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(each for each in sys.path if each)},
        )  # fmt: skip
    except OSError:
        return None
