"""Doing a task for every block, on the workers of a dask scheduler that may be on other machines."""

from __future__ import annotations

import itertools
import json
import logging
import math
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from toolkit.errors import Problem, StoreError, StudyError
from toolkit.execution.integrity import first_line

if TYPE_CHECKING:
    from distributed import Client, Future

__all__ = ["connected", "map_on_cluster", "threads_of"]

CONNECT = 15.0
"""Time in which a scheduler must answer [s]."""

FIRST_WORKER = 60.0
"""Time in which a first worker must come [s]."""

NO_WORKER = 600.0
"""Time without any worker, once there were some, after which the run is given up [s]."""

LOOK = 2.0
"""Time between looks at the workers while none has anything to tell [s]."""

TASKS_A_THREAD = 3
"""Tasks that are handed out for each thread of the workers: one in work, and some so that none has to wait."""


@contextmanager
def connected(scheduler: str) -> Iterator[Client]:
    """Client of a dask scheduler that has workers.

    Parameters
    ----------
    scheduler : str
        Address of the scheduler, or the file that it wrote (``--scheduler-file``).

    Raises
    ------
    StudyError
        If dask.distributed is not installed, or nobody answers at the address.
    StoreError
        If no workers come.
    """
    try:
        from distributed import Client
    except ImportError:
        raise _refused(
            scheduler, "needs the package distributed, which is not installed",
            "Install it with the extra 'cluster' of towage-envelope, or write 'threads'"
        ) from None  # fmt: skip
    try:
        client = Client(_address(scheduler), timeout=CONNECT, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise _refused(
            scheduler, "cannot be reached", "Start one there with `dask scheduler`, or write 'threads'",
            why=first_line(error)
        ) from None  # fmt: skip
    logger = logging.getLogger("distributed.client")
    level = logger.level
    logger.setLevel(logging.CRITICAL)  # what it logs of a lost scheduler is told in our own words
    try:
        with client.as_current():
            _await_first_worker(client, scheduler)
            yield client
    finally:
        with suppress(Exception):
            client.close(timeout=CONNECT)
        logger.setLevel(level)


def map_on_cluster(
    task: Callable[[int], Any], blocks: Iterable[int], finished: Callable[[Any], None], *, client: Client
) -> None:
    """Do a task for every block on the workers of a dask scheduler.

    All workers are kept in work, with few tasks waiting, so that it takes no
    more memory to have many blocks. A task whose worker dies is done again by
    another one.

    Parameters
    ----------
    task, blocks, finished
        As for `toolkit.execution.mapping.map_blocks`. The task is sent to the
        workers.
    client : Client
        From `connected`.

    Raises
    ------
    StoreError
        If all workers go, or the scheduler is lost.
    """
    from distributed import CancelledError, KilledWorker, wait
    from distributed.comm.core import CommClosedError

    remaining = iter(blocks)
    given: set[Future[Any]] = set()
    looked, asked, alone, threads = -math.inf, time.monotonic(), 0.0, 0
    try:
        while True:
            if time.monotonic() - looked > LOOK:
                looked, threads = time.monotonic(), threads_of(client)
            room = max(1, TASKS_A_THREAD * threads) - len(given)
            given |= {client.submit(task, block, pure=False) for block in itertools.islice(remaining, max(room, 0))}
            if not given:
                return
            alone = 0.0 if threads else alone + time.monotonic() - asked
            if alone > NO_WORKER:
                raise _ended(client, f"it has had no worker for {NO_WORKER:g} s", "start workers")
            asked = time.monotonic()
            done: set[Future[Any]] = set()
            with suppress(TimeoutError):
                done, given = wait(given, timeout=LOOK, return_when="FIRST_COMPLETED")
            for future in done:
                try:
                    finished(future.result(timeout=LOOK))
                except TimeoutError:
                    given.add(future)  # its worker went before it could tell; another one will
    except KilledWorker:
        raise _ended(
            client, "several workers died one after the other with the same block in work, perhaps for want of memory",
            "give each worker more memory (their logs tell more)"
        ) from None  # fmt: skip
    except (CancelledError, CommClosedError) as error:
        raise _ended(client, f"lost ({first_line(error)})", "start scheduler and workers") from None
    finally:
        with suppress(Exception):
            client.cancel(list(given))


def threads_of(client: Client) -> int:
    """Threads of all workers that a scheduler has."""
    try:
        return sum(client.nthreads().values())
    except OSError as error:
        raise _ended(client, f"lost ({first_line(error)})", "start scheduler and workers") from None


def _refused(scheduler: str, what: str, remedy: str, why: str = "") -> StudyError:
    where = "run options"
    return StudyError([Problem(where=where, what=f"scheduler = {scheduler!r} {what}", why=why, remedy=remedy)])


def _address(scheduler: str) -> str:
    """Address of a scheduler, out of its file where a file is named."""
    if not scheduler.endswith(".json"):
        return scheduler
    try:
        return str(json.loads(Path(scheduler).read_text(encoding="utf-8"))["address"])
    except (KeyError, TypeError):
        raise ValueError(f"{scheduler} is not the file of a dask scheduler") from None


def _await_first_worker(client: Client, scheduler: str) -> None:
    try:
        client.wait_for_workers(1, timeout=FIRST_WORKER)
    except (TimeoutError, OSError):
        raise StoreError(
            f"scheduler {scheduler}: no worker has come within {FIRST_WORKER:g} s, and nothing has been run. "
            f"Start some with `dask worker {_whereabouts(client)}`, or run the study again when the batch "
            "system has started them."
        ) from None


def _whereabouts(client: Client) -> str:
    return str(client.scheduler.address) if client.scheduler else "ADDRESS"


def _ended(client: Client, reason: str, remedy: str) -> StoreError:
    return StoreError(
        f"scheduler {_whereabouts(client)}: {reason}. Blocks that are done stay done: {remedy}, and run the study "
        "again."
    )
