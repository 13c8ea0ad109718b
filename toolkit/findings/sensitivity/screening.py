"""Screening: elementary effects along random trajectories, few cases for many inputs (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.intervals import LEVEL, RESAMPLES, block_interval
from toolkit.findings.sensitivity.factors import Evaluate, Factors
from toolkit.findings.sensitivity.responses import check_responses, responses

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["TRAJECTORIES", "ranked", "screen", "trajectories"]

TRAJECTORIES = 10
"""Trajectories unless another number is asked for; 4 to 10 are usual (common practice, no source)."""
STEPS_OF_CUBE = 4
"""Levels of the unit interval, of which a step crosses two thirds."""


def trajectories(
    count: int, factors: int, seed: int, levels: int = STEPS_OF_CUBE
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.float64]]:
    """Random walks through a grid in the unit cube, each moving every factor once.

    Morris, Factorial sampling plans for preliminary computational experiments,
    Technometrics 33(2), 1991, sec. 3 (volume and title read in the documentation of
    packages that cite it, the paper from memory): the step is
    ``levels / (2 (levels - 1))``, so that with an even number of levels every
    level is met as often as any other.

    Parameters
    ----------
    count, factors : int
        Trajectories, and factors of each.
    seed : int
    levels : int
        Even, 2 or more.

    Returns
    -------
    places : ndarray, shape (count, factors + 1, factors)
    position : ndarray of int, shape (count, factors)
        Step of the trajectory that moves each factor.
    step : ndarray, shape (count, factors)
        Signed length of that step.
    """
    generator = np.random.default_rng(seed)
    delta = levels / (2.0 * (levels - 1))
    low = generator.integers(0, levels // 2, (count, factors)) / (levels - 1)
    downward = generator.integers(0, 2, (count, factors)).astype(bool)
    position = generator.permuted(np.tile(np.arange(factors), (count, 1)), axis=1)
    moved = np.arange(factors + 1)[None, :, None] > position[:, None, :]
    places = low[:, None, :] + delta * (moved ^ downward[:, None, :])
    return np.minimum(places, 1.0), position, np.where(downward, -delta, delta)


def screen(
    evaluate: Evaluate,
    factors: Factors,
    *,
    count: int = TRAJECTORIES,
    names: Iterable[str] | None = None,
    limits: Mapping[str, float] | None = None,
    seed: int = 1,
    level: float = LEVEL,
    resamples: int = RESAMPLES,
) -> xr.Dataset:
    """Screen many inputs by elementary effects.

    Parameters
    ----------
    evaluate : callable
        From a table of cases to results; called once with ``count (factors + 1)``
        cases.
    factors : Factors
    count : int
        Trajectories, 2 or more.
    names, limits
        As for :func:`toolkit.findings.sensitivity.responses.responses`.
    seed, level, resamples
        Of the trajectories and of the intervals.

    Returns
    -------
    xarray.Dataset
        Along ``quantity`` and ``factor``, as change of the response over the
        whole width of the factor [dataset unit of the response]:

        - ``mean_size`` with ``mean_size_low`` and ``mean_size_high`` (bootstrap
          over trajectories): mean size of the elementary effects, whatever
          their sign (Campolongo and others, Environmental Modelling & Software
          22(10), 2007, as the documentation of packages tells it);
        - ``mean_effect``: their mean;
        - ``deviation``: their standard deviation; as large as the mean size
          where the effect hangs on the other factors or is not linear.

        ``stood_in_share`` (``quantity``): share of values that are stand-ins;
        scalar ``failed_share``.

    Raises
    ------
    StudyError
        If there are fewer than two trajectories, or as `responses` raises.
    """
    import xarray as xr

    check_responses(names)
    if count < 2:
        what = f"trajectories = {count} is fewer than 2"
        raise StudyError([Problem(where="screening", what=what, remedy="Ask for 4 to 20")])
    places, position, step = trajectories(count, len(factors.axes), seed)
    found = responses(evaluate(factors.table(places.reshape(-1, len(factors.axes)))), names, limits)
    value = found["value"].values.reshape(-1, count, len(factors.axes) + 1)
    after, before = (np.take_along_axis(value, (position + k)[None], axis=-1) for k in (1, 0))
    effects = (after - before) / step  # (quantity, trajectory, factor)
    size = np.abs(effects)
    ends = np.array(
        [
            [
                (interval.low, interval.high)
                for interval in (
                    block_interval(one, np.ones(count), level=level, resamples=resamples, seed=seed) for one in each.T
                )
            ]
            for each in size
        ]
    ).reshape(*size.shape[::2], 2)
    dims = ("quantity", "factor")
    return xr.Dataset(
        {
            "mean_size": (dims, size.mean(1)),
            "mean_size_low": (dims, ends[..., 0]),
            "mean_size_high": (dims, ends[..., 1]),
            "mean_effect": (dims, effects.mean(1)),
            "deviation": (dims, effects.std(1, ddof=1)),
            "stood_in_share": ("quantity", found["stood_in"].values.mean(-1)),
            "failed_share": found["failed"].mean().item(),
            "case_count": found["failed"].size,
        },
        coords={"quantity": found["quantity"], "factor": list(factors.names)},
        attrs={**found.attrs, "trajectories": count, "design_seed": seed, "level": level,
               "notes": "\n".join(factors.notes)},
    )  # fmt: skip


def ranked(screened: xr.Dataset, most: int) -> tuple[str, ...]:
    """The factors that matter most to any response.

    Parameters
    ----------
    screened : xarray.Dataset
        From :func:`screen`.
    most : int
        How many to name.

    Returns
    -------
    tuple of str
        By the largest share, over the responses, of a factor's mean size in the
        largest mean size of that response.
    """
    size = screened["mean_size"].values
    top = size.max(axis=1, keepdims=True)
    share = np.divide(size, top, out=np.zeros(size.shape), where=top > 0).max(axis=0, initial=0.0)
    names = [str(name) for name in screened["factor"].values]
    return tuple(names[k] for k in np.argsort(-share, kind="stable")[:most])
