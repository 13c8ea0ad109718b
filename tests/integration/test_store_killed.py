"""Runs that are killed at random moments, many times over, and runs that are stopped by Ctrl-C at any moment."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import zarr

from tests.fake_engine import MODEL, evaluate, study_of
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.blocks import Blocks
from toolkit.execution.results import open_results
from toolkit.execution.runner import run_with

KILLS = 20

STUDY = study_of(cases_per_chunk=4)

# Forks a run into the store it is told, and kills it and all that it started some time [s] after it has marked so many
# blocks, or after its start. Everything is imported before, and nothing is begun, so that a run starts at once.
KILLER = """
import os, signal, sys, time
from pathlib import Path
from tests.fake_engine import MODEL, study_of
from toolkit.execution.runner import run_with
import dask.threaded, xarray, zarr

print("ready", flush=True)
for line in sys.stdin:
    marked, seconds, path = line.strip().split(maxsplit=2)
    child = os.fork()
    if not child:
        os.setsid()
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        run_with(MODEL, study_of(cases_per_chunk=4), Path(path), scheduler="threads", workers=2)
        os._exit(0)
    until = time.monotonic() + 20.0
    marks = Path(path, "block_done", "c")
    while int(marked) and (not marks.is_dir() or len(os.listdir(marks)) < int(marked)) and time.monotonic() < until:
        time.sleep(0.002)
    time.sleep(float(seconds))
    try:
        os.killpg(child, signal.SIGKILL)
    except ProcessLookupError:
        os.kill(child, signal.SIGKILL)  # before it had a group of its own
    os.waitpid(child, 0)
    print("killed", flush=True)
"""


def marks_of(path: Path) -> dict[str, int]:
    """Blocks that bear a mark, and when it was written."""
    return {file.name: file.stat().st_mtime_ns for file in path.glob("block_done/c/*") if file.name.isdigit()}


def assert_marked_blocks_are_whole(path: Path, marks: dict[str, int], wanted: dict[str, np.ndarray]) -> None:
    group = zarr.open_group(path, mode="r")
    blocks = Blocks(shape=group["outcome"].shape, chunks=group["outcome"].chunks)
    for number in map(int, marks):
        rows, region = blocks.flat_indices(number), blocks.slices(number)
        for name in RESULT_NAMES:
            found = np.asarray(group[name][region]).reshape(-1)
            assert np.array_equal(found, wanted[name][rows], equal_nan=True), (number, name)


def go_on_to_the_end(path: Path, before: dict[str, int], wanted: dict[str, np.ndarray]) -> None:
    """Run what is left, and see that it was no more than that, and is right."""
    run_with(MODEL, STUDY, path, scheduler="serial")
    marks = marks_of(path)
    assert_marked_blocks_are_whole(path, marks, wanted)
    assert len(marks) == open_results(path).attrs["blocks"]
    assert all(marks[number] == stamp for number, stamp in before.items())
    assert not list(path.rglob("*.partial"))


@pytest.mark.slow
def test_killed_many_times_at_random_it_loses_no_block_and_writes_none_twice(tmp_path: Path, repository: Path) -> None:
    chance, wanted = random.Random(7), evaluate(STUDY.columns(np.arange(STUDY.size)))
    paths = [tmp_path / "0.zarr"]
    before: dict[str, int] = {}
    with subprocess.Popen(
        [sys.executable, "-c", KILLER],
        cwd=repository, env={**os.environ, "FAKE_ENGINE_PAUSE": "0.02"},
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    ) as killer:  # fmt: skip
        assert killer.stdin is not None and killer.stdout is not None
        assert killer.stdout.readline() == "ready\n"
        for _ in range(KILLS):
            path = paths[-1]
            at_start = chance.random() < 0.2
            moment = f"0 {chance.uniform(0.0, 0.8)}" if at_start else f"{len(before) + 1} {chance.uniform(0.0, 0.15)}"
            killer.stdin.write(f"{moment} {path}\n")
            killer.stdin.flush()
            assert killer.stdout.readline() == "killed\n"
            if not path.exists():
                assert not before
                continue
            marks = marks_of(path)
            assert all(marks[number] == stamp for number, stamp in before.items())
            dataset = open_results(path)
            assert dataset.attrs["blocks_done"] == len(marks)
            assert_marked_blocks_are_whole(path, {k: v for k, v in marks.items() if k not in before}, wanted)
            before = marks
            if len(marks) > 0.7 * dataset.attrs["blocks"]:
                go_on_to_the_end(path, before, wanted)
                paths.append(tmp_path / f"{len(paths)}.zarr")
                before = {}
        killer.stdin.close()
    go_on_to_the_end(paths[-1], before, wanted)
    assert sorted(file.name for file in tmp_path.iterdir()) == sorted(path.name for path in paths)


COMMAND = """
import sys
from toolkit.cli import main, verbs

