"""Random numbers that belong to a case: a stream of their own for each purpose, whatever the order of work."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from toolkit.particulars.common import Array

__all__ = ["GUST_STREAM", "WholeNumbers", "uniform_draws"]

WholeNumbers: TypeAlias = int | NDArray[np.int64] | NDArray[np.uint64]
"""A whole number, or an array of them, shape (n,); not negative, below 2**63."""

GUST_STREAM = 1
"""Stream of the gusts; one number for each purpose, so that no purpose shifts another's numbers."""


def uniform_draws(seed: WholeNumbers, draw: WholeNumbers, *, stream: int, count: int) -> Array:
    """Even random numbers in [0, 1), keyed by seed, stream and draw.

    Parameters
    ----------
    seed : int or ndarray of int, shape (n,)
        Of the study.
    draw : int or ndarray of int, shape (n,)
        Which draw of that seed; cases with the same draw meet the same numbers.
    stream : int
        Purpose of the numbers.
    count : int
        Numbers a case.

    Returns
    -------
    ndarray, shape (n, count)
        n is 1 where seed and draw are single numbers. A row depends on seed,
        stream and draw alone: not on its neighbours, their order or number.

    Raises
    ------
    ValueError
        If a seed or a draw is negative.

    Notes
    -----
    The Philox 4x64 generator with 10 rounds, a function of key and counter
    (Salmon and others, Parallel random numbers: as easy as 1, 2, 3, 2011, from
    memory), as numpy has it. Key: seed and stream; second word of the counter:
    draw. The upper 53 bits of each word make the number.
    """
    seeds, draws = np.broadcast_arrays(np.atleast_1d(np.asarray(seed)), np.atleast_1d(np.asarray(draw)))
    if np.any(seeds < 0) or np.any(draws < 0):
        raise ValueError("a seed and a draw must not be negative")
    pairs, place = np.unique(np.stack([seeds, draws], axis=-1).astype(np.uint64), axis=0, return_inverse=True)
    raw = np.empty((len(pairs), count), dtype=np.uint64)
    for row, (key, counter) in zip(raw, pairs, strict=True):
        generator = np.random.Philox(
            key=np.array([key, stream], dtype=np.uint64), counter=np.array([0, counter, 0, 0], dtype=np.uint64)
        )
        row[:] = generator.random_raw(count)
    return np.asarray((raw >> np.uint64(11)) * 2.0**-53)[place.reshape(-1)]
