"""Towing ahead: what an ordinary tow comes to, and what ends one that is not."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import xarray as xr
from scipy.optimize import brentq

import toolkit
from tests.one_case import TONNE_FORCE, columns_of
from toolkit.motion.layout import PARAMETER_ROW
from toolkit.motion.manoeuvres.tow_ahead import MINUTE, REACHED
from toolkit.motion.prepare import prepare
from toolkit.quantities import INPUTS, Outcome

TYPES = INPUTS["tug_type"].choices
PULL = 30 * TONNE_FORCE


def tow(**values: Any) -> xr.Dataset:
    """Outcomes of tows on a line of 40 m at a quarter of the power of a 30 t tug."""
    return toolkit.evaluate(
        {"manoeuvre": "tow_ahead", "line_length": 40.0, "bollard_pull": PULL, "power_setting": 0.25} | values
    )


def codes(outcomes: xr.Dataset) -> list[Outcome]:
    return [Outcome(int(code)) for code in outcomes["outcome"].values]


@pytest.fixture(scope="module")
def ordinary() -> xr.Dataset:
    ends = [end for end in INPUTS["working_end"].choices for _ in TYPES]
    return tow(tug_type=[*TYPES, *TYPES], working_end=ends)


def test_an_ordinary_tow(ordinary: xr.Dataset) -> None:
    assert codes(ordinary) == [Outcome.completed] * 6
    assert np.all(ordinary["sheer_yaw"] < 2.0) and np.all(ordinary["sheer_sway"] < 2.0)
    assert np.all(ordinary["course_growth_rate"] < 0.0)
    # from a slack line, tight without a jerk: three times the steady tension at most
    steady = [toolkit.history(ordinary, case=i)["line_tension"].values[-120:].mean() for i in range(6)]
    assert np.all(ordinary["peak_tension"] < 3.0 * np.array(steady))
    assert np.all(ordinary["mean_tension"] < ordinary["peak_tension"])
    # she pulls what she is ordered to, less what her speed takes: below bollard, above a half of it
    assert np.all((np.array(steady) < 0.25 * PULL) & (np.array(steady) > 0.4 * 0.25 * PULL))
    # line, hulls and 2 degrees of lead: the clear water is there to the end
    margin = ordinary["overrun_margin"].values
    assert np.all((margin > 20.0) & (margin < 40.0))
    assert np.all(margin[[1, 4]] > margin[[0, 3]])  # over the bow she lies a little farther off
    assert np.all(np.isnan(ordinary["stopping_time"]))
    assert np.all(np.isnan(ordinary["time_to_turn"])) and np.all(np.isnan(ordinary["overshoot"]))


@pytest.mark.parametrize("case", range(6))
def test_outcomes_are_those_of_the_history(ordinary: xr.Dataset, case: int) -> None:
    history, one = toolkit.history(ordinary, case=case), ordinary.isel(case=case)
    time = history["time"].values
    way = np.hypot(history["barge_north"].values, history["barge_east"].values)
    speed = np.gradient(way, time)
    last = time >= time[-1] - MINUTE
    assert time[-1] % (2.0 * MINUTE) == 0.0
    assert float(one["tow_speed"]) == pytest.approx((way[-1] - way[last][0]) / MINUTE, rel=1e-3)
    first = np.argmax(speed >= REACHED * float(one["tow_speed"]))
    assert float(one["time_to_tow_speed"]) == pytest.approx(time[first], abs=1.5)
    assert float(one["distance_to_tow_speed"]) == pytest.approx(way[first], rel=0.03)
    two = time > time[-1] - 2.0 * MINUTE
    heading = (history["barge_heading"].values[two] + 180.0) % 360.0
    assert float(one["sheer_yaw"]) == pytest.approx(0.5 * np.ptp(heading), abs=1e-6)
    assert float(one["sheer_sway"]) == pytest.approx(0.5 * np.ptp(history["barge_east"].values[two]), abs=1e-6)


def test_speed_is_that_of_the_balance_of_pull_and_resistance() -> None:
    """Thrust less what speed takes, tug's and barge's drag: one equation in the speed, solved apart."""
    powers = [0.1, 0.25, 0.6, 1.0]
    values: dict[str, Any] = {"wind_load_multiplier": 0.0, "wash_on_barge_share": 0.0, "displacement": 2e6}
    found = tow(power_setting=powers, **values)
    assert codes(found) == [Outcome.completed] * 4
    columns = columns_of(manoeuvre="tow_ahead", line_length=40.0, bollard_pull=PULL, **values)
    row = {name: prepare(columns).parameters[i, 0] for i, name in enumerate(PARAMETER_ROW._fields)}

    def left(speed: float, power: float) -> float:
        linear = row["barge_surge_linear"] + row["tug_surge_linear"]
        quadratic = row["barge_surge_quadratic"] + row["tug_surge_quadratic"]
        return float(power * PULL * (1.0 - row["speed_loss"] * speed) - speed * (linear + quadratic * speed))

    expected = [brentq(left, 0.01, 9.0, args=(power,)) for power in powers]
    # the mean of the last minute is up to about a percent short of the steady speed, by the rule that ends a tow
    np.testing.assert_allclose(found["tow_speed"], expected, rtol=0.015)
    assert np.all(np.diff(found["tow_speed"]) > 0.0)


def test_a_start_with_way_on_comes_to_the_same_speed() -> None:
    found = tow(start_speed=[0.0, 2.0])
    assert codes(found) == [Outcome.completed] * 2
    assert float(found["tow_speed"][1]) == pytest.approx(float(found["tow_speed"][0]), rel=0.01)
    assert float(found["time_to_tow_speed"][1]) < 0.8 * float(found["time_to_tow_speed"][0])
    start = toolkit.history(found, case=1)
    assert float(start["barge_north"][2] - start["barge_north"][0]) == pytest.approx(2.0, rel=0.03)


def test_a_tow_of_a_given_distance() -> None:
    found = tow(tow_distance=[200.0, 1200.0, 5000.0], working_end=["bow", "stern", "bow"])
    assert codes(found) == [Outcome.completed, Outcome.completed, Outcome.timed_out]
    for case, sign in ((0, 1.0), (1, -1.0)):
        history = toolkit.history(found, case=case)
        north = sign * history["barge_north"].values
        distance = float(found["tow_distance"][case])
        assert north[-2] < distance <= north[-1]
    assert np.isfinite(found["time_to_tow_speed"][1])
    assert np.isnan(found["time_to_tow_speed"][0])  # too short to become steady


def test_he_eases_at_the_speed_he_aims_at() -> None:
    aims = [0.9, 1.2, 1.6]  # below, the least step of power is too much
    outcomes = tow(tow_speed_limit=aims, displacement=1e6, power_setting=0.5)
    assert codes(outcomes) == [Outcome.completed] * 3
    # within the band over which he eases, and the power that holds it is by the balance below what he may use
    np.testing.assert_allclose(outcomes["tow_speed"], aims, rtol=0.12)
    free = tow(displacement=1e6, power_setting=0.5)
    far = tow(displacement=1e6, power_setting=0.5, tow_speed_limit=4.0)
    assert float(free["tow_speed"].item()) > 1.7
    assert far["tow_speed"].item() == free["tow_speed"].item()
    assert np.all(np.diff(outcomes["mean_tension"]) > 0.0)
    assert float(outcomes["mean_tension"].max()) < float(free["mean_tension"].item())


def test_a_tow_without_time_is_timed_out() -> None:
    found = tow(time_limit=[50.0, 100.0])
    assert codes(found) == [Outcome.timed_out] * 2
    assert np.all(np.isnan(found["time_to_tow_speed"])) and np.all(np.isnan(found["sheer_yaw"]))
    np.testing.assert_array_equal(np.isnan(found["tow_speed"]), [True, False])


def test_skegs_that_trail_steady_her_and_skegs_that_lead_make_her_sheer() -> None:
    raked: dict[str, Any] = {"bow_drag_coefficient": 0.2, "time_limit": 3600.0}
    found = tow(skegs=["fitted", "fitted", "none"], working_end=["bow", "stern", "bow"], **raked)
    assert codes(found)[:2] == [Outcome.completed, Outcome.not_steady]
    assert float(found["course_growth_rate"][0]) < 0.0 < float(found["course_growth_rate"][1])
    assert float(found["sheer_yaw"][0]) < 2.0 < 20.0 < float(found["sheer_yaw"][1])
    # a bare barge with raked ends grows as well, and slower
    assert 0.0 < float(found["course_growth_rate"][2]) < float(found["course_growth_rate"][1])


def test_attitude_and_way_of_making_fast_are_idle() -> None:
    found = tow(
        tug_attitude=["fore_and_aft", "athwartships", "fore_and_aft"], making_fast=["one_way"] * 2 + ["push_pull"]
    )
    for name in ("tow_speed", "peak_tension", "overrun_margin", "peak_heel"):
        assert len(np.unique(found[name].values)) == 1, name


def test_she_keeps_her_track_across_current_and_wind() -> None:
    found = tow(
        tug_type=list(TYPES), current_speed=0.5, current_to=90.0, wind_speed=8.0, wind_from=270.0, power_setting=0.4
    )
    assert codes(found) == [Outcome.completed] * 3
    for case in range(3):
        last = toolkit.history(found, case=case).isel(time=-1)
        # both are set to starboard, so she heads to port of the track of the tow, and off it by less than a beam
        assert abs(float(last["tug_east"])) < 8.0
        heading = (float(last["tug_heading"]) + (180.0 if TYPES[case] == "azimuth_stern_drive" else 0.0)) % 360.0
        crab = math.degrees(math.asin(0.5 / float(found["tow_speed"][case])))
        assert 360.0 - heading == pytest.approx(crab, abs=5.0)


def test_a_black_out_lets_a_heavy_barge_overrun_the_tug() -> None:
    found = tow(
        displacement=4e6, power_setting=0.6, failure=["none", "black_out", "black_out"], failure_time=200.0,
        restart_time=[60.0, 20.0, 1800.0],
    )  # fmt: skip
    none, short, long = codes(found)
    assert (none, short, long) == (Outcome.completed, Outcome.completed, Outcome.collided)
    margin = found["overrun_margin"].values
    assert margin[0] > margin[1] > margin[2]
    assert margin[2] < 1.0
    assert float(found["recovered"][1]) == 1.0 and float(found["recovered"][2]) == 0.0


def test_a_parted_line_is_followed_and_the_margin_ends_with_it() -> None:
    found = tow(failure="line_parts", failure_time=[150.0], watch_time=60.0, displacement=4e6)
    assert codes(found) == [Outcome.line_parted]
    assert float(found["overrun_margin"][0]) > 0.0
    assert np.isnan(found["tow_speed"][0])
