from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from tests.fake_engine import KNOT, MODEL, TONNE_FORCE, evaluate
from toolkit.errors import StudyError
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.records import evaluate_with
from toolkit.quantities import INPUTS


def run(cases: Any, **options: Any) -> xr.Dataset:
    return evaluate_with(MODEL, cases, **options)


def whats(cases: Any) -> list[str]:
    with pytest.raises(StudyError) as caught:
        run(cases)
    return [str(problem) for problem in caught.value.problems]


def test_mapping_frame_and_dataset_give_the_same() -> None:
    table = {"bollard_pull": [2e5, 3e5], "manoeuvre": ["swing_pull", "swing_push"], "line_length": 20.0}
    first = run(table)
    frame = pd.DataFrame(table)
    dataset = xr.Dataset(
        {"manoeuvre": ("row", ["swing_pull", "swing_push"]), "line_length": 20.0},
        coords={"bollard_pull": ("row", [2e5, 3e5])},
    )
    for other in (frame, dataset):
        found = run(other)
        xr.testing.assert_identical(found.drop_attrs(), first.drop_attrs())


def test_texts_with_units_mean_what_they_say() -> None:
    found = run({"bollard_pull": ["45 t", "441299.25 N"], "wind_speed": "12 kn", "wind_from": "from 240 deg"})
    assert found.bollard_pull.values == pytest.approx([45 * TONNE_FORCE] * 2)
    assert found.wind_speed.values == pytest.approx([12 * KNOT] * 2)
    assert found.wind_from.values.tolist() == [240.0, 240.0]


def test_numbers_beside_texts_are_in_dataset_units() -> None:
    assert run({"line_length": ["20 m", 25]}).line_length.values.tolist() == [20.0, 25.0]


def test_outcomes_are_those_of_the_engine_case_by_case() -> None:
    count = 3000
    pull = np.linspace(5, 100, count) * TONNE_FORCE
    found = run({"bollard_pull": pull}, workers=2)
    columns = {
        name: np.full(count, q.choices.index(str(q.default)) if q.is_choice else q.default)
        for name, q in INPUTS.items()
    } | {"bollard_pull": pull}
    wanted = evaluate(columns)
    assert set(found.data_vars) == set(RESULT_NAMES)
    for name in RESULT_NAMES:
        assert np.array_equal(found[name].values, wanted[name], equal_nan=True), name


def test_a_dataset_of_two_dimensions_is_numbered_in_their_order() -> None:
    grid = xr.Dataset(coords={"bollard_pull": [1e5, 2e5], "wind_speed": [0.0, 5.0, 9.0]})
    found = run(grid)
    assert found.bollard_pull.values.tolist() == [1e5] * 3 + [2e5] * 3
    assert found.wind_speed.values.tolist() == [0.0, 5.0, 9.0] * 2


def test_results_may_be_evaluated_anew() -> None:
    first = run({"bollard_pull": [2e5, 3e5], "tug_length": [np.nan, 25.0]})
    again = run(first)
    for name in RESULT_NAMES:
        assert np.array_equal(first[name].values, again[name].values, equal_nan=True), name
    assert np.array_equal(again.tug_length.values, [np.nan, 25.0], equal_nan=True)


def test_one_default_case() -> None:
    found = run({})
    assert found.sizes == {"case": 1}
    assert "tug_length" not in found.coords  # derived, not given
    assert found.bollard_pull.dims == () and found.bollard_pull.attrs["units"] == "N"


def test_all_problems_are_named_at_once_with_their_rows() -> None:
    found = whats(
        {
            "bollard_pul": [1e5] * 4,
            "wind_speed": [1.0, 80.0, -3.0, 2.0],
            "manoeuvre": ["swing_pull", "swing_pul", "swing_pul", "swing_push"],
            "water_depth": [np.nan, 10.0, 10.0, np.nan],
            "line_length": ["15 m", "15 kg", "0.1 m", "15 m"],
            "loading": [0.0, 1.0],
        }
    )
    text = "\n".join(found)
    assert "Did you mean bollard_pull?\n" in text
    assert "wind_speed, row 1 and 1 more: wind_speed = 80 m s-1 is outside" in text
    assert "manoeuvre, row 1 and 1 more" in text and "Write 'swing_pull'" in text
    assert "water_depth, row 0 and 1 more" in text
    assert "line_length, row 1: " in text and "line_length, row 2: " in text
    assert "loading has 2 rows" in text
    assert len(found) == 7


