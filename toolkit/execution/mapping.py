"""Doing a task for every block, on the processors of this machine."""

from __future__ import annotations

import itertools
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from typing import Any

from toolkit.errors import Problem, StoreError, StudyError

__all__ = ["SCHEDULERS", "check_options", "is_address", "map_blocks"]

SCHEDULERS = ("serial", "threads", "processes")
"""Ways of running on one machine; any other text says where a dask scheduler is."""

BLOCKS_AT_ONCE = 4096
"""Blocks in one graph of tasks, so that the graph takes the same memory for any number of them."""


def map_blocks(
    task: Callable[[int], Any],
    blocks: Iterable[int],
    finished: Callable[[Any], None],
    *,
    workers: int,
    scheduler: str,
) -> None:
    """Do a task for every block, and hand each result to `finished` as it comes.

    Parameters
    ----------
    task : callable
        Called with the number of a block.
    blocks : iterable of int
        Numbers of the blocks.
    finished : callable
        Called in this process with what the task returned, in any order.
    workers : int
        Tasks side by side.
    scheduler : str
        One of `SCHEDULERS`.

    Notes
    -----
    Whatever ends it, an interrupt included, it returns when the tasks that had
    begun are done, and no other one has begun. A second interrupt leaves them.
    """
    if scheduler == "serial":
        for block in blocks:
            finished(task(block))
        return
    import dask.threaded
    from dask.callbacks import Callback

    class Report(Callback):
        def _posttask(self, key: Any, result: Any, dsk: Any, state: Any, worker_id: Any) -> None:
            if key in graph:
                finished(result)

    remaining = iter(blocks)
    with _pool(workers, scheduler) as pool, Report():  # type: ignore[no-untyped-call]
        while graph := {("block", block): (task, block) for block in itertools.islice(remaining, BLOCKS_AT_ONCE)}:
            if scheduler == "threads":
                dask.threaded.get(graph, list(graph), pool=pool)
            else:
                _in_processes(graph, pool)


def _in_processes(graph: dict[Any, Any], pool: Executor) -> None:
    import dask.multiprocessing

    try:
        dask.multiprocessing.get(graph, list(graph), pool=pool, optimize_graph=False, chunksize=1)
    except BrokenProcessPool:
        raise StoreError(
            "A worker process died, perhaps for want of memory. Blocks that are done stay done: run the study again "
            "with fewer --workers, or with fewer cases_per_chunk into another store."
        ) from None
    except dask.multiprocessing.RemoteException as error:
        raise error.exception from None  # without the text of its traceback, which dask adds to what it says


@contextmanager
def _pool(workers: int, scheduler: str) -> Iterator[Executor]:
    """Workers, of which none is left when it is closed."""
    pool: Executor
    if scheduler == "threads":
        pool = ThreadPoolExecutor(workers)
    else:
        import multiprocessing

        pool = ProcessPoolExecutor(
            workers, mp_context=multiprocessing.get_context("spawn"), initializer=_prepare_worker_process
        )
    try:
        if isinstance(pool, ProcessPoolExecutor):
            _start(pool, workers)
        yield pool
    except BaseException as error:
        pool.shutdown(wait=False, cancel_futures=True)
        if isinstance(error, KeyboardInterrupt):
            print("Stopping when the blocks in work are done. Ctrl-C again leaves them.", file=sys.stderr, flush=True)
        pool.shutdown(wait=True)
        raise
    pool.shutdown(wait=True)


def _start(pool: ProcessPoolExecutor, workers: int) -> None:
    """Start worker processes, which take over that Ctrl-C is held back meanwhile: no one is stopped while it starts."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        for _ in range(workers):
            pool.submit(os.getpid)
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _prepare_worker_process() -> None:
    """Leave Ctrl-C to the process that gave the work, and go when that one is gone."""
    from multiprocessing import parent_process

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:

        def follow() -> None:
            parent.join()
            os._exit(1)

        threading.Thread(target=follow, daemon=True).start()


def is_address(scheduler: object) -> bool:
    """Whether a text can say where a dask scheduler is: an address, or the file that one writes for its workers."""
    return isinstance(scheduler, str) and scheduler not in SCHEDULERS and (":" in scheduler or _is_file(scheduler))


def _is_file(scheduler: str) -> bool:
    return scheduler.endswith(".json")


def check_options(workers: int | None, scheduler: str) -> None:
    """Refuse ways of running that make no sense."""
    problems = []
    if workers is not None and (isinstance(workers, bool) or not isinstance(workers, int) or workers < 1):
        problems.append(
            Problem(
                where="run options",
                what=f"workers = {workers} is not a whole number from 1 up",
                remedy="Leave it out for one worker a processor",
            )
        )
    if scheduler not in SCHEDULERS and not is_address(scheduler):
        problems.append(
            Problem(
                where="run options",
                what=f"scheduler = {scheduler!r} is not one of {', '.join(SCHEDULERS)}, nor an address",
                remedy="Write 'threads', an address such as 'tcp://host:8786', or the scheduler's file, 'NAME.json'",
            )
        )
    elif workers is not None and is_address(scheduler):
        problems.append(
            Problem(
                where="run options",
                what=f"workers = {workers} has no meaning with the dask scheduler at {scheduler}",
                why="it has the workers that were started for it",
                remedy="Leave it out",
            )
        )
    if problems:
        raise StudyError(problems)
