"""Linear hull forces at small drift angles, with skegs, fading out as the hull goes sideways."""

from __future__ import annotations

from toolkit.kernels import kernel

__all__ = ["drift_weight", "linear_hull"]

TINY = 1e-18
"""Added to a square of speed so that rest divides by something [m2/s2]."""


@kernel
def drift_weight(surge: float, sway: float, yaw: float, half_length: float) -> float:
    """Weight of forces that belong to small drift angles.

    Parameters
    ----------
    surge, sway, yaw : float
        Velocities through the water [m/s, m/s, rad/s].
    half_length : float
        Of the hull [m].

    Returns
    -------
    float
        ``u^2 / (u^2 + 3 (v^2 + (r L/2)^2))``: 1 straight ahead or astern, 1/2
        at a drift angle of 30 degrees, amidships or at the ends by turning, 0
        without way. Judgement.
    """
    square = surge * surge
    end = yaw * half_length
    return square / (square + 3.0 * (sway * sway + end * end) + TINY)


@kernel
def linear_hull(
    surge: float,
    sway: float,
    yaw: float,
    yv: float,
    yr: float,
    nv: float,
    nr: float,
    skeg: float,
    skeg_x: float,
    half_length: float,
) -> tuple[float, float]:
    """Side force and yaw moment of the linear hull forces.

    Parameters
    ----------
    surge, sway, yaw : float
        Velocities through the water [m/s, m/s, rad/s].
    yv, yr, nv, nr : float
        Of the bare hull, less what the equations of motion give
        (`toolkit.particulars.hull_derivatives.linear_hull_coefficients`)
        [kg/m, kg, kg, kg m].
    skeg : float
        Side force of the skegs over speed and cross velocity; 0 without [kg/m].
    skeg_x : float
        Station of the skegs, forward of midships; negative at the stern [m].
    half_length : float
        Of the hull [m].

    Returns
    -------
    side_force, yaw_moment : float
        To starboard [N]; bow to starboard, about midships [N m].

    Notes
    -----
    ``Y = w (yv |u| v + yr u r)``, ``N = w (nv u v + nr |u| r)``: the signs of a
    hull alike fore and aft, which has the same forces going astern. Skegs add
    ``-w s |u| (v + x r)`` at their station: at the trailing end they steady
    her, going astern they lead and make her sheer. They are taken as strong
    astern as ahead. Everything fades with :func:`drift_weight` and is gone at
    rest, where cross-flow drag rules. With that drag present small drift
    angles count twice only in the second order.
    """
    weight = drift_weight(surge, sway, yaw, half_length)
    speed = abs(surge)
    fin = -skeg * speed * (sway + skeg_x * yaw)
    side = yv * speed * sway + yr * surge * yaw + fin
    moment = nv * surge * sway + nr * speed * yaw + skeg_x * fin
    return weight * side, weight * moment
