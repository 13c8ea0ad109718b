"""The linear criterion of course stability with the numbers of the equations of motion."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.layout import PARAMETER_ROW
from toolkit.particulars.course_stability import TowedBarge, course_stability

__all__ = ["linear_growth_rate"]

Array = NDArray[np.float64]


def linear_growth_rate(parameters: Array, speed: Array) -> Array:
    """Greatest growth rate of small sheers of the barge in tow by the linear criterion.

    Parameters
    ----------
    parameters : ndarray, shape (rows of parameters, n)
        Towed from the end worked, on her line or bridle.
    speed : ndarray, shape (n,)
        Of the tow through the water [m/s].

    Returns
    -------
    ndarray, shape (n,)
        [1/s].

    Notes
    -----
    `toolkit.particulars.course_stability.course_stability` with the
    coefficients and masses of the equations of motion themselves, seen from
    the end worked: towed by the stern, her skegs lead. The tension is her
    resistance at this speed; wash and wind are left out.
    """
    row = {name: parameters[i] for i, name in enumerate(PARAMETER_ROW._fields)}
    fin, place = row["barge_skeg"], row["end"] * row["barge_skeg_x"]
    added = row["barge_sway_mass"] - row["barge_surge_mass"]
    barge = TowedBarge(
        speed=speed,
        length=2.0 * row["barge_half_length"],
        mass=row["barge_surge_mass"],
        yaw_inertia=row["barge_yaw_inertia"],
        sway_added_mass=added,
        yaw_added_inertia=np.zeros(speed.shape),
        sway_yaw_added=np.zeros(speed.shape),
        yaw_sway_added=np.zeros(speed.shape),
        yv=speed * (row["barge_sway_by_sway"] - fin),
        yr=speed * (row["barge_sway_by_yaw"] - fin * place),
        nv=speed * (row["barge_yaw_by_sway"] - fin * place - added),
        nr=speed * (row["barge_yaw_by_yaw"] - fin * place**2),
    )
    tip = np.sqrt(np.maximum(row["bridle_leg"] ** 2 - row["bridle_half_spread"] ** 2, 0.0))
    found = course_stability(
        barge,
        line_length=row["line_length"],
        tension=speed * (row["barge_surge_linear"] + row["barge_surge_quadratic"] * speed),
        towing_point=row["end"] * row["barge_towing_x"] + tip,
    )
    return np.asarray(found.growth_rate)
