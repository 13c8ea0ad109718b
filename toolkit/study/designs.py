"""Samples of the unit cube: Latin hypercube and scrambled Sobol' sequence."""

from __future__ import annotations

import warnings
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["unit_samples"]


PAGE = 2**16
"""Samples of a Sobol' sequence that are drawn, and kept, at a time."""


def unit_samples(
    kind: str, count: int, factors: int, seed: int, positions: NDArray[np.int64] | None = None
) -> NDArray[np.float64]:
    """Places of cases of a sampled design in the unit cube.

    Parameters
    ----------
    kind : {"latin_hypercube", "sobol"}
        Latin hypercube: one case in each of `count` slices of every factor.
        Sobol': a sequence of low discrepancy, scrambled at random.
    count, factors : int
        Number of cases and of swept factors.
    seed : int
        The same seed gives the same samples; the first cases of a longer
        Sobol' sequence are the cases of a shorter one.
    positions : ndarray of int, shape (n,), optional
        Numbers of the cases that are wanted, 0 to `count` less one; all of
        them unless given.

    Returns
    -------
    ndarray, shape (n, factors)
        In the half-open interval [0, 1).

    Notes
    -----
    A Sobol' sequence is drawn page by page, so that it takes no memory to be
    long; a Latin hypercube, which is a permutation, is drawn as a whole.
    """
    if positions is None:
        positions = np.arange(count)
    length = PAGE if kind == "sobol" else max(count, 1)
    pages = positions // length
    found = np.empty((len(positions), factors))
    for page in np.unique(pages).tolist():
        rows = pages == page
        start = page * length
        found[rows] = _page(kind, factors, seed, start, min(length, count - start))[positions[rows] - start]
    return found


@lru_cache(maxsize=4)
def _page(kind: str, factors: int, seed: int, start: int, length: int) -> NDArray[np.float64]:
    """Samples from `start` on, for reading only."""
    from scipy.stats import qmc

    engines = {"latin_hypercube": qmc.LatinHypercube, "sobol": qmc.Sobol}
    if kind not in engines:
        raise ValueError(f"{kind} is not a sampled design")
    generator = np.random.default_rng(seed)
    try:
        engine = engines[kind](factors, rng=generator)
    except TypeError:  # the name of the argument before scipy 1.15
        engine = engines[kind](factors, seed=generator)
    with warnings.catch_warnings():
        # said in our own words by `towage check`: balance is lost unless count is a power of two
        warnings.simplefilter("ignore", UserWarning)
        if start:
            engine.fast_forward(start)
        samples = np.asarray(engine.random(length), dtype=np.float64)
    samples.flags.writeable = False
    return samples
