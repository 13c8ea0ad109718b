"""Rows of the kernel's parameters that belong to hulls, drives, line and fender."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.crew import FENDER_HOLD, HOLD_SHARE
from toolkit.particulars import (
    AIR_DENSITY,
    BARGE_WIND,
    CONVENTIONAL,
    JET_SPREAD,
    MATERIALS,
    SKEG_FORCE,
    TUG_WIND,
    Barge,
    Tug,
    clarke_derivatives,
    depth_corrected_coefficient,
    friction_polynomial,
    height_factor,
    line_stiffness,
    line_weight,
    linear_hull_coefficients,
    ram_coefficient,
    slew_rate,
    spool_rate,
    stretch_fade,
    tandem_thrust_ratio,
    ufc_deep_coefficient,
    wash_strength,
)
from toolkit.particulars.common import GRAVITY
from toolkit.particulars.drives import DUCTED_EFFICIENCY
from toolkit.quantities import INPUTS

__all__ = ["barge_rows", "drive_rows", "fender_rows", "line_rows", "tug_rows"]

Array = NDArray[np.float64]

FENDER_COMPRESSION = 0.25
"""Compression of the fender at the tug's bollard pull [m]; judgement, spread 0.1 to 0.5."""
SLACK_SHARE = 0.002
"""Tension over breaking load below which a line counts as slack, though its weight pulls; judgement."""
TAUT_PULL = 0.01
"""Pull of a hanging line, over bollard pull, at which it is as good as tight; judgement, spread 0.005 to 0.03."""
LIMP_PULL = 0.004
"""The same at which it is as good as slack; judgement, spread 0.002 to 0.006."""
SIDE_SHARE = 0.02
"""Side force of line or barge over bollard pull above which heel counts as toward or away from it; judgement."""
BRIDLE_SPREAD = 0.45
"""Fittings of a bridle off the centreline over beam; judgement, spread 0.35 to 0.5."""
FENDER_LOSS_TIME = 0.05
"""Damping over stiffness of the fender [s]; judgement, spread 0.02 to 0.15."""
FENDER_CREEP = 0.05
"""Velocity at which friction is developed, see `sliding_friction` [m/s]; numerical."""
NO_CURVE = 10.0
"""Heel from which a full righting lever takes over, where none is given: never [rad]."""
ORDER_SETTLE = 1.0
"""Time in which a drive settles on its order at the end of its ramp [s]; judgement, spread 0.5 to 2."""


