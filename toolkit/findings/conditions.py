"""The conditions that a result holds for: inputs with one value that are in use, in words (floor 5)."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.findings.display import display_text, long_name
from toolkit.findings.reading import parse_json
from toolkit.quantities import INPUTS, facts_of, silent_inputs
from toolkit.quantities.manoeuvres import Facts, JobFacts, idle_in_job

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["facts_of_results", "fixed_text", "idle_of", "legs_of", "legs_text", "manoeuvres_of", "said_once"]

_TOLD = (
    "manoeuvre", "tug_attitude", "tug_type", "working_end", "turn", "target_angle", "target_heading", "side_way",
    "berth_gap", "approach_speed", "hold_tolerance", "hold_time", "start_speed", "tow_distance", "check_from",
    "slow_speed", "walk_distance", "station_from", "station_to", "bollard_pull", "power_setting", "displacement",
    "loading", "line_length", "line_material", "wind_speed", "wind_from", "gust_factor", "current_speed", "current_to",
    "water_depth", "swing_rate_limit", "basin_radius",
)  # fmt: skip

_TOLD_IF_SET = (
    "bollard_pull_derate", "skegs", "gust_intensity", "front_factor", "current_shear", "tide", "making_fast",
    "line_arrangement", "make_fast_time", "push_station", "lead_angle", "crew", "crew_scatter", "failure",
    "wind_load_multiplier", "drag_multiplier",
)  # fmt: skip
"""Inputs told only where they are not at their default."""

_TOLD_OF_FAILURES = {
    "failure_time": "", "failure_angle": "", "restart_time": "black_out", "fault_duration": "order", "watch_time": "",
    "standby_pull": "", "standby_time": "",
}  # fmt: skip
"""Inputs told where something fails, with what is in the word of the failures that they are for."""


def legs_of(dataset: xr.Dataset) -> tuple[Mapping[str, Any], ...]:
    """What each leg of a job changes of the inputs, in dataset units; empty for results of single manoeuvres."""
    legs = parse_json(dataset.attrs, "study").get("legs") or json.loads(str(dataset.attrs.get("legs", "[]")))
    return tuple(leg for leg in legs if isinstance(leg, dict))


def manoeuvres_of(dataset: xr.Dataset) -> tuple[str, ...]:
    """Manoeuvres of results or of a part of them, each once; of a job those of its legs; empty if not recorded."""
    given = np.atleast_1d(dataset.variables["manoeuvre"].values).tolist() if "manoeuvre" in dataset.variables else []
    legs = legs_of(dataset)
    words = [leg.get("manoeuvre", *given[:1]) for leg in legs] if legs else given
    return tuple(dict.fromkeys(map(str, words)))


def facts_of_results(dataset: xr.Dataset) -> Facts | JobFacts:
    """What is to be drawn of results of one manoeuvre, or of a job."""
    if legs_of(dataset):
        return facts_of(None)
    return facts_of(next(iter(manoeuvres_of(dataset)), ""))


def idle_of(dataset: xr.Dataset) -> frozenset[str]:
    """Inputs that none of the manoeuvres of results uses; of a job, also those that every leg sets for itself."""
    held = dataset.variables  # the bare variables: making arrays of a hundred coordinates takes long
    choices = (name for name, quantity in INPUTS.items() if quantity.is_choice and name in held)
    words = {name: held[name].values.item() for name in choices if not held[name].ndim}
    if legs := legs_of(dataset):
        return idle_in_job(legs, words)
    found = [silent_inputs(one, words) for one in manoeuvres_of(dataset)]
    return frozenset.intersection(*found) if found else frozenset()


def legs_text(dataset: xr.Dataset) -> str:
    """Legs of a job with what each sets for itself and uses; empty for results of single manoeuvres."""
    told = []
    for number, leg in enumerate(legs_of(dataset), start=1):
        word = str(leg.get("manoeuvre", next(iter(manoeuvres_of(dataset)), "")))
        idle = silent_inputs(word, leg)
        own = [f"{long_name(n)} {display_text(n, v)}" for n, v in leg.items() if n != "manoeuvre" and n not in idle]
        told.append(f"{number} {', '.join([display_text('manoeuvre', word), *own])}")
    return "; ".join(told)


def fixed_text(dataset: xr.Dataset, leave_out: Iterable[str] = ()) -> str:
    """Inputs with one value that are in use and matter to a reader, in users' units; of a job its legs too.

    An input that was swept over one value alone has one value.
    """
    left = set(leave_out) | {str(dim) for dim, size in dataset.sizes.items() if size > 1} | idle_of(dataset)
    values: dict[str, Any] = {}
    held = dataset.variables
    failures = [str(word) for word in np.ravel(held["failure"].values) if word != "none"] if "failure" in held else []
    of_failures = [name for name, part in _TOLD_OF_FAILURES.items() if any(part in word for word in failures)]
    for name in (*_TOLD, *_TOLD_IF_SET, *of_failures):
        if name not in INPUTS or name not in held or name in left or held[name].size != 1:
            continue
        value = held[name].values.item()
        missing = not isinstance(value, str) and math.isnan(value)
        if not missing and (name not in _TOLD_IF_SET or value != INPUTS[name].default):
            values[name] = value
    for better, other in (("target_heading", "target_angle"), ("failure_angle", "failure_time")):
        if better in values or _in_all_legs(dataset, better, other):
            values.pop(other, None)
    if "standby_pull" not in values and "standby_pull" not in left:
        values.pop("standby_time", None)
    for speed, direction in (("wind_speed", "wind_from"), ("current_speed", "current_to")):
        if values.get(speed) == 0.0:
            values.pop(direction, None)
    for name, default in (("gust_factor", 1.0), ("start_speed", 0.0)):
        if values.get(name) == default:
            values.pop(name)
    if "check_way" not in manoeuvres_of(dataset) and values.get("failure", "none") == "none" and "failure" not in left:
        values.pop("slow_speed", None)
    said = []
    for name, value in values.items():
        words = display_text(name, value)
        said.append(words if name == "manoeuvre" else f"{long_name(name)} {words}")
    text = said_once(", ".join(said)) or "none recorded"
    return f"{text}. Legs: {legs_text(dataset)}" if legs_of(dataset) else text


def _in_all_legs(dataset: xr.Dataset, better: str, other: str) -> bool:
    """Whether every leg of a job that would use the `other` of two inputs sets the `better` one, which rules it out."""
    given = next(iter(manoeuvres_of(dataset)), "")
    held = [leg for leg in legs_of(dataset) if other not in silent_inputs(str(leg.get("manoeuvre", given)), leg)]
    return bool(held) and all(better in leg for leg in held)


def said_once(text: str) -> str:
    """Say 'from' and 'to' once where the name of a bearing ends in it."""
    return text.replace("wind from from ", "wind from ").replace("current to to ", "current to ")
