"""Calculations of the table of evidence: the toolkit's functions in the units of the sources."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from typing import Any

import numpy as np

from toolkit import particulars
from toolkit.rules import (
    berthing,
    bollard_pull,
    fittings,
    iacs_towing,
    imo_criteria,
    imo_towing,
    line_stiffness,
    resistance,
    us_towing,
)
from toolkit.rules.areas import area_between, area_under, dynamic_angle, first_intersection
from toolkit.rules.righting import RightingCurve, curve_from_table, wall_sided_lever

__all__ = ["CALCULATIONS"]

KN, TONNE, TONNE_FORCE, KNOT, DEGREE = 1e3, 1e3, 9806.65, 1852.0 / 3600.0, math.pi / 180.0
POUND, FOOT, LONG_TON, HORSEPOWER = 4.4482216152605, 0.3048, 1016.0469088, 745.69987158227
FOOT_DEGREE = 0.3048

CALCULATIONS: dict[str, Callable[..., Any]] = {}


def calculation(function: Callable[..., Any]) -> Callable[..., Any]:
    CALCULATIONS[function.__name__] = function
    return function


# levers and criteria of stability


@calculation
def thrust_coefficient(drive: str, over: str, l_m: float = math.nan, length_m: float = math.nan) -> float:
    return imo_towing.thrust_coefficient(drive, over, l_m, length_m)  # type: ignore[arg-type]


@calculation
def self_tripping(heel_deg: float, bp_kn: float, tonnes: float, c_t: float, h_m: float, r_m: float = 0.0) -> Any:
    return imo_towing.self_tripping_lever(
        heel_deg * DEGREE, bollard_pull=bp_kn * KN, displacement=tonnes * TONNE, coefficient=c_t, height=h_m, offset=r_m
    )


@calculation
def tow_tripping(heel_deg: float, towing_station_m: float = 12.5) -> Any:
    return imo_towing.tow_tripping_lever(
        heel_deg * DEGREE, displacement=400e3, lateral_area=80.0, height=3.0, draught=3.0,
        towing_station=towing_station_m, length=25.0, freeboard=1.0, beam=10.0,
    )  # fmt: skip


@calculation
def tow_tripping_coefficient(which: str, heel_deg: float = 0.0) -> Any:
    edge = imo_towing.deck_edge_angle(1.0, 10.0)
    if which == "C1":
        return imo_towing.lateral_traction_coefficient(12.5, 25.0)
    made = {"C2": imo_towing.heel_correction, "C3": imo_towing.lever_depth_coefficient}[which]
    return made(heel_deg * DEGREE, edge)


@calculation
def deck_edge(freeboard_m: float, beam_m: float) -> Any:
    return imo_towing.deck_edge_angle(freeboard_m, beam_m) / DEGREE


def sine_curve(gm: float, to_deg: float = 40.0, down_flooding_deg: float = math.nan) -> RightingCurve:
    return RightingCurve(
        lever=lambda heel: gm * np.sin(heel), known_to=to_deg * DEGREE, down_flooding=down_flooding_deg * DEGREE
    )


def cosine_lever(upright: float) -> Callable[[Any], Any]:
    return lambda heel: upright * np.cos(heel)


def constant_lever(size: float) -> Callable[[Any], Any]:
    return lambda heel: size + 0.0 * np.asarray(heel)


@calculation
def sine_against_cosine(what: str, gm_m: float, lever_m: float, flooding_deg: float = 40.0) -> float:
    curve, heeling = sine_curve(gm_m, 60.0, flooding_deg), cosine_lever(lever_m)
    found = imo_criteria.self_tripping_criterion(curve, heeling)
    return {
        "equilibrium": first_intersection(curve, heeling) / DEGREE,
        "A": found.value,
        "B": found.limit,
        "A/B": found.value / found.limit,
        "thrown to": dynamic_angle(curve, heeling) / DEGREE,
    }[what]


@calculation
def sine_against_constant(what: str, gm_m: float, lever_m: float) -> float:
    curve = sine_curve(gm_m)
    if what == "thrown to":
        return dynamic_angle(curve, constant_lever(lever_m)) / DEGREE
    if what == "A":
        start = first_intersection(curve, constant_lever(lever_m))
        return area_under(curve.lever, start, 20.0 * DEGREE)
    first, second, rest = imo_criteria.escort_criteria(curve, lever_m)
    return {"A/B": first.value, "C/D": second.value, "equilibrium": rest.value / DEGREE}[what]


@calculation
def table_of_sine_area(step_deg: float, to_deg: float) -> float:
    heel = np.arange(0.0, to_deg + 0.5 * step_deg, step_deg) * DEGREE
    curve = curve_from_table(heel, np.sin(heel))
    return area_under(curve.lever, 0.0, to_deg * DEGREE, curve.breaks)


@calculation
def table_area(step_deg: float, levers_m: list[float]) -> float:
    heel = step_deg * np.arange(len(levers_m)) * DEGREE
    curve = curve_from_table(heel, levers_m)
    return area_under(curve.lever, 0.0, float(heel[-1]), curve.breaks)


@calculation
def dynamical_stability(step_deg: float, levers_m: list[float], tonnes: float) -> float:
    return tonnes * table_area(step_deg, levers_m)


@calculation
def wall_sided(heel_deg: float, gm_m: float, bm_m: float) -> Any:
    return wall_sided_lever(heel_deg * DEGREE, gm_m, bm_m)


@calculation
def righting_moment_of_box(
    heel_deg: float, length_m: float, beam_m: float, draught_m: float, kg_m: float, density: float = 1.025
) -> Any:
    radius = beam_m**2 / (12.0 * draught_m)
    gm = 0.5 * draught_m + radius - kg_m
    return density * length_m * beam_m * draught_m * wall_sided_lever(heel_deg * DEGREE, gm, radius)


@calculation
def righting_moment(heel_deg: float, tonnes: float, gm_m: float, bm_m: float = 0.0) -> Any:
    return tonnes * wall_sided_lever(heel_deg * DEGREE, gm_m, bm_m)


@calculation
def iacs_over_imo(heel_deg: float) -> Any:
    fixed = {"bollard_pull": 5e5, "displacement": 4e5, "height": 5.0}
    ours = iacs_towing.towing_heeling_lever(heel_deg * DEGREE, **fixed)
    return ours / imo_towing.self_tripping_lever(heel_deg * DEGREE, coefficient=0.7, **fixed)


@calculation
def iacs_lever(heel_deg: float, pull_kn: float, tonnes: float, height_m: float) -> Any:
    return iacs_towing.towing_heeling_lever(
        heel_deg * DEGREE, bollard_pull=pull_kn * KN, displacement=tonnes * TONNE, height=height_m
    )


@calculation
def residual_area_sine(gm_m: float, lever_m: float, to_deg: float) -> float:
    curve, heeling = sine_curve(gm_m, 60.0, to_deg), cosine_lever(lever_m)
    return iacs_towing.towing_criteria(curve, heeling)[0].value


US_TUG = {
    "propellers": 2.0, "power": 1500e3, "diameter": 2.4, "intercepted": 0.55, "height": 4.5, "displacement": 450e3,
}  # fmt: skip


@calculation
def us_gm() -> Any:
    return us_towing.gm_required(**US_TUG, freeboard=1.2, beam=10.0)


@calculation
def us_gm_english_over_metric() -> Any:
    """The same tug by the English factor 38, in horsepower, feet and long tons, over the metric result."""
    power, feet = 1500e3 / HORSEPOWER, 1.0 / FOOT
    pull = 2.0 * (power * 2.4 * feet) ** (2.0 / 3.0) * 0.55 * 4.5 * feet
    return pull / (38.0 * 450e3 / LONG_TON * 0.12) * FOOT / us_gm()


@calculation
def us_lever() -> Any:
    return us_towing.towline_pull_lever(0.0, **US_TUG)


@calculation
def us_equilibrium() -> float:
    """Heel at which a hull with GZ = GM sin and just the GM of (b) meets the arm of (d)."""
    curve = sine_curve(float(us_gm()))
    return first_intersection(curve, lambda heel: us_towing.towline_pull_lever(heel, **US_TUG)) / DEGREE


@calculation
def us_limit(criterion: str) -> float:
    """Limits as coded, in metre-degrees."""
    curve = sine_curve(1.5, 60.0)
    intact = us_towing.tug_intact_criteria(curve)
    residual = us_towing.towline_pull_criterion(curve, constant_lever(0.1))
    return {"area": intact[0].limit, "area from 30": intact[1].limit, "residual": residual.limit}[criterion]


@calculation
def foot_degrees(value: float) -> float:
    return value * FOOT_DEGREE


@calculation
def metre_degrees_in_radians(value: float) -> float:
    return value * DEGREE


@calculation
def net_area_sine(gm_m: float, lever_m: float, low_deg: float, high_deg: float) -> float:
    return area_between(sine_curve(gm_m), cosine_lever(lever_m), low_deg * DEGREE, high_deg * DEGREE)


# lines and fittings


@calculation
def towline_mbl(pull_t: float) -> Any:
    return particulars.towline_mbl(pull_t * TONNE_FORCE) / TONNE_FORCE


@calculation
def harbour_fitting(what: str, pull_t: float) -> Any:
    design = fittings.harbour_design_load(pull_t)
    return {
        "design": design,
        "safe": fittings.safe_towing_load(design),
        "total": fittings.largest_total_load(design),
        "safe, revised": fittings.pull_allowed_by_fitting(design),
    }[what]


@calculation
def escort_fitting(strength_t: float) -> Any:
    return fittings.safe_towing_load(fittings.escort_design_load(strength_t), "escort")


@calculation
def line_limit(what: str, strength_kn: float) -> Any:
    if what == "brake":
        return fittings.winch_brake_holding(strength_kn)
    return fittings.working_load_limit(strength_kn, what)  # type: ignore[arg-type]


@calculation
def towline_spring(what: str, ea_n: float, length_m: float, pull_n: float, weight_n_m: float) -> Any:
    elastic = line_stiffness.elastic_stiffness(ea_n, length_m)
    sag = line_stiffness.sag_stiffness(pull_n, weight_n_m, length_m)
    return {"elastic": elastic, "sag": sag, "series": line_stiffness.series_stiffness(elastic, sag)}[what]


@calculation
def sag_over_catenary(ea_n: float, length_m: float, pull_n: float, weight_n_m: float) -> Any:
    """Sag stiffness by the rule over the exact tangent of the level catenary, differentiated numerically."""

    def span(pull: float) -> float:
        return 2.0 * pull / weight_n_m * math.asinh(weight_n_m * length_m / (2.0 * pull))

    step = 1e-4 * pull_n
    exact = 2.0 * step / (span(pull_n + step) - span(pull_n - step))
    return towline_spring("sag", ea_n, length_m, pull_n, weight_n_m) / exact


@calculation
def line_stiffness_of_material(material: str, mbl_kn: float, length_m: float) -> Any:
    code = next(i for i, one in enumerate(particulars.MATERIALS) if one.name == material)
    return particulars.line_stiffness(mbl_kn * KN, code, length_m) / KN


# berthing


@calculation
def mass_factor(method: str, draught_m: float, clearance_m: float = math.nan, beam_m: float = math.nan,
                block: float = math.nan) -> Any:  # fmt: skip
    return berthing.virtual_mass_factor(
        draught_m, method=method, under_keel_clearance=clearance_m, beam=beam_m, block=block  # type: ignore[arg-type]
    )  # fmt: skip


@calculation
def block(tonnes: float, length_m: float, beam_m: float, draught_m: float) -> Any:
    return berthing.block_coefficient(tonnes * TONNE, length_m, beam_m, draught_m)


@calculation
def gyration(block: float, length_m: float) -> Any:
    return berthing.gyration_radius(block, length_m)


@calculation
def eccentricity(k_m: float, r_m: float, angle_deg: float) -> Any:
    return berthing.eccentricity_factor(k_m, r_m, angle_deg * DEGREE)


@calculation
def container_ship_energy() -> Any:
    """The worked example from its own inputs, without rounding between."""
    tonnes, length, beam, draught = 208_000.0, 376.0, 57.0, 15.5
    turn = berthing.gyration_radius(berthing.block_coefficient(tonnes * TONNE, length, beam, draught), length)
    return berthing.berthing_energy(
        tonnes * TONNE, 0.1, virtual_mass=berthing.virtual_mass_factor(draught, method="vasco_costa", beam=beam),
        eccentricity=berthing.eccentricity_factor(turn, 74.52, 61.52 * DEGREE), softness=0.9,
    ) / 1e3  # fmt: skip


@calculation
def berthing_energy(tonnes: float, speed: float, mass_factor: float) -> Any:
    return berthing.berthing_energy(tonnes * TONNE, speed, virtual_mass=mass_factor) / 1e3


@calculation
def two_bodies(first_t: float, second_t: float, speed: float) -> Any:
    return berthing.two_body_energy(first_t * TONNE, second_t * TONNE, speed) / 1e3


@calculation
def snatch(first_t: float, second_t: float, speed: float, stiffness_kn_m: float) -> float:
    """Peak of a linear line that takes up the energy of two bodies: sqrt(2 k E)."""
    energy = float(berthing.two_body_energy(first_t * TONNE, second_t * TONNE, speed))
    return math.sqrt(2.0 * stiffness_kn_m * KN * energy) / KN


# bollard pull


@calculation
def disc(kind: str, kilowatts: float, diameter_m: float) -> Any:
    return bollard_pull.bollard_pull_ceiling(kilowatts * 1e3, diameter_m, nozzle=kind == "nozzle") / KN


@calculation
def disc_by_momentum(kind: str, kilowatts: float, diameter_m: float) -> Any:
    """Thrust found from momentum and energy of the wake by root finding, over the closed form."""
    from scipy.optimize import brentq

    area = math.pi * diameter_m**2 / 4.0

    def excess(wake: float) -> float:
        # nozzle: the far wake is as wide as the disc; open: the flow through the disc is half as fast
        flow = 1025.0 * area * (wake if kind == "nozzle" else 0.5 * wake)
        return 0.5 * flow * wake**2 - kilowatts * 1e3

    wake = brentq(excess, 0.1, 100.0, xtol=1e-13)
    thrust = 1025.0 * area * (wake if kind == "nozzle" else 0.5 * wake) * wake
    return bollard_pull.bollard_pull_ceiling(kilowatts * 1e3, diameter_m, nozzle=kind == "nozzle") / thrust


@calculation
def disc_at_efficiency(kilowatts: float, diameter_m: float, efficiency: float) -> Any:
    return particulars.ducted_thrust(kilowatts * 1e3, diameter_m, efficiency=efficiency) / KN


@calculation
def pull_by_diameter(kilowatts: float, diameter_m: float, nozzle_factor: float, losses: float = 0.9) -> Any:
    return bollard_pull.pull_by_diameter(kilowatts * 1e3, diameter_m, nozzle_factor, losses) / KN


@calculation
def pull_by_horsepower(kilowatts: float, propeller: str) -> Any:
    return bollard_pull.pull_by_horsepower(kilowatts * 1e3, propeller) / TONNE_FORCE


@calculation
def pull_by_navy(kilowatts: float, kind: str, end: str) -> Any:
    return bollard_pull.pull_by_navy_rule(kilowatts * 1e3, kind, end) / POUND / 2240.0  # type: ignore[arg-type]


@calculation
def family_pull_per_hundred_horsepower(pull_t: float, diameter_m: float) -> Any:
    power = particulars.ducted_power(0.5 * pull_t * TONNE_FORCE, diameter_m)
    return 0.5 * pull_t / (power / HORSEPOWER / 100.0)


# resistance, current, static towing


@calculation
def friction_line(reynolds: float) -> Any:
    return particulars.ittc57_friction_coefficient(reynolds)


@calculation
def deep_coefficient(length_m: float, beam_m: float) -> Any:
    return particulars.ufc_deep_coefficient(length_m, beam_m)


@calculation
def shallow_coefficient(length_m: float, beam_m: float, depth_over_draught: float) -> Any:
    return particulars.depth_corrected_coefficient(
        particulars.ufc_deep_coefficient(length_m, beam_m), 1.0, depth_over_draught
    )


FRIGATE = {"length_m": 124.4, "draught_m": 4.389}
"""Length from memory; draught from the table's T/d times d."""


