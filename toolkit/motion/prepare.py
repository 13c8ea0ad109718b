"""From the table of cases to the numbers of the kernel: hulls drawn up, units turned to radians."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.crew import SHIFT_READY, SHIFT_SPEED
from toolkit.motion.layout import Parameters
from toolkit.motion.start import start_of
from toolkit.motion.stepping import steps_per_tick
from toolkit.particulars import (
    AIR_DENSITY,
    BARGE_WIND,
    MATERIALS,
    STATIC_RULE_FACTOR,
    TUG_WIND,
    Barge,
    Tug,
    barge_from_displacement,
    depth_corrected_coefficient,
    friction_polynomial,
    height_factor,
    line_stiffness,
    ram_coefficient,
    sag_matters,
    slew_rate,
    spool_rate,
    static_beam_wind_force,
    stretch_fade,
    tandem_thrust_ratio,
    towline_mbl,
    tug_from_bollard_pull,
    ufc_deep_coefficient,
)
from toolkit.particulars.common import GRAVITY
from toolkit.particulars.drives import DUCTED_EFFICIENCY
from toolkit.quantities import INPUTS, RangeFlag

__all__ = ["Columns", "Prepared", "prepare"]

Columns = Mapping[str, NDArray[np.float64] | NDArray[np.int64]]
Array = NDArray[np.float64]

FENDER_COMPRESSION = 0.25
"""Compression of the fender at the tug's bollard pull [m]; judgement, spread 0.1 to 0.5."""
END_MARGIN = 1.0
"""Flank-on, both fender contacts are kept at least this far inside the barge's end [m]; judgement, spread 0.5 to 3."""
FENDER_LOSS_TIME = 0.05
"""Damping over stiffness of the fender [s]; judgement, spread 0.02 to 0.15."""
FENDER_CREEP = 0.05
"""Velocity at which friction is developed, see `sliding_friction` [m/s]; numerical."""
ORDER_SETTLE = 1.0
"""Time in which a drive settles on its order at the end of its ramp [s]; judgement, spread 0.5 to 2."""
DRAG_SPEED = 1.5
"""Speed at which the drag data of UFC 4-159-03 end [m/s]."""
SHALLOW_RATIO = 2.0
"""Depth over draught below which no source gives added mass; the deep value is held there."""
HEEL_CAUTION_SHARE = 1.0 / 3.0
"""Share of the deck-edge angle above which heel is worth caution; judgement."""


@dataclass(frozen=True, kw_only=True)
class Prepared:
    """Cases ready for the kernel, with what the outcomes need besides.

    Attributes
    ----------
    parameters : ndarray, shape (rows of parameters, n)
    initial : ndarray, shape (rows of state, n)
        State at the start.
    barge, tug : Barge, Tug
        Particulars, fields of shape (n,).
    line_mbl : ndarray, shape (n,)
        [N].
    aground : ndarray of bool, shape (n,)
        Whether barge or tug has no water under her.
    range_flags : ndarray of int, shape (n,)
        Bits of `RangeFlag` known beforehand.
    depth_ratio, static_wind_demand : ndarray, shape (n,)
    """

    parameters: Array
    initial: Array
    barge: Barge
    tug: Tug
    line_mbl: Array
    aground: NDArray[np.bool_]
    range_flags: NDArray[np.int64]
    depth_ratio: Array
    static_wind_demand: Array


def sign_of(columns: Columns, name: str, positive: str) -> Array:
    """+1 where a choice is `positive`, else -1."""
    code = INPUTS[name].choices.index(positive)
    return np.where(columns[name] == code, 1.0, -1.0)


