"""Hold: alongside and in open water, what counts as held, and which side the tug takes."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.one_case import REFERENCE, TONNE_FORCE, Lane
from tests.stacked import endings, run
from toolkit.loads.towline import static_tension
from toolkit.motion.conditions import let_go
from toolkit.motion.layout import LANES, MEMORY, STATE, P
from toolkit.motion.log import TICK
from toolkit.motion.manoeuvres.hanging_line import FLOATING_SHARE, ease_line, lying_distance
from toolkit.motion.manoeuvres.hold import CHANGE_APART, CHANGE_SHARE, TAKE_OVER_TIME, judge_hold, look_hold
from toolkit.motion.phases import HOLD
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


@pytest.mark.parametrize("size", [{}, {"bollard_pull": 30 * TONNE_FORCE, "displacement": 454e3, "barge_length": 36.0,
                                       "barge_beam": 10.0, "barge_draught": 1.5}])  # fmt: skip
def test_made_fast_both_ways_she_holds_whatever_one_that_only_pushes_does(size: dict[str, float]) -> None:
    ways = [{"tug_type": tug, "line_length": length, "wind_speed": wind}
            for tug in TYPES for length in (8.0, 15.0, 30.0) for wind in (0.0, 4.0, 8.0)]  # fmt: skip
    both = run([{**BASE, **size, **way, "wind_from": 90.0, "making_fast": "push_pull"} for way in ways])
    assert endings(both) == ["completed"] * len(ways)
    assert np.all(both["drift_distance"] < 2.5)
    assert np.all(both["mean_power_held"] < 0.1)
    assert np.all(both["shifts"] == 0.0)  # the berth holds her up the other way


def test_flank_on_and_made_fast_both_ways_her_wash_does_not_drive_the_barge_along() -> None:
    found = run([{**BASE, "tug_attitude": "athwartships", "making_fast": "push_pull", "tug_type": tug, "wind_speed": v,
                  "wind_from": 90.0} for tug in TYPES[:2] for v in (0.0, 8.0)])  # fmt: skip
    assert endings(found) == ["completed"] * 4
    assert np.all(found["drift_distance"] < 1.5)  # 5 m and more where her wash is let drive her


@pytest.mark.parametrize(
    ("share", "time", "changes"),
    [(1.2 * CHANGE_SHARE, 100.0, True), (0.8 * CHANGE_SHARE, 100.0, False), (-1.0, 100.0, False),
     (1.2 * CHANGE_SHARE, 0.5 * CHANGE_APART, False)],
)  # fmt: skip
def test_hands_are_changed_once_the_barge_has_gone_the_other_way(share: float, time: float, changes: bool) -> None:
    lane = Lane(**{**BASE, "making_fast": "push_pull", "line_length": 10.0})
    memory = np.zeros(len(MEMORY) * LANES)
    memory[MEMORY.hand], memory[MEMORY.phase] = 1.0, HOLD
    look_hold(lane.s, lane.p, memory, lane.report, 0)
    gone = share * float(INPUTS["hold_tolerance"].default)
    for row in (STATE.barge_east, STATE.tug_east):  # onto the berth is to starboard
        lane.s[row] += gone
    lane.set(barge_sway=0.3)
    memory[MEMORY.time] = time
    look_hold(lane.s, lane.p, memory, lane.report, 0)
    assert (memory[MEMORY.hand] < 0.0) == changes
    assert memory[MEMORY.shifts] == float(changes)
    assert (lane.p[P.barge_wash] > 0.0) == changes  # it strikes her while the tug hauls


OPEN: dict[str, Any] = {"manoeuvre": "hold", "side_way": "off"}


def test_in_a_calm_she_lies_still_off_the_berth() -> None:
    found = run([{**OPEN, "tug_type": tug, "line_length": length} for tug in TYPES for length in (15.0, 30.0, 60.0)])
    assert endings(found) == ["completed"] * 9
    assert np.all(found["drift_distance"] < 1.5)
    assert np.all(found["mean_power_held"] < 0.002)


def test_in_light_airs_the_weight_of_the_line_holds_her() -> None:
    found = run([{**OPEN, "tug_type": tug, "line_length": length, "wind_speed": wind, "wind_from": 90.0}
                 for tug in TYPES[:2] for length in (15.0, 30.0) for wind in (2.0, 4.0)])  # fmt: skip
    assert endings(found) == ["completed"] * 8
    assert np.all(found["drift_distance"] < 2.5)
    assert np.all(found["tension_over_mbl"] < 0.05)


@pytest.mark.parametrize("material", INPUTS["line_material"].choices)
def test_a_slack_line_lies_in_the_water_and_draws_again_as_it_comes_clear(material: str) -> None:
    lane = Lane(**OPEN, line_length=30.0, line_material=material)
    lane.set(line_sag=4e4, line_sag_tension=3e3)
    memory = np.zeros(len(MEMORY) * LANES)
    hull = lane.state().tug_east + 0.5  # the line clear of the water
    for closer, time in ((0.0, 0.0), (10.0, 1.0), (0.0, 2.0)):
        lane.s[STATE.tug_east], memory[MEMORY.time] = hull - closer, time
        ease_line(lane.s, lane.p, memory, 0)
        share = FLOATING_SHARE[INPUTS["line_material"].choices.index(material)] if closer else 1.0
        assert lane.p[P.line_sag] == pytest.approx(share**2 * 4e4)
        assert lane.p[P.line_sag_tension] == pytest.approx(share ** (2.0 / 3.0) * 3e3)
    let_go(lane.p, 0)
    ease_line(lane.s, lane.p, memory, 0)
    assert lane.p[P.line_sag] == 0.0


@pytest.mark.parametrize("force", [50.0, 300.0, 900.0])
def test_lying_at_a_distance_the_line_draws_as_much_as_is_wanted(force: float) -> None:
    lane = Lane(**OPEN, line_length=30.0)
    stiffness, sag = lane.parameters().line_stiffness, 3.3e4
    lane.set(line_sag=sag, line_sag_tension=(stiffness * sag) ** (1.0 / 3.0))
    memory = np.zeros(len(MEMORY) * LANES)
    ease_line(lane.s, lane.p, memory, 0)
    distance = lying_distance(lane.p, memory, 0, force, 10.0, 0.0)
    drawn = static_tension(distance - 30.0, stiffness, sag, (stiffness * sag) ** (1.0 / 3.0))
    assert drawn == pytest.approx(force, rel=1e-4)
    assert lying_distance(lane.p, memory, 0, 0.0, 10.0, 0.0) == 10.0
    assert lying_distance(lane.p, memory, 0, 0.0, 10.0, 500.0) > 10.0  # what the line pulls has to be stood up to