def frigate_force(deep: float, depth_m: float) -> float:
    coefficient = particulars.depth_corrected_coefficient(deep, FRIGATE["draught_m"], depth_m)
    return float(resistance.current_on_side(coefficient, FRIGATE["length_m"], FRIGATE["draught_m"], 1.5)) / 1e6


def frigate_deep_coefficient() -> float:
    """Deep coefficient that gives the table's deepest force, so that the other depths are predicted."""
    from scipy.optimize import brentq

    return float(brentq(lambda deep: frigate_force(deep, 45.7) - 0.55, 0.05, 3.0))


@calculation
def frigate(depth_m: float) -> float:
    return frigate_force(frigate_deep_coefficient(), depth_m)


@calculation
def frigate_deep() -> Any:
    """Deep coefficient from the frigate's particulars, which are from memory."""
    parameter = resistance.ship_parameter(124.4, 0.75 * 13.7 * 4.389, 13.7, 3590.0 * LONG_TON / 1025.0)
    return 0.22 * np.sqrt(parameter)


@calculation
def current_on_side(length_m: float, beam_m: float, draught_m: float, speed: float, draught_over_depth: float) -> Any:
    deep = particulars.ufc_deep_coefficient(length_m, beam_m)
    coefficient = particulars.depth_corrected_coefficient(deep, draught_m, draught_m / draught_over_depth)
    return resistance.current_on_side(coefficient, length_m, draught_m, speed) / KN


