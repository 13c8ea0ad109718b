"""Cross-flow drag in closed form against quadrature of its integral, its numbers, its symmetries."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.integrate import quad

from toolkit.loads.cross_flow import cross_flow

velocities = st.floats(-5.0, 5.0, allow_subnormal=False)
rates_of_turn = st.floats(-0.5, 0.5, allow_subnormal=False)
HALF, C = 30.0, 0.5 * 1025.0 * 1.0 * 3.0


def quadrature(v: float, r: float, half: float, c: float) -> tuple[float, float]:
    """-c times the integral of (v + x r)|v + x r| and of its moment, split at the stagnation point."""
    inside = [-v / r] if r != 0.0 and abs(v / r) < half else None
    force = quad(lambda x: (v + x * r) * abs(v + x * r), -half, half, points=inside, epsabs=0.0, epsrel=1e-13)[0]
    moment = quad(lambda x: x * (v + x * r) * abs(v + x * r), -half, half, points=inside, epsabs=0.0, epsrel=1e-13)[0]
    return -c * force, -c * moment


@pytest.mark.filterwarnings("ignore::scipy.integrate.IntegrationWarning")
@given(v=velocities, r=rates_of_turn)
@example(v=0.3, r=1e-12)
@example(v=1e-14, r=1e-12)
@example(v=0.02 * HALF, r=0.02)
@example(v=-0.02 * HALF, r=0.02)
@example(v=0.02 * HALF * (1 + 1e-15), r=-0.02)
def test_closed_form_is_the_integral(v: float, r: float) -> None:
    # the quadrature is good to about 1e-13 of the integral of the absolute value, the scale that cancellation leaves
    scale_force = 2.0 * C * HALF * (abs(v) + abs(r) * HALF) ** 2
    force, moment = cross_flow(v, r, HALF, C)
    expected_force, expected_moment = quadrature(v, r, HALF, C)
    assert force == pytest.approx(expected_force, abs=1e-11 * scale_force + 1e-300)
    assert moment == pytest.approx(expected_moment, abs=1e-11 * scale_force * HALF + 1e-300)


@pytest.mark.parametrize(
    ("v", "r", "force", "moment"),
    [(0.3, 0.02, -17988.75, -368423.4375), (0.0, 0.02, 0.0, -249075.0), (1.5, 0.02, -218632.5, -1660500.0),
     (-0.3, 0.02, 17988.75, -368423.4375)],
)  # fmt: skip
def test_numbers_worked_by_quadrature(v: float, r: float, force: float, moment: float) -> None:
    # length 60 m, draught 3 m, coefficient 1: worked beforehand to all the figures printed
    assert cross_flow(v, r, HALF, C) == pytest.approx((force, moment), rel=1e-12)


def test_pure_yaw() -> None:
    # N = -rho CD T L^4 r|r| / 64
    for r in (0.04, -0.04):
        expected = -1025.0 * 3.0 * 60.0**4 * r * abs(r) / 64.0
        assert cross_flow(0.0, r, HALF, C) == pytest.approx((0.0, expected), rel=1e-14)


def test_almost_no_turn_is_pure_sway_with_the_drag_of_turning() -> None:
    # |v| > |r| L/2: N = -c v r L^3/6 exactly, where the difference of cubes would leave only rounding
    force, moment = cross_flow(0.3, 1e-12, HALF, C)
    assert force == pytest.approx(-C * 60.0 * 0.09, rel=1e-14)
    assert moment == pytest.approx(-C * 0.3 * 1e-12 * 60.0**3 / 6.0, rel=1e-14)
    assert cross_flow(0.0, 0.0, HALF, C) == (0.0, 0.0)


@pytest.mark.parametrize("r", [0.02, -0.3, 1e-12])
def test_both_forms_meet_where_the_stagnation_point_leaves_the_hull(r: float) -> None:
    v = abs(r) * HALF
    for sign in (1.0, -1.0):
        below = cross_flow(sign * v * (1.0 - 1e-9), r, HALF, C)
        above = cross_flow(sign * v * (1.0 + 1e-9), r, HALF, C)
        assert below == pytest.approx(above, rel=1e-8)


@given(v=velocities, r=rates_of_turn)
def test_symmetries(v: float, r: float) -> None:
    force, moment = cross_flow(v, r, HALF, C)
    # force odd and moment even in v; force even and moment odd in r: mirrors along and across the hull
    assert cross_flow(-v, -r, HALF, C) == (-force, -moment)
    assert cross_flow(-v, r, HALF, C) == (-force, moment)
    assert cross_flow(v, -r, HALF, C) == (force, -moment)


@given(v=velocities, r=rates_of_turn)
def test_drag_takes_energy_out_and_scales_with_the_square(v: float, r: float) -> None:
    force, moment = cross_flow(v, r, HALF, C)
    assert force * v + moment * r <= 0.0
    twice = cross_flow(2.0 * v, 2.0 * r, HALF, C)
    assert twice == pytest.approx((4.0 * force, 4.0 * moment), rel=1e-12, abs=1e-290)


def test_continuous_slope_in_sway() -> None:
    # dY/dv is continuous through the whole range: no corner where the formula changes
    v = np.linspace(-1.5, 1.5, 3001)
    force = np.array([cross_flow(float(x), 0.02, HALF, C)[0] for x in v])
    slope = np.diff(force) / np.diff(v)
    assert np.max(np.abs(np.diff(slope))) < 4.0 * C * HALF * 2.0 * 1e-3
    assert math.isclose(slope[0], slope[-1], rel_tol=1e-9)
