"""Intervals for means over whole blocks, such as draws of gusts and crew, and a test of signs (floor 5)."""

from __future__ import annotations

import warnings
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["LEVEL", "RESAMPLES", "Interval", "block_interval", "block_sums", "mean_and_error", "sign_test", "t_reach"]

LEVEL = 0.95
"""Confidence level of intervals unless another is asked for; convention."""
RESAMPLES = 999
"""Bootstrap resamples unless another number is asked for; scipy's own number for Sobol' indices."""
MOST_BLOCKS_CORRECTED = 500
"""Blocks up to which the bootstrap corrects for bias and skew (BCa), which takes one jackknife value a block."""
MOST_AT_ONCE = 4_000_000
"""Numbers that the bootstrap draws at once."""


@dataclass(frozen=True, kw_only=True)
class Interval:
    """A mean and two intervals for it.

    Attributes
    ----------
    mean : float
        NaN without a block.
    low, high : float
        By bootstrap of whole blocks; NaN with fewer than two blocks.
    t_low, t_high : float
        By Student's t over blocks; NaN with fewer than two blocks.
    blocks : int
        Blocks with anything in them.
    """

    mean: float
    low: float
    high: float
    t_low: float
    t_high: float
    blocks: int


def block_sums(
    values: xr.DataArray, blocks: Iterable[str], keep: Iterable[str] = ()
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Sum and count the values of every block.

    Parameters
    ----------
    values : xarray.DataArray
        NaN where there is none.
    blocks : iterable of str
        Dimensions whose combinations are the blocks; those that `values` lacks
        are ignored, and none left means that all values are one block.
    keep : iterable of str
        Dimensions kept in front.

    Returns
    -------
    sums, counts : ndarray, shape (*keep, blocks)
    """
    kept = [dim for dim in keep if dim in values.dims]
    by = [dim for dim in dict.fromkeys(blocks) if dim in values.dims and dim not in kept]
    over = [dim for dim in values.dims if dim not in kept and dim not in by]
    there = values.notnull()
    shape = (*(values.sizes[dim] for dim in kept), -1)
    sums, counts = (
        np.asarray(array.sum(over).transpose(*kept, *by).values, dtype=np.float64).reshape(shape)
        for array in (values.where(there, 0.0), there)
    )
    return sums, counts


def mean_and_error(sums: ArrayLike, counts: ArrayLike) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Mean over blocks of unlike size, its standard error, and the blocks that hold anything.

    The mean is a ratio of two sums, values over counts; its error is that of a
    ratio estimator (linearised; Cochran 1977, ch. 6, from memory, not verified).
    With blocks of one size it is the usual standard error of block means.

    Parameters
    ----------
    sums, counts : array_like, shape (..., blocks)

    Returns
    -------
    mean, error : ndarray, shape (...)
        NaN without a block, the error also with one alone.
    blocks : ndarray of int, shape (...)
    """
    sums, counts = np.asarray(sums, dtype=np.float64), np.asarray(counts, dtype=np.float64)
    used = (counts > 0).sum(-1)
    total = counts.sum(-1)
    mean = np.divide(sums.sum(-1), total, out=np.full(total.shape, np.nan), where=total > 0)
    apart = sums - np.where(np.isnan(mean), 0.0, mean)[..., None] * counts
    square = (apart**2).sum(-1)
    freedom = used * (used - 1.0)
    size = np.divide(total, used, out=np.ones(total.shape), where=used > 0)
    error = np.sqrt(np.divide(square, freedom, out=np.full(total.shape, np.nan), where=freedom > 0)) / size
    return mean, error, used


def t_reach(blocks: ArrayLike, level: float = LEVEL) -> NDArray[np.float64]:
    """Half-width of Student's t interval over the standard error; NaN with fewer than two blocks."""
    from scipy import stats

    freedom = np.asarray(blocks, dtype=np.float64) - 1.0
    return np.where(freedom > 0, stats.t.ppf(0.5 + 0.5 * level, np.maximum(freedom, 1.0)), np.nan)


def block_interval(
    sums: ArrayLike, counts: ArrayLike, *, level: float = LEVEL, resamples: int = RESAMPLES, seed: int = 1
) -> Interval:
    """Mean over blocks with its bootstrap and its t interval.

    Whole blocks are resampled, so that what is alike within a block (the same
    gusts, the same crew) is not taken for independent.

    Parameters
    ----------
    sums, counts : array_like, shape (blocks,)
        From :func:`block_sums`; blocks without a value are left out.
    level : float
        Confidence level.
    resamples, seed : int
        Of the bootstrap (`scipy.stats.bootstrap`).

    Returns
    -------
    Interval
    """
    sums, counts = np.asarray(sums, dtype=np.float64), np.asarray(counts, dtype=np.float64)
    sums, counts = sums[counts > 0], counts[counts > 0]
    mean, error, used = (value.item() for value in mean_and_error(sums, counts))
    reach = float(t_reach(used, level)) * error
    if used < 2:
        low = high = np.nan
    elif np.ptp(sums / counts) == 0.0:
        low = high = mean  # every resample gives the same
    else:
        low, high = _bootstrap(sums, counts, level, resamples, seed)
    return Interval(mean=mean, low=low, high=high, t_low=mean - reach, t_high=mean + reach, blocks=used)


def _bootstrap(
    sums: NDArray[np.float64], counts: NDArray[np.float64], level: float, resamples: int, seed: int
) -> tuple[float, float]:
    from scipy import stats

    bootstrap: Any = stats.bootstrap  # its stubs know no argument of before scipy 1.15
    options = {
        "paired": True, "vectorized": True, "n_resamples": resamples, "confidence_level": level,
        "batch": max(1, MOST_AT_ONCE // sums.size),
    }  # fmt: skip

    def ratio(values: Any, numbers: Any, axis: int = -1) -> Any:
        return values.sum(axis) / numbers.sum(axis)

    def run(method: str) -> tuple[float, float]:
        generator = np.random.default_rng(seed)
        try:
            found = bootstrap((sums, counts), ratio, method=method, rng=generator, **options)
        except TypeError:  # the name of the argument before scipy 1.15
            found = bootstrap((sums, counts), ratio, method=method, random_state=generator, **options)
        return float(found.confidence_interval.low), float(found.confidence_interval.high)

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a correction that cannot be made gives NaN, which is met below
        ends = run("BCa" if sums.size <= MOST_BLOCKS_CORRECTED else "percentile")
        return ends if np.isfinite(ends).all() else run("percentile")


def sign_test(one_way: ArrayLike, other_way: ArrayLike) -> NDArray[np.float64]:
    """Two-sided p value of the sign test: so uneven a count, were both ways as likely.

    Parameters
    ----------
    one_way, other_way : array_like of int
        Blocks for either; ties are left out. Any shape.

    Returns
    -------
    ndarray
        1 where there is none.
    """
    from scipy import stats

    one, other = np.asarray(one_way), np.asarray(other_way)
    tail = stats.binom.cdf(np.minimum(one, other), one + other, 0.5)
    return np.asarray(np.minimum(2.0 * tail, 1.0))
