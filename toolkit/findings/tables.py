"""Tables of findings, as CSV and Markdown, each with what it rests on (floor 5)."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from toolkit.findings.display import axis_label, display_text, display_unit, long_name, to_display
from toolkit.findings.envelope import EnvelopeStatus
from toolkit.findings.limits import BINDING_MEANINGS, binding_words
from toolkit.findings.reading import axis_values, cautions, directions, provenance
from toolkit.findings.shares import share_of_runs, shares_text
from toolkit.findings.static_rule import RULE_COUNTS

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "Table",
    "band_table",
    "outcome_table",
    "pairs_table",
    "static_rule_table",
    "wind_limit_table",
    "write_table",
]

Cell = str | float | int
_SPREAD = ("median_difference", "lower_quartile", "upper_quartile")
_PAIR_COUNTS = ("pair", "both_completed", "only_first", "only_second", "neither", "not_run")


@dataclass(frozen=True, kw_only=True)
class Table:
    """A table that can be read on its own.

    Attributes
    ----------
    title : str
        What it shows.
    header : tuple of str
        Names of columns, with units in brackets.
    rows : tuple of tuple
        Cells: words or numbers; NaN is written as an empty cell.
    notes : tuple of str
        Limits, number of runs, conventions, provenance, cautions.
    """

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    notes: tuple[str, ...]

    def to_csv(self) -> str:
        """CSV text; title and notes are lines that start with ``#``."""
        out = io.StringIO()
        for line in (self.title, *self.notes):
            out.write(f"# {line}\n")
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(self.header)
        writer.writerows([_cell(value) for value in row] for row in self.rows)
        return out.getvalue()

    def to_markdown(self) -> str:
        """Markdown text; numbers are set flush right."""
        lines = [f"### {self.title}", ""]
        if self.rows:
            right = [all(not isinstance(row[i], str) for row in self.rows) for i in range(len(self.header))]
            lines.append("| " + " | ".join(self.header) + " |")
            lines.append("|" + "|".join("---:" if r else "---" for r in right) + "|")
            for row in self.rows:
                lines.append("| " + " | ".join(_cell(v).replace("|", "\\|") for v in row) + " |")
        else:
            lines.append("No rows: nothing was found to list.")
        lines.extend(["", *(f"- {note}" for note in self.notes), ""])
        return "\n".join(lines)


def _cell(value: Cell) -> str:
    if isinstance(value, str):
        return value
    number = float(value)
    if math.isnan(number):
        return ""
    return str(int(number)) if number.is_integer() and abs(number) < 1e15 else f"{number:.4g}"


def write_table(table: Table, folder: Path, name: str) -> list[Path]:
    """Write a table as ``<name>.csv`` and ``<name>.md`` into a folder, which is made.

    Returns
    -------
    list of pathlib.Path
        The two files.
    """
    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / f"{name}.csv", folder / f"{name}.md"]
    for path, text in zip(paths, (table.to_csv(), table.to_markdown()), strict=True):
        path.write_text(text, encoding="utf-8")
    return paths


def _notes(judged: xr.Dataset, *extra: str) -> tuple[str, ...]:
    return (
        *extra,
        f"Limits: {judged.attrs.get('limits_applied', 'not recorded')}.",
        f"Runs: {shares_text(share_of_runs(judged))}",
        directions(judged.attrs),
        provenance(judged.attrs),
        cautions(judged.attrs),
    )


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
        notes=_notes(judged),
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
        notes=_notes(
            judged,
            "A limit is the last grid value that passes with all smaller ones: nothing is read between grid points. "
            "'passes throughout' means that the grid ends before the limit.",
            *_over_note(found),
        ),
    )  # fmt: skip


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
        notes=_notes(judged, "Grid values only; 'none' means that the grid ends there.", *_over_note(band)),
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
    notes = _notes(judged, told) if judged is not None else (told, provenance(summary.attrs), cautions(summary.attrs))
    return Table(
        title=f"{first} against {second}, all else alike",
        header=("quantity", "pairs compared", f"{first} smaller [%]", f"{second} smaller [%]", "equal [%]",
                f"median of {second} less {first}", "lower quartile", "upper quartile"),
        rows=tuple(rows),
        notes=notes,
    )  # fmt: skip


def static_rule_table(counts: xr.Dataset, judged: xr.Dataset) -> Table:
    """Four counts of rule against swing, then what binds where the rule alone passes.

    Parameters
    ----------
    counts : xarray.Dataset
        From :func:`toolkit.findings.static_rule.count_back_test`.
    judged : xarray.Dataset
        The judged cases.
    """
    counts = counts.compute()
    runs = int(counts["run_count"])

    def share(number: int) -> float:
        return 100.0 * number / runs if runs else math.nan

    rows: list[tuple[Cell, ...]] = []
    for name in RULE_COUNTS:
        number = int(counts[name])
        rule, swing = name.split("_swing_")
        rows.append((f"static {rule.replace('_', ' ')}, swing {swing}", number, share(number)))
    rows.extend(
        (f"static rule passes, swing fails for: {words}", number, share(number))
        for words, number in _ranked_reasons(counts["missed_count"])
    )
    return Table(
        title="Static rule against the swing",
        header=("case", "cases", "share of cases run [%]"),
        rows=tuple(rows),
        notes=_notes(
            judged,
            "Static rule: beam wind force times 1.25 is not more than the pull available "
            "(common practice, no source for the factor).",
        ),
    )


def overview_lines(judged: xr.Dataset) -> tuple[str, ...]:
    """Axes of the dataset, one line each, in users' units."""
    lines = []
    for dim in judged["passes"].dims:
        name = str(dim)
        values = axis_values(judged, name)
        if name in judged.coords and values:
            ends = f"{display_text(name, values[0])} to {display_text(name, values[-1])}"
            words = ", ".join(v.replace("_", " ") for v in values if isinstance(v, str))
            lines.append(f"{long_name(name)}: {words or ends} ({len(values)} values)")
        else:
            lines.append(f"{long_name(name)}: {judged.sizes[dim]} samples")
    return tuple(lines)
