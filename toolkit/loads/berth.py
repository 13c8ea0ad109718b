"""Contact of a barge with a straight berth: one-sided springs at her corners, with friction along the face."""

from __future__ import annotations

from toolkit.kernels import kernel
from toolkit.loads.spring import one_sided_spring, sliding_friction

__all__ = ["berth_on_barge", "corner_on_berth"]


@kernel
def corner_on_berth(
    clearance: float,
    normal_x: float,
    normal_y: float,
    surge: float,
    sway: float,
    yaw: float,
    x: float,
    y: float,
    stiffness: float,
    loss_time: float,
    fade: float,
    friction: float,
    creep: float,
) -> tuple[float, float, float]:
    """Force of the berth on one corner of the barge.

    Parameters
    ----------
    clearance : float
        From the face to midships, square to it; positive on the water's side [m].
    normal_x, normal_y : float
        Out of the face onto the water, ahead and to starboard in the barge's axes; length one.
    surge, sway, yaw : float
        Velocities over the ground in her own axes [m/s, m/s, rad/s].
    x, y : float
        Of the corner, ahead and to starboard of midships [m].
    stiffness, loss_time, fade : float
        Of the fender, as in `toolkit.loads.spring.one_sided_spring`.
    friction, creep : float
        As in `toolkit.loads.spring.sliding_friction`.

    Returns
    -------
    ahead, starboard, normal : float
        Force on the corner in her axes, and its part square to the face, never negative [N].
    """
    ahead, starboard = surge - yaw * y, sway + yaw * x
    opening = normal_x * ahead + normal_y * starboard
    slip = normal_x * starboard - normal_y * ahead
    normal = one_sided_spring(-(clearance + normal_x * x + normal_y * y), -opening, stiffness, loss_time, fade)
    drag = sliding_friction(normal, slip, friction, creep)
    return normal * normal_x - drag * normal_y, normal * normal_y + drag * normal_x, normal


@kernel
def berth_on_barge(
    clearance: float,
    normal_x: float,
    normal_y: float,
    surge: float,
    sway: float,
    yaw: float,
    half_length: float,
    half_beam: float,
    stiffness: float,
    loss_time: float,
    fade: float,
    friction: float,
    creep: float,
) -> tuple[float, float, float, float]:
    """Force and yaw moment of a straight berth on the four corners of a barge.

    Parameters
    ----------
    clearance, normal_x, normal_y, surge, sway, yaw : float
        As in :func:`corner_on_berth`.
    half_length, half_beam : float
        Of the barge [m].
    stiffness, loss_time, fade, friction, creep : float
        As in :func:`corner_on_berth`, the same at every corner.

    Returns
    -------
    ahead, starboard, moment, normal : float
        On the barge, in her axes about midships [N, N, N m]; sum of what the
        corners press on the face [N].

    Notes
    -----
    The face is straight and endless; a rectangle touches it with a corner, or
    flat with two. The springs stand for the berth's fenders where the corners
    land: a berth with fenders between the corners is stiffer against a barge
    landing flat. With the face on either side or at either end the same
    formula serves, in one expression for all.
    """
    a1, s1, n1 = corner_on_berth(
        clearance, normal_x, normal_y, surge, sway, yaw, half_length, half_beam,
        stiffness, loss_time, fade, friction, creep,
    )  # fmt: skip
    a2, s2, n2 = corner_on_berth(
        clearance, normal_x, normal_y, surge, sway, yaw, half_length, -half_beam,
        stiffness, loss_time, fade, friction, creep,
    )  # fmt: skip
    a3, s3, n3 = corner_on_berth(
        clearance, normal_x, normal_y, surge, sway, yaw, -half_length, half_beam,
        stiffness, loss_time, fade, friction, creep,
    )  # fmt: skip
    a4, s4, n4 = corner_on_berth(
        clearance, normal_x, normal_y, surge, sway, yaw, -half_length, -half_beam,
        stiffness, loss_time, fade, friction, creep,
    )  # fmt: skip
    moment = half_length * (s1 + s2 - s3 - s4) - half_beam * (a1 - a2 + a3 - a4)
    return a1 + a2 + a3 + a4, s1 + s2 + s3 + s4, moment, n1 + n2 + n3 + n4
