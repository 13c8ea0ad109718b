"""Azimuth drives: share by direction, wash, flow past them, and how fast they obey."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from toolkit.loads.drives import direction_share, drive_force, slew_rate, spool_rate, wash_share
from toolkit.particulars import ram_coefficient, tandem_thrust_ratio, tandem_thrust_ratio_off_axis


def test_direction_share_between_ahead_and_astern() -> None:
    assert direction_share(1.0, 0.9, 1.0, 0.64) == 1.0
    assert direction_share(-1.0, 0.9, 1.0, 0.64) == pytest.approx(0.9)
    assert direction_share(0.0, 0.9, 1.0, 0.64) == pytest.approx(0.95)


def test_athwartships_limit_is_in_its_band_alone() -> None:
    # a named option, common practice, no source: half thrust within 40 degrees either side of athwartships
    band = math.sin(math.radians(40.0))
    assert direction_share(0.0, 0.9, 0.5, band) == pytest.approx(0.475)
    assert direction_share(math.cos(math.radians(60.0)), 0.9, 0.5, band) < 0.55
    for cosine in (1.0, 0.8, -0.8, -1.0):  # ahead and astern, clear of the smooth edges
        assert direction_share(cosine, 0.9, 0.5, band) == direction_share(cosine, 0.9, 1.0, band)
    shares = [direction_share(float(c), 0.9, 0.5, band) for c in np.linspace(-1, 1, 4001)]
    assert np.max(np.abs(np.diff(shares))) < 5e-3  # no jump at the edges: slope 1.5 * 0.5 / 0.2, times 5e-4


def test_half_the_athwartships_limit_at_the_edge_of_its_band() -> None:
    # and the whole of it a smoothing width inside, none of it as far outside
    for band in (0.4, 0.64):
        for inside, share in ((0.1, 0.5), (0.05, 0.5 + 0.5 * 0.15625), (0.0, 0.75), (-0.1, 1.0)):
            for sign in (1.0, -1.0):
                cosine = sign * (band - inside)
                assert direction_share(cosine, 1.0, 0.5, band) == pytest.approx(share)


def test_wash_follows_the_tandem_formula() -> None:
    # the particulars compute it from the angle, the load from its sine: two ways to Dang and Laheij's formula
    ratio = float(tandem_thrust_ratio(2.4))
    for degrees in (0.0, 3.0, 10.0, 15.0, 40.0, 89.0):
        angle = math.radians(degrees)
        expected = float(tandem_thrust_ratio_off_axis(ratio, angle))
        assert wash_share(math.cos(angle), math.sin(angle), ratio, 1.0) == pytest.approx(expected, abs=1e-6)
        assert wash_share(math.cos(angle), -math.sin(angle), ratio, 1.0) == pytest.approx(expected, abs=1e-6)
    assert wash_share(-1.0, 0.0, ratio, 1.0) == 1.0
    assert wash_share(1.0, 0.0, ratio, 0.0) == 1.0


def test_side_force_of_flow_across_a_drive() -> None:
    # momentum theory, D 2.6 m at 300 kN: 40.4 t/s, so 40.4 kN at 1 m/s of cross-flow, against the motion
    ram = float(ram_coefficient(2.6))
    ahead, side = drive_force(300e3, 1.0, 0.0, 0.0, 1.0, 0.0, ram)
    assert ahead == pytest.approx(300e3)
    assert side == pytest.approx(-40.4e3, rel=1e-3)
    # whatever the direction, power goes out of the motion across the thrust
    for direction in np.linspace(0.0, 6.0, 13):
        c, s = math.cos(direction), math.sin(direction)
        still = drive_force(300e3, c, s, 0.0, 0.0, 0.0, ram)
        moving = drive_force(300e3, c, s, -s, c, 0.0, ram)  # one metre a second, to starboard of the thrust
        assert (moving[0] - still[0]) * -s + (moving[1] - still[1]) * c == pytest.approx(-40.4e3, rel=1e-3)


def test_thrust_falls_with_speed_along_it_alone() -> None:
    assert drive_force(1e5, 1.0, 0.0, 2.0, 0.0, 0.1, 0.0)[0] == pytest.approx(0.8e5)
    assert drive_force(1e5, -1.0, 0.0, -2.0, 0.0, 0.1, 0.0)[0] == pytest.approx(-0.8e5)
    assert drive_force(1e5, 1.0, 0.0, -2.0, 0.0, 0.1, 0.0)[0] == pytest.approx(1e5)  # dragged against its thrust
    assert drive_force(1e5, 1.0, 0.0, 12.0, 0.0, 0.1, 0.0)[0] == 0.0  # spent, never negative


@pytest.mark.parametrize("turned", [0.4, 1.52, 1.9, -2.5, -0.045])
def test_a_drive_knows_no_direction_of_its_own(turned: float) -> None:
    # thrust and flow turned alike, the force turns with them; from and to turned alike, the rate is the same
    force = complex(*drive_force(1e5, 1.0, 0.0, 1.5, 0.8, 0.1, 300.0))
    flow = complex(1.5, 0.8) * complex(math.cos(turned), math.sin(turned))
    c, s = math.cos(turned), math.sin(turned)
    ahead, side = drive_force(1e5, c, s, flow.real, flow.imag, 0.1, 300.0)
    assert complex(ahead, side) == pytest.approx(force * complex(c, s))
    for apart in (0.08, 0.7, 1.5, 1.7, 3.0, -0.08, -1.7):
        to = turned + apart
        expected = math.copysign(0.25, apart) if abs(apart) > 0.5 else math.sin(apart)
        assert slew_rate(c, s, math.cos(to), math.sin(to), 0.25, 1.0) == pytest.approx(expected)


def slew_through(degrees: float, rate: float, pace: float) -> tuple[float, float]:
    """Time to come within half a degree of the order, and the signed angle gone through, both by integration."""
    aim = math.radians(degrees)

    def rates(_t: float, y: np.ndarray) -> list[float]:
        return [slew_rate(math.cos(y[0]), math.sin(y[0]), math.cos(aim), math.sin(aim), rate, pace)]

    def there(_t: float, y: np.ndarray) -> float:
        return 1.0 - math.cos(y[0] - aim) - (1.0 - math.cos(math.radians(0.5)))

    there.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(rates, (0.0, 60.0), [0.0], events=there, max_step=0.05, rtol=1e-8)
    return float(run.t[-1]), math.degrees(float(run.y[0, -1]))


def test_half_a_turn_at_fifteen_degrees_a_second_takes_twelve_seconds() -> None:
    # ramp at 15 degrees a second throughout while the settling time is small; half a degree is 0.03 s of it
    rate = math.radians(15.0)
    time, _ = slew_through(180.0, rate, 100.0)
    assert time == pytest.approx(12.0, abs=0.06)
    # with 1 s the last 15 degrees settle exponentially: at most ln(15/0.5) s instead of 1 s
    assert 12.0 < slew_through(180.0, rate, 1.0)[0] < 12.0 + math.log(30.0)


@pytest.mark.parametrize(("order", "gone"), [(170.0, 170.0), (190.0, -170.0), (-90.0, -90.0), (350.0, -10.0)])
def test_a_drive_turns_the_shorter_way(order: float, gone: float) -> None:
    time, angle = slew_through(order, math.radians(15.0), 100.0)
    assert angle == pytest.approx(gone, abs=0.6)
    assert time == pytest.approx(abs(gone) / 15.0, abs=0.06)


def test_spool_is_rate_limited_and_settles() -> None:
    assert spool_rate(0.0, 150e3, 20e3, 1.0) == 20e3
    assert spool_rate(150e3, 0.0, 20e3, 1.0) == -20e3
    assert spool_rate(145e3, 150e3, 20e3, 1.0) == pytest.approx(5e3)
    run = solve_ivp(lambda _t, y: [spool_rate(y[0], 150e3, 18.75e3, 2.0)], (0.0, 12.0), [0.0], max_step=0.02)
    full = run.t[np.argmax(run.y[0] > 0.99 * 150e3)]
    # 8 s from idle to full at the ramp; the last 18.75e3 * 0.5 N settle with 0.5 s instead
    assert full == pytest.approx((150e3 - 9375.0) / 18.75e3 + 0.5 * math.log(9375.0 / 1500.0), abs=0.05)
    assert np.max(run.y[0]) < 150e3
