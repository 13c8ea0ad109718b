"""The table of evidence: what is checked against something outside the code, computed afresh.

`python -m tests.validation.evidence` prints it; with `--markdown FILE` or `--csv FILE` it is
written, with `--ship` into the package (for the report) and into the developers' guide. Every
row comes from a reference file in `references/`, one file a source, and is computed by a
calculation in `calculations.py`. No verdict is typed anywhere.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.validation.calculations import CALCULATIONS
from toolkit.findings.table import Table
from toolkit.report.evidence import FILE, evidence_of

REPOSITORY = Path(__file__).parents[2]
SHIPPED = REPOSITORY / "toolkit" / "report" / FILE
GUIDE = REPOSITORY / "DEVELOPERS.md"
BEGIN, END = "<!-- evidence: made by `python -m tests.validation.evidence --ship` -->", "<!-- end of evidence -->"

REFERENCES = Path(__file__).parent / "references"

KINDS = {
    "closed form": "closed form or exact mechanics, worked separately",
    "published number": "a number printed in the source, which the source computed or measured",
    "published formula": "arithmetic of a formula read in the source: shows that it is coded as written, no more",
    "common practice": "used in the trade, no source",
    "from memory": "formula or number of a source that was not read again",
    "nothing known": "no data at all were found to set against it",
}
"""What may stand under kind."""

AGREES, DIFFERS, NO_DATA = "agrees", "differs", "no data"


@dataclass(frozen=True, kw_only=True)
class Row:
    """One check.

    Attributes
    ----------
    file : str
        Reference file.
    source, place : str
        Source, and the page, table or equation in it.
    quantity, unit : str
        What is compared.
    ours : float
        Computed now; NaN where there is nothing to compute.
    low, high : float
        Theirs: a number, as an interval of no width, or an interval.
    tolerance : float
        In `unit`.
    kind : str
        Key of `KINDS`.
    why : str
        Reason for the tolerance, or for there being nothing.
    """

    file: str
    source: str
    place: str
    quantity: str
    unit: str
    ours: float
    low: float
    high: float
    tolerance: float
    kind: str
    why: str

    @property
    def difference(self) -> float:
        """Ours less theirs; nothing inside an interval."""
        if self.low <= self.ours <= self.high:
            return 0.0 if self.high > self.low else self.ours - self.low
        return self.ours - self.low if self.ours < self.low else self.ours - self.high

    @property
    def verdict(self) -> str:
        """Word for the outcome."""
        if self.kind == "nothing known":
            return NO_DATA
        return AGREES if abs(self.difference) <= self.tolerance else DIFFERS  # NaN differs


def rows_of(path: Path) -> list[Row]:
    """Read a reference file and compute its rows."""
    content = tomllib.loads(path.read_text(encoding="utf-8"))
    source = content["source"]
    return [_row(path, source, entry) for entry in content["row"]]


def _row(path: Path, source: dict[str, Any], entry: dict[str, Any]) -> Row:
    theirs = entry.get("theirs", math.nan)
    low, high = theirs if isinstance(theirs, list) else (theirs, theirs)
    calculation = entry.get("calculation")
    ours = float(CALCULATIONS[calculation](**entry.get("inputs", {}))) if calculation else math.nan
    tolerance = float(entry.get("tolerance", 0.0))
    if "percent" in entry:
        tolerance = 0.01 * float(entry["percent"]) * abs(high)
    return Row(
        file=path.name, source=source["name"], place=entry.get("place", source.get("place", "")),
        quantity=entry["quantity"], unit=entry.get("unit", "1"), ours=ours, low=float(low), high=float(high),
        tolerance=tolerance, kind=entry.get("kind", source.get("kind", "")),
        why=entry.get("why", source.get("why", "")),
    )  # fmt: skip


def all_rows() -> list[Row]:
    """Rows of all reference files, in the order of their names."""
    return [row for path in sorted(REFERENCES.glob("*.toml")) for row in rows_of(path)]


def _number(value: float) -> str:
    return "" if math.isnan(value) else f"{value:.6g}"


def evidence_table(rows: list[Row] | None = None) -> Table:
    """Build the table of evidence."""
    rows = all_rows() if rows is None else rows
    cells = tuple(
        (
            row.quantity, f"{row.source}, {row.place}" if row.place else row.source, row.unit, _number(row.ours),
            _number(row.low) if row.low == row.high or math.isnan(row.low) else f"{row.low:.6g} to {row.high:.6g}",
            "" if math.isnan(row.difference) else f"{row.difference:.2g}",
            f"{row.tolerance:.2g}" if row.kind != "nothing known" else "", row.verdict, row.kind, row.why,
        )
        for row in rows
    )  # fmt: skip
    counts = ", ".join(f"{sum(row.kind == kind for row in rows)} {kind}" for kind in KINDS)
    differing = [row.quantity for row in rows if row.verdict == DIFFERS]
    return Table(
        title="Evidence",
        header=("quantity", "source", "unit", "ours", "theirs", "difference", "tolerance", "verdict", "kind",
                "why this tolerance"),
        rows=cells,
        notes=(
            f"{len(rows)} rows from {len({row.file for row in rows})} reference files: {counts}.",
            f"{len(differing)} differ" + (f": {'; '.join(differing)}." if differing else "."),
            *(f"{kind}: {meaning}." for kind, meaning in KINDS.items()),
            "A published formula that agrees with its own arithmetic is coded as written; that it describes a real "
            "tug or barge is not shown. No measured swing of a barge by a tug was found.",
        ),
    )  # fmt: skip


def _figures(value: float, figures: int) -> float | None:
    return None if math.isnan(value) else float(f"{value:.{figures}g}")


def _kept_difference(row: Row) -> float | None:
    """Two figures, and nothing where it is a thousandth of the tolerance, which is rounding."""
    return 0.0 if abs(row.difference) <= 1e-3 * row.tolerance else _figures(row.difference, 2)


def shipped_data(rows: list[Row] | None = None) -> dict[str, Any]:
    """Data of the table, as the package keeps them."""
    rows = all_rows() if rows is None else rows
    sources = [tomllib.loads(path.read_text(encoding="utf-8"))["source"] for path in sorted(REFERENCES.glob("*.toml"))]
    keys = ("name", "address", "how_read", "certainty", "uncertainty")
    return {
        "made_by": "python -m tests.validation.evidence --ship",
        "kinds": KINDS,
        "sources": [{key: source.get(key, "") for key in keys} for source in sources],
        "rows": [
            {
                "quantity": row.quantity, "source": f"{row.source}, {row.place}" if row.place else row.source,
                "unit": row.unit, "ours": _figures(row.ours, 6), "low": _figures(row.low, 9),
                "high": _figures(row.high, 9), "difference": _kept_difference(row),
                "tolerance": _figures(row.tolerance, 2), "verdict": row.verdict, "kind": row.kind, "why": row.why,
            }
            for row in rows
        ],
    }  # fmt: skip


def guide_text(data: dict[str, Any]) -> str:
    """Part of the developers' guide that the data make: a summary, and all rows folded away."""
    told = evidence_of(data)
    lines = ["| kind | rows | agree | differ | what it means |", "|---|---:|---:|---:|---|"]
    lines += [f"| {kind} | {n} | {agree} | {differ} | {meaning} |" for kind, meaning, n, agree, differ in
              told.by_kind.rows]  # fmt: skip
    lines += ["", "Outputs with no validation data at all:", ""]
    lines += [f"- {quantity}: {why}." for quantity, why in told.without]
    lines += ["", "<details><summary>Every row</summary>", ""]
    lines += ["| " + " | ".join(told.rows.header) + " |", "|" + "---|" * len(told.rows.header)]
    lines += ["| " + " | ".join(str(cell).replace("|", "\\|") for cell in row) + " |" for row in told.rows.rows]
    return "\n".join([*lines, "", "</details>"])


