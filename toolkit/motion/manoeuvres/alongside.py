"""The helm at a barge's side: a fender pressed on it, a line hauled off it, or close by; and the line for that."""

from __future__ import annotations

from math import cos, pi, sin

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.motion.crew import (
    APPROACH_GAP,
    FENDER_HOLD,
    LANDING_SPEED,
    SHIFT_SPEED,
    STATION_FREQUENCY,
    STATION_SHARE,
    TAKE_UP_SPEED,
    TAKE_WEIGHT_POWER,
)
from toolkit.motion.helm import pose, station_force, steer, wrapped
from toolkit.motion.layout import MEMORY, REPORT, STATE, P
from toolkit.motion.lead import lead_angles
from toolkit.motion.manoeuvres.manoeuvre import Given
from toolkit.motion.manoeuvres.station import gentle_speed, quality_of
from toolkit.motion.phases import SHIFT, TAKE_WEIGHT
from toolkit.motion.vessel_rows import line_rows
from toolkit.particulars import towline_mbl
from toolkit.quantities import INPUTS

__all__ = ["ARRIVED", "GAP_AT_START", "crab_to_side", "flank_heading", "lie_to_side", "line_to_side", "side_quality",
           "wash_while_hauling"]  # fmt: skip

Array = NDArray[np.float64]

GAP_AT_START = 0.3
"""Clear water between fender and barge at the start of a push [m]; judgement, spread 0 to 2."""
ARRIVED = 2.0
"""Station error at which a shift is over [m]; judgement, spread 1 to 3."""
NEAR = 4.0
"""Station error within which she closes on the side again after a shift [m]; judgement, spread 2 to 6."""
LAND_RATE = 0.15
"""Speed at which she closes on the side, or takes up a slack line, over what is left [1/s]; judgement, 0.05 to 0.2."""
BACK_OFF_RATE = 0.02
"""Acceleration of the barge to which the thrust belongs with which she backs off at most, for her wash blows at the
side she leaves [m/s2]; judgement, spread 0.01 to 0.05."""
LEANING_GAP = 0.1
"""Clear water she keeps from the side while she has nothing to push for [m]; judgement, spread 0.1 to 1."""
POOR_HEADING, USELESS_HEADING = 0.12, 0.45
"""Heading error at which he eases, and at which she no longer pushes but folds along the side [rad]; judgement."""
POOR_SHARE, USELESS_SHARE = 0.08, 0.2
"""Station error over barge length at which he eases, and at which the push no longer turns; judgement."""
CRAB_FREQUENCY = 0.1
"""Natural frequency with which a tug without force to the side keeps her station by heading off [rad/s]; judgement,
spread 0.05 to 0.2."""
CRAB_PUSH = 0.05
"""Least push, over bollard pull, by which she reckons how far; judgement, spread 0.02 to 0.1."""
CRAB_MOST = 0.3490658503988659
"""Farthest that she heads off: 20 degrees [rad]; judgement, spread 10 to 30 degrees."""
BOW_STATION = 0.42
"""Fairlead of a tug made fast over her bow forward of midships, over her length; judgement, spread 0.36 to 0.46."""
PUSH_SLACK = 0.5
"""Least slack of the line at the push point while she pushes [m]; judgement, spread 0.3 to 2."""


@kernel
def flank_heading(p: NDArray[np.float64], k: int, end: float) -> float:
    """Heading, off the barge's, of a tug that lies along the side with her drives toward an end (+1 the bow)."""
    return 0.0 if p[P.drive_x + k] * end > 0.0 else pi


