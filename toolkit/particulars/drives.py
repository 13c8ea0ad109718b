"""Particulars of azimuth drives: power of a ducted drive, wash of one into the other, rates."""

from __future__ import annotations

import math

import numpy as np

from toolkit.particulars.common import FROM_MEMORY, Array, Judged, Numbers, as_array

__all__ = [
    "DUCTED_EFFICIENCY",
    "THRUST_SPEED_LOSS",
    "ducted_power",
    "ducted_thrust",
    "ram_coefficient",
    "slew_rate",
    "spool_rate",
    "tandem_thrust_ratio",
    "tandem_thrust_ratio_off_axis",
]

DUCTED_EFFICIENCY = Judged(value=0.75, low=0.65, high=0.85)
"""Efficiency on power against the ideal ducted disc; 0.75 agrees with recalled data of a common ducted series, and
0.65 with the 1.3 tonnes of pull per 100 horsepower of common practice."""

THRUST_SPEED_LOSS = Judged(value=0.10, low=0.05, high=0.12, unit="s m-1", mark=FROM_MEMORY)
"""Share of the bollard thrust lost per metre a second of flow into the drive along its axis."""


def ducted_thrust(
    power: Numbers, diameter: Numbers, water_density: Numbers = 1025.0, efficiency: float = DUCTED_EFFICIENCY.value
) -> Array:
    r"""Bollard thrust of a ducted drive [N].

    Parameters
    ----------
    power : float or ndarray, shape (n,)
        Shaft power [W].
    diameter : float or ndarray, shape (n,)
        Diameter of the propeller [m].
    water_density : float or ndarray, shape (n,)
        Density of the water [kg m-3].
    efficiency : float
        On power; 1 is the ideal disc, which no drive exceeds.

    Notes
    -----
    Momentum theory, nozzle with exit as wide as the disc:
    :math:`T = (\rho \pi D^2 (\eta P)^2)^{1/3}`.
    """
    disc = as_array(water_density) * math.pi * as_array(diameter) ** 2
    return np.asarray(np.cbrt(disc * (efficiency * as_array(power)) ** 2))[()]


def ducted_power(
    thrust: Numbers, diameter: Numbers, water_density: Numbers = 1025.0, efficiency: float = DUCTED_EFFICIENCY.value
) -> Array:
    r"""Shaft power of a ducted drive at a thrust, near rest [W].

    Parameters
    ----------
    thrust : float or ndarray, shape (n,)
        Thrust delivered [N]; its sign does not matter.
    diameter, water_density, efficiency
        As in `ducted_thrust`, of which this is the inverse:
        :math:`P = T^{3/2} / (\eta D \sqrt{\pi \rho})`.
    """
    disc = np.sqrt(as_array(water_density) * math.pi) * as_array(diameter)
    return np.asarray(np.abs(as_array(thrust)) ** 1.5 / (efficiency * disc))[()]


def tandem_thrust_ratio(spacing_over_diameter: Numbers) -> Array:
    r"""Thrust left to a drive wholly in the wash of another, over its thrust alone [1].

    Parameters
    ----------
    spacing_over_diameter : float or ndarray, shape (n,)
        Distance along the wash over propeller diameter [1].

    Notes
    -----
    Dang and Laheij, Dynamic Positioning Conference 2004, open water:
    :math:`t = 1 - 0.80^{(x/D)^{2/3}}`; from memory, not verified.
    """
    return np.asarray(1.0 - 0.80 ** (as_array(spacing_over_diameter) ** (2.0 / 3.0)))[()]


def tandem_thrust_ratio_off_axis(tandem_ratio: Numbers, angle: Numbers) -> Array:
    r"""Thrust left to a drive as the wash of another points past it [1].

    Parameters
    ----------
    tandem_ratio : float or ndarray, shape (n,)
        Of `tandem_thrust_ratio`, above zero [1].
    angle : float or ndarray, shape (n,)
        Angle between the wash and the line to the other drive [rad].

    Notes
    -----
    Dang and Laheij 2004: :math:`t_\phi = t + (1 - t)\,\phi^3 / (130/t^3 + \phi^3)`,
    with the angle in degrees; from memory, not verified.
    """
    ratio, cubed = as_array(tandem_ratio), np.abs(np.degrees(as_array(angle))) ** 3
    return np.asarray(ratio + (1.0 - ratio) * cubed / (130.0 / ratio**3 + cubed))[()]


def ram_coefficient(diameter: Numbers, water_density: Numbers = 1025.0) -> Array:
    r"""Mass flow of a drive over the root of its thrust [kg s-1 N-1/2].

    The flow turned through a drive takes up the momentum of water that crosses
    its axis: the side force is mass flow times cross speed, against it.

    Parameters
    ----------
    diameter : float or ndarray, shape (n,)
        Diameter of the propeller [m].
    water_density : float or ndarray, shape (n,)
        Density of the water [kg m-3].

    Notes
    -----
    Momentum theory, :math:`\dot m = \sqrt{\rho A T}` with A the disc.
    """
    return np.asarray(np.sqrt(as_array(water_density) * math.pi / 4.0) * as_array(diameter))[()]


def slew_rate(slew_time: Numbers) -> Array:
    """Rate of turn of a drive [rad s-1] from its time through half a turn [s]."""
    return np.asarray(math.pi / as_array(slew_time))[()]


def spool_rate(spool_time: Numbers) -> Array:
    """Rate at which a drive gains thrust, over its full thrust [s-1], from its time from idle to full [s]."""
    return np.asarray(1.0 / as_array(spool_time))[()]
