"""What the figures of one case need of its history dataset (floor 6)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.style import CAUTION, DIRECTION_NOTE
from toolkit.figures.view import fixed_text
from toolkit.findings.display import display_text, long_name
from toolkit.findings.limits import limits_of, limits_text
from toolkit.findings.reading import provenance
from toolkit.motion.phases import Phase
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["channel", "fact", "history_caption", "outcome_name", "phase_spans"]

_OUTCOMES_TOLD = (
    "time_to_turn", "time_to_steady", "overshoot", "peak_heel", "peak_tension", "peak_contact_force", "drift_distance",
    "swept_radius_barge", "swept_radius_all",
)  # fmt: skip


def channel(history: xr.Dataset, name: str) -> NDArray[np.float64]:
    """Values of a channel along time [dataset unit]; all NaN if it is not there."""
    if name not in history.variables:
        return np.full(history.sizes.get("time", 0), np.nan)
    return np.asarray(history[name].values, dtype=np.float64)


def fact(history: xr.Dataset, name: str) -> Any:
    """One fact of a case, from a scalar variable or an attribute; NaN if it is not there."""
    if name in history.variables and history[name].ndim == 0:
        value = history[name].item()
    else:
        value = history.attrs.get(name, math.nan)
    return value if isinstance(value, str) else float(value)


def outcome_name(history: xr.Dataset) -> str:
    """Word for how the case ended."""
    value = fact(history, "outcome")
    if isinstance(value, str):
        return value.replace("_", " ")
    return "not recorded" if math.isnan(value) else Outcome(int(value)).name.replace("_", " ")


def phase_spans(history: xr.Dataset) -> list[tuple[float, float, str]]:
    """Spans of time in one phase: (start [s], end [s], words)."""
    time, phase = channel(history, "time"), channel(history, "phase")
    words = {int(phase): phase.name.replace("_", " ") for phase in Phase}
    spans: list[tuple[float, float, str]] = []
    known = np.isfinite(phase)
    time, codes = time[known], phase[known].astype(int)
    if not codes.size:
        return spans
    starts = np.concatenate(([0], np.nonzero(np.diff(codes))[0] + 1))
    for place, start in enumerate(starts):
        end = starts[place + 1] if place + 1 < starts.size else codes.size - 1
        code = int(codes[start])
        spans.append((float(time[start]), float(time[end]), words.get(code, f"phase {code}")))
    return spans


def history_caption(history: xr.Dataset, lead: str, limits: object | None = None) -> tuple[str, ...]:
    """Paragraphs below a figure of one case; limits by default those of its attribute, if any."""
    told = []
    for name in _OUTCOMES_TOLD:
        value = fact(history, name)
        if not isinstance(value, str) and math.isfinite(value):
            told.append(f"{long_name(name)} {display_text(name, value)}")
    return (
        lead,
        f"One case. How it ended: {outcome_name(history)}. {'; '.join(told).capitalize() or 'No outcome has a value'}.",
        f"Limits: {limits_text(limits_of(history, limits))}.",
        f"Inputs: {fixed_text(history)}.",
        f"{DIRECTION_NOTE}. {provenance(history.attrs)}",
        CAUTION,
    )
