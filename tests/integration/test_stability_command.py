"""`towage stability`: tables written, problems in words, nothing half done."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from tests.fake_engine import MODEL
from toolkit.cli import main

STUDY = """
title = "Marrowby Basin, small"
[tug]
bollard_pull = ["30 t", "60 t"]
[environment]
wind_speed = ["0 kn", "10 kn"]
"""


@pytest.fixture
def study(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A study file in the working folder, run by formulas in place of the engine."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("toolkit.execution.runner.current_model", lambda: MODEL)
    Path("basin.toml").write_text(STUDY, encoding="utf-8")
    return "basin.toml"


def test_tables_without_and_with_results(study: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["stability", study]) == 0
    said = capsys.readouterr().out
    assert "No simulated heel" in said
    assert "Girting" in said
    assert main(["run", study, "--serial", "--no-progress"]) == 0
    capsys.readouterr()
    assert main(["stability", study, "--output", "out"]) == 0
    said = capsys.readouterr().out
    assert "No simulated heel" not in said
    assert sorted(path.name for path in Path("out").iterdir()) == [
        "stability.csv", "stability.md", "stability_criteria.csv", "stability_criteria.md",
    ]  # fmt: skip
    lines = [line for line in Path("out/stability.csv").read_text(encoding="utf-8").splitlines() if line[0] != "#"]
    rows = list(csv.DictReader(lines))
    assert len(rows) == 2 * 4
    assert all(row["cases run"] == "2" and float(row["lever upright [m]"]) > 0.0 for row in rows)


def test_problems_are_told(study: str, capsys: pytest.CaptureFixture[str]) -> None:
    Path("levers.csv").write_text("heel,lever\n0,0\n10,0.1\n", encoding="utf-8")
    assert main(["stability", study, "--righting-levers", "levers.csv"]) == 2
    assert "no tug is named, and the study has 2" in capsys.readouterr().err
    for share in ("0", "-1", "1.5", "nan"):
        assert main(["stability", study, f"--intercepted={share}"]) == 2
        assert "is outside (0, 1]" in capsys.readouterr().err
    assert main(["stability", "none.toml"]) == 2
    assert main(["stability", study, "--results", "none.zarr"]) == 3
    assert not Path("results").exists()


def test_results_of_another_study_are_refused(study: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["run", study, "--serial", "--no-progress"]) == 0
    Path("basin.toml").write_text(STUDY.replace("60 t", "50 t"), encoding="utf-8")
    assert main(["stability", study]) == 3
    assert "it holds study" in capsys.readouterr().err


def test_a_folder_that_cannot_be_written(study: str, capsys: pytest.CaptureFixture[str]) -> None:
    Path("file").write_text("in the way", encoding="utf-8")
    assert main(["stability", study, "--output", "file/out"]) == 3
    assert "cannot be written" in capsys.readouterr().err