def run(options, run=verbs.run):
    import toolkit.execution.runner as runner
    from tests.fake_engine import MODEL
    runner.current_model = lambda: MODEL
    run(options)

verbs.run = run
if __name__ == "__main__":
    print("begun", flush=True)
    sys.exit(main())
"""

FILE = """
[tug]
bollard_pull = { from = "10 t", to = "60 t", count = 8 }
[barge]
displacement = { from = "300 t", to = "2000 t", count = 8 }
[run]
cases_per_chunk = 2
"""


@pytest.mark.slow
@pytest.mark.parametrize(
    "way", [["--serial"], ["--workers", "2"], ["--scheduler", "processes"]], ids=lambda way: way[0]
)
def test_ctrl_c_at_any_moment_leaves_with_130_and_a_store_to_go_on_with(
    way: list[str], tmp_path: Path, repository: Path
) -> None:
    (tmp_path / "command.py").write_text(COMMAND, encoding="utf-8")
    (tmp_path / "basin.toml").write_text(FILE, encoding="utf-8")
    store, chance, done = tmp_path / "results" / "basin.zarr", random.Random(str(way)), 0
    for longest in (0.6, 1.2, 2.4):
        process = subprocess.Popen(
            [sys.executable, "command.py", "run", "basin.toml", *way],
            cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(repository), "FAKE_ENGINE_PAUSE": "0.2"},
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
        )  # fmt: skip
        assert process.stdout is not None and process.stdout.readline() == "begun\n"
        time.sleep(chance.uniform(0.05, longest))
        os.killpg(process.pid, signal.SIGINT)
        _, said = process.communicate(timeout=60)
        assert process.returncode == 130, said
        assert "towage: Stopped." in said and "Traceback" not in said and "Exception ignored" not in said
        if store.exists():
            now = open_results(store).attrs["blocks_done"]
            assert now >= done and ("the same command goes on from there" in said or now == done == 0)
            done = now
    assert not list((tmp_path / "results").glob("*.lock")) if done else True


@pytest.mark.slow
def test_a_second_ctrl_c_leaves_at_once(tmp_path: Path, repository: Path) -> None:
    (tmp_path / "command.py").write_text(COMMAND, encoding="utf-8")
    (tmp_path / "basin.toml").write_text(FILE, encoding="utf-8")
    process = subprocess.Popen(
        [sys.executable, "command.py", "run", "basin.toml", "--no-progress"],
        cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(repository), "FAKE_ENGINE_PAUSE": "300"},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    store = tmp_path / "results" / "basin.zarr"
    deadline = time.monotonic() + 60.0
    while not store.exists():
        assert process.poll() is None and time.monotonic() < deadline
        time.sleep(0.02)
    time.sleep(1.0)
    process.send_signal(signal.SIGINT)
    assert process.stderr is not None
    assert any(line.startswith("Stopping when the blocks in work are done. Ctrl-C again") for line in process.stderr)
    process.send_signal(signal.SIGINT)
    assert process.wait(timeout=10) == 130
    assert "0 of 32 blocks are done; the same command goes on from there" in process.stderr.read()
    process.stderr.close()
    assert open_results(store).attrs["blocks_done"] == 0
