"""The history of benchmarks: what is read off the printed table, and how rows are replaced."""

from __future__ import annotations

from pathlib import Path

from tests.benchmarks.history import HISTORY, Row, figures, machine, merged, read, write

PRINTED = """\
right-hand side alone                    42.1 ns a case
run into a store, 2 workers              558 cases/s
  share of time: kernel                  79.0 %
"""


def row(commit: str, machine: str, value: str, committed: str = "2026-01-01") -> Row:
    return {"commit": commit, "committed": committed, "measured": "2026-01-02", "machine": machine, "figure": "rate",
            "value": value}  # fmt: skip


def test_figures_are_read_off_the_table() -> None:
    assert figures(PRINTED) == [
        ("right-hand side alone", "42.1 ns a case"),
        ("run into a store, 2 workers", "558 cases/s"),
        ("run into a store, 2 workers: share of time: kernel", "79.0 %"),
    ]


def test_a_revision_measured_again_replaces_its_rows_and_no_others(tmp_path: Path) -> None:
    old = [row("a", "one", "1"), row("b", "one", "2"), row("a", "other", "3")]
    write(tmp_path / "history.csv", merged(old, [row("a", "one", "4")]))
    found = {(entry["commit"], entry["machine"]): entry["value"] for entry in read(tmp_path / "history.csv")}
    assert found == {("a", "one"): "4", ("b", "one"): "2", ("a", "other"): "3"}
    assert read(tmp_path / "none.csv") == []


def test_the_history_that_is_shipped_can_be_read() -> None:
    rows = read(HISTORY)
    assert rows and all(entry["commit"] and entry["figure"] and entry["value"] for entry in rows)
    assert "processors" in machine()
