"""Where both vessels lie, and how they move, when a case begins."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.crew import OPPOSED_SHARE
from toolkit.motion.layout import PARAMETER_ROW, STATE_ROW, State
from toolkit.motion.log import DEEPEST_OVERLAP, TUG_SHARE, gaps

__all__ = ["overlap_at_start", "start_of"]

Array = NDArray[np.float64]

SLACK_AT_START = 0.97
"""Distance between the towing points over the line's length at the start; judgement, spread 0.9 to 1."""
GAP_AT_START = 0.3
"""Clear water between fender and barge at the start of a push [m]; judgement, spread 0 to 2."""


def start_of(rows: Mapping[str, Array], heading: Array, stopped: NDArray[np.bool_]) -> Array:
    """State at the start: the tug on her station, line slack or fender just clear, drives set against each other.

    Parameters
    ----------
    rows : mapping of str to ndarray
        Parameters by name.
    heading : ndarray, shape (n,)
        True heading of the barge [rad].
    stopped : ndarray of bool, shape (n,)
        Both vessels stopped over the ground; else both drift with the current.

    Returns
    -------
    ndarray, shape (rows of state, n)
    """
    pushing, athwart = rows["pushing"] > 0.0, rows["athwart"] > 0.0
    end, turn, lead = rows["end"], rows["turn"], rows["lead"]
    # in the barge's axes, mirrored so that the turn is to starboard
    out_x, out_y = end * np.cos(lead), end * np.sin(lead)
    along_line = np.arctan2(out_y, out_x) + np.where(rows["stern_first"] > 0.0, np.pi, 0.0)
    across_line = np.where(end * rows["tug_towing_x"] > 0.0, np.pi, 0.0) + lead - 0.5 * np.pi
    pull_heading = np.where(athwart, across_line, along_line)
    reach = SLACK_AT_START * rows["line_length"]
    pull_x = rows["barge_towing_x"] + reach * out_x - rows["tug_towing_x"] * np.cos(pull_heading)
    pull_y = reach * out_y - rows["tug_towing_x"] * np.sin(pull_heading)
    side = -end
    push_flank = np.where(rows["drive_x"] * end > 0.0, 0.0, np.pi)
    push_heading = np.where(athwart, push_flank, -0.5 * np.pi * side)
    push_x = end * rows["station"]
    push_y = side * (rows["barge_half_beam"] + rows["fender_reach"] + GAP_AT_START)

    x = np.where(pushing, push_x, pull_x)
    y = turn * np.where(pushing, push_y, pull_y)
    tug_heading = heading + turn * np.where(pushing, push_heading, pull_heading)
    drift_north = np.where(stopped, -rows["current_north"], 0.0)
    drift_east = np.where(stopped, -rows["current_east"], 0.0)

    def into(angle: Array) -> tuple[Array, Array]:
        c, s = np.cos(angle), np.sin(angle)
        return c * drift_north + s * drift_east, c * drift_east - s * drift_north

    barge_surge, barge_sway = into(heading)
    tug_surge, tug_sway = into(tug_heading)
    size = np.broadcast(x, heading).shape
    north, east = rows["start_north"], rows["start_east"]
    values = {
        "barge_north": north,
        "barge_east": east,
        "barge_cosine": np.cos(heading),
        "barge_sine": np.sin(heading),
        "barge_surge": barge_surge,
        "barge_sway": barge_sway,
        "tug_north": north + np.cos(heading) * x - np.sin(heading) * y,
        "tug_east": east + np.sin(heading) * x + np.cos(heading) * y,
        "tug_cosine": np.cos(tug_heading),
        "tug_sine": np.sin(tug_heading),
        "tug_surge": tug_surge,
        "tug_sway": tug_sway,
        "thrust_starboard": OPPOSED_SHARE * rows["unit_thrust"],
        "starboard_sine": -np.ones(size),
        "thrust_port": OPPOSED_SHARE * rows["unit_thrust"],
        "port_sine": np.ones(size),
    }
    nothing = np.zeros(size)
    return np.stack([np.broadcast_to(values.get(name, nothing), size) for name in State._fields])


def overlap_at_start(parameters: Array, initial: Array) -> NDArray[np.bool_]:
    """Cases in which the hulls of tug and barge overlap where they start, and which end as collided at once.

    Parameters
    ----------
    parameters : ndarray, shape (rows of parameters, n)
        As `toolkit.motion.prepare.prepare` gives them.
    initial : ndarray, shape (rows of state, n)
        State at the start.

    Returns
    -------
    ndarray of bool, shape (n,)
        By the rule of `toolkit.motion.log`, which ends a case.
    """
    p, s = parameters, initial
    allowed = np.where(p[PARAMETER_ROW.pushing] > 0.0, DEEPEST_OVERLAP, 0.0)
    ahead, across, tug_ahead, tug_across = gaps(
        s[STATE_ROW.tug_north] - s[STATE_ROW.barge_north],
        s[STATE_ROW.tug_east] - s[STATE_ROW.barge_east],
        s[STATE_ROW.barge_cosine],
        s[STATE_ROW.barge_sine],
        s[STATE_ROW.tug_cosine],
        s[STATE_ROW.tug_sine],
        p[PARAMETER_ROW.barge_half_length] - allowed,
        p[PARAMETER_ROW.barge_half_beam] - allowed,
        TUG_SHARE * p[PARAMETER_ROW.tug_half_length],
        TUG_SHARE * p[PARAMETER_ROW.tug_half_beam],
    )
    return np.asarray((ahead < 0.0) & (across < 0.0) & (tug_ahead < 0.0) & (tug_across < 0.0))
