"""Runs on a dask scheduler and workers in processes of their own, on this machine."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from tests import fake_engine
from tests.fake_engine import KNOT, MODEL, TONNE_FORCE, study_of
from toolkit.errors import StoreError, StudyError
from toolkit.execution import cluster
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.layout import current_model
from toolkit.execution.results import open_results
from toolkit.execution.runner import run_with
from toolkit.study import Study

REPOSITORY = Path(__file__).resolve().parents[2]

pytestmark = pytest.mark.cluster

STUDY = study_of(cases_per_chunk=4)


class Cluster:
    """A scheduler and its workers, each a process, on the loopback."""

    def __init__(self, folder: Path, pause: float) -> None:
        self.file = folder / "scheduler.json"
        self._environment = {**os.environ, "PYTHONPATH": str(REPOSITORY), "FAKE_ENGINE_PAUSE": str(pause)}
        self._log = (folder / "cluster.log").open("w", encoding="utf-8")
        self.workers: list[subprocess.Popen[bytes]] = []
        self.scheduler = self._start("scheduler", "--host", "127.0.0.1", "--port", "0")
        deadline = time.monotonic() + 60.0
        while not self.file.exists():
            assert self.scheduler.poll() is None and time.monotonic() < deadline, "the scheduler did not start"
            time.sleep(0.05)

    def _start(self, what: str, *words: str) -> subprocess.Popen[bytes]:
        program = [sys.executable, "-m", f"distributed.cli.dask_{what}", "--scheduler-file", str(self.file)]
        return subprocess.Popen(
            [*program, "--no-dashboard", *words],
            env=self._environment,
            stdout=self._log,
            stderr=subprocess.STDOUT,
        )

    def add_workers(self, count: int) -> None:
        for _ in range(count):
            self.workers.append(self._start("worker", "--nthreads", "1", "--no-nanny", "--host", "127.0.0.1"))

    def close(self) -> None:
        for process in (*self.workers, self.scheduler):
            process.kill()
            process.wait()
        self._log.close()


@pytest.fixture
def cluster_of_processes(tmp_path: Path) -> Iterator[Cluster]:
    pytest.importorskip("distributed", reason="the cluster extra is not installed")
    made = Cluster(tmp_path, pause=0.05)
    try:
        yield made
    finally:
        made.close()


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Less patience."""
    for name, seconds in (("CONNECT", 2.0), ("FIRST_WORKER", 2.0), ("NO_WORKER", 1.0), ("LOOK", 0.5)):
        monkeypatch.setattr(cluster, name, seconds)


def assert_bits_of_the_formulas(dataset: xr.Dataset, study: Study) -> None:
    wanted = fake_engine.evaluate(study.columns(np.arange(study.size)))
    for name in RESULT_NAMES:
        assert np.array_equal(dataset[name].values.reshape(-1), wanted[name], equal_nan=True), name


def after_marks(path: Path, count: int, process: subprocess.Popen[bytes]) -> threading.Thread:
    """Kill a process when so many blocks are done."""

    def kill() -> None:
        deadline = time.monotonic() + 60.0
        while len(list(path.glob("block_done/c/*"))) < count and time.monotonic() < deadline:
            time.sleep(0.005)
        process.send_signal(signal.SIGKILL)

    thread = threading.Thread(target=kill, daemon=True)
    thread.start()
    return thread


@pytest.mark.slow
def test_a_worker_that_is_killed_in_mid_run_changes_no_bit(tmp_path: Path, cluster_of_processes: Cluster) -> None:
    path = tmp_path / "cluster.zarr"
    cluster_of_processes.add_workers(3)
    killing = after_marks(path, 3, cluster_of_processes.workers[0])
    dataset = run_with(MODEL, STUDY, path, scheduler=str(cluster_of_processes.file))
    killing.join()
    assert [worker.poll() for worker in cluster_of_processes.workers] == [-signal.SIGKILL, None, None]
    serial = run_with(MODEL, STUDY, tmp_path / "serial.zarr", scheduler="serial")
    xr.testing.assert_identical(dataset.drop_attrs().load(), serial.drop_attrs().load())
    assert_bits_of_the_formulas(dataset, STUDY)
    assert not path.with_name(f".{path.name}.lock").exists()


