"""Tension of a sagging line against the exact elastic catenary and the series stiffness."""

from __future__ import annotations

from math import asinh, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from toolkit.loads.towline import line_tension, static_tension


def tension_of(stretch: float, stiffness: float, weight: float, length: float) -> float:
    sag = weight**2 * length**3 / 24.0
    return static_tension(stretch, stiffness, sag, float(np.cbrt(stiffness * sag)))


def catenary(stretch: float, stiffness: float, weight: float, length: float) -> float:
    """Horizontal pull of the elastic catenary with level ends (Irvine; derivable, from memory)."""

    def missing(pull: float) -> float:
        return 2 * pull / weight * asinh(weight * length / (2 * pull)) + pull / stiffness - length - stretch

    return float(brentq(missing, 1e-3, 1e9, xtol=1e-9))


@pytest.mark.parametrize(
    ("stiffness", "weight", "length"),
    [(1.68e6, 9.0, 15.0), (1.0e6, 60.0, 60.0), (3e5, 60.0, 200.0), (2e5, 80.0, 500.0)],
)
def test_parabola_against_the_elastic_catenary(stiffness: float, weight: float, length: float) -> None:
    """1 percent while the line's weight is below 0.4 of the pull, 3 percent below 0.7: the next term of the series."""
    for share in (-0.02, -0.005, -0.001, 0.0, 0.001, 0.005, 0.02):
        exact = catenary(share * length, stiffness, weight, length)
        ours = tension_of(share * length, stiffness, weight, length)
        load = weight * length / exact
        if load < 0.7:
            assert ours == pytest.approx(exact, rel=0.01 if load < 0.4 else 0.03)


def test_tangent_stiffness_is_the_series_of_stretch_and_sag() -> None:
    """DNV-RP-H103 as quoted second hand: EA 1e8 N, L 500 m, T 200 kN, w 80 N/m give 75 000 N/m.

    The tangent is taken by a central difference of 2 mm, which is good to 1e-6.
    """
    elastic, weight, length, pull = 1e8 / 500.0, 80.0, 500.0, 200e3
    stretch = pull / elastic - weight**2 * length**3 / (24 * pull**2)
    above, below = (tension_of(stretch + d, elastic, weight, length) for d in (1e-3, -1e-3))
    assert tension_of(stretch, elastic, weight, length) == pytest.approx(pull, rel=1e-9)
    assert (above - below) / 2e-3 == pytest.approx(75e3, rel=1e-5)


def test_a_line_without_weight_is_a_plain_spring() -> None:
    assert static_tension(0.1, 1e6, 0.0, 0.0) == pytest.approx(1e5, rel=1e-12)
    assert static_tension(-0.1, 1e6, 0.0, 0.0) == 0.0
    assert static_tension(0.3, 0.0, 0.0, 0.0) == 0.0


def test_a_line_never_pushes() -> None:
    assert line_tension(0.01, -50.0, 1e6, 0.05, 0.01, 0.0, 0.0) == 0.0


@given(st.floats(1.0, 1e7), st.floats(1e4, 1e7), st.floats(0.5, 500.0), st.floats(3.0, 400.0))
def test_two_iterations_find_the_tension_that_the_stretch_was_worked_out_from(
    tension: float, stiffness: float, weight: float, length: float
) -> None:
    """To 1e-9 of it, slack or taut: the parabola gives the stretch of a tension without any iteration."""
    stretch = tension / stiffness - weight**2 * length**3 / (24.0 * tension**2)
    assert tension_of(stretch, stiffness, weight, length) == pytest.approx(tension, rel=1e-9)


@given(st.floats(-20.0, 5.0), st.floats(1e4, 1e7), st.floats(0.5, 500.0), st.floats(3.0, 400.0))
def test_more_stretch_is_more_tension(stretch: float, stiffness: float, weight: float, length: float) -> None:
    """And there is always some, and never less than the line's weight alone would make."""
    tension = tension_of(stretch, stiffness, weight, length)
    sag = weight**2 * length**3 / 24.0
    assert tension > 0.0
    assert tension_of(stretch + 0.01, stiffness, weight, length) > tension
    assert tension >= 0.999 * sqrt(sag / (abs(stretch) + tension / stiffness))


def test_the_worst_of_the_start_is_within_the_bound() -> None:
    """In the one number that the cubic hangs on, stretch over that of the sag's tension, finely from 1e-6 to 1e6."""
    sizes = np.logspace(-6.0, 6.0, 2401)
    for stretch in np.concatenate([-sizes[::-1], sizes]):
        found = static_tension(float(stretch), 1.0, 1.0, 1.0)
        error = found * found * (found - stretch) - 1.0
        slope = found * (3.0 * found - 2.0 * stretch)
        assert abs(error / slope) < 1e-9 * found + 1e-14 * abs(stretch)
