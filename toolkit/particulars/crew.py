"""Habits of a crew: named settings, rate limits by displacement, and their scatter from draw to draw."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolkit.particulars.common import Array, Numbers, as_array, given_or
from toolkit.particulars.draws import uniform_draws

__all__ = ["CREWS", "Crew", "Habits", "crew_from_habits", "rate_limit_for"]

CREW_STREAM = 2
"""Stream of the crew's scatter, see `toolkit.particulars.draws`."""
TIME_RASTER = 0.5
"""Raster on which a crew looks [s]."""
RATE_BANDS = ((1e6, math.radians(1.0)), (4e6, math.radians(0.75)), (math.inf, math.radians(0.5)))
"""Displacement up to which [kg], and the rate of swing [rad/s] that an ordinary crew aims not to exceed: 60, 45 and
30 degrees a minute; judgement, spread 0.7 to 1.5 times."""


@dataclass(frozen=True, kw_only=True)
class Habits:
    """A crew's habits; judgement throughout, no source.

    Attributes
    ----------
    order_interval, order_delay, recognition_time : float
        [s].
    power_step : float
        Over a drive's full thrust [1].
    rate_share : float
        Over the rate limit by displacement [1].
    easing_angle : float
        [rad].
    """

    order_interval: float
    order_delay: float
    recognition_time: float
    power_step: float
    rate_share: float
    easing_angle: float


CREWS: dict[str, Habits] = {
    "ordinary": Habits(order_interval=2.0, order_delay=1.0, recognition_time=4.0, power_step=0.01, rate_share=1.0,
                       easing_angle=math.radians(40.0)),
    "careful": Habits(order_interval=2.0, order_delay=1.0, recognition_time=3.0, power_step=0.01, rate_share=0.7,
                      easing_angle=math.radians(60.0)),
    "hasty": Habits(order_interval=3.0, order_delay=2.0, recognition_time=6.0, power_step=0.1, rate_share=1.5,
                    easing_angle=math.radians(25.0)),
}  # fmt: skip
"""By the words of the input `crew`, in the order of their codes."""


@dataclass(frozen=True, kw_only=True)
class Crew:
    """What a crew does, case by case: SI and radians, every field of shape (n,); fields as in `Habits`."""

    order_interval: Array
    order_delay: Array
    recognition_time: Array
    power_step: Array
    swing_rate_limit: Array
    easing_angle: Array


def rate_limit_for(displacement: Numbers) -> Array:
    """Rate of swing [rad/s] that an ordinary crew aims not to exceed with a barge of a displacement [kg]."""
    mass = as_array(displacement)
    limits = [np.asarray(rate) for _, rate in RATE_BANDS]
    return np.asarray(np.select([mass <= bound for bound, _ in RATE_BANDS], limits))


def crew_from_habits(
    *,
    crew_code: NDArray[np.int64],
    displacement: Array,
    order_interval: Array,
    order_delay: Array,
    recognition_time: Array,
    power_step: Array,
    swing_rate_limit: Array,
    easing_angle: Array,
    scatter: Array,
    seed: Array,
    draw: Array,
) -> Crew:
    """Settle what a crew does, from its name, from what is given, and from the draw.

    Parameters
    ----------
    crew_code : ndarray of int, shape (n,)
        Place of the crew in `CREWS`.
    displacement : ndarray, shape (n,)
        Of the barge as loaded [kg].
    order_interval, order_delay, recognition_time : ndarray, shape (n,)
        [s]; NaN takes them from the crew.
    power_step : ndarray, shape (n,)
        [1], NaN likewise.
    swing_rate_limit, easing_angle : ndarray, shape (n,)
        [rad/s, rad], NaN likewise, the rate by displacement.
    scatter : ndarray, shape (n,)
        Coefficient of variation of the three times [1].
    seed, draw : ndarray, shape (n,)
        Of the draws.

    Returns
    -------
    Crew

    Notes
    -----
    Times scatter lognormally about the given value as their median. The
    interval is brought to whole half seconds, and the delay is never longer.
    """

    def habit(name: str) -> Array:
        return np.array([getattr(habits, name) for habits in CREWS.values()])[crew_code]

    times = [
        given_or(given, habit(name))
        for name, given in (
            ("order_interval", order_interval), ("order_delay", order_delay), ("recognition_time", recognition_time),
        )
    ]  # fmt: skip
    scattered = np.asarray(scatter > 0.0)
    if scattered.any():
        from scipy.special import ndtri

        deviation = np.sqrt(np.log1p(scatter**2))
        uniform = uniform_draws(
            np.floor(seed).astype(np.int64), np.floor(draw).astype(np.int64), stream=CREW_STREAM, count=len(times)
        )
        normals = ndtri(np.clip(uniform, 1e-9, 1.0 - 1e-9)).T
        times = [time * np.exp(deviation * normal) for time, normal in zip(times, normals, strict=True)]
        whole = np.maximum(np.round(times[0] / TIME_RASTER), 1.0) * TIME_RASTER
        times[0] = np.where(scattered, whole, times[0])
        times[1] = np.where(scattered, np.minimum(times[1], times[0]), times[1])
    return Crew(
        order_interval=times[0],
        order_delay=times[1],
        recognition_time=times[2],
        power_step=given_or(power_step, habit("power_step")),
        swing_rate_limit=given_or(swing_rate_limit, habit("rate_share") * rate_limit_for(displacement)),
        easing_angle=given_or(easing_angle, habit("easing_angle")),
    )
