from __future__ import annotations

import errno
import fcntl
import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.fake_engine import MODEL, evaluate, study_of
from toolkit.errors import StoreError
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.claim import claimed
from toolkit.execution.results import open_results
from toolkit.execution.runner import run_with
from toolkit.execution.store import prepare_store, write_block

HOLDER = """
import signal
from pathlib import Path
from toolkit.execution.claim import claimed
with claimed(Path({path!r})):
    print("held", flush=True)
    signal.pause()
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "basin.zarr"


def lock_of(path: Path) -> Path:
    return path.with_name(f".{path.name}.lock")


def test_a_second_claim_is_refused_and_says_who_holds_the_first(path: Path) -> None:
    with claimed(path) as claim:
        assert claim.holds()
        with pytest.raises(StoreError, match=rf"basin\.zarr: another run .*process {os.getpid()} on "), claimed(path):
            pass
        assert claim.holds()
    assert not lock_of(path).exists()
    with claimed(path):
        pass


@pytest.mark.parametrize("text", ["", "{", "[1]", '{"word": "old"}'])
def test_a_file_that_nobody_locks_keeps_nobody_out(text: str, path: Path) -> None:
    lock_of(path).write_text(text, encoding="utf-8")
    with claimed(path) as claim:
        assert claim.holds()
        assert json.loads(lock_of(path).read_text(encoding="utf-8"))["process"] == os.getpid()


def test_the_claim_of_a_process_that_was_killed_is_gone(path: Path, repository: Path) -> None:
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDER.format(path=str(path))], cwd=repository, stdout=subprocess.PIPE, text=True
    )
    try:
        assert holder.stdout is not None and holder.stdout.readline() == "held\n"
        with pytest.raises(StoreError, match=f"process {holder.pid} "):
            run_with(MODEL, study_of(), path, scheduler="serial")
        assert not path.exists()
        holder.send_signal(signal.SIGKILL)
    finally:
        holder.kill()
        holder.communicate()
    assert lock_of(path).exists()
    run_with(MODEL, study_of(), path, scheduler="serial")
    assert [file.name for file in path.parent.iterdir()] == [path.name]


def test_a_second_run_is_refused_before_anything_is_read_or_written(path: Path) -> None:
    seen: list[str] = []

    def second(columns: dict[str, Any]) -> dict[str, Any]:
        if not seen:
            for options in ({}, {"fresh": True}):
                with pytest.raises(StoreError, match="another run is writing") as caught:
                    run_with(MODEL, study_of(), path, scheduler="serial", **options)
                seen.append(str(caught.value))
        return evaluate(columns)

    dataset = run_with(MODEL._replace(evaluate=second), study_of(), path, scheduler="serial")
    assert len(seen) == 2 and dataset.attrs["blocks_done"] == dataset.attrs["blocks"]


def results_of(store: Any, block: int) -> dict[str, Any]:
    wanted = evaluate(study_of().columns(store.blocks.flat_indices(block)))
    return {name: wanted[name] for name in RESULT_NAMES}


def test_what_belongs_to_a_run_that_is_over_is_not_written(path: Path) -> None:
    with claimed(path) as claim:
        store = prepare_store(path, study_of(), MODEL, claim=claim)
        write_block(store, 0, results_of(store, 0))
    before = sorted(path.rglob("*"))
    with pytest.raises(StoreError, match="no longer holds the store"):
        write_block(store, 1, results_of(store, 1))
    with claimed(path), pytest.raises(StoreError, match="no longer holds the store"):
        write_block(store, 1, results_of(store, 1))
    assert sorted(path.rglob("*")) == before
    assert open_results(path).attrs["blocks_done"] == 1


def test_without_locks_a_run_goes_on_with_a_warning(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(descriptor: int, operation: int) -> None:
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    monkeypatch.setattr(fcntl, "flock", refuse)
    with pytest.warns(UserWarning, match="knows no locks"):
        dataset = run_with(MODEL, study_of(), path, scheduler="serial")
    assert dataset.attrs["blocks_done"] == dataset.attrs["blocks"]
    assert [file.name for file in path.parent.iterdir()] == [path.name]


def test_a_lock_taken_away_between_two_looks_is_taken_anew(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    locked = fcntl.flock
    calls: list[int] = []

    def slow(descriptor: int, operation: int) -> None:
        calls.append(descriptor)
        if len(calls) == 1:
            lock_of(path).unlink()  # as its holder does on leaving
        locked(descriptor, operation)

    monkeypatch.setattr(fcntl, "flock", slow)
    with claimed(path) as claim:
        assert claim.holds() and len(calls) == 2