@kernel
def crab_to_side(
    s: NDArray[np.float64], p: NDArray[np.float64], k: int, side: float, error: float, power: float
) -> float:
    """Angle [rad] that a tug without force to the side heads off square, so that her push keeps her on her station.

    `side`, `error` and `power` as in :func:`lie_to_side`; nothing for azimuth drives, and flank-on.
    """
    if p[P.fixed_drives + k] == 0.0 or p[P.athwart + k] > 0.0:
        return 0.0
    _, y, heading = pose(s, p, k)
    turn = p[P.turn + k]
    c, sn = cos(heading), sin(heading)
    own = c * s[STATE.tug_surge + k] - sn * turn * s[STATE.tug_sway + k]
    missing = s[STATE.barge_surge + k] - turn * s[STATE.barge_yaw + k] * y - own
    mass = 0.5 * (p[P.tug_surge_mass + k] + p[P.tug_sway_mass + k])
    along = station_force(CRAB_FREQUENCY, mass, -error, missing, SHIFT_SPEED)
    full = 2.0 * p[P.unit_thrust + k]
    push = power * full if power > CRAB_PUSH else CRAB_PUSH * full
    return side * clip(along / push, -CRAB_MOST, CRAB_MOST)


@kernel
def wash_while_hauling(p: NDArray[np.float64], m: NDArray[np.float64], k: int, kept: int, hauling: bool) -> None:
    """Let wash strike the barge only while the tug hauls: pushing, she throws it away from her.

    `kept` is the row of memory in which the strength of it is kept from the first look on.
    """
    if m[MEMORY.time + k] == 0.0:
        m[kept + k] = p[P.barge_wash + k]
    p[P.barge_wash + k] = m[kept + k] if hauling else 0.0


@kernel
def side_quality(p: NDArray[np.float64], k: int, error: float, heading_error: float, shifting: bool) -> float:
    """Share of power a master uses at an error of station along the side [m] and of heading [rad]; 1 in a shift."""
    if shifting:
        return 1.0
    length = 2.0 * p[P.barge_half_length + k]
    quality = quality_of(error, POOR_SHARE * length + ARRIVED, USELESS_SHARE * length + NEAR)
    return quality * quality_of(wrapped(heading_error), POOR_HEADING, USELESS_HEADING)


@kernel
def haul_off(
    p: NDArray[np.float64], k: int, distance: float, tension: float, off: float, power: float, rest: float
) -> float:
    """Force off the side [N] of a tug on her line: hauling, stretching it gently, or lying slack at a distance `rest`.

    `distance` is between the towing points [m], `off` what she is missing of
    the barge's own speed off the side [m/s].
    """
    full = 2.0 * p[P.unit_thrust + k]
    mass = 0.5 * (p[P.tug_surge_mass + k] + p[P.tug_sway_mass + k])
    if power > 0.0 and distance > p[P.taut_distance + k]:
        return clip(power * full, 0.0, p[P.most_force + k])
    if power > 0.0:
        gentle = gentle_speed(p, k, p[P.barge_half_length + k], TAKE_UP_SPEED)
        speed = clip(gentle + LAND_RATE * (p[P.taut_distance + k] - distance), gentle, SHIFT_SPEED)
        keep = TAKE_WEIGHT_POWER * full
        gently = BACK_OFF_RATE * p[P.barge_sway_mass + k]
        stretch = station_force(STATION_FREQUENCY, mass, p[P.line_length + k], off, speed)
        # what the line's own weight pulls is allowed for
        return clip(stretch, -keep, keep if keep < gently else gently) + tension
    keep = STATION_SHARE * full
    return clip(station_force(STATION_FREQUENCY, mass, rest - distance, off, SHIFT_SPEED), -keep, keep)


