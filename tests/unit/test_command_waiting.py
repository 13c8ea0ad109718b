"""Waiting for the compiler is said beforehand, and only where there is something to wait for."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.one_case import columns_of
from toolkit.cli.waiting import tell_of_compiling
from toolkit.kernels import cache_folder
from toolkit.motion.engine import evaluate_columns


def test_it_is_said_until_the_engine_is_in_the_cache(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    evaluate_columns(columns_of(time_limit=10.0))  # compiled, or loaded
    tell_of_compiling()
    assert capsys.readouterr().err == ""
    monkeypatch.setenv("TOWAGE_CACHE_DIR", str(tmp_path))
    tell_of_compiling()
    told = capsys.readouterr()
    assert "compiled for this machine first" in told.err and told.out == ""
    assert cache_folder().parent == tmp_path
