"""Running a study: every block of cases through the engine and into the store."""

from __future__ import annotations

import json
import math
import os
import time
from collections.abc import Callable, Iterable
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StoreError, StudyError
from toolkit.execution.claim import claimed
from toolkit.execution.cluster import connected, map_on_cluster, threads_of
from toolkit.execution.distinct import Columns, Known, evaluate_distinct
from toolkit.execution.integrity import BLOCKS_AGAIN, UNREADABLE, cut_short, first_line
from toolkit.execution.layout import Model, current_model, default_store
from toolkit.execution.mapping import check_options, is_address, map_blocks
from toolkit.execution.progress import progress_bar
from toolkit.execution.rates import BlockTime, record_rate
from toolkit.execution.results import load_what_opens_results, open_results
from toolkit.execution.reuse import Earlier, open_earlier
from toolkit.execution.store import Store, open_group, prepare_store, write_block, writing
from toolkit.execution.worker import ready
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr
    from distributed import Client

    from toolkit.study import Study

__all__ = ["BlockReport", "run_study", "run_with"]

GOLDEN = 0.6180339887498949
"""Part of the golden section: its multiples fill the unit interval evenly, however many are taken."""

COUNTED_AT_ONCE = 10**7
"""Cases whose outcomes are counted at a time, about."""

CODES = 128
"""Codes that the type of ``outcome`` can hold."""


class BlockReport(NamedTuple):
    """What a task tells about the block it has done."""

    block: int
    cases: int
    known: int
    time: BlockTime


def run_study(
    study: Study | str | os.PathLike[str],
    store: str | os.PathLike[str] | None = None,
    *,
    workers: int | None = None,
    scheduler: str = "threads",
    progress: bool = True,
    fresh: bool = False,
    reuse: str | os.PathLike[str] | None = None,
    verify: bool = False,
) -> xr.Dataset:
    """Run every case of a study that has not been run yet, and open the results.

    Parameters
    ----------
    study : Study or path
        What to run; the path of a study file is read first.
    store : path, optional
        Folder of the Zarr store; ``results/<name of the study file>.zarr``
        unless given. If it holds part of this study already, the run goes on
        from there.
    workers : int, optional
        Blocks that run side by side on this machine; the number of processors
        unless given.
    scheduler : str
        ``threads``; ``processes`` (a script must then guard its main part with
        ``if __name__ == "__main__"``); ``serial``, the reference, to which all
        others are equal bit for bit; or a dask scheduler, by its address, such
        as ``tcp://host:8786``, or by the file that it wrote
        (``NAME.json``). Its workers need this version of the package, and to
        see the folder of the store under the same name.
    progress : bool
        Whether to show a bar with cases done and time to go.
    fresh : bool
        Whether to throw away results that are there.
    reuse : path, optional
        Another store, of the same model and step, that holds some cases of
        this study: a grid with fewer values or axes, a shorter Sobol'
        sequence. These are taken over instead of being run; it is only read.
    verify : bool
        Whether to read all blocks that are done first, and to run those again
        that cannot be read.

    Returns
    -------
    xarray.Dataset
        As `open_results` gives it.

    Raises
    ------
    StoreError
        If the store cannot be written, belongs to another study or model, is
        being written by another run, or vanishes while it is written; if
        `reuse` can have no case in common with the study; if no worker comes
        to a dask scheduler, or all go.
    StudyError
        If `workers` or `scheduler` makes no sense, or a study file does not.

    Notes
    -----
    A run that is stopped loses the blocks then in work and nothing else: the
    same call goes on from there. Ctrl-C lets the blocks in work on this
    machine come to their end first; a second one leaves them.
    """
    study = _as_study(study)
    try:
        path = default_store(study) if store is None else Path(store)
    except TypeError:
        raise StoreError(f"{store!r} is not the path of a store. Give the name of a folder.") from None
    return run_with(
        current_model(), study, path, workers=workers, scheduler=scheduler, progress=progress, fresh=fresh,
        reuse=reuse, verify=verify,
    )  # fmt: skip


def _as_study(study: object) -> Study:
    from toolkit.study import Study, load_study

    if isinstance(study, Study):
        return study
    if isinstance(study, str | os.PathLike):
        return load_study(study)
    raise StudyError(
        [
            Problem(
                where="run",
                what=f"a {type(study).__name__} is not a study",
                remedy="Give what `load_study` returns, or the path of a study file",
            )
        ]
    )


def run_with(
    model: Model,
    study: Study,
    path: Path,
    *,
    workers: int | None = None,
    scheduler: str = "threads",
    progress: bool = False,
    fresh: bool = False,
    reuse: str | os.PathLike[str] | None = None,
    verify: bool = False,
) -> xr.Dataset:
    """`run_study` with a model of the caller's own."""
    check_options(workers, scheduler)
    earlier = None if reuse is None else open_earlier(reuse, study, model, path)
    with ExitStack() as held:
        with writing(path):
            claim = held.enter_context(claimed(path))
        client = held.enter_context(connected(scheduler)) if is_address(scheduler) else None
        store = prepare_store(path, study, model, fresh=fresh, claim=claim)
        if verify:
            store.unmark(store.unreadable())
        pending = store.pending()
        if len(pending):
            way = _way_to_run(scheduler, workers, len(pending), client)
            if earlier is not None:
                store.note(f"cases that study {earlier.study.hash()} in {earlier.store.path.name} holds are taken over")
            task = partial(run_block if way.in_this_process else run_block_elsewhere, model, study, store, earlier)
            with progress_bar(study.size, store.cases_done(pending), way.side_by_side, progress) as advance:
                reports = _run_blocks(partial(way.do_all, task), store, pending, advance, way.side_by_side)
            if earlier is not None:
                store.note(f"{sum(report.known for report in reports)} cases were taken over")
            if client is None:
                record_rate([report.time for report in reports], workers=way.side_by_side, model_hash=model.hash)
        _count_outcomes(path, again=bool(len(pending)))
    return open_results(path)


