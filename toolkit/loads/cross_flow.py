"""Cross-flow drag of a hull that moves sideways and turns."""

from __future__ import annotations

from toolkit.kernels import kernel

__all__ = ["cross_flow"]


@kernel
def cross_flow(sway_velocity: float, yaw_rate: float, half_length: float, coefficient: float) -> tuple[float, float]:
    """Side force and yaw moment of cross-flow drag on a hull of even section.

    Parameters
    ----------
    sway_velocity : float
        Velocity through the water to starboard, at the middle of the hull [m/s].
    yaw_rate : float
        Rate of turn, bow to starboard positive [rad/s].
    half_length : float
        Half the length of the hull [m].
    coefficient : float
        Half the water density times drag coefficient times draught [kg/m2].

    Returns
    -------
    side_force : float
        To starboard [N].
    yaw_moment : float
        Bow to starboard positive, about the middle of the hull [N m].

    Notes
    -----
    The integral of ``-c (v + x r) |v + x r|`` and of its moment over the
    length (Faltinsen, Sea Loads, 1990, ch. 6; from memory, not verified) in
    closed form. With ``q = v / (r h)`` and ``|q| < 1`` the stagnation point
    lies on the hull, and

    ``Y = -c h^3 r|r| (2 q + 2/3 q^3)``, ``N = -c h^4 r|r| (1/2 + q^2 - q^4/6)``;

    otherwise ``Y = -2 c h sgn(v) (v^2 + r^2 h^2 / 3)``, ``N = -4/3 c h^3 |v| r``.
    Both are polynomials, so nothing cancels as the rate of turn goes to
    nothing. Valid at all drift angles and in pure yaw; the drag coefficient is
    the same along the hull.
    """
    reach = abs(yaw_rate) * half_length
    speed = abs(sway_velocity)
    turning = speed < reach
    ratio = sway_velocity / (yaw_rate * half_length if turning else 1.0)
    square = ratio * ratio
    inner = coefficient * half_length * half_length * half_length * yaw_rate * abs(yaw_rate)
    inner_force = -inner * ratio * (2.0 + square * (2.0 / 3.0))
    inner_moment = -inner * half_length * (0.5 + square - square * square * (1.0 / 6.0))
    sign = 1.0 if sway_velocity > 0.0 else -1.0
    outer_force = -2.0 * coefficient * half_length * sign * (speed * speed + reach * reach * (1.0 / 3.0))
    outer_moment = (-4.0 / 3.0) * coefficient * half_length * half_length * half_length * speed * yaw_rate
    force = inner_force if turning else (outer_force if speed > 0.0 else 0.0)
    moment = inner_moment if turning else outer_moment
    return force, moment
