"""Particulars of the wind: height profile, shape coefficients, and the static rule."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from toolkit.particulars.barge import Barge
from toolkit.particulars.common import COMMON, FROM_MEMORY, Array, Judged, Numbers, as_array

__all__ = [
    "AIR_DENSITY",
    "BARGE_WIND",
    "STATIC_RULE_COEFFICIENT",
    "STATIC_RULE_FACTOR",
    "TUG_WIND",
    "WindShape",
    "height_factor",
    "static_beam_wind_force",
]

AIR_DENSITY = 1.225
"""Density of the air [kg m-3], standard atmosphere at 15 degrees Celsius."""

REFERENCE_HEIGHT = 10.0
"""Height above water of the wind speed that is given [m]."""

STATIC_RULE_FACTOR = 1.25
"""Margin of the static rule on the force of the wind; common practice, no source."""

STATIC_RULE_COEFFICIENT = Judged(value=1.0, low=0.89, high=1.2, mark=COMMON)
"""Drag coefficient of the static rule on lateral windage; 0.89 is the handbook's V squared / 18 tonnes per 1000 m2."""


@dataclass(frozen=True, kw_only=True)
class WindShape:
    """Shape coefficients of the wind on a vessel, in Blendermann's form.

    With q the pressure of the wind, A_L and A_F the lateral and frontal areas
    and e the angle of the wind off the bow:
    ``den = 1 - delta/2 (1 - CDl/CDt) sin(2e)^2``, ``X = -q A_L CDl cos(e)/den``,
    ``Y = q A_L CDt sin(e)/den``, where ``CDl = longitudinal A_F / A_L`` with
    `longitudinal_ahead` for wind from forward of the beam.

    Attributes
    ----------
    transverse : Judged
        CDt, on lateral area, wind on the beam [1].
    longitudinal_ahead, longitudinal_astern : Judged
        CDl on frontal area, wind from ahead and from astern [1].
    cross_force : Judged
        delta [1].
    rolling : Judged
        kappa, heeling moment over side force times centroid height [1].

    Notes
    -----
    Blendermann 1994, J. Wind Eng. Ind. Aerodyn. 51, 339-351: form and table from memory, not
    verified. The table has neither barges nor tugs; the nearest vessel stands in.
    """

    transverse: Judged
    longitudinal_ahead: Judged
    longitudinal_astern: Judged
    cross_force: Judged
    rolling: Judged


def _shape(value: float, low: float, high: float) -> Judged:
    return Judged(value=value, low=low, high=high, mark=FROM_MEMORY)


BARGE_WIND = WindShape(
    transverse=_shape(0.70, 0.65, 1.0),
    longitudinal_ahead=_shape(0.90, 0.7, 1.0),
    longitudinal_astern=_shape(0.55, 0.5, 1.0),
    cross_force=_shape(0.40, 0.3, 0.6),
    rolling=_shape(3.1, 1.5, 3.5),
)
"""Barge: the set of a loaded tanker stands in, low and long with a house aft."""

TUG_WIND = WindShape(
    transverse=_shape(0.90, 0.75, 1.0),
    longitudinal_ahead=_shape(0.55, 0.5, 0.8),
    longitudinal_astern=_shape(0.80, 0.55, 0.9),
    cross_force=_shape(0.55, 0.4, 0.65),
    rolling=_shape(1.2, 1.0, 1.3),
)
"""Tug: the set of an offshore supply vessel stands in."""


def height_factor(top_height: Numbers) -> Array:
    r"""Mean pressure of the wind from the water to a height, over that at 10 m [1].

    Parameters
    ----------
    top_height : float or ndarray, shape (n,)
        Height of the top of the area above water [m]; twice the centroid
        height for an area that is not a plain block. Not negative.

    Notes
    -----
    Profile :math:`V = V_{10} (z / 10)^{1/7}`, so the mean of its square over
    0 to h is :math:`\tfrac79 (h / 10)^{2/7}`. Common practice over open water.
    """
    return np.asarray(7.0 / 9.0 * (as_array(top_height) / REFERENCE_HEIGHT) ** (2.0 / 7.0))[()]


def static_beam_wind_force(barge: Barge, wind_speed: Numbers) -> Array:
    r"""Force of a beam wind on the barge by the static rule, without its margin [N].

    Parameters
    ----------
    barge : Barge
        The barge as loaded.
    wind_speed : float or ndarray, shape (n,)
        Wind at 10 m, gusts included where the rule wants them [m s-1].

    Returns
    -------
    ndarray, shape (n,)
        :math:`\tfrac12 \rho_a C A_L V^2`; multiply by `STATIC_RULE_FACTOR` for
        the pull that the rule asks for.

    Notes
    -----
    Common practice, no source: coefficient 1.0, no height profile, whatever the
    direction of the wind. It says nothing of a swing, of current or of heel.
    """
    pressure = 0.5 * AIR_DENSITY * as_array(wind_speed) ** 2
    return np.asarray(STATIC_RULE_COEFFICIENT.value * pressure * barge.lateral_windage)[()]
