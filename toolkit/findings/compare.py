"""Two ways of doing the same job, case by case with all else alike (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.conditions import facts_of_results
from toolkit.findings.display import long_name
from toolkit.findings.reading import outcome_of
from toolkit.quantities import Outcome
from toolkit.quantities.manoeuvres import WHOLE_NUMBERS, Facts

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["PAIRED_QUANTITIES", "pair", "pair_along", "paired_quantities", "summarise_pairs"]

PAIRED_QUANTITIES: tuple[str, ...] = (
    "time_to_turn",
    "time_to_steady",
    "swept_radius_all",
    "swept_radius_barge",
    "drift_distance",
    "overshoot",
    "peak_heel_fraction",
    "drive_energy",
)
"""Outcomes of a swing that are compared by default; of each, less is better."""

_NEITHER_BETTER = frozenset({"drift_along_berth", "course_growth_rate"}) | WHOLE_NUMBERS


def paired_quantities(dataset: xr.Dataset) -> tuple[str, ...]:
    """Outcomes of results that are compared by default: the time of the job, what is drawn of it, and room and energy.

    Of those in `toolkit.quantities.manoeuvres.LEAST_IS_WORST` more is better, of all others less.
    """
    facts = facts_of_results(dataset)
    if isinstance(facts, Facts) and facts.swings:
        return PAIRED_QUANTITIES
    more = ("swept_radius_all", "drift_distance", "peak_heel_fraction", "drive_energy")
    return tuple(n for n in dict.fromkeys((facts.time, *facts.figures, *more)) if n not in _NEITHER_BETTER)


def pair_along(
    dataset: xr.Dataset, axis: str, first: str, second: str, *, quantities: Iterable[str] | None = None
) -> xr.Dataset:
    """Pair the cases of two values of one axis; see :func:`pair`.

    Raises
    ------
    StudyError
        If `axis` is not swept on a grid, or either value is not on it.
    """
    values = [str(v) for v in dataset[axis].values] if axis in dataset.dims else []
    absent = [value for value in (first, second) if value not in values]
    if absent:
        raise StudyError(
            Problem(
                where=str(dataset.attrs.get("title", "dataset")),
                what=f"{axis} = {value} is not swept",
                why="cases can be paired only where both were run with all else alike",
                remedy=f"Sweep {axis} on a grid with both values; it has: {', '.join(values) or 'none'}",
            )
            for value in absent
        )
    at = [dataset.isel({axis: values.index(value)}, drop=True) for value in (first, second)]
    return pair(*at, names=(first, second), quantities=quantities)


def pair(
    first: xr.Dataset,
    second: xr.Dataset,
    *,
    names: tuple[str, str] = ("first", "second"),
    quantities: Iterable[str] | None = None,
) -> xr.Dataset:
    """Pair two results datasets, case by case, over the cases they share.

    Parameters
    ----------
    first, second : xarray.Dataset
        Results with the same dimensions; coordinates in common are paired.
    names : tuple of str
        What to call the two.
    quantities : iterable of str, optional
        Outcomes to compare; by default those of :func:`paired_quantities` that both have.

    Returns
    -------
    xarray.Dataset
        ``both_completed``, ``only_first``, ``only_second``, ``neither`` (bool;
        of pairs with both cases run), ``not_run`` (bool: one or both were not);
        and for every quantity ``<name>_first``, ``<name>_second`` and
        ``<name>_difference``, second less first, NaN unless both completed.
        Attributes ``first`` and ``second`` hold the names. Lazy if the two are.

    Raises
    ------
    StudyError
        If the dimensions differ or no case is shared.
    """
    import xarray as xr

    chosen = tuple(quantities) if quantities is not None else paired_quantities(first)
    chosen = tuple(q for q in chosen if q in first.data_vars and q in second.data_vars)
    if set(first["outcome"].dims) != set(second["outcome"].dims):
        raise StudyError(
            [
                Problem(
                    where="pairing",
                    what=f"the dimensions differ: {first['outcome'].dims} and {second['outcome'].dims}",
                    why="a pair has all other inputs alike",
                    remedy="Run both on the same grid",
                )
            ]
        )
    one, two = xr.align(first, second, join="inner")
    if first["outcome"].size and not one["outcome"].size:
        raise StudyError([Problem(where="pairing", what="the two share no case", remedy="Run both on the same grid")])
    a, b = outcome_of(one), outcome_of(two)
    run = (a != int(Outcome.not_run)) & (b != int(Outcome.not_run))
    done_a, done_b = a == int(Outcome.completed), b == int(Outcome.completed)
    pairs = xr.Dataset(
        {
            "both_completed": done_a & done_b,
            "only_first": run & done_a & ~done_b,
            "only_second": run & done_b & ~done_a,
            "neither": run & ~done_a & ~done_b,
            "not_run": ~run,
        },
        attrs={**first.attrs, "first": names[0], "second": names[1], "quantities": " ".join(chosen)},
    )
    both = pairs["both_completed"]
    for name in chosen:
        values = (one[name].where(both), two[name].where(both))
        attributes = {"units": first[name].attrs.get("units", "1")}
        for label, value in zip(("first", "second"), values, strict=True):
            pairs[f"{name}_{label}"] = value.assign_attrs(
                {**attributes, "long_name": f"{long_name(name)}, {names[label == 'second']}"}
            )
        pairs[f"{name}_difference"] = (values[1] - values[0]).assign_attrs(
            {**attributes, "long_name": f"{long_name(name)}, {names[1]} less {names[0]}"}
        )
    return pairs


def summarise_pairs(pairs: xr.Dataset) -> xr.Dataset:
    """Share of pairs that each of the two wins, with the failed counted.

    Parameters
    ----------
    pairs : xarray.Dataset
        From :func:`pair` or :func:`pair_along`.

    Returns
    -------
    xarray.Dataset
        Counts ``pair_count``, ``both_completed_count``, ``only_first_count``,
        ``only_second_count``, ``neither_count``, ``not_run_count``; along
        ``quantity``: ``compared_count``, ``share_first_smaller``,
        ``share_second_smaller``, ``share_equal`` of the pairs compared (NaN if
        none) and ``median_difference``, ``lower_quartile``, ``upper_quartile``
        of second less first [dataset units of each]. Pairs of which one failed
        are in no difference: they are counted beside it. Computed.
    """
    import xarray as xr

    pairs = pairs.compute()
    names = str(pairs.attrs.get("quantities", "")).split()
    columns: dict[str, list[float]] = {
        key: []
        for key in (
            "compared_count", "share_first_smaller", "share_second_smaller", "share_equal",
            "median_difference", "lower_quartile", "upper_quartile",
        )
    }  # fmt: skip
    for name in names:
        difference = pairs[f"{name}_difference"].values.ravel()
        difference = difference[np.isfinite(difference)]
        count = difference.size
        lower, median, upper = np.quantile(difference, [0.25, 0.5, 0.75]) if count else (np.nan,) * 3
        row = (
            count,
            np.mean(difference > 0) if count else np.nan,
            np.mean(difference < 0) if count else np.nan,
            np.mean(difference == 0) if count else np.nan,
            median, lower, upper,
        )  # fmt: skip
        for key, value in zip(columns, row, strict=True):
            columns[key].append(float(value))
    summary = xr.Dataset(
        {key: ("quantity", np.array(values)) for key, values in columns.items()},
        coords={"quantity": names},
        attrs=pairs.attrs,
    )
    summary["compared_count"] = summary["compared_count"].astype(np.int64)
    summary["pair_count"] = pairs["both_completed"].size
    for key in ("both_completed", "only_first", "only_second", "neither", "not_run"):
        summary[f"{key}_count"] = pairs[key].sum()
    return summary