@calculation
def wetted(kind: str, length_m: float, beam_m: float, draught_m: float) -> Any:
    if kind == "box":
        return particulars.box_wetted_surface(length_m, beam_m, draught_m)
    return particulars.ship_wetted_surface(length_m, draught_m, length_m * beam_m * draught_m)


@calculation
def box_in_current(what: str, form: float = 0.1) -> Any:
    """60 x 16 x 3 m at 2 m/s: friction alone, or form drag alone."""
    surface = particulars.box_wetted_surface(60.0, 16.0, 3.0) if what == "friction" else 0.0
    return resistance.current_on_stem(
        60.0, 16.0, 3.0, surface, 2.0, form_coefficient=0.0 if what == "friction" else form
    ) / KN  # fmt: skip


@calculation
def navy_ship(what: str, **inputs: float) -> Any:
    if what == "hull":
        # pounds of resistance a long ton to newtons a kilogram
        specific = inputs["pounds_per_ton"] * POUND / LONG_TON
        return resistance.ship_tow_hull_resistance(inputs["long_tons"] * LONG_TON, specific) / POUND
    if what == "propeller":
        return resistance.ship_tow_propeller_resistance(inputs["feet2"] * FOOT**2, inputs["knots"] * KNOT) / POUND
    return resistance.ship_tow_wind_resistance(inputs["feet2"] * FOOT**2, inputs["knots"] * KNOT) / POUND


