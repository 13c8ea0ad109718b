"""Force and moment asked of the tug, made into what each drive gives."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolkit.motion.allocation import allocate, allocate_fixed, allocate_one

FULL = 150e3
SHARE = st.floats(-1.5, 1.5)


@given(SHARE, SHARE, SHARE)
def test_no_azimuth_drive_gives_more_than_it_has(ahead: float, side: float, moment: float) -> None:
    a1, s1, a2, s2 = allocate(2 * ahead * FULL, 2 * side * FULL, moment * FULL * 8.0, 7.0, 2.4, FULL)
    assert math.hypot(a1, s1) <= 1.3 * FULL and math.hypot(a2, s2) <= 1.3 * FULL


def test_small_wants_are_met_exactly() -> None:
    a1, s1, a2, s2 = allocate(0.3 * FULL, 0.2 * FULL, 2e5, 7.0, 2.4, FULL)
    assert a1 + a2 == pytest.approx(0.3 * FULL)
    assert s1 + s2 == pytest.approx(0.2 * FULL)
    assert 7.0 * (s1 + s2) + 2.4 * (a2 - a1) == pytest.approx(2e5)


@given(SHARE, SHARE, st.sampled_from([-11.0, -8.0, 7.0]), st.sampled_from([-2.4, 2.4]))
def test_the_one_drive_left_holds_the_heading_first(ahead: float, moment: float, x: float, y: float) -> None:
    a, s = allocate_one(ahead * FULL, moment * FULL * 4.0, x, y, FULL)
    assert math.hypot(a, s) <= FULL * (1.0 + 1e-9)
    if abs(ahead) < 0.3 and abs(moment) < 0.3:
        assert x * s - y * a == pytest.approx(moment * FULL * 4.0, abs=1e-6 * FULL)
        assert a == pytest.approx(ahead * FULL)


@given(SHARE, SHARE)
def test_a_conventional_tug_steers_within_her_rudders(ahead: float, moment: float) -> None:
    limit = math.radians(35.0)
    t1, t2, angle = allocate_fixed(2 * ahead * FULL, moment * FULL * 10.0, -11.0, 2.4, FULL, limit)
    assert abs(t1) <= FULL and abs(t2) <= FULL
    assert abs(angle) <= limit + 1e-12
    if ahead <= 0.0:
        assert angle == 0.0


def test_going_ahead_she_turns_by_rudder_alone_and_stopped_by_her_screws() -> None:
    limit = math.radians(35.0)
    t1, t2, angle = allocate_fixed(FULL, 3e5, -11.0, 2.4, FULL, limit)
    assert t1 == t2 == 0.5 * FULL
    # rudders aft: bow to starboard takes a force to port at the stern
    assert angle < 0.0 and -11.0 * (t1 + t2) * math.tan(angle) == pytest.approx(3e5)
    t1, t2, angle = allocate_fixed(0.0, 3e5, -11.0, 2.4, FULL, limit)
    assert angle == 0.0 and t2 == -t1 > 0.0
    assert 2.4 * (t2 - t1) == pytest.approx(3e5)


def test_mirror() -> None:
    one = np.array(allocate_fixed(0.4 * FULL, 2e5, -11.0, 2.4, FULL, 0.6))
    other = np.array(allocate_fixed(0.4 * FULL, -2e5, -11.0, 2.4, FULL, 0.6))
    assert other == pytest.approx([one[1], one[0], -one[2]])
