"""Swinging by pushing: rows and place of the tug, what her master does at his first looks, and an ordinary swing."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tests.one_case import REFERENCE, TONNE_FORCE, Lane, columns_of
from tests.stacked import endings, run
from toolkit.motion.crew import HELM_INTERVAL, LANDING_TIME, SHIFT_READY, SHIFT_SPEED
from toolkit.motion.engine import evaluate_columns
from toolkit.motion.layout import LANES, MEMORY, PARAMETER_ROW, REPORT
from toolkit.motion.manoeuvres.alongside import ARRIVED, GAP_AT_START
from toolkit.motion.manoeuvres.swing_push import END_MARGIN, HAUL_READY, look_push, station_error
from toolkit.motion.phases import ACCELERATE, CHECK, HOLD, SHIFT, TAKE_WEIGHT
from toolkit.motion.prepare import prepare
from toolkit.motion.start import overlap_at_start
from toolkit.quantities import INPUTS, Outcome

BASE: dict[str, Any] = {"manoeuvre": "swing_push", "bollard_pull": 30 * TONNE_FORCE, **REFERENCE, "line_length": 25.0}
TYPES = INPUTS["tug_type"].choices
LIES = INPUTS["tug_attitude"].choices
TURNS = INPUTS["turn"].choices
ENDS = INPUTS["working_end"].choices


def side_of(end: str, turn: str) -> float:
    """+1 where the tug lies to the barge's starboard side: the end worked is pushed away from her."""
    return -1.0 if (end == "bow") == (turn == "starboard") else 1.0


def looked(lane: Lane, contact: float = 0.0, **memory: float) -> np.ndarray:
    """Memory after a first look, with what is said of contact [N] and of the memory before."""
    m = np.zeros(len(MEMORY) * LANES)
    m[MEMORY.hand], m[MEMORY.insistence] = 1.0, 1.0
    for name, value in memory.items():
        m[getattr(MEMORY, name)] = value
    lane.report[REPORT.contact] = contact
    lane.report[REPORT.contact_station] = contact * lane.state().tug_north
    look_push(lane.s, lane.p, m, lane.report, 0)
    return m


def ordered_east(lane: Lane, memory: np.ndarray) -> float:
    """Thrust to the east that is ordered of both drives together [N]."""
    cosine, sine = lane.state().tug_cosine, lane.state().tug_sine
    return float(
        sum(
            memory[getattr(MEMORY, f"pending_thrust_{side}")]
            * (sine * memory[getattr(MEMORY, f"pending_{side}_cosine")]
               + cosine * memory[getattr(MEMORY, f"pending_{side}_sine")])
            for side in ("starboard", "port")
        )
    )  # fmt: skip


@pytest.mark.parametrize("tug", TYPES)
def test_rows_stem_on(tug: str) -> None:
    p = Lane(**BASE, tug_type=tug, push_station=0.3, target_angle=90.0).parameters()
    assert p.target == pytest.approx(math.radians(90.0))
    assert p.station == pytest.approx(0.3 * 60.0)
    assert p.shift_time == pytest.approx(SHIFT_READY + LANDING_TIME + 2.0 * 18.0 / SHIFT_SPEED)
    assert p.pushing == 1.0 and p.fender_stiffness > 0.0
    assert p.on_line == 0.0 and p.line_stiffness == 0.0 and p.barge_wash == 0.0
    assert p.meant_north == p.meant_east == 0.0  # the barge is not meant to go anywhere


@pytest.mark.parametrize("tug", TYPES[:2])
def test_flank_on_the_station_moves_in_until_both_fenders_are_on_the_side(tug: str) -> None:
    inside, close = (
        Lane(**BASE, tug_type=tug, tug_attitude="athwartships", push_station=station).parameters()
        for station in (0.2, 0.48)
    )
    assert inside.station == pytest.approx(12.0)
    half_spread = abs(close.fender_first_x)
    assert close.station == pytest.approx(30.0 - half_spread - END_MARGIN)
    assert close.station < 0.48 * 60.0


def test_made_fast_by_a_line_besides_she_checks_sooner() -> None:
    p = Lane(**BASE, making_fast="push_pull").parameters()
    assert p.on_line == 1.0 and p.lead == pytest.approx(-0.5 * math.pi)
    assert p.shift_time == pytest.approx(HAUL_READY + p.line_length / SHIFT_SPEED)
    assert p.barge_towing_x == pytest.approx(p.station)


