"""How well a tug's trailing end holds her on her course, by type."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from toolkit.particulars.common import Array, Judged, Numbers, as_array

__all__ = ["LIFT_REACH", "LIFT_SHARES", "trailing_end_lift"]

LIFT_SHARES: tuple[tuple[Judged, Judged], ...] = (
    (Judged(value=0.9, low=0.6, high=1.2), Judged(value=0.4, low=0.2, high=0.7)),
    (Judged(value=0.5, low=0.3, high=0.8), Judged(value=0.7, low=0.4, high=1.0)),
    (Judged(value=0.7, low=0.4, high=1.0), Judged(value=0.4, low=0.2, high=0.7)),
)
"""By code of `tug_type`: lift of the trailing end over that of a section as deep as her draught, going ahead (stern)
and going astern (bow). A tractor has her skeg aft, an azimuth stern drive hers forward."""

LIFT_REACH = Judged(value=0.42, low=0.35, high=0.48)
"""Where the lift acts, from midships over length."""


def trailing_end_lift(
    draught: Numbers, tug_type_code: NDArray[np.int64], water_density: Numbers
) -> tuple[Array, Array]:
    r"""Lift of a tug's trailing end over speed and cross velocity [kg/m].

    Parameters
    ----------
    draught : float or ndarray, shape (n,)
        To the lowest point [m].
    tug_type_code : ndarray of int, shape (n,)
        Code of `tug_type`.
    water_density : float or ndarray, shape (n,)
        [kg/m3].

    Returns
    -------
    aft, fore : ndarray, shape (n,)
        Of the stern going ahead, and of the bow going astern.

    Notes
    -----
    The added mass per length of a thin section of draught T under a free
    surface that stays level, :math:`\tfrac{\pi}{2} \rho T^2` (Newman 1977, from memory), times
    `LIFT_SHARES`.
    """
    section = 0.5 * math.pi * as_array(water_density) * as_array(draught) ** 2
    code = np.asarray(tug_type_code, dtype=np.int64)
    ahead, astern = (np.array([shares[i].value for shares in LIFT_SHARES])[code] for i in range(2))
    return section * ahead, section * astern
