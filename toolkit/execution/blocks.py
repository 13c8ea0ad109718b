"""How an array of cases is cut into blocks, each the work of one task."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Blocks", "choose_chunks"]

FEWEST_BLOCKS = 16
"""Blocks that a small study is still cut into, so that every worker has work to the end."""

SMALLEST_BLOCK = 512
"""Cases below which a block is not made smaller for the sake of `FEWEST_BLOCKS`.

At the end of a block lanes of the engine run empty, which costs the more the
smaller it is: of swings 6 % of the work at 512 cases, 3 % at 1024, 0.5 % at
2048. A store, too, takes the same time for a block of any size.
"""


@dataclass(frozen=True, kw_only=True)
class Blocks:
    """A regular grid of blocks over an array of cases.

    Attributes
    ----------
    shape : tuple of int
        Shape of the array of cases.
    chunks : tuple of int
        Shape of a full block; blocks at the far edges may be smaller.
    """

    shape: tuple[int, ...]
    chunks: tuple[int, ...]

    @property
    def grid(self) -> tuple[int, ...]:
        """Number of blocks along each dimension."""
        return tuple(-(-length // chunk) for length, chunk in zip(self.shape, self.chunks, strict=True))

    @property
    def count(self) -> int:
        """Number of blocks."""
        return math.prod(self.grid)

    def slices(self, block: int) -> tuple[slice, ...]:
        """Region of one block, counted in C order."""
        place = np.unravel_index(block, self.grid) if self.grid else ()
        return tuple(
            slice(int(at) * chunk, min((int(at) + 1) * chunk, length))
            for at, chunk, length in zip(place, self.chunks, self.shape, strict=True)
        )

    def block_shape(self, block: int) -> tuple[int, ...]:
        """Shape of one block."""
        return tuple(part.stop - part.start for part in self.slices(block))

    def flat_indices(self, block: int) -> NDArray[np.int64]:
        """Flat C-order indices, into the whole array, of the cases of one block in C order."""
        index = np.zeros((), dtype=np.int64)
        for length, part in zip(self.shape, self.slices(block), strict=True):
            index = index[..., None] * length + np.arange(part.start, part.stop, dtype=np.int64)
        return index.reshape(-1)

    def locate(self, flat: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Block of each case, and its place in that block in C order; inverse of `flat_indices`.

        Parameters
        ----------
        flat : ndarray of int, shape (n,)
            Flat C-order indices into the whole array.
        """
        block, within = np.zeros(len(flat), dtype=np.int64), np.zeros(len(flat), dtype=np.int64)
        places = np.unravel_index(flat, self.shape) if self.shape else ()
        for place, length, chunk, count in zip(places, self.shape, self.chunks, self.grid, strict=True):
            at = place // chunk
            block = block * count + at
            within = within * np.minimum(chunk, length - at * chunk) + place - at * chunk
        return block, within


def choose_chunks(shape: Sequence[int], most: int, first: Sequence[int] = ()) -> tuple[int, ...]:
    """Choose the shape of a block.

    Dimensions are filled one after the other, the last one first, until a
    block holds about `most` cases; a dimension that does not fit is cut into
    equal parts. A small array is cut finer, so that it makes `FEWEST_BLOCKS`
    blocks if these still hold `SMALLEST_BLOCK` cases.

    Parameters
    ----------
    shape : sequence of int
        Shape of the array of cases.
    most : int
        Cases in a block, at most.
    first : sequence of int, optional
        Dimensions to fill before all others: those along which cases may be
        identical, which are recognised within a block only.

    Returns
    -------
    tuple of int
        Depends on nothing but the arguments: never on the machine.
    """
    room = max(1, min(most, max(SMALLEST_BLOCK, -(-math.prod(shape) // FEWEST_BLOCKS))))
    chunks = [1] * len(shape)
    order = [*first, *(axis for axis in reversed(range(len(shape))) if axis not in first)]
    for axis in order:
        parts = -(-shape[axis] // min(shape[axis], room))
        chunks[axis] = -(-shape[axis] // parts)
        room = max(1, room // chunks[axis])
    return tuple(chunks)
