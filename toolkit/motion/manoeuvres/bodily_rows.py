"""A barge moved, or kept, bodily: gear, berth and the tug's place in side_push and in hold."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.crew import FENDER_HOLD
from toolkit.motion.manoeuvres.alongside import line_to_side
from toolkit.motion.manoeuvres.manoeuvre import Given, Place
from toolkit.motion.vessel_rows import fender_rows

__all__ = ["bodily_gear", "bodily_place", "bodily_rows"]

Array = NDArray[np.float64]

BERTH_FREQUENCY = 1.0
"""Natural frequency of a barge on the berth's fenders, flat [rad/s]: 0.15 m at 0.15 m/s; judgement, spread 0.5 to 2."""
SLACK_AT_START = 0.98
"""Distance between the towing points over the line's length at the start; judgement, spread 0.9 to 1."""


def bodily_gear(given: Given) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """A line to haul off with, a fender to push onto with; both where made fast so."""
    off = given.choice("side_way", "off")
    return off | given.push_pull, ~off


def bodily_rows(given: Given, *, gap: Array, face: Array, sprung: NDArray[np.bool_]) -> dict[str, Array]:
    """Rows that side_push and hold share.

    Parameters
    ----------
    given : Given
    gap : ndarray, shape (n,)
        Clear water between the barge and the berth's face at the start [m].
    face : ndarray, shape (n,)
        +1 where the berth lies on the side to which `turn` points, -1 where
        on the other, 0 where there is none.
    sprung : ndarray of bool, shape (n,)
        Whether the face holds the barge up: else reaching it ends the case.

    Returns
    -------
    dict of str to ndarray, shape (n,)
    """
    c, barge, tug, turn = given.columns, given.barge, given.tug, given.turn
    line, pushing = bodily_gear(given)
    side = np.where(pushing, -1.0, 1.0)
    rows = line_to_side(
        given, used=line, fitting=np.zeros(turn.shape), apart=np.abs(tug.towing_point_x_athwartships),
        side=turn * side, pushing=pushing,
    )  # fmt: skip
    rows |= fender_rows(c, tug, pushing, given.athwart, given.end, given.end * turn)
    stern_first = pushing | given.stern_drive
    square = np.where(stern_first, -0.5 * np.pi, 0.5 * np.pi) * side
    flank = np.where(tug.drive_x * given.end > 0.0, 0.0, np.pi)
    spread = FENDER_HOLD * tug.flank_contact_half_spread
    heading = np.deg2rad(c["initial_heading"])
    cosine, sine = np.cos(heading), np.sin(heading)
    north, east = -face * turn * -sine, -face * turn * cosine
    apart = 0.5 * barge.beam + gap - (north * c["start_north"] + east * c["start_east"])
    sway_mass = barge.displacement + c["added_mass_multiplier"] * barge.sway_added_mass
    return {
        **rows,
        "stern_first": stern_first.astype(np.float64),
        "end": np.ones(turn.shape),
        "lead": 0.5 * np.pi * side,
        "station": 0.5 * barge.length,  # the lever by which she lands gently
        "berth_north": np.where(face == 0.0, 1.0, north),
        "berth_east": np.where(face == 0.0, 0.0, east),
        "berth_distance": np.where(face == 0.0, 1e9, apart),
        "berth_stiffness": np.where(sprung, 0.5 * sway_mass * BERTH_FREQUENCY**2, 0.0),
        "own_1": side,
        "own_2": np.where(given.athwart, flank, square),
        "own_3": cosine,
        "own_4": sine,
        "own_10": np.where(given.athwart & pushing, np.clip(tug.drive_x * np.cos(flank), -spread, spread), 0.0),
        "own_11": face,
    }


def bodily_place(given: Given, rows: Mapping[str, Array], gap: float) -> Place:
    """Place of a tug square to the barge's side, or along it: a gap [m] off it, or just short of her line's length."""
    side, heading, towing = rows["own_1"], rows["own_2"], rows["tug_towing_x"]
    hauling = side > 0.0
    clear = np.where(
        hauling,
        SLACK_AT_START * rows["line_length"] - side * towing * np.sin(heading),
        rows["fender_reach"] + gap,
    )
    return Place(
        x=np.where(hauling, -towing * np.cos(heading), -rows["own_10"]),
        y=side * (rows["barge_half_beam"] + clear),
        heading=heading,
    )