@outlined
def lie_to_side(
    s: NDArray[np.float64],
    p: NDArray[np.float64],
    m: NDArray[np.float64],
    report: NDArray[np.float64],
    k: int,
    side: float,
    error: float,
    heading_aim: float,
    power: float,
    hauling: bool,
    rest: float,
    more_along: float,
) -> None:
    """Order the drives of a tug at the barge's side.

    Parameters
    ----------
    s, p, m, report, k
        As for a look, see `toolkit.motion.manoeuvres.manoeuvre.Manoeuvre`.
    side : float
        Side of the barge she lies to, mirrored: +1 starboard.
    error : float
        Distance off her station, along the barge [m].
    heading_aim : float
        Heading wanted, off the barge's [rad].
    power : float
        Share of the bollard pull to push with, or to haul with; 0 to feather.
    hauling : bool
        On the line, off the side, instead of pushing on it.
    rest : float
        Distance between the towing points at which she lies on a line that is not wanted [m].
    more_along : float
        Force along the barge besides what her own station takes [N].

    Notes
    -----
    She lands gently before she pushes, keeps clear of the side while she walks
    along it, and stretches a slack line gently before she hauls.
    """
    x, y, heading = pose(s, p, k)
    gap = side * y - p[P.barge_half_beam + k] - p[P.fender_reach + k]
    touching = report[REPORT.contact + k] > 0.0
    full = 2.0 * p[P.unit_thrust + k]
    shifting = m[MEMORY.phase + k] == SHIFT

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
    if more_along != 0.0:
        along = clip(along + more_along, -keep, keep)
    gentle = gentle_speed(p, k, p[P.station + k], LANDING_SPEED)
    # off the side: hauling, clear while walking, else landing, pushing or lying close
    off = missing_y * side
    held = 0.0
    if hauling:
        _, distance, _, _ = lead_angles(s, p, k)
        tension = report[REPORT.tension + k]
        outward = haul_off(p, k, distance, tension, off, power, rest)
        held = -p[P.tug_towing_x + k] * tension * c * side
    else:
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
        if p[P.athwart + k] > 0.0 and touching:
            # the fenders, well apart, take some of the moment of drives that do not sit amidships
            spread = FENDER_HOLD * abs(p[P.fender_first_x + k] - p[P.fender_second_x + k]) * 0.5
            thrust_side = outward * side * cos(heading_aim)
            held = clip(-p[P.drive_x + k] * thrust_side, -spread * abs(outward), spread * abs(outward))
        if touching and more_along != 0.0:  # the fender's friction answers it, on the barge's side of her midships
            held -= side * p[P.fender_reach + k] * more_along
    steer(
        s, p, m, k, along, side * outward, steady_x, steady_y,
        heading, heading_aim, rb, held,
    )  # fmt: skip


def line_to_side(
    given: Given, *, used: NDArray[np.bool_], fitting: Array, apart: Array, side: Array, pushing: NDArray[np.bool_]
) -> dict[str, Array]:
    """Rows of a line made fast on the barge's side.

    Parameters
    ----------
    given : Given
    used : ndarray of bool, shape (n,)
        Where there is such a line; elsewhere the rows are those of the towline.
    fitting : ndarray, shape (n,)
        From midships toward the end worked [m].
    apart : ndarray, shape (n,)
        Most that fitting and towing point of a tug that lies along the side are apart, along it, while she pushes [m].
    side : ndarray, shape (n,)
        +1 for the barge's starboard side.
    pushing : ndarray of bool, shape (n,)
        The tug also pushes: her line leads over the bow, or from the bitts
        abreast of her drives as she lies along the side, and is long enough to
        hang slack by `PUSH_SLACK` then.

    Returns
    -------
    dict of str to ndarray, shape (n,)
    """
    c, tug, barge = given.columns, given.tug, given.barge
    bow = np.where(given.athwart, tug.towing_point_x_athwartships / tug.length, BOW_STATION)
    own = np.isnan(c["tug_towing_station"]) & used & pushing
    towing = np.where(own, bow, c["tug_towing_station"])
    while_pushing = np.where(
        given.athwart,
        np.hypot(tug.flank_contact_y, apart),
        tug.stem_contact_x - np.nan_to_num(towing) * tug.length,
    )
    least = np.where(used & pushing, while_pushing + PUSH_SLACK, 0.0)
    changed = {
        "line_length": np.maximum(c["line_length"], least),
        "line_arrangement": np.where(used, INPUTS["line_arrangement"].choices.index("single"), c["line_arrangement"]),
        "tug_towing_station": towing,
        "barge_towing_station": np.where(used, fitting / barge.length, c["barge_towing_station"]),
        "barge_towing_offset": np.where(used, 0.5 * side, c["barge_towing_offset"]),
    }
    mbl = np.where(np.isnan(c["line_mbl"]), towline_mbl(c["bollard_pull"]), c["line_mbl"])
    rows = line_rows({**c, **changed}, barge, tug, mbl, used, given.athwart, given.end)
    return {**rows, "stern_first": np.where(used & pushing, 1.0, 0.0)}
