"""Energy of a vessel that comes against a berth: the deterministic approach of PIANC."""

from __future__ import annotations

from typing import Literal

import numpy as np

from toolkit.particulars.common import Array, Numbers, as_array
from toolkit.rules.source import Certainty, Source, stated

__all__ = [
    "berthing_energy",
    "block_coefficient",
    "eccentricity_factor",
    "gyration_radius",
    "two_body_energy",
    "virtual_mass_factor",
]

PIANC = Source(
    name="PIANC MarCom WG 33, Guidelines for the design of fender systems 2002", section="4.2",
    certainty=Certainty.second_hand,
    note="formulas read in two worked calculations that follow it; its own table of contents read, not the text",
)  # fmt: skip
TWO_BODIES = Source(
    name="mechanics, two free bodies in contact", certainty=Certainty.derived, note="added mass goes with each body"
)

MassFactor = Literal["pianc", "ueda", "vasco_costa"]


@stated(PIANC)
def virtual_mass_factor(
    draught: Numbers,
    *,
    method: MassFactor = "pianc",
    under_keel_clearance: Numbers = np.nan,
    beam: Numbers = np.nan,
    block: Numbers = np.nan,
) -> Array:
    r"""Mass of vessel and water that moves with her, over the mass of the vessel, C_M [1].

    Parameters
    ----------
    draught : float or ndarray
        D [m].
    method : {"pianc", "ueda", "vasco_costa"}
        1.8 for a clearance to 0.1 D, :math:`1.875 - 0.75\,K_C/D` to 0.5 D and
        1.5 beyond; :math:`1 + \pi D / (2 C_B B)`; :math:`1 + 2 D / B`.
    under_keel_clearance : float or ndarray
        K_C [m]; for "pianc".
    beam : float or ndarray
        B [m]; for the two others.
    block : float or ndarray
        Block coefficient [1]; for "ueda".

    Notes
    -----
    PIANC 2002, Shigeru Ueda 1981, Vasco Costa 1964; second hand. For a vessel that is
    pushed sideways slowly; none of them knows how long the push has lasted.
    """
    deep = as_array(draught)
    if method == "ueda":
        return np.asarray(1.0 + np.pi * deep / (2.0 * as_array(block) * beam))[()]
    if method == "vasco_costa":
        return np.asarray(1.0 + 2.0 * deep / as_array(beam))[()]
    return np.asarray(np.clip(1.875 - 0.75 * as_array(under_keel_clearance) / deep, 1.5, 1.8))[()]


@stated(PIANC)
def block_coefficient(
    displacement: Numbers, length: Numbers, beam: Numbers, draught: Numbers, water_density: Numbers = 1025.0
) -> Array:
    """Block coefficient: displacement over density, length, beam and draught [1]; [kg], [m], [kg m-3]."""
    return np.asarray(as_array(displacement) / (as_array(water_density) * length * beam * draught))[()]


@stated(PIANC)
def gyration_radius(block: Numbers, length: Numbers) -> Array:
    """Radius of gyration of a ship in yaw, (0.19 C_B + 0.11) L [m]; [1], [m]. A box of C_B 1 has 0.29 to 0.30 L."""
    return np.asarray((0.19 * as_array(block) + 0.11) * length)[()]


@stated(PIANC)
def eccentricity_factor(gyration: Numbers, distance: Numbers, angle: Numbers) -> Array:
    r"""Share of the energy that a blow off the centre leaves for the fender, C_E [1].

    Parameters
    ----------
    gyration : float or ndarray
        K [m].
    distance : float or ndarray
        R, from the centre of mass to the point of contact [m].
    angle : float or ndarray
        Between the velocity and the line R [rad].

    Notes
    -----
    :math:`(K^2 + R^2 \cos^2\phi) / (K^2 + R^2)`; second hand, and derivable for a
    fender without friction along the berth.
    """
    turn, arm = as_array(gyration) ** 2, as_array(distance) ** 2
    return np.asarray((turn + arm * np.cos(as_array(angle)) ** 2) / (turn + arm))[()]


@stated(PIANC)
def berthing_energy(
    displacement: Numbers,
    speed: Numbers,
    *,
    virtual_mass: Numbers,
    eccentricity: Numbers = 1.0,
    softness: Numbers = 1.0,
    configuration: Numbers = 1.0,
) -> Array:
    r"""Energy that the fender takes [J].

    Parameters
    ----------
    displacement : float or ndarray
        [kg].
    speed : float or ndarray
        Across the berthing line at contact [m s-1].
    virtual_mass, eccentricity : float or ndarray
        C_M and C_E [1].
    softness : float or ndarray
        C_S, 0.9 to 1 [1].
    configuration : float or ndarray
        C_C, 1 at an open berth, 0.8 to 1 at a solid one [1].

    Notes
    -----
    PIANC 2002, 4.2.1: :math:`\tfrac12 M V^2 C_M C_E C_S C_C`; second hand.
    Normal energy: the factor for an abnormal blow is left to the designer.
    """
    factors = as_array(virtual_mass) * eccentricity * softness * configuration
    return np.asarray(0.5 * as_array(displacement) * as_array(speed) ** 2 * factors)[()]


@stated(TWO_BODIES)
def two_body_energy(first_mass: Numbers, second_mass: Numbers, closing_speed: Numbers) -> Array:
    r"""Energy taken up between two free bodies until they move as one [J].

    Parameters
    ----------
    first_mass, second_mass : float or ndarray
        Added mass included [kg].
    closing_speed : float or ndarray
        [m s-1].

    Notes
    -----
    :math:`\tfrac12 \mu V^2` with :math:`\mu = m_1 m_2 / (m_1 + m_2)`; what a tug's fender
    or a snatched line takes. Tends to the energy at a berth as one mass grows.
    """
    reduced = as_array(first_mass) * second_mass / (as_array(first_mass) + second_mass)
    return np.asarray(0.5 * reduced * as_array(closing_speed) ** 2)[()]
