"""Girting beside published accidents: orders and ratios only, for no accident's hull data are complete.

What the accident reports of the British Marine Accident Investigation Branch (a conventional twin-screw stern tug lost
in 2023, report of 2024; reports 16/2017 and 4/2010) and of the Transportation Safety Board of Canada (M09W0141,
M18P0230) have in common, at second hand from their summaries: a conventional tug across her line behind or beside a
tow that makes 4 to 5 knots; line loads 2 to 5 times those at the speed recommended, that is 1.41 to 2.24 times that
speed, since the load goes with its square; gone in less than 10 s; a release not reached in time.

The scene here, with invented hulls: a barge of 5000 t carries her way through the water. A small conventional tug, fast
at her trailing end by a line of 40 m from her hook, has let herself be turned square to it and is without power; the
line is all but tight. She is dragged sideways. All of it is an assumption of the scene, the loads are the model's.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.one_case import TONNE_FORCE, Lane, columns_of
from toolkit.motion.engine import outcomes_of, run_prepared
from toolkit.motion.layout import PARAMETER_ROW, STATE_ROW
from toolkit.motion.prepare import prepare
from toolkit.quantities import Outcome

KNOT = 1852.0 / 3600.0
ALMOST_TIGHT = 0.995
POOR_CURVE = {"greatest_righting_lever": 0.22, "greatest_lever_angle": 22.0, "vanishing_angle": 42.0}
"""Righting lever of an old tug with little freeboard, invented [m], [degree]."""
SCENE: dict[str, Any] = {
    "manoeuvre": "check_way", "tug_type": "conventional", "bollard_pull": 12 * TONNE_FORCE, "displacement": 5e6,
    "line_length": 40.0, "power_setting": 0.3, "failure": "black_out", "failure_time": 0.0, "restart_time": 3600.0,
    "watch_time": 60.0,
}  # fmt: skip


def across_her_line(knots: list[float], **values: Any) -> dict[str, NDArray[Any]]:
    """Outcomes of the scene at speeds through the water, the tug put square to her line before it begins."""
    cases = [columns_of(**SCENE | values | {"start_speed": speed * KNOT}) for speed in knots]
    columns = {name: np.concatenate([case[name] for case in cases]) for name in cases[0]}
    prepared = prepare(columns)
    row = {name: prepared.parameters[i] for i, name in enumerate(PARAMETER_ROW._fields)}
    # the barge heads north and goes south; the tug heads east, her towing point straight ahead of the bow's
    initial = prepared.initial.copy()
    reach = ALMOST_TIGHT * row["line_length"]
    initial[STATE_ROW.tug_north] = row["barge_towing_x"] + reach
    initial[STATE_ROW.tug_east] = -row["tug_towing_x"]
    initial[STATE_ROW.tug_cosine], initial[STATE_ROW.tug_sine] = 0.0, 1.0
    initial[STATE_ROW.tug_surge], initial[STATE_ROW.tug_sway] = 0.0, -initial[STATE_ROW.barge_surge]
    prepared = replace(prepared, initial=initial)
    memories, finals = run_prepared(prepared)
    return outcomes_of(columns, prepared, memories, finals)


def ended(outcomes: dict[str, NDArray[Any]]) -> list[Outcome]:
    return [Outcome(int(code)) for code in outcomes["outcome"]]


@pytest.fixture(scope="module")
def by_speed() -> dict[str, NDArray[Any]]:
    return across_her_line([1.0, 2.0, 3.0, 4.0, 4.5, 5.0])


def test_line_load_goes_with_the_square_of_the_speed() -> None:
    """Quasi-static: what holds the tug square to the stream. 1.41 to 2.24 times the speed is 2 to 5 times the load."""

    def load(knots: float) -> float:
        lane = Lane(**SCENE).set(tug_sway=-knots * KNOT, tug_surge=0.0, barge_surge=0.0, wind_north=0.0)
        lane.place("tug", 500.0, 500.0, np.pi / 2.0).without("air").set(line_stiffness=0.0)
        return float(lane.rates().tug_sway)

    assert load(3.0 * 2.0**0.5) / load(3.0) == pytest.approx(2.0, rel=1e-6)
    assert load(3.0 * 5.0**0.5) / load(3.0) == pytest.approx(5.0, rel=1e-6)
    assert load(5.4) / load(3.0) == pytest.approx(3.24, rel=1e-6)


def test_peak_load_in_the_motion_goes_nearly_with_it(by_speed: dict[str, NDArray[Any]]) -> None:
    # up to where her deck goes under; the mean of the worst 3 s holds the jerk too, which goes with the speed
    steep = by_speed["peak_tension_3s"][2] / by_speed["peak_tension_3s"][1]
    assert 0.75 * 1.5**2 < steep < 1.02 * 1.5**2


def test_a_conventional_tug_across_her_line_is_lost_in_seconds_at_4_to_5_knots(
    by_speed: dict[str, NDArray[Any]],
) -> None:
    assert ended(by_speed)[3:] == [Outcome.deck_edge_immersed] * 3
    assert all(code is not Outcome.deck_edge_immersed for code in ended(by_speed)[:2])
    assert np.all(by_speed["end_time"][3:] < 5.0)
    assert np.all(np.diff(by_speed["end_time"][3:]) < 0.0)
    assert np.all(np.diff(by_speed["peak_heel"][:4]) > 0.0)
    assert np.all(by_speed["peak_lead_off_axis"] > 85.0)  # square across
    # long before the line parts: to wait for that is no safeguard
    assert np.all(by_speed["tension_over_mbl"] < 0.6)


def test_she_capsizes_within_ten_seconds_and_a_short_release_time_saves_her() -> None:
    def at_five_knots(**values: Any) -> dict[str, NDArray[Any]]:
        return across_her_line([5.0], **POOR_CURVE, **values)

    lost = at_five_knots()
    assert ended(lost) == [Outcome.capsized]
    assert lost["end_time"][0] < 10.0
    assert np.isnan(lost["released_at"][0])
    # let go at half the heel of the deck edge, at once seen
    quick = at_five_knots(release_heel_fraction=0.5, recognition_time=0.5, release_time=0.5)
    slower = at_five_knots(release_heel_fraction=0.5, recognition_time=1.0, release_time=1.0)
    assert ended(quick) == ended(slower) == [Outcome.line_released]
    assert quick["peak_heel"][0] < slower["peak_heel"][0] < 42.0
    assert quick["released_at"][0] < slower["released_at"][0] < lost["end_time"][0]
    # an ordinary crew and the 3 s of the class rules: too late for this tug
    late = at_five_knots(release_heel_fraction=0.5, recognition_time=4.0, release_time=3.0)
    assert ended(late) == [Outcome.capsized]


def test_a_conventional_tug_lists_more_than_one_that_tows_near_her_end(by_speed: dict[str, NDArray[Any]]) -> None:
    # common practice, no source: with the line abeam a conventional tug lists most; a tractor or an azimuth stern
    # drive swings into line, for she is towed by a point near one of her ends. None is immune
    azimuth = {
        tug: across_her_line([2.0, 3.0, 5.5], tug_type=tug, bollard_pull=30 * TONNE_FORCE)
        for tug in ("conventional", "tractor", "azimuth_stern_drive")
    }
    heel = {tug: found["peak_heel"] for tug, found in azimuth.items()}
    assert np.all(heel["conventional"][:2] > heel["tractor"][:2])
    assert np.all(heel["tractor"][:2] > heel["azimuth_stern_drive"][:2])
    assert ended(azimuth["conventional"])[2] is ended(azimuth["tractor"])[2] is Outcome.deck_edge_immersed
    assert azimuth["azimuth_stern_drive"]["peak_heel_fraction"][2] > 0.8
