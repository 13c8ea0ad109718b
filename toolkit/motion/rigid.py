"""Newton's and Kirchhoff's equations of a hull in the horizontal plane."""

from __future__ import annotations

from toolkit.kernels import kernel

__all__ = ["planar_accelerations"]


@kernel
def planar_accelerations(
    surge: float,
    sway: float,
    yaw: float,
    surge_mass: float,
    sway_mass: float,
    yaw_inertia: float,
    coupling: float,
    ahead: float,
    starboard: float,
    moment: float,
) -> tuple[float, float, float]:
    """Accelerations of a hull in the horizontal plane under given loads.

    Parameters
    ----------
    surge, sway, yaw : float
        Velocities through the water in the hull's axes [m/s, m/s, rad/s].
    surge_mass, sway_mass, yaw_inertia : float
        With added mass [kg, kg, kg m2].
    coupling : float
        1 for the full equations, 0 to leave the centripetal and Munk terms
        out, which only checks of the load balance do.
    ahead, starboard, moment : float
        Loads about midships [N, N, N m].

    Returns
    -------
    surge_rate, sway_rate, yaw_rate : float
        [m/s2, m/s2, rad/s2].

    Notes
    -----
    Kirchhoff's equations of a body with fore-and-aft and side-to-side
    symmetry, in velocities relative to water that moves evenly and steadily;
    in such water they hold for rigid and added mass alike.
    """
    surge_rate = (ahead + coupling * sway_mass * sway * yaw) / surge_mass
    sway_rate = (starboard - coupling * surge_mass * surge * yaw) / sway_mass
    yaw_rate = (moment - coupling * (sway_mass - surge_mass) * surge * sway) / yaw_inertia
    return surge_rate, sway_rate, yaw_rate
