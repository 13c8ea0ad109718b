"""The tug alone, sideways: from rest to rest, with what power she has, and who cannot."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.many_cases import many_cases
from tests.one_case import columns_of
from toolkit.motion.engine import evaluate_columns
from toolkit.motion.history import case_history
from toolkit.quantities import INPUTS, Outcome

WALK = INPUTS["manoeuvre"].choices.index("walk")


def outcomes(**values: Any) -> dict[str, float]:
    return {name: value[0].item() for name, value in evaluate_columns(columns_of(manoeuvre="walk", **values)).items()}


@pytest.mark.parametrize("tug_type", ["tractor", "azimuth_stern_drive"])
def test_drives_athwartships_walk_her_sideways(tug_type: str) -> None:
    # common practice, no source: with her drives athwartships an azimuth tug moves sideways and keeps her heading
    channels, facts = case_history(columns_of(manoeuvre="walk", tug_type=tug_type, walk_distance=30.0))
    assert facts["outcome"] == Outcome.completed
    assert channels["tug_east"][-1] - channels["tug_east"][0] == pytest.approx(30.0, abs=1.0)
    assert np.abs(channels["tug_north"] - channels["tug_north"][0]).max() < 2.0
    off = np.abs((channels["tug_heading"] + 180.0) % 360.0 - 180.0)
    assert off.max() < 5.0
    assert facts["swept_radius_tug"] == pytest.approx(29.0, abs=0.6)  # over once she is within a metre
    assert facts["end_time"] > 30.0 / facts["walking_speed"]
    across = np.abs(np.sin(np.deg2rad(channels["azimuth_starboard"]))) * channels["thrust_starboard"]
    assert across[:40].mean() > 0.2 * channels["thrust_starboard"][:40].mean()
    assert np.isnan(facts["peak_tension"]) and np.isnan(facts["peak_contact_force"])


def test_conventional_tug_cannot_walk() -> None:
    # common practice, no source: fixed screws and rudders give no side force; she has made no headway in five minutes
    end = outcomes(tug_type="conventional")
    assert end["outcome"] == Outcome.lost_station
    assert end["end_time"] == pytest.approx(300.0, abs=1.0)
    assert end["swept_radius_tug"] < 0.1


def test_more_power_walks_faster_and_heels_more() -> None:
    few, half, full = (outcomes(power_setting=power, walk_distance=60.0) for power in (0.2, 0.5, 1.0))
    assert few["walking_speed"] < half["walking_speed"] < full["walking_speed"]
    assert few["end_time"] > half["end_time"] > full["end_time"]
    assert few["peak_heel"] < half["peak_heel"] < full["peak_heel"]


def test_limit_of_thrust_athwartships_slows_her() -> None:
    free, held = (outcomes(athwart_thrust_share=share, athwart_band=80.0, walk_distance=60.0) for share in (1.0, 0.5))
    assert held["walking_speed"] < 0.9 * free["walking_speed"]


def test_held_over_the_ground_in_wind_and_current() -> None:
    weather = {"wind_speed": 8.0, "wind_from": 250.0, "current_speed": 0.3, "current_to": 200.0}
    channels, facts = case_history(columns_of(manoeuvre="walk", walk_distance=25.0, power_setting=0.8, **weather))
    assert facts["outcome"] == Outcome.completed
    assert channels["tug_east"][-1] - channels["tug_east"][0] == pytest.approx(25.0, abs=1.0)
    assert channels["tug_north"][-1] - channels["tug_north"][0] == pytest.approx(0.0, abs=1.0)


def test_time_limit() -> None:
    end = outcomes(walk_distance=300.0, time_limit=60.0)
    assert (end["outcome"], end["end_time"]) == (Outcome.timed_out, 60.0)


def test_mirror() -> None:
    wind = {"wind_speed": 7.0, "current_speed": 0.2, "walk_distance": 40.0}
    one, _ = case_history(columns_of(manoeuvre="walk", turn="starboard", wind_from=70.0, current_to=200.0, **wind))
    other, _ = case_history(columns_of(manoeuvre="walk", turn="port", wind_from=290.0, current_to=160.0, **wind))
    np.testing.assert_allclose(other["tug_east"], -one["tug_east"], atol=1e-6)
    np.testing.assert_allclose(other["tug_heel"], -one["tug_heel"], atol=1e-6)
    np.testing.assert_allclose(other["thrust_port"], one["thrust_starboard"], atol=1.0)


def test_ordinary_cases_come_to_their_place() -> None:
    cases = many_cases(200, seed=7, manoeuvre=WALK, wind_speed=0.0, current_speed=0.0)
    cases["walk_distance"] = np.random.default_rng(7).uniform(5.0, 100.0, 200)
    end = evaluate_columns(cases)
    assert (end["outcome"] == Outcome.completed).all()
    assert (np.abs(end["swept_radius_tug"] - cases["walk_distance"]) < 1.5).all()
    assert (end["peak_heel_fraction"] < 0.5).all()


@pytest.mark.parametrize("failure", ["starboard_drive_lost", "black_out", "drive_stuck", "wrong_order"])
def test_failure_on_the_way_is_an_outcome(failure: str) -> None:
    end = outcomes(failure=failure, failure_time=20.0, walk_distance=60.0)
    assert end["failed_at"] == 20.0
    assert np.isfinite(end["walking_speed"])
    assert end["outcome"] in (Outcome.completed, Outcome.lost_station, Outcome.timed_out)
