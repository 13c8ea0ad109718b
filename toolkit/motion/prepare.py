"""From the table of cases to the numbers of the kernel: hulls drawn up, units turned to radians."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.failures import FENDER_SLIPS, LINE_PARTS, NO_FAILURE
from toolkit.motion.layout import GUST_ROWS, Parameters
from toolkit.motion.log import TICK
from toolkit.motion.manoeuvres import MANOEUVRES
from toolkit.motion.manoeuvres.manoeuvre import Given, Place
from toolkit.motion.setting_rows import NEVER_GIVEN, failure_rows, order_rows, surrounding_rows
from toolkit.motion.start import start_of
from toolkit.motion.stepping import steps_per_tick
from toolkit.motion.vessel_rows import barge_rows, drive_rows, fender_rows, line_rows, tug_rows
from toolkit.particulars import (
    STATIC_RULE_FACTOR,
    Barge,
    Crew,
    Tug,
    barge_from_displacement,
    crew_from_habits,
    gust_harmonics,
    gust_phasors,
    sag_matters,
    static_beam_wind_force,
    towline_mbl,
    tug_from_bollard_pull,
)
from toolkit.quantities import INPUTS, RangeFlag

__all__ = ["Columns", "Prepared", "prepare"]

Columns = Mapping[str, NDArray[np.float64] | NDArray[np.int64]]
Array = NDArray[np.float64]

T = TypeVar("T")

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
    gusts : ndarray, shape (GUST_ROWS, n), or (0, 0)
        Harmonics of the gusts; empty where no case has any.
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
    gusts: Array
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


def _vessels(c: Mapping[str, Array]) -> tuple[Barge, Tug]:
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
    return barge, tug


def crew_of(c: Mapping[str, Array], displacement: Array) -> Crew:
    """The crew of each case, with the barge's displacement as loaded [kg]."""
    return crew_from_habits(
        crew_code=c["crew"].astype(np.int64), displacement=displacement, order_interval=c["order_interval"],
        order_delay=c["order_delay"], recognition_time=c["recognition_time"], power_step=c["power_step"],
        swing_rate_limit=np.deg2rad(c["swing_rate_limit"]), easing_angle=np.deg2rad(c["easing_angle"]),
        scatter=c["crew_scatter"], seed=np.nan_to_num(c["draw_seed"]), draw=c["draw"],
    )  # fmt: skip


def _some(whole: T, picked: NDArray[np.int64], size: int) -> T:
    """The same dataclass of arrays for some of its cases."""
    values: dict[str, Any] = {
        field.name: np.broadcast_to(getattr(whole, field.name), (size,))[picked]
        for field in fields(whole)  # type: ignore[arg-type]
    }
    return type(whole)(**values)


def _given(columns: Mapping[str, Array], barge: Barge, tug: Tug, crew: Crew) -> Given:
    def choice(name: str, word: str) -> NDArray[np.bool_]:
        return np.asarray(columns[name] == INPUTS[name].choices.index(word))

    return Given(
        columns=columns, barge=barge, tug=tug, crew=crew,
        athwart=choice("tug_attitude", "athwartships"),
        stern_drive=choice("tug_type", "azimuth_stern_drive"),
        end=sign_of(columns, "working_end", "bow"),
        turn=sign_of(columns, "turn", "starboard"),
        push_pull=choice("making_fast", "push_pull"),
    )  # fmt: skip


