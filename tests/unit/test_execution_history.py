"""What a history takes along from where it was asked for; the engine itself is stood in for."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from tests.fake_engine import MODEL, samples_of, study_of
from toolkit.errors import StoreError, StudyError
from toolkit.execution.history import history
from toolkit.execution.records import evaluate_with
from toolkit.execution.runner import run_with
from toolkit.findings import limits_of
from toolkit.study import parse_study


@pytest.fixture(autouse=True)
def _no_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    channels = {"time": np.array([0.0, 0.5]), "tug_heel": np.zeros(2)}
    monkeypatch.setattr("toolkit.motion.history.case_history", lambda columns, setting: (channels, {"outcome": 1.0}))


def test_limits_of_the_study_reach_the_history() -> None:
    study = parse_study("[limits]\ntime_to_steady = '12 min'\nroom_to_edge = '15 m'\n", name="basin.toml")
    found = history(study, case=0)
    assert limits_of(found) == study.limits.in_force()
    assert limits_of(found)["time_to_steady"] == 720.0


def test_limits_of_results_are_those_of_now() -> None:
    study = parse_study("title = 'a basin'\n", name="basin.toml")
    results = synthetic.results({}).assign_attrs(study=json.dumps(study.canonical()), limits='{"overshoot": 3.0}')
    with pytest.warns(UserWarning, match="another model"):
        results = results.assign_attrs(model_hash="another model")
        assert limits_of(history(results, case=0)) == {"overshoot": 3.0}
    del results.attrs["limits"], results.attrs["model_hash"]
    assert limits_of(history(results, case=0)) == {}


@pytest.fixture(scope="module")
def grid(tmp_path_factory: pytest.TempPathFactory) -> xr.Dataset:
    return run_with(MODEL, study_of(), tmp_path_factory.mktemp("grid") / "a.zarr", scheduler="serial").load()


def inputs_of(found: xr.Dataset, like: xr.Dataset) -> dict[str, Any]:
    """Swept inputs of a history, to be compared with the coordinates of what was asked for."""
    return {name: found[name].item() for name in like.coords if name in study_of().dims}


@pytest.mark.filterwarnings("ignore:the results were made with model")
@pytest.mark.parametrize(
    "part",
    [
        {"bollard_pull": [1]},
        {"bollard_pull": 1},
        {"wind_from": [2, 0], "manoeuvre": 1, "line_length": slice(1, None)},
        {name: -1 for name in study_of().dims},
        {},
    ],
)
def test_case_counts_within_the_results_in_hand(grid: xr.Dataset, part: dict[str, Any]) -> None:
    some = grid.isel(part)
    flat = some[["outcome"]].stack(row=some["outcome"].dims, create_index=False) if some["outcome"].ndim else None
    for case in {0, some["outcome"].size // 2, some["outcome"].size - 1}:
        wanted = some if flat is None else flat.isel(row=case)
        found = history(some, case=case)
        for name, value in inputs_of(found, grid).items():
            assert value == wanted[name].item(), name
        whole = history(study_of(), case=found.attrs["case"])
        assert inputs_of(whole, grid) == inputs_of(found, grid)
    with pytest.raises(StudyError, match="is outside"):
        history(some, case=some["outcome"].size)


@pytest.mark.filterwarnings("ignore:the results were made with model")
def test_scalar_coordinates_are_the_selection(grid: xr.Dataset) -> None:
    one = grid.isel(dict.fromkeys(study_of().dims, 1))
    assert inputs_of(history(one), grid) == inputs_of(history(one, case=0), grid)
    calm = grid.isel(wind_speed=0)
    rest = {name: grid[name].values[1].item() for name in study_of().dims if name != "wind_speed"}
    assert history(calm, **rest)["wind_speed"].item() == 0.0
    with pytest.raises(StudyError, match="wind_speed = 20 kn is a value of the study, and not of the dataset"):
        history(calm, **rest, wind_speed="20 kn")
    with pytest.raises(StudyError, match="line_length is swept and not named"):
        history(calm)


@pytest.mark.filterwarnings("ignore:the results were made with model")
def test_results_that_no_longer_tell_the_case_are_refused(grid: xr.Dataset) -> None:
    with pytest.raises(StudyError, match="has no coordinate wind_from"):
        history(grid.max("wind_from", keep_attrs=True), case=0)
    with pytest.raises(StudyError, match="not a value of the study"):
        history(grid.assign_coords(wind_speed=[0.0, 3.0]), case=grid["outcome"].size - 1)
    with pytest.raises(StudyError, match="holds no case"):
        history(grid.isel(wind_speed=[]), case=0)
    points = grid.stack(point=grid["outcome"].dims).isel(point=[5, 50])
    assert history(points, case=1).attrs["case"] == 50
    with pytest.raises(StudyError, match="is no grid"):
        history(points, wind_speed=0.0)


@pytest.mark.filterwarnings("ignore:the results were made with model")
def test_samples_and_tables_keep_their_numbers(tmp_path: Path) -> None:
    study = samples_of(8)
    samples = run_with(MODEL, study, tmp_path / "s.zarr", scheduler="serial")
    for some, case, number in ((samples.isel(case=[6, 2]), 1, 2), (samples.isel(case=5), None, 5), (samples, 7, 7)):
        found = history(some, case=case)
        assert found.attrs["case"] == number
        assert found["bollard_pull"].item() == study.columns([number])["bollard_pull"][0]
    table = evaluate_with(MODEL, {"bollard_pull": [1e5, 2e5, 3e5], "tug_length": [np.nan, 25.0, 26.0]})
    for some, case in ((table, 2), (table.isel(case=[2]), 0), (table.isel(case=2), None), (table.reset_coords(), 2)):
        found = history(some, case=case)
        assert found.attrs["case"] == 2 and found["bollard_pull"].item() == 3e5 and found["tug_length"].item() == 26.0
    with pytest.raises(StudyError, match="Name the case by its number"):
        history(table)
    with pytest.raises(StudyError, match="the table has no wind_speed"):
        history(table.drop_vars("wind_speed"), case=0)


@pytest.mark.parametrize("text", ["{", "[1]", 5])
def test_a_damaged_study_is_said(text: object) -> None:
    with pytest.raises(StoreError, match=r"Marrowby Basin.*'study'"):
        history(synthetic.results({}).assign_attrs(study=text), case=0)
