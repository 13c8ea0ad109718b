"""Particulars of the towline: breaking load, stiffness, damping and sag by material."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolkit.particulars.common import FROM_MEMORY, GRAVITY, TONNE_FORCE, Array, Judged, Numbers, as_array

__all__ = [
    "MATERIALS",
    "Material",
    "line_damping",
    "line_stiffness",
    "line_weight",
    "sag_matters",
    "strain_at_break",
    "stretch_fade",
    "towline_mbl",
]

SAG_TENSION_SHARE = 0.10
"""Tension, over breaking load, at which sag is weighed against stretch."""

SAG_STIFFNESS_RATIO = 5.0
"""Sag is left out where its stiffness is at least this many times the elastic one."""

FADE_LOAD_SHARE = Judged(value=0.02, low=0.005, high=0.05)
"""Share of the breaking load over which the damping of a line that comes taut fades in."""


@dataclass(frozen=True, kw_only=True)
class Material:
    """A towline material.

    Attributes
    ----------
    name : str
        Word of the study file.
    strain_at_break : Judged
        Stretch at the breaking load, of a bedded-in rope, taken as linear [1].
    loss_time : Judged
        Damping over stiffness [s].
    mass_per_strength : Judged
        Mass per length over breaking load [kg m-1 N-1].
    """

    name: str
    strain_at_break: Judged
    loss_time: Judged
    mass_per_strength: Judged


_Spread = tuple[float, float, float]


def _material(name: str, *, strain: _Spread, loss: _Spread, mass: _Spread) -> Material:
    """Material from (value, low, high) of each property."""
    return Material(
        name=name,
        strain_at_break=Judged(value=strain[0], low=strain[1], high=strain[2], mark=FROM_MEMORY),
        loss_time=Judged(value=loss[0], low=loss[1], high=loss[2], unit="s"),
        mass_per_strength=Judged(value=mass[0], low=mass[1], high=mass[2], unit="kg m-1 N-1", mark=FROM_MEMORY),
    )


MATERIALS: tuple[Material, ...] = (
    _material("hmpe", strain=(0.035, 0.03, 0.04), loss=(0.05, 0.02, 0.15), mass=(6.2e-7, 5.0e-7, 8.0e-7)),
    _material("polyester", strain=(0.12, 0.10, 0.15), loss=(0.10, 0.04, 0.30), mass=(5.0e-6, 3.0e-6, 8.0e-6)),
    _material("nylon", strain=(0.25, 0.20, 0.35), loss=(0.15, 0.05, 0.40), mass=(4.1e-6, 3.0e-6, 5.0e-6)),
    _material("steel", strain=(0.018, 0.015, 0.02), loss=(0.02, 0.005, 0.06), mass=(6.5e-6, 6.0e-6, 7.2e-6)),
)
"""Materials in the order of the choices of `line_material`, so that a code is an index."""


def towline_mbl(bollard_pull: Numbers) -> Array:
    r"""Minimum breaking load of the towline that a bollard pull asks for [N].

    Parameters
    ----------
    bollard_pull : float or ndarray, shape (n,)
        Certified continuous bollard pull P [N].

    Returns
    -------
    ndarray, shape (n,)
        3.0 P below 40 t, (3.8 - P/50 t) P to 90 t, 2.0 P above [N].

    Notes
    -----
    Rule of the warranty surveyors, carried into DNV-ST-N001; from memory, not
    verified. The factor is continuous; the breaking load is nearly flat close
    to 90 t. Harbour tugs carry three to four times
    the bollard pull by common practice, no source.
    """
    pull = as_array(bollard_pull)
    factor = np.clip(3.8 - pull / (50.0 * TONNE_FORCE), 2.0, 3.0)
    return np.asarray(factor * pull)[()]


def _of_material(name: str, material_code: int | NDArray[np.int64]) -> Array:
    table = np.array([getattr(material, name).value for material in MATERIALS])
    return np.asarray(table[np.asarray(material_code, dtype=np.int64)])[()]


def strain_at_break(material_code: int | NDArray[np.int64]) -> Array:
    """Strain at the breaking load, by index into `MATERIALS` [1]."""
    return _of_material("strain_at_break", material_code)


def line_stiffness(mbl: Numbers, material_code: int | NDArray[np.int64], length: Numbers) -> Array:
    """Elastic stiffness of the line paid out [N m-1]: breaking load over strain at break over length.

    Parameters
    ----------
    mbl : float or ndarray, shape (n,)
        Minimum breaking load [N].
    material_code : int or ndarray of int, shape (n,)
        Index into `MATERIALS`.
    length : float or ndarray, shape (n,)
        Length paid out [m].

    Notes
    -----
    Secant to the breaking load; fibre ropes are softer than this at small load
    when new and stiffer when cycled. A rope maker's curve is the better input
    where there is one.
    """
    return np.asarray(as_array(mbl) / (strain_at_break(material_code) * as_array(length)))[()]


def line_damping(stiffness: Numbers, material_code: int | NDArray[np.int64]) -> Array:
    """Damping of the line in line with its stretch [N s m-1]: stiffness times loss time of the material."""
    return np.asarray(as_array(stiffness) * _of_material("loss_time", material_code))[()]


def stretch_fade(material_code: int | NDArray[np.int64], length: Numbers) -> Array:
    """Stretch over which the damping of a line coming taut fades in, so that no force jumps [m].

    Parameters
    ----------
    material_code : int or ndarray of int, shape (n,)
        Index into `MATERIALS`.
    length : float or ndarray, shape (n,)
        Length paid out [m].

    Returns
    -------
    ndarray, shape (n,)
        Stretch at which the line carries `FADE_LOAD_SHARE` of its breaking load.
    """
    return np.asarray(FADE_LOAD_SHARE.value * strain_at_break(material_code) * as_array(length))[()]


def line_weight(mbl: Numbers, material_code: int | NDArray[np.int64]) -> Array:
    """Weight of the line per length, in air [N m-1]."""
    return np.asarray(GRAVITY * _of_material("mass_per_strength", material_code) * as_array(mbl))[()]


def sag_matters(mbl: Numbers, material_code: int | NDArray[np.int64], length: Numbers) -> NDArray[np.bool_]:
    r"""Flag lines whose sag gives way as well as their stretch.

    Parameters
    ----------
    mbl, material_code, length
        As in `line_stiffness`.

    Returns
    -------
    ndarray of bool, shape (n,)
        True where, at a tension of a tenth of the breaking load, the stiffness
        of the sag is less than five times the elastic stiffness.

    Notes
    -----
    :math:`k_G = 12 T^3 / ((w L)^2 L)`, the form quoted from DNV-RP-H103 (second
    hand), is the small-sag limit of the catenary. A short harbour line hangs in
    air, so w is the weight in air, which is the heavier assumption. The line's
    tension has the sag in it, as a parabola; the flag says where it tells.
    """
    tension = SAG_TENSION_SHARE * as_array(mbl)
    long = as_array(length)
    sag_stiffness = 12.0 * tension**3 / ((line_weight(mbl, material_code) * long) ** 2 * long)
    return np.asarray(sag_stiffness < SAG_STIFFNESS_RATIO * line_stiffness(mbl, material_code, length))[()]
