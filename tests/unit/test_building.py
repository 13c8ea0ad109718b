"""The engine compiled in two processes: what the other one made is used, and done without where there is none."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from toolkit.motion import building

COLD_START = """
import os, sys
from tests.one_case import columns_of
from toolkit.kernels import compiled
from toolkit.motion.engine import evaluate_columns
from toolkit.motion.manoeuvres import MANOEUVRES

found = evaluate_columns(columns_of(time_limit=60.0))
stats = compiled(MANOEUVRES["swing_pull"].look).stats
print(float(found["peak_tension"][0]).hex(), sum(stats.cache_hits.values()), sum(stats.cache_misses.values()))
"""


class NoAnswer:
    """A process that is started and never ends by itself."""

    def __init__(self) -> None:
        self.killed = False

    def wait(self, timeout: float | None = None) -> int:
        if timeout is not None:
            raise subprocess.TimeoutExpired("looks", timeout)
        return -9

    def poll(self) -> int | None:
        return -9 if self.killed else None

    def kill(self) -> None:
        self.killed = True


@pytest.mark.slow
def test_looks_come_from_the_other_process_and_give_the_same_bits(tmp_path: Path, repository: Path) -> None:
    from tests.one_case import columns_of
    from toolkit.motion.engine import evaluate_columns

    run = subprocess.run(
        [sys.executable, "-c", COLD_START], cwd=repository, capture_output=True, text=True, check=False,
        env={"TOWAGE_CACHE_DIR": str(tmp_path), "PATH": "", "PYTHONPATH": str(repository)},
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    peak, hits, misses = run.stdout.split()
    assert float.fromhex(peak) == evaluate_columns(columns_of(time_limit=60.0))["peak_tension"][0]
    assert (int(hits), int(misses)) == (1, 0), "the looks were compiled a second time"


def test_other_process_that_does_not_answer_is_ended_and_done_without(monkeypatch: pytest.MonkeyPatch) -> None:
    process, built = NoAnswer(), []
    monkeypatch.setattr(building, "_helper", lambda _: process)
    monkeypatch.setattr(building, "build", lambda function, *kinds: built.append(function.__name__))
    building._build_parts([*building.CALLED, building.LOOP], [0])
    assert process.killed and sorted(built) == ["change_conditions", "load_lane", "note_tick", "rates_of_lanes"]


def test_other_process_is_ended_where_this_one_is_interrupted(monkeypatch: pytest.MonkeyPatch) -> None:
    process = NoAnswer()

    def interrupted(*_: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(building, "_helper", lambda _: process)
    monkeypatch.setattr(building, "build", interrupted)
    with pytest.raises(KeyboardInterrupt):
        building._build_parts(building.CALLED, [0])
    assert process.killed


@pytest.mark.parametrize("reason", ["one processor", "no interpreter", "cannot be started"])
def test_no_other_process_where_there_can_be_none(reason: str, monkeypatch: pytest.MonkeyPatch) -> None:
    if reason == "one processor":
        monkeypatch.setattr("os.cpu_count", lambda: 1)
    else:
        monkeypatch.setattr("os.cpu_count", lambda: 2)
        monkeypatch.setattr(sys, "executable", "" if reason == "no interpreter" else "/nowhere/at/all")
    assert building._helper([0]) is None


def test_loop_is_compiled_once_and_not_for_every_manoeuvre() -> None:
    from tests.one_case import columns_of
    from toolkit.kernels import compiled
    from toolkit.motion.batch import run_batch
    from toolkit.motion.engine import evaluate_columns

    for manoeuvre in ("swing_pull", "swing_push", "tow_ahead"):
        evaluate_columns(columns_of(manoeuvre=manoeuvre, time_limit=2.0))
    assert len(compiled(run_batch).signatures) == 1  # type: ignore[attr-defined]
