"""Current that runs faster on one side of the basin than on the other: a straight, linear shear.

The water moves everywhere in the direction d of the current, at a speed that
goes with the distance n across it: ``U(p) = (U0 + S n) d``, ``n = p . a``,
where a is d turned clockwise by a right angle (to the right as the current
runs), p the position from the origin, and S the shear. Three things follow for
a hull, whose velocities are those through the water at her own midships:

- The water there is ``U(p)``: :func:`local_current`.
- With heading h and starboard s, the water a distance x ahead of midships
  moves across the hull at ``S x (h . a)(d . s)`` more than at midships, and
  ``d . s = -(h . a)``. So the cross velocity at x is ``v + x (r + S (h . a)^2)``: for the drag the
  hull turns at the effective rate of :func:`turn_through_water`.
- The hull moves into other water: ``dU/dt = S (V . a) d`` with V her velocity
  over the ground, and the velocity through the water loses as much:
  :func:`shear_acceleration`.

The first and the second are exact for this current; the change along the hull of the
flow along it, ``S x (h . a)(d . h)``, has no mean and is left out. The third
is exact for the hull's own mass. For the added mass it is that of Auton, Hunt
and Prud'homme (J. Fluid Mech. 197, 1988; its abstract was read, kiphub.com, the
expression itself is from memory): the water itself is not accelerated, since it
moves across no shear, so added mass answers to the acceleration over the ground;
their lift on a body in vorticity is left out.
Added inertia is taken against the rate of turn over the ground.
"""

from __future__ import annotations

from toolkit.kernels import kernel

__all__ = ["local_current", "shear_acceleration", "turn_through_water"]


@kernel
def local_current(
    north: float,
    east: float,
    current_north: float,
    current_east: float,
    shear: float,
    direction_north: float,
    direction_east: float,
) -> tuple[float, float]:
    """Velocity of the water at a place.

    Parameters
    ----------
    north, east : float
        Position from the origin [m].
    current_north, current_east : float
        Velocity of the water at the origin, along the direction or against it [m/s].
    shear : float
        Rise of the speed for each metre to the right of the direction [1/s]; 0 for an even current.
    direction_north, direction_east : float
        Direction the current runs to; length one, also where the water at the origin is still.

    Returns
    -------
    north, east : float
        [m/s].
    """
    more = shear * (direction_north * east - direction_east * north)
    return current_north + more * direction_north, current_east + more * direction_east


@kernel
def turn_through_water(
    yaw: float, cosine: float, sine: float, shear: float, direction_north: float, direction_east: float
) -> float:
    """Rate of turn that the cross-flow drag of a hull feels.

    Parameters
    ----------
    yaw : float
        Rate of turn over the ground, bow to starboard positive [rad/s].
    cosine, sine : float
        Of her heading.
    shear, direction_north, direction_east : float
        As in :func:`local_current`.

    Returns
    -------
    float
        ``r + S (h . a)^2`` [rad/s].
    """
    across = direction_north * sine - direction_east * cosine
    return yaw + shear * across * across


@kernel
def shear_acceleration(
    ground_north: float,
    ground_east: float,
    cosine: float,
    sine: float,
    shear: float,
    direction_north: float,
    direction_east: float,
) -> tuple[float, float]:
    """Rate of change of a hull's velocity through the water because she moves into other water.

    Parameters
    ----------
    ground_north, ground_east : float
        Her velocity over the ground [m/s].
    cosine, sine : float
        Of her heading.
    shear, direction_north, direction_east : float
        As in :func:`local_current`.

    Returns
    -------
    ahead, starboard : float
        ``-S (V . a) d`` in her axes, to be added to her accelerations [m/s2].
    """
    rise = shear * (direction_north * ground_east - direction_east * ground_north)
    ahead = cosine * direction_north + sine * direction_east
    starboard = cosine * direction_east - sine * direction_north
    return -rise * ahead, -rise * starboard
