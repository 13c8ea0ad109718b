"""The Zarr store of a run: one block of cases, one writer, one mark when it is done.

Every data variable is cut into the same blocks, and a block belongs to one
task. The task writes the variables of its block and then, last, the block's
entry in ``block_done``; what has no mark is run again.
"""

from __future__ import annotations

import contextlib
import errno
import math
import uuid
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import StoreError
from toolkit.execution.attributes import RESULT_NAMES, SCHEMA, SCHEMA_VERSION, result_type
from toolkit.execution.blocks import Blocks
from toolkit.execution.claim import Claim
from toolkit.execution.creation import BLOCK_DONE, create_store, remove_remains
from toolkit.execution.differences import differences
from toolkit.execution.distinct import Columns
from toolkit.execution.integrity import BLOCKS_AGAIN, UNREADABLE, check_study, cut_short, first_line
from toolkit.execution.layout import Model, global_attributes, limits_text
from toolkit.execution.mending import mark_of, unfinished
from toolkit.execution.provenance import DISTRIBUTION, commit, timestamp, version
from toolkit.execution.together import open_arrays, write_arrays

if TYPE_CHECKING:
    from zarr import AsyncArray

    from toolkit.study import Study

__all__ = ["Store", "open_group", "prepare_store", "read_block", "write_block", "writing"]

KEPT = "blocks that are done stay done, and the same command goes on from there"
"""What is not lost where a run cannot go on."""


@dataclass(frozen=True, kw_only=True)
class Store:
    """A store that is ready to take the blocks of one study.

    Attributes
    ----------
    path : Path
        Folder of the store.
    blocks : Blocks
        How its cases are cut up.
    token : str
        Differs for every opening, so that no worker keeps arrays of an older
        store of the same name.
    claim : Claim or None
        The claim of the run that may write it; none where nobody else can.
    """

    path: Path
    blocks: Blocks
    token: str
    claim: Claim | None = None

    def pending(self) -> NDArray[np.int64]:
        """Blocks that bear no mark, in order."""
        return np.flatnonzero(self.marks() == 0).astype(np.int64)

    def marks(self) -> NDArray[np.uint8]:
        """Mark of every block, as `toolkit.execution.mending.mark_of` makes it; 0 where it is not done."""
        try:
            return np.asarray(_arrays(self.path, self.token)[BLOCK_DONE][:])
        except UNREADABLE as error:
            raise cut_short(self.path, f"{BLOCK_DONE}: {first_line(error)}") from None

    def is_done(self, block: int) -> bool:
        """Whether a block bears a mark."""
        return bool(_arrays(self.path, self.token)[BLOCK_DONE][block])

    def done(self) -> NDArray[np.int64]:
        """Blocks that bear a mark, in order."""
        return np.setdiff1d(np.arange(self.blocks.count), self.pending())

    def cases_done(self, pending: NDArray[np.int64]) -> int:
        """Cases in all blocks but the pending ones."""
        left = (math.prod(self.blocks.block_shape(block)) for block in pending.tolist())
        return math.prod(self.blocks.shape) - sum(left)

    def unreadable(self) -> list[int]:
        """Blocks that bear a mark, of which something cannot be read."""
        found = []
        for block in self.done().tolist():
            try:
                read_block(self, block)
            except StoreError:
                found.append(block)
        return found

    def unmark(self, blocks: Iterable[int]) -> None:
        """Take the mark off some blocks, so that they are run again."""
        with writing(self.path):
            for block in blocks:
                _arrays(self.path, self.token)[BLOCK_DONE][block : block + 1] = np.zeros(1, dtype=np.uint8)

    def note(self, line: str) -> None:
        """Add a line, with the time and our version, to the store's ``history`` attribute."""
        maker = f"{DISTRIBUTION} {version()}, commit {commit()}"
        with writing(self.path):
            group = open_group(self.path, mode="r+")
            group.attrs.update({"history": f"{group.attrs['history']}\n{timestamp()}: {line}, by {maker}"})

    def refuse_if_lost(self) -> None:
        """Refuse to write where the store is no longer there, or no longer this run's.

        Raises
        ------
        StoreError
            Before anything is written.
        """
        if not (self.path / "zarr.json").exists():
            raise StoreError(
                f"{self.path}: the store is not there any more: it was moved, renamed or deleted while a run was "
                "writing into it. Put it back, or leave it away, and run the study again; blocks that are done stay "
                "done where the store is."
            )
        if self.claim is not None and not self.claim.holds():
            raise StoreError(
                f"{self.path}: the run that this block belongs to no longer holds the store, so it is not written. "
                "Run the study again; blocks that are done stay done."
            )


def prepare_store(path: Path, study: Study, model: Model, *, fresh: bool = False, claim: Claim | None = None) -> Store:
    """Create the store of a study, or open the one that is there to go on with it.

    Parameters
    ----------
    path : Path
        Folder of the store.
    study : Study
        What is to be run.
    model : Model
        What it is to be run with.
    fresh : bool
        Whether to throw away a store that is there.
    claim : Claim, optional
        That this run holds on `path`.

    Returns
    -------
    Store
        Ready for `write_block`.

    Raises
    ------
    StoreError
        If the folder cannot be written, holds something else, or holds a
        store of another study, model or layout; the message names what differs.
    """
    if path.exists() and not _is_empty_folder(path):
        group = open_group(path, mode="r", remedy="Give another store")
        if not fresh:
            _refuse_another(path, group, study, model)
            store = _opened(path, claim)
            _go_on(store, group, study)
            return store
    with writing(path, kept=""):
        create_store(path, study, model)
        if claim is not None:
            remove_remains(path)
    return _opened(path, claim)