def with_evidence(guide: str, text: str) -> str:
    """Text of the guide with what stands between the marks of evidence replaced."""
    before, _, rest = guide.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n{text}\n{END}{after}"


def ship(rows: list[Row]) -> None:
    """Write the data into the package, and their summary into the guide."""
    data = shipped_data(rows)
    SHIPPED.write_text(json.dumps(data, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    GUIDE.write_text(with_evidence(GUIDE.read_text(encoding="utf-8"), guide_text(data)), encoding="utf-8")


def main(arguments: list[str] | None = None) -> int:
    """Print or write the table; 1 where a row differs."""
    parser = argparse.ArgumentParser(prog="python -m tests.validation.evidence", description="The table of evidence.")
    parser.add_argument("--markdown", type=Path, metavar="FILE", help="write it as Markdown")
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write it as CSV")
    parser.add_argument("--ship", action="store_true", help="write it into the package and the developers' guide")
    options = parser.parse_args(arguments)
    rows = all_rows()
    if options.ship:
        ship(rows)
    table = evidence_table(rows)
    if options.markdown:
        options.markdown.write_text(table.to_markdown(), encoding="utf-8")
    if options.csv:
        options.csv.write_text(table.to_csv(), encoding="utf-8")
    if not options.markdown and not options.csv and not options.ship:
        print(table.to_markdown())
    return int(any(row.verdict == DIFFERS for row in rows))


if __name__ == "__main__":
    sys.exit(main())
