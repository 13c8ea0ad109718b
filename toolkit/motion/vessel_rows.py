"""Rows of the kernel's parameters that belong to hulls, drives, line and fender."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.crew import FENDER_HOLD, HOLD_SHARE
from toolkit.particulars import (
    AIR_DENSITY,
    BARGE_WIND,
    MATERIALS,
    TUG_WIND,
    Barge,
    Tug,
    depth_corrected_coefficient,
    friction_polynomial,
    height_factor,
    line_stiffness,
    line_weight,
    ram_coefficient,
    slew_rate,
    spool_rate,
    stretch_fade,
    tandem_thrust_ratio,
    ufc_deep_coefficient,
)
from toolkit.particulars.common import GRAVITY
from toolkit.particulars.drives import DUCTED_EFFICIENCY

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
FENDER_LOSS_TIME = 0.05
"""Damping over stiffness of the fender [s]; judgement, spread 0.02 to 0.15."""
FENDER_CREEP = 0.05
"""Velocity at which friction is developed, see `sliding_friction` [m/s]; numerical."""
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
        "deck_edge_angle": tug.deck_edge_angle,
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


def drive_rows(
    c: Mapping[str, Array], tug: Tug, pushing: NDArray[np.bool_], athwart: NDArray[np.bool_]
) -> dict[str, Array]:
    """Rows of the drives."""
    diameter = tug.propeller_diameter
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
        "spool": tug.unit_thrust_ahead * spool_rate(c["spool_time"]),
        "spool_settle": np.asarray(ORDER_SETTLE),
        "slew": slew_rate(c["slew_time"]),
        "slew_settle": np.asarray(ORDER_SETTLE),
        # P = (T / efficiency)^1.5 / (D sqrt(pi rho)), see ducted_power
        "power_factor": DUCTED_EFFICIENCY.value**-1.5 / (diameter * np.sqrt(np.pi * c["water_density"])),
    }


def line_rows(
    c: Mapping[str, Array], barge: Barge, tug: Tug, mbl: Array, pushing: NDArray[np.bool_],
    athwart: NDArray[np.bool_], end: Array,
) -> dict[str, Array]:  # fmt: skip
    """Rows of the towline; no stiffness where the tug pushes."""
    code = c["line_material"].astype(np.int64)
    stiffness = np.where(pushing, 0.0, line_stiffness(mbl, code, c["line_length"]))
    sag = np.where(pushing, 0.0, line_weight(mbl, code) ** 2 * c["line_length"] ** 3 / 24.0)
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
        "line_breaking": np.where(pushing, np.inf, mbl),
        "tug_towing_x": np.where(athwart, tug.towing_point_x_athwartships, tug.towing_point_x_fore_and_aft),
        "tug_towing_height": tug.towing_point_height - tug.centre_of_gravity_height,
        "barge_towing_x": end * 0.5 * barge.length,
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
