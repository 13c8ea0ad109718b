"""What force and moment are asked of the tug, made into orders for her two drives."""

from __future__ import annotations

from math import atan2, cos, floor, sin, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.motion.crew import HELM_DELAY, OPPOSED_SHARE, OPPOSED_UNTIL
from toolkit.motion.layout import MEMORY, P

__all__ = ["allocate", "allocate_fixed", "allocate_one", "give_orders", "rounded_power"]

KICK_SHARE = 0.5
"""Most of a screw's thrust that a conventional tug sets against the other to turn; judgement, spread 0.3 to 0.8."""


@kernel
def rounded_power(thrust: float, full: float, step: float) -> float:
    """Thrust [N] in whole power steps of a drive, nearest, none below half a step."""
    level = floor(thrust / (full * step) + 0.5) * step
    return full * (level if level < 1.0 else 1.0)


@kernel
def allocate(
    ahead: float, side: float, moment: float, drive_x: float, half_spacing: float, full: float
) -> tuple[float, float, float, float]:
    """Share force and moment between two drives abreast.

    Parameters
    ----------
    ahead, side, moment : float
        Wanted on the tug [N, N, N m].
    drive_x, half_spacing : float
        Place of the drives [m].
    full : float
        Full thrust of one drive [N].

    Returns
    -------
    ahead_starboard, side_starboard, ahead_port, side_port : float
        Force of each drive [N].

    Notes
    -----
    Side force comes first, held to 95 percent of what the drives have; then
    the ahead and astern couple for the moment, held to 80 percent of the
    rest; what is left goes ahead or astern. While little is wanted the drives
    are set against each other, thrusting inward so that their wash goes clear,
    for then a small turn of a drive gives a force at once (common practice, no
    source).
    """
    side_each = clip(0.5 * side, -0.95 * full, 0.95 * full)
    room = sqrt(full * full - side_each * side_each)
    couple = clip((moment - drive_x * 2.0 * side_each) / (2.0 * half_spacing), -0.8 * room, 0.8 * room)
    rest = room - abs(couple)
    ahead_each = clip(0.5 * ahead, -rest, rest)
    idle = 1.0 - (abs(ahead_each) + abs(side_each)) / (OPPOSED_UNTIL * full)
    opposed = OPPOSED_SHARE * full * clip(idle, 0.0, 1.0)
    return ahead_each - couple, side_each - opposed, ahead_each + couple, side_each + opposed


@kernel
def allocate_one(ahead: float, moment: float, drive_x: float, offset: float, full: float) -> tuple[float, float]:
    """Force ahead and to starboard [N, N] of the one azimuth drive that is left: heading first, then ahead or astern.

    `offset` is how far to starboard of the centreline it sits [m]. What it
    pushes sideways to hold her heading, it pushes: one drive cannot hold a
    station square to its pull.
    """
    ahead_one = clip(ahead, -full, full)
    side = clip((moment + offset * ahead_one) / drive_x, -0.9 * full, 0.9 * full)
    room = sqrt(full * full - side * side)
    return clip(ahead_one, -room, room), side


@kernel
def allocate_fixed(
    ahead: float, moment: float, drive_x: float, half_spacing: float, full: float, limit: float
) -> tuple[float, float, float]:
    """Thrust ahead of both screws of a conventional tug [N, N], starboard first, and her rudders' angle [rad].

    Rudders turn her while a screw drives ahead; what they cannot, the screws
    do set against each other. A force to the side she cannot give.
    """
    each = clip(0.5 * ahead, -full, full)
    most = (2.0 * each if each > 0.0 else 0.0) * tan(limit)
    side = clip(moment / drive_x, -most, most)
    couple = clip((moment - drive_x * side) / (2.0 * half_spacing), -KICK_SHARE * full, KICK_SHARE * full)
    angle = atan2(side, 2.0 * each) if each > 0.0 else 0.0
    return clip(each - couple, -full, full), clip(each + couple, -full, full), angle


@kernel
def signed_power(thrust: float, full: float, step: float) -> float:
    """Thrust [N] in whole power steps, ahead or astern."""
    size = rounded_power(abs(thrust), full, step)
    return size if thrust > 0.0 else -size


@outlined
def give_orders(
    p: NDArray[np.float64], m: NDArray[np.float64], k: int, ahead: float, side: float, moment: float
) -> None:
    """Turn wanted force and moment on the tug, in mirrored axes, into pending orders.

    A drive that is lost is reckoned with once the master has noticed.
    """
    full, step, turn = p[P.unit_thrust + k], p[P.power_step + k], p[P.turn + k]
    drive_x, half_spacing = p[P.drive_x + k], p[P.drive_half_spacing + k]
    ahead = ahead if ahead > 0.0 else ahead / p[P.astern_ratio + k]
    m[MEMORY.order_due + k] = m[MEMORY.time + k] + HELM_DELAY
    if p[P.fixed_drives + k] > 0.0:
        thrust_1, thrust_2, angle = allocate_fixed(ahead, moment, drive_x, half_spacing, full, p[P.steering_limit + k])
        if turn < 0.0:
            thrust_1, thrust_2 = thrust_2, thrust_1
        m[MEMORY.pending_thrust_starboard + k] = signed_power(thrust_1, full, step)
        m[MEMORY.pending_thrust_port + k] = signed_power(thrust_2, full, step)
        m[MEMORY.pending_starboard_cosine + k] = cos(angle)
        m[MEMORY.pending_starboard_sine + k] = turn * sin(angle)
        m[MEMORY.pending_port_cosine + k] = cos(angle)
        m[MEMORY.pending_port_sine + k] = turn * sin(angle)
        return
    ahead_1, side_1, ahead_2, side_2 = allocate(ahead, side, moment, drive_x, half_spacing, full)
    if turn < 0.0:
        ahead_1, side_1, ahead_2, side_2 = ahead_2, -side_2, ahead_1, -side_1
    if m[MEMORY.recognised + k] > 0.0 and m[MEMORY.starboard_lost + k] != m[MEMORY.port_lost + k]:
        offset = half_spacing if m[MEMORY.port_lost + k] > 0.0 else -half_spacing
        ahead_1, side_1 = allocate_one(ahead, turn * moment, drive_x, offset, full)
        ahead_2, side_2 = ahead_1, side_1
    thrust_1 = sqrt(ahead_1 * ahead_1 + side_1 * side_1)
    thrust_2 = sqrt(ahead_2 * ahead_2 + side_2 * side_2)
    m[MEMORY.pending_thrust_starboard + k] = rounded_power(thrust_1, full, step)
    m[MEMORY.pending_thrust_port + k] = rounded_power(thrust_2, full, step)
    if m[MEMORY.pending_thrust_starboard + k] > 0.0:
        m[MEMORY.pending_starboard_cosine + k] = ahead_1 / thrust_1
        m[MEMORY.pending_starboard_sine + k] = side_1 / thrust_1
    if m[MEMORY.pending_thrust_port + k] > 0.0:
        m[MEMORY.pending_port_cosine + k] = ahead_2 / thrust_2
        m[MEMORY.pending_port_sine + k] = side_2 / thrust_2