@pytest.mark.parametrize("value", [np.inf, True, b"5", [1.0], "not a number"])
def test_what_is_no_value_is_refused(value: Any) -> None:
    assert any("line_length" in what for what in whats({"line_length": [value, 5.0]}))


def test_inputs_that_do_not_go_together_are_refused_and_being_aground_is_not() -> None:
    assert any("order_delay" in what for what in whats({"order_delay": [1.0, 3.0]}))
    assert run({"water_depth": 1.0}).sizes == {"case": 1}
    assert run({"line_length": 3.0}).sizes == {"case": 1}


def test_a_name_like_no_other_is_told_where_the_names_are() -> None:
    assert whats({"zzz": [1.0]}) == ["table of cases: zzz is not an input. `towage check --keys` lists them."]


def test_what_is_no_table_is_refused() -> None:
    assert "is not a table" in whats([1.0, 2.0])[0]
    with pytest.raises(StudyError, match="workers = 0"):
        run({}, workers=0)


@pytest.mark.parametrize(
    "table",
    [
        {"bollard_pull": []},
        {"bollard_pull": np.array([]), "wind_speed": 5.0},
        pd.DataFrame(),
        pd.DataFrame({"bollard_pull": []}),
        pd.DataFrame(index=range(3)),
        xr.Dataset(),
        xr.Dataset(coords={"bollard_pull": ("row", np.array([]))}),
        xr.Dataset(coords={"row": [1, 2]}),
    ],
)
def test_a_table_without_rows_is_refused(table: Any) -> None:
    assert any("the table has no rows" in what for what in whats(table))


def test_a_column_that_stands_twice_is_refused() -> None:
    frame = pd.DataFrame([[1e5, 5.0, 2e5]], columns=["bollard_pull", "wind_speed", "bollard_pull"])
    assert whats(frame) == ["table of cases: column bollard_pull stands 2 times. Keep one of them."]


@pytest.mark.parametrize("kind", [dict, pd.DataFrame])
def test_an_outcome_is_no_input(kind: Any) -> None:
    found = whats(kind({"bollard_pull": [1e5], "peak_heel": [3.0], "depth_ratio": [2.0], "case": [0]}))
    assert len(found) == 2 and "peak_heel is an outcome and not an input" in found[0] and "depth_ratio" in found[1]


def test_the_unit_of_a_column_is_heeded() -> None:
    wind = xr.DataArray([10.0, 20.0], dims="row", attrs={"units": "knots"})
    pull = xr.DataArray([30.0, 40.0], dims="row", attrs={"units": "t"})
    share = xr.DataArray([50.0, 100.0], dims="row", attrs={"units": "percent"})
    bearing = xr.DataArray([90, 270], dims="row", attrs={"units": "degrees"})
    columns = {"wind_speed": wind, "bollard_pull": pull, "power_setting": share, "wind_from": bearing}
    for table in (columns, xr.Dataset(columns), xr.Dataset(coords=columns)):
        found = run(table)
        assert found["wind_speed"].values == pytest.approx([10 * KNOT, 20 * KNOT])
        assert found["bollard_pull"].values == pytest.approx([30 * TONNE_FORCE, 40 * TONNE_FORCE])
        assert found["power_setting"].values == pytest.approx([0.5, 1.0])
        assert found["wind_from"].values.tolist() == [90.0, 270.0]
        assert found["wind_speed"].attrs["units"] == "m s-1"
    other = xr.Dataset({"wind_speed": wind, "manoeuvre": ("row", ["swing_pull", "swing_push"], {"units": "1"})})
    assert run(other)["manoeuvre"].values.tolist() == ["swing_pull", "swing_push"]


@pytest.mark.parametrize("unit", ["m", "beaufort", "1", "0 m s-1", ""])
def test_a_unit_that_does_not_fit_is_refused(unit: str) -> None:
    table = xr.Dataset({"wind_speed": ("row", [10.0, 20.0], {"units": unit})})
    if not unit:
        assert run(table)["wind_speed"].values.tolist() == [10.0, 20.0]
        return
    (found,) = whats(table)
    assert f"units = '{unit}' does not fit wind_speed, which is in m s-1" in found
    texts = xr.Dataset({"wind_speed": ("row", np.array(["10 kn", "20 kn"], dtype=object), {"units": "knot"})})
    assert "a column of texts" in whats(texts)[0]
