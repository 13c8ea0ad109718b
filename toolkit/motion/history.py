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
from toolkit.motion.prepare import Columns, prepare
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
        Edges of the basin.

    Returns
    -------
    channels : dict of str to ndarray, shape (entries,)
        ``time`` [s]; ``barge_north``, ``barge_east``, ``tug_north``, ``tug_east`` [m];
        ``barge_heading``, ``tug_heading`` [degree, true]; ``angle_turned`` [degree, the
        ordered way]; ``swing_rate`` [degree/s, the ordered way]; ``tug_heel`` [degree,
        starboard down]; ``line_tension``, ``contact_force`` [N]; ``line_lead`` [degree off
        the lead aimed at; NaN for a push]; ``thrust_starboard``, ``thrust_port`` [N];
        ``azimuth_starboard``, ``azimuth_port`` [degree clockwise from the tug's bow];
        ``phase`` [code]; ``power_ordered`` [share of the bollard pull]; ``gust`` [wind over the mean wind].
    facts : dict of str to float
        Sizes, limits of the gear and every outcome.

    Raises
    ------
    ValueError
        If `columns` does not hold exactly one case.
    """
    size = len(next(iter(columns.values())))
    if size != 1:
        raise ValueError(f"a history is of one case, not of {size}")
    prepared = prepare(columns)
    limit = float(np.asarray(columns["time_limit"])[0])
    history = np.full((CHANNELS, math.ceil(limit / TICK) + 2), np.nan)
    memories, finals = run_prepared(prepared, history, setting)
    entries = 0 if prepared.aground[0] else int(memories[MEMORY_ROW.ticks, 0]) + 1
    h = history[:, :entries]
    facts = {name: float(values[0]) for name, values in outcomes_of(columns, prepared, memories, finals).items()}
    barge, tug, p = prepared.barge, prepared.tug, prepared.parameters[:, 0]
    facts |= {
        "barge_length": float(np.ravel(barge.length)[0]),
        "barge_beam": float(np.ravel(barge.beam)[0]),
        "tug_length": float(np.ravel(tug.length)[0]),
        "tug_beam": float(np.ravel(tug.beam)[0]),
        "deck_edge_angle": math.degrees(p[PARAMETER_ROW.deck_edge_angle]),
        "line_mbl": float(prepared.line_mbl[0]),
        "barge_fitting_swl": float(np.ravel(barge.fitting_swl)[0]),
        "line_length": float(p[PARAMETER_ROW.line_length]),
        "tug_towing_point": float(p[PARAMETER_ROW.tug_towing_x]),
        "barge_towing_point": float(p[PARAMETER_ROW.barge_towing_x]),
        "barge_towing_offset": float(p[PARAMETER_ROW.barge_towing_y]),
        "time_step": TICK / float(p[PARAMETER_ROW.steps_per_tick]),
    }
    on_line, pushing = p[PARAMETER_ROW.on_line] > 0.0, p[PARAMETER_ROW.pushing] > 0.0
    report = len(STATE_ROW)
    extra = report + len(REPORT_ROW)

    def bearing(cosine: int, sine: int) -> Array:
        return np.asarray(np.mod(np.degrees(np.arctan2(h[sine], h[cosine])), 360.0))

    channels = {
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
    if entries:
        channels["phase"][-1] = float(Phase.ended)
    return channels, facts
