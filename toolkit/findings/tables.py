"""Tables of findings, each with what it rests on (floor 5)."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from toolkit.findings.display import axis_label, display_text, display_unit, long_name, to_display
from toolkit.findings.envelope import EnvelopeStatus
from toolkit.findings.limits import BINDING_MEANINGS, binding_words, limit_words, limits_of
from toolkit.findings.reading import axis_values, cautions, provenance
from toolkit.findings.shares import share_of_runs
from toolkit.findings.static_rule import RULE_COUNTS
from toolkit.findings.table import Cell, Table, notes_on
from toolkit.quantities.units import BEARINGS

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "band_table",
    "limits_table",
    "outcome_table",
    "overview_lines",
    "pairs_table",
    "static_rule_table",
    "wind_limit_table",
]

_SPREAD = ("median_difference", "lower_quartile", "upper_quartile")
_CALM_WORDS = {
    "missed_in_calm_as_well": "fails in calm as well",
    "missed_only_with_wind": "fails only with wind",
    "missed_calm_not_run": "calm not run",
}
_PAIR_COUNTS = ("pair", "both_completed", "only_first", "only_second", "neither", "not_run")


def outcome_table(judged: xr.Dataset) -> Table:
    """How cases ended and what bound, as counts and shares of the cases run."""
    counts = share_of_runs(judged).compute()
    runs = int(counts["run_count"])
    rows: list[tuple[Cell, ...]] = []
    for name in counts["ended"].values:
        number = int(counts["outcome_count"].sel(ended=name))
        if number:
            share = math.nan if name == "not_run" or not runs else 100.0 * number / runs
            rows.append(("how it ended", str(name).replace("_", " "), number, share))
    rows.append(("judged", "passes", int(counts["passing_count"]), 100.0 * float(counts["share_passing"])))
    rows.extend(
        ("does not pass for", words, number, 100.0 * number / runs)
        for words, number in _ranked_reasons(counts["binding_count"])
    )
    return Table(
        title="How cases ended and what binds",
        header=("group", "reason", "cases", "share of cases run [%]"),
        rows=tuple(rows),
        notes=notes_on(judged),
    )


def _ranked_reasons(counts: xr.DataArray) -> list[tuple[str, int]]:
    """Reasons with a count above zero, most frequent first."""
    codes = {name: code for code, name in BINDING_MEANINGS.items()}
    pairs = [(binding_words(codes[str(n)]), int(counts.sel(binding=n))) for n in counts["binding"].values]
    return sorted((p for p in pairs if p[1]), key=lambda p: -p[1])


def _rows(
    found: xr.Dataset, dims: Sequence[str], cells: Callable[[xr.Dataset], tuple[Cell, ...]]
) -> tuple[tuple[Cell, ...], ...]:
    """One row a combination of dimensions: its values in users' units, then the cells found there."""
    values = [axis_values(found, dim) for dim in dims]
    rows = []
    for index in np.ndindex(*[found.sizes[dim] for dim in dims]):
        keys: list[Cell] = []
        for dim, place, options in zip(dims, index, values, strict=True):
            value = options[place]
            keys.append(value.replace("_", " ") if isinstance(value, str) else float(to_display(dim, value)))
        here = found.isel(dict(zip(dims, (int(i) for i in index), strict=True)))
        rows.append((*keys, *cells(here)))
    return tuple(rows)


def _status_words(here: xr.Dataset) -> str:
    return EnvelopeStatus(int(here["status"])).name.replace("_", " ")


def _yes_or_no(flag: xr.DataArray) -> str:
    return "yes" if bool(flag) else "no"


def wind_limit_table(found: xr.Dataset, judged: xr.Dataset) -> Table:
    """Limits along an axis, one row a combination of the other dimensions.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.envelope.largest_passing`.
    judged : xarray.Dataset
        What it was found in.
    """
    found = found.compute()
    axis = str(found.attrs["axis"])
    dims = [str(dim) for dim in found["limit"].dims]

    def cells(here: xr.Dataset) -> tuple[Cell, ...]:
        return (
            float(to_display(axis, here["limit"].item())),
            float(to_display(axis, here["first_failing"].item())),
            _status_words(here),
            binding_words(int(here["limited_by"])),
            _yes_or_no(here["not_monotone"]),
        )

    unit = display_unit(axis)
    return Table(
        title=f"Largest {long_name(axis)} for which all smaller pass",
        header=(*map(axis_label, dims), f"limit [{unit}]", f"first not passing [{unit}]", "how found", "limited by",
                "a larger value passes again"),
        rows=_rows(found, dims, cells),
        notes=notes_on(
            judged,
            _how_found(found, axis),
            "'passes throughout' means that what was run ends before the limit.",
            *_over_note(found),
        ),
    )  # fmt: skip