class _Way(NamedTuple):
    """A way of doing a task for every block."""

    do_all: Callable[..., None]
    side_by_side: int
    in_this_process: bool


def _way_to_run(scheduler: str, workers: int | None, count: int, client: Client | None) -> _Way:
    """How `count` blocks are run."""
    if client is not None:
        return _Way(partial(map_on_cluster, client=client), max(1, threads_of(client)), False)
    side_by_side = 1 if scheduler == "serial" else min(workers or os.cpu_count() or 1, count)
    do_all = partial(map_blocks, workers=side_by_side, scheduler=scheduler)
    return _Way(do_all, side_by_side, scheduler != "processes")


def _run_blocks(
    do_all: Callable[[Iterable[int], Callable[[BlockReport], None]], None],
    store: Store,
    pending: NDArray[np.int64],
    advance: Callable[[int], Any],
    side_by_side: int,
) -> list[BlockReport]:
    """Run the blocks that are not done; what each of them told."""
    reports: list[BlockReport] = []

    def finished(report: BlockReport) -> None:
        reports.append(report)
        advance(report.cases)
        if 0 < len(pending) - len(reports) < side_by_side:  # a processor has nothing left to do
            load_what_opens_results()

    try:
        do_all(evenly(pending), finished)
    except KeyboardInterrupt as stop:
        left = len(store.pending())
        stop.add_note(f"{store.path}: {store.blocks.count - left} of {store.blocks.count} blocks are done; "
                      "the same command goes on from there")  # fmt: skip
        raise
    return reports


def evenly(blocks: NDArray[np.int64]) -> list[int]:
    """Blocks in an order in which those done at any time are spread evenly over all.

    The time to go is then told from a fair sample of what is to come, and the
    results of a run that was stopped cover the whole study.
    """
    return [int(block) for block in blocks[np.argsort(np.arange(len(blocks)) * GOLDEN % 1.0)]]


def run_block(model: Model, study: Study, store: Store, earlier: Earlier | None, block: int) -> BlockReport:
    """Run one block: its cases, its variables, its mark."""
    cases = store.blocks.flat_indices(block)
    columns = study.columns(cases)
    known: Known | None = None
    if earlier is not None:

        def known(distinct: Columns, first: NDArray[np.int64]) -> tuple[NDArray[np.bool_], Columns]:
            return earlier.find(distinct, cases[first])

    begun, clock = time.time(), time.perf_counter()
    found = evaluate_distinct(columns, model.within(study.setting), known, whole=bool(study.legs))
    seconds = time.perf_counter() - clock
    write_block(store, block, found.results)
    return BlockReport(block, len(cases), found.known, BlockTime(begun, seconds, found.run, found.simulated))


def run_block_elsewhere(model: Model, study: Study, store: Store, earlier: Earlier | None, block: int) -> BlockReport:
    """`run_block` in a process of its own, perhaps on another machine, which is made ready at its first block."""
    ready(model, store)
    if store.is_done(block):  # by a worker that went before it could tell
        return BlockReport(block, math.prod(store.blocks.block_shape(block)), 0, BlockTime(time.time(), 0.0, 0, 0.0))
    return run_block(model, study, store, earlier, block)


def _is_counted(noted: object) -> bool:
    """Whether what a store notes of how its cases ended is counts by outcome; it may be damaged."""
    try:
        counts = json.loads(noted) if isinstance(noted, str) else None
    except ValueError:
        return False
    return isinstance(counts, dict) and all(
        name in Outcome.__members__ and type(count) is int for name, count in counts.items()
    )


def _count_outcomes(path: Path, *, again: bool) -> None:
    """Note how many cases ended in which way, as an attribute of the store, if that is not there or is to be anew."""
    with writing(path):
        group = open_group(path, mode="r+")
        if not again and _is_counted(group.attrs.get("outcome_counts")):
            return
        counts = np.zeros(CODES, dtype=np.int64)
        try:
            codes = group["outcome"]
            step = max(1, COUNTED_AT_ONCE // max(1, codes.size // max(1, codes.shape[0]))) if codes.ndim else 1
            for start in range(0, codes.shape[0] if codes.ndim else 1, step):
                part = codes[start : start + step] if codes.ndim else codes[...]
                counts += np.bincount(np.asarray(part).reshape(-1), minlength=CODES)
        except UNREADABLE as error:
            raise cut_short(path, f"outcome: {first_line(error)}", BLOCKS_AGAIN) from None
        named = {Outcome(code).name: int(counts[code]) for code in np.flatnonzero(counts).tolist()}
        group.attrs.update({"outcome_counts": json.dumps(named)})
