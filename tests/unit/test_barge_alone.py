"""The entry for a barge alone: what it returns, what it refuses."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

import toolkit
from toolkit.errors import StudyError


def test_dataset_says_what_it_holds() -> None:
    swing = toolkit.barge_alone(couple=1e6, duration=20.0, time_step=0.25, angles=(10.0, 20.0, 5000.0))
    assert dict(swing.sizes) == {"time": 81, "angle": 3}
    assert all(variable.attrs["units"] and variable.attrs["long_name"] for variable in swing.variables.values())
    assert swing["time"].values[-1] == 20.0
    assert np.isnan(swing["time_to_turn"].values[2])  # never turned so far
    reached = np.interp(swing["time_to_turn"].values[:2], swing["time"], swing["angle_turned"])
    np.testing.assert_allclose(reached, [10.0, 20.0], rtol=1e-3)  # straight lines between quarter seconds


def test_rate_is_the_slope_of_the_angle_and_position_follows_the_velocities() -> None:
    swing = toolkit.barge_alone(force=5e4, lever=10.0, duration=60.0, time_step=0.1)
    slope = np.gradient(swing["angle_turned"].values, 0.1)[1:-1]
    np.testing.assert_allclose(slope, swing["swing_rate"].values[1:-1], atol=2e-3)  # second order in the step
    heading = np.radians(swing["angle_turned"].values)
    north = np.cos(heading) * swing["surge_velocity"] - np.sin(heading) * swing["sway_velocity"]
    np.testing.assert_allclose(np.gradient(swing["advance"].values, 0.1)[1:-1], north[1:-1], atol=1e-3)


def test_force_to_port_mirrors_force_to_starboard() -> None:
    starboard = toolkit.barge_alone(force=5e4, lever=10.0, duration=120.0)
    port = toolkit.barge_alone(force=-5e4, lever=10.0, duration=120.0)
    for name, sign in (("angle_turned", -1.0), ("transfer", -1.0), ("advance", 1.0), ("surge_velocity", 1.0)):
        np.testing.assert_allclose(port[name], sign * starboard[name], rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(port["time_to_turn"], starboard["time_to_turn"], rtol=1e-9)


def test_steady_values_only_where_the_swing_has_come_to_them() -> None:
    assert np.isnan(toolkit.barge_alone(couple=1e5, duration=10.0)["steady_swing_rate"])
    assert np.isnan(toolkit.barge_alone(initial_swing_rate=1.0, duration=3000.0)["steady_swing_rate"])
    long = toolkit.barge_alone(couple=1e5, duration=3000.0)
    assert long["steady_swing_rate"] == pytest.approx(float(long["swing_rate"][-1]), rel=1e-6)


def test_depth_effect_is_off_until_a_depth_is_given() -> None:
    deep = toolkit.barge_alone(couple=1e6, duration=300.0)
    shallow = toolkit.barge_alone(couple=1e6, duration=300.0, water_depth=3.0)
    almost = toolkit.barge_alone(couple=1e6, duration=300.0, water_depth=500.0)
    assert shallow["yaw_drag"] > 2.0 * deep["yaw_drag"]
    assert almost["yaw_drag"] == pytest.approx(float(deep["yaw_drag"]), rel=1e-3)
    assert almost["yaw_drag"] > deep["yaw_drag"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"displacement": 2.0}, "displacement = 0.002 t is outside [100 t, 15000 t]"),
        ({"water_depth": 0.5}, "water_depth = 0.5 m is outside [1 m, 500 m]"),
        ({"water_depth": -math.inf}, "water_depth"),
        ({"force": math.nan}, "force = nan is not a finite number"),
        ({"couple": math.inf}, "couple = inf is not a finite number"),
        ({"force": "100 kN"}, "force = '100 kN' is not a finite number"),
        ({"loading": "half"}, "loading = 'half' is not a number"),
        ({"loading": math.nan}, "loading"),
        ({"lever": 40.0, "barge_length": 60.0}, "lever = 40 [m] is outside [-30, 30]"),
        ({"barge_draught": 3.0, "water_depth": 2.0}, "water_depth = 2 [m] is not above the draught"),
        ({"barge_draught": 0.6}, "block coefficient of the barge"),
        ({"duration": 0.0}, "duration = 0 [s] is not above 0"),
        ({"duration": 1e9, "time_step": 1.0}, "duration over time_step"),
        ({"angles": (-5.0,)}, "angles[0] = -5 [degree] is not above 0"),
    ],
)
def test_bad_arguments_are_refused_in_words(arguments: dict[str, Any], said: str) -> None:
    with pytest.raises(StudyError) as refused:
        toolkit.barge_alone(**arguments)
    assert said in str(refused.value)


def test_all_problems_are_told_at_once() -> None:
    with pytest.raises(StudyError) as refused:
        toolkit.barge_alone(force=math.nan, displacement=1.0, loading=3.0, time_step=-1.0)
    assert len(refused.value.problems) == 4