def _how_found(found: xr.Dataset, axis: str) -> str:
    """How limits were found: read off a grid, or searched for on the model."""
    if "resolution" not in found.attrs:
        return "A limit is the last grid value that passes with all smaller ones: nothing is read between grid points."
    fine, step = (f"{to_display(axis, found.attrs[n]).item():.2g}" for n in ("resolution", "scan_step"))
    return (
        f"A limit is the last value that passed on the model, halved down to {fine} {display_unit(axis)}; the scan "
        f"before had steps of {step} {display_unit(axis)}, and what fails and passes again between two is not seen."
    )


def _over_note(found: xr.Dataset) -> tuple[str, ...]:
    over = str(found.attrs.get("worst_over", "")).split()
    notes = [f"Worst case over: {', '.join(long_name(d) for d in over)}."] if over else []
    if found.attrs.get("slice"):
        notes.append(f"Slice: {found.attrs['slice']}.")
    return tuple(notes)


def band_table(band: xr.Dataset, judged: xr.Dataset) -> Table:
    """Smallest and largest value that pass: too little and too much.

    Parameters
    ----------
    band : xarray.Dataset
        From :func:`toolkit.findings.envelope.passing_band`.
    judged : xarray.Dataset
        What it was found in.
    """
    band = band.compute()
    axis = str(band.attrs["axis"])
    dims = [str(dim) for dim in band["smallest"].dims]

    def cells(here: xr.Dataset) -> tuple[Cell, ...]:
        return (
            float(to_display(axis, here["smallest"].item())),
            float(to_display(axis, here["largest"].item())),
            binding_words(int(here["limited_below"])),
            binding_words(int(here["limited_above"])),
            _status_words(here),
            _yes_or_no(here["not_contiguous"]),
        )

    unit = display_unit(axis)
    return Table(
        title=f"Smallest and largest {long_name(axis)} that pass",
        header=(*map(axis_label, dims), f"smallest [{unit}]", f"largest [{unit}]", "too little: binds",
                "too much: binds", "how found", "fails in between"),
        rows=_rows(band, dims, cells),
        notes=notes_on(judged, "Grid values only; 'none' means that the grid ends there.", *_over_note(band)),
    )  # fmt: skip


def pairs_table(summary: xr.Dataset, judged: xr.Dataset | None = None) -> Table:
    """Two ways compared pair by pair.

    Parameters
    ----------
    summary : xarray.Dataset
        From :func:`toolkit.findings.compare.summarise_pairs`.
    judged : xarray.Dataset, optional
        Gives the note on limits and runs.
    """
    first, second = (str(summary.attrs[k]).replace("_", " ") for k in ("first", "second"))
    rows: list[tuple[Cell, ...]] = []
    for name in summary["quantity"].values:
        here = summary.sel(quantity=name)
        spread = [float(to_display(str(name), here[k].item())) for k in _SPREAD]
        rows.append(
            (
                axis_label(str(name)),
                int(here["compared_count"]),
                *(100.0 * float(here[k]) for k in ("share_first_smaller", "share_second_smaller", "share_equal")),
                *spread,
            )
        )
    counts = {k: int(summary[f"{k}_count"]) for k in _PAIR_COUNTS}
    told = (
        f"Of {counts['pair']:,} pairs both completed in {counts['both_completed']:,}, only {first} in "
        f"{counts['only_first']:,}, only {second} in {counts['only_second']:,}, neither in {counts['neither']:,}; "
        f"{counts['not_run']:,} not run. Differences rest on the pairs in which both completed."
    )
    notes = notes_on(judged, told) if judged is not None else (told, provenance(summary.attrs), cautions(summary.attrs))
    return Table(
        title=f"{first} against {second}, all else alike",
        header=("quantity", "pairs compared", f"{first} smaller [%]", f"{second} smaller [%]", "equal [%]",
                f"median of {second} less {first}", "lower quartile", "upper quartile"),
        rows=tuple(rows),
        notes=notes,
    )  # fmt: skip


