"""What a machine that went down may leave in a store, and finding the blocks that must be run again for it."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.blocks import Blocks
from toolkit.execution.creation import BLOCK_DONE

__all__ = ["lost", "mark_of", "unfinished"]

UNFINISHED = ".partial"
"""How the names of files end that Zarr is writing; it renames them when they are whole."""


def mark_of(values: Mapping[str, NDArray[Any]]) -> NDArray[np.uint8]:
    """Mark of a block that is done: one more than the variables that have a file in it.

    Zarr writes no file for a variable that holds nothing but its fill value (NaN, or 0) in a block, so a file that
    was lost later would read as a measure that does not apply; by its count it is missed.
    """
    empty = (np.isnan(each).all() if each.dtype.kind == "f" else not each.any() for each in values.values())
    return np.array([1 + sum(not each for each in empty)], dtype=np.uint8)


def unfinished(path: Path, blocks: Blocks) -> tuple[list[int], NDArray[np.int64]]:
    """Remove files that were never finished, find blocks with a file that is empty, and count the files of each.

    A process that is killed leaves the first. A machine that loses its power
    may leave the second: names are on the disk before what belongs into the
    files, and a whole file of a block is never empty.

    Parameters
    ----------
    path : Path
        Folder of a store that nobody writes.
    blocks : Blocks
        How its cases are cut up.

    Returns
    -------
    hollow : list of int
        Blocks with an empty file, which are to be run again, in order.
    files : ndarray of int, shape (blocks,)
        Files of outcomes of each block; see :func:`mark_of`.
    """
    for place in path.glob(f"zarr.*{UNFINISHED}"):
        place.unlink(missing_ok=True)
    hollow: set[int] = set()
    there = np.zeros(blocks.count, dtype=np.int64)
    for name, block, place in _files(path, blocks):
        if block is None:
            place.unlink(missing_ok=True)
            continue
        there[block] += name != BLOCK_DONE
        if not place.stat().st_size:
            hollow.add(block)
    return sorted(hollow), there


def lost(path: Path, blocks: Blocks, marks: NDArray[np.uint8]) -> int:
    """Number of blocks that are marked as done and have lost a file; nothing is changed.

    Parameters
    ----------
    path : Path
        Folder of a store, which a run may be writing.
    blocks : Blocks
        How its cases are cut up.
    marks : ndarray of int, shape (blocks,)
        Read before this is called, see :func:`mark_of`.
    """
    there = np.zeros(blocks.count, dtype=np.int64)
    for name, block, _ in _files(path, blocks):
        if block is not None and name != BLOCK_DONE:
            there[block] += 1
    return int(np.count_nonzero(there < marks.astype(np.int64) - 1))


def _files(path: Path, blocks: Blocks) -> Iterator[tuple[str, int | None, Path]]:
    """Files of blocks with variable and block, and, without a block, those that Zarr never finished."""
    for name in (*RESULT_NAMES, BLOCK_DONE):
        top = path / name
        for folder, _, files in os.walk(top):
            for file in files:
                place = Path(folder, file)
                if file.endswith(UNFINISHED):
                    yield name, None, place
                elif file != "zarr.json":
                    block = _block(place.relative_to(top).parts[1:], blocks, name)
                    if block is not None:
                        yield name, block, place


def _block(key: tuple[str, ...], blocks: Blocks, name: str) -> int | None:
    """Number of the block that a file belongs to, by its place below ``c``; None for a file that is none of ours."""
    try:
        places = [int(part) for part in key]
        if name == BLOCK_DONE:
            return places[0] if len(places) == 1 and 0 <= places[0] < blocks.count else None
        return int(np.ravel_multi_index(places, blocks.grid)) if places else 0
    except ValueError:
        return None
