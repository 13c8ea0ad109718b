from __future__ import annotations

import math
import threading
import time
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolkit.errors import StudyError
from toolkit.execution import mapping
from toolkit.execution.mapping import check_options, is_address, map_blocks
from toolkit.execution.progress import Pace, progress_bar
from toolkit.execution.runner import evenly


@pytest.mark.parametrize(("scheduler", "workers"), [("serial", 1), ("threads", 1), ("threads", 3)])
def test_every_block_is_done_once_however_many_go_into_one_graph(
    scheduler: str, workers: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(mapping, "BLOCKS_AT_ONCE", 7)
    told: list[int] = []
    map_blocks(lambda block: -block, iter(range(30)), told.append, workers=workers, scheduler=scheduler)
    assert sorted(told) == list(range(-29, 1))


def test_no_more_run_side_by_side_than_there_are_workers() -> None:
    now, most, lock = [0], [0], threading.Lock()

    def task(block: int) -> int:
        with lock:
            now[0] += 1
            most[0] = max(most[0], now[0])
        time.sleep(0.005)
        with lock:
            now[0] -= 1
        return block

    map_blocks(task, range(12), lambda block: None, workers=3, scheduler="threads")
    assert most == [3]


@pytest.mark.parametrize("error", [KeyboardInterrupt, RuntimeError])
def test_what_had_begun_is_finished_before_an_error_comes_out(
    error: type[BaseException], capsys: pytest.CaptureFixture[str]
) -> None:
    begun: list[int] = []
    ended: list[int] = []

    def task(block: int) -> int:
        begun.append(block)
        time.sleep(0.05 * (block % 2))
        ended.append(block)
        return block

    def finished(block: int) -> None:
        raise error

    with pytest.raises(error):
        map_blocks(task, range(50), finished, workers=2, scheduler="threads")
    assert sorted(begun) == sorted(ended) and len(begun) < 10
    assert ("Ctrl-C again" in capsys.readouterr().err) is (error is KeyboardInterrupt)


@pytest.mark.parametrize(
    ("text", "known"),
    [("tcp://host:8786", True), ("host:8786", True), ("scheduler.json", True), ("threads", False), ("magic", False)],
)
def test_what_can_be_an_address(text: str, known: bool) -> None:
    assert is_address(text) is known


def test_a_dask_scheduler_brings_its_own_workers() -> None:
    with pytest.raises(StudyError, match="workers = 3 has no meaning with the dask scheduler at tcp://host:1"):
        check_options(3, "tcp://host:1")


@given(st.integers(0, 300), st.data())
def test_blocks_done_at_any_time_are_spread_evenly(count: int, data: st.DataObject) -> None:
    blocks = np.sort(np.array(data.draw(st.lists(st.integers(0, 10_000), min_size=count, max_size=count, unique=True))))
    order = evenly(blocks.astype(np.int64))
    assert sorted(order) == blocks.tolist()
    place = {block: number for number, block in enumerate(blocks.tolist())}
    part = order[: len(order) // 2 or 1]
    if part:
        gaps = np.diff(sorted({-1.0, *(place[block] for block in part), float(count)}))
        assert gaps.max() <= 5


def test_rate_is_the_mean_since_the_first_blocks() -> None:
    pace = Pace(workers=2)
    assert pace.rate is None
    for now in (30.0, 31.0):  # after a wait for the compiler
        pace.add(100, now)
        assert pace.rate is None
    for number in range(1, 20):
        pace.add(100, 31.0 + 2.0 * number)
        assert pace.rate == pytest.approx(50.0)


def test_time_to_go_is_told_from_it(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    clock = [0.0]
    monkeypatch.setattr("toolkit.execution.progress.time.monotonic", lambda: clock[0])
    monkeypatch.setattr("tqdm.std.tqdm.mininterval", 0.0, raising=False)
    with progress_bar(total=1000, done=400, workers=1, shown=True) as advance:
        for clock[0] in (100.0, 110.0, 120.0):
            advance(100)
    # 100 cases in 10 s; the first hundred waited for the compiler
    assert "700/1000" in (told := capsys.readouterr().err) and "10.00 cases/s" in told and "<00:30" in told


def test_no_bar_is_shown_where_none_is_wanted(capsys: pytest.CaptureFixture[str]) -> None:
    with progress_bar(total=10, done=0, workers=1, shown=False) as advance:
        advance(10)
    assert capsys.readouterr().err == "" and math.isnan(Pace(1)._last)


def test_a_graph_of_many_blocks_is_not_built_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    sizes: list[int] = []
    import dask.threaded

    whole = dask.threaded.get

    def watched(graph: dict[Any, Any], keys: Any, **options: Any) -> Any:
        sizes.append(len(graph))
        return whole(graph, keys, **options)

    monkeypatch.setattr(dask.threaded, "get", watched)
    monkeypatch.setattr(mapping, "BLOCKS_AT_ONCE", 16)
    map_blocks(lambda block: block, range(40), lambda block: None, workers=2, scheduler="threads")
    assert sizes == [16, 16, 8]
