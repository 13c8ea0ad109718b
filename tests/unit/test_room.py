"""Clearance of a hull from the edges of a basin and its shoals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.one_case import columns_of
from toolkit.motion.engine import evaluate_columns
from toolkit.motion.room import clearance
from toolkit.motion.setting import Setting
from toolkit.quantities import Outcome


def polygon(corners: list[tuple[float, float]], number: int = 0) -> np.ndarray:
    turned = corners[1:] + corners[:1]
    return np.array([[*a, *b, number] for a, b in zip(corners, turned, strict=True)], dtype=float)


SQUARE = polygon([(-100.0, -100.0), (100.0, -100.0), (100.0, 100.0), (-100.0, 100.0)])
SHOAL = polygon([(40.0, -5.0), (50.0, 0.0), (40.0, 5.0)], 1)


def test_square_basin_and_hull_by_hand() -> None:
    # 40 x 10 m, heading north at the centre: 80 m ahead, 95 m abeam
    assert clearance(SQUARE, 0.0, 0.0, 1.0, 0.0, 20.0, 5.0) == pytest.approx(80.0)
    assert clearance(SQUARE, 0.0, 90.0, 1.0, 0.0, 20.0, 5.0) == pytest.approx(5.0)
    c = math.sqrt(0.5)
    assert clearance(SQUARE, 0.0, 0.0, c, c, 20.0, 5.0) == pytest.approx(100.0 - 25.0 * c)


@pytest.mark.parametrize("place", [(0.0, 97.0), (0.0, 120.0), (300.0, 0.0)])
def test_across_or_beyond_the_edge_there_is_none(place: tuple[float, float]) -> None:
    assert clearance(SQUARE, *place, 1.0, 0.0, 20.0, 5.0) == 0.0


def test_a_shoal_is_kept_clear_of_though_only_its_corner_reaches_her_side() -> None:
    both = np.vstack([SQUARE, SHOAL])
    assert clearance(both, 0.0, 0.0, 1.0, 0.0, 20.0, 5.0) == pytest.approx(20.0)
    assert clearance(both, 45.0, 0.0, 1.0, 0.0, 20.0, 5.0) == 0.0, "over it"
    assert clearance(both, 35.0, 0.0, 0.0, 1.0, 20.0, 5.0) == 0.0, "its edge touches her side"


@settings(max_examples=60, deadline=None)
@given(st.floats(-60.0, 60.0), st.floats(-60.0, 60.0), st.floats(0.0, 6.28), st.floats(0.0, 6.28))
def test_a_turned_world_is_the_same(north: float, east: float, heading: float, turn: float) -> None:
    both = np.vstack([SQUARE, SHOAL])
    c, s = math.cos(turn), math.sin(turn)
    spun = both.copy()
    for i in (0, 2):
        spun[:, i], spun[:, i + 1] = c * both[:, i] - s * both[:, i + 1], s * both[:, i] + c * both[:, i + 1]
    one = clearance(both, north, east, math.cos(heading), math.sin(heading), 20.0, 5.0)
    other = clearance(
        spun, c * north - s * east, s * north + c * east, math.cos(heading + turn), math.sin(heading + turn), 20.0, 5.0
    )
    assert other == pytest.approx(one, abs=1e-6)


def test_the_engine_measures_and_ends_where_an_edge_is_met() -> None:
    columns = columns_of(bollard_pull=30 * 9806.65, time_limit=900.0)
    free = evaluate_columns(columns)
    assert np.isnan(free["clearance_to_edge"][0])
    far = evaluate_columns(columns, Setting(edges=4.0 * SQUARE * [1, 1, 1, 1, 0]))
    assert far["outcome"][0] == free["outcome"][0]
    reach = float(free["swept_radius_all"][0])
    # a basin that holds the swept circle is never met; its clearance is at least the rest
    assert far["clearance_to_edge"][0] >= 400.0 - reach - 1e-6
    tight = evaluate_columns(columns, Setting(edges=0.42 * SQUARE * [1, 1, 1, 1, 0]))
    assert tight["outcome"][0] == Outcome.edge_met and tight["clearance_to_edge"][0] == 0.0
