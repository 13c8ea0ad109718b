"""Wind on a hull: the invariants of Blendermann's form, and its signs in axes with y to starboard.

Source: Blendermann 1994, form and table from memory, not verified; the invariants below follow from the form itself.
"""

from __future__ import annotations

import math

import pytest

from tests.one_case import Lane
from toolkit.loads.wind import wind_load

LATERAL, FRONTAL = 0.5 * 1.225 * 120.0, 0.5 * 1.225 * 40.0
SHAPE = (LATERAL, FRONTAL, 0.70, 0.90, 0.55, 0.40)


def load(from_bow: float, speed: float = 10.0, offset: float = 0.0) -> tuple[float, float, float]:
    """Load of a wind that comes FROM an angle off the bow, clockwise [degree]."""
    angle = math.radians(from_bow)
    return wind_load(-speed * math.cos(angle), -speed * math.sin(angle), *SHAPE, offset, 60.0)


def test_head_wind() -> None:
    surge, side, moment = load(0.0)
    assert surge == pytest.approx(-100.0 * FRONTAL * 0.90, rel=1e-12)
    assert side == pytest.approx(0.0, abs=1e-9)
    assert moment == pytest.approx(0.0, abs=1e-6)


def test_following_wind() -> None:
    surge, side, moment = load(180.0)
    assert surge == pytest.approx(100.0 * FRONTAL * 0.55, rel=1e-12)
    assert side == pytest.approx(0.0, abs=1e-9)
    assert moment == pytest.approx(0.0, abs=1e-6)


def test_wind_from_starboard_pushes_to_port() -> None:
    surge, side, moment = load(90.0)
    assert surge == pytest.approx(0.0, abs=1e-9)
    assert side == pytest.approx(-100.0 * LATERAL * 0.70, rel=1e-12)
    assert moment == pytest.approx(0.0, abs=1e-7 * 60.0 * abs(side))  # the arc sine's error
    assert load(270.0)[1] == pytest.approx(-side)


def test_beam_wind_on_a_house_aft_turns_the_bow_to_the_wind() -> None:
    _, side, moment = load(90.0, offset=-5.0)
    assert moment == pytest.approx(-5.0 * side, rel=1e-6)
    assert moment > 0.0


def test_oblique_wind_by_the_form() -> None:
    # wind 45 degrees forward of the starboard beam, worked from the printed form by hand
    surge, side, moment = load(45.0)
    ratio = 0.90 * FRONTAL / (0.70 * LATERAL)
    denominator = 1.0 - 0.2 * (1.0 - ratio)
    assert surge == pytest.approx(-100.0 * FRONTAL * 0.90 * math.sqrt(0.5) / denominator, rel=1e-12)
    assert side == pytest.approx(-100.0 * LATERAL * 0.70 * math.sqrt(0.5) / denominator, rel=1e-12)
    assert moment == pytest.approx(side * -0.18 * (math.pi / 4 - math.pi / 2) * 60.0, rel=1e-6)


def test_wind_lays_a_bare_box_broadside() -> None:
    # forward of the starboard beam it turns her bow away, to port; abaft it, toward it: either way beam to the wind
    assert load(45.0)[2] < 0.0 < load(135.0)[2]


def test_the_least_following_wind_finds_the_stern() -> None:
    for speed in (0.01, 0.5):
        assert load(180.0, speed)[0] == pytest.approx(speed**2 * FRONTAL * 0.55, rel=1e-7)
        assert load(0.0, speed)[0] == pytest.approx(-(speed**2) * FRONTAL * 0.90, rel=1e-7)


@pytest.mark.parametrize("from_bow", [10.0, 75.0, 120.0, 170.0])
def test_mirror(from_bow: float) -> None:
    surge, side, moment = load(from_bow, offset=2.0)
    mirrored = load(-from_bow, offset=2.0)
    assert mirrored == pytest.approx((surge, -side, -moment), rel=1e-12)


def test_goes_with_the_square_of_the_speed_and_vanishes_with_it() -> None:
    assert load(30.0, 20.0) == pytest.approx(tuple(4.0 * x for x in load(30.0, 10.0)), rel=1e-9)
    assert wind_load(0.0, 0.0, *SHAPE, 0.0, 60.0) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(("wind_from", "sense"), [(90.0, -1.0), (270.0, 1.0)])
def test_wind_heels_the_tug_away_from_it(wind_from: float, sense: float) -> None:
    # heel is positive starboard down; the barge is in line ahead or astern, so only wind acts athwart the tug
    lane = Lane(wind_speed=15.0, wind_from=wind_from, manoeuvre="swing_push", turn="starboard")
    lane.place("tug", 500.0, 0.0, 0.0).place("barge", 0.0, 0.0, 0.0)
    rates = lane.rates()
    assert math.copysign(1.0, rates.heel_rate) == sense
    assert math.copysign(1.0, rates.tug_sway) == sense
    assert math.copysign(1.0, rates.barge_sway) == sense
