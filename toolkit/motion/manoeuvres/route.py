"""The way round a barge: along the edge of a box about her, in her own axes."""

from __future__ import annotations

from math import floor

from toolkit.kernels import kernel
from toolkit.loads.scalars import clip

__all__ = ["clear_of_box", "corner_x", "corner_y", "edge_place", "edge_way"]


@kernel
def edge_place(x: float, y: float, half_length: float, half_beam: float) -> float:
    """Place on the edge of a box nearest to a point off it [m]: from the middle of her bow, round by starboard.

    Parameters
    ----------
    x, y : float
        Forward and to starboard of the box's middle [m].
    half_length, half_beam : float
        Of the box [m].
    """
    whole = 4.0 * (half_length + half_beam)
    if abs(x) - half_length > abs(y) - half_beam:
        along = clip(y, -half_beam, half_beam)
        place = along if x > 0.0 else 2.0 * (half_beam + half_length) - along
    else:
        along = clip(x, -half_length, half_length)
        place = half_beam + half_length - along if y > 0.0 else 3.0 * (half_beam + half_length) + along
    return place - whole * floor(place / whole)


@kernel
def edge_way(here: float, there: float, way: float, whole: float) -> float:
    """Distance [m] along an edge of length `whole` from place to place, by starboard (`way` = 1) or by port (-1)."""
    distance = way * (there - here)
    return distance - whole * floor(distance / whole)


@kernel
def corner_x(corner: int, half_length: float) -> float:
    """Corners 0 to 3 clockwise from the starboard bow: how far forward [m]."""
    return half_length if corner in (0, 3) else -half_length


@kernel
def corner_y(corner: int, half_beam: float) -> float:
    """The same: how far to starboard [m]."""
    return half_beam if corner < 2 else -half_beam


@kernel
def clear_of_box(x: float, y: float, to_x: float, to_y: float, half_length: float, half_beam: float) -> bool:
    """Whether the straight way between two points stays clear of a box (theorem of the separating axis)."""
    middle_x, middle_y = 0.5 * (x + to_x), 0.5 * (y + to_y)
    half_x, half_y = 0.5 * (to_x - x), 0.5 * (to_y - y)
    beside = abs(middle_x * half_y - middle_y * half_x) > half_length * abs(half_y) + half_beam * abs(half_x)
    return bool(abs(middle_x) >= half_length + abs(half_x) or abs(middle_y) >= half_beam + abs(half_y) or beside)
