"""Stiffness of a towline from its stretch and its sag, as springs in series."""

from __future__ import annotations

import numpy as np

from toolkit.particulars.common import Array, Numbers, as_array
from toolkit.rules.source import Certainty, Source, stated

__all__ = ["elastic_stiffness", "sag_stiffness", "series_stiffness"]

SERIES = Source(
    name="DNV-RP-H103 (now DNV-RP-N103)", section="towing, towline stiffness", certainty=Certainty.second_hand,
    note="read in an article that quotes it; equal to the small-sag limit of the catenary, which is derived",
)  # fmt: skip


@stated(SERIES)
def elastic_stiffness(axial_rigidity: Numbers, length: Numbers) -> Array:
    """Stiffness of the stretch, EA / L [N m-1].

    Parameters
    ----------
    axial_rigidity : float or ndarray
        EA [N].
    length : float or ndarray
        Paid out [m].
    """
    return np.asarray(as_array(axial_rigidity) / length)[()]


@stated(SERIES)
def sag_stiffness(tension: Numbers, weight: Numbers, length: Numbers) -> Array:
    r"""Stiffness of the sag, :math:`12 T^3 / ((w L)^2 L)` [N m-1].

    Parameters
    ----------
    tension : float or ndarray
        Mean tension [N].
    weight : float or ndarray
        Submerged weight per length [N m-1]; HMPE floats, and its sag in water
        has no stiffness to speak of: infinite, that is.
    length : float or ndarray
        Paid out [m].

    Notes
    -----
    DNV-RP-H103, second hand. Exact only for small sag: at half the weight over
    the tension of 0.1 it is 0.9 percent below the catenary.
    """
    return np.asarray(12.0 * as_array(tension) ** 3 / ((as_array(weight) * length) ** 2 * length))[()]


@stated(SERIES)
def series_stiffness(*stiffness: Numbers) -> Array:
    r"""Stiffness of springs in series, :math:`1/k = \sum 1/k_i` [N m-1].

    Parameters
    ----------
    *stiffness : float or ndarray
        Of each [N m-1].
    """
    return np.asarray(1.0 / sum(1.0 / as_array(each) for each in stiffness))[()]
