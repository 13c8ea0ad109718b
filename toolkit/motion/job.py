"""A job: manoeuvres and shifts of the tug one after the other, as one case."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.layout import MEMORY_ROW
from toolkit.motion.legs import LegRun, run_legs
from toolkit.motion.prepare import Columns
from toolkit.motion.setting import Setting
from toolkit.quantities import DERIVED, OUTCOMES, Outcome

__all__ = ["CRITERIA", "RULES", "evaluate_job", "evaluate_legs", "gather", "whole_job"]

Outcomes = dict[str, NDArray[Any]]
Array = NDArray[np.float64]

CRITERIA = {"peak_heel_fraction": 0.67, "tension_over_mbl": 0.5, "tension_over_swl": 1.0}
"""Outcomes by which a leg governs, each with the value it is counted against: the default limits of a study."""

SUMMED = ("end_time", "time_above_heel_caution", "drive_energy", "shifts")
LEAST = ("room_to_edge", "clearance_to_edge", "overrun_margin", "standby_holds")
LAST = (
    "time_to_turn", "time_to_steady", "residual_speed", "residual_swing_rate", "heading_at_end", "tow_speed",
    "time_to_tow_speed", "distance_to_tow_speed", "stopping_time", "stopping_distance", "time_to_berth",
    "contact_angle", "drift_along_berth", "recovered",
)  # fmt: skip
MEANS = (
    "mean_tension", "share_of_time_slack", "held_share", "mean_power_held", "saturated_share",
    "share_beyond_drag_speed",
)  # fmt: skip
FIRST = ("failed_at", "released_at", "time_to_contact")

INSTANTS = ("time_to_turn", "time_to_steady", "time_to_berth", "failed_at", "released_at")
"""Outcomes that are a time on the clock; `stopping_time` and `time_to_tow_speed` are how long it took, as the distances
beside them are how far."""

WEIGHTS = {
    "mean_tension": MEMORY_ROW.tension_time,
    "share_of_time_slack": MEMORY_ROW.tension_time,
    "saturated_share": MEMORY_ROW.looks,
}
"""What a mean over a leg was taken over, where it was not all of its time."""

RULES: dict[str, str] = {
    **dict.fromkeys(OUTCOMES, "largest"),
    **dict.fromkeys(SUMMED, "sum"),
    **dict.fromkeys(LEAST, "least"),
    **dict.fromkeys(LAST, "last"),
    **dict.fromkeys(MEANS, "mean"),
    **dict.fromkeys(FIRST, "first"),
}
"""How an outcome of a job comes from those of its legs, by name; of the legs to which it applies.

