"""Two-legged bridle: where the line pulls on the barge and how far it reaches."""

from __future__ import annotations

from math import sqrt

from toolkit.kernels import kernel

__all__ = ["bridle", "greater_leg_share"]

TINY = 1e-12
"""Added to a square of a distance so that its root has a slope at nothing [m2]."""


@kernel
def bridle(away_x: float, away_y: float, half_spread: float, leg: float) -> tuple[float, float, float]:
    """Reach from a bridle to the tug's towing point, and the point the line pulls at.

    Parameters
    ----------
    away_x, away_y : float
        From the middle between the bridle's two fittings to the tug's towing
        point, in the barge's axes [m].
    half_spread : float
        Half the distance between the fittings, to port and starboard [m].
    leg : float
        Length of each leg, not less than `half_spread` [m].

    Returns
    -------
    reach : float
        Least length of line, bridle not counted, that spans it; negative
        where the legs alone reach farther [m].
    x, y : float
        Where the line pulls, from the middle between the fittings in the barge's axes [m].

    Notes
    -----
    Legs that do not stretch let the end of the line lie anywhere within a leg
    of both fittings: a lens, whose point nearest to the tug is where the taut line ends. That is
    the lens's tip, both legs taut, while the line's lead lies between the
    legs' directions there; else one leg is slack and the line and the leg of the fitting farther
    from the tug's side lie in one straight line. The reach is then the distance to that
    fitting less a leg. The point may be taken as fixed in the barge for rates
    and moments: where it moves along the lens it moves square to the line. The force is the gradient of the
    reach, so no energy is made. With no spread and no leg it is a single
    point; with `leg` equal to `half_spread` the tip is the middle. The lens is
    the same toward the hull: a tug that lies past the fittings, where the
    legs would bear on the hull, is beyond this model.
    """
    depth = leg * leg - half_spread * half_spread
    tip = sqrt(depth if depth > 0.0 else 0.0)
    ahead, side = abs(away_x), abs(away_y)
    both = side * tip <= half_spread * (ahead - tip)
    # both legs: the tip on the tug's side
    tip_x = tip if away_x > 0.0 else -tip
    # one leg: from the fitting farther off
    fitting = -half_spread if away_y > 0.0 else half_spread
    span_x = away_x - tip_x if both else away_x
    span_y = away_y if both else away_y - fitting
    distance = sqrt(span_x * span_x + span_y * span_y + TINY)
    stretch = leg / distance
    reach = distance if both else distance - leg
    x = tip_x if both else stretch * span_x
    y = 0.0 if both else fitting + stretch * span_y
    return reach, x, y


@kernel
def greater_leg_share(away_x: float, away_y: float, half_spread: float, leg: float) -> float:
    """Load of the more heavily loaded leg over the tension of the line.

    Parameters
    ----------
    away_x, away_y, half_spread, leg : float
        As in :func:`bridle`.

    Returns
    -------
    float
        1 where one leg is slack or there is no bridle; above a half else.

    Notes
    -----
    Balance of the tip with both legs taut: with n the line's direction, tip
    distance b and half spread h, ``leg / 2 (|n_x| / b + |n_y| / h)``. It is
    what the fitting feels, and grows without bound as the legs come into line athwart
    (`leg` near `half_spread`).
    """
    depth = leg * leg - half_spread * half_spread
    tip = sqrt(depth if depth > 0.0 else 0.0)
    ahead, side = abs(away_x) - tip, abs(away_y)
    both = side * tip <= half_spread * ahead
    distance = sqrt(ahead * ahead + side * side + TINY)
    share = 0.5 * leg / distance * (ahead / (tip + TINY) + side / (half_spread + TINY))
    share = share if both else 1.0
    return share if half_spread > 0.0 else 1.0
