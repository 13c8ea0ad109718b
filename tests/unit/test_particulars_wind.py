"""Height profile, shape coefficients and static rule of the wind."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from scipy.integrate import quad

from toolkit.particulars import (
    BARGE_WIND,
    STATIC_RULE_FACTOR,
    TUG_WIND,
    barge_from_displacement,
    height_factor,
    static_beam_wind_force,
)
from toolkit.particulars.common import TONNE, TONNE_FORCE

KNOT = 1852 / 3600


def test_height_factor_against_quadrature() -> None:
    # the integrand has an endpoint root, so the quadrature is good to about 1e-9
    for top in (0.5, 3.0, 10.0, 25.0):
        mean = quad(lambda z: (z / 10.0) ** (2 / 7), 0.0, top)[0] / top
        assert height_factor(top) == pytest.approx(mean, rel=1e-7)
    assert height_factor(10.0) == pytest.approx(7 / 9)
    np.testing.assert_array_equal(height_factor(np.array([0.0, 3.0])), [height_factor(0.0), height_factor(3.0)])


def test_profile_behind_the_factor() -> None:
    # the pressure at h is d(h * mean)/dh; at 20 m the one-seventh power gives 1.1041 of the speed at 10 m
    h, step = 20.0, 1e-4
    pressure = ((h + step) * height_factor(h + step) - (h - step) * height_factor(h - step)) / (2 * step)
    assert np.sqrt(pressure) == pytest.approx(1.1041, abs=5e-5)


def test_static_rule_on_the_series() -> None:
    # beam wind of 30 knots on the invented series, coefficient 1.0, tonnes-force (printed to a tenth); the windage
    # of the family is up to 10 percent above the series
    laden = np.array([300, 800, 1500, 2500, 4000, 6500, 10000]) * TONNE
    force = static_beam_wind_force(barge_from_displacement(displacement=laden), 30 * KNOT) / TONNE_FORCE
    np.testing.assert_allclose(force, [0.5, 0.8, 1.1, 1.5, 1.9, 2.5, 3.3], rtol=0.10)
    assert STATIC_RULE_FACTOR == 1.25


def test_static_rule_goes_with_the_square_of_the_wind_and_with_windage() -> None:
    barge = barge_from_displacement(displacement=1e6)
    assert static_beam_wind_force(barge, 20.0) == pytest.approx(4 * static_beam_wind_force(barge, 10.0))
    light = barge_from_displacement(displacement=1e6, loading=0.0)
    assert static_beam_wind_force(light, 10.0) > 1.8 * static_beam_wind_force(barge, 10.0)


@pytest.mark.parametrize("shape", [BARGE_WIND, TUG_WIND])
def test_shape_coefficients_keep_the_force_finite(shape: object) -> None:
    # the denominator 1 - delta/2 (1 - CDl/CDt) sin(2e)^2 must stay positive over any shape of area
    values = {field.name: getattr(shape, field.name) for field in fields(shape)}  # type: ignore[arg-type]
    for name, judged in values.items():
        assert judged.low <= judged.value <= judged.high, name
        assert "not verified" in judged.mark
    assert 1 - 0.5 * values["cross_force"].high > 0.5
