"""The limit a record is held against: least of the neighbours, never to its favour, and the box."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from tests.weather import made_record
from toolkit.errors import StudyError
from toolkit.findings import apply_limits, wind_limit
from toolkit.findings.operability import (
    NEVER,
    box_limits,
    invented_record,
    lessened,
    limit_at,
    limit_of_found,
    limit_of_results,
    limit_table,
    operability,
    workable_time,
)
from toolkit.findings.operability.limit import limit_dataset

KNOT = synthetic.KNOT


def test_between_two_bearings_the_lesser_limit_holds_and_on_one_its_own() -> None:
    limit = limit_table([0, 90, 180, 270], [4.0, 8.0, 6.0, 2.0])
    at = [0.0, 360.0, 45.0, 89.9, 90.0, 90.1, 180.0, 260.0, 270.0, 300.0, 359.99]
    np.testing.assert_array_equal(
        limit_at(limit, np.array(at)), [4.0, 4.0, 4.0, 4.0, 8.0, 6.0, 6.0, 2.0, 2.0, 2.0, 2.0]
    )


def test_bearings_go_round_and_small_limits_are_limits() -> None:
    limit = limit_table([0, 90, 180, 270], [4.0, 8.0, 6.0, 2.0])
    found = limit_at(limit, np.array([370.0, -10.0, 720.0, 360.0 - 1e-8, 450.0]))
    np.testing.assert_array_equal(found, [4.0, 2.0, 4.0, 4.0, 8.0])
    small = limit_table([0, 180], [0.5, 0.0])
    assert small["limit"].values.tolist() == [0.5, 0.0]
    assert (small.attrs["forecast_factor"], small.attrs["gust_factor"]) == (1.0, 1.0)


def test_a_missing_bearing_takes_the_least_of_all_and_a_wide_arc_is_not_known() -> None:
    limit = limit_table([200, 260, 230], [5.0, 3.0, 4.0])
    found = limit_at(limit, np.array([np.nan, 200.0, 215.0, 245.0, 260.0, 10.0, 150.0]))
    np.testing.assert_array_equal(found, [3.0, 5.0, 4.0, 3.0, 3.0, np.nan, np.nan])
    alone = limit_at(limit_table([120], [9.0]), np.array([120.0, 121.0, 300.0]))
    np.testing.assert_array_equal(alone, [9.0, np.nan, np.nan])
    record = made_record([1.0, 1.0, 0.0, 1.0], [230.0, 10.0, np.nan, np.nan])
    held = workable_time(record, limit)
    np.testing.assert_array_equal(held["workable"].sel(rule="joint"), [True, False, True, False])
    np.testing.assert_array_equal(held["beyond"], [False, True, False, True])


def test_a_missing_bearing_is_known_all_round_the_rose_and_not_with_an_arc_left_open() -> None:
    record = made_record([3.0, 5.0, 0.0], [np.nan] * 3)
    # four bearings 90 degrees apart leave no arc open: the least of all, 4 m/s, holds
    held = workable_time(record, limit_table([0, 90, 180, 270], [4.0, 8.0, 6.0, 7.0]))
    np.testing.assert_array_equal(held["workable"].sel(rule="joint"), [True, False, True])
    assert not held["beyond"].any()
    # one bearing, or an arc of 91 degrees: the wind may come from where nothing was run
    for bearings in ([120], [0, 90, 180, 269], [0, 91, 180, 270]):
        held = workable_time(record, limit_table(bearings, [9.0] * len(bearings)))
        np.testing.assert_array_equal(held["workable"].sel(rule="joint"), [False, False, True])
        np.testing.assert_array_equal(held["beyond"], [True, True, False])


def test_the_box_is_told_where_it_is_never_kept_or_once() -> None:
    limit = limit_table([0, 90, 180, 270], [4.0, 8.0, 6.0, 7.0])
    for speeds in ([9.0, 9.0], [9.0, 3.0]):
        assert workable_time(made_record(speeds, [0.0, 0.0]), limit).attrs["box_wind"] == 4.0


def test_no_wind_passes_where_the_limit_is_never() -> None:
    limit = limit_table([0, 90, 180, 270], [np.nan, 8.0, 6.0, 5.0])
    assert limit["limit"].values[0] == NEVER
    held = workable_time(made_record([0.0, 0.0, 4.0], [0.0, np.nan, 90.0]), limit)
    np.testing.assert_array_equal(held["workable"].sel(rule="joint"), [False, False, True])
    np.testing.assert_array_equal(held["workable"].sel(rule="box"), [False, False, False])
    assert not held["beyond"].any()


def test_a_wind_at_the_limit_keeps_it_up_to_rounding() -> None:
    limit = limit_table([0, 90, 180, 270], [20 * KNOT] * 4)
    held = workable_time(made_record([20 * KNOT * (1 + 1e-12), 20 * KNOT * 1.001], [0.0, 0.0]), limit)
    np.testing.assert_array_equal(held["workable"].sel(rule="joint"), [True, False])


def test_a_limit_on_wind_and_current_is_the_least_of_all_neighbours() -> None:
    field = xr.DataArray(
        [[[9.0, 7.0], [8.0, 6.0]], [[5.0, 5.5], [4.0, 3.0]]],
        dims=("current_speed", "current_to", "wind_from"),
        coords={"current_speed": [0.2, 0.6], "current_to": [90.0, 270.0], "wind_from": [0.0, 180.0]},
    )
    limit = limit_dataset(field.isel(wind_from=[0, 1, 0, 1]).assign_coords(wind_from=[0.0, 180.0, 90.0, 270.0]),
                          {"title": "made"})  # fmt: skip
    calls = {
        (0.0, 0.2, 90.0): 9.0,  # on the grid
        (0.0, 0.1, 90.0): 9.0,  # a current below the lowest run is held against that
        (0.0, 0.3, 90.0): 5.0,  # the lesser of two currents
        (45.0, 0.2, 90.0): 9.0,  # between two bearings
        (135.0, 0.2, 90.0): 7.0,
        (0.0, 0.2, np.nan): 8.0,  # a current without a bearing: the least
        (0.0, 0.7, 90.0): np.nan,  # above all that were run
        (0.0, np.nan, 90.0): np.nan,
    }
    for (wind, speed, to), expected in calls.items():
        got = limit_at(limit, np.array([wind]), np.array([speed]), np.array([to]))
        np.testing.assert_array_equal(got, [expected], err_msg=str((wind, speed, to)))
    # between currents running to 090 and to 270, 180 degrees apart, nothing is known
    assert np.isnan(limit_at(limit, np.array([0.0]), np.array([0.2]), np.array([0.0]))[0])
    assert box_limits(limit) == [(0.2, 6.0), (0.6, 3.0)]
    with pytest.raises(StudyError, match="the limit hangs on current_speed"):
        workable_time(made_record([1.0], [0.0]), limit)


def test_the_box_is_the_one_with_the_most_time_in_it() -> None:
    field = xr.DataArray(
        [[9.0] * 4, [3.0] * 4], dims=("current_speed", "wind_from"),
        coords={"current_speed": [0.2, 0.6], "wind_from": [0.0, 90.0, 180.0, 270.0]},
    )  # fmt: skip
    limit = limit_dataset(field, {"title": "made"})
    record = made_record([8.0, 8.0, 2.0, 2.0], [10.0] * 4, current_speed=[0.1, 0.2, 0.5, 0.7], current_to=[90.0] * 4)
    held = workable_time(record, limit)
    assert (held.attrs["box_wind"], held.attrs["box_current"]) == (9.0, 0.2)
    np.testing.assert_array_equal(held["workable"].sel(rule="box"), [True, True, False, False])
    np.testing.assert_array_equal(held["workable"].sel(rule="joint"), [True, True, True, False])
    np.testing.assert_array_equal(held["beyond"], [False, False, False, True])
    # a tenth more current than the box's is outside of it
    more = made_record([8.0, 8.0, 8.0], [10.0] * 3, current_speed=[0.1, 0.2, 0.22], current_to=[90.0] * 3)
    np.testing.assert_array_equal(workable_time(more, limit)["workable"].sel(rule="box"), [True, True, False])


def test_the_joint_limit_is_never_stricter_than_the_box() -> None:
    generator = np.random.default_rng(3)
    limit = limit_table(np.arange(0, 360, 30), generator.uniform(2, 12, 12))
    record = invented_record(1)
    held = workable_time(record, limit)
    assert (held["workable"].sel(rule="joint") | ~held["workable"].sel(rule="box")).all()
    assert held.attrs["box_wind"] == float(limit["limit"].min())


@pytest.mark.parametrize(
    ("bearings", "speeds", "words"),
    [
        ([0, 90], [1.0], "2 bearings and 1 limits"),
        ([], [], "0 bearings"),
        ([0, 400], [1.0, 2.0], "outside"),
        ([0, 360], [1.0, 2.0], "same value twice"),
        ([0, 90], [-1.0, 2.0], "below 0"),
        ([0, 90], [np.inf, 2.0], "no bound"),
    ],
)
def test_a_table_that_is_none_is_refused(bearings: list[float], speeds: list[float], words: str) -> None:
    with pytest.raises(StudyError, match=words):
        limit_table(bearings, speeds)


def test_forecast_and_gusts_lower_the_limit() -> None:
    limit = limit_table([0, 180], [10.0, np.nan])
    np.testing.assert_allclose(lessened(limit, forecast_factor=0.8)["limit"], [8.0, NEVER])
    ran = limit.assign_attrs(gust_factor=1.2)
    np.testing.assert_allclose(lessened(ran, gust_factor=1.5)["limit"][0], 8.0)
    np.testing.assert_allclose(lessened(ran)["limit"][0], 10.0)
    twice = lessened(lessened(limit, forecast_factor=0.8), forecast_factor=0.5)
    assert float(twice["limit"][0]) == pytest.approx(4.0) and twice.attrs["forecast_factor"] == pytest.approx(0.4)
    with pytest.raises(StudyError) as caught:
        lessened(limit, forecast_factor=1.2, gust_factor=3.0)
    assert "forecast_factor = 1.2" in str(caught.value) and "gust_factor = 3" in str(caught.value)


AXES = {
    "bollard_pull": np.array([8.0, 20.0]) * synthetic.TONNE_FORCE,
    "displacement": np.array([300e3, 800e3]),
    "wind_speed": np.array([0.0, 10.0, 20.0, 30.0]) * KNOT,
    "wind_from": np.arange(0.0, 360.0, 45.0),
    "manoeuvre": ["swing_pull", "swing_push"],
}


def test_the_limit_of_results_is_that_of_the_envelope_at_the_configuration() -> None:
    results = synthetic.results(AXES)[["outcome", *synthetic.LIMITS]]
    at = {"bollard_pull": "20 t", "displacement": "800 t", "manoeuvre": "swing_push"}
    limit = limit_of_results(results.chunk(), at)
    part = results.sel(displacement=800e3, manoeuvre="swing_push").isel(bollard_pull=1)
    found = wind_limit(apply_limits(part))
    expected = found["limit"].where(found["limit"].notnull(), NEVER)
    np.testing.assert_array_equal(limit["limit"], expected)
    np.testing.assert_array_equal(limit["open_ended"], found["status"] == 2)
    assert "32 of 32 cases run" in limit.attrs["rests_on"]
    assert limit.attrs["configuration"].startswith("bollard pull 20 t; ")
    again = limit_of_found(found.expand_dims(criterion=1), apply_limits(part), configuration="by a search")
    np.testing.assert_array_equal(again["limit"], limit["limit"])
    worst = limit_of_results(results, {"displacement": "800 t", "manoeuvre": "swing_push"}, worst_over=["bollard_pull"])
    assert (worst["limit"] <= limit["limit"]).all()
    assert "bollard pull: worst over 2 values" in worst.attrs["configuration"]


def test_what_was_not_run_is_neither_passed_nor_failed() -> None:
    axes = {"wind_speed": AXES["wind_speed"], "wind_from": AXES["wind_from"]}
    # nothing of the first direction, and of the second not the highest wind
    results = synthetic.results(axes, limits={}, not_run=[0, 8, 16, 24, 25])
    limit = limit_of_results(results)
    assert np.isnan(limit["limit"].values[0]) and limit["open_ended"].values[0]
    assert limit["limit"].values[1] == pytest.approx(20 * KNOT) and limit["open_ended"].values[1]
    held = workable_time(made_record([1.0, 1.0, 14.0], [0.0, 45.0, 45.0]), limit)
    np.testing.assert_array_equal(held["workable"].sel(rule="joint"), [False, True, False])
    np.testing.assert_array_equal(held["beyond"], [True, False, True])
    assert np.isnan(held.attrs["box_wind"])


def test_every_problem_of_a_selection_is_told_at_once() -> None:
    with pytest.raises(StudyError) as caught:
        limit_of_results(
            synthetic.results(AXES),
            {"bollard_pull": "9 t", "wind_from": "0 deg", "nonsense": 1, "displacement": "800 parsec"},
            worst_over=["line_length"],
        )
    told = str(caught.value)
    for words in ("wind_from cannot be chosen", "nonsense is not an input", "bollard_pull = 9 t is not on the grid",
                  "Use one of: 8 t, 20 t", "'parsec'", "no worst over line_length",
                  "manoeuvre is swept and not named. Choose one of swing_pull, swing_push"):  # fmt: skip
        assert words in told
    with pytest.raises(StudyError, match="wind_from is not swept"):
        limit_of_results(synthetic.results({"wind_speed": AXES["wind_speed"]}))


def test_the_current_of_a_record_is_used_where_it_was_swept() -> None:
    axes = {"wind_speed": AXES["wind_speed"], "wind_from": AXES["wind_from"], "current_speed": [0.0, 0.3]}
    results = synthetic.results(axes)
    with pytest.raises(StudyError, match="current_speed is swept and not named"):
        limit_of_results(results)
    limit = limit_of_results(results, with_current=True)
    assert set(limit["limit"].dims) == {"wind_from", "current_speed"}
    found = operability(invented_record(1, current=True), limit)
    assert float(found.availability["share_beyond"]) > 0.1  # currents above 0.3 m/s
    assert "The limit is read at the current of the record" in "\n".join(found.notes)
    fixed = limit_of_results(results, {"current_speed": "0 kn"})
    told = "\n".join(operability(invented_record(1, current=True), fixed).notes)
    assert "The current of the record is not used: the runs have a current of 0 kn" in told


def test_gusts_are_allowed_for_once() -> None:
    record = invented_record(1)
    axes = {"wind_speed": AXES["wind_speed"], "wind_from": AXES["wind_from"]}
    steady = limit_of_results(synthetic.results(axes))
    by_record = operability(record, steady)
    assert by_record.limit["limit"].max() == pytest.approx(float(steady["limit"].max()) / 1.35)
    assert "times 1 / 1.35" in by_record.notes[0]
    gusty = limit_of_results(synthetic.results(axes, gust_intensity=1.0))
    in_runs = operability(record, gusty)
    np.testing.assert_array_equal(in_runs.limit["limit"], gusty["limit"])
    assert "Gusts are in the runs" in in_runs.notes[0]
    table = operability(record, limit_table([0, 90, 180, 270], [9.0] * 4))
    assert float(table.limit["limit"].max()) == 9.0
    assert "only if they are in it" in table.notes[0]
    unstated = record.copy()
    del unstated.attrs["gust_factor"]
    assert "No gust factor is stated" in operability(unstated, steady).notes[0]
