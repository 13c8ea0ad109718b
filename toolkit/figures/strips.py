"""The time histories that go beside a moving plan view, each with its scale and levels (floor 6)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.levels import (
    LEAST_LOAD,
    LEAST_TURN,
    Level,
    contact_levels,
    heel_levels,
    on_scale,
    rate_levels,
    target_levels,
    tension_levels,
)
from toolkit.figures.reading_history import bears, channel
from toolkit.findings.limits import limits_of
from toolkit.quantities.channels import CHANNELS
from toolkit.quantities.units import to_user_unit, user_label

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["Strip", "strips_of"]


@dataclass(frozen=True, kw_only=True)
class Strip:
    """One channel as it is drawn along time.

    Attributes
    ----------
    name : str
        Of the channel.
    words, unit : str
        Its long name, and the unit in which it is shown.
    note : str
        Its sign convention; may be empty.
    values : ndarray, shape (entries,)
        [`unit`].
    levels : tuple of Level
        Drawn. For heel they hold to either side and are here with both signs.
    off_scale : tuple of Level
        Told in words, as they lie far above the values.
    low, high : float
        Ends of the scale [`unit`].
    """

    name: str
    words: str
    unit: str
    note: str
    values: NDArray[np.float64]
    levels: tuple[Level, ...]
    off_scale: tuple[Level, ...]
    low: float
    high: float

    def level_words(self) -> str:
        """Words on all levels, such as ``target 180 deg; deck edge 13 deg, either side``."""
        told = [
            f"{level.words} {level.value:.3g} {self.unit}{', either side' if self.name == 'tug_heel' else ''}"
            for level in self.levels
            if level.value >= 0.0
        ]
        told.extend(f"{level.words} {level.value:.3g} {self.unit}, off the scale" for level in self.off_scale)
        return "; ".join(told)


def strips_of(history: xr.Dataset, limits: object | None = None) -> tuple[Strip, ...]:
    """Strips of a case: angle turned, swing rate, heel, and of line tension and contact force what it has.

    Parameters
    ----------
    history : xarray.Dataset
        Channels along ``time``, facts as attributes or scalar variables.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the attribute ``limits``.
    """
    in_force = limits_of(history, limits)
    heel = [
        Level(value=sign * level.value, words=level.words, line=level.line)
        for level in heel_levels(history, in_force)
        for sign in (1.0, -1.0)
    ]
    made = [
        _strip(history, "angle_turned", "positive the way round that was ordered", target_levels(history)),
        _strip(history, "swing_rate", "positive the way round that was ordered", rate_levels(history)),
        _strip(history, "tug_heel", "positive with starboard down", heel),
    ]
    if bears(history, "line_tension"):
        made.append(_strip(history, "line_tension", "", tension_levels(history, in_force)))
    if bears(history, "contact_force"):
        made.append(_strip(history, "contact_force", "", contact_levels(in_force)))
    return tuple(made)


def _strip(history: xr.Dataset, name: str, note: str, levels: list[Level]) -> Strip:
    quantity = CHANNELS[name]
    values = to_user_unit(quantity, channel(history, name))
    drawn = tuple(level for level in levels if on_scale(level, np.abs(values)) or name == "tug_heel")
    marks = [level.value for level in drawn]
    known = [0.0, *marks, *values[np.isfinite(values)].tolist()]
    low, high = min(known), max(known)
    if name in ("line_tension", "contact_force"):
        high = max(high, LEAST_LOAD)
    elif name != "tug_heel" and max(-low, high) <= LEAST_TURN:
        low, high = -1.0, 1.0
    room = 0.08 * (high - low) if high > low else 1.0
    return Strip(
        name=name,
        words=quantity.long_name,
        unit=user_label(quantity),
        note=note,
        values=values,
        levels=drawn,
        off_scale=tuple(level for level in levels if level not in drawn),
        low=low - room if low < 0.0 else low,
        high=high + room if math.isfinite(high) else 1.0,
    )
