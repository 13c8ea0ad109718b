"""Linear hull derivatives by regression, skegs, and the forces made of them.

Source: Clarke, Gedling and Hine, Trans. RINA 125 (1983), from memory, not
verified. The numbers are arithmetic of the equations as written, to six
figures: they show that the code is the formula, not that the formula is the paper's.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolkit.kernels import compiled
from toolkit.loads.linear_hull import drift_weight, linear_hull
from toolkit.particulars.barge import barge_from_displacement
from toolkit.particulars.hull_derivatives import (
    SKEG_FORCE,
    SKEG_STATION,
    LinearHull,
    clarke_derivatives,
    damping_margin,
    linear_hull_coefficients,
    with_skegs,
)

HALF = 30.0
LENGTH, BEAM, DRAUGHT, BLOCK = 60.0, 16.0, 3.0, 0.90
MASS = 1025.0 * LENGTH * BEAM * DRAUGHT * BLOCK
SURGE_ADDED, SWAY_ADDED = 0.08 * MASS, 1547.6e3


def reference_hull(skeg_force: float = 0.0) -> LinearHull:
    return linear_hull_coefficients(
        clarke_derivatives(LENGTH, BEAM, DRAUGHT, BLOCK),
        length=LENGTH,
        water_density=1025.0,
        surge_added_mass=SURGE_ADDED,
        sway_added_mass=SWAY_ADDED,
        skeg_force=skeg_force,
    )


def forces(hull: LinearHull, u: float, v: float, r: float) -> tuple[float, float]:
    coefficients = (float(x) for x in (hull.yv, hull.yr, hull.nv, hull.nr, hull.skeg, hull.skeg_x))
    return linear_hull(u, v, r, *coefficients, HALF)


@pytest.mark.parametrize(
    ("hull", "expected"),
    [
        (
            (320.0, 58.0, 20.8, 0.81),
            (-0.0158461, -0.00127129, -0.00112886, -0.000821851, -0.0252651, 0.00430487, -0.00870724, -0.00341454),
        ),
        (
            (60.0, 16.0, 3.0, 0.90),
            (-0.0110375, -0.000666018, -0.000586431, -0.000604233, -0.0229336, 0.00267035, -0.00486947, -0.00242426),
        ),
    ],
)
def test_derivatives_worked_beforehand(hull: tuple[float, ...], expected: tuple[float, ...]) -> None:
    d = clarke_derivatives(*hull)
    found = (d.yv_rate, d.yr_rate, d.nv_rate, d.nr_rate, d.yv, d.yr, d.nv, d.nr)
    np.testing.assert_allclose(found, expected, rtol=5e-6)


def test_barges_are_flagged_as_too_beamy() -> None:
    beams = np.array([16.0, 60.0 / 5.6])
    np.testing.assert_array_equal(clarke_derivatives(60.0, beams, 3.0, 0.9).out_of_range, [True, False])


def test_skegs_are_a_fin_at_their_station() -> None:
    bare = clarke_derivatives(100.0, 20.0, 4.0, 0.85)
    finned = with_skegs(bare)
    # static lever Nv / Yv moves from ahead of midships to abaft it: two figures worked beforehand
    assert bare.nv / bare.yv == pytest.approx(0.221, abs=5e-4)
    assert finned.nv / finned.yv == pytest.approx(-0.209, abs=5e-4)
    fin = SKEG_FORCE.value
    assert (finned.yv, finned.yr) == pytest.approx((bare.yv - fin, bare.yr + 0.5 * fin))
    assert (finned.nv, finned.nr) == pytest.approx((bare.nv + 0.5 * fin, bare.nr - 0.25 * fin))
    assert finned.nr_rate == bare.nr_rate
    assert SKEG_STATION.value == -0.5


@pytest.mark.parametrize("skeg_force", [0.0, SKEG_FORCE.value])
def test_with_the_equations_of_motion_small_motions_feel_the_derivatives(skeg_force: float) -> None:
    # ideal-fluid parts of Kirchhoff's equations, -m_u u r and -(m_v - m_u) u v, put back by hand
    total = with_skegs(clarke_derivatives(LENGTH, BEAM, DRAUGHT, BLOCK), skeg_force)
    u, small = 1.5, 1e-5
    level = 0.5 * 1025.0 * LENGTH**2 * u
    hull = reference_hull(skeg_force)
    side, moment = forces(hull, u, small, 0.0)
    assert side / small == pytest.approx(level * total.yv, rel=1e-6)
    assert (moment / small) - (SWAY_ADDED - SURGE_ADDED) * u == pytest.approx(level * LENGTH * total.nv, rel=1e-6)
    side, moment = forces(hull, u, 0.0, small)
    assert side / small - SURGE_ADDED * u == pytest.approx(level * LENGTH * total.yr, rel=1e-6)
    assert moment / small == pytest.approx(level * LENGTH**2 * total.nr, rel=1e-6)


def test_going_astern_the_bare_hull_is_alike_and_the_skeg_leads() -> None:
    bare, finned = reference_hull(), reference_hull(SKEG_FORCE.value)
    u, v, r = 1.2, 0.05, 0.001
    # fore-and-aft mirror of a hull alike at both ends: u and r change sign, Y stays, N changes sign
    side, moment = forces(bare, u, v, r)
    assert forces(bare, -u, v, -r) == pytest.approx((side, -moment), rel=1e-14)
    # drifting to starboard: ahead the fin turns her bow to starboard, into the drift; astern it does the same, which
    # now turns the leading stern out of it
    skeg_ahead = forces(finned, u, v, 0.0)[1] - forces(bare, u, v, 0.0)[1]
    skeg_astern = forces(finned, -u, v, 0.0)[1] - forces(bare, -u, v, 0.0)[1]
    assert skeg_ahead > 0.0
    assert skeg_astern == pytest.approx(skeg_ahead)
    # the whole moment of sway, Munk's with it: ahead the skegs make her steady, astern unsteady
    munk = SWAY_ADDED - SURGE_ADDED
    assert forces(finned, u, v, 0.0)[1] - munk * u * v > 0.0
    assert forces(finned, -u, v, 0.0)[1] + munk * u * v > 0.0


def test_weight_and_limits() -> None:
    assert drift_weight(1.0, 0.0, 0.0, HALF) == pytest.approx(1.0)
    assert drift_weight(-1.0, math.tan(math.radians(30.0)), 0.0, HALF) == pytest.approx(0.5)
    assert drift_weight(1.0, 0.0, math.tan(math.radians(30.0)) / HALF, HALF) == pytest.approx(0.5)
    assert drift_weight(0.0, 0.5, 0.01, HALF) == 0.0
    assert drift_weight(0.0, 0.0, 0.0, HALF) == 0.0
    hull = reference_hull(SKEG_FORCE.value)
    assert forces(hull, 0.0, 0.5, 0.01) == (0.0, 0.0)
    # as way is lost the force goes with the cube of it: no lift left in a swing on the spot
    full, less = forces(hull, 1e-3, 0.5, 0.01), forces(hull, 5e-4, 0.5, 0.01)
    assert abs(full[0]) < 1e-2
    assert full[0] / less[0] == pytest.approx(8.0, rel=0.1)


@given(u=st.floats(-3.0, 3.0), v=st.floats(-1.5, 1.5), r=st.floats(-0.05, 0.05))
def test_mirror_scale_and_loss_of_energy(u: float, v: float, r: float) -> None:
    for hull in (reference_hull(), reference_hull(SKEG_FORCE.value)):
        side, moment = forces(hull, u, v, r)
        assert forces(hull, u, -v, -r) == (-side, -moment)
        assert side * v + moment * r <= 1e-9
        doubled = forces(hull, 2.0 * u, 2.0 * v, 2.0 * r)
        assert doubled == pytest.approx((4.0 * side, 4.0 * moment), rel=1e-9, abs=1e-6)


def test_no_energy_is_made_over_the_family() -> None:
    for loading in (0.0, 0.5, 1.0):
        barge = barge_from_displacement(displacement=np.geomspace(2e5, 1.2e7, 30), loading=loading)
        bare = clarke_derivatives(barge.length, barge.beam, barge.draught, barge.block_coefficient)
        hull = linear_hull_coefficients(
            bare,
            length=barge.length,
            water_density=1025.0,
            surge_added_mass=barge.surge_added_mass,
            sway_added_mass=barge.sway_added_mass,
        )
        assert np.min(damping_margin(hull)) > 1.4
        assert np.all(hull.yv < 0.0) and np.all(hull.nr < 0.0)
        # what is left of Munk's moment is for the lift to take: between half and two thirds
        share = hull.nv / (barge.sway_added_mass - barge.surge_added_mass)
        assert np.all((share > 0.5) & (share < 0.67))


def test_yaw_damping_is_never_driving() -> None:
    bare = clarke_derivatives(30.0, 20.0, 15.0, 0.9)
    assert bare.nr > 0.0  # the regression far out of its range
    hull = linear_hull_coefficients(
        bare, length=30.0, water_density=1025.0, surge_added_mass=1e5, sway_added_mass=2e6, skeg_force=0.0
    )
    assert hull.nr == 0.0


def test_compiled_twin_gives_the_same() -> None:
    arguments = (1.1, 0.2, -0.01, -4e4, 6e5, 8e5, -9e6, 3e4, -30.0, HALF)
    assert compiled(linear_hull)(*arguments) == pytest.approx(linear_hull(*arguments), rel=1e-14)