@calculation
def navy_barge(what: str) -> Any:
    """Barge of 12 000 ft2 wetted, 600 ft2 section, 800 ft2 above water, at 6 kn into 20 kn, f1 0.45, f2 0.35, K 1.2."""
    parts = {
        "friction": resistance.barge_friction_resistance(12_000.0 * FOOT**2, 6.0 * KNOT, 0.45) / POUND,
        "waves": resistance.barge_wave_resistance(600.0 * FOOT**2, 6.0 * KNOT, 0.35, 1.2) / POUND,
        "air": resistance.barge_air_resistance(800.0 * FOOT**2, 6.0 * KNOT, 20.0 * KNOT) / POUND,
    }
    return sum(parts.values()) if what == "sum" else parts[what]


@calculation
def navy_as_coefficient(what: str) -> Any:
    """Drag or friction coefficient that a constant of the barge form comes to."""
    knot = 0.5 * 1025.0 * KNOT**2
    if what == "waves":
        return resistance.barge_wave_resistance(1.0, KNOT, 1.0, 1.0) / knot
    if what == "air":
        return resistance.barge_air_resistance(1.0, KNOT) / (0.5 * 1.225 * KNOT**2)
    return resistance.barge_friction_resistance(1.0, 6.0 * KNOT) / (36.0 * knot)


