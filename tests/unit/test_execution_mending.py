from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from zarr.storage import LocalStore

from tests.fake_engine import MODEL, evaluate, study_of
from toolkit.errors import StoreError
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.creation import create_store
from toolkit.execution.results import open_results
from toolkit.execution.runner import run_with

pytestmark = pytest.mark.whole

STUDY = study_of({"bollard_pull": np.linspace(1e5, 6e5, 12)}, cases_per_chunk=3)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("whole") / "basin.zarr"
    run_with(MODEL, STUDY, path, scheduler="serial")
    return path


@pytest.fixture
def path(whole: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(whole, tmp_path / "basin.zarr"))


def blocks_run(path: Path, **options: Any) -> list[float]:
    """Pull of the first case of each block that is run, once the results have been found to be right."""
    seen: list[float] = []

    def watching(columns: dict[str, Any]) -> dict[str, Any]:
        seen.append(float(columns["bollard_pull"][0]))
        return evaluate(columns)

    dataset = run_with(MODEL._replace(evaluate=watching), STUDY, path, scheduler="serial", **options).load()
    wanted = evaluate(STUDY.columns(np.arange(STUDY.size)))
    for name in RESULT_NAMES:
        assert np.array_equal(dataset[name].values, wanted[name], equal_nan=True), name
    return sorted(seen)


PULLS = STUDY.axes[0].values


def test_nothing_is_run_again_in_a_store_that_is_sound(path: Path) -> None:
    before = {file: file.stat().st_mtime_ns for file in path.rglob("*")}
    assert blocks_run(path) == blocks_run(path, verify=True) == []
    assert {file: file.stat().st_mtime_ns for file in path.rglob("*")} == before


def test_a_block_with_an_empty_file_is_run_again(path: Path) -> None:
    """As the power may leave it: names are on the disk before what belongs into the files."""
    (path / "peak_heel" / "c" / "1").write_bytes(b"")
    (path / "block_done" / "c" / "2").write_bytes(b"")
    assert blocks_run(path) == [PULLS[3], PULLS[6]]


@pytest.mark.parametrize("name", ["peak_heel", "outcome"])
def test_a_block_that_has_lost_a_file_is_run_again(name: str, path: Path) -> None:
    """What is not there reads as what does not apply, and would be a wrong answer without a word."""
    (path / name / "c" / "1").unlink()
    with pytest.raises(StoreError, match=r"1 of 4 blocks have lost a file.*Run the same study into it again"):
        open_results(path)
    assert blocks_run(path) == [PULLS[3]]
    assert open_results(path).attrs["blocks_done"] == 4
    shutil.rmtree(path / name / "c")
    assert blocks_run(path) == PULLS[::3].tolist()


def test_files_that_were_never_finished_are_removed(path: Path) -> None:
    left = [
        path / "zarr.0af1.partial",
        path / "peak_heel" / "c" / "1.0af1.partial",
        path / "outcome" / "zarr.7.partial",
    ]
    for file in left:
        file.write_bytes(b"half of")
    beside = [path.with_name(f".basin.zarr.0123abcd.{ending}") for ending in ("partial", "old")]
    others = [path.with_name(name) for name in (".other.zarr.0123abcd.partial", ".basin.zarr.mine")]
    for folder in beside + others:
        folder.mkdir()
    assert blocks_run(path) == []
    assert not any(file.exists() for file in left + beside)
    assert all(folder.exists() for folder in others)


def _spoil(path: Path) -> None:
    (path / "peak_tension" / "c" / "3").write_bytes(b"not what was written")


