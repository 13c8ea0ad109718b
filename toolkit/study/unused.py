"""Inputs that a case never looks at, given its manoeuvre and its weather."""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["UNUSED_AT_REST", "UNUSED_BY_MANOEUVRE"]

UNUSED_BY_MANOEUVRE: Mapping[str, tuple[str, ...]] = {
    "swing_push": ("line_length", "line_material", "line_mbl", "lead_angle"),
    "swing_pull": ("push_station",),
}
"""By manoeuvre: the line of a push, the push station of a pull."""

UNUSED_AT_REST: Mapping[str, tuple[str, ...]] = {
    "wind_speed": ("wind_from", "gust_factor"),
    "current_speed": ("current_to",),
}
"""By the input that is zero: direction and gusts of no wind, direction of no current."""
