"""Righting curves: upright sides, any table of levers, three numbers of a full curve, or any function of heel."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from toolkit.particulars.common import Array, Numbers, as_array
from toolkit.rules.source import Certainty, Source, stated

__all__ = ["Lever", "RightingCurve", "curve_from_table", "three_number_curve", "wall_sided_curve", "wall_sided_lever"]

Lever: TypeAlias = Callable[[Numbers], Array]
"""A lever [m] as a function of heel [rad]; takes numbers and arrays."""

WALL_SIDED = Source(
    name="ship hydrostatics, wall-sided formula",
    certainty=Certainty.derived,
    note="exact for upright sides until the deck edge dips or the bilge comes out",
)
TABLE = Source(
    name="ship statics, curve through a table of levers",
    certainty=Certainty.derived,
    note="monotone cubic between the points, which never swings beyond them; Simpson's rule differs by up to 1 percent",
)

THREE_NUMBERS = Source(
    name="full curve from three numbers", certainty=Certainty.common_practice,
    note="the engine's own: a cubic from the deck edge to the greatest lever, a parabola to the vanishing angle",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False)
class RightingCurve:
    """Righting lever GZ of a vessel over heel, as far as it is known.

    Attributes
    ----------
    lever : callable
        GZ [m] of heel [rad].
    known_to : float
        Heel to which the curve may be used [rad].
    down_flooding : float
        Heel at which the first opening that is not closed weathertight is
        reached [rad]; NaN where it was not given.
    deck_edge : float
        Heel at which the deck edge is reached [rad]; NaN where unknown.
    breaks : tuple of float
        Heels between the points of a table, where a quadrature is cut [rad].
    origin : str
        Where the curve comes from, in words.
    """

    lever: Lever
    known_to: float
    down_flooding: float = math.nan
    deck_edge: float = math.nan
    breaks: tuple[float, ...] = ()
    origin: str = ""

    @property
    def is_full(self) -> bool:
        """Whether the curve goes on beyond the deck edge."""
        return math.isnan(self.deck_edge) or self.known_to > self.deck_edge * (1.0 + 1e-9)


@stated(WALL_SIDED)
def wall_sided_lever(heel: Numbers, metacentric_height: Numbers, metacentric_radius: Numbers) -> Array:
    r"""Righting lever of a hull with upright sides [m].

    Parameters
    ----------
    heel : float or ndarray
        [rad].
    metacentric_height, metacentric_radius : float or ndarray
        GM and BM [m].

    Notes
    -----
    :math:`GZ = \sin\phi\,(GM + \tfrac12 BM \tan^2\phi)`. Exact for upright
    sides until the deck edge dips or the bilge comes out; above the real lever
    beyond. The engine has the same formula as a kernel of its own.
    """
    angle = as_array(heel)
    return np.asarray(np.sin(angle) * (metacentric_height + 0.5 * metacentric_radius * np.tan(angle) ** 2))[()]


@stated(WALL_SIDED)
def wall_sided_curve(
    metacentric_height: float, metacentric_radius: float, deck_edge: float, down_flooding: float = math.nan
) -> RightingCurve:
    """Curve of a hull with upright sides, known to the deck edge and no further.

    Parameters
    ----------
    metacentric_height, metacentric_radius : float
        GM and BM [m].
    deck_edge, down_flooding : float
        [rad].
    """

    def lever(heel: Numbers) -> Array:
        return wall_sided_lever(heel, metacentric_height, metacentric_radius)

    return RightingCurve(
        lever=lever, known_to=deck_edge, deck_edge=deck_edge, down_flooding=down_flooding, origin="wall-sided",
    )  # fmt: skip


@stated(TABLE)
def curve_from_table(
    heel: Sequence[float] | Array,
    lever: Sequence[float] | Array,
    *,
    down_flooding: float = math.nan,
    deck_edge: float = math.nan,
    origin: str = "table",
) -> RightingCurve:
    """Curve through given points.

    Parameters
    ----------
    heel : sequence of float, shape (n,)
        Rising, from 0 [rad]; four points or more.
    lever : sequence of float, shape (n,)
        GZ [m].
    down_flooding, deck_edge : float
        [rad]; NaN where unknown.
    origin : str
        Where the points come from.

    Returns
    -------
    RightingCurve
        Known to the last point.

    Raises
    ------
    ValueError
        If the points do not make a curve.

    Notes
    -----
    Between the points runs a monotone cubic (Fritsch and Carlson), which never
    swings beyond them, so that the curve is never better than its table. For
    levers as the sine, given every 10 degrees, areas come out within 0.1 percent.
    """
    from scipy.interpolate import PchipInterpolator

    angles, levers = np.asarray(heel, dtype=np.float64), np.asarray(lever, dtype=np.float64)
    if angles.ndim != 1 or angles.shape != levers.shape or angles.size < 4:
        raise ValueError("a righting curve needs as many levers as heels, four or more")
    if not (np.all(np.isfinite(angles)) and np.all(np.isfinite(levers)) and np.all(np.diff(angles) > 0.0)):
        raise ValueError("the heels of a righting curve must rise, and all its numbers be finite")
    if angles[0] != 0.0:
        raise ValueError("a righting curve starts at zero heel")
    through = PchipInterpolator(angles, levers, extrapolate=False)
    return RightingCurve(
        lever=lambda at: np.asarray(through(as_array(at)))[()], known_to=float(angles[-1]),
        down_flooding=down_flooding, deck_edge=deck_edge, breaks=tuple(angles[1:-1].tolist()), origin=origin,
    )  # fmt: skip


@stated(THREE_NUMBERS)
def three_number_curve(
    metacentric_height: float, metacentric_radius: float, deck_edge: float, top: float, top_angle: float,
    vanishing: float,
) -> RightingCurve:  # fmt: skip
    """Curve of a study that gives three numbers of the full one: the engine's own, beyond the deck edge too.

    Parameters
    ----------
    metacentric_height, metacentric_radius : float
        GM and BM [m].
    deck_edge : float
        [rad].
    top, top_angle : float
        Greatest lever [m] and its heel [rad].
    vanishing : float
        Angle of vanishing stability [rad].

    Returns
    -------
    RightingCurve
        Known to the vanishing angle; a screening, not a stability book.
    """
    from toolkit.loads.heel import beyond_deck_edge

    step = 1e-6
    ends = [float(wall_sided_lever(at, metacentric_height, metacentric_radius)) for at in (deck_edge - step, deck_edge)]
    slope = (ends[1] - ends[0]) / step

    def past(angle: float) -> float:
        return float(beyond_deck_edge(angle, deck_edge, ends[1], slope, top, top_angle, vanishing))

    def lever(heel: Numbers) -> Array:
        angles = as_array(heel)
        beyond = np.array([past(float(angle)) for angle in np.ravel(angles)]).reshape(angles.shape)
        upright = wall_sided_lever(np.minimum(angles, deck_edge), metacentric_height, metacentric_radius)
        return np.where(angles <= deck_edge, upright, beyond)[()]

    return RightingCurve(
        lever=lever, known_to=vanishing, deck_edge=deck_edge, breaks=(deck_edge, top_angle),
        origin="three numbers of the study",
    )  # fmt: skip
