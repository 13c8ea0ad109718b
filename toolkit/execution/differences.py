"""What differs between the study that a store holds and the one to be run."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from toolkit.execution.attributes import SCHEMA_VERSION
from toolkit.quantities import INPUTS

__all__ = ["difference", "differences", "of_the_model"]

PLURALS = {"axes": "axis"}

LONGEST = 60
"""Characters of a value in a message."""


def differences(stored: Mapping[str, Any], wanted: Mapping[str, Any]) -> list[str]:
    """Compare the global attributes of a store with those of the study to be run.

    Parameters
    ----------
    stored, wanted : mapping
        Global attributes, as `toolkit.execution.layout.global_attributes` makes them.

    Returns
    -------
    list of str
        One line for each thing that forbids going on; empty if nothing does.
    """
    if stored.get("schema_version") != SCHEMA_VERSION:
        return of_the_model(stored, wanted)
    lines: list[str] = []
    if stored.get("study_hash") != wanted["study_hash"]:
        there, here = _contents(stored.get("study")), _contents(wanted["study"])
        for key in sorted({*there, *here}):
            old, new = there.get(key, "nothing"), here.get(key, "nothing")
            if old != new:
                remark = _on_samples(there.get("design kind")) if key == "design samples" else ""
                lines.append(f"{difference(key, old, new)}{remark}")
        if not lines:
            lines.append(f"study: hash {stored.get('study_hash')} there, {wanted['study_hash']} here")
    return lines + of_the_model(stored, wanted)


def of_the_model(stored: Mapping[str, Any], wanted: Mapping[str, Any]) -> list[str]:
    """Differences in what makes the results of a case, whatever the study; arguments as for `differences`."""
    if stored.get("schema_version") != SCHEMA_VERSION:
        return [f"layout of the store: version {stored.get('schema_version')} there, version {SCHEMA_VERSION} here"]
    lines: list[str] = []
    if stored.get("model_hash") != wanted["model_hash"]:
        lines.append(
            f"model: {stored.get('model_hash')} (version {stored.get('toolkit_version')}) there, "
            f"{wanted['model_hash']} (version {wanted['toolkit_version']}) here; its results may differ"
        )
    if stored.get("step_rule") != wanted["step_rule"]:
        lines.append(f"step rule: {stored.get('step_rule')} there, {wanted['step_rule']} here")
    return lines


def difference(key: str, there: Any, here: Any) -> str:
    """What stands under a key in a store, and in the study to be run, in words with the unit of datasets."""
    return f"{key}: {_shown(there)} there, {_shown(here)} here{_unit(key)}"


def _on_samples(kind: Any) -> str:
    """What can be done about another number of samples."""
    if kind == "latin_hypercube":
        return "; a Latin hypercube cannot be extended, as every stratum already holds its one case"
    if kind == "sobol":
        return "; the shorter Sobol' sequence is the beginning of the longer, so its cases can be taken over"
    return ""


def _contents(text: Any) -> dict[str, Any]:
    try:
        return dict(_flatten("", json.loads(text)))
    except (TypeError, ValueError):
        return {}


def _flatten(place: str, value: Any) -> Iterator[tuple[str, Any]]:
    """Leaves of nested tables by their keys; a list is a leaf, unless it holds tables."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _flatten(f"{place} {key}" if place else str(key), inner)
    elif isinstance(value, list) and value and all(isinstance(inner, dict) and "name" in inner for inner in value):
        for inner in value:
            rest = {key: part for key, part in inner.items() if key != "name"}
            yield f"{PLURALS.get(place, place)} {inner['name']}", rest.get("values", rest)
    else:
        yield place, value


def _shown(value: Any) -> str:
    text = value if isinstance(value, str) else "not given" if value is None else json.dumps(value)
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 3]}..."


def _unit(key: str) -> str:
    for part in reversed(key.split()):
        if part in INPUTS:
            unit = INPUTS[part].unit
            return f" [{unit}]" if unit not in ("", "1") else ""
    return ""
