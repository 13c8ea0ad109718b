from __future__ import annotations

import asyncio
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import zarr
from zarr.storage import LocalStore

from toolkit.execution.together import make_arrays, open_arrays, write_arrays

NAMES = ("a", "b", "c", "d")
REGION = (slice(2, 4),)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    group = zarr.create_group(tmp_path / "a.zarr", zarr_format=3)
    for name in NAMES:
        group.create_array(name, shape=(6,), chunks=(2,), dtype="f8", fill_value=np.nan)
    return tmp_path / "a.zarr"


def values(scale: float = 1.0) -> dict[str, Any]:
    return {name: scale * (number + np.arange(2.0)) for number, name in enumerate(NAMES)}


def no_room_for(array: str, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Have the disk refuse all of one array at once, and take the others' files slowly; receives those it took."""
    taken: list[str] = []
    whole = LocalStore.set

    async def refusing(self: LocalStore, key: str, value: Any) -> None:
        if key.startswith(f"{array}/"):
            raise OSError(28, "No space left on device")
        await asyncio.sleep(0.02)
        await whole(self, key, value)
        taken.append(key)

    monkeypatch.setattr(LocalStore, "set", refusing)
    return taken


def test_all_arrays_are_written_in_their_region(path: Path) -> None:
    write_arrays(open_arrays(path, NAMES), REGION, values())
    group = zarr.open_group(path, mode="r")
    for name, wanted in values().items():
        assert np.array_equal(group[name][:], [np.nan, np.nan, *wanted, np.nan, np.nan], equal_nan=True)


def test_they_are_written_side_by_side(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    now, most = [0], [0]
    whole = LocalStore.set

    async def slow(self: LocalStore, key: str, value: Any) -> None:
        now[0] += 1
        most[0] = max(most[0], now[0])
        await asyncio.sleep(0.01)
        now[0] -= 1
        await whole(self, key, value)

    monkeypatch.setattr(LocalStore, "set", slow)
    write_arrays(open_arrays(path, NAMES), REGION, values())
    assert most[0] == len(NAMES)


def test_an_error_comes_out_when_no_one_is_writing_any_more(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ended = no_room_for("a", monkeypatch)
    with pytest.raises(OSError, match="No space left"):
        write_arrays(open_arrays(path, NAMES), REGION, values())
    assert sorted(ended) == ["b/c/1", "c/c/1", "d/c/1"]


def test_arrays_are_made_with_their_options_and_can_be_written(path: Path) -> None:
    words = {"units": "m"}
    wanted: dict[str, dict[str, Any]] = {
        "e": {"shape": (3,), "chunks": (2,), "dtype": "f4", "fill_value": np.nan, "attributes": words},
        "f": {"shape": (), "chunks": (), "dtype": "i8", "fill_value": 0},
    }
    made = make_arrays(path, wanted)
    write_arrays(made, ..., {"e": np.arange(3.0, dtype="f4"), "f": np.array(7)})
    group = zarr.open_group(path, mode="r")
    assert group["e"][:].tolist() == [0.0, 1.0, 2.0] and dict(group["e"].attrs) == words
    assert group["e"].chunks == (2,) and group["f"][...] == 7 and set(group) == {*NAMES, "e", "f"}


def test_an_error_of_one_that_is_made_comes_out_when_all_others_are(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended = no_room_for("e", monkeypatch)
    with pytest.raises(OSError, match="No space left"):
        make_arrays(path, {name: {"shape": (3,), "chunks": (1,), "dtype": "f4", "fill_value": 0} for name in "efg"})
    assert sorted(ended) == ["f/zarr.json", "g/zarr.json"]


def test_it_works_where_an_event_loop_is_running(path: Path) -> None:
    """As in a notebook."""

    async def cell() -> None:
        write_arrays(open_arrays(path, NAMES), REGION, values(2.0))

    asyncio.run(cell())
    assert zarr.open_group(path, mode="r")["d"][3] == 8.0


def test_several_threads_may_write_at_once(path: Path) -> None:
    from concurrent.futures import ThreadPoolExecutor

    arrays = open_arrays(path, NAMES)

    def write(number: int) -> None:
        write_arrays(arrays, (slice(2 * number, 2 * number + 2),), values(number + 1.0))
        time.sleep(0)

    with ThreadPoolExecutor(3) as pool:
        list(pool.map(write, range(3)))
    assert zarr.open_group(path, mode="r")["b"][:].tolist() == [1.0, 2.0, 2.0, 4.0, 3.0, 6.0]