def barge_rows(c: Mapping[str, Array], barge: Barge) -> dict[str, Array]:
    """Rows of the barge: masses, water drag, windage."""
    deep = np.where(
        np.isnan(c["cross_flow_drag_coefficient"]),
        ufc_deep_coefficient(barge.length, barge.beam),
        c["cross_flow_drag_coefficient"],
    )
    coefficient = depth_corrected_coefficient(deep, barge.draught, c["water_depth"])
    linear, quadratic = friction_polynomial(barge.length, barge.wetted_surface, c["water_density"])
    form = 0.5 * c["water_density"] * c["bow_drag_coefficient"] * barge.beam * barge.draught
    many, added = c["drag_multiplier"], c["added_mass_multiplier"]
    block = barge.displacement / (c["water_density"] * barge.length * barge.beam * barge.draught)
    lift = linear_hull_coefficients(
        clarke_derivatives(barge.length, barge.beam, barge.draught, block),
        length=barge.length,
        water_density=c["water_density"],
        surge_added_mass=added * barge.surge_added_mass,
        sway_added_mass=added * barge.sway_added_mass,
        skeg_force=np.where(c["skegs"] == INPUTS["skegs"].choices.index("fitted"), SKEG_FORCE.value, 0.0),
    )
    steering = c["steering_drag_multiplier"]
    pressure = c["wind_load_multiplier"] * 0.5 * AIR_DENSITY * height_factor(2.0 * barge.windage_centroid_height)
    return {
        "barge_surge_mass": barge.displacement + added * barge.surge_added_mass,
        "barge_sway_mass": barge.displacement + added * barge.sway_added_mass,
        "barge_yaw_inertia": barge.yaw_inertia + added * barge.yaw_added_inertia,
        "barge_coupling": np.asarray(1.0),
        "barge_half_length": 0.5 * barge.length,
        "barge_half_beam": 0.5 * barge.beam,
        "barge_cross_flow": many * 0.5 * c["water_density"] * coefficient * barge.draught,
        "barge_surge_linear": many * linear,
        "barge_surge_quadratic": many * (quadratic + form),
        "barge_wind_lateral": pressure * barge.lateral_windage,
        "barge_wind_frontal": pressure * barge.frontal_windage,
        "barge_wind_transverse": np.asarray(BARGE_WIND.transverse.value),
        "barge_wind_bow": np.asarray(BARGE_WIND.longitudinal_ahead.value),
        "barge_wind_stern": np.asarray(BARGE_WIND.longitudinal_astern.value),
        "barge_wind_cross": np.asarray(BARGE_WIND.cross_force.value),
        "barge_wind_offset": barge.lateral_windage_offset,
        "barge_sway_by_sway": steering * lift.yv,
        "barge_sway_by_yaw": steering * lift.yr,
        "barge_yaw_by_sway": steering * lift.nv,
        "barge_yaw_by_yaw": steering * lift.nr,
        "barge_skeg": steering * lift.skeg,
        "barge_skeg_x": lift.skeg_x,
        "barge_draught": barge.draught,
        "barge_wash": wash_strength(c["wash_on_barge_share"], barge.draught, c["water_depth"]),
    }


def tug_rows(c: Mapping[str, Array], tug: Tug) -> dict[str, Array]:
    """Rows of the tug: masses, roll, water drag, windage."""
    coefficient = depth_corrected_coefficient(tug.cross_flow_drag_coefficient, tug.draught, c["water_depth"])
    linear, quadratic = friction_polynomial(tug.length, tug.wetted_surface, c["water_density"])
    form = 0.5 * c["water_density"] * tug.end_drag_coefficient * tug.beam * tug.draught
    many = c["tug_drag_multiplier"]
    weight = tug.displacement * GRAVITY
    pressure = c["wind_load_multiplier"] * 0.5 * AIR_DENSITY * height_factor(2.0 * tug.windage_centroid_height)
    critical = 2.0 * np.sqrt(weight * tug.metacentric_height * tug.roll_inertia)
    return {
        "tug_surge_mass": tug.displacement + tug.surge_added_mass,
        "tug_sway_mass": tug.displacement + tug.sway_added_mass,
        "tug_sway_added_mass": tug.sway_added_mass,
        "tug_surge_added_mass": tug.surge_added_mass,
        "tug_yaw_inertia": tug.yaw_inertia + tug.yaw_added_inertia,
        "tug_roll_inertia": tug.roll_inertia,
        "tug_roll_damping": tug.roll_damping_ratio * critical,
        "tug_weight": weight,
        "metacentric_height": tug.metacentric_height,
        "metacentric_radius": tug.metacentric_radius,
        **_righting_rows(c, tug),
        "tug_half_length": 0.5 * tug.length,
        "tug_half_beam": 0.5 * tug.beam,
        "tug_cross_flow": many * 0.5 * c["water_density"] * coefficient * tug.draught,
        "tug_resistance_centre": tug.lateral_resistance_x,
        "tug_resistance_height": -tug.lateral_resistance_depth - tug.centre_of_gravity_height,
        "tug_surge_linear": many * linear,
        "tug_surge_quadratic": many * (quadratic + form),
        "tug_wind_lateral": pressure * tug.lateral_windage,
        "tug_wind_frontal": pressure * tug.frontal_windage,
        "tug_wind_transverse": np.asarray(TUG_WIND.transverse.value),
        "tug_wind_bow": np.asarray(TUG_WIND.longitudinal_ahead.value),
        "tug_wind_stern": np.asarray(TUG_WIND.longitudinal_astern.value),
        "tug_wind_cross": np.asarray(TUG_WIND.cross_force.value),
        "tug_wind_height": TUG_WIND.rolling.value * (tug.windage_centroid_height - tug.centre_of_gravity_height),
    }


