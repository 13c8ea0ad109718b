"""Rules held against the simulated cases: how often too lax, how often too strict (floor 5).

A rule decides on a tug, a barge and a wind; it cannot know the direction the
wind will have. So cases are brought to decisions first: a decision stands where
the wanted share of its cases passes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.limits import BINDING_MEANINGS, MISSING_VALUE
from toolkit.findings.margins import check_factor
from toolkit.findings.reading import bare, require
from toolkit.findings.shares import share_of_runs
from toolkit.findings.static_rule import RULE_COUNTS, count_back_test, set_against

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["DECIDED_BY", "STATIC_MARGIN", "back_test_rules", "decisions", "permitted_by_requirement", "static_permits"]

DECIDED_BY: tuple[str, ...] = ("displacement", "wind_speed", "bollard_pull")
"""Inputs that a rule decides on."""

STATIC_MARGIN = 1.25
"""Factor within ``static_wind_demand``: common practice, no source."""

_ROUNDING = 1e-9


def static_permits(dataset: xr.Dataset, margin: float = STATIC_MARGIN) -> xr.DataArray:
    """Whether the rule 'wind force on the beam times a margin is within the pull' permits each case.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results with ``static_wind_demand`` (which holds a margin of 1.25).
    margin : float
        Factor on the wind force, in [0.1, 100].

    Returns
    -------
    xarray.DataArray
        bool; a demand that is NaN is not permitted.

    Raises
    ------
    StudyError
        If ``static_wind_demand`` is missing, or the margin out of its interval.
    """
    problems = check_factor("margin of the static rule", margin, 0.1, 100.0, "it is a factor on the wind force")
    if problems:
        raise StudyError(problems)
    require(dataset, ("static_wind_demand",), "the static rule")
    return dataset["static_wind_demand"].astype(np.float64) * (margin / STATIC_MARGIN) <= 1.0 + _ROUNDING


def permitted_by_requirement(found: xr.Dataset, dataset: xr.Dataset) -> xr.DataArray:
    """Whether a requirement permits each case: its pull is neither below what is asked nor above the largest.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.requirement.requirement`.
    dataset : xarray.Dataset
        Results with every banded input and the axis as coordinates.

    Returns
    -------
    xarray.DataArray
        bool. A value at an end of a band is in the lower band; one outside all
        bands is not permitted.
    """
    import xarray as xr

    axis = str(found.attrs["axis"])
    names = str(found.attrs["banded"]).split()
    require(dataset, (axis, *names), "holding a requirement against the cases")
    least, most = found["asked"].drop_vars(found.coords, errors="ignore"), found["largest"]
    most = most.drop_vars(found.coords, errors="ignore")
    for kept in str(found.attrs["kept"]).split():
        least, most = (one.assign_coords({kept: found[kept]}) for one in (least, most))
    inside: xr.DataArray | bool = True
    for name in names:
        value = dataset[name].reset_coords(drop=True)
        ends = found[f"{name}_high"].values * (1.0 + _ROUNDING)
        place = xr.apply_ufunc(lambda v, e=ends: np.searchsorted(e, v, side="left"), value)
        lowest = float(found[f"{name}_low"].min()) * (1.0 - _ROUNDING)
        inside = inside & (place < ends.size) & (value >= lowest)
        here = place.clip(max=ends.size - 1)
        least, most = (one.isel({f"{name}_band": here}) for one in (least, most))
    pull = dataset[axis].reset_coords(drop=True)
    within = (pull >= least * (1.0 - _ROUNDING)) & (pull <= most * (1.0 + _ROUNDING))
    return within & inside


def decisions(judged: xr.Dataset, keep: Iterable[str], share: float = 1.0, *, free: Iterable[str] = ()) -> xr.Dataset:
    """Bring cases to decisions: passes where at least a share of the cases pooled does.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.limits.apply_limits`.
    keep : iterable of str
        Dimensions of the decisions; cases along all others are pooled.
    share : float
        Share of cases that must pass, in (0, 1].
    free : iterable of str
        Dimensions whose value is to be chosen: a decision passes where it does
        with any of them.

    Returns
    -------
    xarray.Dataset
        ``passes``, ``was_run`` (False where cases not run leave it open) and
        ``binding_limit``, what most of the cases that do not pass fail for.
        Computed.
    """
    import xarray as xr

    problems = check_factor("share", share, 1e-6, 1.0, "it is a share of cases, as 0.9 for 90 percent")
    if problems:
        raise StudyError(problems)
    chosen = [d for d in free if d in judged["passes"].dims]
    counts = share_of_runs(judged, keep=[*keep, *chosen]).compute()
    cases, need = counts["case_count"], share - _ROUNDING
    passes = (counts["passing_count"] / cases >= need).any(chosen)
    open_still = ~passes & ((counts["passing_count"] + counts["not_run_count"]) / cases >= need).any(chosen)
    failed = counts["binding_count"].sum(chosen)
    codes = {name: code for code, name in BINDING_MEANINGS.items()}
    listed = np.array([codes[str(n)] for n in counts["binding"].values], dtype=np.int16)
    reason = xr.apply_ufunc(lambda place: listed[place], failed.argmax("binding"))
    none = failed.sum("binding") == 0
    reason = xr.where(passes, 0, xr.where(none, MISSING_VALUE, reason)).astype(np.int8)
    return xr.Dataset(
        {"passes": passes, "was_run": ~open_still, "binding_limit": reason}, attrs=judged.attrs
    ).assign_attrs(share=float(share))


def back_test_rules(
    judged: xr.Dataset,
    rules: Mapping[str, xr.DataArray],
    *,
    share: float = 1.0,
    by: str = "displacement",
    keep: Iterable[str] = (),
    free: Iterable[str] = (),
) -> xr.Dataset:
    """Count how often each rule is right, too lax and too strict.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.limits.apply_limits`: a grid or samples.
    rules : mapping
        Name to what it permits (bool by case), such as from
        :func:`toolkit.findings.draft_rule.permitted_by` or
        :func:`static_permits`. A decision is permitted where all of its cases are.
    share : float
        Share of the cases of a decision that must pass.
    by : str
        Input to count by, where it is a dimension of the decisions.
    keep : iterable of str
        Dimensions that make decisions beside those of `DECIDED_BY`, such as
        ``manoeuvre``. Of samples every case is a decision.
    free : iterable of str
        Dimensions whose value is to be chosen, as for :func:`decisions`.

    Returns
    -------
    xarray.Dataset
        Along ``rule`` and, where there is one, `by`: ``right_permitted``,
        ``too_lax`` (permitted, and does not pass), ``too_strict`` (not
        permitted, and passes), ``right_refused``, ``decision_count`` (their
        sum) and ``open_count``, decisions that cases not run leave open; along
        ``binding`` as well ``lax_reason_count``; ``case_count``, cases behind
        one decision. Computed.

    Raises
    ------
    StudyError
        If no rule is given.
    """
    import xarray as xr

    if not rules:
        raise StudyError([Problem(where="back-test", what="no rule is given", remedy="Give at least one")])
    judged = bare(judged)
    dims = [str(d) for d in judged["passes"].dims]
    kept = [d for d in dims if d in (*DECIDED_BY, *keep, "case")]
    pooled = [d for d in dims if d not in kept]
    decided = decisions(judged, kept, share, free=free)
    along = [by] if by in kept else []
    parts = []
    for name, permits in rules.items():
        flat = permits.reset_coords(drop=True).all([d for d in permits.dims if d in pooled])
        counts = count_back_test(set_against(decided, flat, words=f"permitted by {name}"), keep=along)
        part = counts[[*RULE_COUNTS, "missed_count"]].rename(dict(zip(RULE_COUNTS, _NAMES, strict=True)))
        part["open_count"] = (~decided["was_run"]).sum([d for d in decided["was_run"].dims if d not in along])
        parts.append(part.rename(missed_count="lax_reason_count"))
    tested = xr.concat(parts, dim="rule").assign_coords(rule=list(rules)).compute()
    tested["decision_count"] = sum((tested[name] for name in _NAMES[1:]), tested[_NAMES[0]])
    tested["case_count"] = int(np.prod([judged.sizes[d] for d in pooled], dtype=np.int64))
    for name, words in (
        ("right_permitted", "permitted, and passes"),
        ("too_lax", "permitted, and does not pass"),
        ("too_strict", "not permitted, and passes"),
        ("right_refused", "not permitted, and does not pass"),
        ("decision_count", "decisions"),
        ("open_count", "decisions that cases not run leave open"),
        ("lax_reason_count", "decisions that are too lax, by the reason"),
        ("case_count", "cases behind one decision"),
    ):
        tested[name].attrs = {"long_name": words, "units": "1"}
    return tested.assign_attrs(judged.attrs, share=float(share), by=" ".join(along), pooled=" ".join(pooled))


_NAMES = ("right_permitted", "too_lax", "too_strict", "right_refused")