``sum`` and ``largest`` and ``least`` as they say; ``last`` and ``first`` that of the last or first leg; ``mean`` over
what the means of the legs were taken over (:data:`WEIGHTS`), else by the time that each leg took. Times of
:data:`INSTANTS` are on the clock of the job. Distances from the start (drift, swept circles) count from the start of
the job in every leg.
"""


def evaluate_legs(columns: Columns, setting: Setting) -> Outcomes:
    """Outcomes of every leg of a table of jobs.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n,)
        Every input of the register, as for `toolkit.motion.engine.evaluate_columns`.
    setting : Setting
        Edges of the basin, and the legs.

    Returns
    -------
    dict of str to ndarray, shape (legs, n)
        Every outcome and derived coordinate, on the leg's own clock, and
        ``leg_start``, the time of the job at which it began [s], and for each of
        :data:`WEIGHTS` ``weight_of_`` and its name. For a leg
        that a case did not come to, ``outcome`` is `Outcome.not_run`,
        ``range_flags`` 0 and everything else NaN.
    """
    return gather(run_legs(columns, setting), len(setting.legs), len(next(iter(columns.values()))))


def gather(runs: Iterable[LegRun], legs: int, size: int) -> Outcomes:
    """Outcomes of the legs of a table of so many cases, in the form that :func:`evaluate_legs` returns."""
    shape = (legs, size)
    found: Outcomes = {
        name: np.full(shape, np.nan)
        for name in ("leg_start", *(f"weight_of_{name}" for name in WEIGHTS), *OUTCOMES, *DERIVED)
    }
    for name in ("outcome", "range_flags"):
        found[name] = np.zeros(shape, dtype=np.int64)
    for leg in runs:
        for name, values in leg.outcomes.items():
            found[name][leg.number - 1, leg.cases] = values
        found["leg_start"][leg.number - 1, leg.cases] = leg.clock
        for name, row in WEIGHTS.items():
            found[f"weight_of_{name}"][leg.number - 1, leg.cases] = leg.memories[row]
    return found


def evaluate_job(columns: Columns, setting: Setting) -> Outcomes:
    """Outcomes of a table of jobs, each as a whole; parameters as for :func:`evaluate_legs`.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        Every outcome and derived coordinate, as `toolkit.motion.engine.evaluate_columns`
        gives them for single manoeuvres; see :data:`RULES`. ``outcome`` is that
        of the first leg that was not completed, else `Outcome.completed`.
    """
    return whole_job(evaluate_legs(columns, setting))


def whole_job(legs: Outcomes) -> Outcomes:
    """One set of outcomes from those of the legs, as :func:`evaluate_legs` gives them."""
    code = legs["outcome"]
    completed = code == int(Outcome.completed)
    count = completed.sum(axis=0)
    failing = np.argmax(~completed, axis=0)
    result: Outcomes = {name: legs[name][0] for name in DERIVED}
    for name in OUTCOMES:
        if name not in ("outcome", "range_flags"):
            values = legs[name] + legs["leg_start"] if name in INSTANTS else legs[name]
            result[name] = _together(RULES[name], values, legs.get(f"weight_of_{name}", legs["end_time"]))
    share = _over_criteria(legs)
    governed = ~np.isnan(share).all(axis=0)
    result |= {
        "outcome": np.where(completed.all(axis=0), int(Outcome.completed), code[failing, np.arange(code.shape[1])]),
        "range_flags": np.bitwise_or.reduce(legs["range_flags"], axis=0),
        "legs_completed": count.astype(np.float64),
        "governing_leg": np.where(governed, np.argmax(np.where(np.isnan(share), -np.inf, share), axis=0) + 1.0, np.nan),
        "governing_share": _together("largest", share, share),
    }
    failed = np.isfinite(result["recovered"])
    result["recovered"] = np.where(failed, completed.all(axis=0), np.nan)
    return result


def _over_criteria(legs: Outcomes) -> Array:
    """Worst of the criteria over what each is counted against, by leg; NaN where none applies."""
    parts = np.stack([legs[name] / limit for name, limit in CRITERIA.items()])
    worst = np.max(np.where(np.isnan(parts), -np.inf, parts), axis=0)
    return np.where(np.isneginf(worst), np.nan, worst)


def _together(rule: str, values: Array, weights: Array) -> Array:
    """One value from those of the legs (axis 0) to which it applies; NaN where it applies to none."""
    applies = ~np.isnan(values)
    none = ~applies.any(axis=0)
    if rule == "sum":
        found = np.sum(np.where(applies, values, 0.0), axis=0)
    elif rule == "largest":
        found = np.max(np.where(applies, values, -np.inf), axis=0)
    elif rule == "least":
        found = np.min(np.where(applies, values, np.inf), axis=0)
    elif rule == "first":
        found = values[np.argmax(applies, axis=0), np.arange(values.shape[1])]
    else:
        found = values[len(values) - 1 - np.argmax(applies[::-1], axis=0), np.arange(values.shape[1])]
    if rule == "mean":
        weight = np.where(applies, weights, 0.0)
        total = np.sum(weight, axis=0)
        mean = np.sum(np.where(applies, values, 0.0) * weight, axis=0) / np.where(total > 0.0, total, 1.0)
        found = np.where(applies.sum(axis=0) > 1, mean, found)
    return np.where(none, np.nan, found)
