"""The share of runs that a finding rests on (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from toolkit.findings.display import long_name
from toolkit.findings.limits import BINDING_MEANINGS, binding_words
from toolkit.findings.reading import bare, require
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["share_of_runs", "shares_text"]


def share_of_runs(judged: xr.Dataset, *, keep: Iterable[str] = ()) -> xr.Dataset:
    """Count how cases ended, what bound, and how many passed.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.limits.apply_limits`.
    keep : iterable of str
        Dimensions to keep; counts run over all others.

    Returns
    -------
    xarray.Dataset
        ``case_count``, ``run_count``, ``not_run_count``, ``completed_count``,
        ``passing_count`` (int); ``share_completed`` and ``share_passing``, both
        of the cases that were run (NaN where none was); ``outcome_count`` along
        ``ended`` (all outcomes); ``binding_count`` along ``binding`` (all codes
        but "none" and "not_run"; of cases that were run); ``applied_count``
        along ``limit``: completed cases to which each limit applied. Lazy if
        `judged` is.
    """
    import xarray as xr

    require(judged, ("passes", "was_run", "outcome", "binding_limit"), "counting runs")
    kept, judged = set(keep), bare(judged)
    over = [dim for dim in judged["passes"].dims if dim not in kept]
    outcome, binding = judged["outcome"], judged["binding_limit"]
    names = [o.name for o in Outcome]
    reasons = {code: name for code, name in BINDING_MEANINGS.items() if name not in ("none", "not_run")}

    def count(field: xr.DataArray) -> xr.DataArray:
        return field.sum(over).astype(np.int64)

    ended = xr.DataArray([int(o) for o in Outcome], dims="ended", coords={"ended": names})
    bound = xr.DataArray(list(reasons), dims="binding", coords={"binding": list(reasons.values())})
    run_count = count(judged["was_run"])
    completed = count(outcome == int(Outcome.completed))
    passing = count(judged["passes"])
    applied = judged["limit_utilisation"].notnull().sum(over).astype(np.int64)
    counts = xr.Dataset(
        {
            "case_count": count(xr.ones_like(judged["was_run"])),
            "run_count": run_count,
            "not_run_count": count(~judged["was_run"]),
            "completed_count": completed,
            "passing_count": passing,
            "share_completed": completed / run_count.where(run_count > 0),
            "share_passing": passing / run_count.where(run_count > 0),
            "outcome_count": count(outcome == ended),
            "binding_count": count(binding == bound),
            "applied_count": applied,
        },
        attrs=judged.attrs,
    )
    for name, words in (
        ("case_count", "cases in the design"),
        ("run_count", "cases that were run"),
        ("not_run_count", "cases not run, left out of the shares"),
        ("completed_count", "cases that completed"),
        ("passing_count", "cases that completed and keep every limit"),
        ("share_completed", "share of the cases run that completed"),
        ("share_passing", "share of the cases run that pass"),
        ("outcome_count", "cases by how they ended"),
        ("binding_count", "cases run that do not pass, by the reason"),
        ("applied_count", "completed cases to which the limit applied"),
    ):
        counts[name].attrs = {"long_name": words, "units": "1"}
    return counts


def shares_text(counts: xr.Dataset) -> str:
    """One line on the runs a finding rests on; computes lazy counts.

    Parameters
    ----------
    counts : xarray.Dataset
        From :func:`share_of_runs` without `keep`.
    """
    counts = counts.compute()
    cases, runs = int(counts["case_count"]), int(counts["run_count"])
    if runs == 0:
        return f"none of {cases:,} cases has been run: nothing can be read off."
    left = "" if runs == cases else f" ({cases - runs:,} not run, left out)"
    text = (
        f"{runs:,} of {cases:,} cases run{left}; {100 * float(counts['share_completed']):.1f} % completed, "
        f"{100 * float(counts['share_passing']):.1f} % pass"
    )
    failures = counts["binding_count"]
    codes = {name: code for code, name in BINDING_MEANINGS.items()}
    ranked = sorted(((int(failures.sel(binding=n)), str(n)) for n in failures["binding"].values), reverse=True)
    told = [f"{binding_words(codes[name])} {number:,}" for number, name in ranked[:3] if number]
    text += f". Most often not passed for: {', '.join(told)}." if told else "."
    if "limit" in counts.dims:
        applied = {str(n): int(counts["applied_count"].sel(limit=n)) for n in counts["limit"].values}
        idle = [name for name, number in applied.items() if name != "none" and number == 0]
        if idle and int(counts["completed_count"]):
            text += f" No case gave a value for the limit on: {'; '.join(map(long_name, idle))}."
    return text
