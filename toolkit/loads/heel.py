"""Righting lever of a tug: upright sides to the deck edge, and beyond it a curve that has been given."""

from __future__ import annotations

from toolkit.kernels import kernel
from toolkit.loads.scalars import clip, cosine_of_heel, sine_of_heel

__all__ = ["beyond_deck_edge", "righting_lever"]


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
    the deck edge dips or the bilge comes out, and not valid beyond: there a
    case ends, unless a full curve is given.
    """
    sine = sine_of_heel(heel)
    cosine = cosine_of_heel(heel)
    tangent = sine / cosine
    return sine * (metacentric_height + 0.5 * metacentric_radius * tangent * tangent)


@kernel
def beyond_deck_edge(
    heel: float, edge: float, lever_at_edge: float, slope_at_edge: float, top: float, top_angle: float, vanishing: float
) -> float:
    """Righting lever beyond the deck edge, through the greatest lever to the angle at which it vanishes.

    Parameters
    ----------
    heel : float
        [rad].
    edge, lever_at_edge, slope_at_edge : float
        Angle of the deck edge, the lever there and its slope [rad, m, m/rad].
    top, top_angle : float
        Greatest lever and its angle [m, rad].
    vanishing : float
        Angle of vanishing stability [rad].

    Returns
    -------
    float
        GZ [m], of the sign of the heel.

    Notes
    -----
    A cubic from the edge to the top, smooth at both; from there a parabola
    ``top (1 - x^2)`` that falls through nothing at the vanishing angle. Three
    numbers of a full curve and no more: a screening, not a stability book.
    """
    angle = abs(heel)
    width, fall = top_angle - edge, vanishing - top_angle
    per_both = 1.0 / (width * fall)  # one division for two
    x = clip((angle - edge) * fall * per_both, 0.0, 1.0)
    rising = (
        lever_at_edge
        + (top - lever_at_edge) * x * x * (3.0 - 2.0 * x)
        + slope_at_edge * width * x * (1.0 - x) * (1.0 - x)
    )
    past = clip((angle - top_angle) * width * per_both, 0.0, 2.0)
    lever = rising if angle < top_angle else top * (1.0 - past * past)
    return lever if heel >= 0.0 else -lever
