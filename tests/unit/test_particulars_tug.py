"""The family of tugs against the invented series it was drawn through, and its bearing on heel and lead."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import numpy as np
import pytest

from toolkit.particulars import AZIMUTH_STERN_DRIVE, TRACTOR, tug_from_bollard_pull, tug_problems
from toolkit.particulars.common import GRAVITY, TONNE, TONNE_FORCE
from toolkit.particulars.tug_shares import TYPE_SHARES
from toolkit.quantities import INPUTS

# Invented series of Marrowby Basin, classes A to D.
PULL = np.array([30, 45, 60, 80]) * TONNE_FORCE
SERIES: dict[str, Any] = {
    "length": [24, 26, 30, 32],
    "beam": [9.5, 10.5, 11.5, 13.0],
    "draught": [3.8, 4.3, 4.8, 5.4],
    "displacement": np.array([320, 420, 560, 700]) * TONNE,
    "metacentric_height": [1.5, 1.7, 1.9, 2.3],
}
WHOLE_RANGE = np.array([3, 5, 10, 20, 30, 50, 80, 120]) * TONNE_FORCE


@pytest.mark.parametrize("name", SERIES)
def test_dimensions_of_the_series(name: str) -> None:
    # a power law through the two ends; the classes between are rounded to half metres and 20 t
    made = getattr(tug_from_bollard_pull(bollard_pull=PULL), name)
    np.testing.assert_allclose(made, SERIES[name], rtol=0.07)
    np.testing.assert_allclose(made[[0, 3]], np.asarray(SERIES[name])[[0, 3]], rtol=1e-12)


def test_deck_edge_angles_of_the_series() -> None:
    angle = np.degrees(tug_from_bollard_pull(bollard_pull=PULL).deck_edge_angle)
    np.testing.assert_allclose(angle, [12, 13, 14, 15], atol=0.2)


def test_deck_edge_angle_follows_freeboard() -> None:
    # atan(2 f / B): 0.5 m on 10 m 5.711 degrees, 1.2 m on 11 m 12.308 degrees
    tug = tug_from_bollard_pull(bollard_pull=PULL[:2], freeboard=np.array([0.5, 1.2]), beam=np.array([10.0, 11.0]))
    np.testing.assert_allclose(np.degrees(tug.deck_edge_angle), [5.711, 12.308], atol=5e-4)


def test_natural_roll_period_against_the_imo_formula() -> None:
    # IMO severe-wind criterion, from memory, not verified: T = 2 C B / sqrt(GM), C = 0.373 + 0.023 B/T - 0.043 L/100.
    # It is an estimate for ships; gyradius 0.35 to 0.42 of beam is itself 10 percent either way.
    tug = tug_from_bollard_pull(bollard_pull=WHOLE_RANGE)
    period = 2 * np.pi * np.sqrt(tug.roll_inertia / (tug.displacement * GRAVITY * tug.metacentric_height))
    shape = 0.373 + 0.023 * tug.beam / tug.draught - 0.043 * tug.length / 100
    np.testing.assert_allclose(period, 2 * shape * tug.beam / np.sqrt(tug.metacentric_height), rtol=0.13)
    assert np.all((period > 4.0) & (period < 8.0))


def test_metacentric_radius_of_a_box_waterplane() -> None:
    # B 11 m, T 4.5 m: a box has 2.2407 m
    tug = tug_from_bollard_pull(bollard_pull=PULL[0], beam=11.0, draught=4.5)
    assert tug.metacentric_radius == pytest.approx(0.85 * 2.2407, rel=1e-4)


def test_places_along_the_hull() -> None:
    tractor = tug_from_bollard_pull(bollard_pull=WHOLE_RANGE, tug_type_code=TRACTOR)
    stern_drive = tug_from_bollard_pull(bollard_pull=WHOLE_RANGE, tug_type_code=AZIMUTH_STERN_DRIVE)
    # fail-safe trail: pulled by the towing point she must turn her drives away from the line
    assert np.all(tractor.towing_point_x_fore_and_aft < tractor.lateral_resistance_x)
    assert np.all(stern_drive.towing_point_x_fore_and_aft > stern_drive.lateral_resistance_x)
    for tug in (tractor, stern_drive):
        assert np.all(np.abs(tug.towing_point_x_athwartships - tug.drive_x) < 0.06 * tug.length)
        assert np.all(tug.drive_depth < tug.draught)
        # the two discs do not overlap, nozzles included
        assert np.all(2 * tug.drive_half_spacing > 1.2 * tug.propeller_diameter)
        assert np.all(tug.lateral_resistance_depth + tug.towing_point_height > 0.5 * tug.draught)
    assert np.all(tractor.drive_x > 0)
    assert np.all(stern_drive.drive_x < 0)


def test_codes_are_the_choices_of_the_register() -> None:
    choices = INPUTS["tug_type"].choices
    assert (choices[TRACTOR], choices[AZIMUTH_STERN_DRIVE]) == ("tractor", "azimuth_stern_drive")
    assert len(choices) == len(TYPE_SHARES)


def test_thrust_of_a_drive() -> None:
    code = np.array([TRACTOR, AZIMUTH_STERN_DRIVE, AZIMUTH_STERN_DRIVE])
    tug = tug_from_bollard_pull(
        bollard_pull=40 * TONNE_FORCE,
        tug_type_code=code,
        bollard_pull_derate=np.array([1.0, 1.0, 0.5]),
        astern_pull_ratio=np.array([np.nan, np.nan, 0.7]),
    )
    np.testing.assert_allclose(tug.unit_thrust_ahead / TONNE_FORCE, [20, 20, 10])
    np.testing.assert_allclose(tug.unit_thrust_astern / TONNE_FORCE, [18.0, 18.6, 7.0])
    assert np.ptp(tug.length) == 0.0  # an old engine does not shrink the hull


def test_hull_given_without_displacement_keeps_its_fullness() -> None:
    family = tug_from_bollard_pull(bollard_pull=PULL[0])
    longer = tug_from_bollard_pull(bollard_pull=PULL[0], length=1.2 * 24.0)
    assert longer.displacement == pytest.approx(1.2 * family.displacement)
    assert longer.block_coefficient == pytest.approx(family.block_coefficient)


def test_almost_massless_tug_is_legal_and_carries_no_added_mass() -> None:
    tug = tug_from_bollard_pull(bollard_pull=PULL[0], displacement=1000.0)
    assert tug_problems(tug) == []
    for mass in (tug.sway_added_mass, tug.surge_added_mass):
        assert 0 < mass < 1000.0
    assert tug.roll_inertia == pytest.approx(1000.0 * (0.38 * 9.5) ** 2)


def test_sway_added_mass_is_of_the_order_of_the_mass() -> None:
    tug = tug_from_bollard_pull(bollard_pull=WHOLE_RANGE)
    share = tug.sway_added_mass / tug.displacement
    assert np.all((share > 0.6) & (share < 0.9))  # ships in sway; common practice, no source
    ratio = tug.yaw_added_inertia / tug.yaw_inertia
    assert np.all((ratio > 0.5) & (ratio < 1.3))


def test_small_tugs_are_flagged_and_still_tugs() -> None:
    tug = tug_from_bollard_pull(bollard_pull=np.array([3, 24, 25, 85, 86]) * TONNE_FORCE)
    np.testing.assert_array_equal(tug.out_of_family, [True, True, False, False, True])
    small = tug_from_bollard_pull(bollard_pull=3 * TONNE_FORCE)
    assert 8.0 < small.length < 16.0
    assert 0.3 < small.block_coefficient < 0.6
    assert tug_problems(tug_from_bollard_pull(bollard_pull=WHOLE_RANGE)) == []


def test_family_stays_inside_the_register() -> None:
    tug = tug_from_bollard_pull(bollard_pull=WHOLE_RANGE)
    inputs = {
        "tug_length": tug.length,
        "tug_beam": tug.beam,
        "tug_draught": tug.draught,
        "tug_freeboard": tug.freeboard,
    }
    inputs |= {"tug_displacement": tug.displacement, "metacentric_height": tug.metacentric_height}
    inputs |= {"towing_point_height": tug.towing_point_height, "fender_height": tug.fender_height}
    for name, value in inputs.items():
        assert np.all((value >= INPUTS[name].low) & (value <= INPUTS[name].high)), name


def test_every_field_has_the_common_shape_and_scalars_agree() -> None:
    code = np.array([0, 1, 0])
    many = tug_from_bollard_pull(bollard_pull=PULL[:3], tug_type_code=code, freeboard=np.array([np.nan, 1.0, np.nan]))
    for i, freeboard in enumerate([np.nan, 1.0, np.nan]):
        one = tug_from_bollard_pull(bollard_pull=float(PULL[i]), tug_type_code=int(code[i]), freeboard=freeboard)
        for field in fields(many):
            assert getattr(many, field.name).shape == (3,), field.name
            assert np.ndim(getattr(one, field.name)) == 0, field.name
            assert getattr(one, field.name) == getattr(many, field.name)[i], field.name


def test_problem_of_a_tug_heavier_than_her_box() -> None:
    (misfit,) = tug_problems(
        tug_from_bollard_pull(bollard_pull=PULL, displacement=np.array([9e5, np.nan, np.nan, np.nan]))
    )
    np.testing.assert_array_equal(misfit.mask, [True, False, False, False])
    assert "is outside [0, 0.9]" in str(misfit.problem("basin.toml: tug"))