@pytest.mark.slow
def test_the_engine_gives_the_bits_of_the_serial_run(tmp_path: Path, cluster_of_processes: Cluster) -> None:
    axes = {"bollard_pull": np.array([12.0, 30.0, 45.0]) * TONNE_FORCE, "wind_speed": np.array([0.0, 12.0]) * KNOT}
    study = study_of(axes, cases_per_chunk=1, time_limit=300.0, target_angle=60.0)
    model = current_model()
    cluster_of_processes.add_workers(2)
    killing = after_marks(tmp_path / "cluster.zarr", 2, cluster_of_processes.workers[1])
    dataset = run_with(model, study, tmp_path / "cluster.zarr", scheduler=str(cluster_of_processes.file))
    killing.join()
    serial = run_with(model, study, tmp_path / "serial.zarr", scheduler="serial")
    xr.testing.assert_identical(dataset.drop_attrs().load(), serial.drop_attrs().load())


@pytest.mark.slow
@pytest.mark.usefixtures("quick")
def test_without_workers_it_ends_in_words_and_goes_on_later(tmp_path: Path, cluster_of_processes: Cluster) -> None:
    path, address = tmp_path / "cluster.zarr", str(cluster_of_processes.file)
    with pytest.raises(StoreError, match=r"no worker has come within 2 s.*`dask worker tcp://127\.0\.0\.1:"):
        run_with(MODEL, STUDY, path, scheduler=address)
    assert not path.exists()
    cluster_of_processes.add_workers(1)
    killing = after_marks(path, 2, cluster_of_processes.workers[0])
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cluster, "FIRST_WORKER", 60.0)
        with pytest.raises(StoreError, match=r"it has had no worker for 1 s\. Blocks that are done stay done"):
            run_with(MODEL, STUDY, path, scheduler=address)
    killing.join()
    done = open_results(path).attrs["blocks_done"]
    assert 2 <= done < open_results(path).attrs["blocks"]
    assert_bits_of_the_formulas(run_with(MODEL, STUDY, path, scheduler="serial"), STUDY)


@pytest.mark.slow
@pytest.mark.usefixtures("quick")
def test_a_lost_scheduler_ends_it_in_words(tmp_path: Path, cluster_of_processes: Cluster) -> None:
    path = tmp_path / "cluster.zarr"
    cluster_of_processes.add_workers(1)
    killing = after_marks(path, 2, cluster_of_processes.scheduler)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cluster, "FIRST_WORKER", 60.0)
        with pytest.raises(StoreError, match=r"scheduler tcp://127\.0\.0\.1:\d+: lost"):
            run_with(MODEL, STUDY, path, scheduler=str(cluster_of_processes.file))
    killing.join()
    assert open_results(path).attrs["blocks_done"] >= 2


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize(
    ("scheduler", "said"),
    [
        ("tcp://127.0.0.1:1", "cannot be reached"),
        ("magic://host:1", "magic"),
        ("host:port", "cannot be reached"),
        ("none.json", "No such file"),
        ("other.json", "is not the file of a dask scheduler"),
    ],
)
def test_an_address_where_nobody_is_is_refused_and_nothing_thrown_away(
    scheduler: str, said: str, tmp_path: Path
) -> None:
    pytest.importorskip("distributed", reason="the cluster extra is not installed")
    Path("other.json").write_text("{}", encoding="utf-8")
    small = study_of({"bollard_pull": np.array([1e5, 2e5])})
    run_with(MODEL, small, tmp_path / "a.zarr", scheduler="serial")
    with pytest.raises(StudyError, match=said):
        run_with(MODEL, STUDY, tmp_path / "a.zarr", scheduler=scheduler, fresh=True)
    assert open_results(tmp_path / "a.zarr")["outcome"].sizes == {"bollard_pull": 2}


def test_without_the_extra_it_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(StudyError, match=r"needs the package distributed.*the extra 'cluster'"):
        run_with(MODEL, STUDY, tmp_path / "a.zarr", scheduler="tcp://127.0.0.1:8786")
