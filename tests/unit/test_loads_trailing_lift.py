"""Lift of a tug's trailing end: signs, sides and sizes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.one_case import columns_of
from toolkit.loads.linear_hull import drift_weight
from toolkit.loads.trailing_lift import trailing_lift
from toolkit.motion.layout import PARAMETER_ROW
from toolkit.motion.prepare import prepare
from toolkit.particulars.tug_lift import LIFT_SHARES, trailing_end_lift
from toolkit.quantities import INPUTS

HULL = {"half_length": 12.0, "aft": 2e4, "fore": 1e4, "reach": 10.0}


def lift(surge: float, sway: float, yaw: float) -> tuple[float, float]:
    return trailing_lift(surge, sway, yaw, **HULL)


def test_by_hand() -> None:
    # ahead at 3 m/s, drifting 0.1 m/s to starboard: pushed to port at the stern, so bow to starboard, into the drift
    weight = drift_weight(3.0, 0.1, 0.0, 12.0)
    assert lift(3.0, 0.1, 0.0) == pytest.approx((-weight * 6e3, weight * 6e4))
    # astern: at the bow, half as strong
    assert lift(-3.0, 0.1, 0.0) == pytest.approx((-weight * 3e3, -weight * 3e4))
    # turning, either way on: against the turn
    assert lift(3.0, 0.0, 0.01)[1] < 0.0 and lift(-3.0, 0.0, 0.01)[1] < 0.0
    assert lift(0.0, 0.5, 0.1) == (0.0, 0.0)


@pytest.mark.parametrize("surge", [2.0, -2.0])
def test_mirror_and_loss_of_energy(surge: float) -> None:
    rng = np.random.default_rng(4)
    for sway, yaw in rng.uniform(-1.0, 1.0, (50, 2)) * (1.0, 0.1):
        side, moment = lift(surge, float(sway), float(yaw))
        assert lift(surge, -float(sway), -float(yaw)) == pytest.approx((-side, -moment))
        assert side * sway + moment * yaw <= 0.0


@pytest.mark.parametrize("surge", [2.0, -2.0])
def test_goes_with_the_square_of_the_speed(surge: float) -> None:
    # the same drift at an eighth of the speed, 0.25 m/s
    full = lift(surge, 0.4, 0.02)
    assert lift(surge / 8.0, 0.05, 0.0025) == pytest.approx((full[0] / 64.0, full[1] / 64.0))


@pytest.mark.parametrize("code", range(3))
def test_it_makes_up_for_most_of_the_ideal_fluids_moment_at_the_skeg(code: int) -> None:
    """Over the tugs of the family: what is left of Munk's moment per speed and cross velocity, in either direction."""
    word = INPUTS["tug_type"].choices[code]
    for pull in (30.0, 50.0, 80.0):
        row = prepare(columns_of(manoeuvre="tow_ahead", tug_type=word, bollard_pull=pull * 9806.65)).parameters[:, 0]
        munk = row[PARAMETER_ROW.tug_sway_mass] - row[PARAMETER_ROW.tug_surge_mass]
        reach = row[PARAMETER_ROW.tug_lift_reach]
        ahead = 1.0 - reach * row[PARAMETER_ROW.tug_lift_aft] / munk
        astern = 1.0 - reach * row[PARAMETER_ROW.tug_lift_fore] / munk
        assert -0.2 < min(ahead, astern) < max(ahead, astern) < 0.75
        # the skeg of a tractor trails as she heads, that of an azimuth stern drive as she tows over her bow
        assert bool(ahead < astern) is (word != "azimuth_stern_drive")


def test_the_section_and_its_shares() -> None:
    aft, fore = trailing_end_lift(4.0, np.array([0, 1, 2]), 1000.0)
    section = 0.5 * math.pi * 1000.0 * 16.0
    np.testing.assert_allclose(aft, [section * shares[0].value for shares in LIFT_SHARES])
    np.testing.assert_allclose(fore, [section * shares[1].value for shares in LIFT_SHARES])


def test_swings_are_without_it() -> None:
    row = prepare(columns_of(manoeuvre="swing_pull")).parameters
    assert row[PARAMETER_ROW.tug_lift_aft, 0] == row[PARAMETER_ROW.tug_lift_fore, 0] == 0.0
