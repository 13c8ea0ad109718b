"""Added mass of hulls at a calm surface: rectangle in sway, strip theory in yaw."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from toolkit.particulars.common import FROM_MEMORY, Array, Judged, Numbers, as_array

__all__ = [
    "BARGE_FINITE_LENGTH",
    "BARGE_SURGE_SHARE",
    "BEAM_OVER_DRAUGHT_RANGE",
    "TUG_FINITE_LENGTH",
    "TUG_SURGE_SHARE",
    "beam_over_draught_in_range",
    "rectangle_sway_coefficient",
    "sway_added_mass",
    "yaw_added_inertia",
]

BEAM_OVER_DRAUGHT_RANGE = (1.0, 40.0)
"""Beam over draught that the table of sway coefficients covers."""

BARGE_SURGE_SHARE = Judged(value=0.08, low=0.05, high=0.15)
"""Surge added mass of a blunt barge over its mass."""

TUG_SURGE_SHARE = Judged(value=0.05, low=0.02, high=0.08, mark=FROM_MEMORY)
"""Surge added mass of a ship-shaped hull over its mass."""

BARGE_FINITE_LENGTH = Judged(value=1.0, low=0.9, high=1.0)
"""Loss of sway added mass round the ends of a barge, length over twice the draught about 10: none."""

TUG_FINITE_LENGTH = Judged(value=0.8, low=0.7, high=0.95, mark=f"{FROM_MEMORY}; low certainty")
"""Loss of sway added mass round the ends of a tug, length over twice the draught about 3.5."""


def _complete_elliptic(parameter: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Complete elliptic integrals K and E of parameter m in [0, 1), by the arithmetic-geometric mean."""
    mean, geometric, excess = np.ones_like(parameter), np.sqrt(1.0 - parameter), 0.5 * parameter
    power = 0.5
    for _ in range(8):  # quadratic convergence: to rounding for m up to 1 - 1e-12
        half_difference = 0.5 * (mean - geometric)
        mean, geometric = 0.5 * (mean + geometric), np.sqrt(mean * geometric)
        power *= 2.0
        excess = excess + power * half_difference**2
    first = 0.5 * np.pi / mean
    return first, first * (1.0 - excess)


@cache
def _sway_table() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Logarithm of beam over draught, rising, and the sway coefficient there."""
    corner = np.linspace(1.30, 0.22, 4001)  # angle of the corner on the circle, from tall to wide sections
    sine, cosine = np.sin(corner) ** 2, np.cos(corner) ** 2
    first_sine, second_sine = _complete_elliptic(sine)
    first_cosine, second_cosine = _complete_elliptic(cosine)
    half_height = 2.0 * (second_sine - cosine * first_sine)
    half_width = 2.0 * (second_cosine - sine * first_cosine)
    mass = 4.0 * np.pi * sine - 4.0 * half_width * half_height
    return np.log(2.0 * half_width / half_height), mass / (np.pi * half_height**2)


def beam_over_draught_in_range(beam: Numbers, draught: Numbers) -> NDArray[np.bool_]:
    """Whether beam over draught lies inside the table of `rectangle_sway_coefficient`."""
    ratio = as_array(beam) / as_array(draught)
    low, high = BEAM_OVER_DRAUGHT_RANGE
    return np.asarray((ratio >= low) & (ratio <= high))[()]


def rectangle_sway_coefficient(beam_over_draught: Numbers) -> Array:
    r"""Sway added-mass coefficient of a rectangle at the surface of deep water.

    :math:`C_A = m' / (\tfrac{\pi}{2} \rho T^2)` with the surface as a rigid
    lid, the limit of slow motion.

    Parameters
    ----------
    beam_over_draught : float or ndarray, shape (n,)
        Beam over draught [1], 1 to 40; held at the nearer end outside, for
        which `beam_over_draught_in_range` is the flag.

    Returns
    -------
    ndarray, shape (n,)
        C_A [1].

    Notes
    -----
    Exact conformal map of the outside of a rectangle onto that of a circle,
    :math:`dz/d\zeta = \sqrt{1 - 2 \cos 2a\, \zeta^{-2} + \zeta^{-4}}`. With
    :math:`k = \sin a` and :math:`k' = \cos a` the half height (the draught) is
    :math:`2 [E(k) - k'^2 K(k)]`, the half width :math:`2 [E(k') - k^2 K(k')]`
    and the added mass of the double body :math:`2 \pi (1 - \cos 2a)` less its
    area. DNV-RP-C205 Table D-1 prints the same to 0.5 percent. Tabulated once
    at 4001 angles; linear interpolation in the logarithm of the ratio adds less
    than 1e-6. Shallow water raises it; no usable source was found below a
    depth of twice the draught, so the deep value is held and such a case flagged.
    """
    low, high = BEAM_OVER_DRAUGHT_RANGE
    ratio = np.clip(as_array(beam_over_draught), low, high)
    return np.asarray(np.interp(np.log(ratio), *_sway_table()))[()]


def sway_added_mass(
    length: Numbers, beam: Numbers, draught: Numbers, water_density: Numbers, *, factor: Numbers = 1.0
) -> Array:
    r"""Sway added mass of a hull of rectangular sections [kg].

    Parameters
    ----------
    length, beam, draught : float or ndarray, shape (n,)
        Dimensions [m].
    water_density : float or ndarray, shape (n,)
        Density of the water [kg m-3].
    factor : float or ndarray, shape (n,)
        Loss at the ends and through fineness of the hull [1].

    Notes
    -----
    Strip theory, :math:`C_A \tfrac{\pi}{2} \rho T^2 L`.
    """
    long, deep = as_array(length), as_array(draught)
    coefficient = rectangle_sway_coefficient(as_array(beam) / deep)
    return np.asarray(as_array(factor) * coefficient * 0.5 * np.pi * as_array(water_density) * deep**2 * long)[()]


def yaw_added_inertia(sway_mass: Numbers, length: Numbers) -> Array:
    r"""Yaw added inertia of a hull of uniform section [kg m2].

    Parameters
    ----------
    sway_mass : float or ndarray, shape (n,)
        Sway added mass [kg].
    length : float or ndarray, shape (n,)
        Length on the waterline [m].

    Notes
    -----
    Strip theory, :math:`m' L^3 / 12`.
    """
    return np.asarray(as_array(sway_mass) * as_array(length) ** 2 / 12.0)[()]
