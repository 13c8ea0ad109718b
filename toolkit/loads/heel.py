"""Righting lever of a wall-sided hull."""

from __future__ import annotations

from toolkit.kernels import kernel
from toolkit.loads.scalars import cosine_of_heel, sine_of_heel

__all__ = ["righting_lever"]


@kernel
def righting_lever(heel: float, metacentric_height: float, metacentric_radius: float) -> float:
    """Righting lever GZ of a hull with upright sides.

    Parameters
    ----------
    heel : float
        [rad].
    metacentric_height : float
        GM, corrected for free surfaces [m].
    metacentric_radius : float
        BM [m].

    Returns
    -------
    float
        GZ [m], of the sign of the heel.

    Notes
    -----
    ``GZ = sin(heel) (GM + 1/2 BM tan^2 heel)``: exact for upright sides until
    the deck edge dips or the bilge comes out, and not valid beyond; a case
    ends there as ``deck_edge_immersed``.
    """
    sine = sine_of_heel(heel)
    cosine = cosine_of_heel(heel)
    tangent = sine / cosine
    return sine * (metacentric_height + 0.5 * metacentric_radius * tangent * tangent)
