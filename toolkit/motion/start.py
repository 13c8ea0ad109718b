"""Where both vessels lie, and how they move, when a case begins."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.crew import OPPOSED_SHARE
from toolkit.motion.ending import DEEPEST_OVERLAP
from toolkit.motion.layout import PARAMETER_ROW, STATE_ROW, State
from toolkit.motion.log import TUG_SHARE, gaps
from toolkit.motion.manoeuvres.manoeuvre import Place

__all__ = ["overlap_at_start", "start_of"]

Array = NDArray[np.float64]


def start_of(rows: Mapping[str, Array], place: Place, heading: Array, stopped: NDArray[np.bool_]) -> Array:
    """State at the start: the tug in her place, drives set against each other.

    Parameters
    ----------
    rows : mapping of str to ndarray
        Parameters by name.
    place : Place
        Of the tug, in the barge's mirrored axes, and the way both make.
    heading : ndarray, shape (n,)
        True heading of the barge [rad].
    stopped : ndarray of bool, shape (n,)
        Both vessels stopped over the ground; else both drift with the current.
        Where they make way through the water, that is all they do.

    Returns
    -------
    ndarray, shape (rows of state, n)
    """
    turn = rows["turn"]
    x, y = place.x, turn * place.y
    tug_heading = heading + turn * place.heading
    way = np.asarray(place.way, dtype=np.float64)
    stopped = stopped & (way == 0.0)
    # speed of the water where she lies, with its shear across the basin
    north, east = rows["start_north"], rows["start_east"]
    across = rows["current_cosine"] * east - rows["current_sine"] * north
    extra = rows["current_shear"] * across
    drift_north = np.where(stopped, -rows["current_north"] - extra * rows["current_cosine"], way * np.cos(heading))
    drift_east = np.where(stopped, -rows["current_east"] - extra * rows["current_sine"], way * np.sin(heading))

    def into(angle: Array) -> tuple[Array, Array]:
        c, s = np.cos(angle), np.sin(angle)
        return c * drift_north + s * drift_east, c * drift_east - s * drift_north

    azimuth = 1.0 - rows["fixed_drives"]
    barge_surge, barge_sway = into(heading)
    tug_surge, tug_sway = into(tug_heading)
    size = np.broadcast(x, heading).shape
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
        "thrust_starboard": azimuth * OPPOSED_SHARE * rows["unit_thrust"],
        "starboard_cosine": 1.0 - azimuth,
        "starboard_sine": -azimuth,
        "thrust_port": azimuth * OPPOSED_SHARE * rows["unit_thrust"],
        "port_cosine": 1.0 - azimuth,
        "port_sine": azimuth,
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
