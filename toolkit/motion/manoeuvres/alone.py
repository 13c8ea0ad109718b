"""What walking and shifting have in common: the tug alone, steered to a velocity, and what is noted of her."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.motion.allocation import give_orders
from toolkit.motion.crew import HEADING_FREQUENCY, HELM_INTERVAL, HOLD_SHARE, PATIENCE, STATION_FREQUENCY
from toolkit.motion.helm import drag_of, heading_moment, wind_felt
from toolkit.motion.layout import MEMORY, MEMORY_ROW, STATE, P
from toolkit.motion.log import TICK, larger
from toolkit.motion.manoeuvres.manoeuvre import Given, Ran
from toolkit.quantities import Outcome

__all__ = ["AT_REST", "BEGUN", "HEADING_KEPT", "IN_PLACE", "IN_PLACE_TIME", "alone_outcomes", "begin_alone",
           "judge_alone", "no_gear", "order_velocity", "toward",
           "walking_pace"]  # fmt: skip

IN_PLACE = 1.0
"""Distance off her place at which she is there [m]; judgement, spread 0.5 to 2."""
AT_REST = 0.1
"""Speed at which she is as good as at rest [m/s]; judgement, spread 0.05 to 0.2."""
HEADING_KEPT = 0.08726646259971647
"""Heading error within which her heading is right: 5 degrees [rad]; judgement, spread 3 to 10."""
SETTLED_TIME = 5.0
"""Time on end for which place, speed and heading have to be right [s]; judgement, spread 3 to 15."""
COUPLE_SHARE = 0.8
"""Share of the thrust left by the side force that the drives' couple may use, as it is shared out to the drives."""
TRIM_TIME = 30.0
"""Time in which a heading error that stays is trimmed out [s]; judgement, spread 15 to 60."""
TRIM_NEAR, TRIM_MOST = 0.2, 0.5
"""Heading error within which it is, and the most error that it stands for [rad]; judgement."""
PACE_SHARE = 0.7
"""Speed reckoned with sideways, over that at which her hull's drag balances the side force; spread 0.5 to 0.85."""
HEADWAY = 0.5
"""What she has to gain on her place, within the master's patience, to be making headway [m]; judgement."""

COMPLETED = int(Outcome.completed)
TIMED_OUT = int(Outcome.timed_out)
LOST_STATION = int(Outcome.lost_station)

# what the tug alone has of her own in memory; 9 to 12 are left to the manoeuvre
BEGIN_NORTH, BEGIN_EAST = MEMORY.own_1, MEMORY.own_2
BEGUN = MEMORY.own_3
FARTHEST_SQUARE, FASTEST = MEMORY.own_4, MEMORY.own_5
TRIM = MEMORY.own_6
NEAREST = MEMORY.own_7
IN_PLACE_TIME = MEMORY.own_8


@kernel
def begin_alone(s: NDArray[np.float64], m: NDArray[np.float64], k: int) -> None:
    """Note where she begins."""
    m[BEGIN_NORTH + k] = s[STATE.tug_north + k]
    m[BEGIN_EAST + k] = s[STATE.tug_east + k]
    m[NEAREST + k] = 1e9
    m[BEGUN + k] = 1.0


@kernel
def toward(ahead: float, side: float, most: float) -> tuple[float, float]:
    """Velocity [m/s] toward a place that lies ahead and to the side [m, m], no faster than `most` [m/s].

    In proportion to the distance, so that she comes to it without passing it.
    """
    distance = sqrt(ahead * ahead + side * side) + 1e-9
    speed = clip(0.5 * STATION_FREQUENCY * distance, 0.0, most)
    return speed * ahead / distance, speed * side / distance


@kernel
def side_reach(p: NDArray[np.float64], k: int) -> float:
    """Side force over the drives' thrust that leaves their couple enough to hold her heading against it.

    The drives sit off her centre of lateral resistance by a lever, and half
    their spacing is what their couple works with.
    """
    half = COUPLE_SHARE * p[P.drive_half_spacing + k]
    lever = p[P.drive_x + k] - p[P.tug_resistance_centre + k]
    share: float = HOLD_SHARE * half / sqrt(half * half + lever * lever)
    return share


@kernel
def walking_pace(p: NDArray[np.float64], k: int, power: float) -> float:
    """Speed [m/s] that she makes good sideways with a share of the bollard pull, in her master's feel."""
    force = power * 2.0 * p[P.unit_thrust + k] * side_reach(p, k)
    return PACE_SHARE * sqrt(force / (2.0 * p[P.tug_cross_flow + k] * p[P.tug_half_length + k] + 1e-9))