def prepare(columns: Columns) -> Prepared:
    """Draw up hulls, lines and surroundings for a table of cases.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n,)
        Every input of the register: SI, degrees, codes for choices, NaN for
        what is to be derived.

    Returns
    -------
    Prepared
    """
    c = {name: np.asarray(values, dtype=np.float64) for name, values in columns.items()}
    density = c["water_density"]
    barge = barge_from_displacement(
        displacement=c["displacement"], loading=c["loading"], length=c["barge_length"], beam=c["barge_beam"],
        draught=c["barge_draught"], freeboard=c["barge_freeboard"], fitting_swl=c["barge_fitting_swl"],
        water_density=density,
    )  # fmt: skip
    tug = tug_from_bollard_pull(
        bollard_pull=c["bollard_pull"], tug_type_code=c["tug_type"].astype(np.int64), length=c["tug_length"],
        beam=c["tug_beam"], draught=c["tug_draught"], displacement=c["tug_displacement"],
        freeboard=c["tug_freeboard"], metacentric_height=c["metacentric_height"],
        towing_point_height=c["towing_point_height"], fender_height=c["fender_height"],
        astern_pull_ratio=c["astern_pull_ratio"], bollard_pull_derate=c["bollard_pull_derate"],
        water_density=density,
    )  # fmt: skip
    pushing = columns["manoeuvre"] == INPUTS["manoeuvre"].choices.index("swing_push")
    athwart = columns["tug_attitude"] == INPUTS["tug_attitude"].choices.index("athwartships")
    stern_drive = columns["tug_type"] == INPUTS["tug_type"].choices.index("azimuth_stern_drive")
    end, turn = sign_of(columns, "working_end", "bow"), sign_of(columns, "turn", "starboard")
    depth = c["water_depth"]
    mbl = np.where(np.isnan(c["line_mbl"]), towline_mbl(c["bollard_pull"]), c["line_mbl"])

    values = {
        **_barge_rows(c, barge),
        **_tug_rows(c, tug),
        **_drive_rows(c, tug),
        **_line_rows(c, barge, tug, mbl, pushing, athwart, end),
        **_fender_rows(c, tug, pushing, athwart, end, turn),
        **_surrounding_rows(c),
        **_manoeuvre_rows(c, barge, tug, athwart),
        "pushing": pushing.astype(np.float64),
        "athwart": athwart.astype(np.float64),
        "end": end,
        "turn": turn,
        "stern_first": (stern_drive & ~pushing).astype(np.float64),
        "heel_caution": HEEL_CAUTION_SHARE * tug.deck_edge_angle,
    }
    values["shift_time"] = _shift_time(values)
    values["steps_per_tick"] = steps_per_tick(values)
    size = len(c["bollard_pull"])
    parameters = np.stack([np.broadcast_to(np.asarray(values[name], dtype=np.float64), (size,))
                           for name in Parameters._fields])  # fmt: skip

    flags = np.zeros(size, dtype=np.int64)
    depth_ratio = depth / barge.draught
    marks = (
        ((depth_ratio < SHALLOW_RATIO) | (depth / tug.draught < SHALLOW_RATIO), RangeFlag.shallow_added_mass),
        (tug.out_of_family, RangeFlag.tug_family),
        (barge.out_of_family, RangeFlag.barge_family),
        (~pushing & sag_matters(mbl, columns["line_material"].astype(np.int64), c["line_length"]), RangeFlag.line_sag),
    )
    for mask, flag in marks:
        flags |= np.where(mask, int(flag), 0)
    wind = c["wind_speed"] * c["gust_factor"]
    available = c["bollard_pull"] * c["bollard_pull_derate"]
    return Prepared(
        parameters=np.ascontiguousarray(parameters),
        initial=np.ascontiguousarray(start_of(values, np.deg2rad(c["initial_heading"]),
                                              columns["start"] == INPUTS["start"].choices.index("over_ground"))),
        barge=barge,
        tug=tug,
        line_mbl=mbl,
        aground=(depth <= barge.draught) | (depth <= tug.draught),
        range_flags=flags,
        depth_ratio=depth_ratio,
        static_wind_demand=STATIC_RULE_FACTOR * static_beam_wind_force(barge, wind) / available,
    )  # fmt: skip


def _barge_rows(c: Mapping[str, Array], barge: Barge) -> dict[str, Array]:
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


