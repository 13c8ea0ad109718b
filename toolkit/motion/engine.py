"""From a table of cases to their outcomes."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import COMPILED_PARTS, compiled, source_hash
from toolkit.motion.batch import NEVER, run_batch
from toolkit.motion.layout import MEMORY_ROW, PARAMETER_ROW, STATE_ROW
from toolkit.motion.prepare import Columns, Prepared, prepare
from toolkit.motion.stepping import STEP_RULE
from toolkit.particulars import line_stiffness
from toolkit.quantities import OUTCOMES, Outcome, RangeFlag

__all__ = ["evaluate_columns", "model_hash", "outcomes_of", "run_prepared", "step_rule"]

Array = NDArray[np.float64]
Outcomes = dict[str, NDArray[Any]]
MODEL_PARTS = (*COMPILED_PARTS, "particulars")
"""What decides results, below the package."""
FAST_SHARE = 0.05
"""Share of time beyond the drag data from which a case is marked; judgement."""


def step_rule() -> str:
    """Scheme and step, in one line."""
    return STEP_RULE


@cache
def model_hash() -> str:
    """Hash of the sources that decide results: 16 hexadecimal digits."""
    return source_hash(MODEL_PARTS)


def run_prepared(prepared: Prepared, history: Array | None = None) -> tuple[Array, Array]:
    """Run prepared cases to their ends.

    Parameters
    ----------
    prepared : Prepared
    history : ndarray, shape (CHANNELS, entries), optional
        Receives the history of the first case.

    Returns
    -------
    memories : ndarray, shape (rows of memory, n)
    finals : ndarray, shape (rows of state, n)
        Both untouched, zero, for cases aground, which are not run.
    """
    parameters, initial = prepared.parameters, prepared.initial
    size = parameters.shape[1]
    memories, finals = np.zeros((len(MEMORY_ROW), size)), np.zeros((len(STATE_ROW), size))
    batch = compiled(run_batch)
    steps = parameters[PARAMETER_ROW.steps_per_tick]
    record = history if history is not None else np.zeros((0, 0))
    for count in np.unique(steps[~prepared.aground]):
        picked = np.flatnonzero((steps == count) & ~prepared.aground)
        some_memories, some_finals = np.zeros((len(MEMORY_ROW), len(picked))), np.zeros((len(STATE_ROW), len(picked)))
        batch(
            np.ascontiguousarray(initial[:, picked]), np.ascontiguousarray(parameters[:, picked]), int(count),
            some_memories, some_finals, record,
        )  # fmt: skip
        memories[:, picked], finals[:, picked] = some_memories, some_finals
    return memories, finals


def evaluate_columns(columns: Columns) -> Outcomes:
    """Outcomes of a table of cases.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n,)
        Every input of the register by name: SI, angles in degrees, choices by
        code, NaN for what is to be derived.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        Every outcome and derived coordinate of the register, in its dataset
        unit; NaN where it does not apply. ``outcome`` and ``range_flags`` are
        integers.

    Notes
    -----
    What a case comes to depends on its own column alone, to the last bit.
    """
    prepared = prepare(columns)
    memories, finals = run_prepared(prepared)
    return outcomes_of(columns, prepared, memories, finals)


def _where(condition: NDArray[np.bool_], values: Array) -> Array:
    return np.where(condition, values, math.nan)


def outcomes_of(columns: Columns, prepared: Prepared, memories: Array, finals: Array) -> Outcomes:
    """Read the outcomes off the logs of cases that were run; shapes as in :func:`evaluate_columns`."""
    m, p = memories, prepared.parameters
    ran = ~prepared.aground
    pulling = ran & (p[PARAMETER_ROW.pushing] == 0.0)
    outcome = np.where(prepared.aground, int(Outcome.aground), m[MEMORY_ROW.outcome].astype(np.int64))
    sound = ran & (outcome != int(Outcome.not_converged))
    pulling &= sound
    turned = sound & (m[MEMORY_ROW.time_to_turn] >= 0.0)
    time = np.where(ran, m[MEMORY_ROW.time], 1.0)
    steady = outcome == int(Outcome.completed)
    heel = np.maximum(m[MEMORY_ROW.heel_starboard], m[MEMORY_ROW.heel_port])
    fast = np.where(ran, m[MEMORY_ROW.fast_time] / time, 0.0)
    flags = prepared.range_flags | np.where(fast > FAST_SHARE, int(RangeFlag.drag_speed), 0)
    loaded = sound & (m[MEMORY_ROW.heel_toward] > NEVER)
    weighed = pulling & (m[MEMORY_ROW.tension_time] > 0.0)
    tension_time = np.where(weighed, m[MEMORY_ROW.tension_time], 1.0)
    looks = sound & (m[MEMORY_ROW.looks] > 0.0)
    peak = m[MEMORY_ROW.peak_tension]
    stiffness = line_stiffness(
        prepared.line_mbl, np.asarray(columns["line_material"]).astype(np.int64), p[PARAMETER_ROW.line_length]
    )
    radius = np.asarray(columns["basin_radius"], dtype=np.float64)
    swept_all = np.sqrt(m[MEMORY_ROW.swept_all_square])
    degrees = np.rad2deg
    cosine, sine = finals[STATE_ROW.barge_cosine], finals[STATE_ROW.barge_sine]
    surge, sway = finals[STATE_ROW.barge_surge], finals[STATE_ROW.barge_sway]
    residual_speed = np.hypot(
        cosine * surge - sine * sway + p[PARAMETER_ROW.current_north],
        sine * surge + cosine * sway + p[PARAMETER_ROW.current_east],
    )
    result: Outcomes = {
        "outcome": outcome,
        "end_time": _where(sound, m[MEMORY_ROW.time]),
        "time_to_turn": _where(turned, m[MEMORY_ROW.time_to_turn]),
        "time_to_steady": _where(sound & steady, m[MEMORY_ROW.time_to_steady]),
        "overshoot": _where(
            turned | steady, degrees(np.maximum(m[MEMORY_ROW.most_turned] - p[PARAMETER_ROW.target], 0.0))
        ),
        "residual_speed": _where(sound, residual_speed),
        "residual_swing_rate": _where(sound, degrees(p[PARAMETER_ROW.turn] * finals[STATE_ROW.barge_yaw])),
        "peak_swing_rate": _where(sound, degrees(m[MEMORY_ROW.peak_rate])),
        "peak_heel": _where(sound, degrees(heel)),
        "peak_heel_toward": _where(loaded, degrees(np.maximum(m[MEMORY_ROW.heel_toward], 0.0))),
        "peak_heel_away": _where(loaded, degrees(np.maximum(m[MEMORY_ROW.heel_away], 0.0))),
        "peak_heel_fraction": _where(sound, heel / p[PARAMETER_ROW.deck_edge_angle]),
        "time_above_heel_caution": _where(sound, m[MEMORY_ROW.heel_caution_time]),
        "peak_tension": _where(pulling, peak),
        "peak_tension_3s": _where(pulling, m[MEMORY_ROW.peak_window]),
        "mean_tension": _where(weighed, m[MEMORY_ROW.tension_sum] * 0.5 / tension_time),
        "tension_over_mbl": _where(pulling, peak / prepared.line_mbl),
        "tension_over_swl": _where(pulling, m[MEMORY_ROW.peak_window] / prepared.barge.fitting_swl),
        "peak_line_energy": _where(pulling, 0.5 * peak**2 / stiffness),
        "share_of_time_slack": _where(weighed, m[MEMORY_ROW.slack_time] / tension_time),
        "poorest_line_lead": _where(pulling, degrees(m[MEMORY_ROW.poorest_lead])),
        "peak_lead_off_axis": _where(pulling, degrees(m[MEMORY_ROW.off_axis])),
        "peak_contact_force": _where(sound & ~pulling, m[MEMORY_ROW.peak_contact]),
        "drift_distance": _where(sound, np.sqrt(m[MEMORY_ROW.drift_square])),
        "swept_radius_barge": _where(sound, np.sqrt(m[MEMORY_ROW.swept_barge_square])),
        "swept_radius_all": _where(sound, swept_all),
        "room_to_edge": _where(sound, radius - np.sqrt(m[MEMORY_ROW.centre_square])),
        "saturated_share": _where(looks, m[MEMORY_ROW.saturated] / np.where(looks, m[MEMORY_ROW.looks], 1.0)),
        "drive_energy": _where(sound, finals[STATE_ROW.drive_energy]),
        "shifts": _where(sound, m[MEMORY_ROW.shifts]),
        "share_beyond_drag_speed": _where(sound, fast),
        "range_flags": flags,
        "depth_ratio": prepared.depth_ratio,
        "displacement_as_loaded": np.asarray(prepared.barge.displacement),
        "static_wind_demand": prepared.static_wind_demand,
    }
    missing = OUTCOMES.keys() - result.keys()
    if missing:
        raise AssertionError(f"outcomes without a value: {sorted(missing)}")
    return result
