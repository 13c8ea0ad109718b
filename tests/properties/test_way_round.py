"""The way round a barge: along the edge of a box, whatever its size and wherever one stands."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from toolkit.motion.manoeuvres.route import clear_of_box, corner_x, corner_y, edge_place, edge_way

SIZE = st.floats(2.0, 100.0)
PLACE = st.floats(-300.0, 300.0)


@given(SIZE, SIZE)
def test_corners_follow_one_another_by_starboard(half_length: float, half_beam: float) -> None:
    whole = 4.0 * (half_length + half_beam)
    places = [edge_place(corner_x(i, half_length), corner_y(i, half_beam), half_length, half_beam) for i in range(4)]
    assert places == sorted(places)
    steps = [edge_way(places[i], places[(i + 1) % 4], 1.0, whole) for i in range(4)]
    assert steps == pytest.approx([2.0 * half_length, 2.0 * half_beam] * 2)


@given(SIZE, SIZE, PLACE, PLACE, PLACE, PLACE)
def test_the_two_ways_make_the_whole(
    half_length: float, half_beam: float, x: float, y: float, to_x: float, to_y: float
) -> None:
    whole = 4.0 * (half_length + half_beam)
    here, there = edge_place(x, y, half_length, half_beam), edge_place(to_x, to_y, half_length, half_beam)
    assert -1e-9 <= here <= whole + 1e-9
    ways = edge_way(here, there, 1.0, whole), edge_way(here, there, -1.0, whole)
    assume(min(ways) > 1e-6)
    assert sum(ways) == pytest.approx(whole)
    # seen in a mirror, starboard and port change places
    mirrored = edge_place(x, -y, half_length, half_beam), edge_place(to_x, -to_y, half_length, half_beam)
    assume(abs(y) > 1e-6 and abs(to_y) > 1e-6)
    assert edge_way(*mirrored, -1.0, whole) == pytest.approx(ways[0], abs=1e-6)


@given(SIZE, SIZE, PLACE, PLACE, PLACE, PLACE)
def test_clear_of_the_box_by_points_along_the_way(
    half_length: float, half_beam: float, x: float, y: float, to_x: float, to_y: float
) -> None:
    share = np.linspace(0.0, 1.0, 101)
    along, across = np.abs(x + share * (to_x - x)), np.abs(y + share * (to_y - y))
    if clear_of_box(x, y, to_x, to_y, half_length, half_beam):
        assert not ((along < half_length - 1e-6) & (across < half_beam - 1e-6)).any()
    else:
        step = np.hypot(to_x - x, to_y - y) / 100.0
        assert ((along < half_length + step) & (across < half_beam + step)).any()