def _flip(path: Path) -> None:
    """One bit of what was written, where only a checksum can tell."""
    file = path / "drive_energy" / "c" / "3"
    content = bytearray(file.read_bytes())
    content[len(content) // 2] ^= 4
    file.write_bytes(bytes(content))


def _cut(path: Path) -> None:
    file = path / "outcome" / "c" / "3"
    file.write_bytes(file.read_bytes()[:-3])


@pytest.mark.parametrize("harm", [_spoil, _flip, _cut])
def test_a_block_that_cannot_be_read_is_said_and_run_again_on_request(harm: Callable[[Path], None], path: Path) -> None:
    harm(path)
    with pytest.raises(StoreError, match=r"basin\.zarr: cannot be read .* with --verify"):
        open_results(path).load()
    assert blocks_run(path, verify=True) == [PULLS[9]]


def test_counts_that_a_killed_run_did_not_write_are_written_by_the_next(path: Path) -> None:
    import zarr

    group = zarr.open_group(path, mode="r+")
    counts = group.attrs["outcome_counts"]
    del group.attrs["outcome_counts"]
    assert blocks_run(path) == []
    assert open_results(path).attrs["outcome_counts"] == counts


@pytest.mark.parametrize("loss", [shutil.rmtree, lambda path: path.rename(path.with_name("moved.zarr"))])
def test_a_store_that_vanishes_under_a_run_ends_it_in_words(loss: Callable[[Path], None], tmp_path: Path) -> None:
    path, calls = tmp_path / "basin.zarr", []

    def losing(columns: dict[str, Any]) -> dict[str, Any]:
        calls.append(1)
        if len(calls) == 3:
            loss(path)
        return evaluate(columns)

    with pytest.raises(StoreError, match=r"basin\.zarr: the store is not there any more"):
        run_with(MODEL._replace(evaluate=losing), STUDY, path, scheduler="serial")
    assert len(calls) == 3 and not path.exists()
    moved = path.with_name("moved.zarr")
    if moved.exists():
        moved.rename(path)
        assert open_results(path).attrs["blocks_done"] == 2
        assert len(blocks_run(path)) == 2


def test_a_disk_that_fills_up_ends_the_run_in_words_and_loses_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "basin.zarr"
    create_store(path, STUDY, MODEL)
    with_room = LocalStore.set

    async def without_room(self: LocalStore, key: str, value: Any) -> None:
        if key.startswith("peak_heel/c/") and (path / "block_done" / "c").is_dir():
            raise OSError(28, "No space left on device")  # in the midst of the second block
        await with_room(self, key, value)

    monkeypatch.setattr(LocalStore, "set", without_room)
    with pytest.raises(StoreError, match=r"No space left on device.*Make room there.*blocks that are done stay done"):
        run_with(MODEL, STUDY, path, scheduler="serial")
    monkeypatch.undo()
    assert open_results(path).attrs["blocks_done"] == 1
    assert len(blocks_run(path)) == 3


def test_no_room_for_the_store_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async def full(self: LocalStore, key: str, value: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(LocalStore, "set", full)
    with pytest.raises(StoreError, match="Make room there"):
        run_with(MODEL, STUDY, tmp_path / "basin.zarr", scheduler="serial")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("where", "value", "said"),
    [
        ("zarr.json", None, "its attribute 'source' is neither text nor a number"),
        ("zarr.json", {"a": 1}, "its attribute 'source' is neither text nor a number"),
        ("peak_heel/zarr.json", None, "peak_heel: its attribute 'source' is neither text nor a number"),
    ],
)
def test_an_attribute_of_no_kind_of_ours_is_said(where: str, value: object, said: str, path: Path) -> None:
    document = json.loads((path / where).read_bytes())
    document["attributes"]["source"] = value
    (path / where).write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(StoreError, match=rf"basin\.zarr: cannot be read \({said}"):
        open_results(path)


@pytest.mark.filterwarnings("ignore:Object at")
def test_a_variable_that_cannot_be_made_out_is_said(path: Path) -> None:
    (path / "peak_heel" / "zarr.json").write_text('{"zarr_format": 3, "node_type": "pebble"}', encoding="utf-8")
    with pytest.raises(StoreError, match=r"basin\.zarr: cannot be read \(.*peak_heel|basin\.zarr: cannot be read"):
        open_results(path)