def prepare(columns: Columns, clock: Array | float = 0.0) -> Prepared:
    """Draw up hulls, lines and surroundings for a table of cases.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n,)
        Every input of the register: SI, degrees, codes for choices, NaN for
        what is to be derived.
    clock : float or ndarray, shape (n,)
        Time of gusts, front and failures at the start [s]: of a later leg of a
        job, else 0.

    Returns
    -------
    Prepared
    """
    c = {name: np.asarray(values, dtype=np.float64) for name, values in columns.items()}
    c["water_depth"] = c["water_depth"] + c["tide"]
    size = len(c["bollard_pull"])
    barge, tug = _vessels(c)
    crew = crew_of(c, np.broadcast_to(barge.displacement, (size,)))
    given = _given(c, barge, tug, crew)
    code = c["manoeuvre"].astype(np.int64)
    parts: list[tuple[NDArray[np.int64], Any, Given]] = []
    on_line, pushing = np.zeros(size, dtype=np.bool_), np.zeros(size, dtype=np.bool_)
    for number, manoeuvre in enumerate(MANOEUVRES.values()):
        picked = np.flatnonzero(code == number)
        if picked.size:
            some = _given(
                {name: values[picked] for name, values in c.items()},
                _some(barge, picked, size), _some(tug, picked, size), _some(crew, picked, size),
            )  # fmt: skip
            parts.append((picked, manoeuvre, some))
            on_line[picked], pushing[picked] = manoeuvre.gear(some)

    depth = c["water_depth"]
    mbl = np.where(np.isnan(c["line_mbl"]), towline_mbl(c["bollard_pull"]), c["line_mbl"])
    values = {
        **dict.fromkeys(Parameters._fields, np.asarray(0.0)),
        **barge_rows(c, barge),
        **tug_rows(c, tug),
        **drive_rows(c, tug, pushing, given.athwart),
        **line_rows(c, barge, tug, mbl, on_line, given.athwart, given.end),
        **fender_rows(c, tug, pushing, given.athwart, given.end, given.turn),
        **surrounding_rows(c),
        **failure_rows(c, crew),
        **order_rows(c, crew),
        "manoeuvre": c["manoeuvre"],
        "on_line": on_line.astype(np.float64),
        "pushing": pushing.astype(np.float64),
        "athwart": given.athwart.astype(np.float64),
        "end": given.end,
        "turn": given.turn,
        "heel_caution": HEEL_CAUTION_SHARE * tug.deck_edge_angle,
        "drag_speed": np.asarray(DRAG_SPEED),
        "target": np.asarray(np.inf),
        "clock_start": np.asarray(clock),
    }
    rows = {
        name: np.array(np.broadcast_to(np.asarray(value, dtype=np.float64), (size,))) for name, value in values.items()
    }
    places = {name: np.zeros(size) for name in ("x", "y", "heading", "way")}
    for picked, manoeuvre, some in parts:
        for name, value in manoeuvre.rows(some).items():
            rows[name][picked] = value
        place: Place = manoeuvre.place(some, {name: row[picked] for name, row in rows.items()})
        for name in places:
            places[name][picked] = getattr(place, name)
    idle = ((rows["failure"] == LINE_PARTS) & ~on_line) | ((rows["failure"] == FENDER_SLIPS) & ~pushing)
    rows["failure"] = np.where(idle, NO_FAILURE, rows["failure"])  # what is not there cannot fail
    rows["release_heel"] = np.where(on_line, rows["release_heel"], NEVER_GIVEN)  # nor be let go
    rows["barge_wash"] *= on_line  # the source is of a tug on a line; what one that backs off a side does is left out
    rows["steps_per_tick"], coarse = steps_per_tick(rows, c["step_refinement"])
    parameters = np.stack([rows[name] for name in Parameters._fields])

    flags = np.zeros(size, dtype=np.int64)
    depth_ratio = depth / barge.draught
    marks = (
        ((depth_ratio < SHALLOW_RATIO) | (depth / tug.draught < SHALLOW_RATIO), RangeFlag.shallow_added_mass),
        (coarse, RangeFlag.coarse_step),
        (tug.out_of_family, RangeFlag.tug_family),
        (barge.out_of_family, RangeFlag.barge_family),
        (on_line & sag_matters(mbl, columns["line_material"].astype(np.int64), c["line_length"]), RangeFlag.line_sag),
    )
    for mask, flag in marks:
        flags |= np.where(mask, int(flag), 0)
    wind = c["wind_speed"] * c["gust_factor"]
    available = c["bollard_pull"] * c["bollard_pull_derate"]
    stopped = given.choice("start", "over_ground")
    return Prepared(
        parameters=np.ascontiguousarray(parameters),
        initial=np.ascontiguousarray(start_of(rows, Place(**places), np.deg2rad(c["initial_heading"]), stopped)),
        gusts=_gust_rows(c, np.broadcast_to(clock, (size,))),
        barge=barge,
        tug=tug,
        line_mbl=mbl,
        aground=(depth <= barge.draught) | (depth <= tug.draught),
        range_flags=flags,
        depth_ratio=depth_ratio,
        static_wind_demand=STATIC_RULE_FACTOR * static_beam_wind_force(barge, wind) / available,
    )  # fmt: skip


def _gust_rows(c: Mapping[str, Array], clock: Array) -> Array:
    """Harmonics of the gusts in the kernel's rows, as they stand at a time [s]; none where no case has gusts."""
    gusty = np.flatnonzero(c["gust_intensity"] > 0.0)
    if not gusty.size:
        return np.zeros((0, 0))
    amplitude, frequency, phase = gust_harmonics(
        (c["wind_speed"] * c["gust_factor"])[gusty], np.floor(np.nan_to_num(c["draw_seed"][gusty])).astype(np.int64),
        np.floor(c["draw"][gusty]).astype(np.int64), c["gust_intensity"][gusty],
    )  # fmt: skip
    phase = phase + 2.0 * np.pi * frequency * clock[gusty, np.newaxis]
    cosine, sine, turn_cosine, turn_sine = gust_phasors(frequency, phase, TICK)
    rows = np.zeros((GUST_ROWS, len(c["gust_intensity"])))
    rows[:, gusty] = np.concatenate([part.T for part in (cosine, sine, amplitude, turn_cosine, turn_sine)])
    return rows
