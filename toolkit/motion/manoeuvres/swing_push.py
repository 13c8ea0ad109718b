"""Swinging by pushing: the tug against the barge's side at a shoulder or quarter."""

from __future__ import annotations

from collections.abc import Mapping
from math import cos, pi, sin

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.motion.crew import (
    APPROACH_GAP,
    FENDER_HOLD,
    LANDING_SPEED,
    LANDING_TIME,
    SHIFT_READY,
    SHIFT_SPEED,
    STATION_FREQUENCY,
    STATION_SHARE,
)
from toolkit.motion.helm import pose, station_force, steer, wrapped
from toolkit.motion.layout import MEMORY, REPORT, STATE, P
from toolkit.motion.manoeuvres.manoeuvre import Given, Manoeuvre, Place
from toolkit.motion.manoeuvres.station import gentle_speed, quality_of, watch_station
from toolkit.motion.manoeuvres.swing import judge_swing, swing_rows
from toolkit.motion.master import power_in_force
from toolkit.motion.phases import ACCELERATE, CHECK, SHIFT, TAKE_WEIGHT

__all__ = ["MANOEUVRE", "look_push", "push_place", "station_error"]

Array = NDArray[np.float64]

GAP_AT_START = 0.3
"""Clear water between fender and barge at the start of a push [m]; judgement, spread 0 to 2."""
END_MARGIN = 1.0
"""Flank-on, both fender contacts are kept at least this far inside the barge's end [m]; judgement, spread 0.5 to 3."""
ARRIVED = 2.0
"""Station error at which a shift is over [m]; judgement, spread 1 to 3."""
NEAR = 4.0
"""Station error within which she closes on the side again after a shift [m]; judgement, spread 2 to 6."""
LEAST_LEVER = 0.2
"""Least lever he reckons with, over that of his station; judgement."""
LAND_RATE = 0.15
"""Speed at which she closes on the side, over the gap [1/s]; judgement, spread 0.05 to 0.2."""
LEANING_GAP = 0.1
"""Clear water she keeps from the side while she has nothing to push for [m]; judgement, spread 0.1 to 1."""
POOR_HEADING, USELESS_HEADING = 0.12, 0.45
"""Heading error at which he eases, and at which she no longer pushes but folds along the side [rad]; judgement."""
POOR_SHARE, USELESS_SHARE = 0.08, 0.2
"""Station error over barge length at which he eases, and at which the push no longer turns; judgement."""


@kernel
def station_error(s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int) -> float:
    """Distance [m] of the tug, along the barge, off the station she is to push at."""
    x, _, _ = pose(s, p, k)
    error: float = x - m[MEMORY.hand + k] * p[P.end + k] * p[P.station + k]
    return error


