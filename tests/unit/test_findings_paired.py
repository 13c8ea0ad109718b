"""Paired comparison: intervals by blocks, failed cases counted, what is not alike refused."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import xarray as xr
from scipy import stats

from tests import synthetic
from toolkit.errors import StudyError
from toolkit.findings import pair
from toolkit.findings.alike import cut_at, differing_inputs
from toolkit.findings.censoring import ENDS, end_counts, filled, horizon_of, restricted
from toolkit.findings.interaction import interaction
from toolkit.findings.intervals import block_interval, block_sums, mean_and_error, sign_test, t_reach
from toolkit.findings.paired import compare_along, compare_results, preference
from toolkit.findings.research_tables import comparison_lines, paired_difference_table, preference_table
from toolkit.findings.win_map import Better, win_map
from toolkit.quantities import Outcome

DONE, LATE, BROKEN, NOT_RUN = (
    int(o) for o in (Outcome.completed, Outcome.timed_out, Outcome.line_parted, Outcome.not_run)
)
LIMIT = 1000.0


def drawn(
    values: Any,
    codes: Any = DONE,
    *,
    name: str = "time_to_steady",
    dims: tuple[str, ...] = ("wind_speed", "draw"),
    **fixed: Any,
) -> xr.Dataset:
    """Results over conditions and draws; a case that did not complete has no value."""
    values = np.asarray(values, dtype=np.float64)
    codes = np.broadcast_to(np.asarray(codes, np.int8), values.shape)
    data = {"outcome": (dims, codes.copy()), name: (dims, np.where(codes == DONE, values, np.nan))}
    coords = {dim: np.arange(size, dtype=float) for dim, size in zip(dims, values.shape, strict=True)}
    return xr.Dataset(data, coords={**coords, "time_limit": LIMIT, **fixed}, attrs={"seed": 7})


def test_with_blocks_of_one_size_the_interval_is_that_of_block_means() -> None:
    values = np.random.default_rng(1).normal(3.0, 2.0, (5, 12))
    sums, counts = block_sums(xr.DataArray(values, dims=("wind_speed", "draw")), ("draw",))
    found = block_interval(sums, counts)
    expected = stats.ttest_1samp(values.mean(0), 0.0).confidence_interval()
    assert (found.mean, found.blocks) == (pytest.approx(values.mean()), 12)
    assert (found.t_low, found.t_high) == pytest.approx((expected.low, expected.high))
    assert found.low < found.mean < found.high
    assert found.high - found.low == pytest.approx(found.t_high - found.t_low, rel=0.3)


def test_blocks_of_unlike_size_weigh_by_what_they_hold() -> None:
    values = xr.DataArray([[1.0, 4.0], [3.0, np.nan]], dims=("wind_speed", "draw"))
    mean, error, blocks = mean_and_error(*block_sums(values, ("draw",)))
    assert mean == pytest.approx(8.0 / 3.0) and blocks == 2
    # residuals of the ratio: 4 - 2 * 8/3 and 4 - 8/3, over a mean size of 1.5
    assert error == pytest.approx(np.sqrt(2 * (4.0 / 3.0) ** 2 / 2.0) / 1.5)


def test_too_few_blocks_give_no_interval_and_none_at_all_no_mean() -> None:
    one = block_interval([3.0, 0.0], [1.0, 0.0])
    assert one.mean == 3.0 and one.blocks == 1 and np.isnan([one.low, one.high, one.t_low, one.t_high]).all()
    none = block_interval([0.0], [0.0])
    assert np.isnan(none.mean) and none.blocks == 0
    alike = block_interval([2.0, 4.0, 2.0], [1.0, 2.0, 1.0])
    assert (alike.low, alike.high, alike.t_low, alike.t_high) == (2.0, 2.0, 2.0, 2.0)
    assert np.isnan(t_reach([0, 1])).all() and t_reach(11) == pytest.approx(2.228, abs=1e-3)


def test_two_blocks_give_an_interval_unless_they_are_alike() -> None:
    for sums, counts in (([1.0, 3.0], [1.0, 1.0]), ([1.0, 2.0], [1.0, 1.0]), ([2.0, 1.0], [1.0, 2.0])):
        found = block_interval(sums, counts)
        assert found.low < found.mean < found.high and found.blocks == 2


def test_the_bootstrap_is_corrected_for_skewness() -> None:
    values = np.random.default_rng(2).gamma(0.3, 1.0, 30)
    found = block_interval(values, np.ones(30))
    plain, corrected = (
        stats.bootstrap((values,), np.mean, n_resamples=9999, method=method).confidence_interval.high
        for method in ("percentile", "BCa")
    )
    width = found.high - found.low
    assert corrected - plain > 0.1 * width  # the two can be told apart
    assert found.high == pytest.approx(corrected, abs=0.05 * width)


def test_intervals_hold_the_mean_as_often_as_they_say() -> None:
    """Skewed values; 400 trials, of which 95 % +/- 4 standard errors."""
    values = np.random.default_rng(5).gamma(4.0, 1.0, (400, 15))
    mean, error, blocks = mean_and_error(values, np.ones(values.shape))
    reach = t_reach(blocks) * error
    assert 0.90 < np.mean(np.abs(mean - 4.0) <= reach) < 0.99
    resampled = [block_interval(row, np.ones(15), resamples=199) for row in values[:150]]
    assert 0.84 < np.mean([one.low <= 4.0 <= one.high for one in resampled]) < 0.99


def test_sign_test_is_the_binomial_test() -> None:
    for one, other in ((3, 9), (7, 7), (0, 6), (0, 0), (1, 0)):
        expected = stats.binomtest(one, one + other).pvalue if one + other else 1.0
        assert sign_test(one, other) == pytest.approx(expected)


def test_a_difference_that_all_draws_share_is_found_through_their_noise() -> None:
    generator = np.random.default_rng(3)
    gusts = generator.normal(0.0, 100.0, 20)
    base = np.array([300.0, 400.0, 500.0])[:, None] + gusts
    noise = generator.normal(0.0, 1.0, base.shape)
    found = compare_results(drawn(base), drawn(base + 10.0 + noise)).sel(quantity="time_to_steady")
    assert found.attrs["blocks"] == "draw" and int(found["blocks_count"]) == 20
    assert float(found["mean_difference"]) == pytest.approx(10.0 + noise.mean())
    width = 0.5 * float(found["mean_difference_t_high"] - found["mean_difference_t_low"])
    assert width == pytest.approx(float(t_reach(20)) * noise.mean(0).std(ddof=1) / np.sqrt(20))
    # unpaired, the gusts would drown it
    assert float(found["pairing_gain"]) > 1000.0
    assert float(found["share_sign_flips"]) == 0.0 == float(found["share_conditions_flipping"])
    assert float(found["net_preference"]) == 1.0 and float(found["sign_test_p"]) == pytest.approx(2.0**-19)


def test_sign_flips_are_counted_by_pair_and_by_condition() -> None:
    first = np.full((3, 4), 100.0)
    second = first + np.array([[5.0, 5.0, 5.0, -1.0], [5.0, 5.0, 5.0, 5.0], [-1.0, -1.0, -1.0, 0.0]])
    found = compare_results(drawn(first), drawn(second)).sel(quantity="time_to_steady")
    assert float(found["share_sign_flips"]) == pytest.approx(4 / 12)  # the tie flips nothing
    assert int(found["conditions_count"]) == 3
    assert float(found["share_conditions_flipping"]) == pytest.approx(1 / 3)


def test_both_sides_of_a_comparison_by_hand() -> None:
    # one condition, twelve draws: less time is better, by half a second; nine times the second, three times the first
    first = np.linspace(100.0, 122.0, 12)[None, :]
    apart = np.where(np.arange(12) < 9, -0.5, 0.5)[None, :]
    found = compare_results(drawn(first), drawn(first + apart)).sel(quantity="time_to_steady")
    assert (float(found["share_first_better"]), float(found["share_second_better"])) == (0.25, 0.75)
    assert float(found["sign_test_p"]) == pytest.approx(stats.binomtest(3, 12).pvalue)
    assert float(found["share_conditions_flipping"]) == 1.0
    spread = [np.var(part, ddof=1) for part in (first, first + apart, apart)]
    assert float(found["pairing_gain"]) == pytest.approx((spread[0] + spread[1]) / spread[2])
    without = compare_results(drawn([1.0, 2.0], dims=("wind_speed",)), drawn([2.0, 4.0], dims=("wind_speed",)))
    assert without["conditions_count"].values.tolist() == [0.0]


def test_times_that_were_not_reached_count_as_the_time_limit() -> None:
    first = drawn([[100.0, 200.0, 300.0, 400.0, 1.0, 1.0]], [[DONE, DONE, DONE, LATE, LATE, NOT_RUN]])
    second = drawn([[110.0, 190.0, 1.0, 350.0, 1.0, 1.0]], [[DONE, DONE, BROKEN, DONE, BROKEN, DONE]])
    found = compare_results(first, second)
    here = found.sel(quantity="time_to_steady")
    told = {k: int(found[f"{k}_count"]) for k in ("both_completed", "only_first", "only_second", "neither", "not_run")}
    assert told == {"both_completed": 2, "only_first": 1, "only_second": 1, "neither": 1, "not_run": 1}
    assert {e: int(found[f"first_{e}_count"]) for e in ENDS} == {
        "completed": 3, "out_of_time": 2, "failed": 0, "not_run": 1,
    }  # fmt: skip
    assert {e: int(found[f"second_{e}_count"]) for e in ENDS} == {
        "completed": 4, "out_of_time": 0, "failed": 2, "not_run": 0,
    }  # fmt: skip
    assert float(here["mean_difference"]) == pytest.approx(0.0)
    times = np.array([[100, 200, 300, LIMIT, LIMIT], [110, 190, LIMIT, 350, LIMIT]])
    assert int(here["restricted_count"]) == 5
    assert [float(here[f"restricted_mean_{s}"]) for s in ("first", "second")] == pytest.approx(times.mean(1))
    assert float(here["restricted_difference"]) == pytest.approx((times[1] - times[0]).mean())
    # +1: first 10 s quicker; -1: second 10 s quicker; +1, -1 by completing; 0: neither
    assert float(here["net_preference"]) == 0.0
    assert float(here["share_first_better"]) == float(here["share_second_better"]) == pytest.approx(0.4)
    text = " ".join(comparison_lines(found))
    assert "neither in 1 (20.0 %)" in text and "1 pairs were not run" in text and "2 by another failure" in text


def test_a_shorter_horizon_cuts_all_times_and_a_longer_one_is_refused() -> None:
    one = drawn([[100.0, 900.0]])
    found = compare_results(one, drawn([[300.0, 500.0]]), horizon=400.0).sel(quantity="time_to_steady")
    assert float(found["restricted_difference"]) == pytest.approx(100.0)
    with pytest.raises(StudyError, match="beyond the time limit"):
        compare_results(one, one, horizon=1200.0)
    with pytest.raises(StudyError, match="no time limit is known"):
        horizon_of(one.drop_vars("time_limit"))
    assert np.isnan(
        compare_results(one.drop_vars("time_limit"), one.drop_vars("time_limit"))["restricted_difference"]
    ).all()


def test_a_completed_case_without_the_event_has_no_restricted_time() -> None:
    one = drawn([[100.0, np.nan, 50.0]], [[DONE, DONE, LATE]], name="time_to_turn")
    np.testing.assert_array_equal(restricted(one, "time_to_turn", LIMIT), [[100.0, np.nan, LIMIT]])
    values, stood_in, words = filled(one, "time_to_turn")
    np.testing.assert_array_equal(values, [[100.0, np.nan, LIMIT]])
    assert stood_in.values.tolist() == [[False, False, True]] and "16.67 min" in words


def test_what_failed_cases_lack_is_the_worst_that_was_seen() -> None:
    codes = [[DONE, DONE, BROKEN, NOT_RUN]]
    values, stood_in, words = filled(drawn([[1.0, 5.0, 9.0, 9.0]], codes, name="drift_distance"), "drift_distance")
    np.testing.assert_array_equal(values, [[1.0, 5.0, 5.0, np.nan]])
    assert stood_in.values.sum() == 1 and "5 m" in words
    # of what has a least limit the worst is the smallest
    np.testing.assert_array_equal(
        filled(drawn([[1.0, 5.0, 9.0, 9.0]], codes, name="room_to_edge"), "room_to_edge")[0], [[1.0, 5.0, 1.0, np.nan]]
    )
    assert end_counts(drawn([[1.0] * 4], codes)) == {"completed": 2, "out_of_time": 0, "failed": 1, "not_run": 1}


def test_nothing_stands_in_where_nothing_failed_or_nothing_was_seen() -> None:
    values, stood_in, words = filled(drawn([[1.0, 2.0]], name="peak_heel"), "peak_heel")
    assert (values.values.tolist(), bool(stood_in.any()), words) == ([[1.0, 2.0]], False, "")
    values, stood_in, words = filled(drawn([[1.0, 2.0]], BROKEN, name="peak_heel"), "peak_heel")
    assert np.isnan(values).all() and bool(stood_in.all()) and words == ""


def test_a_horizon_is_a_time_above_nothing() -> None:
    dataset = drawn([[1.0, 2.0]])
    assert horizon_of(dataset, 0.5) == 0.5
    with pytest.raises(StudyError, match="no time limit"):
        horizon_of(dataset, 0.0)


def test_more_room_is_better() -> None:
    pairs = pair(*(drawn([[v]], name="room_to_edge") for v in (20.0, 30.0)), quantities=["room_to_edge"])
    assert preference(pairs, "room_to_edge").item() == -1.0


def test_an_outcome_that_applies_to_one_of_the_two_prefers_nothing() -> None:
    pull, push = drawn([[5.0, 6.0]], name="peak_tension"), drawn([[np.nan, np.nan]], name="peak_tension")
    found = compare_results(pull, push, quantities=["peak_tension"]).sel(quantity="peak_tension")
    assert int(found["compared_count"]) == 0 and np.isnan(found["net_preference"])


def test_only_the_inputs_that_differ_are_named() -> None:
    first = drawn([[1.0, 2.0]], manoeuvre="swing_pull", line_length=15.0, water_depth=np.nan)
    second = drawn([[1.0, 2.0]], manoeuvre="swing_push", line_length=15.0, water_depth=np.nan)
    assert differing_inputs(first, second) == ("manoeuvre",)
    found = compare_results(first, second, names=("pull", "push"))
    assert found.attrs["differs_in"] == "manoeuvre"
    assert "The two differ in: manoeuvre." in comparison_lines(found)


def test_cases_without_a_partner_are_counted() -> None:
    found = compare_results(drawn([[1.0, 2.0, 3.0]]), drawn([[1.0, 2.0, 3.0, 4.0]]).isel(draw=[1, 2, 3]))
    assert int(found["pair_count"]) == 2 and int(found["unshared_count"]) == 2
    assert any("2 cases have no partner" in line for line in comparison_lines(found))


def test_draws_of_other_seeds_are_not_paired() -> None:
    one = drawn([[1.0, 2.0]])
    with pytest.raises(StudyError, match="seeds 7 and 8"):
        compare_results(one, one.assign_attrs(seed=8))
    alike = [part.assign_coords(draw_seed=3.0) for part in (one, one.assign_attrs(seed=8))]
    assert int(compare_results(*alike)["pair_count"]) == 2


def test_samples_that_differ_are_not_paired() -> None:
    one = drawn([100.0, 200.0, 300.0], dims=("case",), manoeuvre="swing_pull")
    one = one.assign_coords(wind_speed=("case", [1.0, 2.0, 3.0]))
    other = one.assign_coords(manoeuvre="swing_push")
    found = compare_results(one, other)
    assert found.attrs["blocks"] == "case" and "sampled cases" in found.attrs["block_words"]
    with pytest.raises(StudyError, match="wind_speed differs in 1 of 3 cases"):
        compare_results(one, other.assign_coords(wind_speed=("case", [1.0, 2.5, 3.0])))


def test_pairs_that_repeat_do_not_narrow_an_interval() -> None:
    values = np.random.default_rng(5).normal(300.0, 40.0, (2, 12))
    codes = np.array([DONE] * 11 + [LATE])
    once = [drawn(side, codes, dims=("wind_speed",)) for side in values]
    again = [drawn(np.repeat(side[:, None], 4, 1), codes[:, None], dims=("wind_speed", "wind_from")) for side in values]
    one, four = (compare_results(*pair_of).squeeze("quantity") for pair_of in (once, again))
    assert int(four["compared_count"]) == 4 * int(one["compared_count"])
    assert int(four["blocks_count"]) == int(one["blocks_count"]) == 11
    for key in ("mean_difference", "mean_difference_t_low", "mean_difference_t_high"):
        np.testing.assert_allclose(four[key], one[key], rtol=1e-12)
    # pairs of which neither has a value are not known to repeat
    lost = [drawn(side, LATE, dims=("wind_speed",)) for side in values]
    assert int(compare_results(*lost)["neither_count"]) == 12


def test_configurations_are_found_by_word_number_or_text() -> None:
    dataset = synthetic.results({"line_length": [15.0, 30.0, 60.0], "wind_speed": [0.0, 5.0, 10.0]})
    found = compare_along(dataset, "line_length", "15 m", 60.0)
    assert (found.attrs["first"], found.attrs["second"], found.attrs["differs_in"]) == ("15 m", "60 m", "line_length")
    assert "single cases of the grid" in found.attrs["block_words"] and np.isnan(found["sign_test_p"]).all()
    with pytest.raises(StudyError, match=r"line_length = 20 m is not swept.*15 m, 30 m, 60 m"):
        compare_along(dataset, "line_length", "15 m", "20 m")
    with pytest.raises(StudyError, match="none of the outcomes"):
        compare_along(dataset, "line_length", 15.0, 30.0, quantities=["shoe_size"])
    assert cut_at(dataset, {"wind_speed": "5 m/s"})["outcome"].dims == ("line_length",)
    with pytest.raises(StudyError) as caught:
        cut_at(dataset, {"wind_speed": "7 m/s", "turn": "port"})
    assert len(caught.value.problems) == 2


def test_map_says_who_does_better_where_and_whether_signs_support_it() -> None:
    first = np.full((2, 2, 8), 100.0)
    second = first + np.array([[[-5.0], [5.0]], [[0.0], [1.0]]])
    codes = np.full(second.shape, DONE)
    second[0, 1, 0] = 95.0  # one draw of eight speaks for the second: 7 to 1, p = 0.07
    codes[1, 1] = LATE
    dims = ("displacement", "wind_speed", "draw")
    one = drawn(first, codes=codes, dims=dims)
    pairs = pair(one, drawn(second, codes=codes, dims=dims))
    found = win_map(pairs, ("displacement", "wind_speed"))
    assert found["better"].values.tolist() == [[Better.second, Better.first], [Better.even, Better.neither_completes]]
    assert found["supported"].values.tolist() == [[True, False], [False, False]]
    assert found["net_preference"].values[0].tolist() == [-1.0, 0.75]
    assert found["share_first"].values[0].tolist() == [0.0, 0.875]
    assert found["share_second"].values[0].tolist() == [1.0, 0.125]
    assert found.attrs["votes"] == 8
    assert float(found["sign_test_p"][0, 1]) == pytest.approx(stats.binomtest(1, 8).pvalue)
    for name in ("share_first", "share_second"):
        assert float(found[name][1, 1]) == 0.0
    assert float(found["share_neither_completed"][1, 1]) == 1.0
    with pytest.raises(StudyError, match="wind_from is not swept"):
        win_map(pairs, ("wind_from", "wind_speed"))
    with pytest.raises(StudyError, match="overshoot was not paired"):
        win_map(pairs, ("displacement", "wind_speed"), "overshoot")


def test_map_counts_completing_before_the_value() -> None:
    first = drawn([[500.0] * 6], dims=("wind_speed", "draw"))
    second = drawn([[1.0] * 6], [[LATE] * 6])
    found = win_map(pair(first, second), ("wind_speed",))
    assert int(found["better"][0]) == Better.first and bool(found["supported"][0])
    idle = win_map(pair(first, drawn([[1.0] * 6], NOT_RUN)), ("wind_speed",))
    assert int(idle["better"][0]) == Better.not_run and not bool(idle["supported"][0])


def test_map_of_single_pairs_says_all_but_what_is_supported() -> None:
    first = drawn([[500.0], [500.0], [500.0]], [[DONE], [DONE], [LATE]])
    second = drawn([[1.0], [600.0], [1.0]], [[DONE], [DONE], [LATE]])
    found = win_map(pair(first, second), ("wind_speed",))
    assert found["better"].values.tolist() == [Better.second, Better.first, Better.neither_completes]
    assert found["share_first"].values.tolist() == [0.0, 1.0, 0.0]
    assert found["share_second"].values.tolist() == [1.0, 0.0, 0.0]
    assert found["share_neither_completed"].values.tolist() == [0.0, 0.0, 1.0]
    assert found["sign_test_p"].values.tolist() == [1.0] * 3 and not found["supported"].any()


def test_interaction_is_what_rows_and_columns_leave_over() -> None:
    rows, columns = np.array([0.0, 10.0, 30.0]), np.array([0.0, 4.0])
    added = 100.0 + rows[:, None] + columns
    dims = ("displacement", "wind_speed")
    assert float(interaction(drawn(added, dims=dims), *dims)["interaction_share"]) == pytest.approx(0.0, abs=1e-12)
    crossed = drawn([[100.0, 110.0], [110.0, 100.0]], dims=dims)
    assert float(interaction(crossed, *dims)["interaction_share"]) == pytest.approx(1.0)
    assert np.isnan(interaction(drawn(np.full((2, 2), 5.0), dims=dims), *dims)["interaction_share"])
    with pytest.raises(StudyError, match="named twice"):
        interaction(crossed, "wind_speed", "wind_speed")


def test_interaction_counts_failed_cases_and_takes_its_interval_from_draws() -> None:
    values = np.array([[[100.0, 120.0], [200.0, 220.0]]])
    codes = [[[DONE, DONE], [DONE, LATE]]]
    found = interaction(drawn(values, codes, dims=("displacement", "wind_speed", "draw")), "wind_speed", "displacement")
    assert found["mean"].values[:, 0].tolist() == [110.0, (200.0 + LIMIT) / 2]
    assert found["share_completed"].values[:, 0].tolist() == [1.0, 0.5]
    assert float(found["high"][0, 0] - found["mean"][0, 0]) == pytest.approx(stats.t.ppf(0.975, 1) * 10.0)
    assert float(found["mean"][0, 0] - found["low"][0, 0]) == pytest.approx(stats.t.ppf(0.975, 1) * 10.0)
    assert found["stood_in_share"].values[:, 0].tolist() == [0.0, 0.5]
    single = interaction(drawn([[1.0, LIMIT]], [[DONE, LATE]], dims=("displacement", "wind_speed")), "wind_speed",
                         "displacement")  # fmt: skip
    assert single["share_completed"].values.ravel().tolist() == [1.0, 0.0]
    assert single["stood_in_share"].values.ravel().tolist() == [0.0, 1.0]
    assert "time limit" in found.attrs["stand_in"]


def test_tables_of_a_comparison_name_pairs_failures_and_cautions() -> None:
    axes = {**synthetic.default_axes(3), "manoeuvre": ["swing_pull", "swing_push"], "draw": [0.0, 1.0, 2.0]}
    found = compare_along(synthetic.results(axes), "manoeuvre", "swing_pull", "swing_push", resamples=99)
    for table in (paired_difference_table([found]), preference_table([found])):
        assert {len(row) for row in table.rows} == {len(table.header)}
        notes = " ".join(table.notes)
        for words in (
            "both completed in",
            "by another failure",
            "draws of gusts",
            "FROM",
            "Screening aid only",
            "Provenance",
        ):
            assert words in notes
    rows = {row[1]: row for row in paired_difference_table([found]).rows}
    mean = float(found["mean_difference"].sel(quantity="time_to_steady"))
    assert rows["time to steady [min]"][6] == pytest.approx(mean / 60.0)


def test_pairs_of_a_grid_that_repeat_are_one_vote() -> None:
    first = np.array([[100.0] * 8, [100.0, 101.0, 102.0, 103.0, 104.0, 105.0, 106.0, 107.0]])
    dims = ("wind_speed", "wind_from")
    found = win_map(pair(drawn(first, dims=dims), drawn(first - 5.0, dims=dims)), ("wind_speed",))
    assert found["better"].values.tolist() == [Better.second, Better.second]
    assert found["run_count"].values.tolist() == [8, 8]
    # in a calm eight directions are one case: one vote tells nothing; eight votes of one mind do
    assert found["supported"].values.tolist() == [False, True]
    assert found["sign_test_p"].values.tolist() == pytest.approx([1.0, stats.binomtest(0, 8).pvalue])
    calm = pair(drawn(first[:1], dims=dims), drawn(first[:1] - 5.0, dims=dims))
    assert (found.attrs["votes"], win_map(calm, ("wind_speed",)).attrs["votes"]) == (8, 1)
