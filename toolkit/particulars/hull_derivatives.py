"""Linear derivatives of a hull at forward speed, and skegs at her stern."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolkit.particulars.common import Array, Judged, Numbers, as_array, common_shape

__all__ = [
    "LEAST_SLENDERNESS",
    "SKEG_FORCE",
    "SKEG_STATION",
    "HullDerivatives",
    "LinearHull",
    "clarke_derivatives",
    "damping_margin",
    "linear_hull_coefficients",
    "with_skegs",
]

LEAST_SLENDERNESS = 5.5
"""Length over beam below which the regression is out of its range; most harbour barges are."""

SKEG_FORCE = Judged(value=0.02, low=0.01, high=0.04)
"""Side force of a pair of skegs per radian of drift, over half the water density, length squared and speed squared;
at 60 m about two skegs of 12 m2 each with a lift slope of 3."""

SKEG_STATION = Judged(value=-0.5, low=-0.5, high=-0.45)
"""Where the skegs' force acts, forward of midships over the length."""


@dataclass(frozen=True, kw_only=True)
class HullDerivatives:
    """Linear derivatives going ahead, without dimension; every field of the same shape.

    Attributes
    ----------
    yv, yr, nv, nr : ndarray, shape (n,)
        Side force and yaw moment for sway and for rate of turn, over half the
        water density times speed times L^2, L^3, L^3 and L^4; total, the part
        that an ideal fluid would give included.
    yv_rate, yr_rate, nv_rate, nr_rate : ndarray, shape (n,)
        For sway and yaw acceleration, over half the water density times L^3,
        L^4, L^4 and L^5; negative of the added mass.
    out_of_range : ndarray of bool, shape (n,)
        Length over beam below `LEAST_SLENDERNESS`.

    Notes
    -----
    Axes: x ahead, y to starboard, about midships; bow to starboard positive.
    """

    yv: Array
    yr: Array
    nv: Array
    nr: Array
    yv_rate: Array
    yr_rate: Array
    nv_rate: Array
    nr_rate: Array
    out_of_range: NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class LinearHull:
    """Coefficients of `toolkit.loads.linear_hull.linear_hull`, SI; every field of the same shape.

    Attributes
    ----------
    yv, yr, nv, nr : ndarray, shape (n,)
        Bare hull, less what the equations of motion give by themselves
        [kg m-1], [kg], [kg], [kg m].
    skeg : ndarray, shape (n,)
        Side force of the skegs over speed ahead and cross velocity there [kg m-1].
    skeg_x : ndarray, shape (n,)
        Station of the skegs, forward of midships [m].
    """

    yv: Array
    yr: Array
    nv: Array
    nr: Array
    skeg: Array
    skeg_x: Array


def clarke_derivatives(length: Numbers, beam: Numbers, draught: Numbers, block_coefficient: Numbers) -> HullDerivatives:
    r"""Linear derivatives of a bare hull in deep water by regression.

    Parameters
    ----------
    length, beam, draught : float or ndarray, shape (n,)
        Length on the waterline, beam and draught [m].
    block_coefficient : float or ndarray, shape (n,)
        [1].

    Returns
    -------
    HullDerivatives

    Notes
    -----
    Clarke, Gedling and Hine, Trans. RINA 125 (1983); from memory, not
    verified. All are :math:`-\pi (T/L)^2` times a bracket, for instance
    :math:`Y_v: 1 + 0.40\,C_B B/T` and :math:`N_v: \tfrac12 + 2.4\,T/L`. Fitted to ships; a barge is
    blunter and beamier. Below `LEAST_SLENDERNESS` the square of B/L drags the
    sway added mass down: use strip theory for added mass and this for damping only.
    """
    long, wide, deep, block = (as_array(x) for x in (length, beam, draught, block_coefficient))
    scale = -np.pi * (deep / long) ** 2
    slender, flat = wide / long, wide / deep
    return HullDerivatives(
        **common_shape(
            {
                "yv": scale * (1.0 + 0.40 * block * flat),
                "yr": scale * (-0.5 + 2.2 * slender - 0.080 * flat),
                "nv": scale * (0.5 + 2.4 * deep / long),
                "nr": scale * (0.25 + 0.039 * flat - 0.56 * slender),
                "yv_rate": scale * (1.0 + 0.16 * block * flat - 5.1 * slender**2),
                "yr_rate": scale * (0.67 * slender - 0.0033 * flat**2),
                "nv_rate": scale * (1.1 * slender - 0.041 * flat),
                "nr_rate": scale * (1.0 / 12.0 + 0.017 * block * flat - 0.33 * slender),
                "out_of_range": long / wide < LEAST_SLENDERNESS,
            }
        )
    )


