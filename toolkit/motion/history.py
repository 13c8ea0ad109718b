"""The time history of one case, the same bits as when it ran among thousands."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.batch import CHANNELS
from toolkit.motion.engine import run_prepared
from toolkit.motion.layout import MEMORY_ROW, PARAMETER_ROW, REPORT_ROW, STATE_ROW
from toolkit.motion.log import TICK
from toolkit.motion.outcomes import outcomes_of
from toolkit.motion.phases import Phase
from toolkit.motion.prepare import Columns, Prepared, prepare
from toolkit.motion.setting import NO_SETTING, Setting

__all__ = ["case_history"]

Array = NDArray[np.float64]


def case_history(columns: Columns, setting: Setting = NO_SETTING) -> tuple[dict[str, Array], dict[str, float]]:
    """Run one case again and keep what it did at every half second.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (1,)
        Every input of the register, as for `evaluate_columns`.
    setting : Setting
        Edges of the basin, and the legs of a job.

    Returns
    -------
    channels : dict of str to ndarray, shape (entries,)
        ``time`` [s]; ``barge_north``, ``barge_east``, ``tug_north``, ``tug_east`` [m];
        ``barge_heading``, ``tug_heading`` [degree, true]; ``angle_turned`` [degree, the
        ordered way]; ``swing_rate`` [degree/s, the ordered way]; ``tug_heel`` [degree,
        starboard down]; ``line_tension``, ``contact_force`` [N]; ``line_lead`` [degree off
        the lead aimed at; NaN for a push]; ``thrust_starboard``, ``thrust_port`` [N];
        ``azimuth_starboard``, ``azimuth_port`` [degree clockwise from the tug's bow];
        ``phase`` [code]; ``power_ordered`` [share of the bollard pull]; ``gust`` [wind over the mean wind];
        of a job, whose time runs on from leg to leg, also ``leg`` [number, from 1].
    facts : dict of str to float
        Sizes, limits of the gear and every outcome. Of a job, where the line
        is made fast only if that is the same in all legs that have one.

    Raises
    ------
    ValueError
        If `columns` does not hold exactly one case.
    """
    size = len(next(iter(columns.values())))
    if size != 1:
        raise ValueError(f"a history is of one case, not of {size}")
    if setting.legs:
        return _job_history(columns, setting)
    prepared = prepare(columns)
    limit = float(np.asarray(columns["time_limit"])[0])
    history = np.full((CHANNELS, math.ceil(limit / TICK) + 2), np.nan)
    memories, finals = run_prepared(prepared, history, setting)
    channels = _channels(prepared, memories, history)
    facts = {name: float(values[0]) for name, values in outcomes_of(columns, prepared, memories, finals).items()}
    facts |= _sizes(prepared) | _points(prepared)
    facts["time_step"] = TICK / float(prepared.parameters[PARAMETER_ROW.steps_per_tick, 0])
    if channels["phase"].size:
        channels["phase"][-1] = float(Phase.ended)
    return channels, facts


def _job_history(columns: Columns, setting: Setting) -> tuple[dict[str, Array], dict[str, float]]:
    """History of a case of several legs, one after the other."""
    from toolkit.motion.job import gather, whole_job
    from toolkit.motion.legs import run_legs

    runs = list(run_legs(columns, setting, recorded=True))
    parts: list[dict[str, Array]] = []
    for run in runs:
        part = _channels(run.prepared, run.memories, run.history)
        part["time"] = part["time"] + run.clock[0]
        part["leg"] = np.full(part["time"].size, float(run.number))
        if parts and part["time"].size:  # the instant at which a leg ends is that at which the next one begins
            parts[-1] = {name: values[:-1] for name, values in parts[-1].items()}
        parts.append(part)
    channels = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    if channels["phase"].size:
        channels["phase"][-1] = float(Phase.ended)
    facts = {name: float(values[0]) for name, values in whole_job(gather(runs, len(setting.legs), 1)).items()}
    facts |= _sizes(runs[0].prepared)
    points = [_points(run.prepared) for run in runs if run.prepared.parameters[PARAMETER_ROW.on_line, 0] > 0.0]
    if points and all(each == points[0] for each in points):
        facts |= points[0]
    facts["time_step"] = min(TICK / float(run.prepared.parameters[PARAMETER_ROW.steps_per_tick, 0]) for run in runs)
    return channels, facts


def _sizes(prepared: Prepared) -> dict[str, float]:
    """Sizes of both hulls, and what line and fitting bear."""
    barge, tug = prepared.barge, prepared.tug
    return {
        "barge_length": float(np.ravel(barge.length)[0]),
        "barge_beam": float(np.ravel(barge.beam)[0]),
        "tug_length": float(np.ravel(tug.length)[0]),
        "tug_beam": float(np.ravel(tug.beam)[0]),
        "deck_edge_angle": math.degrees(prepared.parameters[PARAMETER_ROW.deck_edge_angle, 0]),
        "line_mbl": float(prepared.line_mbl[0]),
        "barge_fitting_swl": float(np.ravel(barge.fitting_swl)[0]),
    }


def _points(prepared: Prepared) -> dict[str, float]:
    """Length of the line and where it is made fast."""
    p = prepared.parameters[:, 0]
    return {
        "line_length": float(p[PARAMETER_ROW.line_length]),
        "tug_towing_point": float(p[PARAMETER_ROW.tug_towing_x]),
        "barge_towing_point": float(p[PARAMETER_ROW.barge_towing_x]),
        "barge_towing_offset": float(p[PARAMETER_ROW.barge_towing_y]),
    }


def _channels(prepared: Prepared, memories: Array, history: Array) -> dict[str, Array]:
    """Channels of the first of some cases, from what the kernel recorded of it."""
    p = prepared.parameters[:, 0]
    entries = 0 if prepared.aground[0] else int(memories[MEMORY_ROW.ticks, 0]) + 1
    h = history[:, :entries] if history.size else np.zeros((CHANNELS, 0))
    on_line, pushing = p[PARAMETER_ROW.on_line] > 0.0, p[PARAMETER_ROW.pushing] > 0.0
    report = len(STATE_ROW)
    extra = report + len(REPORT_ROW)

    def bearing(cosine: int, sine: int) -> Array:
        return np.asarray(np.mod(np.degrees(np.arctan2(h[sine], h[cosine])), 360.0))

    return {
        "time": h[extra],
        "barge_north": h[STATE_ROW.barge_north],
        "barge_east": h[STATE_ROW.barge_east],
        "barge_heading": bearing(STATE_ROW.barge_cosine, STATE_ROW.barge_sine),
        "angle_turned": np.degrees(h[STATE_ROW.turned]),
        "swing_rate": np.degrees(p[PARAMETER_ROW.turn] * h[STATE_ROW.barge_yaw]),
        "tug_north": h[STATE_ROW.tug_north],
        "tug_east": h[STATE_ROW.tug_east],
        "tug_heading": bearing(STATE_ROW.tug_cosine, STATE_ROW.tug_sine),
        "tug_heel": np.degrees(h[STATE_ROW.heel]),
        "line_tension": h[report + REPORT_ROW.tension] if on_line else np.full(entries, np.nan),
        "contact_force": h[report + REPORT_ROW.contact] if pushing else np.full(entries, np.nan),
        "line_lead": np.degrees(h[extra + 3]) if on_line else np.full(entries, np.nan),
        "thrust_starboard": h[STATE_ROW.thrust_starboard],
        "thrust_port": h[STATE_ROW.thrust_port],
        "azimuth_starboard": bearing(STATE_ROW.starboard_cosine, STATE_ROW.starboard_sine),
        "azimuth_port": bearing(STATE_ROW.port_cosine, STATE_ROW.port_sine),
        "phase": h[extra + 1],
        "power_ordered": h[extra + 2],
        "gust": h[extra + 4],
    }
