"""The time step of a case, from the stiffest thing in it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.log import TICK

__all__ = ["ANGLE_PER_STEP", "CHOICES", "RATE_PER_STEP", "STEP_RULE", "steps_per_tick"]

Array = NDArray[np.float64]

CHOICES = (5, 6, 7, 8, 9, 10, 11, 12, 14, 16, 18, 20, 24, 28, 32, 40, 56, 80)
"""Steps a tick that a case may have; the longest step is 0.1 s."""
ANGLE_PER_STEP = 0.25
"""Largest phase angle of the stiffest oscillation in a step [rad]."""
RATE_PER_STEP = 2.0
"""Largest step over the shortest time of decay; the method is stable to 2.78."""
STEP_RULE = (
    f"classical Runge-Kutta, fixed step a case: {TICK:g} s over the least of {', '.join(map(str, CHOICES))} "
    f"with at most {ANGLE_PER_STEP:g} rad of the stiffest oscillation and {RATE_PER_STEP:g} of the fastest decay a "
    "step; so many steps times step_refinement"
)
"""The rule in one line, for provenance."""


def steps_per_tick(rows: Mapping[str, Array], refinement: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Steps a tick for each case.

    Parameters
    ----------
    rows : mapping of str to ndarray
        Parameters by name, all but this one.
    refinement : ndarray
        Steps over those of the rule, as the input `step_refinement`.

    Returns
    -------
    steps : ndarray, shape (n,)
        One of `CHOICES`, the largest where even that is too few, times the refinement and rounded up.
    coarse : ndarray of bool, shape (n,)
        Where it is too few.

    Notes
    -----
    A spring between two hulls sees the sum of their mobilities at its ends
    (translation, yaw, and roll of the tug). The rule looks at line and fender,
    at the damping of both, and at fender friction near sticking.
    """
    line = rows["line_stiffness"]
    tug = 1.0 / np.minimum(rows["tug_surge_mass"], rows["tug_sway_mass"])
    barge = 1.0 / rows["barge_surge_mass"]
    mobility = (
        tug
        + rows["tug_towing_x"] ** 2 / rows["tug_yaw_inertia"]
        + rows["tug_towing_height"] ** 2 / rows["tug_roll_inertia"]
        + barge
        + rows["barge_half_length"] ** 2 / rows["barge_yaw_inertia"]
    )
    reach = np.maximum(np.abs(rows["fender_first_x"]), np.abs(rows["fender_first_y"]))
    touch = (
        tug
        + reach**2 / rows["tug_yaw_inertia"]
        + rows["fender_height"] ** 2 / rows["tug_roll_inertia"]
        + barge
        + rows["barge_half_length"] ** 2 / rows["barge_yaw_inertia"]
    )
    fender = 2.0 * rows["fender_stiffness"]
    squeeze = np.where(fender > 0.0, 2.0 * rows["unit_thrust"] * rows["power_setting"], 0.0)
    roll = rows["tug_weight"] * rows["metacentric_height"] / rows["tug_roll_inertia"]
    angular = np.sqrt(np.maximum.reduce(np.broadcast_arrays(line * mobility, fender * touch, roll)))
    decay = np.maximum.reduce(
        np.broadcast_arrays(
            line * rows["line_loss_time"] * mobility,
            fender * rows["fender_loss_time"] * touch,
            rows["fender_friction"] * squeeze / rows["fender_creep"] * touch,
            rows["spool_pace"],
            rows["slew_pace"],
        )
    )
    wanted = TICK * np.maximum(angular / ANGLE_PER_STEP, decay / RATE_PER_STEP)
    choices = np.asarray(CHOICES, dtype=np.float64)
    picked = np.minimum(np.searchsorted(choices, wanted), len(choices) - 1)
    steps = np.ceil(refinement * choices[picked])
    return steps, np.asarray(wanted > steps)
