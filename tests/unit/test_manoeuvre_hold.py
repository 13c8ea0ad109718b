"""Hold: alongside and in open water, what counts as held, and which side the tug takes."""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.one_case import REFERENCE, TONNE_FORCE, Lane
from tests.stacked import endings, run
from toolkit.motion.layout import LANES, MEMORY, STATE
from toolkit.motion.log import TICK
from toolkit.motion.manoeuvres.hold import TAKE_OVER_TIME, judge_hold
from toolkit.quantities import INPUTS, Outcome

BASE: dict[str, Any] = {
    "manoeuvre": "hold", "bollard_pull": 15 * TONNE_FORCE, **REFERENCE, "power_setting": 1.0, "line_length": 30.0,
}  # fmt: skip
TYPES = INPUTS["tug_type"].choices


def test_alongside_every_type_holds_her_up_against_wind_and_current_off_the_berth() -> None:
    found = run([{**BASE, "tug_type": tug, "wind_speed": 12.0, "wind_from": 60.0, "current_speed": 0.15,
                  "current_to": 250.0} for tug in TYPES])  # fmt: skip
    assert endings(found) == ["completed"] * 3
    assert np.all(found["held_share"] == 1.0)
    assert np.all(found["drift_distance"] < 5.0)
    assert np.all((found["mean_power_held"] > 0.02) & (found["mean_power_held"] < 0.5))
    assert np.all(found["end_time"] == 660.0)
    assert np.isnan(found["peak_tension"]).all()


def test_alongside_with_the_wind_on_the_berth_its_fenders_hold_her() -> None:
    found = run([{**BASE, "wind_speed": v, "wind_from": 270.0} for v in (0.0, 15.0)])
    assert endings(found) == ["completed", "completed"]
    assert np.all(found["mean_power_held"] < 0.03)
    assert np.all(found["drift_distance"] < 0.5)


def test_off_the_tug_lies_to_windward_and_on_the_wrong_side_the_barge_comes_down_on_her() -> None:
    windy = {**BASE, "side_way": "off", "wind_speed": 15.0, "wind_from": 90.0}
    found = run([{**windy, "turn": "starboard"}, {**windy, "turn": "port"}])
    assert endings(found)[0] == "completed"
    assert endings(found)[1] in ("collided", "not_held")
    assert found["drift_distance"][0] < 3.0 < found["drift_distance"][1]


def test_either_way_is_the_mirror_of_the_other() -> None:
    ways = [{"side_way": way, "tug_type": tug} for way in ("onto", "off") for tug in TYPES]
    weather = {"wind_speed": 14.0, "hold_time": 240.0}
    starboard = run([{**BASE, **weather, **way, "wind_from": 120.0, "initial_heading": 30.0} for way in ways])
    port = run([{**BASE, **weather, **way, "turn": "port", "wind_from": 240.0, "initial_heading": 330.0}
                for way in ways])  # fmt: skip
    assert endings(starboard) == endings(port)
    for name in ("held_share", "mean_power_held", "drift_distance", "peak_tension"):
        np.testing.assert_allclose(port[name], starboard[name], rtol=0.02, atol=0.02, equal_nan=True, err_msg=name)


def test_a_time_limit_before_the_time_to_hold_is_no_hold() -> None:
    found = run([{**BASE, "time_limit": 200.0}])
    assert endings(found) == ["timed_out"]
    assert found["held_share"][0] == 1.0


def test_what_counts_as_held() -> None:
    lane = Lane(**BASE, hold_tolerance=2.0, hold_time=30.0)
    memory = np.zeros(len(MEMORY) * LANES)
    places = {0.25: 1.9, 0.5: 2.1}  # share of the counted time from which she lies so far off
    for tick in range(1, 400):
        time = TICK * tick
        share = (time - TAKE_OVER_TIME) / 30.0
        lane.s[STATE.barge_north] = max([0.0, *(place for begins, place in places.items() if share > begins)])
        memory[MEMORY.time], memory[MEMORY.power] = time, 0.4 if share > 0.5 else 0.2
        judge_hold(lane.s, lane.p, memory, lane.report, 0)
        if memory[MEMORY.outcome]:
            break
    assert memory[MEMORY.outcome] == Outcome.not_held
    assert memory[MEMORY.time] == TAKE_OVER_TIME + 30.0
    counted = memory[MEMORY.own_4]
    assert counted == 30.0
    assert memory[MEMORY.own_5] / counted == 0.5
    np.testing.assert_allclose(memory[MEMORY.own_6] / counted, 0.3)
