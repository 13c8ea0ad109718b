"""Rules as functions: sources stated, arrays as scalars, floors and limits."""

from __future__ import annotations

import inspect
import math

import numpy as np
import pytest

from toolkit import rules
from toolkit.rules import Certainty, berthing, bollard_pull, fittings, imo_towing, resistance, rule_sources, source_of

from toolkit.rules import areas, iacs_towing, imo_criteria, imo_intact, line_stiffness, righting, us_towing  # isort: skip

MODULES = (
    areas, berthing, bollard_pull, fittings, iacs_towing, imo_criteria, imo_intact, imo_towing, line_stiffness,
    resistance, righting, us_towing,
)  # fmt: skip
FUNCTIONS = [
    function
    for module in MODULES
    for name, function in vars(module).items()
    if name in module.__all__ and inspect.isfunction(function)
]


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: f"{function.__module__}.{function.__name__}")
def test_every_rule_states_its_source(function: object) -> None:
    source = source_of(function)  # type: ignore[arg-type]
    assert source.name
    assert isinstance(source.certainty, Certainty)
    text = function.__doc__ or ""
    assert "[" in text, "units in brackets"
    if source.certainty is Certainty.from_memory and function.__module__.endswith(("imo_criteria", "imo_towing")):
        assert "from memory" in text or function.__name__ in ("heel_correction", "lever_depth_coefficient",
                                                              "lateral_traction_coefficient")  # fmt: skip


def test_sources_are_a_table_of_text() -> None:
    table = rule_sources()
    assert {"towline.towline_mbl", "hull_drag.ittc57_friction_coefficient", "drives.ducted_thrust"} <= set(table)
    assert table["imo_towing.tow_tripping_lever"].certainty is Certainty.from_memory
    assert str(table["us_towing.towline_pull_criterion"]) == "46 CFR 173.095, (c) (verified)"
    with pytest.raises(TypeError):
        table["x"] = table["towline.towline_mbl"]  # type: ignore[index]
    with pytest.raises(KeyError):
        source_of(test_sources_are_a_table_of_text)


@pytest.mark.parametrize(
    ("drive", "over", "expected"),
    [
        ("azimuth_stern_drive", "stern", 0.7), ("azimuth_stern_drive", "bow", 0.5), ("tractor", "bow", 0.7),
        ("tractor", "stern", 0.5), ("conventional", "stern", 0.5), ("conventional", "bow", 0.5),
    ],
)  # fmt: skip
def test_floors_of_the_thrust_coefficient(
    drive: imo_towing.Drive, over: imo_towing.TowingOver, expected: float
) -> None:
    assert imo_towing.thrust_coefficient(drive, over, 1e6, 25.0) == expected
    if drive != "conventional":
        assert imo_towing.thrust_coefficient(drive, over, 0.0, 25.0) == 0.9
        assert imo_towing.thrust_coefficient(drive, over, -5.0, 25.0) == imo_towing.thrust_coefficient(
            drive, over, 5.0, 25.0
        )


def test_arrays_as_scalars() -> None:
    heel = np.radians([0.0, 10.0, 25.0])
    fixed = {"displacement": 4e5, "lateral_area": 80.0, "height": 3.0, "draught": 3.0, "towing_station": 9.0,
             "length": 25.0, "freeboard": 1.0, "beam": 10.0}  # fmt: skip
    many = imo_towing.tow_tripping_lever(heel, **fixed)
    one = [imo_towing.tow_tripping_lever(float(angle), **fixed) for angle in heel]
    np.testing.assert_array_equal(many, one)
    assert isinstance(one[0], float)
    np.testing.assert_array_equal(
        berthing.virtual_mass_factor(np.array([10.0, 5.0]), under_keel_clearance=np.array([2.0, 9.0])), [1.725, 1.5]
    )


def test_self_tripping_falls_to_nothing_on_her_side_and_an_offset_helps() -> None:
    fixed = {"bollard_pull": 5e5, "displacement": 4e5, "coefficient": 0.7, "height": 5.0}
    assert imo_towing.self_tripping_lever(math.pi / 2, **fixed) == pytest.approx(0.0, abs=1e-15)
    assert imo_towing.self_tripping_lever(0.3, **fixed, offset=0.5) < imo_towing.self_tripping_lever(0.3, **fixed)


def test_tow_tripping_upright_is_half_rho_v_squared() -> None:
    # C1 and C2 at 1, C3 at 0.5: drag of A_P at 0.5 d below the waterline, over the weight
    lever = imo_towing.tow_tripping_lever(
        0.0, displacement=4e5, lateral_area=80.0, height=3.0, draught=3.0, towing_station=20.0, length=25.0,
        freeboard=1.0, beam=10.0,
    )  # fmt: skip
    assert lever == pytest.approx(0.5 * 1025.0 * 2.57**2 * 80.0 * 4.5 / (4e5 * 9.81), rel=1e-12)


def test_pianc_factors_by_clearance() -> None:
    clearance = np.array([0.0, 1.0, 3.0, 5.0, 50.0])
    np.testing.assert_allclose(
        berthing.virtual_mass_factor(10.0, under_keel_clearance=clearance), [1.8, 1.8, 1.65, 1.5, 1.5]
    )


def test_a_blow_through_the_centre_leaves_all_the_energy() -> None:
    assert berthing.eccentricity_factor(15.0, 20.0, 0.0) == 1.0
    assert berthing.eccentricity_factor(15.0, 0.0, 1.0) == 1.0
    assert berthing.eccentricity_factor(15.0, 20.0, math.pi / 2) == pytest.approx(225.0 / 625.0)


def test_nothing_of_a_given_power_and_diameter_passes_the_ceiling() -> None:
    ceiling = bollard_pull.bollard_pull_ceiling(2e6, 2.4)
    for pull in (
        bollard_pull.pull_by_diameter(2e6, 2.4, 1.4),
        bollard_pull.pull_by_horsepower(2e6, "controllable_nozzle"),
        bollard_pull.pull_by_navy_rule(2e6, "nozzle", "high"),
        bollard_pull.ducted_thrust(2e6, 2.4),
    ):
        assert pull < ceiling
    assert ceiling / bollard_pull.bollard_pull_ceiling(2e6, 2.4, nozzle=False) == pytest.approx(2.0 ** (1 / 3))


def test_fitting_for_the_pull_of_a_harbour_tug_is_marked_with_that_pull() -> None:
    pull = np.array([1e5, 5e5])
    np.testing.assert_allclose(fittings.safe_towing_load(fittings.harbour_design_load(pull)), pull, rtol=1e-15)
    assert fittings.safe_towing_load(1e6, "escort") == 1e6
    assert fittings.pull_allowed_by_fitting(1e6) == 8e5


def test_forces_go_with_the_square_of_speed() -> None:
    for force in (
        lambda v: resistance.barge_friction_resistance(1000.0, v),
        lambda v: resistance.barge_wave_resistance(50.0, v),
        lambda v: resistance.barge_air_resistance(50.0, v),
        lambda v: resistance.ship_tow_propeller_resistance(10.0, v),
        lambda v: resistance.wind_on_body(10.0, v),
        lambda v: resistance.current_on_side(0.5, 60.0, 3.0, v),
    ):
        assert force(4.0) == pytest.approx(4.0 * force(2.0), rel=1e-12)


def test_package_offers_its_modules() -> None:
    assert set(rules.__all__) <= set(vars(rules))
