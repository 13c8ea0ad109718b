from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from tests.fake_engine import AXES, KNOT, MODEL, TONNE_FORCE, evaluate, samples_of, study_of
from toolkit.errors import StoreError
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.blocks import Blocks, choose_chunks
from toolkit.execution.distinct import count_distinct
from toolkit.execution.layout import axes_to_fill_first
from toolkit.execution.runner import run_with
from toolkit.study import Axis, Design, RunOptions, Study

pytestmark = pytest.mark.whole


class Counting:
    """The fake engine, which counts the cases that it really runs."""

    def __init__(self) -> None:
        self.cases = 0

    def __call__(self, columns: dict[str, Any]) -> dict[str, Any]:
        self.cases += len(columns["bollard_pull"])
        return evaluate(columns)


def run(study: Study, path: Path, **options: Any) -> tuple[xr.Dataset, int]:
    """Results, and how many cases were really run for them."""
    counting = Counting()
    dataset = run_with(MODEL._replace(evaluate=counting), study, path, scheduler="serial", **options)
    dataset = dataset.load()
    wanted = evaluate(study.columns(np.arange(study.size)))
    for name in RESULT_NAMES:
        assert np.array_equal(dataset[name].values.reshape(-1), wanted[name], equal_nan=True), name
    return dataset, counting.cases


def all_cases(study: Study) -> int:
    """How many cases would be run with no old store; like cases are known as such within a block."""
    chunks = choose_chunks(study.shape, study.run.cases_per_chunk, axes_to_fill_first(study))
    blocks = Blocks(shape=study.shape, chunks=chunks)
    return sum(count_distinct(study.columns(blocks.flat_indices(block))) for block in range(blocks.count))


def sobol(count: int, **changes: Any) -> Study:
    return replace(samples_of(), **{"design": Design(kind="sobol", samples=count), "seed": 4, **changes})


