"""How far a mean has settled with the number of samples (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.intervals import LEVEL, t_reach
from toolkit.findings.sensitivity.factors import Evaluate, Factors, check_power
from toolkit.findings.sensitivity.responses import check_responses, responses
from toolkit.study.designs import unit_samples

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["REPLICATES", "running_means"]

REPLICATES = 8
"""Scrambled sequences unless another number is asked for."""
FEWEST = 8
"""Samples at which the running mean begins."""


def running_means(
    evaluate: Evaluate,
    factors: Factors,
    *,
    samples: int = 128,
    replicates: int = REPLICATES,
    names: Iterable[str] | None = None,
    limits: Mapping[str, float] | None = None,
    seed: int = 1,
    level: float = LEVEL,
) -> xr.Dataset:
    """Means over longer and longer beginnings of Sobol' sequences, scrambled anew for each replicate.

    The replicates are independent estimates of the same mean, so their spread
    is its error, whatever the outcome looks like; one sequence alone does not
    tell (Owen 1997, Annals of Statistics 25(4), from memory, not verified).

    Parameters
    ----------
    evaluate : callable
        From a table of cases to results; called once with
        ``replicates * samples`` cases.
    factors : Factors
    samples : int
        Longest beginning, a power of two, 16 or more.
    replicates : int
        2 or more.
    names, limits
        As for :func:`toolkit.findings.sensitivity.responses.responses`.
    seed : int
        Of the first scramble; the others count on from it.
    level : float
        Of the interval.

    Returns
    -------
    xarray.Dataset
        Along ``count`` (8, 16, ... `samples`): ``value`` (``quantity``,
        ``replicate``, ``count``), the mean of each replicate's first cases;
        ``mean`` over replicates with ``low``, ``high`` (Student's t);
        ``error``, the standard deviation between replicates, which is the error
        of one of them; ``random_error``, what it would be were the cases drawn
        at random. Along ``quantity`` ``stood_in_share``; scalars
        ``failed_share``, ``case_count``.

    Raises
    ------
    StudyError
        If the numbers do not fit, or as `responses` raises.
    """
    import xarray as xr

    check_responses(names)
    check_power(samples, 2 * FEWEST)
    if replicates < 2:
        what = f"replicates = {replicates} is fewer than 2"
        raise StudyError([Problem(where="sample size", what=what, remedy="Ask for 4 to 16")])
    width = len(factors.axes)
    places = np.concatenate([unit_samples("sobol", samples, width, seed + r) for r in range(replicates)])
    found = responses(evaluate(factors.table(places)), names, limits)
    value = found["value"].values.reshape(-1, replicates, samples)
    counts = 2 ** np.arange(FEWEST.bit_length() - 1, samples.bit_length())
    running = np.cumsum(value, axis=-1)[..., counts - 1] / counts
    error = running.std(1, ddof=1)
    mean, reach = running.mean(1), float(t_reach(replicates, level)) * error / np.sqrt(replicates)
    dims = ("quantity", "count")
    return xr.Dataset(
        {
            "value": (("quantity", "replicate", "count"), running),
            "mean": (dims, mean),
            "low": (dims, mean - reach),
            "high": (dims, mean + reach),
            "error": (dims, error),
            "random_error": (dims, value.std((1, 2), ddof=1)[:, None] / np.sqrt(counts)),
            "stood_in_share": ("quantity", found["stood_in"].values.mean(-1)),
            "failed_share": found["failed"].mean().item(),
            "case_count": found["failed"].size,
        },
        coords={"quantity": found["quantity"], "count": counts},
        attrs={**found.attrs, "replicates": replicates, "design_seed": seed, "level": level,
               "notes": "\n".join(factors.notes)},
    )  # fmt: skip
