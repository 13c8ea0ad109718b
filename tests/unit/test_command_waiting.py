"""Waiting for the compiler is said beforehand, and only where there is something to wait for."""

from __future__ import annotations

import argparse
import warnings
from pathlib import Path

import numpy as np
import pytest

from tests.one_case import columns_of
from toolkit.cli.main import main
from toolkit.cli.waiting import tell_of_compiling
from toolkit.kernels import cache_folder
from toolkit.motion.engine import evaluate_columns


def test_it_is_said_until_the_engine_is_in_the_cache(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    evaluate_columns(columns_of(time_limit=10.0))  # compiled, or loaded
    tell_of_compiling(["swing_pull"])
    assert capsys.readouterr().err == ""
    monkeypatch.setenv("TOWAGE_CACHE_DIR", str(tmp_path))
    tell_of_compiling(["swing_pull"])
    told = capsys.readouterr()
    assert "compiled for this machine first" in told.err and told.out == ""
    assert cache_folder().parent == tmp_path


def test_a_manoeuvre_that_was_never_run_is_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("TOWAGE_CACHE_DIR", str(tmp_path))
    folder = cache_folder() / "some"
    folder.mkdir()
    for name in ("batch.rates_of_lanes", "batch.load_lane", "batch.run_batch", "ending.note_tick",
                 "conditions.change_conditions", "swing_pull.look_pull", "swing.judge_swing"):  # fmt: skip
        (folder / f"{name}-1.py311.nbi").touch()
    tell_of_compiling(["swing_pull"])
    assert capsys.readouterr().err == ""
    for some in (["swing_push"], ["swing_pull", "hold"]):
        tell_of_compiling(some)
        assert "once for each manoeuvre" in capsys.readouterr().err
    tell_of_compiling(["swing_pull", "no manoeuvre at all"])
    assert capsys.readouterr().err == ""


def test_warnings_are_told_in_a_line_but_not_that_values_are_missing(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def verb(_: object) -> None:
        np.nanmax(np.full((2, 2), np.nan), axis=0)
        warnings.warn("this is told", stacklevel=1)

    parser = argparse.ArgumentParser()
    parser.set_defaults(verb=verb)
    monkeypatch.setitem(main.__globals__, "build_parser", lambda: parser)
    assert main([]) == 0
    assert capsys.readouterr().err == "towage: warning: this is told\n"
