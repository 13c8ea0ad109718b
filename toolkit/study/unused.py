"""Inputs that a case never looks at, given its manoeuvre, how it is made fast, and its weather."""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["MAYBE_UNUSED", "UNUSED_AT_VALUE", "UNUSED_BY_MANOEUVRE"]

LINE = (
    "line_length", "line_material", "line_mbl", "line_arrangement", "bridle_leg_length", "wash_on_barge_share",
    "lead_angle", "towing_point_height", "tug_towing_station", "barge_towing_station", "barge_towing_offset",
    "barge_fitting_swl", "release_heel_fraction", "release_time",
)  # fmt: skip
FENDER = ("push_station", "fender_friction", "fender_height")

UNUSED_BY_MANOEUVRE: Mapping[str, tuple[str, ...]] = {"swing_push": LINE, "swing_pull": FENDER}
"""By manoeuvre: all of the line in a push that is made fast one way, all of the fender in a pull."""

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
    ("failure", 0.0): (
        "failure_time", "failure_angle", "restart_time", "fault_duration", "standby_pull", "standby_time",
    ),
}  # fmt: skip
"""By an input and the value, or the code of the word, at which it makes others idle.

Without wind there still is air, through which the vessels move: `wind_load_multiplier` is used in a calm too. Where the
current has a shear, its direction and the start are used at no speed too (`toolkit.execution.distinct` looks).
"""

MAYBE_UNUSED: frozenset[str] = frozenset(
    name for group in (UNUSED_BY_MANOEUVRE, UNUSED_AT_VALUE) for names in group.values() for name in names
)
"""Inputs along which cases may be identical."""
