"""Small branch-free scalar functions that the loads share.

They replace trigonometry in the hot path, where a call to the mathematics
library would keep the compiler from working on many cases at once.
"""

from __future__ import annotations

from math import sqrt

from toolkit.kernels import kernel

__all__ = ["arc_sine", "clip", "cosine_of_heel", "sine_of_heel", "smooth_step"]

HALF_PI = 1.5707963267948966


@kernel
def clip(value: float, low: float, high: float) -> float:
    """Value held within ``[low, high]``."""
    above = value if value > low else low
    return above if above < high else high


@kernel
def smooth_step(value: float) -> float:
    """Cubic step from 0 at ``value <= 0`` to 1 at ``value >= 1``, with flat ends."""
    x = clip(value, 0.0, 1.0)
    return x * x * (3.0 - 2.0 * x)


@kernel
def arc_sine(sine: float) -> float:
    """Angle [rad] in -pi/2..pi/2 of a sine, without trigonometry.

    Abramowitz and Stegun (1964), eq. 4.4.46; absolute error below 2e-8, and
    below 3e-8 here because the argument is first held within -1..1.
    """
    x = clip(abs(sine), 0.0, 1.0)
    series = 0.0066700901 + x * -0.0012624911
    series = -0.0170881256 + x * series
    series = 0.0308918810 + x * series
    series = -0.0501743046 + x * series
    series = 0.0889789874 + x * series
    series = -0.2145988016 + x * series
    series = 1.5707963050 + x * series
    angle = HALF_PI - sqrt(1.0 - x) * series
    return angle if sine >= 0.0 else -angle


@kernel
def sine_of_heel(angle: float) -> float:
    """Sine of a heel angle [rad] by its series to the thirteenth power.

    Absolute error below 1e-14 up to 0.5 rad and below 2e-10 at 80 degrees.
    """
    square = angle * angle
    series = 1.0 - square * (1.0 / 156.0)
    series = 1.0 - square * (1.0 / 110.0) * series
    series = 1.0 - square * (1.0 / 72.0) * series
    series = 1.0 - square * (1.0 / 42.0) * series
    series = 1.0 - square * (1.0 / 20.0) * series
    return angle * (1.0 - square * (1.0 / 6.0) * series)


@kernel
def cosine_of_heel(angle: float) -> float:
    """Cosine of a heel angle [rad] by its series to the twelfth power.

    Absolute error below 1e-13 up to 0.5 rad and below 2e-9 at 80 degrees.
    """
    square = angle * angle
    series = 1.0 - square * (1.0 / 132.0)
    series = 1.0 - square * (1.0 / 90.0) * series
    series = 1.0 - square * (1.0 / 56.0) * series
    series = 1.0 - square * (1.0 / 30.0) * series
    series = 1.0 - square * (1.0 / 12.0) * series
    return 1.0 - 0.5 * square * series
