"""The worst of several cases: passes only where all pass (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from toolkit.findings.limits import OUTCOME_OFFSET
from toolkit.findings.reading import require
from toolkit.quantities import Outcome
from toolkit.quantities.manoeuvres import LEAST_IS_WORST

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["VALUED", "valued_cases", "worst_over", "worst_values"]

VALUED = "valued_though_failed"
"""Attribute of a part of results: outcomes, a space between, whose values count where a case did not complete too."""

NUMBERED_BY = {"governing_leg": "governing_share"}
"""Outcomes that are numbers of something, by which no case is worse: told of the case with the worst of the other."""

BY_SIZE = frozenset({"drift_along_berth"})
"""Outcomes with a sign that only tells the way: the worst is the largest either way."""

_NEEDED = ("passes", "was_run", "utilisation", "binding_limit")


def worst_over(judged: xr.Dataset, over: Iterable[str]) -> xr.Dataset:
    """Reduce dimensions to their worst case: passes only where all pass.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.limits.apply_limits`.
    over : iterable of str
        Dimensions to reduce.

    Returns
    -------
    xarray.Dataset
        ``passes``, ``was_run`` (all were), ``utilisation`` (largest),
        ``binding_limit`` (of the worst case: a failure by outcome before any
        limit, else the largest utilisation); where `judged` has them also
        ``limit_utilisation`` (largest of each) and ``outcome`` (``completed``
        only where all completed, else the highest code among the others), with
        ``not_completed_count``, the number of cases that did not complete.
    """
    import xarray as xr

    require(judged, _NEEDED, "the worst of several cases")
    names = [*_NEEDED, *(name for name in ("outcome", "limit_utilisation") if name in judged)]
    field = judged[names]
    dims = [dim for dim in over if dim in field["passes"].dims]
    if not dims:
        return field
    by_outcome = field["binding_limit"] >= OUTCOME_OFFSET - 1
    severity = xr.where(by_outcome, np.inf, field["utilisation"].fillna(0.0))
    severity = severity.where(~field["passes"], -1.0)
    worst = severity == severity.max(dims)
    reduced = xr.Dataset(
        {
            "passes": field["passes"].all(dims),
            "was_run": field["was_run"].all(dims),
            "utilisation": field["utilisation"].max(dims),
            "binding_limit": field["binding_limit"].where(worst, 0).max(dims).astype(np.int8),
        },
        attrs=judged.attrs,
    )
    if "limit_utilisation" in names:
        reduced["limit_utilisation"] = field["limit_utilisation"].max(dims)
    if "outcome" in names:
        ended_otherwise = field["outcome"] != int(Outcome.completed)
        code = field["outcome"].where(ended_otherwise, -1).max(dims)
        reduced["outcome"] = xr.where(ended_otherwise.any(dims), code, int(Outcome.completed)).astype(np.int8)
    for name in names:
        reduced[name].attrs = judged[name].attrs
    if "outcome" in names:
        reduced["not_completed_count"] = ended_otherwise.sum(dims).assign_attrs(
            {"long_name": "cases that did not complete", "units": "1"}
        )
    return reduced


def valued_cases(dataset: xr.Dataset, judged: xr.Dataset, name: str) -> xr.DataArray:
    """Cases whose value of an outcome says something: those that completed, or all that were run if `VALUED` names it.

    Parameters
    ----------
    dataset, judged : xarray.Dataset
        Results and their judgement, with the same dimensions.
    name : str
        The outcome.
    """
    if name in str(dataset.attrs.get(VALUED, "")).split():
        return judged["outcome"] != int(Outcome.not_run)
    return judged["outcome"] == int(Outcome.completed)


def worst_values(dataset: xr.Dataset, judged: xr.Dataset, over: Iterable[str], names: Iterable[str]) -> xr.Dataset:
    """Worst value of each outcome along dimensions, of the cases that completed.

    Outcomes that `VALUED` names count where a case did not complete too.

    Parameters
    ----------
    dataset, judged : xarray.Dataset
        Results and their judgement, with the same dimensions.
    over : iterable of str
        Dimensions to reduce.
    names : iterable of str
        Outcomes to reduce, of those that `dataset` has.

    Returns
    -------
    xarray.Dataset
        For each name the largest value (the smallest of one of which less is
        worse, such as ``room_to_edge``; the largest either way of those in
        :data:`BY_SIZE`; of one of :data:`NUMBERED_BY`, its value
        in the case that is the worst by the other) and ``<name>_missing``, the number of
        completed cases without a value; ``outcome`` as in :func:`worst_over`;
        coordinates along the remaining dimensions. Attributes are kept.
    """
    import xarray as xr

    dims = [dim for dim in over if dim in dataset["outcome"].dims]
    completed = judged["outcome"] == int(Outcome.completed)
    values: dict[str, xr.DataArray] = {"outcome": worst_over(judged, dims)["outcome"]}
    for name in names:
        if name == "outcome" or name not in dataset.data_vars:
            continue
        kept = dataset[name].where(valued_cases(dataset, judged, name))
        other = NUMBERED_BY.get(name, "")
        if name in BY_SIZE or other in dataset.data_vars:
            decides = dataset[other].where(valued_cases(dataset, judged, other)) if other else abs(kept)
            reduced = kept.where(decides == decides.max(dims)).max(dims)
        else:
            reduced = kept.min(dims) if name in LEAST_IS_WORST else kept.max(dims)
        values[name] = reduced.assign_attrs(dataset[name].attrs)
        values[f"{name}_missing"] = (completed & kept.isnull()).sum(dims)
    return xr.Dataset(values, attrs=dataset.attrs)
