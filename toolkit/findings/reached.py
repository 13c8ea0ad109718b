"""Which values of an axis reach a share of passing cases in every case of a band (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.bands import BANDED, Bands, bands_along, in_bands, with_axes
from toolkit.findings.display import long_name
from toolkit.findings.limits import BINDING_MEANINGS, OUTCOME_OFFSET
from toolkit.findings.margins import check_factor
from toolkit.findings.reading import axis_is_numeric
from toolkit.findings.shares import share_of_runs
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["cut_into_bands", "reached_in_bands", "reason_at"]

_ROUNDING = 1e-9


def cut_into_bands(
    judged: xr.Dataset, axis: str, bands: Mapping[str, Sequence[float] | None] | None
) -> tuple[xr.Dataset, dict[str, Bands]]:
    """Check what a requirement is asked for, and cut its bands.

    Parameters
    ----------
    judged : xarray.Dataset
        A judged grid.
    axis : str
        The axis along which values are asked for, such as ``bollard_pull``.
    bands : mapping or None
        Input to the ends of its bands [dataset unit], or to None for bands
        between the values run; by default displacement and wind speed.

    Returns
    -------
    tuple
        The dataset with `axis` rising and every banded input as an axis, and
        the bands by input.

    Raises
    ------
    StudyError
        With every problem: samples instead of a grid, `axis` or a banded input
        that is not there, edges beyond the values run.
    """
    if "case" in judged["passes"].dims or axis not in judged["passes"].dims or not axis_is_numeric(judged, axis):
        raise StudyError([_no_grid(judged, axis)])
    wanted = dict(bands) if bands is not None else {n: None for n in BANDED if n in judged.coords}
    wanted.pop(axis, None)
    field = with_axes(judged, wanted).sortby(axis)
    cut: dict[str, Bands] = {}
    problems: list[Problem] = []
    for name, edges in wanted.items():
        try:
            cut[name] = bands_along(field, name, edges)
        except StudyError as error:
            problems.extend(error.problems)
    if problems:
        raise StudyError(problems)
    return field, cut


def _no_grid(judged: xr.Dataset, axis: str) -> Problem:
    swept = ", ".join(str(d) for d in judged["passes"].dims) or "none"
    return Problem(
        where=str(judged.attrs.get("title", "dataset")),
        what=f"{axis} is not swept on a grid",
        why=f"the smallest {long_name(axis)} that passes can be found only among several that were run",
        remedy=f"Sweep {axis} with [design] kind = 'grid'; here these are swept: {swept}",
    )


def reached_in_bands(
    field: xr.Dataset, axis: str, cut: Mapping[str, Bands], keep: Iterable[str], share: float
) -> xr.Dataset:
    """Share of passing cases by value of the axis and band, worst case of each band.

    Parameters
    ----------
    field : xarray.Dataset
        From :func:`cut_into_bands`.
    axis : str
        Axis along which values are asked for.
    cut : mapping
        Bands by input.
    keep : iterable of str
        Dimensions to keep; cases along all others are pooled.
    share : float
        Share of cases that must pass, in (0, 1].

    Returns
    -------
    xarray.Dataset
        On `axis`, the bands and `keep`: ``share`` of the cases that pass, where
        it is smallest in the band, cases not run counted as not passing;
        ``reached`` (bool): it is at least `share`; ``may_reach`` (bool): it
        would be, if all cases not run passed; ``case_count``, cases pooled in
        one share; ``passing_count`` of them there; ``reason_count`` along
        ``binding``: cases run that do not pass, where the share is not reached;
        ``utilisation``, largest among passing cases, and ``nearest``, its
        limit. Computed.

    Raises
    ------
    StudyError
        If the share is not in (0, 1].
    """
    import xarray as xr

    problems = check_factor("share", share, 1e-6, 1.0, "it is a share of cases, as 0.9 for 90 percent")
    if problems:
        raise StudyError(problems)
    kept = [axis, *cut, *(k for k in keep if k in field["passes"].dims)]
    pooled = [d for d in field["passes"].dims if d not in kept]
    counts = share_of_runs(field, keep=kept)
    used = field["utilisation"].where(field["passes"]).fillna(-1.0)
    most = used.max(pooled)
    nearest = field["nearest_limit"].where((used == most) & (used >= 0.0), 0).max(pooled)
    drawn = xr.Dataset(
        {
            "passing": counts["passing_count"], "cases": counts["case_count"], "unrun": counts["not_run_count"],
            "reasons": counts["binding_count"], "used": most, "nearest": nearest,
        }
    ).compute()  # fmt: skip
    cases = drawn["cases"]
    need = share - _ROUNDING
    found = xr.Dataset({"share": drawn["passing"] / cases, "hope": (drawn["passing"] + drawn["unrun"]) / cases})
    found["reasons"] = drawn["reasons"].where(found["share"] < need, 0)
    found["used"], found["nearest"] = drawn["used"], drawn["nearest"]
    found["cases"], found["passing"] = cases, drawn["passing"]
    for bands in cut.values():
        found = in_bands(found, bands, _worst)
    found = xr.Dataset(
        {
            "share": found["share"],
            "reached": found["share"] >= need,
            "may_reach": found["hope"] >= need,
            "case_count": found["cases"].astype(np.int64),
            "passing_count": found["passing"].astype(np.int64),
            "reason_count": found["reasons"].astype(np.int64),
            "utilisation": found["used"].where(found["used"] >= 0.0),
            "nearest": found["nearest"].astype(np.int8),
        }
    )
    return found.transpose(axis, *(b.dim for b in cut.values()), ...)


def _worst(part: xr.Dataset, dim: str) -> xr.Dataset:
    """Cases of one band as one: smallest share, largest utilisation with its limit, sum of reasons."""
    import xarray as xr

    used = part["used"]
    return xr.Dataset(
        {
            **{name: part[name].min(dim) for name in ("share", "hope", "passing")},
            "cases": part["cases"].max(dim),
            "reasons": part["reasons"].sum(dim),
            "used": part["used"].max(dim),
            "nearest": part["nearest"].where(used == used.max(dim), 0).max(dim),
        }
    )


def reason_at(counts: xr.DataArray) -> int:
    """Code of `binding_limit` that most cases have, of counts along ``binding``; ``not_run`` where there is none."""
    codes = {name: code for code, name in BINDING_MEANINGS.items()}
    numbers = counts.values
    if not numbers.size or not numbers.max():
        return OUTCOME_OFFSET + int(Outcome.not_run)
    return codes[str(counts["binding"].values[int(np.argmax(numbers))])]
