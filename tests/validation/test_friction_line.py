"""Friction line, and the polynomial that stands for it in the motion.

Source: ITTC-1957 ship-model correlation line, as in UFC 4-159-03 eq. 19; the
values are arithmetic of the formula, printed to five or six figures.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolkit.particulars import box_wetted_surface, friction_polynomial, ittc57_friction_coefficient

SPEED = np.linspace(0.2, 3.0, 57)


def line(length: float, surface: float, density: float, speed: np.ndarray) -> np.ndarray:
    return np.asarray(0.5 * density * surface * ittc57_friction_coefficient(speed * length / 1.19e-6) * speed**2)


def test_values_of_the_line() -> None:
    reynolds = np.array([1e6, 1e7, 1e8, 1e9, 1.558921e8])
    expected = [0.0046875, 0.0030000, 0.00208333, 0.00153061, 0.00195562]
    np.testing.assert_allclose(ittc57_friction_coefficient(reynolds), expected, rtol=3e-6)
    assert ittc57_friction_coefficient(1e8) == ittc57_friction_coefficient(reynolds)[2]


def test_no_value_where_the_line_has_no_meaning() -> None:
    np.testing.assert_array_equal(np.isnan(ittc57_friction_coefficient(np.array([0.0, 100.0, 9e3, 1e4]))), [1, 1, 1, 0])


def test_friction_of_the_reference_barge() -> None:
    # 60 x 16 x 3 m at 2 m/s: Re 1.0084e8, coefficient 0.0020808, 6.04 kN
    surface = box_wetted_surface(60.0, 16.0, 3.0)
    assert line(60.0, float(surface), 1025.0, np.array([2.0]))[0] == pytest.approx(6.04e3, rel=1e-3)
    linear, quadratic = friction_polynomial(60.0, surface, 1025.0)
    assert 2 * linear + 4 * quadratic == pytest.approx(6.04e3, rel=0.09)


@pytest.mark.parametrize("length", [6.0, 12.0, 30.0, 60.0, 140.0])
def test_fit_error(length: float) -> None:
    # 9 percent over 0.2 to 3 m/s is what two terms can do for a coefficient that halves over the fit; friction is
    # about a tenth of the drag of a square-ended barge, so the whole is touched by 1 percent
    linear, quadratic = friction_polynomial(length, 500.0, 1025.0)
    error = (linear * SPEED + quadratic * SPEED**2) / line(length, 500.0, 1025.0, SPEED) - 1
    assert np.max(np.abs(error)) < 0.09
    assert np.min(error) < 0 < np.max(error)  # a fit, not a bound


@given(length=st.floats(6.0, 140.0), surface=st.floats(1.0, 6000.0), density=st.floats(990.0, 1035.0))
def test_coefficients_dissipate_and_scale(length: float, surface: float, density: float) -> None:
    linear, quadratic = friction_polynomial(length, surface, density)
    assert linear >= 0
    assert quadratic >= 0
    twice = friction_polynomial(length, 2 * surface, density)
    np.testing.assert_allclose(twice, [2 * linear, 2 * quadratic], rtol=1e-12)


def test_arrays_agree_with_scalars() -> None:
    length, surface = np.array([12.0, 60.0, 105.0]), np.array([80.0, 1416.0, 3500.0])
    many = friction_polynomial(length, surface, 1025.0)
    one = [friction_polynomial(float(a), float(b), 1025.0) for a, b in zip(length, surface, strict=True)]
    np.testing.assert_array_equal(np.transpose(many), one)
