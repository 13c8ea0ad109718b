"""Runs that are killed, stopped by hand, or spread over processes."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import cloudpickle
import numpy as np
import pytest
import xarray as xr

from tests import fake_engine
from tests.fake_engine import MODEL, study_of
from toolkit.errors import StoreError
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.results import open_results
from toolkit.execution.runner import run_with
from toolkit.study import Study

SCRIPT = """
from pathlib import Path
from tests.fake_engine import MODEL, study_of
from toolkit.execution.runner import run_with
run_with(MODEL, study_of(cases_per_chunk=6), Path({path!r}), scheduler="threads", workers=2)
"""


def assert_bits_of_the_formulas(dataset: xr.Dataset, study: Study) -> None:
    wanted = fake_engine.evaluate(study.columns(np.arange(study.size)))
    for name in RESULT_NAMES:
        assert np.array_equal(dataset[name].values.reshape(-1), wanted[name], equal_nan=True), name


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
def test_a_run_that_is_stopped_goes_on_where_it_stood(how: signal.Signals, tmp_path: Path, repository: Path) -> None:
    path = tmp_path / "stopped.zarr"
    process = subprocess.Popen(
        [sys.executable, "-c", SCRIPT.format(path=str(path))],
        cwd=repository,
        env={**os.environ, "FAKE_ENGINE_PAUSE": "0.1"},
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        deadline = time.monotonic() + 60.0
        while len(list(path.glob("block_done/c/*"))) < 3:
            assert process.poll() is None, process.communicate()[1]
            assert time.monotonic() < deadline
            time.sleep(0.02)
        process.send_signal(how)
        said = process.communicate(timeout=60)[1]
    finally:
        process.kill()
        process.wait()
    assert process.returncode != 0
    if how == signal.SIGINT:
        assert "the same command goes on from there" in said

    half = open_results(path)
    assert 3 <= half.attrs["blocks_done"] < half.attrs["blocks"]
    stamps = {file.name: file.stat().st_mtime_ns for file in path.glob("block_done/c/*")}
    study = study_of(cases_per_chunk=6)
    assert_bits_of_the_formulas(run_with(MODEL, study, path, scheduler="serial"), study)
    kept = {file.name: file.stat().st_mtime_ns for file in path.glob("block_done/c/*")}
    assert all(kept[name] == stamp for name, stamp in stamps.items())  # what was done was not done again


def test_processes_give_the_same_bits(tmp_path: Path, repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(repository))
    study = study_of()
    cloudpickle.register_pickle_by_value(fake_engine)
    try:
        other = run_with(MODEL, study, tmp_path / "processes.zarr", scheduler="processes", workers=2)
    finally:
        cloudpickle.unregister_pickle_by_value(fake_engine)
    assert_bits_of_the_formulas(other, study)


@pytest.mark.parametrize(
    ("failure", "said"),
    [("death", "A worker process died, perhaps for want of memory"), ("error", r"^basin\.zarr: cannot be written\.$")],
)
def test_what_goes_wrong_in_a_process_is_told_in_words(
    failure: str, said: str, tmp_path: Path, repository: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PYTHONPATH", str(repository))
    monkeypatch.setenv("FAKE_ENGINE_FAILURE", failure)
    cloudpickle.register_pickle_by_value(fake_engine)
    try:
        with pytest.raises(StoreError, match=said):
            run_with(MODEL, study_of(), tmp_path / "processes.zarr", scheduler="processes", workers=1)
    finally:
        cloudpickle.unregister_pickle_by_value(fake_engine)
    assert open_results(tmp_path / "processes.zarr").attrs["blocks_done"] == 0


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may write everywhere")
def test_a_folder_for_reading_only_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "reading"
    folder.mkdir(mode=0o500)
    with pytest.raises(StoreError, match="cannot be written"):
        run_with(MODEL, study_of(), folder / "a.zarr", scheduler="serial")


@pytest.mark.skipif(not Path("/proc/self").is_dir(), reason="no file system that refuses even the superuser")
def test_a_file_system_for_reading_only_is_refused() -> None:
    with pytest.raises(StoreError, match="cannot be written"):
        run_with(MODEL, study_of(), Path("/proc/self/a.zarr"), scheduler="serial")


def test_of_two_runs_into_one_store_the_second_is_refused(tmp_path: Path, repository: Path) -> None:
    path = tmp_path / "shared.zarr"
    environment = {**os.environ, "FAKE_ENGINE_PAUSE": "0.05"}
    runs = [
        subprocess.Popen(
            [sys.executable, "-c", SCRIPT.format(path=str(path))],
            cwd=repository, env=environment, stderr=subprocess.PIPE, text=True,
        )
        for _ in range(2)
    ]  # fmt: skip
    said = [run.communicate(timeout=120)[1] for run in runs]
    codes = [run.returncode for run in runs]
    assert sorted(codes) == [0, 1]
    first, second = (runs[codes.index(code)] for code in (0, 1))
    who = rf"(process {first.pid} on .*|just begun)"
    assert re.search(rf"shared\.zarr: another run is writing into it \({who}\)\. Wait for it", said[runs.index(second)])
    found = open_results(path)
    assert found.attrs["blocks_done"] == found.attrs["blocks"]
    assert_bits_of_the_formulas(found, study_of(cases_per_chunk=6))
    assert [file.name for file in tmp_path.iterdir()] == ["shared.zarr"]
