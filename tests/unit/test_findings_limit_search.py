"""Limits searched for on a model whose limits are known, boxes against curves, shares of draws, and the card."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from tests import synthetic
from toolkit.errors import StudyError
from toolkit.findings import (
    EnvelopeStatus,
    apply_limits,
    box_against_joint,
    by_sectors,
    find_limit,
    go_card,
    operational_limit,
    passing_share,
    proportion_interval,
    wind_limit,
    worst_direction,
)
from toolkit.findings.base_case import base_case, spread_values
from toolkit.findings.limit_search import ALL_LIMITS, NO_LIMIT
from toolkit.findings.limit_tables import box_table, direction_table, draws_table
from toolkit.findings.limits import BINDING_MEANINGS
from toolkit.findings.proportions import shares_of_scan
from toolkit.findings.sensitivity.factors import factors_of
from toolkit.findings.tables import wind_limit_table
from toolkit.study import parse_study

TOP = 15.0
LIMITS = {"peak_heel_fraction": 0.5, "time_to_steady": 600.0}


def heel_limit(wind_from: Any, displacement: Any, draw: Any = 0) -> Any:
    """Wind at which the heel limit is reached."""
    return 8.0 + 3.0 * np.cos(np.deg2rad(wind_from)) + displacement / 1e6 + 0.5 * draw


def model(table: Mapping[str, Any], *, gap: tuple[float, float] | None = None) -> xr.Dataset:
    """Outcomes by formulas: the heel limit by direction, the time limit at 12 m/s, lost station beyond 14 m/s."""
    wind = np.asarray(table["wind_speed"], dtype=float)
    columns = {k: np.asarray(v) if np.ndim(v) else np.full(wind.shape, v) for k, v in table.items()}
    at = heel_limit(columns["wind_from"], columns.get("displacement", 0.0), columns.get("draw", 0.0))
    heel = 0.5 * wind / at
    if gap:
        heel = np.where((wind >= gap[0]) & (wind < gap[1]), 0.9, heel)
    code = np.where(wind > 14.0, 7, 1).astype(np.int8)
    data = {"outcome": code, "peak_heel_fraction": heel, "time_to_steady": 50.0 * wind}
    coords = {name: ("case", values) for name, values in columns.items()}
    return xr.Dataset({k: ("case", v) for k, v in data.items()}, coords=coords, attrs=synthetic.attributes(LIMITS))


def test_all_curves_are_found_to_the_resolution_in_one_table_a_round() -> None:
    tables = []

    def counted(table: Mapping[str, Any]) -> xr.Dataset:
        tables.append(len(table["wind_speed"]))
        return model(table)

    cases = {"bollard_pull": 3e5, "wind_from": np.arange(0.0, 360.0, 30.0), "displacement": [3e5, 9e5]}
    search = find_limit(counted, cases, "wind_speed", 0.0, TOP, LIMITS, steps=10, resolution=0.05)
    found = search.found
    truth = np.minimum(heel_limit(found["wind_from"], found["displacement"]), 12.0)
    assert ((truth - found["limit"]) >= -1e-12).all() and ((truth - found["limit"]) <= 0.05).all()
    assert (found["first_failing"] > truth).all() and not found["not_monotone"].any()
    assert (found["status"] == int(EnvelopeStatus.limited)).all()
    by = np.vectorize(lambda code: BINDING_MEANINGS[int(code)])(found["limited_by"].values)
    assert set(by.ravel()) == {"peak_heel_fraction"}
    assert tables[0] == 11 * 24 and len(tables) == 1 + found.attrs["rounds"] == 6
    assert search.judged.sizes["case"] == found.attrs["evaluated_count"] == sum(tables)
    assert search.dataset["bollard_pull"].ndim == 0
    assert "halved down to" in " ".join(wind_limit_table(found, search.judged).notes)


def test_each_limit_alone_and_all_together() -> None:
    cases = {"wind_from": [0.0, 180.0], "displacement": 1e6}
    found = find_limit(model, cases, "wind_speed", 0.0, TOP, LIMITS, resolution=0.01, each=True).found["limit"]
    np.testing.assert_allclose(found.sel(criterion="peak_heel_fraction"), [12.0, 6.0], atol=0.011)
    np.testing.assert_allclose(found.sel(criterion="time_to_steady"), [12.0, 12.0], atol=0.011)
    np.testing.assert_allclose(found.sel(criterion=NO_LIMIT), [14.0, 14.0], atol=0.011)
    together = found.sel(criterion=ALL_LIMITS)
    np.testing.assert_allclose(together, found.min("criterion"), atol=1e-12)


def test_from_every_direction_and_with_draws() -> None:
    cases = {"wind_from": [0.0, 90.0, 180.0], "displacement": 1e6, "draw": [0, 1, 2, 3]}
    every = find_limit(model, cases, "wind_speed", 0.0, TOP, LIMITS, over=("wind_from", "draw"), resolution=0.01)
    assert float(every.found["limit"]) == pytest.approx(6.0, abs=0.011)
    half = find_limit(
        model,
        cases,
        "wind_speed",
        0.0,
        TOP,
        LIMITS,
        over=["wind_from"],
        draws="draw",
        share=0.5,
        steps=15,
        resolution=0.01,
    )
    assert float(half.found["limit"]) == pytest.approx(7.0, abs=0.011)  # of limits 6, 6.5, 7, 7.5 half are 7 or more
    shares = shares_of_scan(half.found, 4)
    np.testing.assert_allclose(shares["share"].sel(wind_speed=[6.0, 7.0, 8.0]), [1.0, 0.5, 0.0])
    assert shares["passing_count"].sel(wind_speed=[6.0, 7.0, 8.0]).values.tolist() == [4, 2, 0]
    assert (shares["run_count"] == 4).all()
    table = draws_table(shares, half.found, half.judged)
    assert {len(row) for row in table.rows} == {len(table.header)} and len(table.rows) == 16


def test_the_bracket_is_halved_to_a_sixteenth_of_a_step_unless_told() -> None:
    cases = {"wind_from": [0.0], "displacement": 1e6}
    found = find_limit(model, cases, "wind_speed", 4.0, 14.0, LIMITS, steps=5).found
    assert (found.attrs["scan_step"], found.attrs["resolution"], found.attrs["rounds"]) == (2.0, 0.125, 4)
    assert (found["first_failing"] - found["limit"]).item() == pytest.approx(0.125)
    assert (found.attrs["draws"], found.attrs["draw_count"]) == ("", 0)


def test_curves_by_a_choice_and_by_an_axis_of_ones_own() -> None:
    cases = {"wind_from": 180.0, "displacement": 1e6, "manoeuvre": ["swing_pull", "swing_push"], "draw": [0, 2]}
    found = find_limit(model, cases, "wind_speed", 0.0, TOP, LIMITS, resolution=0.01).found
    assert found["manoeuvre"].values.tolist() == ["swing_pull", "swing_push"]
    np.testing.assert_allclose(found["limit"].sel(draw=[0, 2]), [[6.0, 7.0]] * 2, atol=0.011)


def test_never_throughout_and_again() -> None:
    cases = {"wind_from": [0.0], "displacement": 1e6}
    never = find_limit(model, cases, "wind_speed", 14.5, TOP, LIMITS).found
    assert int(never["status"].item()) == EnvelopeStatus.never_passes and np.isnan(never["limit"].item())
    assert BINDING_MEANINGS[int(never["limited_by"].item())] == "lost_station"
    throughout = find_limit(model, cases, "wind_speed", 0.0, 5.0, LIMITS).found
    assert int(throughout["status"].item()) == EnvelopeStatus.passes_throughout
    assert float(throughout["limit"].item()) == 5.0 and np.isnan(throughout["first_failing"].item())
    again = find_limit(
        lambda table: model(table, gap=(3.0, 5.0)), cases, "wind_speed", 0.0, 10.0, LIMITS, steps=10, resolution=0.01
    ).found
    assert bool(again["not_monotone"].item()) and float(again["limit"].item()) == pytest.approx(3.0, abs=0.011)


def test_what_cannot_be_searched_is_said_at_once() -> None:
    with pytest.raises(StudyError) as error:
        find_limit(
            model, {"wind_speed": 3.0, "wind_from": []}, "wind_speed", 5.0, 1.0, over=("draw",), share=2.0, steps=0,
            resolution=-1.0,
        )  # fmt: skip
    assert len(error.value.problems) == 7
    with pytest.raises(StudyError, match="manoeuvre is a choice"):
        find_limit(model, {}, "manoeuvre", 0.0, 1.0)


@settings(max_examples=20)
@given(st.lists(st.floats(0.6, 14.4), min_size=1, max_size=5), st.sampled_from([0.02, 0.3]))
def test_the_limit_is_below_the_truth_and_within_the_resolution(truths: list[float], resolution: float) -> None:
    def known(table: Mapping[str, Any]) -> xr.Dataset:
        at = np.array([truths[int(place)] for place in table["wind_from"]])
        code = np.where(np.asarray(table["wind_speed"]) <= at, 1, 2).astype(np.int8)
        return xr.Dataset(
            {"outcome": ("case", code)}, coords={"wind_from": ("case", np.array(table["wind_from"], float))}
        )

    cases = {"wind_from": list(map(float, range(len(truths))))}
    found = find_limit(known, cases, "wind_speed", 0.0, TOP, steps=7, resolution=resolution).found
    apart = np.array(truths) - found["limit"].values
    assert (apart >= 0.0).all() and (apart <= resolution * (1 + 1e-9)).all()


def curve(limits: list[float], currents: list[float], *, throughout: bool = False) -> xr.Dataset:
    status = np.where(np.isnan(limits), 0, 2 if throughout else 1)
    return xr.Dataset(
        {"limit": ("current_speed", limits, {"units": "m s-1"}), "status": ("current_speed", status)},
        coords={"current_speed": ("current_speed", currents, {"units": "m s-1"})},
        attrs={"axis": "wind_speed", **synthetic.attributes({})},
    )


def test_box_of_single_limits_against_the_joint_one() -> None:
    boxes = box_against_joint(curve([10.0, 8.0, 4.0, np.nan], [0.0, 0.25, 0.5, 0.75]))
    assert (float(boxes["single_limit"]), float(boxes["single_along"])) == (10.0, 0.5)
    # joint area: 8 x 0.25 + 4 x 0.25 = 3 of a box of 5; the largest box that holds is 8 x 0.25 or 4 x 0.5, both 2
    assert float(boxes["promised_too_much"]) == pytest.approx(0.4)
    assert float(boxes["given_away"]) == pytest.approx(1 / 3)
    assert bool(boxes["at_end"]) is False
    rising = box_against_joint(curve([4.0, 8.0, 10.0], [0.0, 0.25, 0.5]))
    np.testing.assert_allclose(rising["joint"], [4.0, 4.0, 4.0])
    assert float(rising["promised_too_much"]) == float(rising["given_away"]) == 0.0 and bool(rising["at_end"])
    nothing = box_against_joint(curve([np.nan, 5.0], [0.0, 0.5]))
    assert np.isnan([float(nothing[n]) for n in ("single_limit", "safe_limit", "given_away")]).all()
    table = box_table(boxes, apply_limits(synthetic.results({"wind_speed": [0.0, 5.0]})))
    assert table.rows[0][4] == pytest.approx(40.0)
    with pytest.raises(StudyError, match="no axis of two numbers"):
        box_against_joint(curve([1.0], [0.0]))


def test_boxes_count_from_the_lowest_of_both_axes() -> None:
    # above 2 m/s and 0.25 m/s: a box of 8 x 0.5, of which 6 x 0.25 + 2 x 0.25 hold; the largest box has 6 x 0.25
    boxes = box_against_joint(curve([10.0, 8.0, 4.0, np.nan], [0.25, 0.5, 0.75, 1.0]), low=2.0)
    assert (float(boxes["safe_limit"]), float(boxes["safe_along"])) == (8.0, 0.5)
    assert float(boxes["promised_too_much"]) == pytest.approx(0.5)
    assert float(boxes["given_away"]) == pytest.approx(0.25)
    # shares are the same in small numbers
    small = box_against_joint(curve([1.0, 0.8, 0.4, np.nan], [0.0, 0.25, 0.5, 0.75]))
    assert float(small["promised_too_much"]) == pytest.approx(0.4)
    assert float(small["given_away"]) == pytest.approx(1 / 3)


def test_a_limit_that_passed_throughout_is_the_end_of_what_was_run() -> None:
    for throughout in (False, True):
        boxes = box_against_joint(curve([10.0, 8.0, np.nan], [0.0, 0.25, 0.5], throughout=throughout))
        assert bool(boxes["at_end"]) is throughout


@settings(max_examples=30)
@given(st.lists(st.one_of(st.floats(0.0, 20.0), st.just(np.nan)), min_size=2, max_size=6))
def test_boxes_hold_and_shares_are_shares(limits: list[float]) -> None:
    boxes = box_against_joint(curve(limits, [0.1 * i for i in range(len(limits))]))
    joint = boxes["joint"].values
    assert (np.diff(joint[np.isfinite(joint)]) <= 0).all()
    safe, along = float(boxes["safe_limit"]), float(boxes["safe_along"])
    if np.isfinite(safe):
        inside = boxes["current_speed"].values <= along + 1e-12
        assert (np.array(limits)[inside] >= safe).all()
    for name in ("promised_too_much", "given_away"):
        assert np.isnan(float(boxes[name])) or -1e-12 <= float(boxes[name]) <= 1.0


def test_one_limit_for_all_directions_and_sectors() -> None:
    judged = apply_limits(synthetic.results(synthetic.default_axes(2)))
    found = wind_limit(judged.isel(bollard_pull=1))
    single = worst_direction(found)
    expected = found["limit"].fillna(-1.0).min("wind_from")
    np.testing.assert_allclose(single["single_limit"].fillna(-1.0), expected)
    assert {len(row) for row in direction_table(single, judged).rows} == {5}
    sectors = by_sectors(found, 4)
    assert sectors["wind_from"].values.tolist() == [0.0, 90.0, 180.0, 270.0]
    for middle in (0.0, 90.0):
        near = found["limit"].sel(wind_from=[(middle - 45) % 360, middle, middle + 45]).fillna(-1.0).min("wind_from")
        np.testing.assert_allclose(sectors["limit"].sel(wind_from=middle).fillna(-1.0), near)
    finer = by_sectors(found, 16)["limit"].fillna(-1.0)  # 22.5 degrees were not run: the worse of both neighbours
    both = found["limit"].sel(wind_from=[0.0, 45.0]).fillna(-1.0).min("wind_from")
    np.testing.assert_allclose(finer.sel(wind_from=22.5), both)


def rose(*limits: float) -> xr.Dataset:
    """Wind limits from directions evenly round."""
    bearings = np.arange(len(limits)) * 360.0 / len(limits)
    return xr.Dataset({"limit": ("wind_from", np.array(limits))}, {"wind_from": bearings}, {"axis": "wind_speed"})


def test_one_limit_for_all_directions_by_hand() -> None:
    single = worst_direction(rose(10.0, 8.0, 4.0, 6.0))
    told = [float(single[name]) for name in ("single_limit", "worst_from", "mean_limit", "given_away")]
    assert told == pytest.approx([4.0, 180.0, 7.0, 1.0 - 4.0 / 7.0])
    small = worst_direction(rose(0.5, 0.25))
    assert (float(small["mean_limit"]), float(small["given_away"])) == pytest.approx((0.375, 1 / 3))
    never = worst_direction(rose(10.0, 8.0, np.nan, 6.0))  # from the south never: nothing holds from everywhere
    assert np.isnan(never["single_limit"]) and float(never["worst_from"]) == 180.0
    assert (float(never["mean_limit"]), float(never["given_away"])) == (6.0, 1.0)
    assert np.isnan(worst_direction(rose(np.nan, np.nan))["given_away"])


@pytest.mark.parametrize(
    ("count", "lowest"),
    [
        (1, [1.0]),
        (3, [1.0, 4.0, 2.0]),  # of 60 degrees either side: 315 to 045, 090 to 180, 180 and more to 300
        (4, [1.0, 5.0, 3.0, 1.0]),  # edges belong to both
        (8, [8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0]),
        (16, [8.0, 7.0, 7.0, 6.0, 6.0, 5.0, 5.0, 4.0, 4.0, 3.0, 3.0, 2.0, 2.0, 1.0, 1.0, 1.0]),
    ],
)
def test_sectors_by_hand(count: int, lowest: list[float]) -> None:
    found = rose(8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0)
    sectors = by_sectors(found, count)
    assert sectors["limit"].values.tolist() == lowest
    np.testing.assert_allclose(sectors["wind_from"], np.arange(count) * 360.0 / count)


def test_a_sector_from_which_it_never_goes_has_no_limit() -> None:
    sectors = by_sectors(rose(8.0, 7.0, np.nan, 5.0, 4.0, 3.0, 2.0, 1.0), 4)
    np.testing.assert_array_equal(sectors["limit"], [1.0, np.nan, 3.0, 1.0])
    assert by_sectors(rose(8.0, 7.0, 6.0), 72).sizes["wind_from"] == 72
    for count in (0, 73):
        with pytest.raises(StudyError, match="outside"):
            by_sectors(rose(8.0, 7.0), count)


@pytest.mark.parametrize(("method", "name"), [("wilson", "wilson"), ("clopper_pearson", "exact")])
@pytest.mark.parametrize("confidence", [0.8, 0.95])
def test_intervals_agree_with_scipy(method: Any, name: str, confidence: float) -> None:
    count = np.array([1, 5, 20, 20, 20, 20, 200])
    passing = np.array([1, 0, 20, 19, 13, 1, 181])
    low, high = proportion_interval(passing, count, confidence=confidence, method=method)
    for place, (k, n) in enumerate(zip(passing, count, strict=True)):
        expected = stats.binomtest(int(k), int(n)).proportion_ci(confidence, method=name)
        np.testing.assert_allclose([low[place], high[place]], [expected.low, expected.high], atol=1e-12)
    assert np.isnan(proportion_interval(0, 0)).all()
    with pytest.raises(StudyError, match="confidence"):
        proportion_interval(1, 2, confidence=1.0)


def test_share_of_draws_counts_draws_that_pass_from_every_direction() -> None:
    codes = np.ones((2, 3, 4), np.int8)
    codes[0, 1, 0] = codes[0, 2, 1] = 4  # at the first wind, two of four draws fail from some direction
    codes[1, :, 3] = 0  # at the second, one draw was not run
    axes = {"wind_speed": [0.0, 5.0], "wind_from": [0.0, 120.0, 240.0], "draw": [1, 2, 3, 4]}
    judged = apply_limits(xr.Dataset({"outcome": (tuple(axes), codes)}, coords=axes), {})
    found = passing_share(judged, over=["wind_from"])
    np.testing.assert_allclose(found["share"], [0.5, 1.0])
    assert found["run_count"].values.tolist() == [4, 3]
    low, high = proportion_interval([2, 3], [4, 3])
    np.testing.assert_allclose([found["share_low"], found["share_high"]], [low, high])
    alone = passing_share(judged.isel(draw=[0]), over=["wind_from"])
    np.testing.assert_allclose(alone["share"], [0.0, 1.0])
    for name, end in (("share_low", "lower"), ("share_high", "upper")):
        assert found[name].attrs["long_name"] == f"{end} end of its 95 % interval"
    lazy = passing_share(judged.chunk(), over=["wind_from"])
    np.testing.assert_allclose(lazy["share_low"], found["share_low"])
    with pytest.raises(StudyError, match="draw is not swept"):
        passing_share(judged.isel(draw=0))


def test_forecast_allowance_and_card_round_down_and_say_all() -> None:
    limit = np.array([20.0, 10.0, np.nan, 30.0]) * synthetic.KNOT
    status = np.array([1, 1, 0, 2])
    found = xr.Dataset(
        {
            "limit": ("wind_from", limit, {"units": "m s-1"}),
            "status": ("wind_from", status),
            "limited_by": ("wind_from", [1, 107, 107, 0]),
            "not_monotone": ("wind_from", [False, True, False, False]),
        },
        coords={"wind_from": [0.0, 90.0, 180.0, 270.0]},
        attrs={"axis": "wind_speed", "resolution": 0.1, "scan_step": 1.0},
    )
    lowered = operational_limit(found, forecast_factor=0.77, caution_factor=0.8)
    np.testing.assert_allclose(lowered["operational"], limit * 0.77)
    judged = apply_limits(synthetic.results({"wind_speed": [0.0, 5.0]}))
    card = go_card(lowered, judged, title="Marrowby Basin")
    assert card.no_go == (15.0, 7.0, -1.0, 23.0) and card.go == (12.0, 6.0, -1.0, 18.0)
    assert card.words(0) == ("to 12", "above 12 to 15", "above 15") and card.words(2) == ("-", "-", "always")
    assert card.marks == ("heel", "lost station, passes again above", "lost station", "end of what was run")
    text = card.to_markdown()
    for told in ("Break off", "Girting", "Snap-back", "0.77 times the limit", "Review date: ___", "| 090 deg | to 6 |"):
        assert told in text, told
    with pytest.raises(StudyError) as error:
        operational_limit(found, forecast_factor=1.2, caution_factor=0.0)
    assert len(error.value.problems) == 2
    with pytest.raises(StudyError, match=r"caution factor = 1.1 is outside"):
        operational_limit(found, caution_factor=1.1)
    operational_limit(found, forecast_factor=1e-3, caution_factor=1e-3)


def test_a_card_keeps_whole_knots_and_names_its_draws() -> None:
    found = xr.Dataset(
        {
            "limit": ("wind_from", np.array([20.0, 0.9, 30.0]) * synthetic.KNOT, {"units": "m s-1"}),
            "status": ("wind_from", [1, 1, 1]),
            "limited_by": ("wind_from", [1, 1, 1]),
            "not_monotone": ("wind_from", [False] * 3),
        },
        coords={"wind_from": [0.0, 120.0, 240.0]},
        attrs={"axis": "wind_speed", "resolution": 0.1, "scan_step": 1.0},
    )
    judged = apply_limits(synthetic.results({"wind_speed": [0.0, 5.0]}))
    card = go_card(operational_limit(found, forecast_factor=1.0, caution_factor=1.0), judged, title="Marrowby Basin")
    assert card.no_go == card.go == (20.0, 0.0, 30.0)
    assert card.words(1) == ("to 0", "-", "above 0")  # less than a knot is not never
    text = card.to_markdown()
    assert "ten-minute mean at 10 m height" in text and "draws of gusts" not in text
    found = found.assign_attrs(draw_count=20, share=0.9)
    text = go_card(operational_limit(found), judged, title="Marrowby Basin").to_markdown()
    assert "Each limit holds in at least 90 % of 20 draws of gusts and crew." in text


def test_base_case_takes_one_value_of_all_that_is_swept() -> None:
    study = parse_study(
        '[tug]\nbollard_pull = ["10 t", "20 t", "30 t", "40 t"]\n[barge]\ndisplacement = ["300 t", "900 t"]\n'
        '[environment]\nwind_speed = ["5 kn", "10 kn"]\n[manoeuvre]\nmanoeuvre = ["swing_pull", "swing_push"]\n'
    )
    base = base_case(study, {"displacement": "454 t"})
    assert base.inputs["bollard_pull"] == pytest.approx(20 * synthetic.TONNE_FORCE)
    assert base.inputs["displacement"] == pytest.approx(454e3) and "basin_radius" not in base.inputs
    assert base.inputs["wind_speed"] == pytest.approx(5 * synthetic.KNOT)
    assert [base.words(n) for n in range(2)] == ["swing pull", "swing push"]
    assert any("bollard pull 20 t (middle of 4)" in note for note in base.notes)
    assert spread_values(study, "displacement", 6) == (300e3, 900e3)
    assert spread_values(study, "water_depth", 3) == (15.0,)
    with pytest.raises(StudyError) as error:
        base_case(study, {"speed": "1 kn", "wind_speed": "fast"})
    assert len(error.value.problems) == 2


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[[leg]]\nmanoeuvre = "tow_ahead"\n[[leg]]\nmanoeuvre = "check_way"\n', "2 times, a job"),
        ('[basin]\nedge = [["-60 m", "-60 m"], ["-60 m", "60 m"], ["60 m", "60 m"], ["60 m", "-60 m"]]\n', "edges"),
    ],
)
def test_what_no_row_of_a_table_can_hold_is_refused_not_left_out(text: str, told: str) -> None:
    study = parse_study(f'[environment]\nwind_speed = ["5 kn", "10 kn"]\n{text}')
    for refused in (lambda: base_case(study), lambda: factors_of(study, coefficients=False)):
        with pytest.raises(StudyError) as error:
            refused()
        (problem,) = error.value.problems
        assert told in problem.what and "towage envelope" in problem.remedy


def test_limits_that_hang_on_the_manoeuvre_and_the_basin_are_judged_with_them() -> None:
    def pushed(table: Mapping[str, Any]) -> xr.Dataset:
        wind = np.asarray(table["wind_speed"], float)
        data = {"outcome": np.ones(wind.size, np.int8), "room_to_edge": 60.0 - 4.0 * wind}
        coords = {k: ("case", np.broadcast_to(np.asarray(v), wind.shape)) for k, v in table.items()}
        return xr.Dataset({k: ("case", v) for k, v in data.items()}, coords=coords)

    cases = {"basin_radius": 110.0, "manoeuvre": "swing_push"}
    search = find_limit(pushed, cases, "wind_speed", 0.0, TOP, {"room_to_edge": 10.0}, resolution=0.01)
    assert float(search.found["limit"]) == pytest.approx(12.5, abs=0.011)
    assert BINDING_MEANINGS[int(search.found["limited_by"])] == "room_to_edge"
    assert search.dataset["manoeuvre"].item() == "swing_push" and "manoeuvre" not in search.judged.coords
