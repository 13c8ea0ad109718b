"""Bridle: nearest point of the lens, continuity, energy, leg loads, and the single point as its limit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import minimize

from toolkit.kernels import compiled
from toolkit.loads.bridle import bridle, greater_leg_share

SPREAD, LEG = 6.0, 15.0
TIP = math.sqrt(LEG**2 - SPREAD**2)
places = st.floats(-90.0, 90.0)


def outside(x: float, y: float, leg: float = LEG, spread: float = SPREAD) -> bool:
    """Farther than a leg from one fitting, so that the line has a length."""
    return max(math.hypot(x, y - spread), math.hypot(x, y + spread)) > leg + 0.01


def test_straight_ahead_both_legs_are_taut() -> None:
    assert bridle(50.0, 0.0, SPREAD, LEG) == pytest.approx((50.0 - TIP, TIP, 0.0))
    assert bridle(-50.0, 0.0, SPREAD, LEG) == pytest.approx((50.0 - TIP, -TIP, 0.0))


def test_abeam_the_leg_of_the_far_side_is_in_line_with_the_line() -> None:
    # tug to starboard: the port leg is taut across the bow, the line's end 15 m to starboard of the port fitting
    assert bridle(0.0, 60.0, SPREAD, LEG) == pytest.approx((60.0 + SPREAD - LEG, 0.0, LEG - SPREAD))
    assert bridle(0.0, -60.0, SPREAD, LEG) == pytest.approx((60.0 + SPREAD - LEG, 0.0, SPREAD - LEG))


@pytest.mark.parametrize("bearing", np.radians([0.0, 10.0, 20.0, 23.0, 24.0, 30.0, 60.0, 90.0, 150.0, 200.0, 300.0]))
def test_nearest_point_against_a_minimiser(bearing: float) -> None:
    tug = 45.0 * np.array([math.cos(bearing), math.sin(bearing)])
    legs = [
        {"type": "ineq", "fun": lambda p, side=side: LEG**2 - p[0] ** 2 - (p[1] - side * SPREAD) ** 2}
        for side in (1.0, -1.0)
    ]
    found = minimize(
        lambda p: float(np.sum((tug - p) ** 2)), 0.1 * tug, constraints=legs, method="SLSQP", options={"ftol": 1e-14}
    )
    reach, x, y = bridle(*tug, SPREAD, LEG)
    assert (x, y) == pytest.approx(tuple(found.x), abs=2e-4)
    assert reach == pytest.approx(math.sqrt(found.fun), abs=1e-5)


@given(x=places, y=places)
def test_the_point_lies_within_both_legs_and_the_reach_leads_to_it(x: float, y: float) -> None:
    assume(outside(x, y))
    reach, at_x, at_y = bridle(x, y, SPREAD, LEG)
    assert math.hypot(at_x, at_y - SPREAD) <= LEG + 1e-9
    assert math.hypot(at_x, at_y + SPREAD) <= LEG + 1e-9
    assert math.hypot(x - at_x, y - at_y) == pytest.approx(reach, abs=1e-6)
    assert bridle(x, -y, SPREAD, LEG) == pytest.approx((reach, at_x, -at_y))
    assert bridle(-x, y, SPREAD, LEG) == pytest.approx((reach, -at_x, at_y))


@given(x=places, y=places)
def test_force_and_moment_are_the_gradient_of_the_reach(x: float, y: float) -> None:
    """The pull of a unit tension: along the line on the tug, and about the middle of the fittings on the barge."""
    assume(outside(x, y))
    reach, at_x, at_y = bridle(x, y, SPREAD, LEG)
    assume(reach > 0.5)
    force = (x - at_x) / reach, (y - at_y) / reach
    step = 1e-5
    slope_x = (bridle(x + step, y, SPREAD, LEG)[0] - bridle(x - step, y, SPREAD, LEG)[0]) / (2.0 * step)
    slope_y = (bridle(x, y + step, SPREAD, LEG)[0] - bridle(x, y - step, SPREAD, LEG)[0]) / (2.0 * step)
    assert (slope_x, slope_y) == pytest.approx(force, abs=1e-4)
    # the barge turns to starboard by a small angle: the tug's place in her axes turns the other way
    c, s = math.cos(step), math.sin(step)
    turned = [bridle(c * x + sign * s * y, c * y - sign * s * x, SPREAD, LEG)[0] for sign in (1.0, -1.0)]
    moment = at_x * force[1] - at_y * force[0]
    assert -(turned[0] - turned[1]) / (2.0 * step) == pytest.approx(moment, abs=2e-3)


def test_no_work_is_left_after_a_round() -> None:
    # the tug goes round ahead of the barge and back through both states of the legs, tension one
    angle = np.linspace(0.0, 2.0 * math.pi, 40_001)
    path = np.stack([30.0 + 25.0 * np.cos(angle), 55.0 * np.sin(angle)], axis=-1)
    pulls = []
    for x, y in path:
        reach, at_x, at_y = bridle(float(x), float(y), SPREAD, LEG)
        pulls.append(((x - at_x) / max(reach, 1e-9), (y - at_y) / max(reach, 1e-9)) if reach > 0.0 else (0.0, 0.0))
    middle = 0.5 * (np.array(pulls[1:]) + np.array(pulls[:-1]))
    assert abs(np.sum(middle * np.diff(path, axis=0))) < 0.02
    # and there is a part with one leg, and one with both
    shares = [bridle(float(x), float(y), SPREAD, LEG)[2] == 0.0 for x, y in path]
    assert 0.1 < np.mean(shares) < 0.9


def test_continuous_as_one_leg_goes_slack() -> None:
    bearings = np.linspace(0.0, math.pi, 20_001)
    found = np.array([bridle(40.0 * math.cos(b), 40.0 * math.sin(b), SPREAD, LEG) for b in bearings])
    assert np.max(np.abs(np.diff(found, axis=0))) < 40.0 * (bearings[1] - bearings[0]) * 1.01


@given(x=places, y=places)
def test_no_spread_and_no_leg_is_a_single_point(x: float, y: float) -> None:
    reach, at_x, at_y = bridle(x, y, 0.0, 0.0)
    assert (at_x, at_y) == (0.0, 0.0)
    assert reach == math.sqrt(x * x + y * y + 1e-12)
    assert greater_leg_share(x, y, 0.0, 0.0) == 1.0


def test_legs_of_no_spread_only_lengthen_the_line() -> None:
    reach, at_x, at_y = bridle(30.0, 40.0, 0.0, 10.0)
    assert (reach, at_x, at_y) == pytest.approx((40.0, 6.0, 8.0))
    # legs as long as the half spread: the end of the line is held in the middle
    assert bridle(30.0, 40.0, 8.0, 8.0) == pytest.approx((50.0, 0.0, 0.0))


def test_a_tip_close_before_the_fittings() -> None:
    # legs hardly longer than the half spread, tip 0.5 m out: the tug 0.4 m beyond it on either side
    leg = math.hypot(SPREAD, 0.5)
    assert bridle(0.9, 0.0, SPREAD, leg) == pytest.approx((0.4, 0.5, 0.0), abs=1e-6)
    assert bridle(-0.9, 0.0, SPREAD, leg) == pytest.approx((0.4, -0.5, 0.0), abs=1e-6)


@pytest.mark.parametrize("side", [0.5, -0.5])
def test_half_a_metre_to_a_side_the_other_sides_fitting_holds(side: float) -> None:
    far = math.hypot(TIP, SPREAD + 0.5)
    y = math.copysign(LEG * (SPREAD + 0.5) / far - SPREAD, side)
    assert bridle(TIP, side, SPREAD, LEG) == pytest.approx((far - LEG, LEG * TIP / far, y))


def test_leg_loads_by_balance_of_the_tip() -> None:
    to_port, to_starboard = np.array([-TIP, -SPREAD]) / LEG, np.array([-TIP, SPREAD]) / LEG
    for bearing in np.radians([0.0, 5.0, -10.0, 20.0]):
        line = np.array([math.cos(bearing), math.sin(bearing)])
        loads = np.linalg.solve(np.stack([to_port, to_starboard], axis=-1), -line)
        assert np.all(loads >= 0.0)
        place = np.array([TIP, 0.0]) + 40.0 * line
        assert greater_leg_share(*place, SPREAD, LEG) == pytest.approx(np.max(loads), rel=1e-9)
    assert greater_leg_share(50.0, 0.0, SPREAD, LEG) == pytest.approx(0.5 * LEG / TIP)
    assert greater_leg_share(0.0, 50.0, SPREAD, LEG) == 1.0
    # continuous where the second leg goes slack: the line in the direction of the first
    edge = np.array([TIP, 0.0]) + 30.0 * np.array([TIP, SPREAD]) / LEG
    assert greater_leg_share(*(edge - [0.0, 1e-9]), SPREAD, LEG) == pytest.approx(1.0, abs=1e-8)


def test_leg_loads_alike_ahead_and_astern_and_by_scale() -> None:
    for x, y in ((50.0, 3.0), (20.0, -1.0)):
        share = greater_leg_share(x, y, SPREAD, LEG)
        assert 0.5 < share < 1.0
        assert greater_leg_share(-x, y, SPREAD, LEG) == share
        # the same figure at a twentieth of the size: half spread 0.3 m, tip 0.69 m
        assert greater_leg_share(x / 20.0, y / 20.0, SPREAD / 20.0, LEG / 20.0) == pytest.approx(share, rel=1e-6)


def test_leg_loads_without_bound_as_the_legs_come_into_line() -> None:
    # two cords in line across and the pull in the middle: each half the pull over the sine of its angle, 0.1 here
    slight = SPREAD / math.sqrt(1.0 - 0.01)
    assert greater_leg_share(50.0, 0.0, SPREAD, slight) == pytest.approx(5.0, rel=1e-6)
    assert greater_leg_share(50.0, 0.0, SPREAD, SPREAD) > 1e6


def test_compiled_twins_give_the_same() -> None:
    for place in ((40.0, 3.0), (10.0, -50.0)):
        for function in (bridle, greater_leg_share):
            assert compiled(function)(*place, SPREAD, LEG) == pytest.approx(function(*place, SPREAD, LEG), rel=1e-14)
