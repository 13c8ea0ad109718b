"""From the table of cases to the numbers of the kernel: hulls drawn up, units turned to radians."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.crew import BROADSIDE_SHARE, LANDING_TIME, SHIFT_READY, SHIFT_SPEED
from toolkit.motion.layout import Parameters
from toolkit.motion.start import start_of
from toolkit.motion.stepping import steps_per_tick
from toolkit.motion.vessel_rows import barge_rows, drive_rows, fender_rows, line_rows, tug_rows
from toolkit.particulars import (
    STATIC_RULE_FACTOR,
    Barge,
    Tug,
    barge_from_displacement,
    sag_matters,
    static_beam_wind_force,
    towline_mbl,
    tug_from_bollard_pull,
)
from toolkit.quantities import INPUTS, RangeFlag

__all__ = ["Columns", "Prepared", "prepare"]

Columns = Mapping[str, NDArray[np.float64] | NDArray[np.int64]]
Array = NDArray[np.float64]

END_MARGIN = 1.0
"""Flank-on, both fender contacts are kept at least this far inside the barge's end [m]; judgement, spread 0.5 to 3."""
EASING_SHARE = 0.5
"""A small turn is eased from this share of it on; judgement, spread 0.3 to 0.7."""
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
        **barge_rows(c, barge),
        **tug_rows(c, tug),
        **drive_rows(c, tug, pushing, athwart),
        **line_rows(c, barge, tug, mbl, pushing, athwart, end),
        **fender_rows(c, tug, pushing, athwart, end, turn),
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
    values["steps_per_tick"], coarse = steps_per_tick(values)
    size = len(c["bollard_pull"])
    parameters = np.stack([np.broadcast_to(np.asarray(values[name], dtype=np.float64), (size,))
                           for name in Parameters._fields])  # fmt: skip

    flags = np.zeros(size, dtype=np.int64)
    depth_ratio = depth / barge.draught
    marks = (
        ((depth_ratio < SHALLOW_RATIO) | (depth / tug.draught < SHALLOW_RATIO), RangeFlag.shallow_added_mass),
        (coarse, RangeFlag.coarse_step),
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


def _shift_time(rows: Mapping[str, Array]) -> Array:
    """Time a master reckons for going round the end, or along the side, to check [s]."""
    round_end = 2.0 * rows["lead"] * rows["line_length"]
    along_side = 2.0 * rows["station"]
    round_speed = SHIFT_SPEED * np.where(rows["athwart"] > 0.0, BROADSIDE_SHARE, 1.0)
    walked = np.where(rows["pushing"] > 0.0, along_side / SHIFT_SPEED, round_end / round_speed)
    return SHIFT_READY + walked + np.where(rows["pushing"] > 0.0, LANDING_TIME, 0.0)


def _surrounding_rows(c: Mapping[str, Array]) -> dict[str, Array]:
    from_bearing, to_bearing = np.deg2rad(c["wind_from"]), np.deg2rad(c["current_to"])
    wind = c["wind_speed"] * c["gust_factor"]
    return {
        "wind_north": -wind * np.cos(from_bearing),
        "wind_east": -wind * np.sin(from_bearing),
        "current_north": c["current_speed"] * np.cos(to_bearing),
        "current_east": c["current_speed"] * np.sin(to_bearing),
    }


def _manoeuvre_rows(c: Mapping[str, Array], barge: Barge, tug: Tug, athwart: NDArray[np.bool_]) -> dict[str, Array]:
    station = c["push_station"] * barge.length
    both_on = np.maximum(0.5 * barge.length - tug.flank_contact_half_spread - END_MARGIN, 0.0)
    return {
        "target": np.deg2rad(c["target_angle"]),
        "station": np.where(athwart, np.minimum(station, both_on), station),
        "lead": np.deg2rad(c["lead_angle"]),
        "rate_limit": np.deg2rad(c["swing_rate_limit"]),
        "easing_angle": np.deg2rad(np.minimum(c["easing_angle"], EASING_SHARE * c["target_angle"])),
        "power_setting": c["power_setting"],
        "power_step": c["power_step"],
        "order_interval": c["order_interval"],
        "order_delay": c["order_delay"],
        "steady_angle": np.deg2rad(c["steady_angle"]),
        "steady_rate": np.deg2rad(c["steady_rate"]),
        "steady_time": c["steady_time"],
        "time_limit": c["time_limit"],
        "drag_speed": np.asarray(DRAG_SPEED),
        "start_north": c["start_north"],
        "start_east": c["start_east"],
    }
