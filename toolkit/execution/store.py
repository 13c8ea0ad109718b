"""The Zarr store of a run: one block of cases, one writer, one mark when it is done.

Every data variable is cut into the same blocks, and a block belongs to one
task. The task writes the variables of its block and then, last, the block's
entry in ``block_done``; what has no mark is run again. A store is built under
another name and renamed, so that it is there whole or not at all.
"""

from __future__ import annotations

import contextlib
import shutil
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import StoreError
from toolkit.execution.attributes import (
    RESULT_NAMES,
    SCHEMA,
    SCHEMA_VERSION,
    quantity_attributes,
    result_attributes,
    result_type,
)
from toolkit.execution.blocks import Blocks, choose_chunks
from toolkit.execution.differences import differences
from toolkit.execution.distinct import Columns
from toolkit.execution.integrity import UNREADABLE, check_study, cut_short, first_line
from toolkit.execution.layout import Model, axes_to_fill_first, axis_columns, fixed_inputs, global_attributes
from toolkit.execution.provenance import DISTRIBUTION, commit, timestamp, version
from toolkit.quantities import INPUTS

if TYPE_CHECKING:
    from toolkit.study import Study

__all__ = ["BLOCK_DONE", "Store", "open_group", "prepare_store", "write_block", "writing"]

BLOCK_DONE = "block_done"
"""Name of the array of marks, one byte a block."""


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
    """

    path: Path
    blocks: Blocks
    token: str

    def pending(self) -> NDArray[np.int64]:
        """Blocks that bear no mark, in order."""
        marks = _arrays(self.path, self.token)[BLOCK_DONE]
        try:
            return np.flatnonzero(marks[:] == 0).astype(np.int64)
        except UNREADABLE as error:
            raise cut_short(self.path, f"{BLOCK_DONE}: {first_line(error)}") from None

    def note(self, line: str) -> None:
        """Add a line to the store's ``history`` attribute."""
        with writing(self.path):
            group = open_group(self.path, mode="r+")
            group.attrs.update({"history": f"{group.attrs['history']}\n{line}"})


def prepare_store(path: Path, study: Study, model: Model, *, fresh: bool = False) -> Store:
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
            return _continue(path, group, study, model)
    with writing(path):
        _create(path, study, model)
    return _opened(path)


def _continue(path: Path, group: Any, study: Study, model: Model) -> Store:
    """Open a store to go on, once it is certain that it holds the same study and model."""
    wanted = global_attributes(study, model)
    if group.attrs.get("schema_version") == SCHEMA_VERSION:  # of another layout nothing is known
        check_study(path, group.attrs)
    found = differences(dict(group.attrs), wanted)
    if found:
        lines = "\n".join(f"  - {line}" for line in found)
        raise StoreError(
            f"{path}: the store holds another study, and a run into it would mix the two:\n{lines}\n"
            "Give another store with --store, or throw the results that are there away with --fresh "
            "(in Python: store=..., fresh=True)."
        )
    with writing(path):
        open_group(path, mode="r+").attrs.update({key: wanted[key] for key in ("title", "limits")})
    store = _opened(path)
    pending = len(store.pending())
    if pending:
        maker = f"{DISTRIBUTION} {version()}, commit {commit()}"
        store.note(f"{timestamp()}: {pending} of {store.blocks.count} blocks to run, by {maker}")
    return store


def _opened(path: Path) -> Store:
    path, token = path.absolute(), uuid.uuid4().hex  # workers may stand in another folder
    outcome = _arrays(path, token)["outcome"]
    return Store(path=path, blocks=Blocks(shape=outcome.shape, chunks=outcome.chunks), token=token)


def _create(path: Path, study: Study, model: Model) -> None:
    """Build a store beside its place and move it there."""
    path.parent.mkdir(parents=True, exist_ok=True)
    building = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.partial")
    try:
        _build(building, study, model)
        if path.exists():
            old = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.old")
            path.rename(old)
            building.rename(path)
            shutil.rmtree(old, ignore_errors=True)
        else:
            building.rename(path)
    finally:
        shutil.rmtree(building, ignore_errors=True)


