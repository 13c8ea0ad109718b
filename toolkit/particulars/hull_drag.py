"""Drag particulars of a hull: cross-flow coefficient, depth effect, friction line, wetted surface."""

from __future__ import annotations

import numpy as np

from toolkit.particulars.common import Array, Numbers, as_array

__all__ = [
    "BLOCKED_FLOW_COEFFICIENT",
    "DEPTH_EXPONENT",
    "WATER_VISCOSITY",
    "box_wetted_surface",
    "depth_corrected_coefficient",
    "depth_factor",
    "friction_polynomial",
    "ittc57_friction_coefficient",
    "ship_wetted_surface",
    "ufc_deep_coefficient",
]

BLOCKED_FLOW_COEFFICIENT = 3.2
"""C1 of UFC 4-159-03 eq. 11: cross-flow coefficient where draught equals depth; water speed to 1.5 m/s."""

DEPTH_EXPONENT = 2.0
"""K of UFC 4-159-03 eq. 11, for a wide range of ship and barge tests; small sets of tests gave 3."""

WATER_VISCOSITY = 1.19e-6
"""Kinematic viscosity of sea water near 15 degrees Celsius [m2 s-1]."""

_LEAST_REYNOLDS = 1.0e4
_FIT_SPEEDS = np.geomspace(0.1, 4.0, 33)


def ufc_deep_coefficient(length: Numbers, beam: Numbers) -> Array:
    r"""Cross-flow drag coefficient of a box in deep water.

    :math:`C_0 = 0.22 \sqrt{\chi}` with :math:`\chi = L^2 A_m / (B V)`, which is
    :math:`L/B` for a box.

    Parameters
    ----------
    length, beam : float or ndarray, shape (n,)
        Length on the waterline and beam [m].

    Returns
    -------
    ndarray, shape (n,)
        C0, on length times draught [1].

    Notes
    -----
    UFC 4-159-03 eq. 12-13. The root sign is missing from the scan that was read
    and was put back: without it C0 of a slender hull would exceed C1. Water
    speed to 1.5 m/s. Other data for box-like barges lie between 0.4 and 1.0.
    """
    return np.asarray(0.22 * np.sqrt(as_array(length) / as_array(beam)))[()]


def depth_corrected_coefficient(deep_coefficient: Numbers, draught: Numbers, depth: Numbers) -> Array:
    r"""Cross-flow drag coefficient in water of finite depth.

    :math:`C = C_0 + (C_1 - C_0) (T/h)^K`, with C1 = 3.2 and K = 2.

    Parameters
    ----------
    deep_coefficient : float or ndarray, shape (n,)
        C0 [1]. Zero is a test particular, a hull without cross-flow drag, and
        gives zero at every depth, which the formula itself does not.
    draught, depth : float or ndarray, shape (n,)
        Draught and depth of water [m]. Depth below draught counts as equal to
        it; such a case is aground.

    Returns
    -------
    ndarray, shape (n,)
        Coefficient on length times draught [1].

    Notes
    -----
    UFC 4-159-03 eq. 11; water speed to 1.5 m/s.
    """
    deep = as_array(deep_coefficient)
    blockage = np.minimum(as_array(draught) / as_array(depth), 1.0) ** DEPTH_EXPONENT
    corrected = deep + np.maximum(BLOCKED_FLOW_COEFFICIENT - deep, 0.0) * blockage
    return np.where(deep > 0.0, corrected, 0.0)[()]


def depth_factor(deep_coefficient: Numbers, draught: Numbers, depth: Numbers) -> Array:
    """Rise of the cross-flow drag through finite depth, over deep water.

    Parameters
    ----------
    deep_coefficient, draught, depth : float or ndarray, shape (n,)
        As in `depth_corrected_coefficient`.

    Returns
    -------
    ndarray, shape (n,)
        Ratio of the coefficients [1]; 1 for a hull without cross-flow drag.

    Notes
    -----
    UFC 4-159-03 eq. 11-13.
    """
    deep = as_array(deep_coefficient)
    corrected = depth_corrected_coefficient(deep, draught, depth)
    return np.where(deep > 0.0, corrected / np.where(deep > 0.0, deep, 1.0), 1.0)[()]


