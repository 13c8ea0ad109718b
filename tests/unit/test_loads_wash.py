"""Wash of a drive on the barge: the formula, the fading off the barge, force, lever and bounds."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolkit.kernels import compiled
from toolkit.loads.wash import presented, share_stopped, wash_on_barge
from toolkit.particulars.wash import (
    JET_SPREAD,
    NEAR_BOTTOM_RISE,
    WASH_EXPONENT,
    pull_left,
    wash_depth_factor,
    wash_strength,
)

HALF_LENGTH, HALF_BEAM, DRAUGHT = 30.0, 8.0, 3.0
HULL = (HALF_LENGTH, HALF_BEAM, DRAUGHT)
PULL, RADIUS = 1e5, 1.2


def ahead_of_the_bow(distance: float, off: float = 0.0, angle: float = 0.0, strength: float = 1.0) -> tuple[float, ...]:
    """Wash of a drive `distance` ahead of the bow, `off` to starboard, its jet `angle` off straight astern."""
    jet = -math.cos(angle), math.sin(angle)
    return wash_on_barge(PULL, *jet, -HALF_LENGTH - distance, -off, *HULL, strength, JET_SPREAD.value, RADIUS)


def test_formula_against_figures_worked_beforehand() -> None:
    # end of 16 x 3 m, side of 60 x 3 m; arithmetic of the formula as written, four figures
    np.testing.assert_allclose(
        pull_left(48.0, np.array([10.0, 20.0, 30.0, 50.0, 100.0])), [0.8642, 0.9284, 0.9514, 0.9704, 0.9850], atol=6e-5
    )
    np.testing.assert_allclose(pull_left(180.0, np.array([20.0, 30.0])), [0.766, 0.835], atol=6e-4)
    np.testing.assert_allclose(
        pull_left(np.array([100.0, 100.0, 54.0]), np.array([100.0, 30.0, 200.0])),
        [0.969218, 0.902615, 0.991548],
        atol=6e-7,
    )


def test_rational_function_is_the_formula() -> None:
    area, distance = (grid.ravel() for grid in np.meshgrid(np.geomspace(5.0, 300.0, 40), np.geomspace(5.0, 400.0, 40)))
    exact = pull_left(area, distance)
    left = 1.0 - np.array([share_stopped(float(a), float(x)) for a, x in zip(area, distance, strict=True)])
    error = np.abs(left / exact - 1.0)
    assert np.max(error) < 0.0022
    assert np.max(error[0.015 * area / distance < 0.15]) < 3e-5
    # the loss itself, which is what acts: within 0.1 percent of its value everywhere
    assert np.max(np.abs((1.0 - left) / (1.0 - exact) - 1.0)) < 1e-3


def test_straight_astern_on_a_line_the_loss_is_the_formula() -> None:
    for distance in (10.0, 20.0, 50.0):
        force, side, moment = ahead_of_the_bow(distance)
        assert force == pytest.approx(-PULL * (1.0 - pull_left(48.0, distance)), rel=1e-3)
        assert (side, moment) == (0.0, 0.0)


def test_outline_seen_along_a_jet_is_that_of_the_corners() -> None:
    for angle in np.linspace(0.0, 2.0 * math.pi, 37):
        jet = np.array([math.cos(angle), math.sin(angle)])
        right = np.array([-jet[1], jet[0]])
        apart = np.array([13.0, -41.0])
        corners = apart + np.array([(x, y) for x in (-HALF_LENGTH, HALF_LENGTH) for y in (-HALF_BEAM, HALF_BEAM)])
        along, offset, half_width, half_depth = presented(*jet, *apart, HALF_LENGTH, HALF_BEAM)
        assert (offset - half_width, offset + half_width) == pytest.approx(
            (np.min(corners @ right), np.max(corners @ right))
        )
        assert (along - half_depth, along + half_depth) == pytest.approx((np.min(corners @ jet), np.max(corners @ jet)))


@pytest.mark.parametrize("distance", [8.0, 20.0, 60.0])
def test_fades_with_the_angle_of_the_jet(distance: float) -> None:
    angles = np.radians(np.linspace(0.0, 90.0, 1801))
    forces = np.array([math.hypot(*ahead_of_the_bow(distance, angle=float(a))[:2]) for a in angles])
    near = angles < math.atan2(0.3 * HALF_BEAM, distance)
    assert np.all(forces[near] > 0.55 * forces[0])
    # nothing hits once the jet, as wide as it is abreast of the corner, passes the bow's corner by
    beyond = angles - math.atan2(HALF_BEAM, distance)
    reach = math.hypot(HALF_BEAM, distance)
    passes = reach * np.sin(beyond) > RADIUS + JET_SPREAD.value * np.maximum(reach * np.cos(beyond), 1.0)
    assert 0 < np.count_nonzero(passes) < len(angles)
    assert np.all(forces[passes] == 0.0)
    assert np.max(np.abs(np.diff(forces))) < 0.02 * PULL  # smooth: steps of 0.05 degrees


def test_half_the_jet_where_its_axis_passes_the_edge() -> None:
    for distance in (20.0, 40.0):
        full = abs(ahead_of_the_bow(distance)[0])
        radius = RADIUS + JET_SPREAD.value * distance
        if radius < HALF_BEAM:
            assert abs(ahead_of_the_bow(distance, off=HALF_BEAM)[0]) == pytest.approx(0.5 * full)
            assert abs(ahead_of_the_bow(distance, off=HALF_BEAM - radius)[0]) == pytest.approx(full)
        assert abs(ahead_of_the_bow(distance, off=HALF_BEAM + radius)[0]) == pytest.approx(0.0, abs=1e-9 * full)


def test_fades_as_the_barge_passes_abeam_of_the_drive() -> None:
    # drive off her side with the jet along it: whole while she lies ahead of the drive, half as midships is abreast
    def along(share: float) -> float:
        x = share * HALF_LENGTH
        return wash_on_barge(PULL, 1.0, 0.0, x, HALF_BEAM, *HULL, 1.0, JET_SPREAD.value, RADIUS)[0]

    whole = along(1.0)
    assert whole > 0.0
    assert along(0.0) == pytest.approx(0.5 * whole)
    assert along(0.5) == pytest.approx(0.84375 * whole)  # 3/4 of the way: 3 x^2 - 2 x^3
    assert along(-0.5) == pytest.approx(0.15625 * whole)
    assert along(-1.0) == 0.0


def test_the_whole_thrust_and_no_more() -> None:
    assert ahead_of_the_bow(2.0, strength=8.0)[0] == -PULL


def test_force_acts_along_the_jet_and_at_its_axis() -> None:
    # tug off the starboard bow pulls square to starboard: her wash runs to port onto the starboard bow
    ahead, side, moment = wash_on_barge(PULL, 0.0, -1.0, -20.0, -28.0, *HULL, 1.0, JET_SPREAD.value, RADIUS)
    assert ahead == 0.0
    assert side == pytest.approx(-PULL * (1.0 - pull_left(180.0, 20.0)), rel=1e-3)
    assert moment == pytest.approx(20.0 * side)  # x times side force: bow to port
    # beyond the bow the force acts on the bow itself
    _, side, moment = wash_on_barge(PULL, 0.0, -1.0, -33.0, -28.0, *HULL, 1.0, JET_SPREAD.value, RADIUS)
    assert side < 0.0
    assert moment == pytest.approx(HALF_LENGTH * side)


def test_no_force_from_a_jet_that_runs_away() -> None:
    # stem-on push: drives 25 m off the side, thrust toward the barge, wash away from her
    assert wash_on_barge(PULL, 0.0, 1.0, -20.0, -33.0, *HULL, 1.0, JET_SPREAD.value, RADIUS) == (0.0, 0.0, 0.0)
    # alongside, wash astern past the quarter, clear of the hull
    assert wash_on_barge(PULL, -1.0, 0.0, 20.0, -13.0, *HULL, 1.0, JET_SPREAD.value, RADIUS)[0] == 0.0


def test_shallow_water_and_the_share_raise_the_loss() -> None:
    assert wash_depth_factor(3.0, 1e9) == pytest.approx(1.0)
    assert wash_depth_factor(3.0, 3.0) == pytest.approx(NEAR_BOTTOM_RISE.value)
    assert wash_depth_factor(3.0, 2.0) == wash_depth_factor(3.0, 3.0)
    np.testing.assert_allclose(wash_depth_factor(3.0, np.array([3.6, 6.0])), [1.0 + 1.0 / 1.44, 1.25])
    np.testing.assert_allclose(wash_strength(np.array([0.0, 0.5, 2.0]), 3.0, 6.0), [0.0, 0.625, 2.5])
    once, twice = ahead_of_the_bow(20.0)[0], ahead_of_the_bow(20.0, strength=2.0)[0]
    assert twice == pytest.approx(2.0 * once)
    assert ahead_of_the_bow(20.0, strength=0.0) == (0.0, 0.0, 0.0)


def test_spreads_are_those_said() -> None:
    assert (math.degrees(math.atan(JET_SPREAD.low)), math.degrees(math.atan(JET_SPREAD.high))) == pytest.approx(
        (10.0, 15.0), abs=0.05
    )
    assert "not verified" in WASH_EXPONENT.mark


@given(
    angle=st.floats(0.0, 2.0 * math.pi),
    x=st.floats(-150.0, 150.0),
    y=st.floats(-150.0, 150.0),
    strength=st.floats(0.0, 8.0),
)
def test_never_more_than_the_thrust_and_mirrored(angle: float, x: float, y: float, strength: float) -> None:
    jet = math.cos(angle), math.sin(angle)
    ahead, side, moment = wash_on_barge(PULL, *jet, x, y, *HULL, strength, JET_SPREAD.value, RADIUS)
    force = ahead * jet[0] + side * jet[1]
    assert 0.0 <= force <= PULL * (1.0 + 1e-12)
    assert abs(moment) <= force * math.hypot(HALF_LENGTH, HALF_BEAM) * (1.0 + 1e-12)
    mirrored = wash_on_barge(PULL, jet[0], -jet[1], x, -y, *HULL, strength, JET_SPREAD.value, RADIUS)
    assert mirrored == (ahead, -side, -moment)


def test_compiled_twin_gives_the_same() -> None:
    arguments = (PULL, -0.8, 0.6, -45.0, 12.0, *HULL, 1.4, JET_SPREAD.value, RADIUS)
    assert compiled(wash_on_barge)(*arguments) == pytest.approx(wash_on_barge(*arguments), rel=1e-14)
