"""The log of a case: what is noted at every step and every tick."""

from __future__ import annotations

from math import pi
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.motion.layout import LANES, MEMORY, REPORT, STATE, P
from toolkit.motion.lead import lead_angles
from toolkit.motion.phases import SHIFT, TAKE_WEIGHT

__all__ = ["FAR", "NEVER", "TICK", "TUG_SHARE", "WINDOW", "gaps", "larger", "note_line", "note_motion", "note_step",
           "overlaps"]  # fmt: skip

N = TypeVar("N", float, NDArray[np.float64])

TICK = 0.5
"""Interval between two entries of the log [s]."""
WINDOW = 6
"""Ticks in the 3 s mean of tension."""

TAUT_SHARE = 0.02
"""Tension over breaking load above which the line's lead counts; judgement."""
NEVER = -10.0
"""Peak of heel toward or away from a side force, before there was any [rad]."""
FAR = 1e9
"""Clearance before any was measured [m]."""
TUG_SHARE = 0.95
"""Share of the tug's length and beam that her rectangle has, for her ends are rounded; judgement, spread 0.85 to 1."""


@kernel
def note_step(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], report: NDArray[np.float64], k: int
) -> None:
    """Note peaks of tension, contact force and heel, and add up tension; at every step, without branches."""
    tension, contact, heel = report[REPORT.tension + k], report[REPORT.contact + k], s[STATE.heel + k]
    peak = m[MEMORY.peak_tension + k]
    m[MEMORY.peak_tension + k] = tension if tension > peak else peak
    peak = m[MEMORY.peak_contact + k]
    m[MEMORY.peak_contact + k] = contact if contact > peak else peak
    peak = m[MEMORY.heel_starboard + k]
    m[MEMORY.heel_starboard + k] = heel if heel > peak else peak
    peak = m[MEMORY.heel_port + k]
    m[MEMORY.heel_port + k] = -heel if -heel > peak else peak
    side = report[REPORT.side + k]
    toward = heel if side > 0.0 else -heel
    loaded = abs(side) > p[P.side_force + k]
    peak = m[MEMORY.heel_toward + k]
    m[MEMORY.heel_toward + k] = toward if loaded and toward > peak else peak
    peak = m[MEMORY.heel_away + k]
    m[MEMORY.heel_away + k] = -toward if loaded and -toward > peak else peak
    m[MEMORY.window_sum + k] += tension


@kernel
def larger(value: float, other: float) -> float:
    """The larger of two numbers."""
    return value if value > other else other


@kernel
def swept_square(north: float, east: float, cosine: float, sine: float, half_length: float, half_beam: float) -> float:
    """Square of the distance [m2] from a place to the farthest corner of a hull that lies north and east of it."""
    along = abs(cosine * north + sine * east) + half_length
    across = abs(cosine * east - sine * north) + half_beam
    return along * along + across * across


@kernel
def gaps(north: N, east: N, cb: N, sb: N, ct: N, st: N, hl: N, hb: N, tl: N, tb: N) -> tuple[N, N, N, N]:
    """Gap [m] between two rectangles along each of their axes; they overlap where all four are negative.

    Parameters
    ----------
    north, east : float or ndarray
        Centre of the second from that of the first [m].
    cb, sb, ct, st : float or ndarray
        Cosine and sine of the heading of the first, and of the second.
    hl, hb, tl, tb : float or ndarray
        Half-length and half-beam of the first, and of the second [m].

    Returns
    -------
    tuple of four float or ndarray
        Along and across the first, along and across the second (theorem of the separating axis).
    """
    c, sn = abs(ct * cb + st * sb), abs(st * cb - ct * sb)
    return (
        abs(cb * north + sb * east) - (hl + tl * c + tb * sn),
        abs(cb * east - sb * north) - (hb + tl * sn + tb * c),
        abs(ct * north + st * east) - (tl + hl * c + hb * sn),
        abs(ct * east - st * north) - (tb + hl * sn + hb * c),
    )


@outlined
def overlaps(s: NDArray[np.float64], p: NDArray[np.float64], k: int, allowed: float) -> bool:
    """Whether the rectangles of tug and barge overlap by more than a length [m]."""
    a, b, c, d = gaps(
        s[STATE.tug_north + k] - s[STATE.barge_north + k],
        s[STATE.tug_east + k] - s[STATE.barge_east + k],
        s[STATE.barge_cosine + k],
        s[STATE.barge_sine + k],
        s[STATE.tug_cosine + k],
        s[STATE.tug_sine + k],
        p[P.barge_half_length + k] - allowed,
        p[P.barge_half_beam + k] - allowed,
        TUG_SHARE * p[P.tug_half_length + k],
        TUG_SHARE * p[P.tug_half_beam + k],
    )
    return bool(a < 0.0 and b < 0.0 and c < 0.0 and d < 0.0)


