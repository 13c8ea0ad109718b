"""How a barge left to herself will carry her way: what a master foresees before he shifts."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import outlined
from toolkit.motion.hulls import water_on_barge, wind_on_barge
from toolkit.motion.layout import STATE, P
from toolkit.motion.rigid import planar_accelerations

__all__ = ["coasted"]

STRIDES = 10
"""Strides of the foresight; judgement: a master sees trends, not wiggles."""


@outlined
def coasted(s: NDArray[np.float64], p: NDArray[np.float64], k: int, time: float) -> tuple[float, float, float]:
    """Angle left to turn and rate of swing after a time without line or push.

    Parameters
    ----------
    s, p : ndarray, shape (rows * lanes,)
        State and parameters.
    k : int
        Lane.
    time : float
        [s].

    Returns
    -------
    left : float
        Angle left to the target [rad].
    rate : float
        Rate of turn the ordered way [rad/s].
    leaning : float
        Moment the ordered way, at the start, by which wind and her own drift
        turn her [N m].

    Notes
    -----
    The barge's own equations of motion under water and wind, in `STRIDES` even
    strides, each velocity taken from the start of its stride and each angle
    from its end.
    """
    cosine, sine = s[STATE.barge_cosine + k], s[STATE.barge_sine + k]
    surge, sway, yaw = s[STATE.barge_surge + k], s[STATE.barge_sway + k], s[STATE.barge_yaw + k]
    turned = 0.0
    leaning = -p[P.barge_coupling + k] * (p[P.barge_sway_mass + k] - p[P.barge_surge_mass + k]) * surge * sway
    first = 1.0
    stride = time / STRIDES
    for _ in range(STRIDES):
        air_north = p[P.wind_north + k] - p[P.current_north + k] - (cosine * surge - sine * sway)
        air_east = p[P.wind_east + k] - p[P.current_east + k] - (sine * surge + cosine * sway)
        wind_ahead, wind_side, wind_moment = wind_on_barge(p, k, cosine, sine, air_north, air_east)
        leaning += first * wind_moment
        first = 0.0
        ahead, side, moment = water_on_barge(p, k, surge, sway, yaw)
        surge_rate, sway_rate, yaw_rate = planar_accelerations(
            surge, sway, yaw, p[P.barge_surge_mass + k], p[P.barge_sway_mass + k], p[P.barge_yaw_inertia + k],
            p[P.barge_coupling + k], ahead + wind_ahead, side + wind_side, moment + wind_moment,
        )  # fmt: skip
        surge += stride * surge_rate
        sway += stride * sway_rate
        yaw += stride * yaw_rate
        angle = stride * yaw
        turned += p[P.turn + k] * angle
        cosine, sine = cosine - angle * sine, sine + angle * cosine
        scale = 1.0 / sqrt(cosine * cosine + sine * sine)
        cosine *= scale
        sine *= scale
    return p[P.target + k] - s[STATE.turned + k] - turned, p[P.turn + k] * yaw, p[P.turn + k] * leaning
