"""One-sided spring, sliding friction and righting lever."""

from __future__ import annotations

import math

import numpy as np
import pytest

from toolkit.loads.heel import beyond_deck_edge, righting_lever
from toolkit.loads.spring import one_sided_spring, sliding_friction


def test_spring_is_linear_and_acts_one_way() -> None:
    assert one_sided_spring(0.2, 0.0, 5e5, 0.1, 0.01) == pytest.approx(1e5, rel=1e-15)
    assert one_sided_spring(0.4, 0.0, 5e5, 0.1, 0.01) == pytest.approx(2e5, rel=1e-15)
    for stretch in (-1.0, -1e-12, 0.0):
        assert one_sided_spring(stretch, 3.0, 5e5, 0.1, 0.01) == 0.0


def test_spring_never_pushes_however_fast_it_lets_go() -> None:
    assert one_sided_spring(0.1, -100.0, 5e5, 0.1, 0.01) == 0.0
    # Kelvin and Voigt: k (e + t de/dt), exact once the stretch is past the fade
    assert one_sided_spring(0.1, 0.5, 5e5, 0.1, 0.01) == pytest.approx(5e5 * (0.1 + 0.1 * 0.5))


def test_spring_force_is_continuous_as_it_comes_into_action() -> None:
    # without the fade a line that comes taut at 2 m/s would jump by k t v = 1e5 N
    first = one_sided_spring(1e-9, 2.0, 5e5, 0.1, 0.01)
    assert 0.0 < first < 0.1
    forces = [one_sided_spring(e, 2.0, 5e5, 0.1, 0.01) for e in np.linspace(0.0, 0.02, 2001)]
    assert np.max(np.abs(np.diff(forces))) < 110.0  # steepest slope k + k t v / fade = 1.05e7 N/m, times 1e-5 m


def test_damping_takes_energy_out() -> None:
    # a stretch of 0.1 m out and back at 0.2 m/s: loss 2 k t v e less the fades' share (at most 2 k t v fade / 2)
    e, v = np.linspace(0.0, 0.1, 20_001), 0.2
    out = np.array([one_sided_spring(x, v, 5e5, 0.05, 0.001) for x in e])
    back = np.array([one_sided_spring(x, -v, 5e5, 0.05, 0.001) for x in e])
    loss = np.trapezoid(out - back, e)
    assert loss > 0.0
    # going back the force is cut at zero below e = t v, where k e is all it could give: that part loses less
    kept = 0.5 * 5e5 * (0.05 * v) ** 2
    assert loss == pytest.approx(2 * 5e5 * 0.05 * v * 0.1 - kept, rel=0.02)


def test_friction_opposes_slip_and_reaches_coulomb() -> None:
    assert sliding_friction(1e5, 0.0, 0.3, 0.05) == 0.0
    assert sliding_friction(1e5, 0.05, 0.3, 0.05) == pytest.approx(-0.3e5 / math.sqrt(2.0))  # the 71 percent
    assert sliding_friction(1e5, 5.0, 0.3, 0.05) == pytest.approx(-0.3e5, rel=1e-4)
    assert sliding_friction(1e5, -0.2, 0.3, 0.05) == -sliding_friction(1e5, 0.2, 0.3, 0.05)
    assert sliding_friction(0.0, 1.0, 0.3, 0.05) == 0.0


def test_righting_lever_against_the_exact_wall_sided_formula() -> None:
    # GM 1.5 m, BM 2.2407 m: 0.2665 m at 10 degrees and 0.5638 m at 20 (worked by hand, four figures)
    assert righting_lever(math.radians(10.0), 1.5, 2.2407) == pytest.approx(0.2665, abs=5e-5)
    assert righting_lever(math.radians(20.0), 1.5, 2.2407) == pytest.approx(0.5638, abs=5e-5)
    angles = np.linspace(-0.5, 0.5, 401)
    lever = np.array([righting_lever(float(x), 1.5, 2.2407) for x in angles])
    exact = np.sin(angles) * (1.5 + 0.5 * 2.2407 * np.tan(angles) ** 2)
    np.testing.assert_allclose(lever, exact, atol=1e-8)  # the series of the cosine: 2.8e-10
    np.testing.assert_array_equal(lever, [-righting_lever(float(-x), 1.5, 2.2407) for x in angles])


def test_righting_lever_is_that_of_a_box_by_geometry() -> None:
    # independent: a box of beam B, draught T, its centre of buoyancy found by integrating the wedge sections
    beam, draught, gravity, heel = 9.5, 3.8, 4.0, math.radians(14.0)  # centre of gravity above keel; deck not reached
    y = np.linspace(-0.5 * beam, 0.5 * beam, 20_001)
    depth = draught + y * math.tan(heel)
    area = np.trapezoid(depth, y)
    centre_y, centre_z = np.trapezoid(depth * y, y) / area, np.trapezoid(0.5 * depth**2, y) / area
    lever = centre_y * math.cos(heel) + (centre_z - gravity) * math.sin(heel)
    radius = beam**2 / (12.0 * draught)
    assert righting_lever(heel, 0.5 * draught + radius - gravity, radius) == pytest.approx(lever, rel=1e-6)


CURVE = {"edge": 0.2, "lever_at_edge": 0.3, "slope_at_edge": 1.4, "top": 0.5, "top_angle": 0.6, "vanishing": 1.1}


def test_lever_beyond_the_deck_edge_is_the_cubic_of_its_ends() -> None:
    # through both ends with their slopes there is one cubic, solved for here in the angle itself
    lines = [[0.2**n for n in range(4)], [0.6**n for n in range(4)], [0.0, 1.0, 0.4, 0.12], [0.0, 1.0, 1.2, 1.08]]
    cubic = np.linalg.solve(lines, [0.3, 0.5, 1.4, 0.0])
    for angle in np.linspace(0.2, 0.59, 14):
        lever = beyond_deck_edge(float(angle), **CURVE)
        assert lever == pytest.approx(cubic @ angle ** np.arange(4.0), rel=1e-9)
        assert beyond_deck_edge(-float(angle), **CURVE) == -lever


def test_lever_falls_by_a_parabola_and_is_held_far_beyond() -> None:
    # half way from the greatest lever to the angle of vanishing three quarters of it are left
    assert beyond_deck_edge(0.6, **CURVE) == pytest.approx(0.5)
    assert beyond_deck_edge(0.85, **CURVE) == pytest.approx(0.375)
    assert beyond_deck_edge(1.1, **CURVE) == pytest.approx(0.0, abs=1e-12)
    # twice as far over, and from there on, three times the greatest lever to the bad
    assert beyond_deck_edge(1.6, **CURVE) == pytest.approx(-1.5)
    assert beyond_deck_edge(2.5, **CURVE) == pytest.approx(-1.5)


def test_small_heel_is_linear() -> None:
    assert righting_lever(1e-4, 1.5, 2.2) == pytest.approx(1.5e-4, rel=1e-8)
