"""Running a study: every block of cases through the engine and into the store."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from toolkit.errors import Problem, StoreError, StudyError
from toolkit.execution.distinct import evaluate_distinct
from toolkit.execution.integrity import UNREADABLE, cut_short, first_line
from toolkit.execution.layout import Model, current_model, default_store
from toolkit.execution.rates import BlockTime, record_rate
from toolkit.execution.results import open_results
from toolkit.execution.store import Store, open_group, prepare_store, write_block, writing
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.study import Study

__all__ = ["SCHEDULERS", "BlockReport", "check_options", "map_blocks", "run_study", "run_with"]

SCHEDULERS = ("serial", "threads", "processes")
"""Ways of running on one machine; any other text is the address of a dask scheduler."""


class BlockReport(NamedTuple):
    """What a task tells about the block it has done."""

    block: int
    cases: int
    time: BlockTime


def run_study(
    study: Study | str | os.PathLike[str],
    store: str | os.PathLike[str] | None = None,
    *,
    workers: int | None = None,
    scheduler: str = "threads",
    progress: bool = True,
    fresh: bool = False,
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
        Blocks that run side by side; the number of processors unless given.
    scheduler : str
        ``threads``; ``processes`` (a script must then guard its main part with
        ``if __name__ == "__main__"``); ``serial``, the reference, to which all
        others are equal bit for bit; or the address of a dask scheduler, such
        as ``tcp://host:8786``, whose workers see the same folder.
    progress : bool
        Whether to show a bar with cases done and time to go.
    fresh : bool
        Whether to throw away results that are there.

    Returns
    -------
    xarray.Dataset
        As `open_results` gives it.

    Raises
    ------
    StoreError
        If the store cannot be written, or belongs to another study or model.
    StudyError
        If `workers` or `scheduler` makes no sense, or a study file does not.

    Notes
    -----
    A run that is stopped, by Ctrl-C or otherwise, loses the blocks then in
    work and nothing else: the same call goes on from there.
    """
    study = _as_study(study)
    try:
        path = default_store(study) if store is None else Path(store)
    except TypeError:
        raise StoreError(f"{store!r} is not the path of a store. Give the name of a folder.") from None
    return run_with(current_model(), study, path, workers=workers, scheduler=scheduler, progress=progress, fresh=fresh)


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
) -> xr.Dataset:
    """`run_study` with a model of the caller's own."""
    check_options(workers, scheduler)
    store = prepare_store(path, study, model, fresh=fresh)
    pending = [int(block) for block in store.pending()]
    if pending:
        done = study.size - sum(int(np.prod(store.blocks.block_shape(block))) for block in pending)
        side_by_side = 1 if scheduler == "serial" else min(workers or os.cpu_count() or 1, len(pending))
        reports: list[BlockReport] = []
        with _bar(study.size, done, progress) as advance:

            def finished(report: BlockReport) -> None:
                reports.append(report)
                advance(report.cases)

            task = partial(run_block, model, study, store)
            try:
                map_blocks(task, pending, finished, workers=side_by_side, scheduler=scheduler)
            except KeyboardInterrupt as stop:
                left = len(store.pending())
                stop.add_note(f"{path}: {store.blocks.count - left} of {store.blocks.count} blocks are done; "
                              "the same command goes on from there")  # fmt: skip
                raise
        record_rate([report.time for report in reports], workers=side_by_side, model_hash=model.hash)
        _count_outcomes(path)
    return open_results(path)


def run_block(model: Model, study: Study, store: Store, block: int) -> BlockReport:
    """Run one block: its cases, its variables, its mark."""
    columns = study.columns(store.blocks.flat_indices(block))
    begun, clock = time.time(), time.perf_counter()
    results, distinct, simulated = evaluate_distinct(columns, model.evaluate)
    seconds = time.perf_counter() - clock
    write_block(store, block, results)
    return BlockReport(block, len(results["outcome"]), BlockTime(begun, seconds, distinct, simulated))


def map_blocks(
    task: Callable[[int], Any],
    blocks: Sequence[int],
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
    blocks : sequence of int
        Numbers of the blocks.
    finished : callable
        Called in this process with what the task returned, in any order.
    workers : int
        Tasks side by side.
    scheduler : str
        As for `run_study`.
    """
    if scheduler == "serial":
        for block in blocks:
            finished(task(block))
        return
    if scheduler not in SCHEDULERS:
        _map_on_cluster(task, blocks, finished, scheduler)
        return
    import dask
    from dask.callbacks import Callback

    class Report(Callback):
        def _posttask(self, key: Any, result: Any, dsk: Any, state: Any, worker_id: Any) -> None:
            if key in keys:
                finished(result)

    call = dask.delayed(task, pure=False, traverse=False)
    tasks = [call(block) for block in blocks]
    keys = {one.key for one in tasks}
    with Report():  # type: ignore[no-untyped-call]
        dask.compute(*tasks, scheduler=scheduler, num_workers=workers, optimize_graph=False)


def _map_on_cluster(
    task: Callable[[int], Any], blocks: Sequence[int], finished: Callable[[Any], None], address: str
) -> None:
    try:
        from dask.distributed import Client, as_completed

        client = Client(address, timeout="15s", set_as_default=False)
    except (ImportError, OSError, ValueError) as error:
        raise StudyError(
            [
                Problem(
                    where="run options",
                    what=f"scheduler = {address!r} cannot be reached",
                    why=first_line(error),
                    remedy="Start a dask scheduler there and install the extra 'cluster', or write 'threads'",
                )
            ]
        ) from None
    with client:
        futures = client.map(task, list(blocks), pure=False)
        for future in as_completed(futures, loop=client.loop):
            finished(future.result())


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
    if scheduler not in SCHEDULERS and not (isinstance(scheduler, str) and "://" in scheduler):
        problems.append(
            Problem(
                where="run options",
                what=f"scheduler = {scheduler!r} is not one of {', '.join(SCHEDULERS)}, nor an address",
                remedy="Write 'threads', or an address such as 'tcp://host:8786'",
            )
        )
    if problems:
        raise StudyError(problems)


@contextmanager
def _bar(total: int, done: int, shown: bool) -> Iterator[Callable[[int], Any]]:
    """Bar over all cases of a study, those done before included."""
    if not shown:
        yield lambda cases: None
        return
    import sys

    from tqdm import tqdm

    often = 0.2 if sys.stderr.isatty() else 10.0
    with tqdm(total=total, initial=done, unit=" cases", mininterval=often, dynamic_ncols=True) as bar:
        yield bar.update


def _count_outcomes(path: Path) -> None:
    """Note how many cases ended in which way, as an attribute of the store."""
    with writing(path):
        group = open_group(path, mode="r+")
        try:
            codes, counts = np.unique(group["outcome"][...], return_counts=True)
        except UNREADABLE as error:
            raise cut_short(path, f"outcome: {first_line(error)}") from None
        named = {Outcome(int(code)).name: int(count) for code, count in zip(codes, counts, strict=True)}
        group.attrs.update({"outcome_counts": json.dumps(named)})
