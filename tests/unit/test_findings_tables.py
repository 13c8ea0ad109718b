"""Numbers in tables of findings: counts, shares and what a share is of, by hand."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
import xarray as xr

from tests import fake_engine
from tests.unit.test_findings_compare import two
from tests.unit.test_findings_paired import drawn
from toolkit.execution.records import evaluate_with
from toolkit.findings import (
    apply_limits,
    back_test,
    back_test_rules,
    count_back_test,
    count_limits,
    failure_consequences,
    pair,
    standby_need,
    summarise_pairs,
    worst_direction,
)
from toolkit.findings.display import axis_label, display_text
from toolkit.findings.limit_tables import direction_table, draws_table
from toolkit.findings.paired import compare_results
from toolkit.findings.research_tables import (
    comparison_lines,
    paired_difference_table,
    preference_table,
    sensitivity_table,
    spread_table,
    step_table,
)
from toolkit.findings.rule_tables import back_test_lines, back_test_table, consequences_table, standby_table
from toolkit.findings.sensitivity import factors_of, screen, sobol, spread_over
from toolkit.findings.table import cell_text
from toolkit.findings.tables import limits_table, outcome_table, overview_lines, pairs_table, static_rule_table
from toolkit.motion.convergence import Accuracy

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
    rows = [row[1:] for row in outcome_table(apply_limits(codes, {})).rows if row[0] == "does not pass for"]
    assert rows == [("lost station", 2, 50.0), ("deck edge immersed", 1, 25.0)]


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
    # of what calm would change nothing is left out but cases in calm that are not there
    rain = back_test(dataset.isel(displacement=[0, 1]), {})
    kept = [str(row[0]) for row in static_rule_table(count_back_test(rain), apply_limits(dataset, {})).rows]
    assert "of these, fails only with wind" in kept and "of these, calm not run" not in kept
    never = back_test(dataset.isel(displacement=[1]), {})
    kept = [row[:2] for row in static_rule_table(count_back_test(never), apply_limits(dataset, {})).rows]
    assert ("of these, fails only with wind", 0) in kept
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


def test_words_of_choices_are_written_out_and_abbreviations_in_capitals() -> None:
    assert display_text("manoeuvre", "swing_pull") == "swing pull"
    assert [display_text("line_material", word) for word in ("hmpe", "nylon")] == ["HMPE", "nylon"]


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


def test_a_comparison_is_told_in_percent_and_at_its_level() -> None:
    compared = compare_results(drawn([[9.0] * 4]), drawn([[8.0, 8.0, 8.0, 10.0]]), resamples=9, level=0.9)
    (row,) = preference_table([compared]).rows
    assert row[2:5] == (25.0, 75.0, -50.0)
    table = paired_difference_table([compared])
    (row,) = table.rows
    assert row[table.header.index("sign flips [%]")] == 25.0
    assert row[table.header.index("conditions that flip between draws [%]")] == 100.0
    assert "Intervals are at 90 %" in table.notes[0]
    lines = comparison_lines(compared)
    assert "of 4 pairs run both completed in 4 (100.0 %), only first in 0 (0.0 %)" in lines[0]


def test_a_screening_alone_has_a_table_and_stand_ins_are_those_of_the_last_part() -> None:
    run = partial(evaluate_with, fake_engine.MODEL)
    factors = factors_of(fake_engine.samples_of(), coefficients=False)
    screened = screen(run, factors, count=4, names=["completed"])
    table = sensitivity_table(screened.assign(stood_in_share=("quantity", [0.25])), None)
    assert len(table.rows) == 3 and {row[-1] for row in table.rows} == {25.0}
    found = sobol(run, factors, samples=8, names=["completed"], resamples=5)
    both = sensitivity_table(screened, found.assign(stood_in_share=("quantity", [0.5])))
    assert {row[-1] for row in both.rows} == {50.0}


def test_quantiles_and_differences_of_steps_are_told_in_percent() -> None:
    study = fake_engine.study_of({"bollard_pull": np.array([20.0, 40.0]) * fake_engine.TONNE_FORCE})
    run = partial(evaluate_with, fake_engine.MODEL)
    spread = spread_over(run, factors_of(study, conditions=False), study.axes[0], samples=8, names=["end_time"])
    assert spread_table(spread).header[3:8] == tuple(f"{q} % below" for q in (5, 25, 50, 75, 95))
    sizes = {"median": 1e-3, "percentile_90": 2e-3, "percentile_99": 4e-3, "largest": 8e-3}
    step = Accuracy(run="half", outcome="time_to_turn", cases=3, share_within=0.5, changed=0.25, **sizes)
    assert step_table([step], {}, "By hand.").rows == (("half", "time to turn", 3, 0.1, 0.2, 0.4, 0.8, 50.0, 25.0),)


def grid(codes: object, axes: dict[str, list]) -> xr.Dataset:
    data = {"outcome": (tuple(axes), np.array(codes, dtype=np.int8))}
    return apply_limits(xr.Dataset(data, coords={k: np.array(v) for k, v in axes.items()}), {})


T = 9806.65
TUG = {"bollard_pull": [10 * T, 20 * T], "displacement": [3e5, 6e5], "wind_speed": [0.0]}


def test_rules_are_told_as_shares_of_their_decisions() -> None:
    codes = np.full((2, 2, 1, 4), DONE)
    codes[0, 0, 0, 0] = EDGE
    codes[1, 1] = NOT_RUN
    field = grid(codes, {**TUG, "wind_from": [0.0, 90.0, 180.0, 270.0]})
    tested = back_test_rules(field, {"all": xr.ones_like(field["passes"]), "none": xr.zeros_like(field["passes"])})
    third = 100.0 / 3.0
    rows = {row[:2]: row[2:] for row in back_test_table(tested, field).rows}
    assert rows["all", "all"] == (3, pytest.approx(2 * third), pytest.approx(third), 0.0, 0.0, "deck edge immersed", 1)
    assert rows["none", "all"] == (3, 0.0, 0.0, pytest.approx(2 * third), pytest.approx(third), "", 1)
    assert rows["all", "barge displacement, laden 300 t"] == (2, 50.0, 50.0, 0.0, 0.0, "deck edge immersed", 0)
    assert rows["none", "barge displacement, laden 600 t"] == (1, 0.0, 0.0, 100.0, 0.0, "", 1)
    assert (
        "it passes where at least 100 % of the 4 cases behind it do (wind from)"
        in back_test_table(tested, field).notes[0]
    )
    lines = back_test_lines(tested)
    assert "of 3 decisions (tug, barge, wind) it is too lax in 1 (33 % of what it permits)" in lines[0]
    assert lines[1] == "none: of 3 decisions (tug, barge, wind) it is too lax in 0, and too strict in 2."
    open_all = back_test_rules(
        grid(codes * 0, {**TUG, "wind_from": [0.0, 90.0, 180.0, 270.0]}), {"all": field["passes"]}
    )
    assert back_test_lines(open_all) == ("all: no decision to hold it against.",)


def failing() -> xr.Dataset:
    """With all well three of four directions pass with 10 t and all with 20 t; in a black-out half with 20 t."""
    codes = np.full((2, 2, 1, 1, 4), LOST)
    codes[0, 0, 0, 0, :3], codes[0, 1], codes[1, 1, 0, 0, :2] = DONE, DONE, DONE
    axes = {"failure": ["none", "black_out"], **TUG, "displacement": [3e5], "wind_from": [0.0, 90.0, 180.0, 270.0]}
    return grid(codes, axes)


def test_shares_with_and_without_a_failure_are_told_in_percent() -> None:
    field = failing()
    table = standby_table(standby_need(field, share=0.75, failure_share=0.8), field)
    assert [row[-4:] for row in table.rows] == [
        (75.0, 0.0, "needed", "lost station"), (100.0, 50.0, "needed", "lost station"),
    ]  # fmt: skip
    assert [row[1] for row in table.rows] == pytest.approx([10.0, 20.0])
    assert "at least 75 % of the cases pass" in table.notes[0] and "fewer than 80 % with the failure" in table.notes[0]


def test_what_failures_lead_to_is_of_the_cases_that_pass_without() -> None:
    field = failing()
    drift = xr.zeros_like(field["passes"], dtype=np.float64) + xr.DataArray([1.0, 2.0, 3.0, 4.0], dims="wind_from")
    table = consequences_table(
        failure_consequences(field.assign(drift_distance=drift, recovered=drift / 4.0), field), field
    )
    (row,) = table.rows
    # seven pass with all well: three with 10 t, none of them with the failure, and four with 20 t, of them two
    assert row[:5] == ("black out", 8, 7, pytest.approx(200.0 / 7.0), "lost station 5, completed 2")
    found = dict(zip(table.header[5:], row[5:], strict=True))
    drifts = [1.0, 2.0, 3.0, 1.0, 2.0, 3.0, 4.0]
    assert list(found.values()) == pytest.approx([100.0 * np.mean(drifts) / 4.0, np.median(drifts), 4.0])
    assert [name.rsplit(", ", 1)[1] for name in found] == ["share [%]", "median [m]", "worst [m]"]


def test_a_rule_that_is_lax_twice_in_three_and_the_share_that_decides() -> None:
    codes = np.full((3, 1, 1, 4), DONE)
    codes[:2, 0, 0, :2] = EDGE
    axes = {
        **TUG,
        "bollard_pull": [10 * T, 20 * T, 30 * T],
        "displacement": [3e5],
        "wind_from": [0.0, 90.0, 180.0, 270.0],
    }
    field = grid(codes, axes)
    tested = back_test_rules(field, {"all": xr.ones_like(field["passes"])}, share=0.75)
    assert "too lax in 2 (67 % of what it permits)" in back_test_lines(tested)[0]
    assert "it passes where at least 75 % of the 4 cases" in back_test_table(tested, field).notes[0]


def test_columns_of_a_standby_table_are_the_axis_with_its_unit_and_bands_without() -> None:
    field = failing()
    assert standby_table(standby_need(field), field).header[:4] == (
        "failure", "bollard pull [t]", "barge displacement, laden", "wind speed",
    )  # fmt: skip
