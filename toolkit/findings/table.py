"""A table that can be read on its own, as CSV and Markdown (floor 5)."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from toolkit.execution.whole import write_whole
from toolkit.findings.reading import cautions, directions, provenance
from toolkit.findings.shares import share_of_runs, shares_text

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["Cell", "Table", "cell_text", "notes_on", "write_table"]

Cell = str | float | int


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
        writer.writerows([cell_text(value) for value in row] for row in self.rows)
        return out.getvalue()

    def to_markdown(self) -> str:
        """Markdown text; numbers are set flush right."""
        lines = [f"### {self.title}", ""]
        if self.rows:
            right = [all(not isinstance(row[i], str) for row in self.rows) for i in range(len(self.header))]
            lines.append("| " + " | ".join(self.header) + " |")
            lines.append("|" + "|".join("---:" if r else "---" for r in right) + "|")
            for row in self.rows:
                lines.append("| " + " | ".join(cell_text(v).replace("|", "\\|") for v in row) + " |")
        else:
            lines.append("No rows: nothing was found to list.")
        lines.extend(["", *(f"- {note}" for note in self.notes), ""])
        return "\n".join(lines)


def cell_text(value: Cell) -> str:
    """One cell as it is written: words as they are, numbers in four digits, nothing for NaN."""
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
        write_whole(path, text)
    return paths


def notes_on(judged: xr.Dataset, *extra: str) -> tuple[str, ...]:
    """Notes below a table: what is given, then limits, runs, conventions, provenance and cautions."""
    return (
        *extra,
        f"Limits: {judged.attrs.get('limits_applied', 'not recorded')}.",
        f"Runs: {shares_text(share_of_runs(judged))}",
        directions(judged.attrs),
        provenance(judged.attrs),
        cautions(judged.attrs),
    )
