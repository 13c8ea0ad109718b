"""From a table of cases to their outcomes."""

from __future__ import annotations

import hashlib
import math
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from toolkit.kernels import compiled
from toolkit.motion.batch import run_batch
from toolkit.motion.layout import MEMORY, STATE, P
from toolkit.motion.prepare import Columns, Prepared, prepare
from toolkit.motion.stepping import STEP_RULE
from toolkit.particulars import line_stiffness
from toolkit.quantities import OUTCOMES, Outcome, RangeFlag

__all__ = ["evaluate_columns", "model_hash", "outcomes_of", "run_prepared", "step_rule"]

Array = NDArray[np.float64]
MODEL_PACKAGES = ("kernels.py", "quantities", "particulars", "loads", "motion")
"""What decides results, below the package."""
FAST_SHARE = 0.05
"""Share of time beyond the drag data from which a case is marked; judgement."""


def step_rule() -> str:
    """Scheme and step, in one line."""
    return STEP_RULE


@cache
def model_hash() -> str:
    """Hash of the sources that decide results: 16 hexadecimal digits."""
    root = Path(__file__).parent.parent
    digest = hashlib.sha256()
    for name in MODEL_PACKAGES:
        place = root / name
        for path in sorted(place.rglob("*.py")) if place.is_dir() else [place]:
            digest.update(path.relative_to(root).as_posix().encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


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
    memories, finals = np.zeros((len(MEMORY), size)), np.zeros((len(STATE), size))
    batch = compiled(run_batch)
    steps = parameters[P.steps_per_tick]
    record = history if history is not None else np.zeros((0, 0))
    for count in np.unique(steps[~prepared.aground]):
        picked = np.flatnonzero((steps == count) & ~prepared.aground)
        some_memories, some_finals = np.zeros((len(MEMORY), len(picked))), np.zeros((len(STATE), len(picked)))
        batch(
            np.ascontiguousarray(initial[:, picked]), np.ascontiguousarray(parameters[:, picked]), int(count),
            some_memories, some_finals, record,
        )  # fmt: skip
        memories[:, picked], finals[:, picked] = some_memories, some_finals
    return memories, finals


def evaluate_columns(columns: Columns) -> dict[str, NDArray]:
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


def outcomes_of(columns: Columns, prepared: Prepared, memories: Array, finals: Array) -> dict[str, NDArray]:
    """Read the outcomes off the logs of cases that were run; shapes as in :func:`evaluate_columns`."""
    m, p = memories, prepared.parameters
    ran = ~prepared.aground
    pulling = ran & (p[P.pushing] == 0.0)
    outcome = np.where(prepared.aground, int(Outcome.aground), m[MEMORY.outcome].astype(np.int64))
    sound = ran & (outcome != int(Outcome.not_converged))
    pulling &= sound
    turned = sound & (m[MEMORY.time_to_turn] >= 0.0)
    time = np.where(ran, m[MEMORY.time], 1.0)
    steady = outcome == int(Outcome.completed)
    heel = np.maximum(m[MEMORY.heel_starboard], m[MEMORY.heel_port])
    fast = np.where(ran, m[MEMORY.fast_time] / time, 0.0)
    flags = prepared.range_flags | np.where(fast > FAST_SHARE, int(RangeFlag.drag_speed), 0)
    toward_starboard = _force_side(p) > 0.0
    weighed = pulling & (m[MEMORY.tension_time] > 0.0)
    tension_time = np.where(weighed, m[MEMORY.tension_time], 1.0)
    looks = sound & (m[MEMORY.looks] > 0.0)
    peak = m[MEMORY.peak_tension]
    stiffness = line_stiffness(
        prepared.line_mbl, np.asarray(columns["line_material"]).astype(np.int64), p[P.line_length]
    )
    radius = np.asarray(columns["basin_radius"], dtype=np.float64)
    swept_all = np.sqrt(m[MEMORY.swept_all_square])
    degrees = np.rad2deg
    result: dict[str, NDArray] = {
        "outcome": outcome,
        "end_time": _where(sound, m[MEMORY.time]),
        "time_to_turn": _where(turned, m[MEMORY.time_to_turn]),
        "time_to_steady": _where(sound & steady, m[MEMORY.time_to_steady]),
        "overshoot": _where(turned, degrees(np.maximum(m[MEMORY.most_turned] - p[P.target], 0.0))),
        "residual_swing_rate": _where(sound, degrees(p[P.turn] * finals[STATE.barge_yaw])),
        "peak_swing_rate": _where(sound, degrees(m[MEMORY.peak_rate])),
        "peak_heel": _where(sound, degrees(heel)),
        "peak_heel_toward": _where(
            sound, degrees(np.where(toward_starboard, m[MEMORY.heel_starboard], m[MEMORY.heel_port]))
        ),
        "peak_heel_away": _where(
            sound, degrees(np.where(toward_starboard, m[MEMORY.heel_port], m[MEMORY.heel_starboard]))
        ),
        "peak_heel_fraction": _where(sound, heel / p[P.deck_edge_angle]),
        "time_above_heel_caution": _where(sound, m[MEMORY.heel_caution_time]),
        "peak_tension": _where(pulling, peak),
        "peak_tension_3s": _where(pulling, m[MEMORY.peak_window]),
        "mean_tension": _where(weighed, m[MEMORY.tension_sum] * 0.5 / tension_time),
        "tension_over_mbl": _where(pulling, peak / prepared.line_mbl),
        "tension_over_swl": _where(pulling, m[MEMORY.peak_window] / prepared.barge.fitting_swl),
        "peak_line_energy": _where(pulling, 0.5 * peak**2 / stiffness),
        "share_of_time_slack": _where(weighed, m[MEMORY.slack_time] / tension_time),
        "poorest_line_lead": _where(pulling, degrees(m[MEMORY.poorest_lead])),
        "peak_lead_off_axis": _where(pulling, degrees(m[MEMORY.off_axis])),
        "peak_contact_force": _where(sound & ~pulling, m[MEMORY.peak_contact]),
        "drift_distance": _where(sound, np.sqrt(m[MEMORY.drift_square])),
        "swept_radius_barge": _where(sound, np.sqrt(m[MEMORY.swept_barge_square])),
        "swept_radius_all": _where(sound, swept_all),
        "room_to_edge": _where(sound, radius - swept_all),
        "saturated_share": _where(looks, m[MEMORY.saturated] / np.where(looks, m[MEMORY.looks], 1.0)),
        "drive_energy": _where(sound, finals[STATE.drive_energy]),
        "shifts": _where(sound, m[MEMORY.shifts]),
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


def _force_side(p: Array) -> Array:
    """Side of the tug, starboard positive, on which line or barge lies while she lies athwart them."""
    # lying across the line she heads so that the end's travel is ahead of her: the barge is to starboard when
    # the turn is to starboard; flank-on she heads as the barge does, on the side away from the way round
    pulling_side = p[P.turn]
    pushing_side = p[P.turn] * p[P.end]
    return np.where(p[P.pushing] > 0.0, pushing_side, pulling_side)
