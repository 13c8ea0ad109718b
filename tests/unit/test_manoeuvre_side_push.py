"""Side push: onto a berth at the speed aimed at, off it on a line, and what is noted as the first corner touches."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tests.one_case import REFERENCE, TONNE_FORCE, Lane
from tests.stacked import endings, run
from toolkit.motion.layout import LANES, MEMORY
from toolkit.motion.log import TICK
from toolkit.motion.manoeuvres.manoeuvre import Ran
from toolkit.motion.manoeuvres.side_push import FLAT_GAP, MANOEUVRE, judge_side
from toolkit.quantities import INPUTS, Outcome

BASE: dict[str, Any] = {"manoeuvre": "side_push", "bollard_pull": 30 * TONNE_FORCE, **REFERENCE}
TYPES = INPUTS["tug_type"].choices
OWN = ("time_to_berth", "contact_speed", "contact_angle", "berthing_energy", "drift_along_berth")


def test_in_calm_every_type_comes_in_parallel_at_the_speed_aimed_at() -> None:
    speeds = (0.08, 0.15)
    cases = [{**BASE, "tug_type": tug, "approach_speed": v} for tug in TYPES for v in speeds]
    found = run(cases)
    assert endings(found) == ["completed"] * len(cases)
    for i, case in enumerate(cases):
        # drag alone takes her way off, so a little more than was aimed at
        assert -0.01 < found["contact_speed"][i] - case["approach_speed"] < 0.25 * case["approach_speed"]
        assert found["contact_angle"][i] < 1.0
        assert abs(found["drift_along_berth"][i]) < 0.5
        assert found["drift_distance"][i] == pytest.approx(15.0, abs=0.3)
    assert np.all(found["time_to_berth"][::2] > found["time_to_berth"][1::2])  # slower, later


def test_flank_on_she_comes_in_nearly_parallel() -> None:
    found = run([{**BASE, "tug_attitude": "athwartships", "tug_type": tug} for tug in TYPES[:2]])
    assert endings(found) == ["completed", "completed"]
    assert np.all(found["contact_angle"] < 3.0)
    assert np.all(np.abs(found["drift_along_berth"]) < 3.0)
    assert np.all(np.abs(found["contact_speed"] - 0.12) < 0.03)


def test_either_way_is_the_mirror_of_the_other() -> None:
    weather = {"wind_speed": 6.0, "current_speed": 0.1, "berth_gap": 10.0}
    ways = [{"side_way": way, "tug_type": tug} for way in ("onto", "off") for tug in TYPES[:2]]
    starboard = run([{**BASE, **weather, **way, "turn": "starboard", "wind_from": 70.0, "current_to": 200.0,
                      "initial_heading": 30.0, "start_north": 20.0, "start_east": 5.0} for way in ways])  # fmt: skip
    port = run([{**BASE, **weather, **way, "turn": "port", "wind_from": 290.0, "current_to": 160.0,
                 "initial_heading": 330.0, "start_north": 20.0, "start_east": -5.0} for way in ways])  # fmt: skip
    assert endings(starboard) == endings(port) == ["completed"] * 4
    for name in (*OWN, "drift_distance", "peak_tension", "peak_contact_force"):
        np.testing.assert_allclose(port[name], starboard[name], rtol=1e-4, atol=1e-4, equal_nan=True, err_msg=name)


def test_a_wind_onto_the_berth_is_too_much_for_a_push_and_not_for_a_line_besides() -> None:
    # wind from port sets the barge on to starboard; a tug on her port side that only pushes can but feather
    onto = {**BASE, "wind_speed": 14.0, "wind_from": 270.0, "berth_gap": 40.0}
    found = run([{**onto, "making_fast": way, "line_length": 8.0, "tug_type": tug}
                 for tug in TYPES[:2] for way in ("one_way", "push_pull")])  # fmt: skip
    assert endings(found) == ["completed"] * 4
    pushed, checked = found["contact_speed"][::2], found["contact_speed"][1::2]
    assert np.all(pushed > 0.2)
    assert np.all(checked < 0.15)
    assert np.isnan(found["peak_tension"][::2]).all()
    assert np.all(found["peak_tension"][1::2] > 0.5 * TONNE_FORCE)
    assert np.all(found["tension_over_mbl"][1::2] < 0.5)
    assert np.all(found["shifts"][1::2] >= 1.0)


def test_a_wind_off_the_berth_beyond_her_pull_keeps_her_away() -> None:
    small = {**BASE, "bollard_pull": 5 * TONNE_FORCE, "loading": 0.2, "wind_from": 90.0, "time_limit": 600.0}
    found = run([{**small, "wind_speed": v} for v in (2.0, 29.0)])
    assert endings(found)[0] == "completed"
    assert endings(found)[1] in ("timed_out", "lost_station")  # which of the two hangs on where the wind lays her
    assert all(math.isnan(found[name][1]) for name in OWN)


def test_off_the_berth_on_a_line() -> None:
    cases = [
        {**BASE, "side_way": "off", "tug_type": tug, "line_length": 25.0, "wash_on_barge_share": share}
        for tug in TYPES
        for share in (1.0, 0.0)
    ]
    found = run(cases)
    assert endings(found) == ["completed"] * len(cases)
    np.testing.assert_allclose(found["drift_distance"], 15.0, atol=0.2)
    assert np.isnan(found["contact_speed"]).all() and np.isnan(found["berthing_energy"]).all()
    assert np.isnan(found["peak_contact_force"]).all()
    assert np.all(found["peak_tension"] > TONNE_FORCE)
    assert np.all(found["time_to_berth"][::2] > found["time_to_berth"][1::2])  # wash holds the barge back


def test_a_wind_that_presses_her_on_is_taken_by_the_berth() -> None:
    found = run([{**BASE, "side_way": "off", "wind_speed": 25.0, "wind_from": 90.0, "time_limit": 300.0,
                  "bollard_pull": 5 * TONNE_FORCE, "loading": 0.1, "power_setting": 0.2}])  # fmt: skip
    assert endings(found) == ["timed_out"]
    assert found["drift_distance"][0] < 1.0  # into the fenders, and no further


def judged(turned: float, clear: float, surge: float, sway: float, yaw: float, **values: Any) -> np.ndarray:
    """Memory after a tick at which the first corner is `clear` metres from the face, which was 0.05 m a tick before."""
    lane = Lane(**{**BASE, **values})
    half_length, half_beam = lane.parameters().barge_half_length, lane.parameters().barge_half_beam
    memory = np.zeros(len(MEMORY) * LANES)
    reach = half_length * abs(math.sin(turned)) + half_beam * math.cos(turned)
    side = 1.0 if values.get("turn", "starboard") == "starboard" else -1.0
    for tick, gap in ((1.0, 0.05), (2.0, clear)):
        east = side * (half_beam + 15.0 - reach - gap)
        lane.place("barge", 2.0, east, side * turned)
        lane.set(barge_surge=surge, barge_sway=side * sway, barge_yaw=side * yaw)
        memory[MEMORY.ticks], memory[MEMORY.time] = tick, 100.0 + TICK * tick
        judge_side(lane.s, lane.p, memory, lane.report, 0)
        assert (memory[MEMORY.outcome] == Outcome.completed) == (gap <= 0.0)
    return memory


@pytest.mark.parametrize("turn", ["starboard", "port"])
@pytest.mark.parametrize("turned", [math.radians(3.0), math.radians(-3.0)])
def test_what_the_first_corner_does_at_the_face(turn: str, turned: float) -> None:
    memory = judged(turned, -0.03, 0.2, 0.15, 0.002, turn=turn)
    assert memory[MEMORY.own_5] == pytest.approx(101.0 - TICK * 0.03 / 0.08)  # a straight line between two ticks
    # by hand, in axes of the berth: y across it, heading `turned`; bow or stern corner, 30 m from midships
    end = 1.0 if turned > 0.0 else -1.0
    along, across = 0.2 - 0.002 * 8.0, 0.15 + 0.002 * end * 30.0
    assert memory[MEMORY.own_6] == pytest.approx(along * math.sin(turned) + across * math.cos(turned))
    assert memory[MEMORY.own_7] == pytest.approx(abs(turned))
    assert memory[MEMORY.own_8] == pytest.approx(2.0)
    assert memory[MEMORY.own_9] == pytest.approx(60.0 * math.sin(abs(turned)))


def energy(turned: float) -> float:
    memory = judged(turned, -0.001, 0.0, 0.15, 0.0, water_depth=3.15)
    lane = Lane(**BASE, water_depth=3.15)
    yes = np.array([True])
    ran = Ran(memories=memory[::LANES, None], finals=np.zeros((1, 1)), parameters=lane.p[::LANES, None],
              sound=yes, completed=yes)  # fmt: skip
    return float(MANOEUVRE.outcomes(ran)["berthing_energy"][0])


def test_berthing_energy_flat_and_on_a_corner() -> None:
    # PIANC 2002: half M V^2 times CM, 1.8 for a clearance under the keel up to a tenth of the draught; here a twentieth
    flat = 0.5 * 2656.8e3 * 0.15**2 * 1.8
    assert energy(0.0) == pytest.approx(flat)
    # a corner well ahead of the rest: CE = (K^2 + R^2 cos^2) / (K^2 + R^2), K = (0.19 CB + 0.11) L, R to the corner
    turned = math.radians(4.0)
    gyration = (0.19 * 2656.8e3 / (1025.0 * 60.0 * 16.0 * 3.0) + 0.11) * 60.0
    corner, across = math.hypot(30.0, 8.0), 8.0 * math.cos(turned) + 30.0 * math.sin(turned)
    share = (gyration**2 + across**2) / (gyration**2 + corner**2)
    speed = 0.15 * math.cos(turned)
    assert energy(turned) == pytest.approx(flat * (speed / 0.15) ** 2 * share)
    assert share < 0.4
    # between the two it is drawn straight, by how far off the other corner is
    halfway = energy(math.asin(0.5 * FLAT_GAP / 60.0))
    assert energy(turned) < halfway < flat


def test_rows_of_the_berth_and_of_the_gear() -> None:
    for turn, side in (("starboard", 1.0), ("port", -1.0)):
        onto = Lane(**BASE, turn=turn, initial_heading=90.0, start_north=7.0).parameters()
        # heading east, starboard is south: the face lies 15 m off her starboard side
        assert onto.berth_north == pytest.approx(side)
        assert onto.berth_distance == pytest.approx(8.0 + 15.0 - side * 7.0)
        assert onto.berth_stiffness == 0.0 and onto.pushed_side == -side and onto.line_stiffness == 0.0
        off = Lane(**BASE, side_way="off", turn=turn, initial_heading=90.0).parameters()
        assert off.berth_north == pytest.approx(-side) and off.berth_distance == pytest.approx(8.0)
        assert off.berth_stiffness > 0.0 and off.fender_stiffness == 0.0 and off.line_stiffness > 0.0
        assert (off.barge_towing_x, off.barge_towing_y) == pytest.approx((0.0, side * 8.0))
        assert off.barge_wash > 0.0
