"""Taking the way off: by pulling from the trailing end, or by standing clear ahead while the water stops her."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import xarray as xr

import toolkit
from tests.one_case import TONNE_FORCE, columns_of
from toolkit.motion.layout import PARAMETER_ROW
from toolkit.motion.prepare import prepare
from toolkit.quantities import INPUTS, Outcome

TYPES = INPUTS["tug_type"].choices
PULL = 30 * TONNE_FORCE
NO_DRAG: dict[str, Any] = {
    "drag_multiplier": 0.0, "tug_drag_multiplier": 0.0, "steering_drag_multiplier": 0.0, "wind_load_multiplier": 0.0,
    "wash_on_barge_share": 0.0, "thrust_speed_loss": 0.0, "cross_velocity_share": 0.0,
    "mutual_wash_share": 0.0,
}  # fmt: skip


def check(**values: Any) -> xr.Dataset:
    """Outcomes of checks of a barge of 2000 t at 1.5 m/s by a 30 t tug on a line of 40 m."""
    return toolkit.evaluate(
        {"manoeuvre": "check_way", "line_length": 40.0, "bollard_pull": PULL, "displacement": 2e6, "start_speed": 1.5}
        | values
    )


def codes(outcomes: xr.Dataset) -> list[Outcome]:
    return [Outcome(int(code)) for code in outcomes["outcome"].values]


def test_an_ordinary_check_from_astern() -> None:
    found = check(tug_type=[*TYPES, *TYPES], working_end=["stern"] * 3 + ["bow"] * 3)
    assert codes(found) == [Outcome.completed] * 6
    assert np.all(np.isnan(found["overrun_margin"]))  # no barge follows her
    assert np.all(found["peak_lead_off_axis"] < 10.0)
    assert np.all(found["peak_heel_fraction"] < 0.1)
    for case in range(6):
        history, one = toolkit.history(found, case=case), found.isel(case=case)
        north = history["barge_north"].values
        sign = 1.0 if case < 3 else -1.0  # she moves away from the end worked
        assert sign * north[-1] == pytest.approx(float(one["stopping_distance"]), rel=0.01)
        assert float(one["stopping_time"]) == pytest.approx(history["time"].values[-1], abs=0.5)
        speed = np.abs(np.gradient(north, history["time"].values))
        assert speed[-1] == pytest.approx(0.05, abs=0.03) and speed[:2].max() == pytest.approx(1.5, rel=0.01)
        # he eases as the way comes off: no sternway, and the line is not loaded to the last
        assert history["power_ordered"].values[-1] < 0.7 * history["power_ordered"].values.max()
    # alike by either end, in air that is nearly still
    np.testing.assert_allclose(found["stopping_distance"][:3], found["stopping_distance"][3:], rtol=0.02)


def test_a_constant_pull_without_drag_stops_her_in_m_v2_over_2_f() -> None:
    """From the first second of full power to the last: mass of both vessels, added mass included."""
    power, speed = np.array([0.2, 0.3, 0.4]), 1.5
    values: dict[str, Any] = {"displacement": 8e6, "spool_time": 0.5, "power_step": 0.001, "bollard_pull": PULL,
                              "line_length": 40.0}  # fmt: skip
    found = check(power_setting=power, **(values | NO_DRAG))
    assert codes(found) == [Outcome.completed] * 3
    row = prepare(columns_of(manoeuvre="check_way", **(values | NO_DRAG))).parameters
    mass = row[PARAMETER_ROW.barge_surge_mass, 0] + row[PARAMETER_ROW.tug_surge_mass, 0]
    for case in range(3):
        history = toolkit.history(found, case=case)
        time, run = history["time"].values, -history["barge_north"].values  # the bow is worked: she goes astern
        full = history["power_ordered"].values > power[case] - 1e-9
        first, last = np.flatnonzero(full)[0] + 10, np.flatnonzero(full)[-1]
        fast, slow = (float(np.gradient(run, time)[i]) for i in (first, last))
        pull = power[case] * PULL
        # the line sings by a few percent of a small pull: it is gone in the mean, but not at the two ends (1.0 % seen)
        assert run[last] - run[first] == pytest.approx(mass * (fast**2 - slow**2) / (2.0 * pull), rel=0.015)
        assert time[last] - time[first] == pytest.approx(mass * (fast - slow) / pull, rel=0.015)
    # the whole of it: the closed form, and what runs off while the weight is taken and the power worked up
    closed = mass * speed**2 / (2.0 * power * PULL)
    extra = found["stopping_distance"].values - closed
    assert np.all((extra > 0.0) & (extra < speed * 30.0))


def test_a_barge_that_carries_her_way_stops_as_the_water_has_it() -> None:
    """Linear and quadratic resistance: closed forms of time and distance from 1.5 to 0.5 m/s."""
    fast, slow = 1.5, 0.5
    mass = np.array([1e6, 3e6])
    values: dict[str, Any] = {
        "check_from": "ahead", "slow_speed": slow, "wind_load_multiplier": 0.0, "wash_on_barge_share": 0.0,
        "line_length": 40.0, "line_mbl": 10 * TONNE_FORCE,
    }  # fmt: skip
    found = check(displacement=mass, start_speed=fast, **values)
    assert codes(found) == [Outcome.completed] * 2
    for case in range(2):
        row = prepare(columns_of(manoeuvre="check_way", displacement=mass[case], **values)).parameters[:, 0]
        inertia = row[PARAMETER_ROW.barge_surge_mass]
        a, b = row[PARAMETER_ROW.barge_surge_linear], row[PARAMETER_ROW.barge_surge_quadratic]
        time = inertia / a * math.log(fast * (a + b * slow) / (slow * (a + b * fast)))
        distance = inertia / b * math.log((a + b * fast) / (a + b * slow))
        # a light line: the weight of its slack draws her on by less than 0.05 kN; her resistance is 1.5 kN and more
        assert float(found["stopping_time"][case]) == pytest.approx(time, rel=0.02)
        assert float(found["stopping_distance"][case]) == pytest.approx(distance, rel=0.02)
    # the tug stays as far ahead as she means to
    assert np.all((found["overrun_margin"] > 0.5 * 40.0) & (found["overrun_margin"] < 40.0))


def test_more_power_and_less_mass_stop_sooner() -> None:
    found = check(power_setting=[0.1, 0.2, 0.4, 0.8, 0.4, 0.4], displacement=[2e6] * 4 + [5e5, 6e6])
    assert codes(found) == [Outcome.completed] * 6
    distance = found["stopping_distance"].values
    assert np.all(np.diff(distance[:4]) < 0.0)
    assert distance[4] < distance[2] < distance[5]
    # kinetic energy goes into the line, water and the tug: no more than the pull could take over the way run
    assert np.all(np.diff(found["mean_tension"][:4]) > 0.0)


def test_a_tug_ahead_without_power_is_overrun() -> None:
    found = check(
        check_from="ahead", displacement=6e6, start_speed=2.0, time_limit=400.0, tug_type="conventional",
        failure=["none", "black_out"], failure_time=5.0, restart_time=1800.0, watch_time=300.0,
    )  # fmt: skip
    none, dark = codes(found)
    assert none is Outcome.timed_out  # a coasting barge takes longer than that
    assert dark is Outcome.collided
    assert float(found["overrun_margin"][1]) < 1.0 < float(found["overrun_margin"][0])


def test_a_barge_without_way_is_stopped_at_once() -> None:
    found = check(start_speed=[0.0], check_from="astern")
    assert codes(found) == [Outcome.completed]
    assert float(found["stopping_time"][0]) <= 0.5 and float(found["stopping_distance"][0]) == 0.0


def test_a_check_that_runs_out_of_time_has_no_stopping_distance() -> None:
    found = check(power_setting=[0.02], displacement=8e6, time_limit=60.0)
    assert codes(found) == [Outcome.timed_out]
    assert np.isnan(found["stopping_time"][0]) and np.isnan(found["stopping_distance"][0])
