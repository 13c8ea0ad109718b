"""A job: legs that begin where the one before ended, on one clock, and what is told of them together."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.many_cases import many_cases
from tests.one_case import TONNE_FORCE, columns_of
from toolkit.motion.engine import evaluate_columns
from toolkit.motion.history import case_history
from toolkit.motion.job import CRITERIA, RULES, WEIGHTS, evaluate_legs, whole_job
from toolkit.motion.layout import MEMORY_ROW, STATE_ROW
from toolkit.motion.legs import run_legs
from toolkit.motion.setting import NO_SETTING, Setting
from toolkit.particulars import gust_harmonics
from toolkit.quantities import DERIVED, INPUTS, OUTCOMES, Outcome

OUT = {"manoeuvre": "walk", "turn": "starboard", "walk_distance": 20.0}
BACK = {"manoeuvre": "walk", "turn": "port", "walk_distance": 20.0}
ROUND = {"manoeuvre": "shift", "station_to": "port_shoulder"}
PULL = {"manoeuvre": "swing_pull", "target_angle": 60.0}
PUSH = {"manoeuvre": "swing_push", "target_angle": 60.0}


def job(*legs: dict[str, Any]) -> Setting:
    """Setting with legs, words given as words."""
    return Setting(legs=tuple(
        {name: float(INPUTS[name].choices.index(value) if isinstance(value, str) else value)
         for name, value in leg.items()}
        for leg in legs
    ))  # fmt: skip


def channels_of(setting: Setting, **values: Any) -> tuple[dict[str, NDArray[np.float64]], dict[str, float]]:
    return case_history(columns_of(**values), setting)


def test_a_job_of_one_leg_is_that_manoeuvre_to_the_last_bit() -> None:
    cases = many_cases(32, seed=4)
    alone = evaluate_columns(cases)
    leg = evaluate_columns(cases, job({}))
    for name, values in alone.items():
        if name not in ("legs_completed", "governing_leg", "governing_share"):
            np.testing.assert_array_equal(leg[name], values, err_msg=name)
    assert np.isnan(alone["legs_completed"]).all()
    np.testing.assert_array_equal(leg["legs_completed"], alone["outcome"] == Outcome.completed)


def test_each_leg_begins_where_the_one_before_ended() -> None:
    wind = {"wind_speed": 6.0, "wind_from": 250.0, "current_speed": 0.2, "current_to": 100.0}
    channels, facts = channels_of(job(PULL, ROUND, PUSH), displacement=2e6, **wind)
    assert facts["legs_completed"] >= 2.0
    steps = np.diff(channels["time"])
    assert steps.min() == steps.max() == 0.5
    assert channels["time"][-1] == facts["end_time"]
    assert list(np.unique(channels["leg"])) == [1.0, 2.0, 3.0]
    change = np.flatnonzero(np.diff(channels["leg"]) > 0.0)
    for name, most in (("barge_north", 0.5), ("barge_east", 0.5), ("tug_north", 1.0), ("tug_east", 1.0)):
        assert np.abs(np.diff(channels[name])[change]).max() < most
    assert np.abs(np.diff(channels["tug_heel"])[change]).max() < 0.5
    assert channels["angle_turned"][change + 1] == pytest.approx([0.0, 0.0])


def test_state_goes_over_to_the_last_bit() -> None:
    runs = list(run_legs(columns_of(displacement=1e6, wind_speed=5.0), job(OUT, BACK)))
    first, second = runs
    kept = [row for name, row in STATE_ROW._asdict().items() if name not in ("turned", "drive_energy")]
    np.testing.assert_array_equal(second.prepared.initial[kept], first.finals[kept])
    assert second.clock[0] == first.memories[MEMORY_ROW.time, 0]


def test_out_and_back() -> None:
    channels, facts = channels_of(job(OUT, BACK))
    assert facts["outcome"] == Outcome.completed
    assert facts["legs_completed"] == 2.0
    assert channels["tug_east"].max() - channels["tug_east"][0] == pytest.approx(20.0, abs=1.5)
    assert channels["tug_east"][-1] - channels["tug_east"][0] == pytest.approx(0.0, abs=2.0)


def test_gusts_and_front_run_on_the_clock_of_the_job() -> None:
    gusts = {"wind_speed": 5.0, "gust_intensity": 1.0, "draw": 3.0, "draw_seed": 11.0}
    front = {"front_factor": 1.5, "front_time": 100.0, "front_rise_time": 30.0}
    channels, _ = channels_of(job(OUT, BACK), **gusts, **front, power_setting=1.0)
    amplitude, frequency, phase = (part[0] for part in gust_harmonics(5.0, 11, 3, 1.0))
    time = channels["time"][:, np.newaxis]
    share = np.clip((channels["time"] - 100.0) / 30.0, 0.0, 1.0)
    wanted = 1.0 + np.sum(amplitude * np.cos(2.0 * math.pi * frequency * time + phase), axis=1)
    wanted *= 1.0 + 0.5 * share * share * (3.0 - 2.0 * share)
    np.testing.assert_allclose(channels["gust"], wanted, atol=1e-9)
    assert (channels["leg"][channels["time"] > 100.0] == 2.0).any()


def test_a_drive_that_is_lost_stays_lost_and_is_noticed_once() -> None:
    lost = {"failure": "starboard_drive_lost", "failure_time": 60.0, "time_limit": 200.0}
    channels, facts = channels_of(job(OUT, BACK), **lost)
    assert facts["failed_at"] == 60.0
    legs = evaluate_legs(columns_of(**lost), job(OUT, BACK))
    later = channels["time"] > 75.0
    assert np.abs(channels["thrust_starboard"][later]).max() < 1.0
    if legs["outcome"][0, 0] == Outcome.completed:
        assert legs["failed_at"][1, 0] == pytest.approx(60.0 - legs["leg_start"][1, 0])


def test_what_fails_in_a_later_leg_fails_at_its_time_in_the_job_and_once_only() -> None:
    failing = {"failure": "black_out", "failure_time": 90.0, "restart_time": 10.0}
    channels, facts = channels_of(job(OUT, BACK, OUT), **failing)
    assert facts["failed_at"] == 90.0
    assert facts["recovered"] == 1.0
    time, leg, thrust = channels["time"], channels["leg"], channels["thrust_port"]
    assert leg[time == 90.0] == 2.0
    assert thrust[(time > 95.0) & (time < 100.0)].max() < thrust[time == 90.0]
    assert thrust[leg == 3.0].min() > 1.0  # no second black-out


def test_black_out_is_mended_in_the_leg_after() -> None:
    # she is in place and all but stopped when the lights go out, which does not keep the leg from being completed
    end = evaluate_columns(columns_of(manoeuvre="walk"))["end_time"][0].item()
    failing = {"failure": "black_out", "failure_time": end - 2.0, "restart_time": 30.0}
    channels, facts = channels_of(job(OUT, BACK), **failing)
    assert facts["legs_completed"] == 2.0
    assert facts["failed_at"] == end - 2.0
    time, thrust = channels["time"], channels["thrust_starboard"]
    out = (time > end + 8.0) & (time < end - 2.0 + 30.0)
    assert (channels["leg"][out] == 2.0).all()
    assert thrust[out].max() < 500.0
    assert thrust[(time > end + 45.0)].max() > 5000.0


def test_a_line_that_was_to_part_while_none_was_out_does_not() -> None:
    failing = {"failure": "line_parts", "failure_time": 30.0}
    end = evaluate_columns(columns_of(station_to="bow_line", station_from="port_side", **failing), job(
        {"manoeuvre": "shift"}, PULL
    ))  # fmt: skip
    assert np.isnan(end["failed_at"][0])
    assert end["outcome"][0] != Outcome.line_parted


def test_a_line_out_of_reach_is_not_made_fast() -> None:
    legs = evaluate_legs(columns_of(displacement=2e6), job({**OUT, "walk_distance": 100.0}, PULL))
    assert legs["outcome"][:, 0].tolist() == [Outcome.completed, Outcome.lost_station]
    assert np.isnan(legs["end_time"][1, 0])
    whole = whole_job(legs)
    assert whole["outcome"][0] == Outcome.lost_station
    assert whole["end_time"][0] == legs["end_time"][0, 0]


def test_a_shift_brings_her_within_reach_of_her_line_and_of_her_station() -> None:
    count = 60
    cases = many_cases(count, seed=12, wind_speed=4.0, current_speed=0.1)
    cases["line_length"] = np.maximum(cases["line_length"], 20.0)  # a large tug has no room for less
    legs = evaluate_legs(cases, job(
        {"manoeuvre": "shift", "station_from": "port_side", "station_to": "bow_line"},
        {"manoeuvre": "swing_pull", "working_end": "bow"},
    ))  # fmt: skip
    came = legs["outcome"][0] == Outcome.completed
    assert came.mean() > 0.95
    assert np.isfinite(legs["end_time"][1, came]).all()  # begun, and so within reach
    pushed = evaluate_legs(cases, job(
        {"manoeuvre": "shift", "station_from": "bow_line", "station_to": "port_shoulder"},
        {"manoeuvre": "swing_push", "working_end": "bow", "turn": "starboard"},
    ))  # fmt: skip
    came = pushed["outcome"][0] == Outcome.completed
    assert came.mean() > 0.95
    assert (pushed["peak_contact_force"][1, came] > 0.0).mean() > 0.95


@pytest.mark.parametrize("attitude", ["fore_and_aft", "athwartships"])
def test_she_leaves_the_side_she_leaned_on_without_a_collision(attitude: str) -> None:
    columns = columns_of(displacement=1e6, tug_attitude=attitude, wind_speed=8.0, wind_from=90.0)
    legs = evaluate_legs(columns, job(PUSH, {"manoeuvre": "shift", "station_to": "stern_line"}))
    assert legs["outcome"][:, 0].tolist() == [Outcome.completed, Outcome.completed]
    assert np.isfinite(legs["peak_contact_force"][1, 0])  # her fender, as she leaves


def test_what_a_case_comes_to_depends_on_its_own_column_alone() -> None:
    cases, setting = many_cases(24, seed=2), job(PULL, ROUND, PUSH)
    together = evaluate_columns(cases, setting)
    for start in range(0, 24, 7):
        part = {name: values[start : start + 7] for name, values in cases.items()}
        for name, values in evaluate_columns(part, setting).items():
            np.testing.assert_array_equal(values, together[name][start : start + 7], err_msg=name)


def test_together() -> None:
    setting = job(PULL, ROUND, PUSH, {"manoeuvre": "shift", "station_to": "stern_line"})
    cases = many_cases(60, seed=21, manoeuvre=0, displacement=1.5e6, bollard_pull=40 * TONNE_FORCE)
    legs = evaluate_legs(cases, setting)
    whole = evaluate_columns(cases, setting)
    assert whole.keys() == OUTCOMES.keys() | DERIVED.keys()
    assert (whole["legs_completed"] == 4.0).any() and (whole["legs_completed"] < 4.0).any()
    run = legs["outcome"] > 0
    np.testing.assert_array_equal(whole["end_time"], np.where(run, np.nan_to_num(legs["end_time"]), 0.0).sum(axis=0))
    np.testing.assert_array_equal(whole["peak_heel"], np.nanmax(legs["peak_heel"], axis=0))
    assert (whole["drive_energy"] >= np.nanmax(legs["drive_energy"], axis=0)).all()
    for case in range(60):
        done = legs["outcome"][:, case] == Outcome.completed
        first = int(np.argmin(done))
        if done.all():
            assert whole["outcome"][case] == Outcome.completed
        else:
            assert whole["outcome"][case] == legs["outcome"][first, case]
            assert (legs["outcome"][first + 1 :, case] == Outcome.not_run).all()
            assert np.isnan(legs["peak_heel"][first + 1 :, case]).all()
        shares = [
            np.nanmax([legs[name][leg, case] / limit for name, limit in CRITERIA.items()])
            for leg in range(4)
            if run[leg, case]
        ]
        assert whole["governing_share"][case] == max(shares)
        assert whole["governing_leg"][case] == 1.0 + int(np.argmax(shares))


def test_distances_and_instants_are_told_from_the_start_of_the_job() -> None:
    tow = {"manoeuvre": "tow_ahead", "tow_distance": 150.0, "power_setting": 0.2, "line_length": 25.0}
    tow["tow_speed_limit"] = 0.8
    setting = job(tow, {"manoeuvre": "check_way", "check_from": "ahead", "line_length": 25.0, "slow_speed": 0.3},
                  {**PUSH, "manoeuvre": "shift", "station_to": "port_shoulder"}, PUSH)  # fmt: skip
    columns = columns_of(displacement=8e5)
    legs, whole = evaluate_legs(columns, setting), evaluate_columns(columns, setting)
    channels, _ = case_history(columns, setting)
    assert whole["legs_completed"][0] == 4.0
    start = legs["leg_start"][3, 0]
    assert whole["time_to_turn"][0] == start + legs["time_to_turn"][3, 0] > start > 0.0
    assert whole["time_to_steady"][0] == start + legs["time_to_steady"][3, 0]
    assert whole["stopping_time"][0] == legs["stopping_time"][1, 0] < legs["leg_start"][2, 0]  # how long it took
    gone = np.hypot(channels["barge_north"], channels["barge_east"])
    assert whole["drift_distance"][0] == pytest.approx(gone.max(), abs=1e-6)
    assert whole["drift_distance"][0] > 150.0
    for leg in range(4):
        assert legs["drift_distance"][leg, 0] == pytest.approx(gone[channels["leg"] == leg + 1].max(), abs=0.5)


def test_means_go_by_what_they_were_taken_over() -> None:
    again = {**PULL, "working_end": "bow"}
    setting = job(again, {"manoeuvre": "shift", "station_to": "bow_line"}, again)
    columns = columns_of(displacement=1.5e6)
    legs, whole = evaluate_legs(columns, setting), evaluate_columns(columns, setting)
    assert whole["legs_completed"][0] == 3.0
    for name in WEIGHTS:
        weight = np.nan_to_num(legs[f"weight_of_{name}"][:, 0])
        assert weight[1] == 0.0 or name == "saturated_share"
        value = np.nan_to_num(legs[name][:, 0])
        assert whole[name][0] == pytest.approx((weight * value).sum() / weight.sum(), rel=1e-12)
    assert legs["mean_tension"][0, 0] != legs["mean_tension"][2, 0]


def test_every_outcome_has_its_rule() -> None:
    assert RULES.keys() == OUTCOMES.keys()
    assert set(RULES.values()) == {"sum", "largest", "least", "last", "first", "mean"}
    for name in OUTCOMES:
        if name.startswith(("peak_", "tension_over", "swept_", "drift")) and name != "drift_along_berth":
            assert RULES[name] == "largest", name


def test_a_leg_may_change_inputs_alone() -> None:
    with pytest.raises(KeyError, match="peak_heel"):
        evaluate_columns(columns_of(), Setting(legs=({"peak_heel": 1.0},)))


def test_basin_holds_for_every_leg() -> None:
    wall = np.array([[-60.0, -300.0, -60.0, 300.0], [-60.0, 300.0, 200.0, 300.0], [200.0, 300.0, 200.0, -300.0],
                     [200.0, -300.0, -60.0, -300.0]])  # fmt: skip
    edges = np.column_stack([wall, np.zeros(4)])
    legs = job(OUT, {**OUT, "turn": "port", "walk_distance": 300.0}).legs
    free = evaluate_columns(columns_of(), Setting(legs=legs))
    held = evaluate_columns(columns_of(), Setting(legs=legs, edges=edges))
    assert np.isnan(free["clearance_to_edge"][0]) and held["clearance_to_edge"][0] >= 0.0
    assert NO_SETTING.legs == ()
