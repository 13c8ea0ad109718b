"""What fails, what the tug does then, and the line let go."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import xarray as xr
from numpy.typing import NDArray

import toolkit
from tests.one_case import REFERENCE, TONNE_FORCE, Lane
from tests.stacked import stacked
from toolkit.loads.heel import beyond_deck_edge, righting_lever
from toolkit.motion.aftermath import note_after_failure
from toolkit.motion.engine import evaluate_columns
from toolkit.motion.failures import BLACK_OUT, LINE_PARTS, STARBOARD_DRIVE_LOST
from toolkit.motion.layout import LANES, MEMORY, PARAMETER_ROW, STATE
from toolkit.motion.log import TICK
from toolkit.motion.prepare import prepare
from toolkit.motion.setting import Setting
from toolkit.quantities import INPUTS

PULL = {**REFERENCE, "manoeuvre": "swing_pull", "tug_type": "tractor", "bollard_pull": 45 * TONNE_FORCE}
FAILURES = INPUTS["failure"].choices


@pytest.fixture(scope="module")
def failed() -> xr.Dataset:
    return toolkit.evaluate(
        {**PULL, "line_length": 25.0, "failure": list(FAILURES), "failure_time": 90.0, "watch_time": 120.0,
         "wind_speed": 8.0, "wind_from": 250.0, "standby_pull": 30 * TONNE_FORCE}
    )  # fmt: skip


def value(found: xr.Dataset, name: str, failure: str) -> Any:
    return found[name].values[FAILURES.index(failure)]


def test_nothing_fails_unless_asked(failed: xr.Dataset) -> None:
    for name in ("failed_at", "drift_after_failure", "recovered", "standby_demand", "peak_heel_after_failure"):
        assert np.isnan(value(failed, name, "none")), name
    there = [word for word in FAILURES if word not in ("none", "fender_slips")]  # a pull has no fender to slip
    assert all(value(failed, "failed_at", word) == 90.0 for word in there)


def test_until_it_fails_the_case_is_the_same() -> None:
    cases = {**PULL, "failure": ["none", "black_out"], "failure_time": 60.0, "time_limit": 100.0}
    found = toolkit.evaluate(cases)
    one, other = (toolkit.history(found, case=i) for i in range(2))
    before = one["time"].values < 60.0
    for name in ("barge_heading", "line_tension", "thrust_port", "tug_heel"):
        assert np.array_equal(one[name].values[before], other[name].values[before]), name
    late = other["time"].values > 75.0
    assert other["thrust_port"].values[late].max() < 0.02 * one["thrust_port"].values.max()


def test_a_black_out_ends_with_the_restart() -> None:
    found = toolkit.evaluate({**PULL, "failure": "black_out", "failure_time": 60.0, "restart_time": 40.0})
    history = toolkit.history(found, case=0)
    time, thrust = history["time"].values, history["thrust_starboard"].values
    assert thrust[(time > 80.0) & (time < 100.0)].max() < 1e3
    assert thrust[time > 101.0].max() > 1e4


@pytest.mark.parametrize(("failure", "dead", "alive"), [
    ("starboard_drive_lost", "thrust_starboard", "thrust_port"),
    ("port_drive_lost", "thrust_port", "thrust_starboard"),
])  # fmt: skip
def test_one_drive_is_lost_and_the_other_works_on(failed: xr.Dataset, failure: str, dead: str, alive: str) -> None:
    history = toolkit.history(failed, case=FAILURES.index(failure))
    late = history["time"].values > 105.0
    assert history[dead].values[late].max() < 1e3
    assert history[alive].values[late].max() > 1e4


def test_a_stuck_drive_keeps_its_direction(failed: xr.Dataset) -> None:
    history = toolkit.history(failed, case=FAILURES.index("drive_stuck"))
    late = history["time"].values > 95.0
    assert np.ptp(history["azimuth_starboard"].values[late]) < 1e-6
    assert np.ptp(history["azimuth_port"].values[late]) > 1.0


def test_a_parted_line_pulls_no_more_and_is_watched(failed: xr.Dataset) -> None:
    assert value(failed, "outcome", "line_parts") == 6
    assert value(failed, "end_time", "line_parts") == pytest.approx(90.0 + 120.0)
    history = toolkit.history(failed, case=FAILURES.index("line_parts"))
    assert (history["line_tension"].values[history["time"].values > 90.5] == 0.0).all()
    assert value(failed, "drift_after_failure", "line_parts") > 1.0
    assert value(failed, "recovered", "line_parts") == 0.0


def test_standby_demand_is_the_static_load_broadside(failed: xr.Dataset) -> None:
    # no current: wind on the beam of the barge alone
    demand = value(failed, "standby_demand", "black_out")
    static = value(failed, "static_wind_demand", "black_out") * 45 * TONNE_FORCE / 1.25
    # less than by the static rule, which takes the wind at 10 m and a coefficient of 1 for a hull 1 m high
    assert 0.25 * static < demand < 0.6 * static
    assert value(failed, "standby_holds", "black_out") == 1.0


def test_the_line_is_let_go_after_recognition_and_release_time() -> None:
    across = {**PULL, "tug_attitude": "athwartships", "line_length": 25.0, "watch_time": 60.0}
    heel = toolkit.evaluate(across)["peak_heel_fraction"].item()
    share = 0.5 * heel
    found = toolkit.evaluate(
        {**across, "release_heel_fraction": share, "recognition_time": 4.0, "release_time": [3.0, 10.0]}
    )
    history = toolkit.history(found, case=0)
    edge = history.attrs["deck_edge_angle"]
    first = history["time"].values[np.argmax(np.abs(history["tug_heel"].values) >= share * edge)]
    assert found["released_at"].values[0] == pytest.approx(first + 7.0, abs=0.51)
    assert found["released_at"].values[1] - found["released_at"].values[0] == pytest.approx(7.0, abs=0.51)
    assert (found["outcome"].values == 11).all()
    assert (history["line_tension"].values[history["time"].values > found["released_at"].values[0] + 0.5] == 0.0).all()


def test_a_full_curve_is_smooth_at_the_edge_and_vanishes_where_it_should() -> None:
    gm, bm, edge = 1.5, 2.0, 0.21
    around = [righting_lever(edge + x, gm, bm) for x in (-1e-6, 0.0, 1e-6)]
    slope = (around[2] - around[0]) / 2e-6
    curve = (edge, around[1], slope, 0.5, 0.55, 1.1)
    assert beyond_deck_edge(edge, *curve) == pytest.approx(around[1])
    assert beyond_deck_edge(edge + 1e-6, *curve) == pytest.approx(around[2], abs=1e-9)
    assert beyond_deck_edge(0.55, *curve) == pytest.approx(0.5)
    assert beyond_deck_edge(1.1, *curve) == pytest.approx(0.0, abs=1e-12)
    assert beyond_deck_edge(-0.8, *curve) == -beyond_deck_edge(0.8, *curve) < 0.0
    assert beyond_deck_edge(1.2, *curve) < 0.0


def test_what_is_not_there_cannot_fail() -> None:
    push = {
        **REFERENCE,
        "manoeuvre": ["swing_push", "swing_pull"],
        "bollard_pull": 45 * TONNE_FORCE,
        "line_length": 25.0,
    }
    sound = toolkit.evaluate(push)
    parted = toolkit.evaluate({**push, "failure": ["line_parts", "fender_slips"], "failure_time": 30.0})
    assert np.isnan(parted["failed_at"].values).all()
    for name in ("time_to_turn", "peak_heel"):
        assert np.array_equal(parted[name].values, sound[name].values), name


def test_a_barge_that_drifts_onto_the_berth_by_herself_is_no_recovery() -> None:
    # wind from the tug's side, both drives out for good: she comes to the berth, and nobody brought her there
    found = toolkit.evaluate(
        {**REFERENCE, "manoeuvre": "side_push", "bollard_pull": 30 * TONNE_FORCE, "failure": "black_out",
         "failure_time": 60.0, "restart_time": 3600.0, "wind_speed": 10.0, "wind_from": 270.0}
    )  # fmt: skip
    assert found["outcome"].item() == 1
    assert found["recovered"].item() == 0.0


DEAD: dict[str, Any] = {
    **REFERENCE, "manoeuvre": "side_push", "bollard_pull": 30 * TONNE_FORCE, "failure": "black_out",
    "failure_time": 60.0, "restart_time": 3600.0, "wind_speed": 10.0, "wind_from": 270.0,
    "standby_pull": 30 * TONNE_FORCE, "standby_time": 600.0,
}  # fmt: skip


def test_contact_with_the_berth_of_a_side_push() -> None:
    found = toolkit.evaluate({**DEAD, "standby_time": [600.0, 10.0]})
    assert found["time_to_contact"].values == pytest.approx(found["time_to_berth"].values - 60.0, abs=0.51)
    assert found["standby_holds"].values.tolist() == [0.0, 1.0]  # in time for a standby tug, or not


def test_a_barge_that_lies_at_her_berth_has_not_met_it() -> None:
    found = toolkit.evaluate({**DEAD, "manoeuvre": "hold", "hold_time": 120.0, "wind_from": [270.0, 90.0]})
    assert np.isnan(found["time_to_contact"].values).all()
    assert found["drift_after_failure"].values[0] < 0.5 < found["drift_after_failure"].values[1]


def test_an_edge_of_the_basin_before_the_berth_comes_first() -> None:
    corners = np.array([[-200.0, -60.0], [200.0, -60.0], [200.0, 18.0], [-200.0, 18.0]])
    edges = np.column_stack([corners, np.roll(corners, -1, axis=0), np.zeros(4)])
    columns = stacked([DEAD])
    berth, edge = evaluate_columns(columns), evaluate_columns(columns, Setting(edges=edges))
    assert edge["outcome"][0] == 12
    assert edge["time_to_contact"][0] == pytest.approx(edge["end_time"][0] - 60.0, abs=1.0)
    assert edge["time_to_contact"][0] < berth["time_to_contact"][0] - 5.0


def after(kind: int, places: list[tuple[float, float]], seconds: float, **values: Any) -> NDArray[np.float64]:
    """Memory of a barge that is at one place after the other, evenly in time, from a failure at the first."""
    lane = Lane(**{**REFERENCE, "line_length": 30.0, **values})
    lane.set(failure=float(kind), recognition_time=4.0, restart_time=90.0)
    memory = np.zeros(len(MEMORY) * LANES)
    memory[MEMORY.failed_at], memory[MEMORY.berth_met_at] = 0.0, -1.0
    for time in np.arange(TICK, seconds + TICK, TICK):
        share = (time / seconds) * (len(places) - 1)
        for row, i in ((STATE.barge_north, 0), (STATE.barge_east, 1)):
            lane.s[row] = np.interp(share, np.arange(len(places)), [place[i] for place in places])
        memory[MEMORY.time] = time
        note_after_failure(lane.s, lane.p, memory, 0)
    return memory


def drifted(kind: int, places: list[tuple[float, float]], seconds: float, **values: Any) -> float:
    """Drift noted, as for `after`."""
    return float(np.sqrt(after(kind, places, seconds, **values)[MEMORY.drift_after_square]))


@pytest.mark.parametrize("turn", ["starboard", "port"])
def test_set_back_onto_the_berth_she_came_from(turn: str) -> None:
    side = 1.0 if turn == "starboard" else -1.0
    off = {"manoeuvre": "side_push", "side_way": "off", "turn": turn}
    back = [(0.0, 0.0), (0.0, 10.0 * side), (0.0, -2.0 * side)]
    assert after(BLACK_OUT, back, 240.0, **off)[MEMORY.berth_met_at] == pytest.approx(120.0 + 100.0, abs=TICK)
    barely = [(0.0, 0.0), (0.0, 0.4 * side), (0.0, -0.1 * side)]
    assert after(BLACK_OUT, barely, 240.0, **off)[MEMORY.berth_met_at] < 0.0


def test_drift_counts_until_she_is_in_hand_again() -> None:
    # 0.1 m/s for 100 s, stopped for 100 s, then on at 0.1 m/s
    places = [(0.0, 0.0), (6.0, 8.0), (6.0, 8.0), (12.0, 16.0)]
    assert drifted(BLACK_OUT, places, 300.0) == pytest.approx(10.0)  # power is back after 90 s
    assert drifted(STARBOARD_DRIVE_LOST, places, 300.0) == pytest.approx(10.0)  # moving away as he sees what is wrong
    assert drifted(LINE_PARTS, places, 300.0) == pytest.approx(20.0)  # never in hand again
    slow = [(0.03 * x, 0.04 * x) for x in (0.0, 100.0)]
    assert drifted(STARBOARD_DRIVE_LOST, slow, 300.0) == pytest.approx(0.0167 * 4.0, rel=0.15)  # slower than slow_speed


@pytest.mark.parametrize(
    ("values", "meant"),
    [({"manoeuvre": "tow_ahead"}, (1.0, 0.0)), ({"manoeuvre": "tow_ahead", "working_end": "stern"}, (-1.0, 0.0)),
     ({"manoeuvre": "check_way"}, (-1.0, 0.0)), ({"manoeuvre": "check_way", "check_from": "ahead"}, (1.0, 0.0)),
     ({"manoeuvre": "side_push"}, (0.0, 1.0)), ({"manoeuvre": "side_push", "turn": "port"}, (0.0, -1.0))],
)  # fmt: skip
def test_the_way_she_is_meant_to_go_is_no_drift(values: dict[str, Any], meant: tuple[float, float]) -> None:
    north, east = meant
    on, back, across = (20.0 * north, 20.0 * east), (-20.0 * north, -20.0 * east), (15.0 * east, 15.0 * north)
    start = (0.0, 0.0)
    assert drifted(LINE_PARTS, [start, on], 100.0, **values) == pytest.approx(0.0, abs=1e-9)
    assert drifted(LINE_PARTS, [start, back], 100.0, **values) == pytest.approx(20.0)
    both = (on[0] + across[0], on[1] + across[1])
    assert drifted(LINE_PARTS, [start, both], 100.0, **values) == pytest.approx(15.0)
    turned = prepare(stacked([{**values, "initial_heading": 90.0}])).parameters[:, 0]
    assert turned[PARAMETER_ROW.meant_north] == pytest.approx(-east, abs=1e-12)
    assert turned[PARAMETER_ROW.meant_east] == pytest.approx(north, abs=1e-12)


def test_a_tow_that_goes_on_with_one_drive_does_not_drift_by_what_it_tows() -> None:
    tow = {"manoeuvre": "tow_ahead", "line_length": 40.0, "bollard_pull": 30 * TONNE_FORCE, "displacement": 2e6,
           "failure": "starboard_drive_lost", "failure_time": 120.0, "time_limit": 400.0}  # fmt: skip
    found = toolkit.evaluate(tow)
    history = toolkit.history(found, case=0)
    run = np.ptp(history["barge_north"].values[history["time"].values >= 120.0])
    assert run > 50.0
    assert found["drift_after_failure"].item() < 2.0
