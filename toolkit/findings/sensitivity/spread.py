"""What the spread of the model's coefficients makes of the outcomes (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

import numpy as np

from toolkit.findings.sensitivity.factors import Evaluate, Factors, check_power
from toolkit.findings.sensitivity.responses import check_responses, responses
from toolkit.study.designs import unit_samples

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.study import Axis

__all__ = ["DRAWN", "QUANTILES", "spread_over"]

QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
"""Quantiles that are reported; convention."""
AT_PLACES = 5
"""Places at which a range is looked at."""
DRAWN = 64
"""Draws of the coefficients unless another number is asked for."""


def spread_over(
    evaluate: Evaluate,
    factors: Factors,
    along: Axis,
    *,
    samples: int = DRAWN,
    names: Iterable[str] | None = None,
    limits: Mapping[str, float] | None = None,
    seed: int = 1,
) -> xr.Dataset:
    """Propagate the spread of factors to the outcomes, at every value of one input.

    Parameters
    ----------
    evaluate : callable
        From a table of cases to results; called once.
    factors : Factors
        What is spread, as a rule the coefficients of the model; every other
        input is at the base.
    along : Axis
        Input over whose values the spread is looked at; a range at five places.
        The draws are the same at each.
    samples : int
        Draws, a power of two, 8 or more.
    names, limits
        As for :func:`toolkit.findings.sensitivity.responses.responses`.
    seed : int
        Of the scrambled Sobol' sequence.

    Returns
    -------
    xarray.Dataset
        Along ``quantity`` and the input: ``value`` along ``quantile`` (levels
        `QUANTILES`; failed cases count with their stand-in, which is the worst
        there is, so that quantiles below the share that completes are as they
        would be without it), ``nominal`` (coefficients at the base),
        ``stood_in_share``; ``failed_share`` and ``nominal_failed`` along the
        input.

    Raises
    ------
    StudyError
        If samples are no power of two, or as `responses` raises.
    """
    import xarray as xr

    check_responses(names)
    check_power(samples)
    factors = factors.without(along.name)
    places = unit_samples("sobol", samples, max(len(factors.axes), 1), seed)
    drawn = factors.table(places)
    levels = along.at(np.linspace(0.0, 1.0, AT_PLACES)) if along.kind == "range" else np.array(along.values)
    count = len(levels)
    table = {
        **drawn,
        **{n: np.tile(np.concatenate([np.array([factors.base[n]]), drawn[n]]), count) for n in factors.names},
        along.name: np.repeat(levels, samples + 1),
    }
    found = responses(evaluate(table), names, limits)
    shape = (count, samples + 1)
    value = found["value"].values.reshape(-1, *shape)
    failed = found["failed"].values.reshape(shape)
    dims = ("quantity", along.name)
    spread = np.quantile(value[..., 1:], QUANTILES, axis=-1, method="inverted_cdf")
    return xr.Dataset(
        {
            "value": (("quantile", *dims), spread),
            "nominal": (dims, value[..., 0]),
            "stood_in_share": (dims, found["stood_in"].values.reshape(-1, *shape)[..., 1:].mean(-1)),
            "failed_share": (along.name, failed[:, 1:].mean(-1)),
            "nominal_failed": (along.name, failed[:, 0]),
            "case_count": failed.size,
        },
        coords={"quantity": found["quantity"], "quantile": list(QUANTILES), along.name: levels},
        attrs={**found.attrs, "samples": samples, "design_seed": seed, "along": along.name,
               "spread": " ".join(factors.names), "base": factors.held_text(leave_out=along.name),
               "notes": "\n".join(factors.notes)},
    )  # fmt: skip
