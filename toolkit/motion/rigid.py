"""Newton's and Kirchhoff's equations of a hull in the horizontal plane."""

from __future__ import annotations

from toolkit.kernels import kernel

__all__ = ["planar_accelerations", "rolling_added_mass", "sway_and_roll"]


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
    masses = surge_mass * sway_mass
    per_all = 1.0 / (masses * yaw_inertia)  # one division for three
    per_masses = yaw_inertia * per_all
    surge_rate = (ahead + coupling * sway_mass * sway * yaw) * (sway_mass * per_masses)
    sway_rate = (starboard - coupling * surge_mass * surge * yaw) * (surge_mass * per_masses)
    yaw_rate = (moment - coupling * (sway_mass - surge_mass) * surge * sway) * (masses * per_all)
    return surge_rate, sway_rate, yaw_rate


@kernel
def sway_and_roll(
    side_force: float, roll_moment: float, sway_mass: float, roll_inertia: float, coupling: float
) -> tuple[float, float]:
    """Sway and roll accelerations of a hull whose added mass lies off her centre of gravity.

    Parameters
    ----------
    side_force : float
        To starboard, centripetal force included [N].
    roll_moment : float
        About the centre of gravity, starboard down [N m].
    sway_mass, roll_inertia : float
        With added mass [kg, kg m2].
    coupling : float
        Sway added mass times the height of its centre above the centre of
        gravity [kg m].

    Returns
    -------
    sway_rate, roll_rate : float
        [m/s2, rad/s2].

    Notes
    -----
    ``[[m, c], [c, I]] (v', p')' = (Y, K)'``, symmetric, so that no energy is
    made; a roll acceleration loads sway as a sway acceleration loads roll.
    """
    per_determinant = 1.0 / (sway_mass * roll_inertia - coupling * coupling)
    sway_rate = (roll_inertia * side_force - coupling * roll_moment) * per_determinant
    roll_rate = (sway_mass * roll_moment - coupling * side_force) * per_determinant
    return sway_rate, roll_rate


@kernel
def rolling_added_mass(
    surge: float, yaw: float, roll: float, surge_added_mass: float, sway_added_mass: float, height: float
) -> tuple[float, float, float]:
    """Centripetal loads of the water that a hull takes with her where it lies off her centre of gravity.

    Parameters
    ----------
    surge, yaw, roll : float
        Velocities through the water in the hull's axes [m/s, rad/s, rad/s].
    surge_added_mass, sway_added_mass : float
        [kg].
    height : float
        Of the centre of the added mass above the centre of gravity [m]; below it, negative.

    Returns
    -------
    ahead, moment, roll_moment : float
        Loads to be added to those of `planar_accelerations` and of roll [N, N m, N m].

    Notes
    -----
    From Lagrange's equations with the kinetic energy
    ``A_u u^2 / 2 + A_v (v + h p)^2 / 2``: added mass that swings out as she
    rolls, while she turns, is held by a force ahead and turns her as she goes
    ahead. The three do no work together, ``u X + r N + p K = 0``. Left out is
    the offset ``h sin(heel)`` of the forward added mass from her plane of
    symmetry, a part in a hundred of her mass.
    """
    ahead = sway_added_mass * height * roll * yaw
    moment = (surge_added_mass - sway_added_mass) * height * surge * roll
    roll_moment = -surge_added_mass * height * surge * yaw
    return ahead, moment, roll_moment
