"""Inputs that a case never looks at because another input has some value.

Those that its manoeuvre does not use are in `toolkit.quantities.manoeuvres`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from toolkit.quantities.manoeuvres import always_holds, conditions_of_use

if TYPE_CHECKING:
    from toolkit.study.study import Study

__all__ = ["UNUSED_AT_VALUE", "maybe_unused"]

UNUSED_AT_VALUE: Mapping[tuple[str, float], tuple[str, ...]] = {
    ("wind_speed", 0.0): (
        "wind_from", "gust_factor", "gust_intensity", "front_factor", "front_time", "front_rise_time",
    ),
    ("current_speed", 0.0): ("current_to", "start"),
    ("wind_load_multiplier", 0.0): ("wind_from",),
    ("drag_multiplier", 0.0): ("cross_flow_drag_coefficient", "bow_drag_coefficient"),
    ("athwart_thrust_share", 1.0): ("athwart_band",),
    ("front_factor", 1.0): ("front_time", "front_rise_time"),
    ("line_arrangement", 0.0): ("bridle_leg_length",),
    ("tug_type", 0.0): ("steering_angle",),
    ("tug_type", 1.0): ("steering_angle",),
    ("failure", 0.0): (
        "failure_time", "failure_angle", "restart_time", "fault_duration", "standby_pull", "standby_time",
    ),
}  # fmt: skip
"""By an input and the value, or the code of the word, at which it makes others idle.

Without wind there still is air, through which the vessels move: `wind_load_multiplier` is used in a calm too. Where the
current has a shear, its direction and the start are used at no speed too (`toolkit.execution.distinct` looks).
"""


def maybe_unused(study: Study) -> frozenset[str]:
    """Inputs along which cases of a study may be identical; none of a job, of which every leg may use others."""
    if study.legs:
        return frozenset()
    # a word that is swept may be any: an input that is idle at some of them counts
    found: set[str] = set().union(*UNUSED_AT_VALUE.values())
    for manoeuvre in study.manoeuvres:
        for name, condition in conditions_of_use(manoeuvre).items():
            if not always_holds(condition, {n: v for n, v in study.fixed.items() if study.axis(n) is None}):
                found.add(name)
    return frozenset(found)
