"""Limits tightened by a margin (floor 5)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.limits import MISSING_VALUE
from toolkit.findings.reading import require

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["check_factor", "tighten"]

_ROUNDING = 1e-12


def check_factor(name: str, value: float, low: float, high: float, why: str) -> list[Problem]:
    """Problem of a number that must lie in an interval; empty if it does."""
    if isinstance(value, (int, float)) and math.isfinite(value) and low <= value <= high:
        return []
    what = f"{name} = {value} is outside [{low:g}, {high:g}]"
    return [Problem(where=name, what=what, why=why, remedy=f"Give a number from {low:g} to {high:g}")]


def tighten(judged: xr.Dataset, margin: float) -> xr.Dataset:
    """Judge cases again with every limit tightened by a factor.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.limits.apply_limits`.
    margin : float
        1 or more: every value may reach its limit over the margin, at most (of
        room to the edge: the distance used may be the distance allowed over
        the margin).

    Returns
    -------
    xarray.Dataset
        `judged` with ``passes`` and ``binding_limit`` anew; utilisations stay
        relative to the limits as they were set. Lazy if `judged` is.

    Raises
    ------
    StudyError
        If the margin is not in [1, 10].
    """
    import xarray as xr

    problems = check_factor("limit margin", margin, 1.0, 10.0, "it tightens limits, it does not loosen them")
    if problems:
        raise StudyError(problems)
    if margin == 1.0:
        return judged
    require(judged, ("passes", "utilisation", "nearest_limit", "binding_limit"), "a margin on limits")
    kept_before = judged["binding_limit"] < MISSING_VALUE
    over = kept_before & (judged["utilisation"] * margin > 1.0 + _ROUNDING)
    tightened = judged.assign(
        passes=judged["passes"] & ~over,
        binding_limit=xr.where(over, judged["nearest_limit"], judged["binding_limit"]).astype(np.int8),
    )
    for name in ("passes", "binding_limit"):
        tightened[name].attrs = judged[name].attrs
    words = f"{judged.attrs.get('limits_applied', 'none')}; each tightened by a factor of {margin:g}"
    return tightened.assign_attrs(limits_applied=words, limit_margin=float(margin))
