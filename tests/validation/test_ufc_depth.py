"""Cross-flow drag in finite depth against the mooring criteria.

Source: UFC 4-159-03, Moorings, eq. 11-13 (US Department of Defense, public).
The numbers are arithmetic of the equations as written, printed to three or four
figures; no measured swing was found to set against them.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolkit.particulars import (
    box_wetted_surface,
    depth_corrected_coefficient,
    depth_factor,
    ship_wetted_surface,
    ufc_deep_coefficient,
)


def test_deep_coefficient() -> None:
    assert ufc_deep_coefficient(60.0, 16.0) == pytest.approx(0.4260, abs=5e-5)
    assert ufc_deep_coefficient(60.0, 18.0) == pytest.approx(0.401663, abs=5e-7)


def test_depth_over_draught() -> None:
    deep = ufc_deep_coefficient(60.0, 16.0)
    ratio = np.array([1.1, 1.2, 1.5, 2.0, 3.0, 5.0])
    np.testing.assert_allclose(
        depth_corrected_coefficient(deep, 3.0, 3.0 * ratio), [2.719, 2.352, 1.659, 1.120, 0.734, 0.537], atol=6e-4
    )
    np.testing.assert_allclose(depth_factor(deep, 3.0, 3.0 * ratio), [6.38, 5.52, 3.89, 2.63, 1.72, 1.26], atol=6e-3)


def test_force_on_a_moored_box() -> None:
    # 60 x 18 x 3 m, 0.5 m/s on the beam, draught over depth 0.1, 0.3, 0.6
    coefficient = depth_corrected_coefficient(ufc_deep_coefficient(60.0, 18.0), 3.0, 3.0 / np.array([0.1, 0.3, 0.6]))
    np.testing.assert_allclose(coefficient, [0.42965, 0.65351, 1.40906], atol=6e-6)
    np.testing.assert_allclose(0.5 * 1025 * 0.25 * 180 * coefficient, [9909, 15072, 32496], atol=1.0)


def test_limits() -> None:
    assert depth_corrected_coefficient(0.43, 3.0, 1e9) == pytest.approx(0.43)
    assert depth_corrected_coefficient(0.43, 3.0, 3.0) == pytest.approx(3.2)
    assert depth_corrected_coefficient(0.43, 3.0, 1.0) == pytest.approx(3.2)  # aground counts as touching
    assert depth_corrected_coefficient(3.2, 3.0, 4.0) == pytest.approx(3.2)


def test_a_hull_without_cross_flow_drag_has_none_in_any_depth() -> None:
    depth = np.array([3.0, 6.0, 1e6])
    np.testing.assert_array_equal(depth_corrected_coefficient(0.0, 3.0, depth), 0.0)
    np.testing.assert_array_equal(depth_factor(np.zeros(3), 3.0, depth), 1.0)


@given(
    deep=st.floats(0.01, 3.2),
    draught=st.floats(0.5, 10.0),
    ratio=st.floats(1.0, 50.0),
    closer=st.floats(0.5, 1.0),
)
def test_shoaling_never_lessens_the_drag(deep: float, draught: float, ratio: float, closer: float) -> None:
    far = depth_corrected_coefficient(deep, draught, draught * ratio)
    near = depth_corrected_coefficient(deep, draught, draught * ratio * closer)
    assert deep <= far * (1 + 1e-12)
    assert far <= near * (1 + 1e-12)
    assert near <= 3.2 * (1 + 1e-12)
    assert depth_factor(deep, draught, draught * ratio) * deep == pytest.approx(far)


def test_wetted_surface_of_a_box_and_of_a_ship() -> None:
    # 60 x 18 x 3 m: exact 1548 m2, the ship formula (eq. 20) 1386 m2 for the same volume
    assert box_wetted_surface(60.0, 18.0, 3.0) == pytest.approx(1548.0)
    assert ship_wetted_surface(60.0, 3.0, 60 * 18 * 3.0) == pytest.approx(1386.0)
    np.testing.assert_allclose(box_wetted_surface(60.0, np.array([16.0, 18.0]), 3.0), [1416.0, 1548.0])
