"""Room between the hulls and the edges of basin and shoals, and to the face of a berth."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import kernel, outlined
from toolkit.loads.scalars import clip
from toolkit.motion.layout import MEMORY, STATE, P

__all__ = ["LOOKS_APART", "clearance", "clearance_of_face", "note_room"]

LOOKS_APART = 2
"""Ticks between two measurements of the clearance: every second."""


@kernel
def distance_square(n: float, e: float, an: float, ae: float, bn: float, be: float) -> float:
    """Square of the distance [m2] of a point from a segment."""
    dn, de = bn - an, be - ae
    length = dn * dn + de * de
    share = clip(((n - an) * dn + (e - ae) * de) / (length + 1e-12), 0.0, 1.0)
    pn, pe = n - an - share * dn, e - ae - share * de
    return pn * pn + pe * pe


@kernel
def box_distance_square(
    n: float, e: float, north: float, east: float, c: float, sn: float, half_length: float, half_beam: float
) -> float:
    """Square of the distance [m2] of a point from a hull's rectangle; 0 inside."""
    x, y = n - north, e - east
    ahead, side = abs(c * x + sn * y) - half_length, abs(c * y - sn * x) - half_beam
    ahead = ahead if ahead > 0.0 else 0.0
    side = side if side > 0.0 else 0.0
    return ahead * ahead + side * side


@kernel
def clearance(
    basin: NDArray[np.float64], north: float, east: float, c: float, sn: float, half_length: float, half_beam: float
) -> float:
    """Least distance of a hull from every edge of basin and shoals; 0 where she touches or lies beyond one.

    Parameters
    ----------
    basin : ndarray, shape (segments, 5)
        Ends of each edge, north and east [m, m, m, m], and the number of its
        polygon: 0 for the basin, in which a hull must lie, 1, 2, ... for
        shoals, in which she must not. No segments: no bounds.
    north, east : float
        Her midships [m].
    c, sn : float
        Cosine and sine of her heading.
    half_length, half_beam : float
        [m].

    Returns
    -------
    float
        [m].

    Notes
    -----
    Corners against edges and corners of the edges against the hull; by the
    even-odd rule each corner of the hull lies in as many polygons as it should.
    """
    least = 1e18
    count = basin.shape[0]
    beyond = False
    for corner in range(4):
        along = half_length if corner < 2 else -half_length
        across = half_beam if corner % 2 == 0 else -half_beam
        n, e = north + c * along - sn * across, east + sn * along + c * across
        polygon, inside, any_basin = -1.0, False, False
        for i in range(count):
            an, ae, bn, be = basin[i, 0], basin[i, 1], basin[i, 2], basin[i, 3]
            if basin[i, 4] != polygon:  # the last polygon is complete: was the corner where it belongs?
                if polygon == 0.0 and not inside:
                    beyond = True
                if polygon > 0.0 and inside:
                    beyond = True
                polygon, inside = basin[i, 4], False
            square = distance_square(n, e, an, ae, bn, be)
            least = square if square < least else least
            if (ae > e) != (be > e) and n < (bn - an) * (e - ae) / (be - ae) + an:
                inside = not inside
            any_basin = True
        if any_basin and ((polygon == 0.0 and not inside) or (polygon > 0.0 and inside)):
            beyond = True
    for i in range(count):
        square = box_distance_square(basin[i, 0], basin[i, 1], north, east, c, sn, half_length, half_beam)
        least = square if square < least else least
    return 0.0 if beyond else sqrt(least)


@kernel
def clearance_of_face(s: NDArray[np.float64], p: NDArray[np.float64], k: int) -> tuple[float, float, float]:
    """Clear water between the barge's nearest corner and the face, and the face's normal in her axes.

    Returns
    -------
    clear : float
        [m]; below nothing beyond the face.
    normal_x, normal_y : float
        Out of the face, ahead and to starboard.
    """
    cosine, sine = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    north, east = p[P.berth_north + k], p[P.berth_east + k]
    x, y = cosine * north + sine * east, cosine * east - sine * north
    midships = p[P.berth_distance + k] + north * s[STATE.barge_north + k] + east * s[STATE.barge_east + k]
    return midships - abs(x) * p[P.barge_half_length + k] - abs(y) * p[P.barge_half_beam + k], x, y


@outlined
def note_room(
    s: NDArray[np.float64], p: NDArray[np.float64], m: NDArray[np.float64], basin: NDArray[np.float64], k: int
) -> None:
    """Note the least clearance of barge and tug from the edges, and whether one was met."""
    if basin.shape[0] == 0 or int(m[MEMORY.ticks + k]) % LOOKS_APART != 0:
        return
    barge = clearance(
        basin, s[STATE.barge_north + k], s[STATE.barge_east + k], s[STATE.barge_cosine + k], s[STATE.barge_sine + k],
        p[P.barge_half_length + k], p[P.barge_half_beam + k],
    )  # fmt: skip
    tug = clearance(
        basin, s[STATE.tug_north + k], s[STATE.tug_east + k], s[STATE.tug_cosine + k], s[STATE.tug_sine + k],
        p[P.tug_half_length + k], p[P.tug_half_beam + k],
    )  # fmt: skip
    least = barge if barge < tug else tug
    if least < m[MEMORY.least_clearance + k]:
        m[MEMORY.least_clearance + k] = least
    if least <= 0.0 and m[MEMORY.edge_met_at + k] < 0.0:
        m[MEMORY.edge_met_at + k] = m[MEMORY.time + k]
