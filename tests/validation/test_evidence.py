"""Every row of the table of evidence agrees, and the table can say when one does not."""

from __future__ import annotations

import dataclasses
import json
import math
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.validation.calculations import CALCULATIONS
from tests.validation.evidence import (
    AGREES,
    DIFFERS,
    GUIDE,
    KINDS,
    NO_DATA,
    REFERENCES,
    SHIPPED,
    Row,
    evidence_table,
    guide_text,
    main,
    rows_of,
    shipped_data,
    with_evidence,
)
from toolkit.report.evidence import evidence_of

FILES = sorted(REFERENCES.glob("*.toml"))
CONTENT = {path.name: tomllib.loads(path.read_text(encoding="utf-8")) for path in FILES}
ENTRIES = [(path, number) for path in FILES for number in range(len(CONTENT[path.name]["row"]))]


@pytest.fixture(scope="module")
def computed() -> dict[Path, list[Row]]:
    return {path: rows_of(path) for path in FILES}


@pytest.mark.parametrize(("path", "number"), ENTRIES, ids=[f"{path.stem}-{number}" for path, number in ENTRIES])
def test_row(path: Path, number: int, computed: dict[Path, list[Row]]) -> None:
    row = computed[path][number]
    assert row.kind in KINDS
    assert row.why, "say why the tolerance, or why there is nothing"
    assert row.verdict == (NO_DATA if row.kind == "nothing known" else AGREES), (
        f"{row.quantity}: ours {row.ours:.9g}, theirs {row.low:.9g} to {row.high:.9g} [{row.unit}]"
    )


@pytest.mark.parametrize("name", sorted(CONTENT))
def test_reference_file_says_how_it_was_read(name: str) -> None:
    source = CONTENT[name]["source"]
    assert all(source[key].strip() for key in ("name", "how_read", "certainty", "uncertainty"))
    for entry in CONTENT[name]["row"]:
        known = {"quantity", "place", "kind", "calculation", "inputs", "theirs", "unit", "tolerance", "percent", "why"}
        assert set(entry) <= known
        if entry.get("kind", source.get("kind")) == "nothing known":
            assert "theirs" not in entry
        else:
            assert {"calculation", "theirs"} <= set(entry)
            assert ("tolerance" in entry) is not ("percent" in entry)


def test_there_is_enough_of_it_and_every_calculation_is_used() -> None:
    entries = [
        (entry.get("kind", one["source"].get("kind")), entry) for one in CONTENT.values() for entry in one["row"]
    ]
    counted = [kind for kind, _ in entries if kind in ("closed form", "published number")]
    assert len(counted) >= 60
    assert {entry["calculation"] for _, entry in entries if "calculation" in entry} == set(CALCULATIONS)


def test_what_the_package_ships_is_up_to_date(computed: dict[Path, list[Row]]) -> None:
    """Else: python -m tests.validation.evidence --ship."""
    shipped = json.loads(SHIPPED.read_text(encoding="utf-8"))
    made = shipped_data([row for path in FILES for row in computed[path]])
    assert {key: shipped[key] for key in ("kinds", "sources")} == {key: made[key] for key in ("kinds", "sources")}
    assert len(shipped["rows"]) == len(made["rows"])
    for old, new in zip(shipped["rows"], made["rows"], strict=True):
        exact = old.keys() - {"ours", "difference"}
        assert {key: old[key] for key in exact} == {key: new[key] for key in exact}
        if new["ours"] is not None:  # another mathematics library may round the last figures otherwise
            assert old["ours"] == pytest.approx(new["ours"], rel=2e-5)
            assert old["difference"] == pytest.approx(new["difference"], abs=0.05 * new["tolerance"] + 1e-300, rel=0.2)


def test_the_guide_tells_what_the_package_ships() -> None:
    guide = GUIDE.read_text(encoding="utf-8")
    text = guide_text(json.loads(SHIPPED.read_text(encoding="utf-8")))
    assert with_evidence(guide, text) == guide
    assert with_evidence(guide, "other") != guide


def test_summary_counts_every_row_once() -> None:
    told = evidence_of(json.loads(SHIPPED.read_text(encoding="utf-8")))
    counts = [[int(cell) for cell in row[2:]] for row in told.by_kind.rows]
    assert sum(total for total, _, _ in counts) == len(told.rows.rows) + len(told.without) == len(ENTRIES)
    assert all(agree + differ in (total, 0) for total, agree, differ in counts)
    assert any("wash of a tug on a barge on a short line" in quantity for quantity, _ in told.without)


def row_with(**changes: Any) -> Row:
    row = Row(
        file="x.toml", source="a source", place="page 1", quantity="a quantity", unit="m", ours=1.0, low=1.0, high=1.0,
        tolerance=0.01, kind="published number", why="rounding",
    )  # fmt: skip
    return dataclasses.replace(row, **changes)


@pytest.mark.parametrize(
    ("changes", "difference", "verdict"),
    [
        ({}, 0.0, AGREES),
        ({"ours": 1.009}, 0.009, AGREES),
        ({"ours": 1.02}, 0.02, DIFFERS),
        ({"ours": 0.9, "low": 0.95, "high": 1.1}, -0.05, DIFFERS),
        ({"ours": 1.05, "low": 0.95, "high": 1.1}, 0.0, AGREES),
        ({"ours": 1.105, "low": 0.95, "high": 1.1}, 0.005, AGREES),
        ({"ours": math.nan}, math.nan, DIFFERS),
        ({"ours": math.nan, "low": math.nan, "high": math.nan, "kind": "nothing known"}, math.nan, NO_DATA),
    ],
)
def test_verdict_comes_from_the_numbers(changes: dict[str, Any], difference: float, verdict: str) -> None:
    row = row_with(**changes)
    assert row.difference == pytest.approx(difference, nan_ok=True)
    assert row.verdict == verdict


def test_table_tells_what_differs() -> None:
    table = evidence_table([row_with(), row_with(quantity="another", ours=2.0)])
    assert [row[7] for row in table.rows] == [AGREES, DIFFERS]
    assert "1 differ: another." in table.notes
    assert "1 | 1 | 0 |" in table.to_markdown()


def test_command_writes_and_fails_where_a_row_differs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("tests.validation.evidence.all_rows", lambda: [row_with()])
    assert main(["--markdown", str(tmp_path / "e.md"), "--csv", str(tmp_path / "e.csv")]) == 0
    assert "a quantity" in (tmp_path / "e.md").read_text()
    assert "a quantity" in (tmp_path / "e.csv").read_text()
    monkeypatch.setattr("tests.validation.evidence.all_rows", lambda: [row_with(ours=9.0)])
    assert main([]) == 1
    assert DIFFERS in capsys.readouterr().out
