"""Righting curves and areas: tables, crossings, and what cannot be said."""

from __future__ import annotations

import math

import numpy as np
import pytest

from toolkit.rules.areas import (
    area_between,
    area_under,
    dynamic_angle,
    first_intersection,
    greatest_lever,
    second_intersection,
)
from toolkit.rules.righting import (
    RightingCurve,
    curve_from_table,
    three_number_curve,
    wall_sided_curve,
    wall_sided_lever,
)

DEGREE = math.pi / 180.0
HEELS = np.arange(0.0, 91.0, 10.0) * DEGREE


def constant(size: float):  # type: ignore[no-untyped-def]
    return lambda heel: size + 0.0 * np.asarray(heel)


def arch(top: float = 1.0, vanishing: float = 80.0) -> RightingCurve:
    """GZ = top sin(pi phi / vanishing): rises to the middle, vanishes at the end."""
    end = vanishing * DEGREE
    return RightingCurve(lever=lambda heel: top * np.sin(np.pi * np.asarray(heel) / end), known_to=end)


def test_table_goes_through_its_points_and_never_beyond_them() -> None:
    levers = np.array([0.0, 0.2, 0.5, 0.45, 0.44, 0.1, -0.2, -0.3, -0.4, -0.5])
    curve = curve_from_table(HEELS, levers)
    np.testing.assert_allclose(curve.lever(HEELS), levers, atol=1e-15)
    fine = curve.lever(np.linspace(0.0, HEELS[-1], 2000))
    assert np.max(fine) <= 0.5
    assert np.min(fine) >= -0.5
    assert curve.known_to == HEELS[-1]
    assert math.isnan(curve.lever(HEELS[-1] + 0.01))  # nothing is made up beyond the table


@pytest.mark.parametrize(
    ("heel", "lever"),
    [
        ([0.0, 0.1, 0.2], [0.0, 0.1, 0.2]),
        ([0.0, 0.1, 0.1, 0.2], [0.0, 0.1, 0.2, 0.3]),
        ([0.1, 0.2, 0.3, 0.4], [0.1, 0.2, 0.3, 0.4]),
        ([0.0, 0.1, 0.2, 0.3], [0.0, math.nan, 0.2, 0.3]),
        ([0.0, 0.1, 0.2, 0.3], [0.0, 0.1, 0.2]),
    ],
)
def test_points_that_make_no_curve_are_refused(heel: list[float], lever: list[float]) -> None:
    with pytest.raises(ValueError, match="righting curve"):
        curve_from_table(heel, lever)


def test_crossings_of_an_arch() -> None:
    # sin(pi phi / 80) = 0.5 at 80/6 and at 5 * 80/6 degrees
    curve = arch()
    assert first_intersection(curve, constant(0.5)) / DEGREE == pytest.approx(80 / 6, abs=1e-8)
    assert second_intersection(curve, constant(0.5)) / DEGREE == pytest.approx(5 * 80 / 6, abs=1e-8)
    assert first_intersection(curve, constant(0.0)) == 0.0
    assert math.isnan(first_intersection(curve, constant(1.1)))
    assert math.isnan(second_intersection(curve, constant(1.1)))
    angle, size, rising = greatest_lever(curve)
    assert (angle / DEGREE, size, rising) == (pytest.approx(40.0, abs=0.03), pytest.approx(1.0, abs=1e-6), False)
    assert greatest_lever(wall_sided_curve(1.5, 2.0, 12 * DEGREE))[2]


def test_no_second_crossing_within_a_curve_that_ends_early() -> None:
    curve = wall_sided_curve(1.5, 2.0, 12 * DEGREE)
    assert first_intersection(curve, constant(0.1)) > 0.0
    assert math.isnan(second_intersection(curve, constant(0.1)))


def test_area_is_exact_for_a_sine_and_nothing_for_an_empty_interval() -> None:
    assert area_under(np.sin, 0.0, 1.0) == pytest.approx(1.0 - math.cos(1.0), abs=1e-12)
    assert area_under(np.sin, 0.5, 0.5) == 0.0
    assert math.isnan(area_under(np.sin, math.nan, 1.0))
    curve = arch()
    whole = area_between(curve, constant(0.0), 0.0, curve.known_to)
    assert whole == pytest.approx(2.0 / math.pi * curve.known_to, rel=1e-10)


def test_area_over_corners_of_a_lever() -> None:
    corner = 0.2
    bent = RightingCurve(lever=lambda a: np.maximum(np.asarray(a) - corner, 0.0), known_to=1.0, breaks=(corner,))
    assert area_between(bent, constant(0.0), 0.0, 1.0) == pytest.approx(0.5 * 0.8**2, rel=1e-12)


def test_thrown_to_where_the_areas_balance() -> None:
    curve = arch()
    lever = constant(0.4)
    angle = dynamic_angle(curve, lever)
    assert area_between(curve, lever, 0.0, angle) == pytest.approx(0.0, abs=1e-9)
    assert angle > first_intersection(curve, lever)
    assert math.isnan(dynamic_angle(curve, constant(0.75)))  # the reserve is smaller than what is owed: over she goes
    assert math.isnan(dynamic_angle(curve, constant(1.2)))
    assert dynamic_angle(curve, constant(0.0)) == 0.0
    short = wall_sided_curve(1.5, 2.0, 12 * DEGREE)
    assert math.isnan(dynamic_angle(short, constant(0.25)))  # beyond the deck edge: cannot be said


def test_wall_sided_curve_ends_at_the_deck_edge() -> None:
    curve = wall_sided_curve(1.5, 2.2407, 12 * DEGREE)
    assert not curve.is_full
    np.testing.assert_allclose(wall_sided_lever(np.radians([10.0, 20.0]), 1.5, 2.2407), [0.2665, 0.5638], atol=5e-5)
    assert wall_sided_lever(0.1, 1.5, 2.0) == wall_sided_lever(np.array([0.1]), 1.5, 2.0)[0]
    full = curve_from_table(HEELS, np.sin(HEELS), deck_edge=12 * DEGREE)
    assert full.is_full


def test_three_numbers_give_the_engines_own_curve() -> None:
    edge = 12 * DEGREE
    curve = three_number_curve(1.5, 2.24, edge, 0.6, 35 * DEGREE, 70 * DEGREE)
    assert curve.is_full
    assert curve.lever(5 * DEGREE) == wall_sided_lever(5 * DEGREE, 1.5, 2.24)
    below, above = (float(curve.lever(edge + d)) for d in (-1e-9, 1e-9))
    assert above == pytest.approx(below, abs=1e-8)  # no jump at the deck edge
    assert curve.lever(35 * DEGREE) == pytest.approx(0.6, abs=1e-12)
    assert curve.lever(70 * DEGREE) == pytest.approx(0.0, abs=1e-12)
    angle, size, rising = greatest_lever(curve)
    assert (angle / DEGREE, rising) == (pytest.approx(35.0, abs=0.05), False)
    assert size == pytest.approx(0.6, abs=1e-6)