def with_skegs(
    bare: HullDerivatives, force: Numbers = SKEG_FORCE.value, station: Numbers = SKEG_STATION.value
) -> HullDerivatives:
    r"""Derivatives of the hull with skegs, going ahead.

    Parameters
    ----------
    bare : HullDerivatives
        Of the hull without them.
    force : float or ndarray, shape (n,)
        :math:`Y'_s`, as `SKEG_FORCE` [1].
    station : float or ndarray, shape (n,)
        :math:`x'_s`, as `SKEG_STATION` [1].

    Returns
    -------
    HullDerivatives

    Notes
    -----
    A fixed fin: its force is in proportion to the cross velocity
    :math:`v + x_s r` at its place, so :math:`-Y'_s` times 1, :math:`x'_s`,
    :math:`x'_s` and :math:`x_s'^2` comes to yv, yr, nv and nr. Its added mass is left out.
    """
    fin, place = as_array(force), as_array(station)
    return HullDerivatives(
        **common_shape(
            {
                "yv": bare.yv - fin,
                "yr": bare.yr - place * fin,
                "nv": bare.nv - place * fin,
                "nr": bare.nr - place**2 * fin,
                "yv_rate": bare.yv_rate,
                "yr_rate": bare.yr_rate,
                "nv_rate": bare.nv_rate,
                "nr_rate": bare.nr_rate,
                "out_of_range": bare.out_of_range,
            }
        )
    )


def linear_hull_coefficients(
    bare: HullDerivatives,
    *,
    length: Numbers,
    water_density: Numbers,
    surge_added_mass: Numbers,
    sway_added_mass: Numbers,
    skeg_force: Numbers = 0.0,
    skeg_station: Numbers = SKEG_STATION.value,
) -> LinearHull:
    r"""Coefficients of the linear hull forces that come on top of the equations of motion.

    Parameters
    ----------
    bare : HullDerivatives
        Of the bare hull.
    length, water_density : float or ndarray, shape (n,)
        [m], [kg m-3].
    surge_added_mass, sway_added_mass : float or ndarray, shape (n,)
        Those that the equations of motion use [kg].
    skeg_force, skeg_station : float or ndarray, shape (n,)
        As in `with_skegs`; a force of 0 is a bare hull [1].

    Returns
    -------
    LinearHull

    Notes
    -----
    Kirchhoff's equations already hold the ideal fluid's side force
    :math:`-m_u u r` and moment :math:`-(m_v - m_u) u v` (Munk). The derivatives
    are totals, so these are taken out: what remains of the moment is the
    lift at the stern, some six tenths of Munk's for a barge. Where the linear
    forces fade, the ideal fluid's part and the cross-flow drag stay. The yaw
    damping is not let above zero, where the regression takes it for hulls
    shorter than two beams that are deep for their beam.
    """
    long = as_array(length)
    level = 0.5 * as_array(water_density) * long**2
    surge_mass, sway_mass = as_array(surge_added_mass), as_array(sway_added_mass)
    return LinearHull(
        **common_shape(
            {
                "yv": level * bare.yv,
                "yr": level * long * bare.yr + surge_mass,
                "nv": level * long * bare.nv + (sway_mass - surge_mass),
                "nr": level * long**2 * np.minimum(bare.nr, 0.0),
                "skeg": level * as_array(skeg_force),
                "skeg_x": as_array(skeg_station) * long,
            }
        )
    )


def damping_margin(hull: LinearHull) -> Array:
    r"""How far the linear forces are from feeding energy into sway and yaw [1].

    Parameters
    ----------
    hull : LinearHull
        Of any number of cases.

    Returns
    -------
    ndarray, shape (n,)
        :math:`4 Y_v N_r / (Y_r + N_v)^2` of the bare hull less its ideal part;
        above 1 every small motion of sway and yaw loses energy to them; skegs
        only add to the loss.

    Notes
    -----
    1.4 and more over the family of barges at every loading; above 1 for
    lengths of 2 to 6 beams and beams of 2 draughts and more, down to 0.85 for
    more slender hulls: the work of a lift is then done by the way ahead, whose
    induced drag is left out.
    """
    return np.asarray(4.0 * hull.yv * hull.nr / ((hull.yr + hull.nv) ** 2 + 1e-30))[()]
