"""The right-hand side in calm, with no orders and in even current: what is at rest stays at rest."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq, fsolve

from tests.one_case import REFERENCE, WAYS, Lane
from toolkit.loads.heel import righting_lever
from toolkit.particulars.common import GRAVITY

each_way = pytest.mark.parametrize(("manoeuvre", "attitude", "tug"), WAYS)
POSITIONS = ("barge_north", "barge_east", "tug_north", "tug_east")


@each_way
@pytest.mark.parametrize("turn", ["starboard", "port"])
def test_rest_stays_at_rest(manoeuvre: str, attitude: str, tug: str, turn: str) -> None:
    # drives idle, line slack or fender clear, no wind, no current: every rate is nothing, exactly
    lane = Lane(manoeuvre=manoeuvre, tug_attitude=attitude, tug_type=tug, turn=turn, initial_heading=123.0, **REFERENCE)
    assert not np.any(np.array(lane.rates()))
    assert lane.reported("tension") == lane.reported("contact") == 0.0


@each_way
def test_drifting_with_water_and_air_is_rest(manoeuvre: str, attitude: str, tug: str) -> None:
    # wind and current alike and both hulls adrift: only the places change, by the current
    lane = Lane(
        manoeuvre=manoeuvre, tug_attitude=attitude, tug_type=tug, start="with_water",
        current_speed=0.6, current_to=70.0, wind_speed=0.6, wind_from=250.0, **REFERENCE,
    )  # fmt: skip
    rates = lane.rates()
    drift = (0.6 * math.cos(math.radians(70.0)), 0.6 * math.sin(math.radians(70.0)))
    for name, value in rates._asdict().items():
        if name in POSITIONS:
            assert value == pytest.approx(drift[name.endswith("east")], rel=1e-14)
        else:
            assert abs(value) < 1e-20, name  # wind less current is nothing but for the last bit of a cosine


def test_held_over_ground_a_current_pushes_the_way_it_runs() -> None:
    lane = Lane(start="over_ground", current_speed=0.5, current_to=90.0, wind_load_multiplier=0.0, **REFERENCE)
    rates = lane.rates()
    assert rates.barge_east == pytest.approx(0.0, abs=1e-15)
    assert rates.barge_sway > 0.0  # heading north, the current sets her to starboard
    # UFC or any cross-flow drag: 1/2 rho CD L T v^2 over mass with added mass
    p = lane.parameters()
    assert rates.barge_sway == pytest.approx(2 * p.barge_cross_flow * p.barge_half_length * 0.25 / p.barge_sway_mass)


def righting(p: object, heel: float) -> float:
    """Righting moment of the wall-sided hull, written afresh."""
    gm, bm, weight = p.metacentric_height, p.metacentric_radius, p.tug_weight  # type: ignore[attr-defined]
    return float(weight * math.sin(heel) * (gm + 0.5 * bm * math.tan(heel) ** 2))


@pytest.mark.parametrize("tug", ["tractor", "azimuth_stern_drive"])
def test_static_heel_of_a_pull_across(tug: str) -> None:
    # lying across a line to a barge that does not move: pull at the towing point, thrust at the drives' depth. The
    # towing point is put over the drives so that nothing turns her; the drives' wash on each other is off
    lane = Lane(manoeuvre="swing_pull", tug_attitude="athwartships", tug_type=tug, mutual_wash_share=0.0, **REFERENCE)
    p = lane.parameters()
    thrust = 0.5 * p.unit_thrust
    lane.set(tug_towing_x=p.drive_x).thrust(thrust, math.pi / 2)  # both drives push her to starboard
    lane.place("barge", 0.0, 0.0, 0.0)
    pull = 2.0 * thrust * (1.0 - 0.5 * (1.0 - p.astern_ratio))

    def residual(x: np.ndarray) -> list[float]:
        heel, stretch = x
        tow_y = p.tug_towing_height * math.sin(heel)
        lane.place("tug", p.barge_towing_x - p.drive_x, p.line_length + stretch - tow_y, 0.0).set(heel=heel)
        rates = lane.rates()
        return [rates.heel_rate * p.tug_roll_inertia / 1e5, rates.tug_sway * p.tug_sway_mass / 1e5]

    (heel, _), _, found, message = fsolve(residual, [-0.05, pull / p.line_stiffness], full_output=True, xtol=1e-12)
    assert found == 1, message
    assert lane.reported("tension") == pytest.approx(pull, rel=1e-9)
    assert lane.rates().tug_yaw == pytest.approx(0.0, abs=1e-9)
    # by hand: pull times the height of the towing point over the drives, times cos heel, against the wall-sided moment;
    # toward the line, port down
    by_hand = brentq(
        lambda a: pull * math.cos(a) * (p.tug_towing_height - p.drive_height) - righting(p, a), 0.0, 0.5, xtol=1e-13
    )
    assert heel == pytest.approx(-by_hand, abs=1e-7)  # series of sine and cosine
    assert 0.0 < by_hand < p.deck_edge_angle


def test_static_heel_of_a_tug_dragged_sideways() -> None:
    # drives idle, dragged abeam by the line at a steady speed: pull at the towing point, drag at half the draught
    lane = Lane(manoeuvre="swing_pull", tug_attitude="athwartships", cross_velocity_share=0.0, wind_load_multiplier=0.0,
                **REFERENCE)  # fmt: skip
    speed = 1.2
    p = lane.parameters()
    centre = p.tug_resistance_centre
    lane.set(tug_towing_x=centre, barge_sway=-speed, tug_sway=-speed).place("barge", 0.0, 0.0, 0.0)
    drag = 2.0 * p.tug_cross_flow * p.tug_half_length * speed**2

    def residual(x: np.ndarray) -> list[float]:
        heel, stretch = x
        tow_y = p.tug_towing_height * math.sin(heel)
        lane.place("tug", p.barge_towing_x - centre, p.line_length + stretch - tow_y, 0.0).set(heel=heel)
        rates = lane.rates()
        return [rates.heel_rate * p.tug_roll_inertia / 1e5, rates.tug_sway * p.tug_sway_mass / 1e5]

    (heel, _), _, found, message = fsolve(residual, [-0.05, drag / p.line_stiffness], full_output=True, xtol=1e-12)
    assert found == 1, message
    assert lane.reported("tension") == pytest.approx(drag, rel=1e-9)
    by_hand = brentq(
        lambda a: drag * math.cos(a) * (p.tug_towing_height - p.tug_resistance_height) - righting(p, a),
        0.0,
        0.5,
        xtol=1e-13,
    )
    assert heel == pytest.approx(-by_hand, abs=1e-7)


def test_heel_under_a_lever_worked_by_hand() -> None:
    # 500 kN at 4 m on 700 t, GM 1.5 m: lever 0.2913 m, asin(0.1942) = 11.20 degrees linear; upright sides heel less
    lever = 500e3 * 4.0 / (700e3 * GRAVITY)
    linear, wall_sided = (
        math.degrees(brentq(lambda a, bm=bm: righting_lever(a, 1.5, bm) - lever, 0.0, 0.5)) for bm in (0.0, 2.2407)
    )
    assert linear == pytest.approx(11.20, abs=0.01)
    assert 10.5 < wall_sided < linear
