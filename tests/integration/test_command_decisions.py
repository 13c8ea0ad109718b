"""The verbs `requirement` and `limits`, on formulas in place of the engine: what is written, what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
import xarray as xr

from tests.fake_engine import MODEL
from toolkit.cli import main

STUDY = """
title = "Marrowby Basin, small"
[tug]
bollard_pull = ["10 t", "30 t", "60 t"]
[barge]
displacement = ["454 t", "1500 t", "4000 t"]
[environment]
wind_speed = ["0 kn", "10 kn", "20 kn"]
wind_from = ["from 60 deg", "from 240 deg"]
[limits]
time_to_turn = "5 min"
"""

DRAFT = "displacement up to, 10 kn, 20 kn\n1500 t, 10 t, 30 t\n4000 t, 60 t, not permitted\n"


@pytest.fixture
def study(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for module in ("runner", "records"):
        monkeypatch.setattr(f"toolkit.execution.{module}.current_model", lambda: MODEL)
    monkeypatch.setattr("toolkit.figures.style.DOTS_PER_INCH", 40)
    monkeypatch.setattr("toolkit.figures.card.DOTS_PER_INCH", 40)
    (tmp_path / "office.csv").write_text(DRAFT, encoding="utf-8")
    (tmp_path / "basin.toml").write_text(STUDY, encoding="utf-8")
    return Path("basin.toml")


def towage(*words: object) -> int:
    return main([str(word) for word in words])


def test_a_requirement_is_printed_with_its_basis(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert towage("run", study, "--serial", "--no-progress") == 0
    capsys.readouterr()
    words = ("--share", 50, "--margin", 1.1, "--draft", "office.csv", "--bands", "displacement=454 t, 4000 t",
             "wind_speed")  # fmt: skip
    assert towage("requirement", study, *words) == 0
    told = capsys.readouterr().out
    assert "bollard pull" in told and "office: of" in told and "Cautions:" in told
    rule = Path("results/basin/requirement/rule.md").read_text(encoding="utf-8")
    assert "454 to 4000 t" in rule and "Margin: 1.1 times" in rule and "50 %" in rule and "Review date" in rule


def test_a_requirement_that_cannot_be_drawn_up_is_refused(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert towage("requirement", study) == 3  # not run yet
    assert towage("run", study, "--serial", "--no-progress") == 0
    capsys.readouterr()
    for words, said in (
        (("--share", 0), "share = 0"),
        (("--free", "bollard_pull", "manoeuvre", "wind_speed"), "3 problems"),
        (("--at", "bollard_pull=30 t"), "bollard_pull is not swept"),
        (("--at", "bollard_pull=31 t"), "is not swept"),
        (("--bands", "displacement=1 t", "speed=3"), "2 problems"),
        (("--bands", "displacement=100 t, 454 t"), "nothing was run there"),
        (("--draft", "nowhere.csv"), "does not exist"),
        (("--margin", 0.5), "margin = 0.5"),
    ):
        assert towage("requirement", study, *words, "--output", "out") == 2, words
        assert said in capsys.readouterr().err, words
    assert not any(Path("out").glob("*"))


def test_limits_are_searched_and_kept_as_datasets(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--directions", 4, "--step", "5 kn", "--resolution", "1 kn", "--currents", "0 kn, 1 kn",
             "--depth-ratios", "2")  # fmt: skip
    assert towage("limits", study, *words, "--at", "bollard_pull=30 t") == 0
    told = capsys.readouterr().out
    assert "Limit by direction" in told and "card.pdf" in told and "Cautions:" in told
    folder = Path("results/basin/limits")
    with xr.open_dataset(folder / "limit_by_direction.nc") as found:
        assert {"limit", "first_failing", "status", "limited_by", "not_monotone"} <= set(found.data_vars)
        assert set(found["limit"].dims) == {"displacement", "wind_from"}
        assert found["limit"].attrs["units"] == "m s-1"
    assert "no-go" in (folder / "card.md").read_text(encoding="utf-8")


def test_limits_that_cannot_be_searched_are_refused(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words, said in (
        (("--top", "900 kn"), "wind_speed = '900 kn' is outside"),
        (("--directions", 0, "--share", 0), "2 problems"),
        (("--depth-ratios", "shallow"), "'shallow' is not a number"),
        (("--at", "speed=1 kn"), "speed is not an input"),
        (("--forecast-factor", 2), "forecast factor = 2"),
    ):
        assert towage("limits", study, *words, "--output", "out") == 2, words
        assert said in capsys.readouterr().err, words
