"""The static rule set against the swing itself (floor 5).

The static rule: force of the wind on the beam of the barge, times 1.25, over
the pull available, passes at 1 or less. The factor is common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from toolkit.findings.limits import BINDING_MEANINGS, apply_limits
from toolkit.findings.reading import require

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["CALM_COUNTS", "RULE_COUNTS", "back_test", "count_back_test", "set_against"]

RULE_COUNTS: tuple[str, ...] = (
    "rule_passes_swing_passes",
    "rule_passes_swing_fails",
    "rule_fails_swing_passes",
    "rule_fails_swing_fails",
)
"""The four ways in which rule and swing can agree or not."""

CALM_COUNTS: tuple[str, ...] = ("missed_in_calm_as_well", "missed_only_with_wind", "missed_calm_not_run")
"""Of the cases that the rule passes and the swing fails: what the same case does in calm."""


def back_test(dataset: xr.Dataset, limits: object | None = None) -> xr.Dataset:
    """Compare the static rule with the pass or fail of the simulated swing.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results with ``static_wind_demand`` as a variable or a coordinate.
    limits : mapping or dataclass, optional
        As for :func:`toolkit.findings.limits.apply_limits`.

    Returns
    -------
    xarray.Dataset
        The judged dataset (see :func:`toolkit.findings.limits.apply_limits`)
        with ``rule_passes`` (bool) and the four of `RULE_COUNTS` (bool, False
        where the case was not run). A demand that is NaN does not pass.

    Raises
    ------
    StudyError
        If ``static_wind_demand`` is missing.
    """
    require(dataset, ("static_wind_demand",), "the static rule")
    demand = dataset["static_wind_demand"].astype(np.float64)
    return set_against(apply_limits(dataset, limits), demand <= 1.0, words="static wind demand is 1 or less")


def set_against(judged: xr.Dataset, permits: xr.DataArray, *, words: str) -> xr.Dataset:
    """Set what any rule permits against the pass or fail of the simulated cases.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.limits.apply_limits`.
    permits : xarray.DataArray
        bool, on some or all dimensions of the cases.
    words : str
        What it means to be permitted.

    Returns
    -------
    xarray.Dataset
        `judged` with ``rule_passes`` and the four of `RULE_COUNTS`, as for
        :func:`back_test`. Lazy if either is.
    """
    import xarray as xr

    rule = (xr.zeros_like(judged["passes"]) | permits.reset_coords(drop=True)).transpose(*judged["passes"].dims)
    run, swing = judged["was_run"], judged["passes"]
    tested = judged.assign(rule_passes=rule.assign_attrs({"long_name": words}))
    for name, field in zip(
        RULE_COUNTS, (rule & swing, rule & run & ~swing, ~rule & swing, ~rule & run & ~swing), strict=True
    ):
        tested[name] = field.assign_attrs({"long_name": name.replace("_", " ")})
    return tested


def count_back_test(tested: xr.Dataset, *, keep: Iterable[str] = ()) -> xr.Dataset:
    """Four counts, and what binds where the rule passes and the swing does not.

    Parameters
    ----------
    tested : xarray.Dataset
        From :func:`back_test`.
    keep : iterable of str
        Dimensions to keep; counts run over all others.

    Returns
    -------
    xarray.Dataset
        The four of `RULE_COUNTS` (int), ``run_count``, and
        ``missed_count`` along ``binding``: cases that the rule passes and the
        swing does not, by reason. Where ``wind_speed`` is a dimension with a
        zero, the three of `CALM_COUNTS` as well, which add up to
        ``rule_passes_swing_fails``: a case is held against the one that differs
        from it in the wind speed alone, at zero; a case in calm is its own.
        Repeats count: in calm every direction of the wind is the same case.
        Lazy if `tested` is.
    """
    import xarray as xr

    reasons = {code: name for code, name in BINDING_MEANINGS.items() if name not in ("none", "not_run")}
    bound = xr.DataArray(list(reasons), dims="binding", coords={"binding": list(reasons.values())})
    missed = tested["rule_passes_swing_fails"]
    kept = set(keep)
    over = [dim for dim in missed.dims if dim not in kept]
    counts = xr.Dataset({name: tested[name].sum(over) for name in RULE_COUNTS}, attrs=tested.attrs)
    counts["run_count"] = tested["was_run"].sum(over)
    counts["missed_count"] = (missed & (tested["binding_limit"] == bound)).sum(over)
    for words, field in _against_calm(tested).items():
        counts[words] = (missed & field).sum(over)
    for name in counts.data_vars:
        counts[name].attrs = {"long_name": str(name).replace("_", " "), "units": "1"}
    return counts


def _against_calm(tested: xr.Dataset) -> dict[str, xr.DataArray]:
    """Whether each case fails in calm as well, passes there, or was not run there; empty without a calm to look at."""
    if "wind_speed" not in tested["passes"].dims or "wind_speed" not in tested.coords:
        return {}
    still = np.flatnonzero(tested["wind_speed"].values == 0.0)
    if not still.size:
        return {}
    calm = tested[["passes", "was_run"]].isel(wind_speed=int(still[0]), drop=True)
    fields = (calm["was_run"] & ~calm["passes"], calm["passes"], ~calm["was_run"])
    return dict(zip(CALM_COUNTS, fields, strict=True))
