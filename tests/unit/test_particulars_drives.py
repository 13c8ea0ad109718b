"""Power, wash and rates of azimuth drives."""

from __future__ import annotations

import numpy as np
import pytest

from toolkit.particulars import (
    THRUST_SPEED_LOSS,
    ducted_power,
    ducted_thrust,
    ram_coefficient,
    slew_rate,
    spool_rate,
    tandem_thrust_ratio,
    tandem_thrust_ratio_off_axis,
)


def test_ducted_disc() -> None:
    # momentum theory, D 2.6 m, 1920 kW: ideal 431.33 kN; efficiency 0.75 on power 356.05 kN
    assert ducted_thrust(1.92e6, 2.6, 1025.0, 1.0) == pytest.approx(431.33e3, rel=1e-5)
    assert ducted_thrust(1.92e6, 2.6) == pytest.approx(356.05e3, rel=2e-5)


def test_power_is_the_inverse_and_even() -> None:
    thrust = np.array([0.0, 1e3, 2e5, -2e5])
    power = ducted_power(thrust, 2.0)
    np.testing.assert_allclose(ducted_thrust(power, 2.0), np.abs(thrust), rtol=1e-12)
    assert power[2] == power[3]
    assert power[0] == 0.0
    assert ducted_power(2e5, 2.0) == power[2]


def test_pull_for_power_against_the_trade() -> None:
    # azimuth drives in nozzles give about 1.2 to 1.35 t per 100 bhp (common practice, from memory, not verified);
    # the disc at efficiency 0.75 is a clean new drive, 10 percent better
    horsepower = ducted_power(35 * 9806.65, 2.6) / 745.7
    assert 1.2 < 35 / (horsepower / 100) < 1.5


def test_wash_of_a_drive_into_the_other() -> None:
    # Dang and Laheij 2004, from memory, not verified: arithmetic of the formula as written
    spacing = np.array([2.0, 3.0, 4.0, 6.0, 8.0])
    np.testing.assert_allclose(tandem_thrust_ratio(spacing), [0.2983, 0.3713, 0.4301, 0.5214, 0.5904], atol=5e-5)
    assert tandem_thrust_ratio(3.0) == tandem_thrust_ratio(spacing)[1]


def test_wash_off_the_axis() -> None:
    on_axis = tandem_thrust_ratio(3.0)
    assert tandem_thrust_ratio_off_axis(on_axis, np.radians(15.0)) == pytest.approx(0.7301, abs=5e-5)
    assert tandem_thrust_ratio_off_axis(on_axis, 0.0) == on_axis
    angles = np.radians(np.linspace(0, 180, 50))
    ratio = tandem_thrust_ratio_off_axis(on_axis, angles)
    assert np.all(np.diff(ratio) > 0)
    np.testing.assert_array_equal(ratio, tandem_thrust_ratio_off_axis(on_axis, -angles))
    assert ratio[-1] == pytest.approx(1.0, abs=1e-3)


def test_ram_force() -> None:
    # momentum theory, D 2.6 m at 300 kN: 40.4 t/s, so 40.4 kN per m/s of cross-flow
    assert ram_coefficient(2.6) * np.sqrt(300e3) == pytest.approx(40.4e3, rel=1e-3)


def test_rates() -> None:
    assert np.degrees(slew_rate(12.0)) == pytest.approx(15.0)  # half a turn at 15 degrees a second takes 12 s
    np.testing.assert_allclose(spool_rate(np.array([8.0, 4.0])), [0.125, 0.25])
    assert THRUST_SPEED_LOSS.low < THRUST_SPEED_LOSS.value < THRUST_SPEED_LOSS.high
