"""Samples of the unit cube: Latin hypercube and scrambled Sobol' sequence."""

from __future__ import annotations

import warnings

import numpy as np
from numpy.typing import NDArray

__all__ = ["unit_samples"]


def unit_samples(kind: str, count: int, factors: int, seed: int) -> NDArray[np.float64]:
    """Places of the cases of a sampled design in the unit cube.

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

    Returns
    -------
    ndarray, shape (count, factors)
        In the half-open interval [0, 1).
    """
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
        return np.asarray(engine.random(count), dtype=np.float64)
