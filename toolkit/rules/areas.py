"""Areas under levers, and where a heeling lever crosses a righting curve."""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Sequence

import numpy as np

from toolkit.particulars.common import Array, as_array
from toolkit.rules.righting import Lever, RightingCurve
from toolkit.rules.source import Certainty, Source, stated

__all__ = [
    "area_between",
    "area_under",
    "dynamic_angle",
    "first_intersection",
    "greatest_lever",
    "second_intersection",
]

SCAN_STEPS = 2000
"""Parts into which a curve is cut to look for crossings: 0.05 degrees for a curve to 90 degrees."""

WIDEST_STRIP = math.radians(0.25)
"""Widest strip of a quadrature [rad]: a corner inside one costs at most 1e-7 m rad for each metre a radian of slope."""

AREAS = Source(name="ship statics, area under a curve of levers", certainty=Certainty.derived)


@functools.cache
def _gauss() -> tuple[Array, Array]:
    """Nodes and weights of four points on -1 to 1."""
    nodes, weights = np.polynomial.legendre.leggauss(4)
    return nodes, weights


@stated(AREAS)
def area_under(lever: Lever, low: float, high: float, breaks: Sequence[float] = ()) -> float:
    """Area under a lever between two heels, by Gauss and Legendre's quadrature in strips [m rad].

    Parameters
    ----------
    lever : callable
        Lever [m] of heel [rad].
    low, high : float
        [rad]; nothing where `high` is not above `low`.
    breaks : sequence of float
        Heels where the lever has a corner, at which strips are cut [rad].

    Returns
    -------
    float
        NaN where an end is NaN.
    """
    if math.isnan(low) or math.isnan(high):
        return math.nan
    if high <= low:
        return 0.0
    cuts = [low, *sorted(b for b in breaks if low < b < high), high]
    edges = np.concatenate(
        [np.linspace(a, b, math.ceil((b - a) / WIDEST_STRIP) + 1)[:-1] for a, b in itertools.pairwise(cuts)] + [[high]]
    )
    nodes, weights = _gauss()
    half = 0.5 * np.diff(edges)[:, np.newaxis]
    heel = edges[:-1, np.newaxis] + half * (1.0 + nodes)
    return float(np.sum(half * weights * as_array(lever(heel))))


@stated(AREAS)
def area_between(curve: RightingCurve, heeling: Lever, low: float, high: float) -> float:
    """Area of the righting lever less that of the heeling lever, between two heels [m rad]."""
    return area_under(lambda angle: curve.lever(angle) - heeling(angle), low, high, curve.breaks)


def _scan(curve: RightingCurve) -> Array:
    inner = [b for b in curve.breaks if 0.0 < b < curve.known_to]
    return np.unique(np.concatenate([np.linspace(0.0, curve.known_to, SCAN_STEPS + 1), np.array(inner)]))


def _crossing(curve: RightingCurve, heeling: Lever, start: float, sign: float) -> float:
    """First heel from `start` on at which `sign` times righting less heeling lever rises above nothing."""
    from scipy.optimize import brentq

    def gain(angle: float) -> float:
        return sign * float(curve.lever(angle) - heeling(angle))

    angles = _scan(curve)
    angles = angles[angles >= start]
    if not angles.size:
        return math.nan
    net = sign * (as_array(curve.lever(angles)) - as_array(heeling(angles)))
    above = np.flatnonzero(net > 0.0)
    if not above.size:
        return math.nan
    first = int(above[0])
    if first == 0:
        return float(angles[0])
    return float(brentq(gain, float(angles[first - 1]), float(angles[first]), xtol=1e-12))


@stated(AREAS)
def first_intersection(curve: RightingCurve, heeling: Lever) -> float:
    """Heel of equilibrium: where the righting lever first exceeds the heeling lever [rad]; NaN if not within the curve.

    Parameters
    ----------
    curve : RightingCurve
    heeling : callable
        Heeling lever [m] of heel [rad].
    """
    return _crossing(curve, heeling, 0.0, 1.0)


@stated(AREAS)
def second_intersection(curve: RightingCurve, heeling: Lever) -> float:
    """Heel beyond equilibrium at which the heeling lever exceeds the righting lever again [rad].

    Parameters
    ----------
    curve : RightingCurve
    heeling : callable
        Heeling lever [m] of heel [rad].

    Returns
    -------
    float
        NaN where there is no equilibrium, or no second crossing within the curve.
    """
    equilibrium = first_intersection(curve, heeling)
    if math.isnan(equilibrium):
        return math.nan
    # one step on, so that the rounding of the first crossing does not count as the second
    return _crossing(curve, heeling, equilibrium + curve.known_to / SCAN_STEPS, -1.0)


@stated(AREAS)
def greatest_lever(curve: RightingCurve) -> tuple[float, float, bool]:
    """Heel and size of the greatest righting lever within the curve [rad, m], and whether it still rises at the end."""
    angles = _scan(curve)
    levers = as_array(curve.lever(angles))
    most = int(np.argmax(levers))
    return float(angles[most]), float(levers[most]), most == len(angles) - 1


@stated(
    Source(
        name="ship statics, dynamic heel under a lever applied at once",
        certainty=Certainty.derived,
        note="undamped; the same balance of areas as IMO's A = B",
    )
)
def dynamic_angle(curve: RightingCurve, heeling: Lever) -> float:
    """Heel that a lever applied at once throws an undamped vessel to, from upright [rad].

    Parameters
    ----------
    curve : RightingCurve
    heeling : callable
        Heeling lever [m] of heel [rad].

    Returns
    -------
    float
        Where the areas of righting and heeling lever are equal; NaN where they
        are not within the curve, which says that she may be thrown further.
    """
    from scipy.optimize import brentq

    equilibrium = first_intersection(curve, heeling)
    if math.isnan(equilibrium):
        return math.nan
    if equilibrium == 0.0:
        return 0.0
    owed = -area_between(curve, heeling, 0.0, equilibrium)
    second = second_intersection(curve, heeling)
    end = curve.known_to if math.isnan(second) else second

    def left(angle: float) -> float:
        return area_between(curve, heeling, equilibrium, angle) - owed

    if left(end) < 0.0:
        return math.nan
    return float(brentq(left, equilibrium, end, xtol=1e-10))
