"""Sway added mass of a rectangle against quadrature of the conformal map and against a published table.

Source: DNV-RP-C205, Table D-1, added mass of rectangles, reference area pi a^2
with a the half width across the motion; figures from memory, not verified.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import ellipe, ellipk

from toolkit.particulars import rectangle_sway_coefficient, sway_added_mass, yaw_added_inertia
from toolkit.particulars.added_mass import _complete_elliptic, beam_over_draught_in_range


def quadrature(beam_over_draught: float) -> float:
    """Coefficient by integrating |dz/dtheta| = sqrt(|2 cos 2 theta - 2 cos 2a|) along the circle."""

    def sides(corner: float) -> tuple[float, float]:
        def speed(angle: float) -> float:
            return float(np.sqrt(abs(2 * np.cos(2 * angle) - 2 * np.cos(2 * corner))))

        return quad(speed, 0.0, corner)[0], quad(speed, corner, np.pi / 2)[0]

    def miss(corner: float) -> float:
        height, width = sides(corner)
        return 2 * width / height - beam_over_draught

    corner = brentq(miss, 0.05, 1.5, xtol=1e-13)
    height, width = sides(corner)
    return float((2 * np.pi * (1 - np.cos(2 * corner)) - 4 * height * width) / (np.pi * height**2))


@pytest.mark.parametrize("ratio", [1.0, 1.7, 2.0, 4.0, 16 / 3, 12.3, 40.0])
def test_against_quadrature(ratio: float) -> None:
    # the quadrature meets a square root at the corner: good to about 1e-7
    assert rectangle_sway_coefficient(ratio) == pytest.approx(quadrature(ratio), rel=2e-6)


def test_against_exact_values() -> None:
    # independently computed from the same map, printed to four decimals
    ratio = np.array([2.0, 4.0, 16 / 3, 6.0, 8.0, 10.0, 20.0])
    expected = [1.5132, 1.6955, 1.7801, 1.8160, 1.9070, 1.9803, 2.2212]
    np.testing.assert_allclose(rectangle_sway_coefficient(ratio), expected, atol=6e-5)


def test_against_the_published_table() -> None:
    # a/b = 2T/B, so B/T 2 4 10 20 are a/b 1, 0.5, 0.2, 0.1; the table is rounded, by 0.5 percent in the last entry
    published = [1.51, 1.70, 1.98, 2.23]
    np.testing.assert_allclose(rectangle_sway_coefficient(np.array([2.0, 4.0, 10.0, 20.0])), published, rtol=5e-3)


def test_elliptic_integrals() -> None:
    m = np.array([0.0, 1e-9, 0.05, 0.5, 0.95, 1 - 1e-9])
    first, second = _complete_elliptic(m)
    np.testing.assert_allclose(first, ellipk(m), rtol=1e-8)  # 1 - m itself is rounded near 1
    np.testing.assert_allclose(second, ellipe(m), rtol=1e-12)


def test_interpolation_is_smooth_and_rising() -> None:
    ratio = np.geomspace(1.0, 40.0, 20_000)
    slope = np.diff(rectangle_sway_coefficient(ratio)) / np.diff(np.log(ratio))
    assert np.all(slope > 0)
    assert np.max(np.abs(np.diff(slope))) < 1e-3


def test_held_and_flagged_outside_the_table() -> None:
    assert rectangle_sway_coefficient(0.5) == rectangle_sway_coefficient(1.0)
    assert rectangle_sway_coefficient(80.0) == rectangle_sway_coefficient(40.0)
    inside = beam_over_draught_in_range(np.array([0.5, 1.0, 40.0, 80.0]), 1.0)
    np.testing.assert_array_equal(inside, [False, True, True, False])


def test_reference_barge() -> None:
    # 60 x 16 x 3 m in 1025 kg/m3: 1547.6 t and 4.643e8 kg m2, printed to four figures
    sway = sway_added_mass(60.0, 16.0, 3.0, 1025.0)
    assert sway == pytest.approx(1547.6e3, rel=5e-5)
    assert yaw_added_inertia(sway, 60.0) == pytest.approx(4.643e8, rel=2e-4)
    many = sway_added_mass(np.array([60.0, 30.0]), 16.0, 3.0, 1025.0)
    np.testing.assert_allclose(many, [sway, 0.5 * sway])
