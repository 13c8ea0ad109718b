"""The verb `report` and the examples of the three readers, on formulas in place of the engine."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest
import xarray as xr

from tests import synthetic
from tests.fake_engine import MODEL
from toolkit.cli import main
from toolkit.report import USERS

EXAMPLES = Path(__file__).parents[2] / "experiments"
STUDY = """
title = "Marrowby Basin, small"
[tug]
bollard_pull = ["10 t", "30 t", "60 t"]
[barge]
displacement = ["454 t", "1500 t"]
[environment]
wind_speed = ["0 kn", "10 kn"]
wind_from = ["from 60 deg", "from 240 deg"]
[manoeuvre]
manoeuvre = ["swing_pull", "swing_push"]
[limits]
time_to_turn = "5 min"
"""


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a study that has been run."""
    folder = tmp_path_factory.mktemp("reports")
    (folder / "basin.toml").write_text(STUDY, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for module in ("runner", "records"):
            patch.setattr(f"toolkit.execution.{module}.current_model", lambda: MODEL)
        assert main(["run", "basin.toml", "--serial", "--no-progress"]) == 0
    return folder


@pytest.fixture(autouse=True)
def _there(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(place)
    monkeypatch.setattr("toolkit.figures.style.DOTS_PER_INCH", 40)


def towage(*words: object) -> int:
    return main([str(word) for word in words])


@pytest.mark.parametrize("user", USERS)
def test_a_page_is_written_and_says_how(user: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert towage("report", "basin.toml", "--user", user, "--histories", 0) == 0
    told = capsys.readouterr().out
    file = Path(f"results/basin/report_{user}.html")
    assert str(file) in told and "Cautions:" in told
    page = file.read_text(encoding="utf-8")
    assert f"towage report basin.toml --user {user} --histories 0" in page and "Marrowby Basin, small" in page


def test_cases_are_run_again_and_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []

    def history(results: xr.Dataset, *, case: int) -> xr.Dataset:
        asked.append(case)
        return synthetic.history(count=20)

    monkeypatch.setattr("toolkit.execution.history.history", history)
    words = ("--at", "wind_from=from 240 deg", "--histories", 2, "--output", "new/page.html")
    assert towage("report", "basin.toml", "--user", "consultant", *words) == 0
    page = Path("new/page.html").read_text(encoding="utf-8")
    assert len(asked) == 2 and page.count('class="one-case"') == 2
    assert "Run again with another version of the model" in page
    assert "--at &#39;wind_from=from 240 deg&#39;" in page


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("nowhere.zarr", "--user", "researcher"), 3, "nowhere.zarr"),
        (("basin.toml", "--user", "researcher", "--axis", "tide"), 2, "tide"),
        (("basin.toml", "--user", "researcher", "--sensitivity", "no.csv"), 2, "no.csv"),
        (("basin.toml", "--user", "consultant", "--record", "no.csv"), 3, "no.csv"),
        (("basin.toml", "--user", "port_authority", "--share", "0"), 2, "share"),
        (("basin.toml", "--user", "port_authority", "--at", "wind_speed=11 kn"), 2, "wind_speed"),
        (("basin.toml", "--user", "port_authority", "--output", "."), 3, "is a folder"),
    ],
)
def test_what_cannot_be_is_refused(
    words: tuple[str, ...], code: int, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert towage("report", *words, "--histories", 0) == code
    told = capsys.readouterr().err
    assert said in told and "Traceback" not in told


def example(name: str) -> ModuleType:
    found = importlib.util.spec_from_file_location(f"example_{name}", EXAMPLES / f"{name}.py")
    assert found is not None and found.loader is not None
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module


@pytest.mark.parametrize("user", USERS)
def test_the_example_of_each_reader_goes_from_results_to_a_figure(user: str, tmp_path: Path) -> None:
    files = example(user).main("results/basin.zarr", str(tmp_path))
    assert [file.name for file in files] == [f"{user}.png", f"{user}.svg"]
    words = " ".join((tmp_path / f"{user}.svg").read_text(encoding="utf-8").split())
    assert "cases run" in words and "Screening aid only" in words