def _tug_rows(c: Mapping[str, Array], tug: Tug) -> dict[str, Array]:
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
        "tug_wind_height": tug.windage_centroid_height - tug.centre_of_gravity_height,
    }


def _drive_rows(c: Mapping[str, Array], tug: Tug) -> dict[str, Array]:
    diameter = tug.propeller_diameter
    return {
        "unit_thrust": tug.unit_thrust_ahead,
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


def _line_rows(
    c: Mapping[str, Array], barge: Barge, tug: Tug, mbl: Array, pushing: NDArray[np.bool_],
    athwart: NDArray[np.bool_], end: Array,
) -> dict[str, Array]:  # fmt: skip
    code = c["line_material"].astype(np.int64)
    loss = np.array([material.loss_time.value for material in MATERIALS])
    return {
        "line_length": c["line_length"],
        "line_stiffness": np.where(pushing, 0.0, line_stiffness(mbl, code, c["line_length"])),
        "line_loss_time": loss[code],
        "line_fade": stretch_fade(code, c["line_length"]),
        "line_breaking": np.where(pushing, np.inf, mbl),
        "tug_towing_x": np.where(athwart, tug.towing_point_x_athwartships, tug.towing_point_x_fore_and_aft),
        "tug_towing_height": tug.towing_point_height - tug.centre_of_gravity_height,
        "barge_towing_x": end * 0.5 * barge.length,
    }


def _fender_rows(
    c: Mapping[str, Array], tug: Tug, pushing: NDArray[np.bool_], athwart: NDArray[np.bool_], end: Array, turn: Array
) -> dict[str, Array]:
    side = -end * turn  # the barge's side pushed: turning to starboard, bow worked, it is port
    flank_y = -side * tug.flank_contact_y
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


def _shift_time(rows: Mapping[str, Array]) -> Array:
    """Time a master reckons for going round the end, or along the side, to check [s]."""
    round_end = 2.0 * rows["lead"] * rows["line_length"]
    along_side = 2.0 * rows["station"]
    return SHIFT_READY + np.where(rows["pushing"] > 0.0, along_side, round_end) / SHIFT_SPEED


def _surrounding_rows(c: Mapping[str, Array]) -> dict[str, Array]:
    from_bearing, to_bearing = np.deg2rad(c["wind_from"]), np.deg2rad(c["current_to"])
    wind = c["wind_speed"] * c["gust_factor"]
    return {
        "wind_north": -wind * np.cos(from_bearing),
        "wind_east": -wind * np.sin(from_bearing),
        "current_north": c["current_speed"] * np.cos(to_bearing),
        "current_east": c["current_speed"] * np.sin(to_bearing),
    }


def _manoeuvre_rows(
    c: Mapping[str, Array], barge: Barge, tug: Tug, athwart: NDArray[np.bool_]
) -> dict[str, Array]:
    station = c["push_station"] * barge.length
    both_on = np.maximum(0.5 * barge.length - tug.flank_contact_half_spread - END_MARGIN, 0.0)
    return {
        "target": np.deg2rad(c["target_angle"]),
        "station": np.where(athwart, np.minimum(station, both_on), station),
        "lead": np.deg2rad(c["lead_angle"]),
        "rate_limit": np.deg2rad(c["swing_rate_limit"]),
        "easing_angle": np.deg2rad(c["easing_angle"]),
        "power_setting": c["power_setting"],
        "power_step": c["power_step"],
        "look_ticks": np.maximum(np.round(2.0 * c["order_interval"]), 1.0),
        "order_delay": c["order_delay"],
        "steady_angle": np.deg2rad(c["steady_angle"]),
        "steady_rate": np.deg2rad(c["steady_rate"]),
        "steady_time": c["steady_time"],
        "time_limit": c["time_limit"],
        "drag_speed": np.asarray(DRAG_SPEED),
        "start_north": c["start_north"],
        "start_east": c["start_east"],
    }
