from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.fake_engine import evaluate, study_of
from toolkit.execution.distinct import count_distinct, distinct_columns, evaluate_distinct
from toolkit.quantities import INPUTS
from toolkit.study.unused import maybe_unused


def table(**axes: Any) -> dict[str, Any]:
    study = study_of(axes)
    return study.columns(np.arange(study.size))


@pytest.mark.parametrize(
    ("axes", "distinct"),
    [
        ({"line_length": np.array([10.0, 20.0, 30.0]), "manoeuvre": ("swing_push",)}, 1),
        ({"line_length": np.array([10.0, 20.0, 30.0]), "manoeuvre": ("swing_pull",)}, 3),
        ({"line_material": ("hmpe", "nylon"), "manoeuvre": ("swing_pull", "swing_push")}, 3),
        ({"push_station": np.array([0.3, 0.4]), "manoeuvre": ("swing_pull", "swing_push")}, 3),
        ({"lead_angle": np.array([60.0, 90.0]), "manoeuvre": ("swing_pull", "swing_push")}, 3),
        ({"wind_speed": np.array([0.0, 5.0]), "wind_from": np.arange(0.0, 360.0, 30.0)}, 13),
        ({"wind_speed": np.array([0.0, 5.0]), "gust_factor": np.array([1.0, 1.3])}, 3),
        ({"current_speed": np.array([0.0, 0.5]), "current_to": np.array([0.0, 90.0, 180.0])}, 4),
        ({"wind_from": np.arange(0.0, 360.0, 30.0), "current_speed": np.array([0.0, 0.5])}, 2),
        ({"current_speed": np.array([0.0, 0.5]), "start": ("over_ground", "with_water")}, 3),
        ({"fender_friction": np.array([0.2, 0.3]), "manoeuvre": ("swing_pull", "swing_push")}, 3),
        ({"wind_load_multiplier": np.array([0.0, 1.0]), "wind_speed": np.array([0.0, 5.0])}, 4),
        ({"athwart_band": np.array([30.0, 40.0]), "athwart_thrust_share": np.array([0.5, 1.0])}, 3),
        ({"tug_drag_multiplier": np.array([0.7, 1.0]), "start_north": np.array([0.0, 9.0])}, 4),
    ],
)
def test_only_unused_inputs_are_merged(axes: dict[str, Any], distinct: int) -> None:
    study = study_of(axes)
    columns = study.columns(np.arange(study.size))
    found, first, inverse = distinct_columns(columns)
    assert len(found["bollard_pull"]) == len(first) == distinct
    assert np.array_equal(inverse[first], np.arange(distinct)) and (np.diff(first) > 0).all()
    assert set(found) == set(INPUTS)
    for name, values in columns.items():
        if name not in maybe_unused(study):
            assert np.array_equal(found[name][inverse], values, equal_nan=values.dtype.kind == "f"), name


@given(st.lists(st.integers(0, 3), min_size=1, max_size=30), st.lists(st.booleans(), min_size=30, max_size=30))
def test_scattering_back_gives_each_case_its_own_result(places: list[int], pushes: list[bool]) -> None:
    study = study_of({"bollard_pull": np.array([1e5, 2e5, 3e5, 4e5]), "manoeuvre": ("swing_pull", "swing_push")})
    numbers = [2 * place + push for place, push in zip(places, pushes, strict=False)]
    columns = study.columns(numbers)
    merged, count, simulated, _ = evaluate_distinct(columns, evaluate)
    alone = evaluate(columns)
    assert count == len(set(numbers)) == count_distinct(columns)
    each = dict(zip(numbers, alone["end_time"].tolist(), strict=True))
    assert simulated == pytest.approx(sum(each.values()))
    for name, values in alone.items():
        assert np.array_equal(merged[name], values, equal_nan=True), name


def test_the_table_that_comes_in_is_left_as_it_was() -> None:
    columns = table(line_length=np.array([10.0, 20.0]), manoeuvre=("swing_push",))
    distinct_columns(columns)
    assert columns["line_length"].tolist() == [10.0, 20.0]


def test_an_empty_table_stays_empty() -> None:
    columns = {name: values[:0] for name, values in table(line_length=np.array([10.0, 20.0])).items()}
    found, first, inverse = distinct_columns(columns)
    assert len(found["line_length"]) == len(first) == len(inverse) == 0
