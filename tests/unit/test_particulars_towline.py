"""Breaking load, stiffness, damping and sag of the towline."""

from __future__ import annotations

import numpy as np
import pytest

from toolkit.particulars import (
    MATERIALS,
    line_damping,
    line_stiffness,
    line_weight,
    sag_matters,
    strain_at_break,
    stretch_fade,
    towline_mbl,
)
from toolkit.particulars.common import GRAVITY, TONNE_FORCE
from toolkit.quantities import INPUTS

HMPE, POLYESTER, NYLON, STEEL = range(4)


def test_materials_are_the_choices_of_the_register() -> None:
    assert tuple(material.name for material in MATERIALS) == INPUTS["line_material"].choices


def test_breaking_load_rule() -> None:
    # rule of the warranty surveyors, from memory, not verified: exact arithmetic of it as written
    pull = np.array([20, 40, 50, 60, 65, 80, 90, 100]) * TONNE_FORCE
    np.testing.assert_allclose(towline_mbl(pull) / TONNE_FORCE, [60, 120, 140, 156, 162.5, 176, 180, 200], rtol=1e-12)
    assert towline_mbl(65 * TONNE_FORCE) == towline_mbl(pull)[4]


def test_breaking_load_never_falls_with_pull() -> None:
    pull = np.linspace(3, 120, 1000) * TONNE_FORCE
    assert np.all(np.diff(towline_mbl(pull)) > 0)
    least, most = INPUTS["line_mbl"].low, INPUTS["line_mbl"].high
    assert np.all((towline_mbl(pull) >= least) & (towline_mbl(pull) <= most))


def test_stiffness_by_material() -> None:
    # 1500 kN, 50 m: exact arithmetic of breaking load / strain / length
    stiffness = line_stiffness(1.5e6, np.arange(4), 50.0) / 1e3
    np.testing.assert_allclose(stiffness[:3], [857.1, 250.0, 120.0], rtol=1e-4)
    assert stiffness[STEEL] > stiffness[HMPE]
    assert line_stiffness(1.5e6, POLYESTER, 50.0) == pytest.approx(250e3)


def test_steel_against_area_and_modulus() -> None:
    # 48 mm wire: breaking load 1451.8 kN, metallic area 0.46 d^2 at 100 GPa = 106 MN; both from memory, not verified.
    # A secant to the breaking load lies below the modulus of the working range.
    stiffness = line_stiffness(1451.8e3, STEEL, 1.0)
    assert 0.65 < stiffness / 106e6 < 1.0


def test_damping_and_fade_go_with_the_line() -> None:
    stiffness = line_stiffness(np.full(4, 1e6), np.arange(4), 20.0)
    damping = line_damping(stiffness, np.arange(4))
    np.testing.assert_allclose(damping / stiffness, [material.loss_time.value for material in MATERIALS])
    # damping is full once the line carries 2 percent of its breaking load
    np.testing.assert_allclose(stretch_fade(np.arange(4), 20.0) * stiffness, 0.02 * 1e6)


def test_weight_of_steel_wire() -> None:
    # 48 mm: about 0.0041 d^2 kg/m; from memory, not verified; the table is rounded to two figures
    assert line_weight(1451.8e3, STEEL) / GRAVITY == pytest.approx(0.0041 * 48**2, rel=0.02)
    assert line_weight(1e6, HMPE) < 0.2 * line_weight(1e6, STEEL)


def test_sag_stiffness_against_the_exact_catenary() -> None:
    # level catenary, dX/dH = (2/w)(asinh u - u / sqrt(1 + u^2)), u = w S / 2H: the flag's formula is its small-u limit
    mbl, length = 1.5e6, 120.0
    weight, tension = line_weight(mbl, STEEL), 0.1 * mbl
    u = weight * length / (2 * tension)
    exact = weight / (2 * (np.arcsinh(u) - u / np.sqrt(1 + u * u)))
    ratio = exact / line_stiffness(mbl, STEEL, length)
    assert bool(ratio < 5.0) == bool(sag_matters(mbl, STEEL, length))
    assert 3.0 < ratio < 5.0  # close to the edge, so that a slip of a factor two shows


def test_short_harbour_lines_need_no_sag_and_long_steel_does() -> None:
    mbl = np.full(4, 90 * TONNE_FORCE)
    assert not np.any(sag_matters(mbl, np.arange(4), 60.0))
    np.testing.assert_array_equal(sag_matters(mbl, np.arange(4), 150.0), [False, False, False, True])
    assert not sag_matters(90 * TONNE_FORCE, HMPE, 400.0)


def test_strain_by_code_array() -> None:
    np.testing.assert_array_equal(strain_at_break(np.array([STEEL, HMPE, NYLON])), [0.018, 0.035, 0.25])
