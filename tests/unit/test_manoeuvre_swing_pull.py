"""Swinging by pulling: rows and place of the tug, what her master does at his first looks, and an ordinary swing."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tests.one_case import REFERENCE, TONNE_FORCE, Lane
from tests.stacked import endings, run
from toolkit.motion.crew import BROADSIDE_SHARE, HELM_INTERVAL, SHIFT_READY, SHIFT_SPEED, TAKE_WEIGHT_POWER
from toolkit.motion.layout import LANES, MEMORY, STATE
from toolkit.motion.lead import lead_angles
from toolkit.motion.manoeuvres.swing import EASING_SHARE
from toolkit.motion.manoeuvres.swing_pull import SLACK_AT_START, look_pull
from toolkit.motion.phases import ACCELERATE, HOLD, SHIFT, TAKE_WEIGHT
from toolkit.motion.start import overlap_at_start
from toolkit.quantities import INPUTS

BASE: dict[str, Any] = {"manoeuvre": "swing_pull", "bollard_pull": 30 * TONNE_FORCE, **REFERENCE, "line_length": 25.0}
TYPES = INPUTS["tug_type"].choices
LIES = INPUTS["tug_attitude"].choices


def beginning(lane: Lane) -> np.ndarray:
    """Memory as a case begins with it."""
    memory = np.zeros(len(MEMORY) * LANES)
    memory[MEMORY.hand], memory[MEMORY.insistence] = 1.0, 1.0
    look_pull(lane.s, lane.p, memory, lane.report, 0)
    return memory


def ordered(lane: Lane, memory: np.ndarray) -> tuple[float, float]:
    """Thrust ordered of both drives together, north and east [N]."""
    force = np.zeros(2)
    cosine, sine = lane.state().tug_cosine, lane.state().tug_sine
    for side in ("starboard", "port"):
        thrust, c, s = (
            memory[getattr(MEMORY, f"pending_{name}")] for name in (f"thrust_{side}", f"{side}_cosine", f"{side}_sine")
        )
        force += thrust * np.array([cosine * c - sine * s, sine * c + cosine * s])
    return float(force[0]), float(force[1])


@pytest.mark.parametrize("tug", TYPES)
@pytest.mark.parametrize("lies", LIES)
def test_rows(tug: str, lies: str) -> None:
    p = Lane(**BASE, tug_type=tug, tug_attitude=lies, lead_angle=70.0, target_angle=30.0, easing_angle=40.0,
             swing_rate_limit=0.6).parameters()  # fmt: skip
    assert p.target == pytest.approx(math.radians(30.0))
    assert p.rate_limit == pytest.approx(math.radians(0.6))
    assert p.easing_angle == pytest.approx(EASING_SHARE * p.target)  # a small turn: not eased from before it begins
    assert p.lead == pytest.approx(math.radians(70.0))
    round_the_end = 2.0 * p.lead * 25.0 / (SHIFT_SPEED * (BROADSIDE_SHARE if lies == "athwartships" else 1.0))
    assert p.shift_time == pytest.approx(SHIFT_READY + round_the_end)
    assert p.stern_first == float(tug == "azimuth_stern_drive")
    assert p.on_line == 1.0 and p.line_stiffness > 0.0
    assert p.pushing == 0.0 and p.fender_stiffness == 0.0
    assert p.meant_north == p.meant_east == 0.0  # the barge is not meant to go anywhere


def test_a_large_turn_is_eased_as_the_crew_does() -> None:
    p = Lane(**BASE, target_angle=180.0, easing_angle=40.0).parameters()
    assert p.easing_angle == pytest.approx(math.radians(40.0))


@pytest.mark.parametrize("tug", TYPES)
@pytest.mark.parametrize("lies", LIES)
@pytest.mark.parametrize("end", INPUTS["working_end"].choices)
@pytest.mark.parametrize("turn", INPUTS["turn"].choices)
def test_place(tug: str, lies: str, end: str, turn: str) -> None:
    lane = Lane(**BASE, tug_type=tug, tug_attitude=lies, working_end=end, turn=turn, lead_angle=80.0)
    p, s = lane.parameters(), lane.state()
    assert p.barge_towing_x == pytest.approx(30.0 if end == "bow" else -30.0)
    lead, distance, off_axis, _ = lead_angles(lane.s, lane.p, 0)
    assert lead == pytest.approx(math.radians(80.0))
    assert distance == pytest.approx(SLACK_AT_START * 25.0)
    assert off_axis == pytest.approx(0.0, abs=1e-7)  # along the line, or square across it
    # she lies on the side to which the end that she works is to go
    assert np.sign(s.tug_east) == (1.0 if (end == "bow") == (turn == "starboard") else -1.0)
    if lies == "fore_and_aft":
        assert not overlap_at_start(lane.p[::LANES, None], lane.s[::LANES, None]).any()


@pytest.mark.parametrize("tug", TYPES)
@pytest.mark.parametrize("end", INPUTS["working_end"].choices)
def test_at_first_she_stretches_the_line_gently(tug: str, end: str) -> None:
    lane = Lane(**BASE, tug_type=tug, working_end=end)
    memory = beginning(lane)
    assert memory[MEMORY.phase] == TAKE_WEIGHT
    assert memory[MEMORY.power] == TAKE_WEIGHT_POWER
    assert memory[MEMORY.lead] == pytest.approx(0.0, abs=1e-9)
    assert memory[MEMORY.next_look] == HELM_INTERVAL
    north, east = ordered(lane, memory)
    outward = 1.0 if end == "bow" else -1.0
    full = 2.0 * lane.parameters().unit_thrust
    assert 0.0 < outward * east <= 1.2 * TAKE_WEIGHT_POWER * full
    assert abs(north) < 0.02 * full


def test_with_the_line_tight_she_takes_the_weight() -> None:
    lane = Lane(**BASE, order_delay=0.0)
    lane.s[STATE.tug_east] += (1.0 - SLACK_AT_START) * 25.0
    memory = beginning(lane)
    assert memory[MEMORY.phase] in (ACCELERATE, HOLD)
    assert memory[MEMORY.power] > TAKE_WEIGHT_POWER
    assert ordered(lane, memory)[1] > TAKE_WEIGHT_POWER * 2.0 * lane.parameters().unit_thrust


def test_one_that_lies_off_her_station_goes_round_first() -> None:
    lane = Lane(**BASE)
    lane.place("tug", 58.0, 2.0, 0.0)  # ahead of the bow, where a tow has left her
    memory = beginning(lane)
    assert memory[MEMORY.phase] == SHIFT and memory[MEMORY.power] == 0.0
    assert ordered(lane, memory)[1] > 0.0  # toward her side


def test_an_ordinary_swing() -> None:
    cases = [{**BASE, "tug_type": tug, "tug_attitude": lies, "working_end": end}
             for tug in TYPES[:2] for lies in LIES for end in INPUTS["working_end"].choices]  # fmt: skip
    found = run(cases)
    assert endings(found) == ["completed"] * len(cases)
    turn, steady = found["time_to_turn"], found["time_to_steady"]
    assert np.all((turn > 200.0) & (turn < 700.0)) and np.all((steady > 200.0) & (steady < 900.0))
    assert np.all(found["overshoot"] < 10.0)
    limit = found["swing_rate_limit_in_force"]
    assert np.all((found["peak_swing_rate"] > 0.5 * limit) & (found["peak_swing_rate"] < 1.5 * limit))
    assert np.all((found["shifts"] >= 1.0) & (found["shifts"] <= 4.0))  # pulling one way only she cannot be stopped
    assert np.all(found["peak_heel_fraction"] < 0.5)
    assert np.all((found["peak_tension_3s"] > 2.0 * TONNE_FORCE) & (found["peak_tension_3s"] < 15.0 * TONNE_FORCE))
    assert np.all((found["drift_distance"] > 10.0) & (found["drift_distance"] < 100.0))
    assert np.all(np.isnan(found["peak_contact_force"]))
