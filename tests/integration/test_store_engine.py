"""The real engine through runs, tables and histories."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from numpy.typing import NDArray

from tests.fake_engine import KNOT, TONNE_FORCE, samples_of, study_of
from tests.many_cases import many_cases
from toolkit.errors import StudyError
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.distinct import evaluate_distinct
from toolkit.execution.export import export_csv, export_netcdf
from toolkit.execution.history import history
from toolkit.execution.records import evaluate
from toolkit.execution.runner import run_study
from toolkit.motion.engine import evaluate_columns
from toolkit.quantities import INPUTS, Outcome
from toolkit.quantities.channels import CHANNELS
from toolkit.study.unused import UNUSED_AT_VALUE

AXES = {
    "bollard_pull": np.array([12.0, 30.0]) * TONNE_FORCE,
    "line_length": np.array([15.0, 40.0]),
    "wind_speed": np.array([0.0, 12.0]) * KNOT,
    "wind_from": np.array([0.0, 240.0]),
    "manoeuvre": ("swing_pull", "swing_push"),
}
STUDY = study_of(AXES, time_limit=600.0, target_angle=60.0)


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> xr.Dataset:
    return run_study(STUDY, tmp_path_factory.mktemp("runs") / "a.zarr", scheduler="serial", progress=False)


def redrawn(columns: dict[str, NDArray[Any]], seed: int) -> dict[str, NDArray[Any]]:
    """Columns with other values in all that another input makes idle."""
    draw = np.random.default_rng(seed)
    found = {name: values.copy() for name, values in columns.items()}
    for (cause, value), names in UNUSED_AT_VALUE.items():
        rows = columns[cause] == value
        assert 0 < rows.sum() < len(rows)
        for name in names:
            quantity, count = INPUTS[name], int(rows.sum())
            if quantity.is_choice:
                found[name][rows] = draw.integers(0, len(quantity.choices), count)
            else:
                found[name][rows] = draw.uniform(quantity.low, quantity.high, count)
    return found


def test_inputs_called_unused_are_unused_by_the_engine_to_the_last_bit() -> None:
    """Those that a manoeuvre does not use have a test of their own, with the facts of the manoeuvres."""
    count = 96
    columns = many_cases(count, seed=5, time_limit=90.0)
    chosen = np.random.default_rng(6).integers(0, 2, (len(UNUSED_AT_VALUE), count))
    for (cause, value), pick in zip(UNUSED_AT_VALUE, chosen, strict=True):
        other = 2 if cause == "tug_type" else 1 if INPUTS[cause].is_choice else 0.5
        columns[cause] = np.where(pick, value, columns[cause] if columns[cause][0] != value else other)
    columns["start"] = np.arange(count) // 4 % 2
    other = redrawn(columns, 7)
    alone, otherwise = evaluate_columns(columns), evaluate_columns(other)
    for name in RESULT_NAMES:
        assert np.array_equal(alone[name], otherwise[name], equal_nan=True), name
    both = {name: np.concatenate([values, other[name]]) for name, values in columns.items()}
    merged, distinct, *_ = evaluate_distinct(both, evaluate_columns)
    assert distinct == count
    for name in RESULT_NAMES:
        assert np.array_equal(merged[name], np.tile(alone[name], 2), equal_nan=True), name


def test_threads_and_blocks_change_no_bit(results: xr.Dataset, tmp_path: Path) -> None:
    study = study_of(AXES, cases_per_chunk=7, time_limit=600.0, target_angle=60.0)
    other = run_study(study, tmp_path / "b.zarr", workers=2, progress=False)
    xr.testing.assert_identical(other.drop_attrs(), results.drop_attrs())


def test_a_table_gives_the_bits_of_the_grid(results: xr.Dataset) -> None:
    table = evaluate(results)
    for name in RESULT_NAMES:
        assert np.array_equal(table[name].values, results[name].values.reshape(-1), equal_nan=True), name


def test_a_history_is_of_the_case_that_was_run(results: xr.Dataset) -> None:
    place = {"bollard_pull": "30 t", "line_length": 40.0, "wind_speed": "12 kn", "wind_from": "from 240 deg"}
    told = history(results, **place, manoeuvre="swing_pull")
    case = results.isel(bollard_pull=1, line_length=1, wind_speed=1, wind_from=1, manoeuvre=0)
    assert told.attrs["outcome"] == Outcome(int(case.outcome)).name
    for name in RESULT_NAMES:
        if name not in ("outcome", "range_flags"):
            assert np.array_equal(told.attrs[name], case[name].values, equal_nan=True), name
    assert set(told.variables) >= set(CHANNELS) - {"leg"}  # which is of a job alone
    assert told["tug_heel"].dims == ("time",) and told["tug_heel"].attrs["units"] == "degree"
    assert len(told["phase"].attrs["flag_values"]) == len(told["phase"].attrs["flag_meanings"].split())
    assert float(abs(told["tug_heel"]).max()) <= float(case["peak_heel"]) * (1.0 + 1e-12)
    assert told["line_length"].item() == 40.0


def test_a_case_is_the_same_by_values_by_number_and_from_the_study(results: xr.Dataset) -> None:
    by_number = history(results, case=STUDY.size - 1)
    by_study = history(STUDY, case=STUDY.size - 1)
    xr.testing.assert_equal(by_number, by_study)
    table = evaluate(results.isel(bollard_pull=[1]))
    by_table = history(table, case=table.sizes["case"] - 1)
    xr.testing.assert_equal(by_table, by_study)


def test_a_sampled_case_by_its_number() -> None:
    study = samples_of(8)
    told = history(study, case=3)
    assert told["bollard_pull"].item() == study.columns([3])["bollard_pull"][0]


def test_a_history_is_exported_like_results(tmp_path: Path) -> None:
    told = history(STUDY, case=0)
    file = export_netcdf(told, tmp_path / "history.nc")
    with xr.open_dataset(file) as again:
        xr.testing.assert_equal(again.load(), told)
    lines = export_csv(told, tmp_path / "history.csv").read_text().splitlines()
    assert len(lines) == told.sizes["time"] + 1
    assert "tug_heel [degree]" in lines[0] and "take_weight" in lines[1]


@pytest.mark.parametrize(
    ("selection", "said"),
    [
        ({"bollard_pull": "29 t"}, "nearest is 30 t"),
        ({"bollard_pull": "30 t"}, "line_length is swept and not named"),
        ({"case": 10_000}, "outside"),
        ({"case": 0, "bollard_pull": "30 t"}, "both given"),
        ({"bolard_pull": "30 t"}, "bollard_pull"),
    ],
)
def test_a_selection_that_names_no_case_is_refused(selection: dict[str, object], said: str) -> None:
    with pytest.raises(StudyError, match=said):
        history(STUDY, **selection)  # type: ignore[arg-type]


def test_a_history_by_another_model_is_warned_of(results: xr.Dataset) -> None:
    with pytest.warns(UserWarning, match="they may differ"):
        history(results.assign_attrs(model_hash="0" * 16), case=0)


def test_what_has_no_history_is_refused() -> None:
    with pytest.raises(StudyError, match="not a study"):
        history({"bollard_pull": 1e5})  # type: ignore[arg-type]