def _refuse_another(path: Path, group: Any, study: Study, model: Model) -> None:
    """Refuse a store that does not hold the same study and model."""
    if group.attrs.get("schema_version") == SCHEMA_VERSION:  # of another layout nothing is known
        check_study(path, group.attrs)
    found = differences(dict(group.attrs), global_attributes(study, model))
    if found:
        lines = "\n".join(f"  - {line}" for line in found)
        raise StoreError(
            f"{path}: the store holds another study, and a run into it would mix the two:\n{lines}\n"
            "Give another store with --store, and take over the cases that both hold with --reuse; or throw the "
            "results that are there away with --fresh (in Python: store=..., reuse=..., fresh=True)."
        )


def _go_on(store: Store, group: Any, study: Study) -> None:
    """Bring a store up to date, and say what is to be run in it."""
    words = {"title": study.title, "limits": limits_text(study)}
    if any(group.attrs.get(key) != text for key, text in words.items()):
        with writing(store.path):
            open_group(store.path, mode="r+").attrs.update(words)
    if store.claim is not None:
        with writing(store.path):
            remove_remains(store.path)
            hollow, files = unfinished(store.path, store.blocks)
            store.unmark(hollow)
            store.unmark(np.flatnonzero(files < store.marks().astype(np.int64) - 1).tolist())
    pending = len(store.pending())
    if pending:
        store.note(f"{pending} of {store.blocks.count} blocks to run")


def _opened(path: Path, claim: Claim | None) -> Store:
    path, token = path.absolute(), uuid.uuid4().hex  # workers may stand in another folder
    outcome = _arrays(path, token)["outcome"]
    return Store(path=path, blocks=Blocks(shape=outcome.shape, chunks=outcome.chunks), token=token, claim=claim)


def write_block(store: Store, block: int, results: Columns) -> None:
    """Write the outcomes of one block, and then its mark.

    Parameters
    ----------
    store : Store
        As `prepare_store` gave it.
    block : int
        Number of the block.
    results : dict of ndarray
        Shape (n_case,) for every name of `RESULT_NAMES`, the cases in C order.

    Raises
    ------
    StoreError
        If the disk refuses, or the store is no longer there or this run's.
    """
    store.refuse_if_lost()
    region = store.blocks.slices(block)
    shape = store.blocks.block_shape(block)
    with writing(store.path):
        arrays = _arrays_to_write(store.path, store.token)
        values = {name: results[name].astype(result_type(name)).reshape(shape) for name in RESULT_NAMES}
        write_arrays(arrays, region, values)
        write_arrays(arrays, (slice(block, block + 1),), {BLOCK_DONE: mark_of(values)})


def read_block(store: Store, block: int) -> Columns:
    """Outcomes of one block, the cases in C order.

    Raises
    ------
    StoreError
        If one of its variables cannot be read.
    """
    region = store.blocks.slices(block)
    arrays, found = _arrays(store.path, store.token), {}
    for name in RESULT_NAMES:
        try:
            found[name] = np.asarray(arrays[name][region]).reshape(-1)
        except UNREADABLE as error:
            raise cut_short(store.path, f"{name}: {first_line(error)}", BLOCKS_AGAIN) from None
    return found


@lru_cache(maxsize=4)
def _arrays(path: Path, token: str) -> dict[str, Any]:
    """Open arrays of a store, once for each worker process and run."""
    group = open_group(path, mode="r+")
    try:
        return {name: group[name] for name in (*RESULT_NAMES, BLOCK_DONE)}
    except UNREADABLE as error:
        raise cut_short(path, first_line(error)) from None


@lru_cache(maxsize=4)
def _arrays_to_write(path: Path, token: str) -> dict[str, AsyncArray[Any]]:
    """The same, for writing many of them side by side."""
    return open_arrays(path, (*RESULT_NAMES, BLOCK_DONE))


def open_group(path: Path, *, mode: str, remedy: str = "") -> Any:
    """Open the Zarr group of one of our stores.

    Raises
    ------
    StoreError
        If there is nothing, something else, or a store of another layout's making.
    """
    import zarr

    advice = remedy or "Give the folder that `towage run` wrote"
    if not path.exists():
        raise StoreError(f"{path}: no such store. {advice}.")
    if not path.is_dir():
        raise StoreError(f"{path}: a store is a folder, and this is a file. {advice}.")
    if not (path / "zarr.json").exists():
        raise StoreError(f"{path}: not a store, or one that has lost its zarr.json. {advice}.")
    try:
        group = zarr.open_group(path, mode=mode, use_consolidated=False)  # type: ignore[arg-type]
        schema = group.attrs.get("schema")
    except UNREADABLE as error:
        raise cut_short(path, first_line(error)) from None
    if schema != SCHEMA:
        raise StoreError(f"{path}: a Zarr store that this package did not make. {advice}.")
    return group


def _is_empty_folder(path: Path) -> bool:
    return path.is_dir() and not any(path.iterdir())


@contextlib.contextmanager
def writing(path: Path, kept: str = KEPT) -> Iterator[None]:
    """Turn the disk's refusals into a `StoreError` that says what to do, and what is `kept`."""
    try:
        yield
    except OSError as error:
        reason = error.strerror or first_line(error)
        full = error.errno in (errno.ENOSPC, errno.EDQUOT)
        remedy = "Make room there, or give another folder" if full else "Give a folder that you may write to"
        raise StoreError(f"{path}: cannot be written ({reason}). {remedy}{f'; {kept}' if kept else ''}.") from error
