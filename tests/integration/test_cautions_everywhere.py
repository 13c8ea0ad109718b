"""Cautions go with every verb, and with every file from which a decision can be read off."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.fake_engine import MODEL
from toolkit.cli import main
from toolkit.cli.parser import build_parser
from toolkit.quantities.wording import CAUTIONS, GIRTING, LIMIT_CAUTIONS, NOT_MODELLED, SNAP_BACK, limit_cautions
from toolkit.study import Limits

STUDY = """
title = "Marrowby Basin, small"
[tug]
bollard_pull = ["10 t", "30 t", "60 t"]
[barge]
displacement = ["454 t", "4000 t"]
[environment]
wind_speed = ["0 kn", "10 kn", "20 kn"]
wind_from = ["from 60 deg", "from 240 deg"]
[manoeuvre]
manoeuvre = ["swing_pull", "swing_push"]
[limits]
time_to_turn = "5 min"
"""

SAMPLES = """
title = "Marrowby samples"
seed = 4
[tug]
bollard_pull = { from = "10 t", to = "60 t", spacing = "log" }
[environment]
wind_speed = { from = "0 kn", to = "20 kn" }
[design]
kind = "sobol"
samples = 64
"""

ONE = ("--at", "manoeuvre=swing_pull", "--at", "displacement=454 t")
VERBS: dict[str, tuple[str, ...]] = {
    "check": ("basin.toml",),
    "run": ("basin.toml", "--serial", "--no-progress"),
    "history": ("basin.toml", "--case", "5", "--energy"),
    "envelope": ("basin.toml",),
    "requirement": ("basin.toml", "--share", "50", *ONE),
    "limits": ("basin.toml", "--directions", "4", "--step", "5 kn", "--resolution", "2 kn", *ONE,
               "--at", "bollard_pull=30 t"),
    "stability": ("basin.toml",),
    "convergence": ("basin.toml", "--cases", "2"),
    "compare": ("basin.toml", "--axis", "manoeuvre", "--over", "wind_speed", "bollard_pull"),
    "sensitivity": ("samples.toml", "--samples", "32", "--trajectories", "2", "--replicates", "2",
                    "--outcomes", "end_time", "completed"),
    "operability": ("basin.toml", "--invented", "1", "--seed", "7", *ONE, "--at", "bollard_pull=30 t"),
    "report": ("basin.toml", "--user", "consultant", "--histories", "0", *ONE),
    "export": ("basin.toml", "--csv", "cases.csv", "--netcdf", "cases.nc"),
}  # fmt: skip
"""A call of every verb, in an order in which they work."""

SAID = ("Screening aid only", "no substitute for pilots, trials, class approval or local rules", "Not modelled: waves",
        "Girting", "Snap-back", "Local rules, class, pilots and licensed practice come first")  # fmt: skip
TEXTS = {".md", ".html", ".csv"}


def squeezed(text: str) -> str:
    return re.sub(r"\s+", " ", text)


@pytest.fixture
def _small(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for module in ("runner", "records"):
        monkeypatch.setattr(f"toolkit.execution.{module}.current_model", lambda: MODEL)
    monkeypatch.setattr("toolkit.figures.style.DOTS_PER_INCH", 30)
    monkeypatch.setattr("toolkit.figures.card.DOTS_PER_INCH", 30)
    (tmp_path / "basin.toml").write_text(STUDY, encoding="utf-8")
    (tmp_path / "samples.toml").write_text(SAMPLES, encoding="utf-8")


def test_every_verb_of_the_command_is_called_here() -> None:
    actions = [action for action in build_parser()._actions if getattr(action, "choices", None)]
    assert set(VERBS) == set(actions[0].choices or ())


@pytest.mark.slow
@pytest.mark.usefixtures("_small")
@pytest.mark.filterwarnings("ignore::UserWarning")
def test_every_verb_and_every_text_file_carries_the_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    silent, bare = [], []
    for verb, words in VERBS.items():
        before = set(Path().rglob("*"))
        assert main([verb, *words]) == 0, (verb, capsys.readouterr().err)
        told = squeezed(capsys.readouterr().out)
        silent += [f"{verb}: {words}" for words in SAID if words not in told]
        for path in sorted(set(Path().rglob("*")) - before):
            if path.suffix not in TEXTS or ".zarr" in str(path):
                continue
            text = squeezed(path.read_text(encoding="utf-8"))
            beside = path.with_suffix(".csv.md") if path.suffix == ".csv" else path
            if "Girting" not in text and not (beside.exists() and "Girting" in beside.read_text(encoding="utf-8")):
                bare.append(f"{verb}: {path}")
    assert silent == []
    assert bare == []


@pytest.mark.usefixtures("_small")
def test_girting_stands_beside_limits_on_heel_and_snap_back_beside_those_on_tension(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["check", "basin.toml"]) == 0
    told = squeezed(capsys.readouterr().out)
    assert GIRTING in told and SNAP_BACK in told
    assert told.index("Limits for the findings") < told.index(GIRTING) < told.index(SNAP_BACK) < told.index("Results:")
    Path("basin.toml").write_text(STUDY + "peak_heel_fraction = 'off'\n", encoding="utf-8")
    assert main(["check", "basin.toml"]) == 0
    told = squeezed(capsys.readouterr().out)
    assert GIRTING not in told and SNAP_BACK in told


def test_words() -> None:
    assert set(LIMIT_CAUTIONS) <= set(Limits().to_dict())
    assert limit_cautions(["peak_heel", "peak_heel_fraction", "overshoot"]) == (GIRTING,)
    assert limit_cautions([]) == ()
    assert all(words in CAUTIONS for words in SAID)
    for words in ("waves", "squat", "second tug", "renders", "shallow water", "short line"):
        assert words in NOT_MODELLED