@pytest.mark.parametrize("tug", TYPES)
@pytest.mark.parametrize("lies", LIES)
@pytest.mark.parametrize("end", ENDS)
@pytest.mark.parametrize("turn", TURNS)
def test_place(tug: str, lies: str, end: str, turn: str) -> None:
    lane = Lane(**BASE, tug_type=tug, tug_attitude=lies, working_end=end, turn=turn)
    p, s = lane.parameters(), lane.state()
    side = side_of(end, turn)
    assert p.pushed_side == side
    assert s.tug_east == pytest.approx(side * (8.0 + p.fender_reach + GAP_AT_START))
    assert s.tug_north == pytest.approx((1.0 if end == "bow" else -1.0) * p.station)
    if lies == "fore_and_aft":  # stem to the side
        assert (s.tug_cosine, s.tug_sine) == pytest.approx((0.0, -side), abs=1e-12)
    else:  # along it, drives toward the end that she works
        assert abs(s.tug_cosine) == pytest.approx(1.0)
        assert (s.tug_cosine * p.drive_x > 0.0) == (end == "bow")
    memory = np.zeros(len(MEMORY) * LANES)
    memory[MEMORY.hand] = 1.0
    assert station_error(lane.s, lane.p, memory, 0) == pytest.approx(0.0, abs=1e-9)
    assert not overlap_at_start(lane.p[::LANES, None], lane.s[::LANES, None]).any()


@pytest.mark.parametrize("tug", TYPES)
@pytest.mark.parametrize("end", ENDS)
def test_she_lands_before_she_pushes(tug: str, end: str) -> None:
    lane = Lane(**BASE, tug_type=tug, working_end=end, order_delay=0.0)
    toward = -side_of(end, "starboard")
    off = looked(lane)
    assert off[MEMORY.phase] == TAKE_WEIGHT and off[MEMORY.power] == 0.0
    assert off[MEMORY.next_look] == HELM_INTERVAL
    landing = toward * ordered_east(lane, off)
    assert landing > 0.0
    on = looked(lane, contact=TONNE_FORCE)
    assert on[MEMORY.phase] in (ACCELERATE, HOLD)
    full = 2.0 * lane.parameters().unit_thrust
    assert on[MEMORY.power] > 0.1
    assert toward * ordered_east(lane, on) == pytest.approx(on[MEMORY.power] * full, rel=0.05)


def test_to_check_she_works_at_the_other_end() -> None:
    lane = Lane(**BASE)
    shifting = looked(lane, phase=float(SHIFT), hand=-1.0)
    assert shifting[MEMORY.phase] == SHIFT and shifting[MEMORY.power] == 0.0
    assert shifting[MEMORY.lead] == pytest.approx(2.0 * 0.4 * 60.0)  # from shoulder to quarter
    p = lane.parameters()
    lane.place("tug", -p.station + 0.5 * ARRIVED, lane.state().tug_east, 0.5 * math.pi)
    lane.set(turned=math.radians(170.0), barge_yaw=0.01)  # and soon there
    assert looked(lane, phase=float(SHIFT), hand=-1.0)[MEMORY.phase] == CHECK


def test_an_ordinary_swing() -> None:
    cases = [{**BASE, "tug_type": tug, "tug_attitude": lies, "working_end": end}
             for tug in TYPES[:2] for lies in LIES for end in ENDS]  # fmt: skip
    found = run(cases)
    assert endings(found) == ["completed"] * len(cases)
    turn, steady = found["time_to_turn"], found["time_to_steady"]
    assert np.all((turn > 200.0) & (turn < 700.0)) and np.all((steady > 200.0) & (steady < 900.0))
    assert np.all(found["overshoot"] < 10.0)
    limit = found["swing_rate_limit_in_force"]
    assert np.all((found["peak_swing_rate"] > 0.5 * limit) & (found["peak_swing_rate"] < 1.5 * limit))
    assert np.all((found["shifts"] >= 1.0) & (found["shifts"] <= 4.0))  # pushing at one end only she cannot be stopped
    assert np.all(found["peak_heel_fraction"] < 0.5)
    force = found["peak_contact_force"]
    assert np.all((force > 2.0 * TONNE_FORCE) & (force < 20.0 * TONNE_FORCE))
    assert np.all((found["drift_distance"] > 10.0) & (found["drift_distance"] < 120.0))
    assert np.all(np.isnan(found["peak_tension"]))


def test_a_heading_to_turn_to_is_an_angle_the_way_round() -> None:
    rows = [("starboard", 30.0, 100.0, 70.0), ("port", 30.0, 100.0, 290.0), ("starboard", 350.0, 10.0, 20.0),
            ("starboard", 10.0, 8.0, 5.0), ("port", 8.0, 10.0, 5.0)]  # fmt: skip
    for turn, start, target, wanted in rows:
        prepared = prepare(columns_of(manoeuvre="swing_push", turn=turn, initial_heading=start, target_heading=target))
        assert np.rad2deg(prepared.parameters[PARAMETER_ROW.target, 0]) == pytest.approx(wanted)
    found = evaluate_columns(
        columns_of(manoeuvre="swing_push", displacement=1e6, initial_heading=20.0, target_heading=110.0)
    )
    assert found["outcome"][0] == Outcome.completed
    assert found["heading_at_end"][0] == pytest.approx(110.0, abs=5.5)
