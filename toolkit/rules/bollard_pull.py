"""Bollard pull by shaft power, by the rule and by the actuator disc, with the ceiling that no propeller passes."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from toolkit.particulars import ducted_thrust
from toolkit.particulars.common import TONNE_FORCE, Array, Numbers, as_array
from toolkit.rules.source import Certainty, Source, stated

__all__ = [
    "HORSEPOWER",
    "PULL_PER_HUNDRED_HORSEPOWER",
    "bollard_pull_ceiling",
    "open_disc_thrust",
    "pull_by_diameter",
    "pull_by_horsepower",
    "pull_by_navy_rule",
]

HORSEPOWER = 745.69987158227
"""Mechanical horsepower [W]."""

POUND_FORCE = 4.4482216152605

PULL_PER_HUNDRED_HORSEPOWER: dict[str, float] = {
    "fixed_open": 1.00,
    "fixed_nozzle": 1.08,
    "controllable_open": 1.125,
    "controllable_nozzle": 1.26,
}
"""Tonnes-force of continuous bollard pull for each 100 brake horsepower, by propeller."""

DISC = Source(
    name="momentum theory of the actuator disc, at rest", certainty=Certainty.derived,
    note="ideal fluid, no hull, far wake as wide as half the disc (open) or the disc (nozzle)",
)  # fmt: skip
stated(DISC)(ducted_thrust)

BY_HORSEPOWER = Source(
    name="pull for power by kind of propeller, unsigned text", certainty=Certainty.second_hand,
    note="of unknown origin, widely copied in the trade",
)  # fmt: skip
BY_NAVY = Source(
    name="US Navy, pounds per shaft horsepower", certainty=Certainty.second_hand,
    note="25 to 30 open, 30 to 35 in a nozzle",
)  # fmt: skip
BY_DIAMETER = Source(
    name="Encyclopedia of marine and energy technology, 'bollard pull'", certainty=Certainty.verified,
    note="called a rough estimate there",
)  # fmt: skip


@stated(BY_HORSEPOWER)
def pull_by_horsepower(power: Numbers, propeller: str) -> Array:
    """Bollard pull by brake power and kind of propeller [N].

    Parameters
    ----------
    power : float or ndarray
        Brake power of all shafts [W].
    propeller : str
        A key of `PULL_PER_HUNDRED_HORSEPOWER`.
    """
    tonnes = PULL_PER_HUNDRED_HORSEPOWER[propeller] * as_array(power) / HORSEPOWER / 100.0
    return np.asarray(tonnes * TONNE_FORCE)[()]


@stated(BY_NAVY)
def pull_by_navy_rule(power: Numbers, kind: Literal["open", "nozzle"], end: Literal["low", "high"]) -> Array:
    """Bollard pull by shaft power, low or high end of the range [N].

    Parameters
    ----------
    power : float or ndarray
        Shaft power of all shafts [W].
    kind : {"open", "nozzle"}
        Propeller.
    end : {"low", "high"}
        25 and 30 pounds a horsepower open, 30 and 35 in a nozzle.
    """
    pounds = {"open": (25.0, 30.0), "nozzle": (30.0, 35.0)}[kind][end == "high"]
    return np.asarray(pounds * as_array(power) / HORSEPOWER * POUND_FORCE)[()]


@stated(BY_DIAMETER)
def pull_by_diameter(power: Numbers, diameter: Numbers, nozzle_factor: Numbers = 1.3, losses: float = 0.9) -> Array:
    r"""Bollard pull of one unit by delivered power and diameter [N].

    Parameters
    ----------
    power : float or ndarray
        Delivered to the propeller [W].
    diameter : float or ndarray
        [m].
    nozzle_factor : float or ndarray
        1.2 to 1.4 in a nozzle, 1 without [1].
    losses : float
        Share that is left of it [1].

    Notes
    -----
    :math:`T = (D P)^{2/3}` in kN, m and kW, times both factors; verified.
    """
    return np.asarray(1e3 * np.cbrt((as_array(diameter) * as_array(power) / 1e3) ** 2) * nozzle_factor * losses)[()]


@stated(DISC)
def open_disc_thrust(power: Numbers, diameter: Numbers, water_density: Numbers = 1025.0) -> Array:
    r"""Thrust at rest of an ideal open disc, :math:`(2 \rho A P^2)^{1/3}` [N].

    Parameters
    ----------
    power : float or ndarray
        [W].
    diameter : float or ndarray
        [m].
    water_density : float or ndarray
        [kg m-3].
    """
    disc = 0.25 * math.pi * as_array(diameter) ** 2
    return np.asarray(np.cbrt(2.0 * as_array(water_density) * disc * as_array(power) ** 2))[()]


@stated(DISC)
def bollard_pull_ceiling(
    power: Numbers, diameter: Numbers, *, nozzle: bool = True, water_density: Numbers = 1025.0
) -> Array:
    r"""Pull at rest that no propeller of this power and diameter can pass [N].

    Parameters
    ----------
    power : float or ndarray
        Delivered to one propeller [W].
    diameter : float or ndarray
        [m].
    nozzle : bool
        Whether she has a nozzle, with its exit as wide as the disc.
    water_density : float or ndarray
        [kg m-3].

    Notes
    -----
    Momentum theory: :math:`(4 \rho A P^2)^{1/3}` in a nozzle, the cube root of 2 more than open.
    A diffusing nozzle could pass it on paper; none in use at full load does.
    """
    if nozzle:
        return ducted_thrust(power, diameter, water_density, efficiency=1.0)
    return open_disc_thrust(power, diameter, water_density)