@pytest.fixture(scope="module")
def grid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Store of the grid of the fake engine, of which everybody takes over; nobody may write it."""
    path = tmp_path_factory.mktemp("grid") / "old.zarr"
    run_with(MODEL, study_of(), path, scheduler="serial")
    return path


@pytest.fixture
def old(tmp_path: Path) -> Path:
    return tmp_path / "old.zarr"


@pytest.fixture
def new(tmp_path: Path) -> Path:
    return tmp_path / "new.zarr"


def contents(path: Path) -> dict[str, bytes]:
    return {str(file.relative_to(path)): file.read_bytes() for file in path.rglob("*") if file.is_file()}


def test_a_longer_sobol_sequence_runs_only_what_is_new(old: Path, new: Path) -> None:
    _, first = run(sobol(64), old)
    before = contents(old)
    dataset, second = run(sobol(150), new, reuse=old)
    assert (first, second) == (64, 86)
    assert contents(old) == before
    assert "holds are taken over" in dataset.attrs["history"] and "64 cases were taken over" in dataset.attrs["history"]
    _, third = run(sobol(30), new.with_name("shorter.zarr"), reuse=new)
    assert third == 0


def more(**changes: Any) -> Study:
    return study_of({**AXES, **changes})


@pytest.mark.parametrize(
    ("study", "kept"),
    [
        (more(bollard_pull=np.array([10.0, 20.0, 45.0]) * TONNE_FORCE), 1.0),
        (more(line_length=np.array([15.0, 22.0, 30.0, 60.0])), 1.0),
        (more(wind_speed=np.array([0.0, 5.0, 20.0, 30.0]) * KNOT, wind_from=np.arange(0.0, 360.0, 60.0)), 1.0),
        (more(water_depth=np.array([9.0, 15.0])), 1.0),  # an axis where there was none
        (more(manoeuvre=("swing_push", "swing_pull")), 1.0),  # in another order
        (more(bollard_pull=np.array([45.0, 80.0]) * TONNE_FORCE), 0.5),
        (study_of({name: values for name, values in AXES.items() if name != "displacement"}, displacement=300e3), 0.5),
        (study_of({**AXES, "tug_type": ("tractor", "azimuth_stern_drive")}, cases_per_chunk=7), 1.0),
    ],
    ids=["pull", "line", "wind", "axis", "order", "shifted", "fewer axes", "words"],
)
def test_more_values_and_axes_run_only_what_is_new(study: Study, kept: float, grid: Path, new: Path) -> None:
    _, second = run(study, new, reuse=grid)
    assert second == all_cases(study) - kept * all_cases(study_of())


def test_inputs_that_a_case_does_not_use_do_not_matter(old: Path, new: Path) -> None:
    pushes = {**AXES, "manoeuvre": ("swing_push",)}
    run(study_of(pushes), old)
    other = study_of({**pushes, "line_length": np.array([40.0, 50.0])}, line_material="nylon")
    assert run(other, new, reuse=old)[1] == 0


def test_a_store_that_is_half_run_gives_what_it_has_and_no_more(grid: Path, old: Path, new: Path) -> None:
    shutil.copytree(grid, old)
    (old / "block_done" / "c" / "1").unlink()
    _chunk_of(old, "peak_heel", 1).write_bytes(b"half of it")  # as it may stand where no mark is
    wider = more(bollard_pull=np.array([10.0, 45.0, 70.0]) * TONNE_FORCE)
    _, second = run(wider, new, reuse=old)
    assert all_cases(wider) - all_cases(study_of()) < second < all_cases(wider)


def _chunk_of(path: Path, name: str, block: int) -> Path:
    import zarr

    array = zarr.open_group(path, mode="r")[name]
    grid = [-(-length // chunk) for length, chunk in zip(array.shape, array.chunks, strict=True)]
    return Path(path, name, "c", *map(str, np.unravel_index(block, grid)))


@pytest.mark.parametrize("again", [True, False])
def test_it_goes_on_after_a_stop_with_or_without_the_old_store(again: bool, grid: Path, new: Path) -> None:
    wider = replace(more(displacement=np.array([300e3, 500e3, 900e3])), run=RunOptions(cases_per_chunk=12))
    calls: list[int] = []

    def stopped(columns: dict[str, Any]) -> dict[str, Any]:
        calls.append(len(columns["bollard_pull"]))
        if len(calls) > 1:
            raise KeyboardInterrupt
        return evaluate(columns)

    with pytest.raises(KeyboardInterrupt):
        run_with(MODEL._replace(evaluate=stopped), wider, new, scheduler="serial", reuse=grid)
    missing = all_cases(wider) * 1 // 3 - calls[0]
    _, second = run(wider, new, **({"reuse": grid} if again else {}))
    assert second == missing if again else second > missing > 0


def refusal(study: Study, path: Path, reuse: Path, model: Any = MODEL) -> str:
    with pytest.raises(StoreError) as caught:
        run_with(model, study, path, scheduler="serial", reuse=reuse)
    assert path == reuse or not path.exists()
    return str(caught.value)


def test_what_cannot_be_taken_over_is_refused_with_the_reason(grid: Path, new: Path) -> None:
    old = grid
    assert "model: fa4e000000000000" in refusal(study_of(), new, old, MODEL._replace(hash="beef000000000000"))
    assert "step rule: closed form, no steps there, Heun here" in refusal(
        study_of(), new, old, MODEL._replace(step_rule="Heun")
    )
    assert "design: grid there, sobol here" in refusal(sobol(8), new, old)
    message = refusal(study_of(water_depth=9.0), new, old)
    assert "water_depth: [15.0] there, [9.0] here [m]" in message and "no case can be taken over" in message
    message = refusal(more(bollard_pull=np.array([20.0, 30.0]) * TONNE_FORCE), new, old)
    assert "bollard_pull: [98066.5, 441299.25] there, [196133.0, 294199.5] here [N]" in message
    assert "cannot be extended in itself" in refusal(study_of(), old, old)
    gusty = study_of(gust_intensity=0.1)
    run_with(MODEL, gusty, new.with_name("gusty.zarr"), scheduler="serial")
    other = refusal(replace(gusty, seed=7), new, new.with_name("gusty.zarr"))
    assert "draw_seed: [1.0] there, [7.0] here" in other
    assert "no such store" in refusal(study_of(), new, old.with_name("none.zarr"))


def test_samples_that_share_no_case_are_refused_with_the_reason(old: Path, new: Path) -> None:
    run(sobol(16), old)
    assert "seed: 4 there, 5 here" in refusal(sobol(32, seed=5), new, old)
    pull, _, manoeuvre = sobol(8).axes
    assert [axis.name for axis in (pull, manoeuvre)] == ["bollard_pull", "manoeuvre"]
    calmer = Axis(name="wind_speed", values=np.array([0.0, 9.0]), kind="range")
    message = refusal(sobol(32, axes=(pull, calmer, manoeuvre)), new, old)
    assert "axis wind_speed: [0.0, 12.0] there, [0.0, 9.0] here [m s-1]" in message and message.count("there,") == 1
    assert "axis manoeuvre" in refusal(
        sobol(32, axes=(pull, calmer), fixed={**sobol(8).fixed, "manoeuvre": "swing_pull"}), new, old
    )
    assert "water_depth" in refusal(sobol(32, fixed={**sobol(8).fixed, "water_depth": 9.0}), new, old)


@pytest.mark.parametrize("there", [True, False])
def test_a_latin_hypercube_cannot_be_extended_and_says_so(there: bool, old: Path, new: Path) -> None:
    run(samples_of(16) if there else sobol(16), old)
    message = refusal(sobol(32) if there else samples_of(32), new, old)
    assert "a Latin hypercube cannot be extended" in message and "Sobol'" in message


def test_a_damaged_old_store_is_named(grid: Path, old: Path, new: Path) -> None:
    shutil.copytree(grid, old)
    file = next(file for file in sorted((old / "shifts" / "c").rglob("*")) if file.is_file())
    file.write_bytes(b"not what was written")
    with pytest.raises(StoreError, match=r"old\.zarr: cannot be read \(shifts: .*--verify"):
        run_with(MODEL, study_of(cases_per_chunk=9), new, scheduler="serial", reuse=old)