@calculation
def static_wind(area_m2: float, wind: float, coefficient: float = 1.0) -> Any:
    return resistance.wind_on_body(area_m2, wind, coefficient) / TONNE_FORCE


@calculation
def static_current(area_m2: float, flow: float, coefficient: float, tow_knots: float = 0.0) -> Any:
    return resistance.current_on_body(area_m2, flow + tow_knots * KNOT, coefficient) / TONNE_FORCE


@calculation
def static_waves(beam_m: float, height_m: float, reflection: float) -> Any:
    return resistance.wave_drift(beam_m, height_m, reflection) / KN


@calculation
def static_total(forces_t: list[float], efficiency: float) -> Any:
    return resistance.required_bollard_pull(sum(forces_t), efficiency)


@calculation
def handbook_wind_coefficient() -> Any:
    """Drag coefficient of the handbook's V squared / 18 tonnes on 1000 m2."""
    return 1.0 / 18.0 * 1000.0 * 9.80665 / float(resistance.wind_on_body(1000.0, 1.0))


# particulars


@calculation
def sway_added_mass_coefficient(beam_over_draught: float) -> Any:
    return particulars.rectangle_sway_coefficient(beam_over_draught)


@calculation
def sway_added_mass(length_m: float, beam_m: float, draught_m: float) -> Any:
    return particulars.sway_added_mass(length_m, beam_m, draught_m, 1025.0) / TONNE


