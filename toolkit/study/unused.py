"""Inputs that a case never looks at, given its manoeuvre and its weather."""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["MAYBE_UNUSED", "UNUSED_AT_VALUE", "UNUSED_BY_MANOEUVRE"]

UNUSED_BY_MANOEUVRE: Mapping[str, tuple[str, ...]] = {
    "swing_push": (
        "line_length", "line_material", "line_mbl", "lead_angle", "towing_point_height", "barge_fitting_swl",
    ),
    "swing_pull": ("push_station", "fender_friction", "fender_height"),
}  # fmt: skip
"""By manoeuvre: all of the line in a push, all of the fender in a pull."""

UNUSED_AT_VALUE: Mapping[tuple[str, float], tuple[str, ...]] = {
    ("wind_speed", 0.0): ("wind_from", "gust_factor"),
    ("current_speed", 0.0): ("current_to", "start"),
    ("wind_load_multiplier", 0.0): ("wind_from",),
    ("drag_multiplier", 0.0): ("cross_flow_drag_coefficient", "bow_drag_coefficient"),
    ("athwart_thrust_share", 1.0): ("athwart_band",),
}
"""By an input and the value at which it makes others idle.

Without wind there still is air, through which the vessels move: `wind_load_multiplier` is used in a calm too.
"""

MAYBE_UNUSED: frozenset[str] = frozenset(
    name for group in (UNUSED_BY_MANOEUVRE, UNUSED_AT_VALUE) for names in group.values() for name in names
)
"""Inputs along which cases may be identical."""
