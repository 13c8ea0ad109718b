"""Levels that a time history is read against: deck edge, breaking load, limits, target (floor 6)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.reading_history import fact, number
from toolkit.findings.conditions import idle_of, legs_of
from toolkit.findings.display import to_display
from toolkit.quantities import REGISTER

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "HEEL_CAUTION", "LEAST_LOAD", "LEAST_TURN", "OFF_SCALE", "Level", "contact_levels", "heel_levels", "on_scale",
    "rate_levels", "target_levels", "tension_levels",
]  # fmt: skip

HEEL_CAUTION = 1.0 / 3.0
"""Heel caution as a share of the deck-edge angle; as in the outcome `time_above_heel_caution`."""

OFF_SCALE = 2.5
"""Level over the largest value from which on it is told in words, not drawn."""


LEAST_LOAD = 0.1
"""Top of a scale of loads at the least [t]: a slack line bears its own weight, which would fill the panel."""

LEAST_TURN = 1e-3
"""Angle and rate of turn below which there is no turning [degree, degree/minute]: what rounding leaves."""


@dataclass(frozen=True, kw_only=True)
class Level:
    """A value that a channel is read against.

    Attributes
    ----------
    value : float
        In the unit in which the channel is shown.
    words : str
    line : str or tuple
        Line style, as matplotlib takes it.
    """

    value: float
    words: str
    line: Any


def on_scale(level: Level, values: NDArray[np.float64]) -> bool:
    """Whether a level can be drawn without flattening the values that are read against it."""
    top = float(np.nanmax(values)) if np.isfinite(values).any() else 0.0
    return level.value <= OFF_SCALE * (top if top > 0 else 1.0)


def _known(*levels: Level) -> list[Level]:
    return [level for level in levels if math.isfinite(level.value)]


def target_levels(history: xr.Dataset) -> list[Level]:
    """Angle to be turned [degree], where the manoeuvre has one; not of a job: its legs count from their own start."""
    if "target_angle" in idle_of(history) or legs_of(history):
        return []
    angle, heading = number(history, "target_angle"), number(history, "target_heading")
    if math.isfinite(heading):
        way = -1.0 if fact(history, "turn") == "port" else 1.0
        angle = way * (heading - number(history, "initial_heading")) % 360.0
    return _known(Level(value=angle, words="target", line=(0, (2, 2))))


def rate_levels(history: xr.Dataset) -> list[Level]:
    """Rate of turn that the master aims not to exceed [degree/minute]; none where that is off, or not heeded."""
    if "swing_rate_limit" in idle_of(history):
        return []
    value, quantity = number(history, "swing_rate_limit"), REGISTER["swing_rate_limit"]
    aimed = value if value < quantity.high else math.nan
    return _known(Level(value=float(to_display(quantity.name, aimed)), words="aimed not to exceed", line=(0, (2, 2))))


def heel_levels(history: xr.Dataset, limits: Mapping[str, float]) -> list[Level]:
    """Deck edge, limit and caution [degree], which hold to either side."""
    edge = number(history, "deck_edge_angle")
    return _known(
        Level(value=edge, words="deck edge", line="-"),
        Level(value=limits.get("peak_heel_fraction", math.nan) * edge, words="limit", line=(0, (5, 2))),
        Level(value=HEEL_CAUTION * edge, words="caution", line=(0, (1, 1.5))),
    )


def tension_levels(history: xr.Dataset, limits: Mapping[str, float]) -> list[Level]:
    """Breaking load of the line, safe working load of the barge's fitting, and limits on either [t]."""
    mbl, swl = (float(to_display("peak_tension", number(history, n))) for n in ("line_mbl", "barge_fitting_swl"))
    on_swl = limits.get("tension_over_swl", 1.0)
    return _known(
        Level(value=mbl, words="line's MBL", line="-"),
        Level(value=swl, words="fitting's SWL", line=(0, (5, 2))),
        Level(value=limits.get("tension_over_mbl", math.nan) * mbl, words="limit on MBL", line=(0, (1, 1.5))),
        Level(value=on_swl * swl if on_swl != 1.0 else math.nan, words="limit on SWL", line=(0, (5, 1, 1, 1))),
    )


def contact_levels(limits: Mapping[str, float]) -> list[Level]:
    """Limit on the force between fender and barge [t]."""
    limit = float(to_display("peak_contact_force", limits.get("peak_contact_force", math.nan)))
    return _known(Level(value=limit, words="limit", line=(0, (5, 2))))
