"""What the figures of one case need of its history dataset (floor 6)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.style import CAUTION, DIRECTION_NOTE
from toolkit.figures.view import fixed_text
from toolkit.findings.conditions import facts_of_results, legs_of
from toolkit.findings.display import as_sentence, display_text, long_name
from toolkit.findings.limits import limits_of, limits_text
from toolkit.findings.reading import provenance
from toolkit.motion.phases import Phase
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "Event", "Stream", "bears", "channel", "clock", "events_of", "fact", "history_caption", "number",
    "outcome_name", "phase_spans", "streams_of",
]  # fmt: skip

_OUTCOMES_TOLD = (
    "time_to_turn", "time_to_steady", "overshoot", "peak_heel", "peak_tension", "peak_contact_force", "drift_distance",
    "swept_radius_barge", "swept_radius_all",
)  # fmt: skip
"""Outcomes told of every case that has them, behind those that are drawn of its manoeuvre."""


LEG_DASHES = ((0, (4, 2)), (0, (1, 1)), (0, (6, 1, 1, 1)), (0, (2, 3)), (0, (8, 2)), (0, (4, 1, 1, 1, 1, 1)))
"""Lines at which legs begin, told apart by their dashes."""


def channel(history: xr.Dataset, name: str) -> NDArray[np.float64]:
    """Values of a channel along time [dataset unit]; all NaN if it is not there."""
    if name not in history.variables:
        return np.full(history.sizes.get("time", 0), np.nan)
    return np.asarray(history[name].values, dtype=np.float64)


def bears(history: xr.Dataset, name: str) -> bool:
    """Whether a channel has any value; what does not apply to a manoeuvre is missing throughout."""
    return bool(np.isfinite(channel(history, name)).any())


def fact(history: xr.Dataset, name: str) -> Any:
    """One fact of a case, from a scalar variable or an attribute; NaN if it is not there."""
    if name in history.variables and history[name].ndim == 0:
        value = history[name].item()
    else:
        value = history.attrs.get(name, math.nan)
    return value if isinstance(value, str) else float(value)


def number(history: xr.Dataset, name: str) -> float:
    """One fact of a case that is a number; NaN if it is not there or is a word."""
    value = fact(history, name)
    return value if isinstance(value, float) else math.nan


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


def clock(seconds: float) -> str:
    """Simulated time in words, such as ``4 min 07 s``."""
    minutes, rest = divmod(math.floor(seconds + 0.5), 60)
    return f"{minutes} min {rest:02d} s"


@dataclass(frozen=True, kw_only=True)
class Event:
    """One moment of a case that is marked on its time histories.

    Attributes
    ----------
    time : float
        Since the first order [s].
    words : str
    line : str or tuple
        Line style, as matplotlib takes it.
    ends : bool
        Whether the case ended here otherwise than as meant.
    """

    time: float
    words: str
    line: Any
    ends: bool = False


def events_of(history: xr.Dataset) -> list[Event]:
    """Moments to mark: the target heading passed, steady, the time of the job, and an end other than `completed`.

    Of a job where its legs begin, the berth met, and the end.
    """
    moments: tuple[tuple[str, str, Any], ...] = (
        ("time_to_turn", "target heading first passed", (0, (4, 2))),
        ("time_to_steady", "steady from here", "-."),
    )
    time_of_job = facts_of_results(history).time
    if time_of_job not in ("end_time", *(name for name, _, _ in moments)):
        moments = (*moments, (time_of_job, long_name(time_of_job), "-."))
    events = []
    if legs := legs_of(history):
        moments = (("time_to_berth", "berth met", "-."),)
        events.extend(_legs_begun(history, legs))
    for name, words, line in moments:
        at = number(history, name)
        if math.isfinite(at):
            events.append(Event(time=at, words=words, line=line))
    ended, time = outcome_name(history), channel(history, "time")
    if time.size and ended not in ("completed", "not recorded"):
        events.append(Event(time=float(time[-1]), words=f"ended: {ended}", line="-", ends=True))
    return events


def _legs_begun(history: xr.Dataset, legs: Sequence[Mapping[str, Any]]) -> list[Event]:
    """Where each leg that was begun begins."""
    time, number_of = channel(history, "time"), channel(history, "leg")
    begun = []
    for place, leg in enumerate(legs, start=1):
        here = np.flatnonzero(number_of == place)
        if here.size:
            words = f"leg {place}, {display_text('manoeuvre', leg.get('manoeuvre', fact(history, 'manoeuvre')))}"
            begun.append(Event(time=float(time[here[0]]), words=words, line=LEG_DASHES[(place - 1) % len(LEG_DASHES)]))
    return begun


@dataclass(frozen=True, kw_only=True)
class Stream:
    """Wind or current of a case.

    Attributes
    ----------
    name : str
        ``wind`` or ``current``.
    words : tuple of str
        Speed, and the direction with its ``from`` or ``to``; or that there is none.
    toward : float
        True bearing toward which it goes [degree]; NaN where there is none.
    """

    name: str
    words: tuple[str, ...]
    toward: float


def streams_of(history: xr.Dataset) -> tuple[Stream, Stream]:
    """Wind and current as an arrow and its words; the wind's arrow points where it blows to."""
    rows = (("wind", "wind_speed", "wind_from", 180.0), ("current", "current_speed", "current_to", 0.0))
    made = []
    for name, speed_name, direction_name, turned in rows:
        speed, direction = number(history, speed_name), number(history, direction_name)
        toward = math.nan
        if not math.isfinite(speed) or not math.isfinite(direction):
            words: tuple[str, ...] = (f"{name} not recorded",)
        elif speed == 0.0:
            words = (f"no {name}",)
        else:
            words = (f"{name} {display_text(speed_name, speed)}", display_text(direction_name, direction))
            toward = direction + turned
        made.append(Stream(name=name, words=words, toward=toward))
    return made[0], made[1]


def history_caption(history: xr.Dataset, lead: str, limits: object | None = None) -> tuple[str, ...]:
    """Paragraphs below a figure of one case; limits by default those of its attribute, if any."""
    told = []
    drawn = [name for name in facts_of_results(history).figures if name != "peak_heel_fraction"]
    for name in dict.fromkeys((*drawn, *_OUTCOMES_TOLD)):
        value = fact(history, name)
        if not isinstance(value, str) and math.isfinite(value):
            told.append(f"{long_name(name)} {display_text(name, value)}")
    return (
        lead,
        f"One case. How it ended: {outcome_name(history)}. {as_sentence('; '.join(told)) or 'No outcome has a value'}.",
        f"Limits: {limits_text(limits_of(history, limits))}.",
        f"Inputs: {fixed_text(history)}.",
        f"{DIRECTION_NOTE}. {provenance(history.attrs)}",
        CAUTION,
    )