@calculation
def yaw_added_inertia() -> Any:
    return particulars.yaw_added_inertia(particulars.sway_added_mass(60.0, 16.0, 3.0, 1025.0), 60.0)


@calculation
def tandem(spacing: float, angle_deg: float = 0.0) -> Any:
    ratio = particulars.tandem_thrust_ratio(spacing)
    return particulars.tandem_thrust_ratio_off_axis(ratio, angle_deg * DEGREE) if angle_deg else ratio


@calculation
def ram_force(diameter_m: float, thrust_kn: float) -> Any:
    return particulars.ram_coefficient(diameter_m) * math.sqrt(thrust_kn * KN) / KN


@calculation
def wind_profile(height_m: float) -> Any:
    step = 1e-4
    above, below = (z * particulars.height_factor(z) for z in (height_m + step, height_m - step))
    return np.sqrt((above - below) / (2 * step))


# the swing itself


@functools.cache
def _swing(couple: float, force: float, lever: float, coefficient: float, coupling: bool) -> Any:
    import toolkit

    return toolkit.barge_alone(
        couple=couple, force=force, lever=lever, displacement=2656.8e3, barge_length=60.0, barge_beam=16.0,
        barge_draught=3.0, cross_flow_drag_coefficient=coefficient, coupling=coupling, duration=900.0,
    )  # fmt: skip


@calculation
def couple(what: str) -> float:
    found = _swing(100e3 * 30.0, 0.0, 0.0, 1.0, True)
    times = found["time_to_turn"].values
    return {
        "rate": float(found["steady_swing_rate"]),
        "to 90": float(times[0]),
        "to 180": float(times[1]),
        "inertia": float(found["yaw_inertia"]) / 1e9,
        "drag": float(found["yaw_drag"]) / 1e8,
    }[what]


@calculation
def force_at_end(what: str, coupling: bool) -> float:
    found = _swing(0.0, 100e3, 30.0, 1.0, coupling)
    scale = math.sqrt(1025.0 * 3.0 * 60.0 / (2.0 * 100e3))
    rate = float(found["steady_swing_rate"]) * DEGREE
    return {"rate": rate * 60.0 * scale, "sway": abs(float(found["steady_sway_velocity"])) * scale}[what]