@outlined
def look_push(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """One look of a master who swings a barge by pushing on her side.

    Parameters
    ----------
    s, p, m, report : ndarray, shape (rows * lanes,)
        State, parameters, memory and the last report of loads.
    k : int
        Lane.

    Notes
    -----
    The tug stays on one side. Pushing at one end turns the barge, pushing at
    the other end checks her; in between the tug backs off, walks along the
    side and lands again.
    """
    x, y, heading = pose(s, p, k)
    side = -p[P.end + k]
    gap = side * y - p[P.barge_half_beam + k] - p[P.fender_reach + k]
    touching = report[REPORT.contact + k] > 0.0
    full = 2.0 * p[P.unit_thrust + k]
    error = station_error(s, p, m, k)

    if m[MEMORY.phase + k] == TAKE_WEIGHT and touching:
        m[MEMORY.phase + k] = ACCELERATE
    if m[MEMORY.phase + k] == SHIFT and abs(error) < ARRIVED:
        m[MEMORY.phase + k] = CHECK if m[MEMORY.hand + k] < 0.0 else ACCELERATE
    lever = p[P.station + k]
    if touching:
        felt = m[MEMORY.hand + k] * p[P.end + k] * report[REPORT.contact_station + k] / report[REPORT.contact + k]
        lever = clip(felt, LEAST_LEVER * lever, 2.0 * lever)
    power = 0.0
    if m[MEMORY.phase + k] not in (SHIFT, TAKE_WEIGHT):
        power = power_in_force(s, p, m, k, lever)
        error = station_error(s, p, m, k)
    shifting = m[MEMORY.phase + k] == SHIFT
    length = 2.0 * p[P.barge_half_length + k]
    quality = 1.0 if shifting else quality_of(error, POOR_SHARE * length + ARRIVED, USELESS_SHARE * length + NEAR)
    heading_aim = -0.5 * pi * side
    if p[P.athwart + k] > 0.0:  # her drives toward the end she turns
        heading_aim = 0.0 if p[P.drive_x + k] * p[P.end + k] > 0.0 else pi
    if not shifting:
        quality *= quality_of(wrapped(heading_aim - heading), POOR_HEADING, USELESS_HEADING)
    power *= quality
    m[MEMORY.power + k] = power
    m[MEMORY.lead + k] = error

    # velocities through the water in the barge's mirrored axes
    turn = p[P.turn + k]
    ub, vb, rb = s[STATE.barge_surge + k], turn * s[STATE.barge_sway + k], turn * s[STATE.barge_yaw + k]
    ut, vt = s[STATE.tug_surge + k], turn * s[STATE.tug_sway + k]
    c, sn = cos(heading), sin(heading)
    steady_x, steady_y = ub - rb * y, vb + rb * x
    missing_x, missing_y = steady_x - (c * ut - sn * vt), steady_y - (sn * ut + c * vt)

    # along the side: to the station, no faster than the gap allows
    mass = 0.5 * (p[P.tug_surge_mass + k] + p[P.tug_sway_mass + k])
    frequency = STATION_FREQUENCY
    walk = SHIFT_SPEED * clip(gap / (0.5 * APPROACH_GAP), 0.1, 1.0)
    keep = STATION_SHARE * full
    along = clip(station_force(frequency, mass, -error, missing_x, walk), -keep, keep)
    gentle = gentle_speed(p, k, p[P.station + k], LANDING_SPEED)
    # off the side: clear while walking, else landing, pushing or lying close
    off = missing_y * side
    if shifting and abs(error) > NEAR:
        outward = station_force(frequency, mass, APPROACH_GAP - gap, off, SHIFT_SPEED)
    elif touching and power > 0.0:
        push = power * full
        outward = -(push if push < p[P.most_force + k] else p[P.most_force + k])
    elif power > 0.0 or m[MEMORY.phase + k] == TAKE_WEIGHT:
        landing = clip(gentle + LAND_RATE * gap, gentle, SHIFT_SPEED)
        outward = station_force(frequency, mass, -10.0, off, landing)
    else:
        outward = station_force(frequency, mass, LEANING_GAP - gap, off, LANDING_SPEED)

    if not touching or power <= 0.0:
        outward = clip(outward, -keep, keep)

    held = 0.0
    if p[P.athwart + k] > 0.0 and touching:
        # the fenders, well apart, take some of the moment of drives that do not sit amidships
        spread = FENDER_HOLD * abs(p[P.fender_first_x + k] - p[P.fender_second_x + k]) * 0.5
        thrust_side = outward * side * cos(heading_aim)
        held = clip(-p[P.drive_x + k] * thrust_side, -spread * abs(outward), spread * abs(outward))
    steer(
        s, p, m, k, along, side * outward, steady_x, steady_y,
        heading, heading_aim, rb, held,
    )  # fmt: skip
    watch_station(p, m, k, quality)


def _rows(given: Given) -> dict[str, Array]:
    station = given.columns["push_station"] * given.barge.length
    both_on = np.maximum(0.5 * given.barge.length - given.tug.flank_contact_half_spread - END_MARGIN, 0.0)
    place = np.where(given.athwart, np.minimum(station, both_on), station)
    return {
        **swing_rows(given),
        "lead": np.deg2rad(given.columns["lead_angle"]),
        "station": place,
        "shift_time": SHIFT_READY + LANDING_TIME + 2.0 * place / SHIFT_SPEED,
    }


def _gear(given: Given) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    fender = np.ones(given.athwart.shape, dtype=np.bool_)
    return ~fender, fender


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
