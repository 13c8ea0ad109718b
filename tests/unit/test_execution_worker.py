from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from tests.fake_engine import MODEL, study_of
from toolkit.errors import StoreError
from toolkit.execution import worker
from toolkit.execution.claim import claimed
from toolkit.execution.layout import current_model
from toolkit.execution.store import Store, prepare_store
from toolkit.execution.worker import ready

STARTER = """
import json, os, sys, time
from tests.fake_engine import MODEL, evaluate
from toolkit.execution import worker

def compiling(columns):
    begun = time.monotonic()
    time.sleep(0.3)
    print(json.dumps([begun, time.monotonic()]), flush=True)
    return evaluate(columns)

print("ready", flush=True)
sys.stdin.readline()
worker._start(MODEL._replace(evaluate=compiling))
worker._start(MODEL._replace(evaluate=compiling))
"""


@pytest.fixture(autouse=True)
def _new_process(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(worker, "_STARTED", set())
    worker._see_the_same.cache_clear()


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    path = tmp_path / "a.zarr"
    with claimed(path) as claim:
        yield prepare_store(path, study_of(), MODEL, claim=claim)


def test_a_worker_that_sees_the_store_is_ready(store: Store) -> None:
    ready(MODEL, store)


def test_a_worker_that_sees_another_folder_is_refused(store: Store, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"b\.zarr: worker \d+ on .* does not see the store.*all workers share"):
        ready(MODEL, replace(store, path=tmp_path / "b.zarr"))
    assert store.claim is not None
    elsewhere = replace(store, claim=replace(store.claim, word="that of a run on a machine with another disk"))
    with pytest.raises(StoreError, match="does not see the store"):
        ready(MODEL, elsewhere)


def test_a_worker_with_another_model_is_refused(store: Store) -> None:
    with pytest.raises(StoreError, match=r"has another version of the model .*Install the same version"):
        ready(current_model()._replace(hash="beef000000000000"), store)


def test_one_process_compiles_at_a_time(repository: Path, tmp_path: Path) -> None:
    environment = {**os.environ, "TOWAGE_CACHE_DIR": str(tmp_path / "cold")}
    processes = [
        subprocess.Popen(
            [sys.executable, "-c", STARTER],
            cwd=repository, env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )
        for _ in range(2)
    ]  # fmt: skip
    for process in processes:
        assert process.stdout is not None and process.stdout.readline() == "ready\n"
    for process in processes:
        assert process.stdin is not None
        process.stdin.write("\n")
        process.stdin.flush()
    spans = sorted(
        [float(part) for part in process.communicate(timeout=60)[0].strip("[]\n").split(",")] for process in processes
    )
    assert len(spans) == 2 and all(len(span) == 2 for span in spans)  # each starts once
    assert spans[0][1] <= spans[1][0]
