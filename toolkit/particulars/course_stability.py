"""Course stability of a barge towed on a line, by the linear theory of small motions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolkit.particulars.common import Array, Numbers, as_array, common_shape
from toolkit.particulars.hull_derivatives import HullDerivatives

__all__ = ["CourseStability", "TowedBarge", "course_stability", "towed_barge"]


@dataclass(frozen=True, kw_only=True)
class TowedBarge:
    """A barge under tow at a steady speed, for small motions; SI, every field of the same shape.

    Attributes
    ----------
    speed : ndarray, shape (n,)
        Of the tow through the water [m s-1].
    length : ndarray, shape (n,)
        Of the barge [m].
    mass, yaw_inertia : ndarray, shape (n,)
        Of the barge alone, about midships [kg], [kg m2].
    sway_added_mass, yaw_added_inertia : ndarray, shape (n,)
        [kg], [kg m2].
    sway_yaw_added, yaw_sway_added : ndarray, shape (n,)
        Side force for yaw acceleration and moment for sway acceleration,
        negative of the derivatives; 0 for a hull alike fore and aft [kg m].
    yv, yr, nv, nr : ndarray, shape (n,)
        Derivatives at this speed, totals [kg s-1], [kg m s-1], [kg m s-1], [kg m2 s-1].
    """

    speed: Array
    length: Array
    mass: Array
    yaw_inertia: Array
    sway_added_mass: Array
    yaw_added_inertia: Array
    sway_yaw_added: Array
    yaw_sway_added: Array
    yv: Array
    yr: Array
    nv: Array
    nr: Array


@dataclass(frozen=True, kw_only=True)
class CourseStability:
    """Small motions of a barge under tow; every field of the same shape.

    Attributes
    ----------
    growth_rate : ndarray, shape (n,)
        Greatest real part of the four roots: a sheer grows or, below zero, dies as its exponential [s-1].
    period : ndarray, shape (n,)
        Of the sheer that grows fastest or dies slowest; infinite where it does not swing [s].
    stable : ndarray of bool, shape (n,)
        All roots die.
    statically_stable : ndarray of bool, shape (n,)
        The towing point lies forward of the centre of the side force of sway; needed, not enough.
    own_stability : ndarray, shape (n,)
        Of the hull without a line, ``Yv Nr - Nv (Yr - m U)``: above zero she keeps a straight course
        by herself [kg2 m2 s-2].
    """

    growth_rate: Array
    period: Array
    stable: NDArray[np.bool_]
    statically_stable: NDArray[np.bool_]
    own_stability: Array


def towed_barge(
    derivatives: HullDerivatives,
    *,
    speed: Numbers,
    length: Numbers,
    water_density: Numbers,
    mass: Numbers,
    yaw_inertia: Numbers,
    sway_added_mass: Numbers | None = None,
    yaw_added_inertia: Numbers | None = None,
) -> TowedBarge:
    """Put derivatives without dimension to a barge at a speed.

    Parameters
    ----------
    derivatives : HullDerivatives
        Totals, of the hull with the skegs she has.
    speed, length, water_density : float or ndarray, shape (n,)
        [m s-1], [m], [kg m-3].
    mass, yaw_inertia : float or ndarray, shape (n,)
        Of the barge alone [kg], [kg m2].
    sway_added_mass, yaw_added_inertia : float or ndarray, shape (n,) or None
        Of the equations of motion [kg], [kg m2]; None takes those of the derivatives,
        with their coupling of sway and yaw.

    Returns
    -------
    TowedBarge

    Raises
    ------
    ValueError
        If only one of the two added masses is given.
    """
    if (sway_added_mass is None) is not (yaw_added_inertia is None):
        raise ValueError("give both sway_added_mass and yaw_added_inertia, or neither")
    long, fast = as_array(length), as_array(speed)
    half = 0.5 * as_array(water_density) * long**2
    own = sway_added_mass is None or yaw_added_inertia is None
    return TowedBarge(
        **common_shape(
            {
                "speed": fast,
                "length": long,
                "mass": mass,
                "yaw_inertia": yaw_inertia,
                "sway_added_mass": -half * long * derivatives.yv_rate if own else sway_added_mass,
                "yaw_added_inertia": -half * long**3 * derivatives.nr_rate if own else yaw_added_inertia,
                "sway_yaw_added": -half * long**2 * derivatives.yr_rate if own else 0.0,
                "yaw_sway_added": -half * long**2 * derivatives.nv_rate if own else 0.0,
                "yv": half * fast * derivatives.yv,
                "yr": half * fast * long * derivatives.yr,
                "nv": half * fast * long * derivatives.nv,
                "nr": half * fast * long**2 * derivatives.nr,
            }
        )
    )


def course_stability(
    barge: TowedBarge, *, line_length: Numbers, tension: Numbers, towing_point: Numbers
) -> CourseStability:
    r"""Judge whether a sheer of a barge under tow grows or dies.

    Parameters
    ----------
    barge : TowedBarge
        Barge and speed.
    line_length : float or ndarray, shape (n,)
        From the tug's towing point to the barge's [m].
    tension : float or ndarray, shape (n,)
        Of the line: the barge's resistance in a steady tow [N].
    towing_point : float or ndarray, shape (n,)
        On the barge, forward of midships [m].

    Returns
    -------
    CourseStability

    Notes
    -----
    With y the barge's offset, psi her heading, v sway and r rate of turn, the
    tug holding course and speed and the line not stretching,
    :math:`\dot y = v + U \psi`, :math:`\dot\psi = r`, and the line's side force
    :math:`F = -R\,[(y + x_p \psi)/l + \psi]` at :math:`x_p` is added to the
    hull's: :math:`Y_v v + (Y_r - m U) r` and :math:`N_v v + N_r r`. Roots of
    the four equations by the general eigenvalue routine of numpy. Derived
    here; qualitatively as Fitriadhy and Yasukawa (2011, 2013, abstracts seen)
    found: a barge unstable bare is stable with skegs, and a longer line lets
    a sheer grow more slowly. A point farther forward is not always better: in
    this model a point at the bow beats one at 0.3 L only on lines of about
    five barge lengths and more. Large sheers, wind and a tug that gives way
    are outside of it.
    """
    line, pull, point = as_array(line_length), as_array(tension), as_array(towing_point)
    names = ("speed", "mass", "yaw_inertia", "sway_added_mass", "yaw_added_inertia", "sway_yaw_added",
             "yaw_sway_added", "yv", "yr", "nv", "nr")  # fmt: skip
    fields = common_shape({"line": line, "pull": pull, "point": point} | {n: getattr(barge, n) for n in names})
    line, pull, point, speed, mass, inertia, sway, yaw, upper, lower, yv, yr, nv, nr = fields.values()

    shape = np.shape(line)
    system = np.zeros((*shape, 4, 4))
    system[..., 0, 1], system[..., 0, 2], system[..., 1, 3] = speed, 1.0, 1.0
    loads = np.zeros((*shape, 2, 4))
    per_offset, per_heading = -pull / line, -pull * (point / line + 1.0)
    loads[..., 0, 0], loads[..., 1, 0] = per_offset, point * per_offset
    loads[..., 0, 1], loads[..., 1, 1] = per_heading, point * per_heading
    loads[..., 0, 2], loads[..., 1, 2] = yv, nv
    loads[..., 0, 3], loads[..., 1, 3] = yr - mass * speed, nr
    masses = np.zeros((*shape, 2, 2))
    masses[..., 0, 0], masses[..., 0, 1] = mass + sway, upper
    masses[..., 1, 0], masses[..., 1, 1] = lower, inertia + yaw
    system[..., 2:, :] = np.linalg.solve(masses, loads)

    roots = np.linalg.eigvals(system)
    lead = np.argmax(roots.real, axis=-1)[..., np.newaxis]
    root = np.take_along_axis(roots, lead, axis=-1)[..., 0]
    swing = np.abs(root.imag)
    swings = swing > 1e-9 * np.abs(root)
    with np.errstate(divide="ignore", invalid="ignore"):  # a hull without side force has no point where it acts
        static = np.asarray(point > nv / yv)[()]
    return CourseStability(
        growth_rate=np.asarray(root.real)[()],
        period=np.where(swings, 2.0 * np.pi / np.where(swings, swing, 1.0), np.inf)[()],
        stable=np.asarray(root.real < 0.0)[()],
        statically_stable=static,
        own_stability=np.asarray(yv * nr - nv * (yr - mass * speed))[()],
    )