def static_rule_table(
    counts: xr.Dataset, judged: xr.Dataset, by: xr.Dataset | None = None, *, noun: str = "swing"
) -> Table:
    """Four counts of rule against swing, what calm would change, then what binds where the rule alone passes.

    Parameters
    ----------
    counts : xarray.Dataset
        From :func:`toolkit.findings.static_rule.count_back_test`.
    judged : xarray.Dataset
        The judged cases.
    by : xarray.Dataset, optional
        The same counts along one dimension, such as ``displacement``: adds,
        for each value, what passes the rule and fails the swing.
    noun : str
        What a case is called.
    """
    counts = counts.compute()
    runs = int(counts["run_count"])

    def share(number: int, of: int = runs) -> float:
        return 100.0 * number / of if of else math.nan

    rows: list[tuple[Cell, ...]] = []
    for name in RULE_COUNTS:
        number = int(counts[name])
        rule, swing = name.split("_swing_")
        rows.append((f"static {rule.replace('_', ' ')}, {noun} {swing}", number, share(number)))
        if name == "rule_passes_swing_fails":
            told = [n for n in _CALM_WORDS if n in counts and (int(counts[n]) or n != "missed_calm_not_run")]
            rows.extend((f"of these, {_CALM_WORDS[n]}", int(counts[n]), share(int(counts[n]))) for n in told)
    rows.extend(
        (f"static rule passes, {noun} fails for: {words}", number, share(number))
        for words, number in _ranked_reasons(counts["missed_count"])
    )
    if by is not None:
        by = by.compute()
        dim = str(by["run_count"].dims[0])
        for place, value in enumerate(axis_values(by, dim)):
            here = by.isel({dim: place})
            number = int(here["rule_passes_swing_fails"])
            words = f"static rule passes, {noun} fails, of the cases with {long_name(dim)} {display_text(dim, value)}"
            rows.append((words, number, share(number, int(here["run_count"]))))
    return Table(
        title=f"Static rule against the {noun}",
        header=("case", "cases", "share of cases run [%]"),
        rows=tuple(rows),
        notes=notes_on(
            judged,
            "Static rule: beam wind force times 1.25 is not more than the pull available "
            "(common practice, no source for the factor). Where a row names a value, its share is of the cases run "
            "with that value.",
            *_calm_note(counts),
        ),
    )


def _calm_note(counts: xr.Dataset) -> tuple[str, ...]:
    if not set(_CALM_WORDS) <= set(counts.data_vars):
        return ()
    return (
        "Calm: the case that differs in wind speed alone, at zero; cases in calm count there themselves. Cases that "
        "repeat (directions of the wind in calm, line lengths in a push) count each time.",
    )


def limits_table(counts: Mapping[str, xr.Dataset], judged: xr.Dataset) -> Table:
    """Each limit on its own against all limits together: box against joint.

    Parameters
    ----------
    counts : mapping
        Words for a part of the cases (empty for all of them) to its counts,
        from :func:`toolkit.findings.joint.count_limits`.
    judged : xarray.Dataset
        The judged cases: gives the values of the limits.
    """
    in_force = limits_of(judged)
    rows: list[tuple[Cell, ...]] = []
    for words, lazy in counts.items():
        part, found = words or "all cases", lazy.compute()
        runs = int(found["run_count"])

        def row(what: str, number: int, *more: Cell, part: str = part, runs: int = runs) -> tuple[Cell, ...]:
            return (part, what, *more[:1], number, 100.0 * number / runs if runs else math.nan, *more[1:])

        rows.append(row("completed, no limit applied", int(found["completed_count"]), runs, math.nan))
        for name in map(str, found["limit"].values):
            here = found.sel(limit=name)
            rows.append(
                row(f"{limit_words(name, in_force[name])}, alone", int(here["kept_count"]), int(here["applied_count"]),
                    int(here["only_broken_count"]))
            )  # fmt: skip
        if found.sizes["limit"]:
            rows.append(row("the strictest limit alone", int(found["least_kept_count"]), runs, math.nan))
        rows.append(row("all limits together", int(found["all_kept_count"]), runs, math.nan))
    return Table(
        title="Each limit alone, and all limits together",
        header=("part", "limit", "cases it applies to", "cases that keep it", "share of cases run [%]",
                "cases that break it alone"),
        rows=tuple(rows),
        notes=notes_on(
            judged,
            "A case that did not complete keeps no limit; one that did keeps those that do not apply to it, as tension "
            "in a push. Limits read one by one promise more than they hold together: compare the rows of each alone "
            "with the last.",
        ),
    )  # fmt: skip


def overview_lines(judged: xr.Dataset, dims: Iterable[str] | None = None) -> tuple[str, ...]:
    """Axes of the dataset, or those named, one line each, in users' units."""
    lines = []
    for dim in judged["passes"].dims if dims is None else dims:
        name = str(dim)
        values = axis_values(judged, name)
        if name in judged.coords and values:
            said = [display_text(name, value).removeprefix(f"{BEARINGS.get(name)} ") for value in values]
            words = ", ".join(said if isinstance(values[0], str) else said[:1])
            ends = f"{words} to {said[-1]}" if len(said) > 1 else words
            count = f"{len(values)} value{'s' if len(values) > 1 else ''}"
            lines.append(f"{long_name(name)}: {words if isinstance(values[0], str) else ends} ({count})")
        else:
            lines.append(f"{long_name(name)}: {judged.sizes[dim]} samples")
    return tuple(lines)
