"""`towage run`: where results come from, where they go, and how it is told that it cannot go on."""

from __future__ import annotations

from pathlib import Path

import pytest

import toolkit
from tests.fake_engine import MODEL
from toolkit.cli import main
from toolkit.execution.claim import claimed

SAMPLES = """
title = "Marrowby Basin, samples"
[design]
kind = "sobol"
samples = {count}
[tug]
bollard_pull = {{ from = "30 t", to = "60 t" }}
"""


@pytest.fixture(autouse=True)
def _formulas(monkeypatch: pytest.MonkeyPatch) -> None:
    """Formulas in place of the engine."""
    monkeypatch.setattr("toolkit.execution.runner.current_model", lambda: MODEL)


def run(*words: str) -> int:
    return main(["run", "basin.toml", "--no-progress", "--serial", *words])


def write(count: int) -> None:
    Path("basin.toml").write_text(SAMPLES.format(count=count), encoding="utf-8")


def test_a_longer_sequence_is_told_how_to_take_over_the_shorter_and_does(capsys: pytest.CaptureFixture[str]) -> None:
    write(8)
    assert run() == 0
    write(16)
    assert run() == 3
    told = capsys.readouterr().err
    assert "design samples: 8 there, 16 here" in told and "--store" in told and "--reuse" in told
    assert run("--reuse", "results/basin.zarr") == 3
    assert "cannot be extended in itself" in capsys.readouterr().err
    assert run("--store", "longer.zarr", "--reuse", "results/basin.zarr") == 0
    assert "8 cases were taken over" in toolkit.open_results("longer.zarr").attrs["history"]
    assert run("--store", "other.zarr", "--reuse", "none.zarr") == 3
    assert "none.zarr: no such store" in capsys.readouterr().err
    assert not Path("other.zarr").exists()


def test_blocks_that_cannot_be_read_are_run_again_on_request(capsys: pytest.CaptureFixture[str]) -> None:
    write(8)
    assert run() == 0
    spoilt = Path("results/basin.zarr/peak_heel/c/0")
    whole = spoilt.read_bytes()
    spoilt.write_bytes(b"no longer")
    assert main(["export", "results/basin.zarr", "--csv", "a.csv"]) == 3
    assert "--verify" in capsys.readouterr().err
    assert run("--verify") == 0
    assert spoilt.read_bytes() == whole
    assert main(["export", "results/basin.zarr", "--csv", "a.csv"]) == 0


def test_a_store_in_use_leaves_with_three(capsys: pytest.CaptureFixture[str]) -> None:
    write(8)
    with claimed(Path("results/basin.zarr")):
        assert run() == 3
    assert "results/basin.zarr: another run is writing into it" in capsys.readouterr().err
    assert run() == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--scheduler", "tcp://127.0.0.1:1", "--workers", "2"], "it has the workers that were started for it"),
        (["--scheduler", "magic"], "nor an address"),
    ],
)
def test_schedulers_that_make_no_sense_leave_with_two(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    write(8)
    assert main(["run", "basin.toml", *words]) == 2
    assert said in capsys.readouterr().err
    assert not Path("results").exists()