def _righting_rows(c: Mapping[str, Array], tug: Tug) -> dict[str, Array]:
    """Rows of the righting lever: upright sides alone, or with a full curve beyond the deck edge where one is given."""
    edge = tug.deck_edge_angle
    top, vanishing = np.deg2rad(c["greatest_lever_angle"]), np.deg2rad(c["vanishing_angle"])
    full = np.isfinite(c["greatest_righting_lever"]) & np.isfinite(top) & np.isfinite(vanishing)
    tangent = np.tan(edge)
    sides = tug.metacentric_height + 0.5 * tug.metacentric_radius * tangent**2
    slope = np.cos(edge) * sides + np.sin(edge) * tug.metacentric_radius * tangent / np.cos(edge) ** 2
    return {
        "deck_edge_angle": edge,
        "heel_end": np.where(full, vanishing, edge),
        "lever_from": np.where(full, edge, NO_CURVE),
        "lever_at_edge": np.sin(edge) * sides,
        "lever_slope_at_edge": slope,
        "lever_top": np.where(full, c["greatest_righting_lever"], 1.0),
        "lever_top_angle": np.where(full, top, edge + 1.0),
        "vanishing_angle": np.where(full, vanishing, edge + 2.0),
    }


def drive_rows(
    c: Mapping[str, Array], tug: Tug, pushing: NDArray[np.bool_], athwart: NDArray[np.bool_]
) -> dict[str, Array]:
    """Rows of the drives."""
    diameter = tug.propeller_diameter
    fixed = c["tug_type"] == CONVENTIONAL
    # athwartships, the moment of drives that are not abreast of line or fender has to be held by their own couple
    apart = np.where(
        pushing,
        np.maximum(np.abs(tug.drive_x) - FENDER_HOLD * tug.flank_contact_half_spread, 0.0),
        np.abs(tug.drive_x - tug.towing_point_x_athwartships),
    )
    held = HOLD_SHARE * tug.drive_half_spacing / np.hypot(tug.drive_half_spacing, apart)
    return {
        "unit_thrust": tug.unit_thrust_ahead,
        "most_force": 2.0 * tug.unit_thrust_ahead * np.where(athwart, held, 1.0),
        "side_force": SIDE_SHARE * 2.0 * tug.unit_thrust_ahead,
        "drive_x": tug.drive_x,
        "drive_half_spacing": tug.drive_half_spacing,
        "drive_height": -tug.drive_depth - tug.centre_of_gravity_height,
        "astern_ratio": tug.unit_thrust_astern / tug.unit_thrust_ahead,
        "athwart_share": c["athwart_thrust_share"],
        "athwart_band_sine": np.sin(np.deg2rad(c["athwart_band"])),
        "tandem_ratio": tandem_thrust_ratio(2.0 * tug.drive_half_spacing / diameter),
        "speed_loss": c["thrust_speed_loss"],
        "ram": c["cross_velocity_share"] * ram_coefficient(diameter, c["water_density"]),
        "wash_share": c["mutual_wash_share"],
        "jet_spread": np.asarray(JET_SPREAD.value),
        "jet_radius": 0.5 * diameter,
        "fixed_drives": fixed.astype(np.float64),
        "steering_limit": np.where(fixed, np.deg2rad(c["steering_angle"]), np.pi),
        "spool": tug.unit_thrust_ahead * spool_rate(c["spool_time"]),
        "spool_pace": np.asarray(1.0 / ORDER_SETTLE),
        "slew": slew_rate(c["slew_time"]),
        "slew_pace": np.asarray(1.0 / ORDER_SETTLE),
        # P = (T / efficiency)^1.5 / (D sqrt(pi rho)), see ducted_power
        "power_factor": DUCTED_EFFICIENCY.value**-1.5 / (diameter * np.sqrt(np.pi * c["water_density"])),
    }


