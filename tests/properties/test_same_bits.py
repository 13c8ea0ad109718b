"""Results are the same to the last bit, however a study is cut, shared out, ordered, stopped, resumed and extended."""

from __future__ import annotations

import itertools
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fake_engine import AXES, KNOT, MODEL, TONNE_FORCE, evaluate, samples_of, study_of
from toolkit.execution import runner
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.layout import current_model
from toolkit.execution.results import open_results
from toolkit.execution.runner import run_with
from toolkit.study import Design, RunOptions, Study

GRID = study_of({name: AXES[name] for name in ("bollard_pull", "line_length", "wind_speed", "manoeuvre")})
SAMPLES = replace(samples_of(), design=Design(kind="sobol", samples=24))


def assert_bits(dataset: xr.Dataset, study: Study) -> None:
    wanted = evaluate(study.columns(np.arange(study.size)))
    for name in RESULT_NAMES:
        assert np.array_equal(dataset[name].values.reshape(-1), wanted[name], equal_nan=True), name


def stopping(after: list[int]) -> Any:
    """An engine that is interrupted after so many blocks, once for each number given."""
    left = iter(after)
    calls = [next(left, None)]

    def engine(columns: dict[str, Any]) -> dict[str, Any]:
        if calls[0] is not None:
            if calls[0] <= 0:
                calls[0] = next(left, None)
                raise KeyboardInterrupt
            calls[0] -= 1
        return evaluate(columns)

    return engine


@pytest.mark.slow
@settings(max_examples=6)
@given(
    st.sampled_from([GRID, SAMPLES]),
    st.integers(5, 30),
    st.sampled_from([("serial", 1), ("threads", 1), ("threads", 2), ("threads", 5)]),
    st.lists(st.integers(0, 3), max_size=1),
    st.randoms(use_true_random=False),
)
def test_blocks_workers_order_and_stops_change_no_bit(
    study: Study, chunk: int, way: tuple[str, int], stops: list[int], chance: Any
) -> None:
    scheduler, workers = way
    study = replace(study, run=RunOptions(cases_per_chunk=chunk))
    model = MODEL._replace(evaluate=stopping(stops))

    def at_random(blocks: Any) -> list[int]:
        return chance.sample(blocks.tolist(), len(blocks))

    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.setattr(runner, "evenly", at_random)
        path = Path(folder, "a.zarr")
        for _ in itertools.chain(stops, [0]):
            try:
                dataset = run_with(model, study, path, scheduler=scheduler, workers=workers)
            except KeyboardInterrupt:
                assert open_results(path).attrs["blocks_done"] < open_results(path).attrs["blocks"]
        dataset = run_with(model, study, path, scheduler=scheduler, workers=workers)
        assert_bits(dataset, study)


values = st.lists(st.integers(1, 6), min_size=1, max_size=3, unique=True).map(sorted)


def grid(pulls: list[int], winds: list[int], chunk: int) -> Study:
    axes = {
        "bollard_pull": np.array(pulls) * 10.0 * TONNE_FORCE,
        "wind_speed": np.array(winds) * KNOT,
        "manoeuvre": ("swing_pull", "swing_push"),
    }
    return study_of(axes, cases_per_chunk=chunk)


@pytest.mark.slow
@settings(max_examples=4)
@given(values, values, values, values, st.integers(4, 20), st.integers(4, 20))
def test_extended_grids_are_those_run_afresh(
    pulls: list[int], winds: list[int], more_pulls: list[int], more_winds: list[int], chunk: int, other: int
) -> None:
    old = grid(pulls, winds, chunk)
    new = grid(sorted({*more_pulls, pulls[0]}), sorted({*more_winds, winds[-1]}), other)
    ran: list[int] = []

    def counting(columns: dict[str, Any]) -> dict[str, Any]:
        ran.append(len(columns["wind_speed"]))
        return evaluate(columns)

    with tempfile.TemporaryDirectory() as folder:
        run_with(MODEL, old, Path(folder, "old.zarr"), scheduler="serial")
        model = MODEL._replace(evaluate=counting)
        dataset = run_with(model, new, Path(folder, "new.zarr"), scheduler="serial", reuse=Path(folder, "old.zarr"))
        assert_bits(dataset, new)
    both = 2
    for axis in ("bollard_pull", "wind_speed"):
        a, b = old.axis(axis), new.axis(axis)
        assert a is not None and b is not None
        both *= len(np.intersect1d(np.asarray(a.values), np.asarray(b.values)))
    assert sum(ran) == new.size - both


@pytest.mark.slow
def test_the_engine_gives_the_same_bits_cut_ordered_stopped_resumed_and_extended(tmp_path: Path) -> None:
    axes = {
        "bollard_pull": np.array([12.0, 30.0, 45.0]) * TONNE_FORCE,
        "line_length": np.array([15.0, 40.0]),
        "wind_speed": np.array([0.0, 12.0]) * KNOT,
        "manoeuvre": ("swing_pull", "swing_push"),
    }
    few = {"time_limit": 300.0, "target_angle": 60.0}
    model = current_model()
    study = study_of(axes, cases_per_chunk=100, **few)
    reference = run_with(model, study, tmp_path / "reference.zarr", scheduler="serial").drop_attrs().load()

    calls: list[int] = []

    def stopped(columns: dict[str, Any]) -> dict[str, Any]:
        calls.append(1)
        if len(calls) == 3:
            raise KeyboardInterrupt
        return model.evaluate(columns)

    small = study_of(axes, cases_per_chunk=5, **few)
    with pytest.raises(KeyboardInterrupt):
        run_with(model._replace(evaluate=stopped), small, tmp_path / "b.zarr", workers=2)
    resumed = run_with(model, small, tmp_path / "b.zarr", workers=3)
    xr.testing.assert_identical(resumed.drop_attrs().load(), reference)

    fewer = study_of({**axes, "bollard_pull": axes["bollard_pull"][[0, 2]]}, cases_per_chunk=7, **few)
    run_with(model, fewer, tmp_path / "fewer.zarr", workers=2)
    extended = run_with(model, small, tmp_path / "c.zarr", workers=2, reuse=tmp_path / "fewer.zarr")
    xr.testing.assert_identical(extended.drop_attrs().load(), reference)
