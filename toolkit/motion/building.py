"""The engine's machine code: compiled once for a machine and a version of the model, in two processes at a time.

The loop is compiled once; what the master of a manoeuvre does comes to it as
functions that are compiled by themselves, those of a manoeuvre when a case of
it is first run.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Collection
from functools import cache, partial
from itertools import chain
from threading import Lock
from typing import Any

from toolkit.kernels import build, cache_folder, compiled
from toolkit.motion.batch import load_lane, rates_of_lanes, run_batch
from toolkit.motion.conditions import change_conditions
from toolkit.motion.ending import note_tick
from toolkit.motion.manoeuvres import manoeuvre_of

__all__ = ["build_manoeuvres", "engine", "engine_is_kept"]

Part = tuple[Callable[..., Any], tuple[str, ...]]

LOOP: Part = (run_batch, (*["table"] * 7, "row", "wholes", "work", "work"))
"""The engine's loop and the kinds of its arguments, as for `toolkit.kernels.build`; after what it calls."""
LOG: Part = (note_tick, (*["row"] * 5, "table", "whole"))
"""The log of a tick; the other process compiles it where it has no more than `FEW` manoeuvres to do."""
FEW = 3
CALLED: tuple[Part, ...] = (
    (rates_of_lanes, ("row",) * 5),
    LOG,
    (change_conditions, (*["row"] * 5, "number", "whole")),
    (load_lane, (*["table"] * 3, *["row"] * 7, "whole", "whole")),
)
"""What the loop calls."""
WORK = (*["row"] * 4, "whole")
"""Kinds of the arguments of a look and of a judgement."""
PATIENCE = 600.0
"""How long the other process may take [s]; it is done without after that."""

_LOCK = Lock()


def _is_kept(part: Part) -> bool:
    function = part[0]
    name = f"{function.__module__.rpartition('.')[2]}.{function.__qualname__}"
    return any(cache_folder().rglob(f"{name}-*.nbi"))


def _work_of(code: int) -> list[Part]:
    """The look and the judgement of a manoeuvre."""
    manoeuvre = manoeuvre_of(code)
    return [(manoeuvre.look, WORK), (manoeuvre.judge, WORK)]


def _missing(codes: Collection[int]) -> tuple[list[Part], list[int]]:
    """Parts of the loop, and codes of manoeuvres, whose machine code is not in the cache of this machine."""
    parts = [part for part in (*CALLED, LOOP) if not _is_kept(part)]
    return parts, [code for code in codes if not all(map(_is_kept, _work_of(code)))]


def engine_is_kept(codes: Collection[int]) -> bool:
    """Whether the engine's machine code is in the cache of this machine, for manoeuvres of some codes."""
    return not any(_missing(codes))


def engine(codes: Collection[int]) -> dict[int, Callable[..., int]]:
    """The engine's loop as machine code, for each of some manoeuvres.

    Parameters
    ----------
    codes : collection of int
        Codes of manoeuvres.

    Returns
    -------
    dict of int to callable
        `toolkit.motion.batch.run_batch` for cases of that manoeuvre, without
        its last two arguments.

    Notes
    -----
    What is not in the cache is compiled first: the manoeuvres, half of the
    work, by another process, all else by this one. What the other process has
    not left in the cache, for whatever reason, is compiled here, so that the
    worst that can come of it is time.
    """
    with _LOCK:
        parts, codes_missing = _missing(codes)
        if codes and (parts or codes_missing):
            _build_parts(parts, codes_missing)
        return {code: _engine(code) for code in codes}


@cache
def _engine(code: int) -> Callable[..., int]:
    for part in _work_of(code):
        build(part[0], *part[1])
    return partial(_run, _loop(), [compiled(part[0]) for part in _work_of(code)])


@cache
def _loop() -> Callable[..., int]:
    build(LOOP[0], *LOOP[1])
    loop: Any = compiled(LOOP[0])
    loop.disable_compile()  # it would else make a loop of its own for every manoeuvre
    made: Callable[..., int] = loop
    return made


def _run(loop: Callable[..., int], work: list[Callable[..., None]], *arguments: Any) -> int:
    return loop(*arguments, *work)


def build_manoeuvres(codes: Collection[int]) -> None:
    """Compile what the master does in some manoeuvres into the cache, and the log where they are few."""
    for function, kinds in (*chain.from_iterable(map(_work_of, codes)), *([LOG] if len(codes) <= FEW else [])):
        build(function, *kinds)


def _build_parts(parts: Collection[Part], codes: Collection[int]) -> None:
    """Compile parts of the engine, and the manoeuvres in another process meanwhile."""
    helper = _helper(codes) if parts and codes else None
    try:
        for function, kinds in parts:
            if function is not LOG[0] and function is not LOOP[0]:
                build(function, *kinds)
        if helper is not None:
            helper.wait(PATIENCE)
    except subprocess.TimeoutExpired:
        pass
    finally:
        if helper is not None and helper.poll() is None:
            helper.kill()
            helper.wait()
    build(LOG[0], *LOG[1])


def _helper(codes: Collection[int]) -> subprocess.Popen[bytes] | None:
    """Process that compiles manoeuvres; none where there is no second processor, or no interpreter to start."""
    if (os.cpu_count() or 1) < 2 or not sys.executable:
        return None
    call = f"build_manoeuvres({list(map(int, codes))})"
    task = f"import gc; gc.disable(); from {__name__} import build_manoeuvres; {call}"
    try:
        return subprocess.Popen(
            [sys.executable, "-c", task], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(each for each in sys.path if each)},
        )  # fmt: skip
    except OSError:
        return None
