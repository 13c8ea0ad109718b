"""Numbers in tables of findings: counts, shares and what a share is of, by hand."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from tests.unit.test_findings_compare import two
from toolkit.findings import (
    apply_limits,
    back_test,
    count_back_test,
    count_limits,
    pair,
    summarise_pairs,
    worst_direction,
)
from toolkit.findings.display import axis_label, display_text
from toolkit.findings.limit_tables import direction_table, draws_table
from toolkit.findings.table import cell_text
from toolkit.findings.tables import limits_table, outcome_table, overview_lines, pairs_table, static_rule_table

KNOT = 1852.0 / 3600.0
NOT_RUN, DONE, EDGE, LOST = 0, 1, 4, 7
NONE = pytest.approx(np.nan, nan_ok=True)


def four() -> xr.Dataset:
    """One lost, three completed, with heel and tension of which each limit breaks one."""
    data = {
        "outcome": [DONE, DONE, DONE, LOST],
        "peak_heel_fraction": [0.5, 0.9, 0.7, 0.1],
        "tension_over_mbl": [np.nan, 0.4, 0.6, 0.1],
    }
    return xr.Dataset({k: ("wind_speed", np.array(v)) for k, v in data.items()}, coords={"wind_speed": np.arange(4.0)})


LIMITS = {"peak_heel_fraction": 0.8, "tension_over_mbl": 0.5}


def test_outcomes_are_counted_as_shares_of_those_run() -> None:
    dataset = four().reindex(wind_speed=np.arange(5.0))  # and one that was not run
    rows = outcome_table(apply_limits(dataset, {"peak_heel_fraction": 0.8})).rows
    assert rows == (
        ("how it ended", "not run", 1, NONE),
        ("how it ended", "completed", 3, 75.0),
        ("how it ended", "lost station", 1, 25.0),
        ("judged", "passes", 2, 50.0),
        ("does not pass for", "peak heel over deck-edge angle", 1, 25.0),
        ("does not pass for", "lost station", 1, 25.0),
    )
    none = outcome_table(apply_limits(dataset.assign(outcome=dataset["outcome"] * 0.0), {})).rows
    assert none == (("how it ended", "not run", 5, NONE), ("judged", "passes", 0, NONE))


def test_reasons_stand_by_how_many_they_stop() -> None:
    codes = xr.Dataset({"outcome": ("case", np.array([EDGE, LOST, LOST, DONE]))})
    rows = [row[1:3] for row in outcome_table(apply_limits(codes, {})).rows if row[0] == "does not pass for"]
    assert rows == [("lost station", 2), ("deck edge immersed", 1)]


def test_pairs_are_shares_of_those_compared_and_quartiles_of_second_less_first() -> None:
    a, b = two([10, 20, 30, 40, 5], [12, 20, 29, 41, 6], ([1, 1, 1, 1, 0], [1, 1, 1, 2, 1]))
    table = pairs_table(summarise_pairs(pair(a, b, names=("one", "other"))))
    (row,) = table.rows
    third = pytest.approx(100.0 / 3.0)
    assert row[:5] == (axis_label("time_to_turn"), 3, third, third, third)
    assert row[5:] == pytest.approx((0.0, -0.5 / 60.0, 1.0 / 60.0))  # minutes
    assert table.notes[0].startswith(
        "Of 5 pairs both completed in 3, only one in 1, only other in 0, neither in 0; 1 not run."
    )


def test_the_static_rule_is_told_as_shares_of_cases_run_and_by_barge_of_hers() -> None:
    codes = np.array([[DONE, EDGE, EDGE], [EDGE, DONE, EDGE], [NOT_RUN, EDGE, DONE]], dtype=np.int8)
    data = {
        "outcome": (("displacement", "wind_speed"), codes),
        "static_wind_demand": (("wind_speed",), [0.0, 0.5, 1.5]),
    }
    dataset = xr.Dataset(data, coords={"displacement": [3e5, 6e5, 9e5], "wind_speed": [0.0, 5.0, 10.0]})
    tested = back_test(dataset, {})
    table = static_rule_table(
        count_back_test(tested), apply_limits(dataset, {}), count_back_test(tested, keep=["displacement"])
    )
    found = {str(row[0]): row[1:] for row in table.rows}
    assert found["static rule passes, swing fails"] == (3, 37.5)
    assert found["of these, calm not run"] == (1, 12.5)
    assert found["static rule passes, swing fails for: deck edge immersed"] == (3, 37.5)
    shares = [
        found[f"static rule passes, swing fails, of the cases with barge displacement, laden {t} t"]
        for t in (300, 600, 900)
    ]
    assert shares == [(1, pytest.approx(100 / 3)), (1, pytest.approx(100 / 3)), (1, 50.0)]
    nothing = dataset.assign(outcome=dataset["outcome"] * 0)
    empty = static_rule_table(count_back_test(back_test(nothing, {})), apply_limits(nothing, {}))
    assert all(row[1:] == (0, NONE) for row in empty.rows)


def test_each_limit_alone_and_all_together() -> None:
    judged = apply_limits(four(), LIMITS)
    table = limits_table({"": count_limits(judged), "calm": count_limits(judged.isel(wind_speed=[0]))}, judged)
    assert [row[0] for row in table.rows] == ["all cases"] * 5 + ["calm"] * 5
    assert [row[2:] for row in table.rows[:5]] == [
        (4, 3, 75.0, NONE), (3, 2, 50.0, 1), (2, 2, 50.0, 1), (4, 2, 50.0, NONE), (4, 1, 25.0, NONE),
    ]  # fmt: skip
    assert [row[3:5] for row in table.rows[5:]] == [(1, 100.0)] * 5


def test_axes_are_told_from_end_to_end() -> None:
    judged = apply_limits(xr.Dataset(
        {"outcome": (("manoeuvre", "wind_from"), np.ones((2, 3)))},
        coords={"manoeuvre": ["swing_pull", "swing_push"], "wind_from": [0.0, 45.0, 90.0]},
    ))  # fmt: skip
    assert overview_lines(judged) == (
        "manoeuvre: swing pull, swing push (2 values)", "wind from: 000 deg to 090 deg (3 values)",
    )  # fmt: skip
    assert overview_lines(judged, ["wind_from"]) == ("wind from: 000 deg to 090 deg (3 values)",)
    assert overview_lines(apply_limits(xr.Dataset({"outcome": ("case", np.ones(7))}))) == ("case: 7 samples",)


def test_cells_are_whole_numbers_or_have_four_figures() -> None:
    assert [cell_text(value) for value in (3, 3.0, 0.5, 1234.56, 1e15, 1e14, np.nan, "word", -2.0)] == [
        "3", "3", "0.5", "1235", "1e+15", "100000000000000", "", "word", "-2",
    ]  # fmt: skip


def test_numbers_below_nothing_keep_their_sign_and_rounding_leaves_none() -> None:
    assert [display_text("drift_along_berth", value) for value in (-4.0, 4.0, -1e-12, 0.0)] == [
        "-4 m",
        "4 m",
        "0 m",
        "0 m",
    ]
    assert [display_text("no_quantity", value) for value in (-2.5, -1e-12, np.nan)] == ["-2.5", "0", "not given"]
    assert cell_text(-1e15) == "-1e+15"


def limits_by_direction(limits: list[float]) -> xr.Dataset:
    bearings = np.arange(len(limits)) * 90.0
    data = {"limit": ("wind_from", np.array(limits) * KNOT), "status": ("wind_from", np.ones(len(limits)))}
    return xr.Dataset(data, coords={"wind_from": bearings}, attrs={"axis": "wind_speed"})


@pytest.mark.parametrize(
    ("limits", "row"),
    [
        ([20.0, 10.0, 30.0, 20.0], (10.0, "from 090 deg", 20.0, 50.0)),
        ([20.0] * 4, (20.0, "all alike", 20.0, 0.0)),
        ([20.0, 0.5, 20.0, 20.0], (0.5, "from 090 deg", 15.125, 100.0 * (1.0 - 0.5 / 15.125))),
        ([20.0, np.nan, 20.0, 20.0], (NONE, "from 090 deg", 15.0, 100.0)),
        ([np.nan] * 4, (NONE, "all alike", 0.0, NONE)),
    ],
)
def test_one_limit_for_all_directions_is_the_least_and_gives_away_the_rest_of_the_mean(
    limits: list[float], row: tuple[object, ...]
) -> None:
    (found,) = direction_table(worst_direction(limits_by_direction(limits)), apply_limits(four(), {})).rows
    assert found[1] == row[1]
    assert (found[0], *found[2:]) == pytest.approx((row[0], *row[2:]), nan_ok=True)


def test_shares_of_draws_are_told_in_percent_with_their_counts() -> None:
    shares = xr.Dataset(
        {
            "passing_count": ("wind_speed", [4, 3]), "run_count": ("wind_speed", [4, 4]),
            "share": ("wind_speed", [1.0, 0.75]), "share_low": ("wind_speed", [0.5, 0.25]),
            "share_high": ("wind_speed", [1.0, 0.875]),
        },
        coords={"wind_speed": [0.0, 10 * KNOT]}, attrs={"confidence": 0.9, "interval": "wilson"},
    )  # fmt: skip
    limit = xr.Dataset({"limit": 5 * KNOT}, attrs={"axis": "wind_speed", "share": 0.8})
    table = draws_table(shares, limit, apply_limits(four(), {}))
    np.testing.assert_allclose(table.rows, [(0.0, 4, 4, 100.0, 50.0, 100.0), (10.0, 3, 4, 75.0, 25.0, 87.5)])
    assert table.header[-2:] == ("lower end, 90 % interval [%]", "upper end, 90 % interval [%]")
    assert "up to which at least 80 % of the draws pass: 5 kn." in table.notes[0]
