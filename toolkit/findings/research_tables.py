"""Tables of comparisons, sensitivities and convergence (floor 5)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from toolkit.findings.display import axis_label, display_text, long_name, to_display
from toolkit.findings.reading import axis_values, cautions, directions, provenance
from toolkit.findings.sensitivity.responses import response_label
from toolkit.findings.sensitivity.words import basis_lines
from toolkit.findings.table import Cell, Table

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.motion.convergence import Accuracy

__all__ = [
    "comparison_lines",
    "paired_difference_table",
    "preference_table",
    "sample_size_table",
    "sensitivity_table",
    "spread_table",
    "step_table",
]

_ENDS = ("_low", "_high")
_BOTH_ENDS = (*_ENDS, "_t_low", "_t_high")


def _notes(attributes: Mapping[Any, Any], *first: str) -> tuple[str, ...]:
    return (*first, directions(attributes), provenance(attributes), cautions(attributes))


def _percent(share: Any) -> float:
    return 100.0 * float(share)


def comparison_lines(compared: xr.Dataset) -> tuple[str, ...]:
    """What a comparison rests on, in sentences: pairs, how each ended, blocks, horizon."""
    first, second = (str(compared.attrs[k]).replace("_", " ") for k in ("first", "second"))
    count = {k: int(compared[f"{k}_count"]) for k in ("pair", "both_completed", "only_first", "only_second", "neither",
                                                      "not_run", "unshared")}  # fmt: skip
    run = count["pair"] - count["not_run"]

    def told(key: str) -> str:
        return f"{count[key]:,} ({100.0 * count[key] / run:.1f} %)" if run else f"{count[key]:,}"

    lines = [
        f"{first} against {second}: of {run:,} pairs run both completed in {told('both_completed')}, only {first} in "
        f"{told('only_first')}, only {second} in {told('only_second')}, neither in {told('neither')}."
    ]
    if count["not_run"]:
        lines.append(f"{count['not_run']:,} pairs were not run, or one of the two was not: left out.")
    if count["unshared"]:
        lines.append(f"{count['unshared']:,} cases have no partner in the other and are left out.")
    for side, name in (("first", first), ("second", second)):
        late, failed = (int(compared[f"{side}_{end}_count"]) for end in ("out_of_time", "failed"))
        lines.append(
            f"Not completed, {name}: {late:,} still not done at the time limit, {failed:,} by another failure."
        )
    differs = [long_name(name) for name in str(compared.attrs.get("differs_in", "")).split()]
    lines.append(f"The two differ in: {', '.join(differs)}." if differs else "The two differ in no input on record.")
    lines.append(f"Blocks are {compared.attrs['block_words']}.")
    return tuple(lines)


def paired_difference_table(comparisons: Sequence[xr.Dataset]) -> Table:
    """Paired differences with their intervals, one row a configuration and outcome.

    Parameters
    ----------
    comparisons : sequence of xarray.Dataset
        From :func:`toolkit.findings.paired.compare_results`, one or more.
    """
    rows: list[tuple[Cell, ...]] = []
    for compared in comparisons:
        first, second = (str(compared.attrs[k]) for k in ("first", "second"))
        for name in map(str, compared["quantity"].values):
            here = compared.sel(quantity=name)
            keys = ("mean_first", "mean_second", "mean_difference", *(f"mean_difference{e}" for e in _BOTH_ENDS),
                    "median_difference")  # fmt: skip
            flips = (f"share_sign_flips{e}" for e in ("", *_ENDS))
            rows.append(
                (
                    f"{second} less {first}", axis_label(name), int(here["compared_count"]), int(here["blocks_count"]),
                    *(float(to_display(name, here[key].item())) for key in keys),
                    *(_percent(here[key]) for key in flips),
                    _percent(here["share_conditions_flipping"]), float(here["pairing_gain"]),
                )
            )  # fmt: skip
    level = f"{100.0 * float(comparisons[0].attrs['level']):.4g} %" if comparisons else ""
    return Table(
        title="Paired differences of configurations, all else alike",
        header=(
            "difference", "outcome", "pairs compared", "blocks", "mean of the first", "mean of the second",
            "mean difference", "bootstrap low", "bootstrap high", "t low", "t high", "median difference",
            "sign flips [%]", "sign flips low [%]", "sign flips high [%]", "conditions that flip between draws [%]",
            "variance without pairing over with",
        ),
        rows=tuple(rows),
        notes=_notes(
            comparisons[0].attrs if comparisons else {},
            f"Means and differences are of the pairs in which both completed: read them with the shares below and with "
            f"the table of preferences, which leaves no pair out. Intervals are at {level}, each on its own; the more "
            "rows, the more of them miss.",
            "Differences are second less first: of 'B less A' A is the first and B the second.",
            "Sign flips: pairs whose difference has the other sign than the mean.",
            *(line for compared in comparisons for line in comparison_lines(compared)),
        ),
    )  # fmt: skip


def preference_table(comparisons: Sequence[xr.Dataset]) -> Table:
    """Which does better with failed cases counted, and times up to the time limit.

    Parameters
    ----------
    comparisons : sequence of xarray.Dataset
        As for :func:`paired_difference_table`.
    """
    rows: list[tuple[Cell, ...]] = []
    for compared in comparisons:
        first, second = (str(compared.attrs[k]) for k in ("first", "second"))
        for name in map(str, compared["quantity"].values):
            here = compared.sel(quantity=name)
            times = ("restricted_mean_first", "restricted_mean_second",
                     *(f"restricted_difference{e}" for e in ("", *_ENDS)))  # fmt: skip
            rows.append(
                (
                    f"{first} against {second}", axis_label(name),
                    *(_percent(here[f"share_{side}_better"]) for side in ("first", "second")),
                    *(_percent(here[f"net_preference{e}"]) for e in ("", *_BOTH_ENDS)), float(here["sign_test_p"]),
                    int(here["restricted_count"]),
                    *(float(to_display(name, here[key].item())) for key in times),
                )
            )  # fmt: skip
    horizon = float(comparisons[0].attrs["horizon"]) if comparisons else math.nan
    watched = "no time limit is recorded, so there are none" if math.isnan(horizon) else (
        f"up to {display_text('time_limit', horizon)}, which stands for every time that was not reached"
    )  # fmt: skip
    turned = any("time_to_turn" in one["quantity"].values for one in comparisons)
    return Table(
        title="Which configuration does better, failed cases counted",
        header=(
            "pair",
            "judged by",
            "first better [%]",
            "second better [%]",
            "net for the first [%]",
            "bootstrap low [%]",
            "bootstrap high [%]",
            "t low [%]",
            "t high [%]",
            "sign test p",
            "pairs with a restricted time",
            "restricted mean of the first",
            "restricted mean of the second",
            "second less first",
            "low",
            "high",
        ),
        rows=tuple(rows),
        notes=_notes(
            comparisons[0].attrs if comparisons else {},
            "Of a pair the better is the one that alone completed; where both did, the one with the better value; "
            "where neither did, none. A time that was not reached counts as longer than any that was.",
            f"Restricted mean times: {watched}; a case that failed early never gets there.",
            *(
                (
                    "A barge that was steady short of the target heading has no time to turn, and her pair no "
                    "restricted one.",
                )
                if turned
                else ()
            ),
            *(line for compared in comparisons for line in comparison_lines(compared)),
        ),
    )


def _in_units(name: str, value: Any) -> float:
    return float(to_display(name, float(value)))


def sensitivity_table(screened: xr.Dataset | None, indices: xr.Dataset | None) -> Table:
    """Screening and Sobol' indices, one row a response and input.

    Parameters
    ----------
    screened : xarray.Dataset, optional
        From :func:`toolkit.findings.sensitivity.screen`.
    indices : xarray.Dataset, optional
        From :func:`toolkit.findings.sensitivity.sobol`.
    """
    orders = [f"{order}{e}" for order in ("first_order", "total_order") for e in ("", *_ENDS, "_half")]
    sizes = ["mean_size", "mean_size_low", "mean_size_high", "mean_effect", "deviation"]
    found = [part for part in (screened, indices) if part is not None]
    names = list(dict.fromkeys(str(n) for part in found for n in part["quantity"].values))
    rows: list[tuple[Cell, ...]] = []
    for name in names:
        for factor in dict.fromkeys(str(f) for part in found for f in part["factor"].values):
            row: list[Cell] = [response_label(name), long_name(factor)]
            for part, keys in ((screened, sizes), (indices, orders)):
                there = part is not None and name in part["quantity"].values and factor in part["factor"].values
                for key in keys:
                    value = (
                        float(part[key].sel(quantity=name, factor=factor)) if part is not None and there else math.nan
                    )
                    row.append(_in_units(name, value) if part is screened else value)
            share = [part["stood_in_share"].sel(quantity=name) for part in found if name in part["quantity"].values]
            rows.append((*row, _percent(share[-1])))
    notes = [line for part in found for line in basis_lines(part, jumps=part is found[-1])]
    return Table(
        title="What moves the outcomes: screening and Sobol' indices",
        header=(
            "response", "input", "mean size of effect", "low", "high", "mean effect", "deviation",
            "first index", "first low", "first high", "first, half the sample",
            "total index", "total low", "total high", "total, half the sample", "stand-ins [%]",
        ),
        rows=tuple(rows),
        notes=_notes(
            found[0].attrs if found else {},
            "Effects: change of the response over the whole width of an input (Morris 1991, second hand). "
            "Indices: share of the variance, alone and with all interactions (Saltelli and others 2010); "
            "below 0 or above 1 is an error of the sample. Empty: held, or the response is constant.",
            *dict.fromkeys(notes),
        ),
    )  # fmt: skip


def spread_table(spread: xr.Dataset) -> Table:
    """Outcomes with the coefficients over their spread, one row a response and value of the input.

    Parameters
    ----------
    spread : xarray.Dataset
        From :func:`toolkit.findings.sensitivity.spread_over`.
    """
    along = str(spread.attrs["along"])
    rows: list[tuple[Cell, ...]] = []
    for name in map(str, spread["quantity"].values):
        for place, value in enumerate(axis_values(spread, along)):
            here = spread.sel(quantity=name).isel({along: place})
            shown: Cell = value.replace("_", " ") if isinstance(value, str) else _in_units(along, value)
            rows.append(
                (
                    response_label(name), shown, _in_units(name, here["nominal"]),
                    *(_in_units(name, q) for q in here["value"].values), _percent(here["failed_share"]),
                    _percent(here["stood_in_share"]), "no" if bool(here["nominal_failed"]) else "yes",
                )
            )  # fmt: skip
    return Table(
        title=f"Spread of the coefficients propagated, over {long_name(along)}",
        header=(
            "response", axis_label(along), "coefficients as they stand",
            *(f"{100.0 * float(q):g} % below" for q in spread["quantile"].values), "not completed [%]",
            "stand-ins [%]", "completed as they stand",
        ),
        rows=tuple(rows),
        notes=_notes(
            spread.attrs,
            f"{spread.attrs['samples']} draws of: {', '.join(map(long_name, str(spread.attrs['spread']).split()))}; "
            "each even over its stated spread and independent of the others, the same draws at every value.",
            *basis_lines(spread),
        ),
    )  # fmt: skip


def sample_size_table(running: xr.Dataset) -> Table:
    """Means over more and more samples, one row a response and number.

    Parameters
    ----------
    running : xarray.Dataset
        From :func:`toolkit.findings.sensitivity.running_means`.
    """
    rows: list[tuple[Cell, ...]] = []
    for name in map(str, running["quantity"].values):
        for place, count in enumerate(running["count"].values):
            here = running.sel(quantity=name).isel(count=place)
            keys = ("mean", "low", "high", "error", "random_error")
            rows.append((response_label(name), int(count), *(_in_units(name, here[key]) for key in keys)))
    return Table(
        title="Convergence of means in the number of samples",
        header=("response", "samples", "mean over replicates", "low", "high", "error of one sequence",
                "error of as many random cases"),
        rows=tuple(rows),
        notes=_notes(
            running.attrs,
            f"{running.attrs['replicates']} Sobol' sequences, each scrambled anew: their spread is the error of one.",
            *basis_lines(running),
        ),
    )  # fmt: skip


def step_table(rows: Sequence[Accuracy], attributes: Mapping[str, Any], what: str) -> Table:
    """Differences that a refined time step makes, one row a run and outcome that any case has.

    Parameters
    ----------
    rows : sequence of Accuracy
        From :mod:`toolkit.motion.convergence`.
    attributes : mapping
        Of results of the same model, for the notes.
    what : str
        What was compared, in a sentence.
    """
    return Table(
        title="Convergence in the time step",
        header=("run", "outcome", "cases", "median [%]", "90 of 100 below [%]", "99 of 100 below [%]", "largest [%]",
                "within 0.5 % [%]", "ends otherwise [%]"),
        rows=tuple(
            (
                row.run, long_name(row.outcome), row.cases,
                *(100.0 * v for v in (row.median, row.percentile_90, row.percentile_99, row.largest, row.share_within,
                                      row.changed)),
            )
            for row in rows
            if row.cases or row.changed
        ),
        notes=_notes(attributes, what),
    )  # fmt: skip
