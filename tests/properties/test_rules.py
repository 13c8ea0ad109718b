"""What must hold of the rules for any numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from toolkit.rules import Verdict, berthing, bollard_pull, iacs_towing, imo_criteria, imo_towing, line_stiffness
from toolkit.rules.areas import area_between, dynamic_angle, first_intersection
from toolkit.rules.righting import RightingCurve, curve_from_table, wall_sided_curve

pulls = st.floats(5e4, 1e6)
masses = st.floats(5e4, 1e6)
heights = st.floats(0.5, 8.0)
heels = st.floats(0.0, 1.2)
moderate = settings(max_examples=40, deadline=None)


def sine(gm: float, flooding: float) -> RightingCurve:
    return RightingCurve(lever=lambda heel: gm * np.sin(heel), known_to=1.5, down_flooding=flooding)


@given(pulls, masses, heights, heels, st.floats(0.5, 0.9), st.floats(0.1, 10.0))
def test_self_tripping_goes_with_pull_and_height(
    pull: float, mass: float, height: float, heel: float, share: float, times: float
) -> None:
    fixed = {"displacement": mass, "coefficient": share, "height": height}
    one = imo_towing.self_tripping_lever(heel, bollard_pull=pull, **fixed)
    assert imo_towing.self_tripping_lever(heel, bollard_pull=times * pull, **fixed) == pytest.approx(times * one)
    assert imo_towing.self_tripping_lever(
        heel, bollard_pull=pull, displacement=mass, coefficient=share, height=times * height
    ) == pytest.approx(times * one)
    # tonnes and kilonewtons, as the Code writes it, give the same
    assert one == pytest.approx(share * pull / 1e3 * height * math.cos(heel) / (9.81 * mass / 1e3), rel=1e-12)


@given(pulls, masses, heights, heels)
def test_iacs_is_imo_with_seven_tenths(pull: float, mass: float, height: float, heel: float) -> None:
    iacs = iacs_towing.towing_heeling_lever(heel, bollard_pull=pull, displacement=mass, height=height)
    imo = imo_towing.self_tripping_lever(heel, bollard_pull=pull, displacement=mass, coefficient=0.7, height=height)
    assert iacs == imo


@moderate
@given(st.floats(0.3, 3.0), st.floats(0.02, 0.6), st.floats(0.2, 1.4))
def test_area_a_above_b_is_flooding_beyond_twice_the_equilibrium(gm: float, share: float, flooding: float) -> None:
    lever = share * gm
    equilibrium = math.atan(share)
    if abs(flooding - 2.0 * equilibrium) < 1e-3 or flooding <= equilibrium:
        return
    found = imo_criteria.self_tripping_criterion(sine(gm, flooding), lambda heel: lever * np.cos(heel))
    assert (found.verdict is Verdict.met) is (flooding > 2.0 * equilibrium)


@moderate
@given(st.floats(0.5, 2.5), st.floats(0.5, 4.0), st.floats(0.1, 0.4), st.floats(0.0, 0.5))
def test_upright_sides_never_break_a_criterion_of_area(gm: float, radius: float, edge: float, lever: float) -> None:
    """Without the curve beyond the deck edge a criterion of area is met or not assessable, never not met."""
    curve = wall_sided_curve(gm, radius, edge)

    def heeling(heel: object) -> object:
        return lever * np.cos(heel)  # type: ignore[call-overload]

    for found in (
        imo_criteria.self_tripping_criterion(curve, heeling),  # type: ignore[arg-type]
        *iacs_towing.towing_criteria(curve, heeling),  # type: ignore[arg-type]
    ):
        assert found.verdict is not Verdict.not_met


@moderate
@given(st.lists(st.floats(0.01, 0.4), min_size=5, max_size=12), st.floats(0.01, 0.3))
def test_thrown_to_lies_beyond_rest_and_balances_the_areas(steps: list[float], lever: float) -> None:
    heel = np.linspace(0.0, 1.2, len(steps) + 1)
    rise = np.concatenate([[0.0], np.cumsum(steps)])
    curve = curve_from_table(heel, rise)

    def heeling(angle: object) -> object:
        return lever + 0.0 * np.asarray(angle)

    rest, thrown = first_intersection(curve, heeling), dynamic_angle(curve, heeling)  # type: ignore[arg-type]
    if math.isnan(thrown):
        return
    assert thrown >= rest
    assert area_between(curve, heeling, 0.0, thrown) == pytest.approx(0.0, abs=1e-8)  # type: ignore[arg-type]


@given(st.floats(0.1, 20.0), st.floats(0.0, 100.0), st.floats(0.0, math.pi / 2), st.floats(0.0, 60.0))
def test_berthing_factors_stay_in_their_ranges(draught: float, clearance: float, angle: float, arm: float) -> None:
    assert 1.5 <= berthing.virtual_mass_factor(draught, under_keel_clearance=clearance) <= 1.8
    assert 0.0 < berthing.eccentricity_factor(15.0, arm, angle) <= 1.0


@given(masses, st.floats(1e4, 1e8), st.floats(0.01, 2.0))
def test_two_bodies_take_up_less_than_either_against_a_berth(first: float, second: float, speed: float) -> None:
    between = berthing.two_body_energy(first, second, speed)
    assert between < berthing.berthing_energy(min(first, second), speed, virtual_mass=1.0) * (1 + 1e-12)
    assert between == berthing.two_body_energy(second, first, speed)


@given(st.floats(1e4, 5e6), st.floats(0.5, 4.0), st.floats(0.1, 1.0))
def test_pull_stays_below_the_ceiling(power: float, diameter: float, efficiency: float) -> None:
    ceiling = bollard_pull.bollard_pull_ceiling(power, diameter)
    assert bollard_pull.ducted_thrust(power, diameter, efficiency=efficiency) <= ceiling * (1 + 1e-12)
    assert bollard_pull.open_disc_thrust(power, diameter) < ceiling


@given(st.floats(1e3, 1e7), st.floats(1e3, 1e7))
def test_springs_in_series_are_softer_than_each(first: float, second: float) -> None:
    both = line_stiffness.series_stiffness(first, second)
    assert both < min(first, second)
    assert both == pytest.approx(first * second / (first + second), rel=1e-12)
