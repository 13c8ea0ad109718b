"""What fails, what the tug does then, and the line let go."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import xarray as xr

import toolkit
from tests.one_case import REFERENCE, TONNE_FORCE
from toolkit.loads.heel import beyond_deck_edge, righting_lever
from toolkit.quantities import INPUTS

PULL = {**REFERENCE, "manoeuvre": "swing_pull", "tug_type": "tractor", "bollard_pull": 45 * TONNE_FORCE}
FAILURES = INPUTS["failure"].choices


@pytest.fixture(scope="module")
def failed() -> xr.Dataset:
    return toolkit.evaluate(
        {**PULL, "line_length": 25.0, "failure": list(FAILURES), "failure_time": 90.0, "watch_time": 120.0,
         "wind_speed": 8.0, "wind_from": 250.0, "standby_pull": 30 * TONNE_FORCE}
    )  # fmt: skip


def value(found: xr.Dataset, name: str, failure: str) -> Any:
    return found[name].values[FAILURES.index(failure)]


def test_nothing_fails_unless_asked(failed: xr.Dataset) -> None:
    for name in ("failed_at", "drift_after_failure", "recovered", "standby_demand", "peak_heel_after_failure"):
        assert np.isnan(value(failed, name, "none")), name
    there = [word for word in FAILURES if word not in ("none", "fender_slips")]  # a pull has no fender to slip
    assert all(value(failed, "failed_at", word) == 90.0 for word in there)


def test_until_it_fails_the_case_is_the_same() -> None:
    cases = {**PULL, "failure": ["none", "black_out"], "failure_time": 60.0, "time_limit": 100.0}
    found = toolkit.evaluate(cases)
    one, other = (toolkit.history(found, case=i) for i in range(2))
    before = one["time"].values < 60.0
    for name in ("barge_heading", "line_tension", "thrust_port", "tug_heel"):
        assert np.array_equal(one[name].values[before], other[name].values[before]), name
    late = other["time"].values > 75.0
    assert other["thrust_port"].values[late].max() < 0.02 * one["thrust_port"].values.max()


def test_a_black_out_ends_with_the_restart() -> None:
    found = toolkit.evaluate({**PULL, "failure": "black_out", "failure_time": 60.0, "restart_time": 40.0})
    history = toolkit.history(found, case=0)
    time, thrust = history["time"].values, history["thrust_starboard"].values
    assert thrust[(time > 80.0) & (time < 100.0)].max() < 1e3
    assert thrust[time > 101.0].max() > 1e4


@pytest.mark.parametrize(("failure", "dead", "alive"), [
    ("starboard_drive_lost", "thrust_starboard", "thrust_port"),
    ("port_drive_lost", "thrust_port", "thrust_starboard"),
])  # fmt: skip
def test_one_drive_is_lost_and_the_other_works_on(failed: xr.Dataset, failure: str, dead: str, alive: str) -> None:
    history = toolkit.history(failed, case=FAILURES.index(failure))
    late = history["time"].values > 105.0
    assert history[dead].values[late].max() < 1e3
    assert history[alive].values[late].max() > 1e4


def test_a_stuck_drive_keeps_its_direction(failed: xr.Dataset) -> None:
    history = toolkit.history(failed, case=FAILURES.index("drive_stuck"))
    late = history["time"].values > 95.0
    assert np.ptp(history["azimuth_starboard"].values[late]) < 1e-6
    assert np.ptp(history["azimuth_port"].values[late]) > 1.0


def test_a_parted_line_pulls_no_more_and_is_watched(failed: xr.Dataset) -> None:
    assert value(failed, "outcome", "line_parts") == 6
    assert value(failed, "end_time", "line_parts") == pytest.approx(90.0 + 120.0)
    history = toolkit.history(failed, case=FAILURES.index("line_parts"))
    assert (history["line_tension"].values[history["time"].values > 90.5] == 0.0).all()
    assert value(failed, "drift_after_failure", "line_parts") > 1.0
    assert value(failed, "recovered", "line_parts") == 0.0


def test_standby_demand_is_the_static_load_broadside(failed: xr.Dataset) -> None:
    # no current: wind on the beam of the barge alone
    demand = value(failed, "standby_demand", "black_out")
    static = value(failed, "static_wind_demand", "black_out") * 45 * TONNE_FORCE / 1.25
    # less than by the static rule, which takes the wind at 10 m and a coefficient of 1 for a hull 1 m high
    assert 0.25 * static < demand < 0.6 * static
    assert value(failed, "standby_holds", "black_out") == 1.0


def test_the_line_is_let_go_after_recognition_and_release_time() -> None:
    across = {**PULL, "tug_attitude": "athwartships", "line_length": 25.0, "watch_time": 60.0}
    heel = toolkit.evaluate(across)["peak_heel_fraction"].item()
    share = 0.5 * heel
    found = toolkit.evaluate(
        {**across, "release_heel_fraction": share, "recognition_time": 4.0, "release_time": [3.0, 10.0]}
    )
    history = toolkit.history(found, case=0)
    edge = history.attrs["deck_edge_angle"]
    first = history["time"].values[np.argmax(np.abs(history["tug_heel"].values) >= share * edge)]
    assert found["released_at"].values[0] == pytest.approx(first + 7.0, abs=0.51)
    assert found["released_at"].values[1] - found["released_at"].values[0] == pytest.approx(7.0, abs=0.51)
    assert (found["outcome"].values == 11).all()
    assert (history["line_tension"].values[history["time"].values > found["released_at"].values[0] + 0.5] == 0.0).all()


def test_a_full_curve_is_smooth_at_the_edge_and_vanishes_where_it_should() -> None:
    gm, bm, edge = 1.5, 2.0, 0.21
    around = [righting_lever(edge + x, gm, bm) for x in (-1e-6, 0.0, 1e-6)]
    slope = (around[2] - around[0]) / 2e-6
    curve = (edge, around[1], slope, 0.5, 0.55, 1.1)
    assert beyond_deck_edge(edge, *curve) == pytest.approx(around[1])
    assert beyond_deck_edge(edge + 1e-6, *curve) == pytest.approx(around[2], abs=1e-9)
    assert beyond_deck_edge(0.55, *curve) == pytest.approx(0.5)
    assert beyond_deck_edge(1.1, *curve) == pytest.approx(0.0, abs=1e-12)
    assert beyond_deck_edge(-0.8, *curve) == -beyond_deck_edge(0.8, *curve) < 0.0
    assert beyond_deck_edge(1.2, *curve) < 0.0


def test_what_is_not_there_cannot_fail() -> None:
    push = {
        **REFERENCE,
        "manoeuvre": ["swing_push", "swing_pull"],
        "bollard_pull": 45 * TONNE_FORCE,
        "line_length": 25.0,
    }
    sound = toolkit.evaluate(push)
    parted = toolkit.evaluate({**push, "failure": ["line_parts", "fender_slips"], "failure_time": 30.0})
    assert np.isnan(parted["failed_at"].values).all()
    for name in ("time_to_turn", "peak_heel"):
        assert np.array_equal(parted[name].values, sound[name].values), name


def test_a_barge_that_drifts_onto_the_berth_by_herself_is_no_recovery() -> None:
    # wind from the tug's side, both drives out for good: she comes to the berth, and nobody brought her there
    found = toolkit.evaluate(
        {**REFERENCE, "manoeuvre": "side_push", "bollard_pull": 30 * TONNE_FORCE, "failure": "black_out",
         "failure_time": 60.0, "restart_time": 3600.0, "wind_speed": 10.0, "wind_from": 270.0}
    )  # fmt: skip
    assert found["outcome"].item() == 1
    assert found["recovered"].item() == 0.0
