"""Numbers as people read them, by the name of their quantity (floor 5).

Thin over :mod:`toolkit.quantities.units`: findings and figures know names, not
:class:`toolkit.quantities.Quantity` objects, and meet names that no register
holds.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.quantities import REGISTER
from toolkit.quantities.units import BEARINGS, format_value, to_user_unit, user_label

__all__ = ["as_sentence", "axis_label", "display_text", "display_unit", "long_name", "to_display"]

ROUNDING = 1e-9
"""Size below which a number in a dataset's unit is what rounding left of nothing."""


def display_unit(name: str) -> str:
    """Symbol of the unit in which a quantity is shown; empty for a ratio or a word."""
    return user_label(REGISTER[name]) if name in REGISTER else ""


def to_display(name: str, values: Any) -> NDArray[np.float64]:
    """Turn values in dataset units into the unit of :func:`display_unit`.

    Parameters
    ----------
    name : str
        Name of the quantity in the register; an unknown name is left as it is.
    values : array_like
        Values of any shape [dataset unit].

    Returns
    -------
    numpy.ndarray
        Same shape [display unit].
    """
    array = np.asarray(values, dtype=np.float64)
    return to_user_unit(REGISTER[name], array) if name in REGISTER else array


def long_name(name: str) -> str:
    """Words for a quantity: its long name, or its name with spaces if unknown."""
    return REGISTER[name].long_name if name in REGISTER else name.replace("_", " ")


def as_sentence(words: str) -> str:
    """Words with a capital at the start, and all behind it as it is: units and abbreviations keep their capitals."""
    return f"{words[:1].upper()}{words[1:]}"


def axis_label(name: str) -> str:
    """Words and unit for an axis or a column, such as ``bollard pull [t]``."""
    unit = display_unit(name)
    return f"{long_name(name)} [{unit}]" if unit else long_name(name)


_CAPITALS = {"hmpe": "HMPE"}
"""Words of choices that are abbreviations."""


def display_text(name: str, value: Any) -> str:
    """One value in words, such as ``12 kn``, ``from 240 deg`` or ``swing pull``.

    Parameters
    ----------
    name : str
        Name of the quantity.
    value : float or str
        Value [dataset unit], or the word of a choice.

    Returns
    -------
    str
        Four significant digits at most; ``not given`` for NaN.
    """
    if isinstance(value, str):
        return _CAPITALS.get(value, value.replace("_", " "))
    number = float(value)
    if abs(number) < ROUNDING:
        number = 0.0
    if name not in REGISTER:
        return "not given" if math.isnan(number) else f"{number:.4g}"
    if name in BEARINGS and not math.isnan(number):
        return f"{BEARINGS[name]} {number:03.0f} deg".strip()
    return format_value(REGISTER[name], number).replace("_", " ")