@outlined
def order_velocity(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int, ahead: float, side: float,
    power: float, heading_error: float, turn_aim: float,
) -> None:  # fmt: skip
    """Order the drives so that the tug comes to a velocity and to a heading, and say when to look next.

    Parameters
    ----------
    s, p, m : ndarray, shape (rows * lanes,)
        State, parameters, memory.
    k : int
        Lane.
    ahead, side : float
        Velocity wanted through the water, in her mirrored axes [m/s].
    power : float
        Largest share of the bollard pull for it; her heading may take more [1].
    heading_error : float
        Heading wanted less heading, mirrored [rad].
    turn_aim : float
        Rate of turn of the heading wanted [rad/s].

    Notes
    -----
    The force for the drag at that velocity, and what brings her to it at
    `STATION_FREQUENCY`; a side force no larger than the drives' couple can hold.
    """
    turn = p[P.turn + k]
    surge, sway = s[STATE.tug_surge + k], turn * s[STATE.tug_sway + k]
    hull_ahead, hull_side, drive_ahead, drive_side = drag_of(s, p, k, ahead, side)
    wind_ahead, wind_side, wind_moment = wind_felt(s, p, k)
    gain = 2.0 * STATION_FREQUENCY
    full = 2.0 * p[P.unit_thrust + k]
    force_ahead = p[P.tug_surge_mass + k] * gain * (ahead - surge) + hull_ahead + drive_ahead - wind_ahead
    force_side = p[P.tug_sway_mass + k] * gain * (side - sway) + hull_side + drive_side - wind_side
    most = power * full
    most_side = most * side_reach(p, k)
    force_side = clip(force_side, -most_side, most_side)
    force_ahead = clip(force_ahead, -most, most)
    # her heading: against the drag as she moves now, and what stays of an error
    _, hull_side, _, drive_side = drag_of(s, p, k, surge, sway)
    trimmed = m[TRIM + k] + HELM_INTERVAL / TRIM_TIME * heading_error
    m[TRIM + k] = clip(trimmed, -TRIM_MOST, TRIM_MOST) if abs(heading_error) < TRIM_NEAR else 0.0
    moment = heading_moment(
        HEADING_FREQUENCY, p[P.tug_yaw_inertia + k], heading_error, turn_aim, turn * s[STATE.tug_yaw + k]
    )
    moment += p[P.tug_yaw_inertia + k] * HEADING_FREQUENCY * HEADING_FREQUENCY * m[TRIM + k]
    moment += p[P.tug_resistance_centre + k] * hull_side + p[P.drive_x + k] * drive_side - wind_moment
    m[MEMORY.power + k] = sqrt(force_ahead * force_ahead + force_side * force_side) / full
    give_orders(p, m, k, force_ahead, force_side, moment)
    m[MEMORY.next_look + k] = m[MEMORY.time + k] + HELM_INTERVAL


@kernel
def judge_alone(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], k: int, left: float, right: bool,
    stay: float,
) -> None:  # fmt: skip
    """Note how far and how fast she went, and end the case: in place, out of time, or making no headway.

    Parameters
    ----------
    s, p, m : ndarray, shape (rows * lanes,)
        State, parameters, memory.
    k : int
        Lane.
    left : float
        Distance that is left [m].
    right : bool
        Whether she is in place, at rest and on her heading.
    stay : float
        Time for which she is to stay so, besides `SETTLED_TIME` on end [s].

    Notes
    -----
    The time to stay goes on only while she is in place. Lost is the station to
    which she has come no nearer for as long as the master's patience.
    """
    time = m[MEMORY.time + k]
    north, east = s[STATE.tug_north + k] - m[BEGIN_NORTH + k], s[STATE.tug_east + k] - m[BEGIN_EAST + k]
    m[FARTHEST_SQUARE + k] = larger(north * north + east * east, m[FARTHEST_SQUARE + k])
    m[FASTEST + k] = larger(abs(s[STATE.tug_sway + k]), m[FASTEST + k])
    if right:
        m[IN_PLACE_TIME + k] += TICK
    elif m[IN_PLACE_TIME + k] < SETTLED_TIME:
        m[IN_PLACE_TIME + k] = 0.0
    if right or left < m[NEAREST + k] - HEADWAY:
        m[NEAREST + k] = left
        m[MEMORY.lost_since + k] = time
    if m[IN_PLACE_TIME + k] >= SETTLED_TIME + stay:
        m[MEMORY.outcome + k] = COMPLETED
    elif time - m[MEMORY.lost_since + k] > PATIENCE:
        m[MEMORY.outcome + k] = LOST_STATION
    elif time >= p[P.time_limit + k]:
        m[MEMORY.outcome + k] = TIMED_OUT


def no_gear(given: Given) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Neither line nor fender."""
    none = np.zeros(given.athwart.shape, dtype=np.bool_)
    return none, none


def alone_outcomes(ran: Ran) -> dict[str, NDArray[np.float64]]:
    """How far and how fast she went."""
    return {
        "swept_radius_tug": np.sqrt(ran.memories[MEMORY_ROW.own_4]),
        "walking_speed": ran.memories[MEMORY_ROW.own_5],
    }