def ittc57_friction_coefficient(reynolds: Numbers) -> Array:
    r"""Friction coefficient of the ITTC-1957 line.

    :math:`C_F = 0.075 / (\log_{10} Re - 2)^2`.

    Parameters
    ----------
    reynolds : float or ndarray, shape (n,)
        Reynolds number on the length of the hull [1].

    Returns
    -------
    ndarray, shape (n,)
        Coefficient on wetted surface [1]; NaN below Re = 1e4, where the line
        has no meaning.

    Notes
    -----
    ITTC 1957 ship-model correlation line, as in UFC 4-159-03 eq. 19.
    """
    number = as_array(reynolds)
    valid = number >= _LEAST_REYNOLDS
    return np.where(valid, 0.075 / (np.log10(np.where(valid, number, 1.0e6)) - 2.0) ** 2, np.nan)[()]


def friction_polynomial(
    length: Numbers, wetted_surface: Numbers, water_density: Numbers, viscosity: float = WATER_VISCOSITY
) -> tuple[Array, Array]:
    r"""Friction of a hull as a polynomial of its speed ahead, free of logarithms.

    Fits :math:`a_1 u + a_2 u^2` to :math:`\tfrac12 \rho S C_F(u L / \nu) u^2`
    over 0.1 to 4 m/s, least squares of the relative error on speeds spaced
    evenly in logarithm.

    Parameters
    ----------
    length : float or ndarray, shape (n,)
        Length on the waterline [m].
    wetted_surface : float or ndarray, shape (n,)
        Wetted surface [m2].
    water_density : float or ndarray, shape (n,)
        Density of the water [kg m-3].
    viscosity : float
        Kinematic viscosity [m2 s-1].

    Returns
    -------
    linear, quadratic : ndarray, shape (n,)
        a1 [N s m-1] and a2 [N s2 m-2], neither negative. The force opposes the
        motion: ``-(a1 + a2 |u|) u``.

    Notes
    -----
    For lengths of 6 to 140 m the fit stays within 9 percent of the line from
    0.2 to 3 m/s. Friction is a small part of a barge's drag, so this is far
    inside the uncertainty of the whole.
    """
    hull_length, surface, density = np.broadcast_arrays(
        as_array(length), as_array(wetted_surface), as_array(water_density)
    )
    friction = ittc57_friction_coefficient(hull_length[..., np.newaxis] * _FIT_SPEEDS / viscosity)
    # relative error: x1 a1 + x2 a2 - 1, with a per half rho S
    x1, x2 = 1.0 / (friction * _FIT_SPEEDS), 1.0 / friction
    s11, s12, s22 = (np.mean(p, axis=-1) for p in (x1 * x1, x1 * x2, x2 * x2))
    b1, b2 = np.mean(x1, axis=-1), np.mean(x2, axis=-1)
    determinant = s11 * s22 - s12 * s12
    scale = 0.5 * density * surface
    linear = scale * np.maximum((b1 * s22 - b2 * s12) / determinant, 0.0)
    quadratic = scale * np.maximum((b2 * s11 - b1 * s12) / determinant, 0.0)
    return np.asarray(linear)[()], np.asarray(quadratic)[()]


def box_wetted_surface(length: Numbers, beam: Numbers, draught: Numbers) -> Array:
    """Wetted surface of a box [m2]: bottom, sides and ends, exact.

    Parameters
    ----------
    length, beam, draught : float or ndarray, shape (n,)
        Dimensions [m].
    """
    long, wide, deep = as_array(length), as_array(beam), as_array(draught)
    return np.asarray(long * wide + 2.0 * deep * (long + wide))[()]


def ship_wetted_surface(length: Numbers, draught: Numbers, volume: Numbers) -> Array:
    """Wetted surface of a ship-shaped hull [m2]: 1.7 T L + V / T.

    Parameters
    ----------
    length, draught : float or ndarray, shape (n,)
        Length on the waterline and draught [m].
    volume : float or ndarray, shape (n,)
        Volume displaced [m3].

    Notes
    -----
    UFC 4-159-03 eq. 20. About 10 percent low for a box: use `box_wetted_surface`.
    """
    return np.asarray(1.7 * as_array(draught) * as_array(length) + as_array(volume) / as_array(draught))[()]
