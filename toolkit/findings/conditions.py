"""The conditions that a result holds for: inputs with one value, in words (floor 5)."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from toolkit.findings.display import display_text, long_name
from toolkit.quantities import INPUTS

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["LINE_ONLY", "fixed_text", "said_once"]

LINE_ONLY = ("line_length", "line_material")
"""Inputs that a push does not use."""

_TOLD = (
    "manoeuvre", "tug_attitude", "tug_type", "working_end", "turn", "target_angle", "bollard_pull", "power_setting",
    "displacement", "loading", "line_length", "line_material", "wind_speed", "wind_from", "gust_factor",
    "current_speed", "current_to", "water_depth", "swing_rate_limit", "basin_radius",
)  # fmt: skip


_TOLD_IF_SET = (
    "bollard_pull_derate", "skegs", "gust_intensity", "front_factor", "crew", "crew_scatter", "failure",
    "wind_load_multiplier", "drag_multiplier",
)  # fmt: skip
"""Inputs told only where they are not at their default."""


def fixed_text(dataset: xr.Dataset, leave_out: Iterable[str] = ()) -> str:
    """Inputs with one value that matter to a reader, in users' units."""
    left = set(leave_out) | {str(dim) for dim in dataset.dims}
    values: dict[str, Any] = {}
    for name in _TOLD:
        if name in dataset.coords and name not in left and dataset[name].ndim == 0:
            value = dataset[name].item()
            if isinstance(value, str) or not math.isnan(value):
                values[name] = value
    for name in _TOLD_IF_SET:
        if name in INPUTS and name in dataset.coords and name not in left and not dataset[name].ndim:
            value = dataset[name].item()
            if value != INPUTS[name].default:
                values[name] = value
    for speed, direction in (("wind_speed", "wind_from"), ("current_speed", "current_to")):
        if values.get(speed) == 0.0:
            values.pop(direction, None)
    if values.get("gust_factor") == 1.0:
        values.pop("gust_factor")
    if values.get("manoeuvre") == "swing_push":
        for name in LINE_ONLY:
            values.pop(name, None)
    said = []
    for name, value in values.items():
        words = display_text(name, value)
        said.append(words if name == "manoeuvre" else f"{long_name(name)} {words}")
    return said_once(", ".join(said)) or "none recorded"


def said_once(text: str) -> str:
    """Say 'from' and 'to' once where the name of a bearing ends in it."""
    return text.replace("wind from from ", "wind from ").replace("current to to ", "current to ")
