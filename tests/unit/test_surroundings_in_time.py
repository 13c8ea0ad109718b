"""Gusts, fronts, shear and tide through the whole engine, and the ways of making fast."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import toolkit
from tests.one_case import REFERENCE, TONNE_FORCE
from toolkit.particulars import gust_harmonics

SWING = {**REFERENCE, "manoeuvre": "swing_push", "bollard_pull": 45 * TONNE_FORCE, "wind_speed": 9.0, "wind_from": 70.0}


def history_of(**values: Any) -> Any:
    return toolkit.history(toolkit.evaluate({**SWING, "time_limit": 300.0, **values}), case=0)


def test_the_wind_of_a_case_is_the_sum_of_its_harmonics() -> None:
    history = history_of(gust_intensity=1.2, draw=3.0, draw_seed=11.0)
    amplitude, frequency, phase = (part[0] for part in gust_harmonics(9.0, 11, 3, 1.2))
    time = history["time"].values[:, np.newaxis]
    wanted = 1.0 + np.sum(amplitude * np.cos(2.0 * np.pi * frequency * time + phase), axis=1)
    assert np.std(wanted) > 0.05
    np.testing.assert_allclose(history["gust"].values, wanted, atol=1e-9)


def test_the_same_draw_meets_the_same_gusts_whatever_else_differs_and_another_does_not() -> None:
    one = history_of(gust_intensity=1.0, draw=3.0)["gust"].values
    unlike = {"bollard_pull": 30 * TONNE_FORCE, "manoeuvre": "swing_pull"}
    same = history_of(gust_intensity=1.0, draw=3.0, **unlike)["gust"].values
    other = history_of(gust_intensity=1.0, draw=4.0)["gust"].values
    n = min(len(one), len(same), len(other))
    assert np.array_equal(one[:n], same[:n])
    assert np.abs(one[:n] - other[:n]).max() > 0.05
    assert (history_of()["gust"].values == 1.0).all()


def test_a_front_comes_at_its_time_and_stays() -> None:
    history = history_of(front_factor=1.8, front_time=60.0, front_rise_time=20.0)
    time, gust = history["time"].values, history["gust"].values
    assert (gust[time <= 60.0] == 1.0).all()
    assert gust[time == 70.0] == pytest.approx(1.4)
    assert gust[time >= 80.0] == pytest.approx(1.8)


def test_adrift_in_a_sheared_current_each_hull_goes_with_her_own_water() -> None:
    # no wind on them, no power to speak of: both drift, the one farther to the right of the current faster
    history = history_of(
        manoeuvre="swing_pull", start="with_water", wind_load_multiplier=0.0, power_setting=0.02, line_length=300.0,
        current_speed=0.4, current_to=0.0, current_shear=0.002, initial_heading=270.0, lead_angle=150.0,
        failure="black_out", failure_time=0.0, restart_time=3600.0, time_limit=120.0, start_east=30.0,
    )  # fmt: skip
    time = history["time"].values
    east = history["barge_east"].values[0]
    speed = np.gradient(history["barge_north"].values, time)
    assert speed[:8] == pytest.approx(0.4 + 0.002 * east, abs=2e-3)
    # the water turns: her bow to the west lies in slower water, and she turns with the shear, by half its rate or so
    assert history["swing_rate"].values[-1] != 0.0


def test_tide_is_depth() -> None:
    one = toolkit.evaluate({**SWING, "water_depth": 6.0, "tide": 1.5})
    other = toolkit.evaluate({**SWING, "water_depth": 7.5})
    for name in ("depth_ratio", "time_to_turn", "peak_contact_force", "peak_heel"):
        assert one[name].item() == other[name].item(), name
    assert toolkit.evaluate({**SWING, "water_depth": 6.0, "tide": -4.0})["outcome"].item() == 9


def test_a_bridle_is_a_line_from_its_apex_while_the_lead_is_ahead() -> None:
    from tests.one_case import Lane

    def loads(lead: float, **values: Any) -> Any:
        lane = Lane(**REFERENCE, tug_type="tractor", line_length=40.0, **values).without("water", "air", "damping")
        p = lane.parameters()
        apex = np.sqrt(max(p.bridle_leg**2 - p.bridle_half_spread**2, 0.0))
        reach = 40.5 - p.tug_towing_x
        x = p.barge_half_length + apex + reach * np.cos(lead)
        lane.place("barge", 0.0, 0.0, 0.0).place("tug", x, reach * np.sin(lead), lead)
        lane.rates()
        return lane

    single, bridle = loads(0.0), loads(0.0, line_arrangement="bridle")
    assert bridle.reported("tension") == pytest.approx(single.reported("tension"), rel=1e-6)
    # off to starboard within the legs, the pull goes through the apex: a moment about midships with a longer arm
    one, two = loads(0.2), loads(0.2, line_arrangement="bridle")
    p = two.parameters()
    apex = np.sqrt(p.bridle_leg**2 - p.bridle_half_spread**2)
    arm = (p.barge_half_length + apex) / p.barge_half_length
    assert two.reported("barge_moment") / one.reported("barge_moment") == pytest.approx(arm, rel=1e-6)


def test_wash_takes_pull_away_on_a_short_line_and_less_on_a_long_one() -> None:
    from tests.one_case import Lane

    def net(line: float, share: float) -> float:
        lane = Lane(**REFERENCE, bollard_pull=30 * TONNE_FORCE, tug_type="tractor", lead_angle=90.0,
                    line_length=line, wash_on_barge_share=share, water_depth=100.0)  # fmt: skip
        lane.without("water", "air")
        p = lane.parameters()
        lane.place("barge", 0.0, 0.0, 0.0).place("tug", p.barge_half_length + 0.9 * line - p.tug_towing_x, 0.0, 0.0)
        lane.thrust(p.unit_thrust, 0.0)
        lane.rates()
        return -lane.reported("barge_ahead") / (2.0 * p.unit_thrust)

    assert net(20.0, 0.0) == pytest.approx(0.0, abs=1e-12)
    short, long = net(20.0, 1.0), net(100.0, 1.0)
    assert 0.01 < long < short < 0.3
    assert net(20.0, 2.0) == pytest.approx(2.0 * short, rel=1e-6)


def test_pulling_swings_drag_the_barge_bodily_after_the_tug() -> None:
    # common practice, no source: the barge follows the pull, here from the bow to starboard
    found = toolkit.evaluate({**REFERENCE, "manoeuvre": "swing_pull", "bollard_pull": 30 * TONNE_FORCE})
    history = toolkit.history(found, case=0)
    half = int(np.argmax(history["angle_turned"].values > 60.0))
    assert history["barge_east"].values[half] > 1.0
    assert found["drift_distance"].item() > 0.1 * 60.0


def test_a_conventional_tug_can_pull_along_her_own_line_and_cannot_walk_across_it() -> None:
    calm = {
        **REFERENCE,
        "manoeuvre": "swing_pull",
        "bollard_pull": 30 * TONNE_FORCE,
        "tug_type": "conventional",
        "line_length": 45.0,
    }
    found = toolkit.evaluate({**calm, "tug_attitude": ["fore_and_aft", "athwartships"]})
    history = toolkit.history(found, case=0)
    assert history["angle_turned"].values.max() > 20.0
    assert np.abs((history["azimuth_port"].values + 180.0) % 360.0 - 180.0).max() <= 35.0 + 1e-6
    assert history["thrust_port"].values.min() < 0.0, "her screws reverse"
    assert found["outcome"].values[1] in (3, 7, 8), "across her line she loses her station"