def line_rows(
    c: Mapping[str, Array], barge: Barge, tug: Tug, mbl: Array, on_line: NDArray[np.bool_],
    athwart: NDArray[np.bool_], end: Array,
) -> dict[str, Array]:  # fmt: skip
    """Rows of the towline; no stiffness where none is used."""
    code = c["line_material"].astype(np.int64)
    stiffness = np.where(on_line, line_stiffness(mbl, code, c["line_length"]), 0.0)
    sag = np.where(on_line, line_weight(mbl, code) ** 2 * c["line_length"] ** 3 / 24.0, 0.0)
    bridle = c["line_arrangement"] == INPUTS["line_arrangement"].choices.index("bridle")
    spread = np.where(bridle, BRIDLE_SPREAD * barge.beam, 0.0)
    leg = np.where(bridle, np.fmax(np.where(np.isnan(c["bridle_leg_length"]), barge.beam, c["bridle_leg_length"]),
                                   1.05 * spread), 0.0)  # fmt: skip
    family = np.where(athwart, tug.towing_point_x_athwartships, tug.towing_point_x_fore_and_aft)
    hang = sag / (2.0 * tug.unit_thrust_ahead) ** 2 / c["line_length"]
    loss = np.array([material.loss_time.value for material in MATERIALS])
    return {
        "line_length": c["line_length"],
        "line_stiffness": stiffness,
        "line_sag": sag,
        "line_sag_tension": np.cbrt(stiffness * sag),
        "line_slack": SLACK_SHARE * mbl,
        "taut_distance": c["line_length"] * (1.0 - np.clip(hang / TAUT_PULL**2, 0.01, 0.1)),
        "slack_distance": c["line_length"] * (1.0 - np.clip(hang / LIMP_PULL**2, 0.015, 0.15)),
        "line_loss_time": loss[code],
        "line_fade": stretch_fade(code, c["line_length"]),
        "line_breaking": np.where(on_line, mbl, np.inf),
        "tug_towing_x": np.where(np.isnan(c["tug_towing_station"]), family, c["tug_towing_station"] * tug.length),
        "tug_towing_height": tug.towing_point_height - tug.centre_of_gravity_height,
        "barge_towing_x": end * c["barge_towing_station"] * barge.length,
        "barge_towing_y": c["barge_towing_offset"] * barge.beam,
        "bridle_half_spread": spread,
        "bridle_leg": leg,
    }


def fender_rows(
    c: Mapping[str, Array], tug: Tug, pushing: NDArray[np.bool_], athwart: NDArray[np.bool_], end: Array, turn: Array
) -> dict[str, Array]:
    """Rows of the fender; no stiffness where the tug pulls."""
    side = -end * turn  # the barge's side pushed: turning to starboard, bow worked, it is port
    ahead = np.where(tug.drive_x * end > 0.0, 1.0, -1.0)  # flank-on she heads so that her drives are toward the end
    flank_y = -side * ahead * tug.flank_contact_y
    pull = 2.0 * tug.unit_thrust_ahead
    return {
        "fender_stiffness": np.where(pushing, 0.5 * pull / FENDER_COMPRESSION, 0.0),
        "fender_loss_time": np.asarray(FENDER_LOSS_TIME),
        "fender_fade": np.asarray(0.1 * FENDER_COMPRESSION),
        "fender_friction": c["fender_friction"],
        "fender_creep": np.asarray(FENDER_CREEP),
        "fender_height": tug.fender_height - tug.centre_of_gravity_height,
        "fender_reach": np.where(athwart, tug.flank_contact_y, tug.stem_contact_x),
        "fender_first_x": np.where(athwart, tug.flank_contact_half_spread, tug.stem_contact_x),
        "fender_first_y": np.where(athwart, flank_y, tug.stem_contact_half_spread),
        "fender_second_x": np.where(athwart, -tug.flank_contact_half_spread, tug.stem_contact_x),
        "fender_second_y": np.where(athwart, flank_y, -tug.stem_contact_half_spread),
        "pushed_side": side,
    }