def _build(path: Path, study: Study, model: Model) -> None:
    import zarr
    from zarr.codecs import ZstdCodec

    group = zarr.create_group(path, zarr_format=3)
    coordinates: list[str] = []
    for name, (dims, values) in axis_columns(study).items():
        attributes = quantity_attributes(INPUTS[name]) if name in INPUTS else {"long_name": "number of the case"}
        _put(group, name, dims, values, attributes)
        if dims != (name,):
            coordinates.append(name)
    for name, value in fixed_inputs(study).items():
        _put(group, name, (), np.asarray(value), quantity_attributes(INPUTS[name]))
        coordinates.append(name)

    chunks = choose_chunks(study.shape, study.run.cases_per_chunk, axes_to_fill_first(study))
    for name in RESULT_NAMES:
        dtype = result_type(name)
        group.create_array(
            name,
            shape=study.shape,
            chunks=chunks,
            dtype=dtype,
            fill_value=np.nan if dtype.kind == "f" else 0,
            compressors=ZstdCodec(level=3),
            dimension_names=list(study.dims),
            attributes=_plain(result_attributes(name)),
        )
    count = Blocks(shape=study.shape, chunks=chunks).count
    group.create_array(
        BLOCK_DONE,
        shape=(count,),
        chunks=(1,),
        dtype=np.uint8,
        fill_value=0,
        compressors=None,
        dimension_names=["block"],
        attributes={"long_name": "mark that all variables of a block are written"},
    )
    group.attrs.update({**global_attributes(study, model), "coordinates": " ".join(coordinates)})


def _put(group: Any, name: str, dims: tuple[str, ...], values: NDArray[Any], attributes: dict[str, Any]) -> None:
    """Write one coordinate whole; words as text of any length, the one string type that Zarr 3 specifies."""
    words = values.dtype.kind not in "fiu"
    data = values.astype(np.dtypes.StringDType()) if words else values
    array = group.create_array(
        name,
        shape=data.shape,
        chunks=data.shape,
        dtype=data.dtype,
        fill_value=np.nan if data.dtype.kind == "f" else "" if words else 0,
        dimension_names=list(dims),
        attributes=_plain(attributes),
        # a coordinate of zeros alone must not look like one that was never written
        config={"write_empty_chunks": True},
    )
    array[...] = data


def _plain(attributes: dict[str, Any]) -> dict[str, Any]:
    return {key: value.tolist() if isinstance(value, np.ndarray) else value for key, value in attributes.items()}


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
        If the disk refuses.
    """
    region = store.blocks.slices(block)
    shape = store.blocks.block_shape(block)
    with writing(store.path):
        arrays = _arrays(store.path, store.token)
        for name in RESULT_NAMES:
            arrays[name][region] = results[name].astype(result_type(name)).reshape(shape)
        arrays[BLOCK_DONE][block : block + 1] = np.ones(1, dtype=np.uint8)


@lru_cache(maxsize=4)
def _arrays(path: Path, token: str) -> dict[str, Any]:
    """Open arrays of a store, once for each worker process and run."""
    group = open_group(path, mode="r+")
    try:
        return {name: group[name] for name in (*RESULT_NAMES, BLOCK_DONE)}
    except UNREADABLE as error:
        raise cut_short(path, first_line(error)) from None


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
def writing(path: Path, kept: str = "blocks that are done stay done") -> Iterator[None]:
    """Turn the disk's refusals into a `StoreError` that says what to do, and what is `kept`."""
    try:
        yield
    except OSError as error:
        reason = error.strerror or first_line(error)
        remedy = "Give a folder that you may write to and that has room left"
        raise StoreError(f"{path}: cannot be written ({reason}). {remedy}{f'; {kept}' if kept else ''}.") from error
