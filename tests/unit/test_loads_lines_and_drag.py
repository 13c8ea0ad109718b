"""Damping of the towline by its stretch, and drag ahead and astern, by numbers worked by hand."""

from __future__ import annotations

import pytest

from toolkit.loads.resistance import surge_resistance
from toolkit.loads.towline import line_tension, static_tension

LINE = {"stiffness": 5e5, "sag": 2e3, "sag_tension": (5e5 * 2e3) ** (1.0 / 3.0)}


def tension(stretch: float, rate: float, loss_time: float = 0.05, fade: float = 0.1) -> float:
    return line_tension(stretch, rate, loss_time=loss_time, fade=fade, **LINE)


def test_damping_is_stiffness_times_loss_time_times_rate_once_the_line_is_stretched() -> None:
    for stretch in (0.1, 0.3, 2.0):
        still = static_tension(stretch, **LINE)
        assert tension(stretch, 0.0) == still
        assert tension(stretch, 0.4) - still == pytest.approx(5e5 * 0.05 * 0.4, rel=1e-12)  # 10 kN
        assert tension(stretch, -0.4) - still == pytest.approx(-5e5 * 0.05 * 0.4, rel=1e-12)


def test_damping_sets_in_evenly_over_the_fade_and_not_before() -> None:
    for share in (0.25, 0.5, 0.75):
        gained = tension(0.1 * share, 0.4) - static_tension(0.1 * share, **LINE)
        assert gained == pytest.approx(share * 1e4, rel=1e-9)
    for stretch in (-1.0, -0.01, 0.0):
        assert tension(stretch, 0.4) == static_tension(stretch, **LINE)


def test_a_line_that_is_let_go_fast_does_not_push() -> None:
    assert tension(0.1, -50.0) == 0.0


def test_tension_without_stretch_is_that_of_the_sag_alone() -> None:
    # T^3 = k sag at no stretch: 1e9 gives 1000 N; hanging, T falls as sqrt(sag / depth)
    assert static_tension(0.0, **LINE) == pytest.approx(1000.0, rel=1e-9)
    assert static_tension(-1.0, **LINE) == pytest.approx((2e3 / 1.0) ** 0.5, rel=2e-4)
    assert static_tension(-4.0, **LINE) == pytest.approx((2e3 / 4.0) ** 0.5, rel=2e-5)
    # the root of T^3 - k e T^2 - k sag, at 0.02 m of stretch: 1e4 N and a tenth of a permille more
    found = static_tension(0.02, **LINE)
    assert found**3 - 5e5 * 0.02 * found**2 - 1e9 == pytest.approx(0.0, abs=1e-3 * found**2)
    assert found == pytest.approx(10010.0, abs=0.5)


def test_a_tension_below_one_newton_is_still_one() -> None:
    # sqrt(sag / depth) again, so far down that half a newton is left
    assert tension(-8000.0, 0.0) == pytest.approx(0.5, rel=1e-6)


def test_drag_opposes_the_way_ahead_and_astern() -> None:
    assert surge_resistance(2.0, 100.0, 50.0) == -(100.0 * 2.0 + 50.0 * 4.0)
    assert surge_resistance(-2.0, 100.0, 50.0) == 100.0 * 2.0 + 50.0 * 4.0
    assert surge_resistance(0.0, 100.0, 50.0) == 0.0
