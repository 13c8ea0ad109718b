"""Swinging by pushing: the tug against the barge's side at a shoulder or quarter, with or without a line besides."""

from __future__ import annotations

from collections.abc import Mapping
from math import pi

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.motion.crew import LANDING_TIME, SHIFT_READY, SHIFT_SPEED
from toolkit.motion.helm import pose
from toolkit.motion.layout import MEMORY, REPORT, P
from toolkit.motion.lead import lead_angles
from toolkit.motion.manoeuvres.alongside import (
    ARRIVED,
    GAP_AT_START,
    crab_to_side,
    flank_heading,
    lie_to_side,
    line_to_side,
    side_quality,
    wash_while_hauling,
)
from toolkit.motion.manoeuvres.manoeuvre import Given, Manoeuvre, Place
from toolkit.motion.manoeuvres.station import watch_station
from toolkit.motion.manoeuvres.swing import judge_swing, swing_rows
from toolkit.motion.master import power_in_force
from toolkit.motion.phases import ACCELERATE, CHECK, SHIFT, TAKE_WEIGHT

__all__ = ["MANOEUVRE", "look_push", "push_place", "station_error"]

Array = NDArray[np.float64]

WASH = MEMORY.own_1
"""The strength of wash on the barge, kept while she pushes."""
END_MARGIN = 1.0
"""Flank-on, both fender contacts are kept at least this far inside the barge's end [m]; judgement, spread 0.5 to 3."""
LEAST_LEVER = 0.2
"""Least lever he reckons with, over that of his station; judgement."""
HAUL_READY = 10.0
"""Time he allows for turning from pushing to hauling on the line, or back [s]; judgement, spread 5 to 20."""
HAUL_SLOWNESS = 1.0
"""Time in which a slack line comes tight, over its length at `SHIFT_SPEED`; judgement, spread 0.7 to 2."""


@kernel
def end_worked(p: NDArray[np.float64], m: NDArray[np.float64], k: int) -> float:
    """+1 at the bow: the end at which the tug works now.

    To check, she goes to the other one; made fast by a line besides, she stays and hauls.
    """
    end: float = p[P.end + k] if p[P.on_line + k] > 0.0 else m[MEMORY.hand + k] * p[P.end + k]
    return end


@kernel
def station_error(s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int) -> float:
    """Distance [m] of the tug, along the barge, off the station she is to work at."""
    x, _, _ = pose(s, p, k)
    error: float = x - end_worked(p, m, k) * p[P.station + k]
    return error


@outlined
def look_push(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """One look of a master who swings a barge by pushing on her side.

    Parameters as for `look` of `toolkit.motion.manoeuvres.manoeuvre.Manoeuvre`.

    Notes
    -----
    The tug stays on one side. Pushing at one end turns the barge, pushing at
    the other end checks her; in between the tug backs off, walks along the
    side and lands again. With a line besides (`push_pull`) she checks by
    hauling on it where she is.
    """
    _, _, heading = pose(s, p, k)
    touching = report[REPORT.contact + k] > 0.0
    error = station_error(s, p, m, k)

    if m[MEMORY.phase + k] == TAKE_WEIGHT and touching:
        m[MEMORY.phase + k] = ACCELERATE
    if m[MEMORY.phase + k] == SHIFT and abs(error) < ARRIVED:
        m[MEMORY.phase + k] = CHECK if m[MEMORY.hand + k] < 0.0 else ACCELERATE
    lever = p[P.station + k]
    if touching:
        felt = end_worked(p, m, k) * report[REPORT.contact_station + k] / report[REPORT.contact + k]
        lever = clip(felt, LEAST_LEVER * lever, 2.0 * lever)
    power = 0.0
    if m[MEMORY.phase + k] not in (SHIFT, TAKE_WEIGHT):
        power = power_in_force(s, p, m, k, lever)
        error = station_error(s, p, m, k)
    side = -p[P.end + k]
    heading_aim = -0.5 * pi * side
    if p[P.athwart + k] > 0.0:  # her drives toward the end she turns
        heading_aim = flank_heading(p, k, p[P.end + k])
    hauling = p[P.on_line + k] > 0.0 and m[MEMORY.hand + k] < 0.0
    wash_while_hauling(p, m, k, WASH, hauling)
    if m[MEMORY.phase + k] != SHIFT and not hauling:
        heading_aim += crab_to_side(s, p, k, side, error, power)
    quality = side_quality(p, k, error, heading_aim - heading, m[MEMORY.phase + k] == SHIFT)
    power *= quality
    m[MEMORY.power + k] = power
    m[MEMORY.lead + k] = error
    if p[P.on_line + k] > 0.0:
        lead, _, _, _ = lead_angles(s, p, k)
        m[MEMORY.lead + k] = lead - p[P.lead + k] if hauling else 0.0
    lie_to_side(s, p, m, report, k, side, error, heading_aim, power, hauling, p[P.slack_distance + k], 0.0)
    watch_station(p, m, k, quality)


def _rows(given: Given) -> dict[str, Array]:
    station = given.columns["push_station"] * given.barge.length
    both_on = np.maximum(0.5 * given.barge.length - given.tug.flank_contact_half_spread - END_MARGIN, 0.0)
    place = np.where(given.athwart, np.minimum(station, both_on), station)
    abreast = place + given.athwart * np.abs(given.tug.towing_point_x_athwartships)
    fitting = np.minimum(abreast, 0.5 * given.barge.length)
    line = line_to_side(
        given, used=given.push_pull, fitting=fitting, apart=abreast - fitting, side=-given.end * given.turn,
        pushing=given.push_pull,
    )  # fmt: skip
    haul = HAUL_READY + HAUL_SLOWNESS * line["line_length"] / SHIFT_SPEED
    return {
        **swing_rows(given),
        **line,
        "lead": np.where(given.push_pull, -0.5 * np.pi, np.deg2rad(given.columns["lead_angle"])),
        "station": place,
        "shift_time": np.where(given.push_pull, haul, SHIFT_READY + LANDING_TIME + 2.0 * place / SHIFT_SPEED),
    }


def _gear(given: Given) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    return given.push_pull, np.ones(given.athwart.shape, dtype=np.bool_)


def push_place(given: Given, rows: Mapping[str, Array]) -> Place:
    """Place of a tug just clear of the barge's side at her push station, stem-on or flank-on."""
    end = given.end
    side = -end
    flank = np.where(rows["drive_x"] * end > 0.0, 0.0, np.pi)
    return Place(
        x=end * rows["station"],
        y=side * (rows["barge_half_beam"] + rows["fender_reach"] + GAP_AT_START),
        heading=np.where(given.athwart, flank, -0.5 * np.pi * side),
    )


MANOEUVRE = Manoeuvre(look=look_push, judge=judge_swing, rows=_rows, gear=_gear, place=push_place, swings=True)
