"""Sobol' indices: the share of the variance of an outcome that each input accounts for (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.intervals import LEVEL
from toolkit.findings.sensitivity.factors import Evaluate, Factors, check_power
from toolkit.findings.sensitivity.responses import check_responses, responses
from toolkit.study.designs import unit_samples

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["SAMPLES", "design", "sobol"]

SAMPLES = 256
"""Samples of each of the two base matrices unless another number is asked for."""
RESAMPLED = 399
"""Bootstrap resamples of the rows of the design unless another number is asked for."""

Array = NDArray[np.float64]


def design(samples: int, factors: int, seed: int) -> Array:
    """Rows of two independent matrices, and of the first with one column after the other taken from the second.

    Saltelli and others 2010, Computer Physics Communications 181(2), 259-270,
    the design that `scipy.stats.sobol_indices` expects.

    Returns
    -------
    ndarray, shape (factors + 2, samples, factors)
        A, B, then A with column i of B, in the unit cube.
    """
    pair = unit_samples("sobol", samples, 2 * factors, seed)
    a, b = pair[:, :factors], pair[:, factors:]
    mixed = np.repeat(a[None], factors, axis=0)
    each = np.arange(factors)
    mixed[each, :, each] = b.T
    return np.concatenate([a[None], b[None], mixed])


def sobol(
    evaluate: Evaluate,
    factors: Factors,
    *,
    samples: int = SAMPLES,
    names: Iterable[str] | None = None,
    limits: Mapping[str, float] | None = None,
    seed: int = 1,
    level: float = LEVEL,
    resamples: int = RESAMPLED,
) -> xr.Dataset:
    """First and total Sobol' indices with bootstrap intervals.

    Parameters
    ----------
    evaluate : callable
        From a table of cases to results; called once with
        ``samples (factors + 2)`` cases.
    factors : Factors
        Two or more.
    samples : int
        A power of two, 8 or more.
    names, limits
        As for :func:`toolkit.findings.sensitivity.responses.responses`: failed
        cases count, with a stand-in, and whether cases complete and pass are
        responses of their own.
    seed : int
        Of the scrambled Sobol' sequence and the bootstrap.
    level, resamples
        Of the intervals: percentiles over resampled rows. The rows of a Sobol'
        sequence lie more evenly than random ones, so the intervals are rather
        too wide.

    Returns
    -------
    xarray.Dataset
        Along ``quantity`` and ``factor``: ``first_order`` (alone) and
        ``total_order`` (with all its interactions), each with ``_low``,
        ``_high`` and ``_half``, the same from the first half of the rows; NaN
        where the response is constant. Along ``quantity``: ``mean``,
        ``variance``, ``stood_in_share`` of the two base matrices, which sample
        the factors evenly. Scalars ``failed_share`` (of these, too),
        ``case_count``.

    Raises
    ------
    StudyError
        If there are fewer than two factors, if samples are no power of two, or
        as `responses` raises.
    """
    import xarray as xr

    check_responses(names)
    check_power(samples)
    count = len(factors.axes)
    if count < 2:
        raise StudyError(
            [Problem(where="Sobol' indices", what=f"{count} input is varied", why="shares need two to share",
                     remedy="Vary another, or look at the outcome over this one")]
        )  # fmt: skip
    places = design(samples, count, seed)
    found = responses(evaluate(factors.table(places.reshape(-1, count))), names, limits)
    values = found["value"].values.reshape(-1, count + 2, samples)
    generator = np.random.default_rng(seed)
    drawn = np.array(
        [_indices(values[..., generator.integers(0, samples, samples)]) for _ in range(resamples)]
    ).reshape(resamples, 2, *values.shape[:1], count)
    tail = 50.0 * (1.0 - level)
    low, high = np.nanpercentile(drawn, [tail, 100.0 - tail], axis=0)
    both = {"": _indices(values), "_low": low, "_high": high, "_half": _indices(values[..., : samples // 2])}
    base = values[:, :2]
    constant = np.ptp(values, axis=(1, 2)) == 0.0
    evenly = found["stood_in"].values.reshape(values.shape)[:, :2]
    failed = found["failed"].values.reshape(count + 2, samples)[:2]
    dims = ("quantity", "factor")
    return xr.Dataset(
        {
            **{
                f"{order}{suffix}": (dims, np.where(constant[:, None], np.nan, pair[place]))
                for place, order in enumerate(("first_order", "total_order"))
                for suffix, pair in both.items()
            },
            "mean": ("quantity", base.mean((1, 2))),
            "variance": ("quantity", base.var((1, 2))),
            "stood_in_share": ("quantity", evenly.mean((1, 2))),
            "failed_share": failed.mean(),
            "case_count": found["failed"].size,
        },
        coords={"quantity": found["quantity"], "factor": list(factors.names)},
        attrs={**found.attrs, "samples": samples, "design_seed": seed, "level": level, "resamples": resamples,
               "notes": "\n".join(factors.notes)},
    )  # fmt: skip


def _indices(values: Array) -> Array:
    """First and total indices.

    Parameters
    ----------
    values : ndarray, shape (responses, factors + 2, rows)
        Rows a power of two.

    Returns
    -------
    ndarray, shape (2, responses, factors)
    """
    from scipy import stats

    a, b, mixed = values[:, 0], values[:, 1], np.moveaxis(values[:, 2:], 1, 0)
    # scipy's own bootstrap of its result takes no seed, so that rows are resampled here and given to it anew
    found = stats.sobol_indices(func={"f_A": a, "f_B": b, "f_AB": mixed}, n=a.shape[-1])
    shape = (values.shape[0], values.shape[1] - 2)
    return np.array([np.reshape(order, shape) for order in (found.first_order, found.total_order)])
