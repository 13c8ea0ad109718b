"""Pairs, the static rule, and the tables that tell of them."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from toolkit.errors import StudyError
from toolkit.findings import (
    apply_limits,
    back_test,
    count_back_test,
    count_limits,
    pair,
    pair_along,
    passing_band,
    summarise_pairs,
    wind_limit,
)
from toolkit.findings.static_rule import CALM_COUNTS, RULE_COUNTS
from toolkit.findings.table import Table, write_table
from toolkit.findings.tables import (
    band_table,
    limits_table,
    outcome_table,
    pairs_table,
    static_rule_table,
    wind_limit_table,
)


def two(first: list[float], second: list[float], codes: tuple[list[int], list[int]]) -> tuple[xr.Dataset, xr.Dataset]:
    def one(values: list[float], outcome: list[int]) -> xr.Dataset:
        data = {"outcome": ("wind_speed", np.array(outcome, np.int8)), "time_to_turn": ("wind_speed", np.array(values))}
        return xr.Dataset(data, coords={"wind_speed": np.arange(len(values), dtype=float)})

    return one(first, codes[0]), one(second, codes[1])


def test_pairs_count_the_failed_beside_the_differences() -> None:
    a, b = two([10, 20, 30, 40, 5], [12, 20, 29, 41, 6], ([1, 1, 1, 1, 0], [1, 1, 1, 2, 1]))
    pairs = pair(a, b)
    np.testing.assert_array_equal(pairs["time_to_turn_difference"], [2, 0, -1, np.nan, np.nan])
    summary = summarise_pairs(pairs).sel(quantity="time_to_turn")
    assert int(summary["compared_count"]) == 3
    for name in ("share_first_smaller", "share_second_smaller", "share_equal"):
        assert float(summary[name]) == pytest.approx(1 / 3)
    kinds = ("both_completed", "only_first", "only_second", "neither", "not_run")
    told = {k: int(summary[f"{k}_count"]) for k in kinds}
    assert told == {"both_completed": 3, "only_first": 1, "only_second": 0, "neither": 0, "not_run": 1}
    assert sum(told.values()) == int(summary["pair_count"])


def test_pairs_rest_on_shared_cases_only() -> None:
    a, b = two([1, 2, 3], [1, 2, 3], ([1, 1, 1], [1, 1, 1]))
    assert pair(a, b.isel(wind_speed=[1, 2]))["both_completed"].sizes["wind_speed"] == 2
    with pytest.raises(StudyError, match="share no case"):
        pair(a, b.assign_coords(wind_speed=[7.0, 8.0, 9.0]))
    with pytest.raises(StudyError, match="dimensions differ"):
        pair(a, b.isel(wind_speed=0))


def test_pairing_needs_both_on_the_grid() -> None:
    dataset = synthetic.results({"manoeuvre": ["swing_pull"]})
    with pytest.raises(StudyError, match="swing_push"):
        pair_along(dataset, "manoeuvre", "swing_push", "swing_pull")


def test_the_order_of_the_two_only_turns_the_sign() -> None:
    dataset = synthetic.results({**synthetic.default_axes(3), "manoeuvre": ["swing_pull", "swing_push"]})
    one = pair_along(dataset, "manoeuvre", "swing_push", "swing_pull")
    other = pair_along(dataset, "manoeuvre", "swing_pull", "swing_push")
    np.testing.assert_array_equal(one["drift_distance_difference"], -other["drift_distance_difference"])


def test_rule_and_swing_counts_add_up() -> None:
    dataset = synthetic.results(not_run=[0, 5])
    tested = back_test(dataset)
    counts = count_back_test(tested)
    assert sum(int(counts[name]) for name in RULE_COUNTS) == int(counts["run_count"]) == dataset["outcome"].size - 2
    assert int(counts["missed_count"].sum()) == int(counts["rule_passes_swing_fails"]) > 0
    np.testing.assert_array_equal(tested["rule_passes"], dataset["static_wind_demand"] <= 1.0)


def test_rule_demand_may_be_a_coordinate() -> None:
    dataset = synthetic.results(synthetic.default_axes(3))
    scalar = dataset.drop_vars("static_wind_demand").assign_coords(static_wind_demand=0.4)
    assert back_test(scalar)["rule_passes"].all()
    with pytest.raises(StudyError, match="static_wind_demand is missing"):
        back_test(dataset.drop_vars("static_wind_demand"))


def test_tables_carry_units_limits_runs_and_cautions(tmp_path) -> None:
    dataset = synthetic.results({**synthetic.default_axes(3), "manoeuvre": ["swing_pull", "swing_push"]})
    judged = apply_limits(dataset)
    tables = [
        outcome_table(judged),
        wind_limit_table(wind_limit(judged, over=["displacement"]), judged),
        band_table(passing_band(judged, "bollard_pull"), judged),
        pairs_table(summarise_pairs(pair_along(dataset, "manoeuvre", "swing_push", "swing_pull")), judged),
        static_rule_table(
            count_back_test(back_test(dataset)), judged, count_back_test(back_test(dataset), keep=["displacement"])
        ),
        limits_table({"": count_limits(judged), "a part": count_limits(judged.isel(wind_speed=0))}, judged),
    ]
    for number, table in enumerate(tables):
        notes = " ".join(table.notes)
        for words in ("Limits: peak heel", "cases run", "FROM", "Screening aid only", "Provenance: toolkit 0.1.0"):
            assert words in notes
        paths = write_table(table, tmp_path / "made", f"table_{number}")
        assert [p.suffix for p in paths] == [".csv", ".md"]
        lines = [line for line in paths[0].read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
        rows = list(csv.reader(io.StringIO("\n".join(lines))))
        assert len(rows) == len(table.rows) + 1
        assert {len(row) for row in rows} == {len(table.header)}
    assert "bollard pull [t]" in tables[1].header and "limit [kn]" in tables[1].header
    assert tables[1].rows[0][0] == pytest.approx(5.0)


def test_static_rule_is_counted_by_barge_as_well() -> None:
    tested = back_test(synthetic.results(not_run=[1]))
    by = count_back_test(tested, keep=["displacement"])
    for name in (*RULE_COUNTS, "run_count", "missed_count"):
        xr.testing.assert_equal(by[name].sum("displacement"), count_back_test(tested)[name])
    rows = static_rule_table(count_back_test(tested), apply_limits(synthetic.results()), by).rows
    assert sum("of the cases with barge displacement" in str(row[0]) for row in rows) == 6


def test_static_rule_says_what_fails_in_calm_as_well() -> None:
    codes = np.array(
        [[1, 4, 4], [4, 1, 4], [0, 4, 1]], dtype=np.int8
    )  # calm fails in the second, was not run in the third
    data = {
        "outcome": (("displacement", "wind_speed"), codes),
        "static_wind_demand": (("wind_speed",), [0.0, 0.5, 1.5]),
    }
    dataset = xr.Dataset(data, coords={"displacement": [3e5, 6e5, 9e5], "wind_speed": [0.0, 5.0, 10.0]})
    tested = back_test(dataset, {})
    counts = count_back_test(tested)
    assert int(counts["rule_passes_swing_fails"]) == 3
    assert [int(counts[name]) for name in CALM_COUNTS] == [1, 1, 1]
    by = count_back_test(tested, keep=["displacement"])
    assert [by[name].values.tolist() for name in CALM_COUNTS] == [[0, 1, 0], [1, 0, 0], [0, 0, 1]]
    table = static_rule_table(counts, apply_limits(dataset, {}))
    rows = [str(row[0]) for row in table.rows]
    told = ["of these, fails in calm as well", "of these, fails only with wind", "of these, calm not run"]
    assert rows[2:5] == told and "count each time" in " ".join(table.notes)
    windy = dataset.isel(wind_speed=[1, 2])
    assert not set(CALM_COUNTS) & set(count_back_test(back_test(windy, {})))
    plain = static_rule_table(count_back_test(back_test(windy, {})), apply_limits(windy, {}))
    assert not any("of these" in str(row[0]) for row in plain.rows) and "calm" not in " ".join(plain.notes[:1])


def test_calm_counts_add_up_to_what_the_rule_misses() -> None:
    dataset = synthetic.results(not_run=[0, 5])
    counts = count_back_test(back_test(dataset))
    assert 0.0 in dataset["wind_speed"]
    assert sum(int(counts[name]) for name in CALM_COUNTS) == int(counts["rule_passes_swing_fails"]) > 0


def test_empty_table_says_so() -> None:
    table = Table(title="Nothing", header=("a",), rows=(), notes=())
    assert "No rows" in table.to_markdown()
