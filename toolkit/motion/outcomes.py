"""Outcomes of cases, read off their logs and final states."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.layout import MEMORY_ROW, PARAMETER_ROW, STATE_ROW
from toolkit.motion.log import FAR, NEVER
from toolkit.motion.manoeuvres import MANOEUVRES
from toolkit.motion.manoeuvres.manoeuvre import Ran
from toolkit.motion.prepare import Columns, Prepared
from toolkit.particulars import line_stiffness
from toolkit.quantities import OUTCOMES, Outcome, RangeFlag

__all__ = ["outcomes_of"]

Array = NDArray[np.float64]
Outcomes = dict[str, NDArray[Any]]
FAST_SHARE = 0.05
"""Share of time beyond the drag data from which a case is marked; judgement."""


def _where(condition: NDArray[np.bool_], values: Array) -> Array:
    return np.where(condition, values, math.nan)


@np.errstate(over="ignore", invalid="ignore", divide="ignore")  # where a case did not converge, and is left out
def outcomes_of(columns: Columns, prepared: Prepared, memories: Array, finals: Array) -> Outcomes:
    """Read the outcomes off the logs of cases that were run.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n,)
        Their inputs.
    prepared : Prepared
    memories : ndarray, shape (rows of memory, n)
    finals : ndarray, shape (rows of state, n)

    Returns
    -------
    dict of str to ndarray, shape (n,)
        Every outcome and derived coordinate of the register, in its dataset unit.
    """
    m, p = memories, prepared.parameters
    ran = ~prepared.aground
    outcome = np.where(prepared.aground, int(Outcome.aground), m[MEMORY_ROW.outcome].astype(np.int64))
    sound = ran & (outcome != int(Outcome.not_converged))
    completed = outcome == int(Outcome.completed)
    fast = np.where(ran, m[MEMORY_ROW.fast_time] / np.where(ran, m[MEMORY_ROW.time], 1.0), 0.0)
    result: Outcomes = {name: np.full(outcome.shape, math.nan) for name in OUTCOMES}
    result |= {
        "outcome": outcome,
        "range_flags": prepared.range_flags | np.where(fast > FAST_SHARE, int(RangeFlag.drag_speed), 0),
        "share_beyond_drag_speed": _where(sound, fast),
        "depth_ratio": prepared.depth_ratio,
        "displacement_as_loaded": np.asarray(prepared.barge.displacement),
        "static_wind_demand": prepared.static_wind_demand,
        "swing_rate_limit_in_force": np.rad2deg(p[PARAMETER_ROW.rate_limit]),
        **_swing(m, finals, p, sound, completed),
        **_heel(m, p, sound),
        **_line(columns, prepared, m, sound),
        **_room(columns, finals, m, p, sound),
        **_failure(columns, prepared, m, sound, completed),
    }
    code = np.asarray(columns["manoeuvre"]).astype(np.int64)
    for number, manoeuvre in enumerate(MANOEUVRES.values()):
        picked = np.flatnonzero(code == number)
        if not picked.size:
            continue
        own = manoeuvre.outcomes(
            Ran(memories=m[:, picked], finals=finals[:, picked], parameters=p[:, picked], sound=sound[picked],
                completed=completed[picked])
        )  # fmt: skip
        for name, values in own.items():
            result[name][picked] = np.where(sound[picked], values, math.nan)
    missing = OUTCOMES.keys() ^ (result.keys() & OUTCOMES.keys())
    if missing:
        raise AssertionError(f"outcomes without a value: {sorted(missing)}")
    return result


def _swing(m: Array, finals: Array, p: Array, sound: NDArray[np.bool_], completed: NDArray[np.bool_]) -> Outcomes:
    """Time, angle and rate; those of a target only for swings."""
    swings = np.array([manoeuvre.swings for manoeuvre in MANOEUVRES.values()])
    swinging = sound & swings[p[PARAMETER_ROW.manoeuvre].astype(np.int64)]
    turned = swinging & (m[MEMORY_ROW.time_to_turn] >= 0.0)
    steady = swinging & completed
    looks = sound & (m[MEMORY_ROW.looks] > 0.0)
    degrees = np.rad2deg
    cosine, sine = finals[STATE_ROW.barge_cosine], finals[STATE_ROW.barge_sine]
    surge, sway = finals[STATE_ROW.barge_surge], finals[STATE_ROW.barge_sway]
    set_north, set_east = p[PARAMETER_ROW.current_cosine], p[PARAMETER_ROW.current_sine]
    across = set_north * finals[STATE_ROW.barge_east] - set_east * finals[STATE_ROW.barge_north]
    more = p[PARAMETER_ROW.current_shear] * across
    residual_speed = np.hypot(
        cosine * surge - sine * sway + p[PARAMETER_ROW.current_north] + more * set_north,
        sine * surge + cosine * sway + p[PARAMETER_ROW.current_east] + more * set_east,
    )
    beyond = np.maximum(m[MEMORY_ROW.most_turned] - np.where(swinging, p[PARAMETER_ROW.target], 0.0), 0.0)
    return {
        "end_time": _where(sound, m[MEMORY_ROW.time]),
        "time_to_turn": _where(turned, m[MEMORY_ROW.time_to_turn]),
        "time_to_steady": _where(steady, m[MEMORY_ROW.time_to_steady]),
        "overshoot": _where(turned | steady, degrees(beyond)),
        "residual_speed": _where(sound, residual_speed),
        "residual_swing_rate": _where(sound, degrees(p[PARAMETER_ROW.turn] * finals[STATE_ROW.barge_yaw])),
        "heading_at_end": _where(sound, np.mod(degrees(np.arctan2(sine, cosine)), 360.0)),
        "peak_swing_rate": _where(sound, degrees(m[MEMORY_ROW.peak_rate])),
        "saturated_share": _where(looks, m[MEMORY_ROW.saturated] / np.where(looks, m[MEMORY_ROW.looks], 1.0)),
        "drive_energy": _where(sound, finals[STATE_ROW.drive_energy]),
        "shifts": _where(sound, m[MEMORY_ROW.shifts]),
    }


def _heel(m: Array, p: Array, sound: NDArray[np.bool_]) -> Outcomes:
    # a tug that rolls right over within the last tick is upside down, whatever the integration made of it
    over = math.pi
    after = np.minimum(np.maximum(m[MEMORY_ROW.heel_starboard], m[MEMORY_ROW.heel_port]), over)
    heel = np.minimum(np.maximum(after, m[MEMORY_ROW.heel_before]), over)
    loaded = sound & (m[MEMORY_ROW.heel_toward] > NEVER)
    failed = sound & (m[MEMORY_ROW.failed_at] >= 0.0)
    degrees = np.rad2deg
    return {
        "peak_heel": _where(sound, degrees(heel)),
        "peak_heel_toward": _where(loaded, degrees(np.clip(m[MEMORY_ROW.heel_toward], 0.0, over))),
        "peak_heel_away": _where(loaded, degrees(np.clip(m[MEMORY_ROW.heel_away], 0.0, over))),
        "peak_heel_fraction": _where(sound, heel / p[PARAMETER_ROW.deck_edge_angle]),
        "time_above_heel_caution": _where(sound, m[MEMORY_ROW.heel_caution_time]),
        "peak_heel_after_failure": _where(failed, degrees(after)),
    }


def _line(columns: Columns, prepared: Prepared, m: Array, sound: NDArray[np.bool_]) -> Outcomes:
    """Line and fender, each where it is used."""
    p = prepared.parameters
    pulling = sound & (p[PARAMETER_ROW.on_line] > 0.0)
    pushing = sound & (p[PARAMETER_ROW.pushing] > 0.0)
    weighed = pulling & (m[MEMORY_ROW.tension_time] > 0.0)
    tension_time = np.where(weighed, m[MEMORY_ROW.tension_time], 1.0)
    peak = np.maximum(m[MEMORY_ROW.peak_tension], m[MEMORY_ROW.tension_before])
    failed = pulling & (m[MEMORY_ROW.failed_at] >= 0.0)
    stiffness = line_stiffness(
        prepared.line_mbl, np.asarray(columns["line_material"]).astype(np.int64), p[PARAMETER_ROW.line_length]
    )
    degrees = np.rad2deg
    return {
        "peak_tension": _where(pulling, peak),
        "peak_tension_3s": _where(pulling, m[MEMORY_ROW.peak_window]),
        "mean_tension": _where(weighed, m[MEMORY_ROW.tension_sum] * 0.5 / tension_time),
        "tension_over_mbl": _where(pulling, peak / prepared.line_mbl),
        "tension_over_swl": _where(pulling, m[MEMORY_ROW.peak_window] / prepared.barge.fitting_swl),
        "peak_line_energy": _where(pulling, 0.5 * peak**2 / stiffness),
        "share_of_time_slack": _where(weighed, m[MEMORY_ROW.slack_time] / tension_time),
        "poorest_line_lead": _where(pulling, degrees(m[MEMORY_ROW.poorest_lead])),
        "peak_lead_off_axis": _where(pulling, degrees(m[MEMORY_ROW.off_axis])),
        "peak_contact_force": _where(pushing, m[MEMORY_ROW.peak_contact]),
        "peak_tension_after_failure": _where(failed, m[MEMORY_ROW.peak_tension]),
        "released_at": _where(pulling & (m[MEMORY_ROW.released_at] >= 0.0), m[MEMORY_ROW.released_at]),
    }


def _room(columns: Columns, finals: Array, m: Array, p: Array, sound: NDArray[np.bool_]) -> Outcomes:
    radius = np.asarray(columns["basin_radius"], dtype=np.float64)
    bounded = sound & (m[MEMORY_ROW.least_clearance] < FAR)
    return {
        "drift_distance": _where(sound, np.sqrt(m[MEMORY_ROW.drift_square])),
        "swept_radius_barge": _where(sound, np.sqrt(m[MEMORY_ROW.swept_barge_square])),
        "swept_radius_all": _where(sound, np.sqrt(m[MEMORY_ROW.swept_all_square])),
        "room_to_edge": _where(sound, radius - np.sqrt(m[MEMORY_ROW.centre_square])),
        "clearance_to_edge": _where(bounded, m[MEMORY_ROW.least_clearance]),
    }


def _failure(
    columns: Columns, prepared: Prepared, m: Array, sound: NDArray[np.bool_], completed: NDArray[np.bool_]
) -> Outcomes:
    """What came of a failure, and whether a standby tug would hold the barge."""
    p = prepared.parameters
    failed = sound & (m[MEMORY_ROW.failed_at] >= 0.0)
    contacts = np.stack([m[MEMORY_ROW.edge_met_at], m[MEMORY_ROW.berth_met_at]])
    first = np.min(np.where(contacts >= 0.0, contacts, np.inf), axis=0)
    met = failed & np.isfinite(first)
    to_contact = first - m[MEMORY_ROW.failed_at]
    # broadside, at rest over the ground
    wind = np.hypot(p[PARAMETER_ROW.mean_wind_north], p[PARAMETER_ROW.mean_wind_east])
    wind = wind * np.maximum(p[PARAMETER_ROW.front_factor], 1.0)
    current = np.hypot(p[PARAMETER_ROW.current_north], p[PARAMETER_ROW.current_east])
    demand = (
        p[PARAMETER_ROW.barge_wind_lateral] * p[PARAMETER_ROW.barge_wind_transverse] * wind**2
        + p[PARAMETER_ROW.barge_cross_flow] * 2.0 * p[PARAMETER_ROW.barge_half_length] * current**2
    )
    pull = np.asarray(columns["standby_pull"], dtype=np.float64)
    # a tug without drives recovers nothing, though the barge may come by herself where she was to go
    dead = (m[MEMORY_ROW.starboard_lost] > 0.0) & (m[MEMORY_ROW.port_lost] > 0.0)
    recovered = completed & ~dead
    # a berth that she was brought to all the same is no contact to be prevented
    in_time = ~met | recovered | (to_contact >= np.asarray(columns["standby_time"], dtype=np.float64))
    holds = (pull >= demand) & in_time
    return {
        "failed_at": _where(failed, m[MEMORY_ROW.failed_at]),
        "drift_after_failure": _where(failed, np.sqrt(m[MEMORY_ROW.drift_after_square])),
        "time_to_contact": _where(met, to_contact),
        "recovered": _where(failed, recovered.astype(np.float64)),
        "standby_demand": _where(failed, demand),
        "standby_holds": _where(failed & np.isfinite(pull), holds.astype(np.float64)),
    }