@outlined
def note_line(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], w: NDArray[np.float64], k: int,
    tension: float,
) -> None:  # fmt: skip
    """Note means of tension, slack, and how well the line leads."""
    oldest = int(m[MEMORY.ticks + k]) % WINDOW
    # trapezoidal: the sum holds the tension at every step but the last
    ends = 0.5 * (tension - m[MEMORY.window_first + k])
    mean = (m[MEMORY.window_sum + k] + ends) / p[P.steps_per_tick + k]
    m[MEMORY.window_sum + k] = 0.0
    m[MEMORY.window_first + k] = tension
    m[MEMORY.window_total + k] += mean - w[oldest * LANES + k]
    w[oldest * LANES + k] = mean
    three = m[MEMORY.window_total + k] / WINDOW
    if three > m[MEMORY.peak_window + k]:
        m[MEMORY.peak_window + k] = three
    taut = tension > p[P.line_slack + k]
    if taut and m[MEMORY.first_taut + k] < 0.0:
        m[MEMORY.first_taut + k] = m[MEMORY.time + k]
    if m[MEMORY.first_taut + k] >= 0.0 and m[MEMORY.time_to_turn + k] < 0.0:
        m[MEMORY.tension_sum + k] += mean
        m[MEMORY.tension_time + k] += TICK
        if not taut:
            m[MEMORY.slack_time + k] += TICK
    if tension > TAUT_SHARE * p[P.line_breaking + k]:
        lead, _, off_axis, _ = lead_angles(s, p, k)
        m[MEMORY.off_axis + k] = larger(off_axis, m[MEMORY.off_axis + k])
        if m[MEMORY.phase + k] not in (SHIFT, TAKE_WEIGHT) and m[MEMORY.power + k] > 0.0:
            hand = 1.0 if p[P.pushing + k] > 0.0 else m[MEMORY.hand + k]  # one that also pushes hauls one way only
            error = abs(lead - hand * p[P.lead + k])
            error = 2.0 * pi - error if error > pi else error  # the shorter way round
            m[MEMORY.poorest_lead + k] = larger(error, m[MEMORY.poorest_lead + k])


@outlined
def note_motion(s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int) -> None:
    """Note rate, angle, the passing of the target, steadiness, drift and swept circles."""
    time, turned = m[MEMORY.time + k], s[STATE.turned + k]
    rate = p[P.turn + k] * s[STATE.barge_yaw + k]
    target, before = p[P.target + k], m[MEMORY.last_turned + k]
    if rate > m[MEMORY.peak_rate + k]:
        m[MEMORY.peak_rate + k] = rate
    if turned > m[MEMORY.most_turned + k]:
        m[MEMORY.most_turned + k] = turned
    if m[MEMORY.time_to_turn + k] < 0.0 and turned >= target:
        m[MEMORY.time_to_turn + k] = time - TICK * (turned - target) / (turned - before)
    m[MEMORY.last_turned + k] = turned
    if abs(turned - target) > p[P.steady_angle + k] or abs(rate) > p[P.steady_rate + k]:
        m[MEMORY.steady_since + k] = time
    if m[MEMORY.time_to_steady + k] < 0.0 and time - m[MEMORY.steady_since + k] >= p[P.steady_time + k]:
        m[MEMORY.time_to_steady + k] = m[MEMORY.steady_since + k]

    origin_north, origin_east = p[P.origin_north + k], p[P.origin_east + k]
    north, east = s[STATE.barge_north + k] - origin_north, s[STATE.barge_east + k] - origin_east
    square = north * north + east * east
    m[MEMORY.drift_square + k] = larger(square, m[MEMORY.drift_square + k])
    half_length, half_beam = p[P.barge_half_length + k], p[P.barge_half_beam + k]
    cosine, sine = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    swept = swept_square(north, east, cosine, sine, half_length, half_beam)
    centre = swept_square(north + origin_north, east + origin_east, cosine, sine, half_length, half_beam)
    m[MEMORY.swept_barge_square + k] = larger(swept, m[MEMORY.swept_barge_square + k])
    north, east = s[STATE.tug_north + k] - origin_north, s[STATE.tug_east + k] - origin_east
    half_length, half_beam = p[P.tug_half_length + k], p[P.tug_half_beam + k]
    cosine, sine = s[STATE.tug_cosine + k], s[STATE.tug_sine + k]
    swept = larger(swept, swept_square(north, east, cosine, sine, half_length, half_beam))
    tug_centre = swept_square(north + origin_north, east + origin_east, cosine, sine, half_length, half_beam)
    m[MEMORY.swept_all_square + k] = larger(swept, m[MEMORY.swept_all_square + k])
    m[MEMORY.centre_square + k] = larger(larger(centre, tug_centre), m[MEMORY.centre_square + k])

    sway, surge = abs(s[STATE.barge_sway + k]), s[STATE.barge_surge + k]
    fastest = sway + abs(s[STATE.barge_yaw + k]) * p[P.barge_half_length + k]
    if fastest * fastest + surge * surge > p[P.drag_speed + k] * p[P.drag_speed + k]:
        m[MEMORY.fast_time + k] += TICK
    if abs(s[STATE.heel + k]) > p[P.heel_caution + k]:
        m[MEMORY.heel_caution_time + k] += TICK
