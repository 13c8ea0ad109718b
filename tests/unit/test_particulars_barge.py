"""The family of barges against the invented series it was drawn through, and what must hold at every loading."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import numpy as np
import pytest

from toolkit.particulars import barge_from_displacement, barge_problems
from toolkit.particulars.common import TONNE, TONNE_FORCE

# Invented series of Marrowby Basin, laden, B03 to B100.
LADEN = np.array([300, 800, 1500, 2500, 4000, 6500, 10000]) * TONNE
SERIES: dict[str, Any] = {
    "length": [30, 42, 52, 62, 74, 90, 105],
    "beam": [8.0, 10.5, 12.5, 14.5, 16.5, 19.0, 22.5],
    "draught": [1.5, 2.1, 2.6, 3.1, 3.6, 4.2, 4.6],
    "block_coefficient": [0.81, 0.84, 0.87, 0.88, 0.89, 0.88, 0.90],
    "freeboard": [0.9, 1.0, 1.1, 1.2, 1.3, 1.4, 1.6],
}
LADEN_WINDAGE = [34, 53, 73, 97, 123, 164, 218]
LIGHT_WINDAGE = [70, 120, 175, 240, 320, 445, 580]
FITTING_SWL = np.array([8, 12, 18, 22, 30, 40, 50]) * TONNE_FORCE


@pytest.mark.parametrize("name", SERIES)
def test_dimensions_of_the_series(name: str) -> None:
    # a power law through the two ends; the series itself is rounded to half metres and tenths
    np.testing.assert_allclose(getattr(barge_from_displacement(displacement=LADEN), name), SERIES[name], rtol=0.07)


def test_ends_of_the_series_are_met() -> None:
    ends = barge_from_displacement(displacement=LADEN[[0, -1]])
    for name, values in SERIES.items():
        np.testing.assert_allclose(
            getattr(ends, name), [values[0], values[-1]], rtol=5e-3
        )  # draught follows from the rest


def test_windage_and_fitting_of_the_series() -> None:
    laden = barge_from_displacement(displacement=LADEN)
    light = barge_from_displacement(displacement=LADEN, loading=0.0)
    np.testing.assert_allclose(laden.lateral_windage, LADEN_WINDAGE, rtol=0.10)
    np.testing.assert_allclose(light.lateral_windage, LIGHT_WINDAGE, rtol=0.06)  # geometry alone, nothing fitted to it
    np.testing.assert_allclose(laden.fitting_swl, FITTING_SWL, rtol=0.12)


def test_volume_times_density_at_every_loading_and_density() -> None:
    loading, density = np.array([0.0, 0.3, 1.0, 1.0]), np.array([1025.0, 1025.0, 1025.0, 1000.0])
    barge = barge_from_displacement(displacement=454e3, loading=loading, water_density=density)
    volume = barge.length * barge.beam * barge.draught * barge.block_coefficient
    np.testing.assert_allclose(density * volume, barge.displacement, rtol=1e-13)
    np.testing.assert_allclose(barge.displacement[[0, 2]], [0.22 * 454e3, 454e3])
    np.testing.assert_allclose(barge.draught + barge.freeboard, barge.depth_moulded, rtol=1e-13)
    np.testing.assert_allclose(barge.draught[3] / barge.draught[2], 1.025, rtol=1e-13)  # she sits deeper in fresh water


def test_lightening_lifts_the_hull_into_the_wind() -> None:
    barge = barge_from_displacement(displacement=1.5e6, loading=np.linspace(0, 1, 6))
    for name in ("draught", "displacement", "sway_added_mass", "yaw_inertia", "wetted_surface"):
        assert np.all(np.diff(getattr(barge, name)) > 0), name
    for name in ("freeboard", "lateral_windage", "frontal_windage", "windage_centroid_height"):
        assert np.all(np.diff(getattr(barge, name)) < 0), name


def test_reference_barge() -> None:
    # 60 x 16 x 3 m, block coefficient 0.90: mass, box inertia and exact strip-theory added mass
    barge = barge_from_displacement(displacement=2656.8e3, length=60.0, beam=16.0, draught=3.0, freeboard=1.0)
    assert barge.block_coefficient == pytest.approx(0.90)
    assert barge.yaw_inertia == pytest.approx(8.537e8, rel=1e-4)
    assert np.sqrt(barge.yaw_inertia / barge.displacement) / barge.length == pytest.approx(0.2988, abs=5e-5)
    assert barge.sway_added_mass == pytest.approx(1547.6e3, rel=1e-4)
    assert barge.yaw_added_inertia == pytest.approx(4.643e8, rel=1e-4)
    assert barge.wetted_surface == pytest.approx(1416.0)


def test_given_values_win_and_nan_does_not() -> None:
    barge = barge_from_displacement(
        displacement=454e3, length=np.array([40.0, np.nan]), fitting_swl=np.array([np.nan, 7.0 * TONNE_FORCE])
    )
    family = barge_from_displacement(displacement=454e3)
    assert barge.length[0] == 40.0
    assert barge.length[1] == family.length
    assert barge.fitting_swl[0] == family.fitting_swl
    assert barge.fitting_swl[1] == 7.0 * TONNE_FORCE
    assert barge.block_coefficient[0] == pytest.approx(family.block_coefficient)  # the draught gave way


def test_every_field_has_the_common_shape_and_scalars_agree() -> None:
    displacement, loading = np.array([2e5, 9e5, 1e7]), np.array([0.0, 0.5, 1.0])
    many = barge_from_displacement(displacement=displacement, loading=loading)
    for i in range(3):
        one = barge_from_displacement(displacement=float(displacement[i]), loading=float(loading[i]))
        for field in fields(many):
            assert getattr(many, field.name).shape == (3,), field.name
            assert np.ndim(getattr(one, field.name)) == 0, field.name
            assert getattr(one, field.name) == getattr(many, field.name)[i], field.name


def test_a_case_does_not_depend_on_its_neighbours() -> None:
    displacement = np.geomspace(2e5, 1.2e7, 13)
    many = barge_from_displacement(displacement=displacement, loading=0.3)
    part = barge_from_displacement(displacement=displacement[5:8], loading=0.3)
    for field in fields(many):
        np.testing.assert_array_equal(getattr(part, field.name), getattr(many, field.name)[5:8], err_msg=field.name)


def test_family_flag() -> None:
    barge = barge_from_displacement(displacement=np.array([150e3, 200e3, 12e6, 13e6]))
    np.testing.assert_array_equal(barge.out_of_family, [True, False, False, True])
    flat = barge_from_displacement(displacement=454e3, loading=0.0, beam=18.0)
    assert flat.out_of_family  # beam over draught beyond the table of added mass


def test_problems_name_value_interval_and_remedy() -> None:
    assert barge_problems(barge_from_displacement(displacement=LADEN, loading=0.0)) == []
    sunk = barge_from_displacement(displacement=454e3, draught=np.array([1.0, 1.75, 9.0]))
    (misfit,) = barge_problems(sunk)
    np.testing.assert_array_equal(misfit.mask, [True, False, True])
    text = str(misfit.problem("basin.toml: barge.barge_draught"))
    assert text.startswith(
        "basin.toml: barge.barge_draught: block coefficient of the barge = 0.157 to 1.41 [1] is outside"
    )
    assert "[0.3, 1]" in text
    assert "Correct" in text
    names = [m.name for m in barge_problems(barge_from_displacement(displacement=454e3, beam=39.0, length=20.0))]
    assert names == ["length over beam of the barge"]
