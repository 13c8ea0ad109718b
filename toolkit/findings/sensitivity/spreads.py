"""Coefficients of the model that are not known well, and between what values they are held to lie (floor 5)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from toolkit.quantities import INPUTS, idle_inputs
from toolkit.quantities.units import format_value
from toolkit.study import Axis

if TYPE_CHECKING:
    from toolkit.study import Study

__all__ = ["SPREADS", "coefficient_axes"]

SPREADS: Mapping[str, tuple[float, float]] = {
    name: quantity.spread for name, quantity in INPUTS.items() if quantity.spread is not None
}
"""Lowest and highest value by name [dataset unit], as the register states them; the reasons stand there.

Values between are held to be equally likely and the coefficients independent:
the spreads are judgement, and nothing more is known.
"""


def coefficient_axes(study: Study, held: Mapping[str, float | str] | None = None) -> tuple[
    tuple[Axis, ...], tuple[str, ...]
]:  # fmt: skip
    """Axes over the spreads of those coefficients that a study leaves alone.

    Parameters
    ----------
    study : Study
    held : mapping, optional
        Swept inputs that are held at one value.

    Returns
    -------
    axes : tuple of Axis
        Ranges, in the order of the register.
    left_out : tuple of str
        Words for what is not spread: coefficients that the study sweeps or
        sets itself, and those that none of its manoeuvres uses.
    """
    manoeuvre, fixed = study.axis("manoeuvre"), {**study.fixed, **(held or {})}
    ways = (fixed["manoeuvre"],) if manoeuvre is None or "manoeuvre" in fixed else manoeuvre.values
    idle = frozenset.intersection(*(idle_inputs(str(way), fixed) for way in ways))
    axes, left_out = [], []
    for name, quantity in INPUTS.items():
        if name not in SPREADS:
            continue
        if name in idle:
            left_out.append(f"{quantity.long_name} (no manoeuvre looked at uses it)")
        elif study.axis(name) is not None:
            left_out.append(f"{quantity.long_name} (swept by the study, over its own values)")
        elif study.fixed[name] != quantity.default:
            left_out.append(f"{quantity.long_name} (held at {format_value(quantity, study.fixed[name])} by the study)")
        else:
            axes.append(Axis(name=name, values=np.array(SPREADS[name]), kind="range", text="stated spread"))
    return tuple(axes), tuple(left_out)
