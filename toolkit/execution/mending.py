"""What a machine that went down may leave in a store, and finding the blocks that must be run again for it."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np

from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.blocks import Blocks
from toolkit.execution.creation import BLOCK_DONE

__all__ = ["unfinished"]

UNFINISHED = ".partial"
"""How the names of files end that Zarr is writing; it renames them when they are whole."""


def unfinished(path: Path, blocks: Blocks) -> list[int]:
    """Remove files that were never finished, and find blocks with a file that is empty.

    A process that is killed leaves the former. A machine that loses its power
    may leave the latter: names are on the disk before what belongs into the
    files, and a whole file of a block is never empty.

    Parameters
    ----------
    path : Path
        Folder of a store that nobody writes.
    blocks : Blocks
        How its cases are cut up.

    Returns
    -------
    list of int
        Blocks that are to be run again, in order.
    """
    for place in path.glob(f"zarr.*{UNFINISHED}"):
        place.unlink(missing_ok=True)
    hollow: set[int] = set()
    for name in (*RESULT_NAMES, BLOCK_DONE):
        top = path / name
        for folder, _, files in os.walk(top):
            for file in files:
                place = Path(folder, file)
                if file.endswith(UNFINISHED):
                    place.unlink(missing_ok=True)
                elif file != "zarr.json" and not place.stat().st_size:
                    hollow.add(_block(place.relative_to(top).parts[1:], blocks, name))
    return sorted(hollow)


def _block(key: tuple[str, ...], blocks: Blocks, name: str) -> int:
    """Number of the block that a file belongs to, by its place below ``c``."""
    if name == BLOCK_DONE:
        return int(key[0])
    return int(np.ravel_multi_index([int(part) for part in key], blocks.grid)) if key else 0
