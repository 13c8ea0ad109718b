"""Lift at the trailing end of a tug under way: what skeg and deadwood do for her course."""

from __future__ import annotations

from toolkit.kernels import kernel
from toolkit.loads.linear_hull import drift_weight

__all__ = ["trailing_lift"]


@kernel
def trailing_lift(
    surge: float, sway: float, yaw: float, half_length: float, aft: float, fore: float, reach: float
) -> tuple[float, float]:
    """Side force and yaw moment of the lift at the trailing end.

    Parameters
    ----------
    surge, sway, yaw : float
        Velocities through the water [m/s, m/s, rad/s].
    half_length : float
        Of the hull [m].
    aft, fore : float
        Lift over speed and cross velocity at the stern going ahead, and at the
        bow going astern [kg/m].
    reach : float
        Of either place from midships [m].

    Returns
    -------
    side_force, yaw_moment : float
        To starboard [N]; bow to starboard [N m].

    Notes
    -----
    Kirchhoff's equations of an ideal fluid turn a hull across her course
    (Munk). A real hull sheds at her trailing end the cross momentum of the
    water about it, and is pushed there by ``-m |u| (v + x r)`` with m the added
    mass per length (slender-body theory, Newman, Marine Hydrodynamics, 1977;
    from memory, not verified); a deep skeg at that end makes up for most of
    Munk's moment. It fades with :func:`toolkit.loads.linear_hull.drift_weight`.
    """
    ahead = surge if surge > 0.0 else 0.0
    astern = ahead - surge
    stern = aft * ahead * (reach * yaw - sway)
    bow = -fore * astern * (reach * yaw + sway)
    weight = drift_weight(surge, sway, yaw, half_length)
    return weight * (stern + bow), weight * reach * (bow - stern)
