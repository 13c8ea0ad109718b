"""What the model is checked against, as data that goes with the package (floor 6).

The data are made by `python -m tests.validation.evidence --ship`, which computes
every row afresh; nothing is typed in by hand.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from toolkit.findings.table import Table

__all__ = ["FILE", "NOTHING_KNOWN", "Evidence", "evidence", "evidence_of", "number_text", "wanted_text"]

FILE = "evidence.json"
"""Name of the data, beside this module."""

NOTHING_KNOWN = "nothing known"
"""Kind of a row that says what has no validation data at all."""


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """The table of evidence in parts.

    Attributes
    ----------
    by_kind : Table
        How many rows there are of each kind, and how many agree.
    rows : Table
        Every check: quantity, source, ours, theirs, difference, verdict, kind.
    sources : Table
        Every source: how it was read, how certain and how accurate it is.
    without : tuple of tuple of str
        Outputs for which no validation data were found, and why.
    """

    by_kind: Table
    rows: Table
    sources: Table
    without: tuple[tuple[str, str], ...]


def number_text(value: float | None) -> str:
    """Number to six figures; empty for none."""
    return "" if value is None or math.isnan(value) else f"{value:.6g}"


def wanted_text(low: float | None, high: float | None) -> str:
    """Number, or interval, that a source gives."""
    return number_text(low) if low == high else f"{number_text(low)} to {number_text(high)}"


def evidence_of(data: dict[str, Any]) -> Evidence:
    """Tables of evidence from the data of `FILE`."""
    kinds: dict[str, str] = data["kinds"]
    rows: list[dict[str, Any]] = data["rows"]

    def count(kind: str, verdict: str = "") -> int:
        return sum(row["kind"] == kind and verdict in ("", row["verdict"]) for row in rows)

    checked = [row for row in rows if row["kind"] != NOTHING_KNOWN]
    return Evidence(
        by_kind=Table(
            title="Checks by kind",
            header=("kind", "what it means", "rows", "agree", "differ"),
            rows=tuple(
                (kind, meaning, count(kind), count(kind, "agrees"), count(kind, "differs"))
                for kind, meaning in kinds.items()
            ),
            notes=(),
        ),
        rows=Table(
            title="Every check",
            header=("quantity", "source", "unit", "ours", "theirs", "difference", "verdict", "kind"),
            rows=tuple(
                (
                    row["quantity"], row["source"], row["unit"], number_text(row["ours"]),
                    wanted_text(row["low"], row["high"]), number_text(row["difference"]), row["verdict"], row["kind"],
                )
                for row in checked
            ),
            notes=(),
        ),
        sources=Table(
            title="Sources",
            header=("source", "seen at", "how it was read", "certainty", "uncertainty"),
            rows=tuple(
                tuple(source[key] for key in ("name", "address", "how_read", "certainty", "uncertainty"))
                for source in data["sources"]
            ),
            notes=(),
        ),
        without=tuple((row["quantity"], row["why"]) for row in rows if row["kind"] == NOTHING_KNOWN),
    )  # fmt: skip


@cache
def evidence() -> Evidence:
    """The table of evidence that goes with this version of the package."""
    return evidence_of(json.loads((files("toolkit.report") / FILE).read_text(encoding="utf-8")))
