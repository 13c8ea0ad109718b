"""The tables of a study file that hold no quantities: top keys, `[design]`, `[run]`."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from toolkit.errors import Problem

__all__ = ["DesignTable", "RunTable", "TopKeys", "nearest", "validated"]

MOST_SAMPLES = 2**22


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class TopKeys(_Table):
    """Keys before the first table."""

    title: str = Field("", max_length=200, description="Words for figures and datasets; the file name if left out.")
    seed: int = Field(1, ge=0, lt=2**63, description="Seed of a sampled design.")


class DesignTable(_Table):
    """`[design]`."""

    kind: Literal["grid", "latin_hypercube", "sobol"] = Field(
        "grid", description="Every combination of the swept values, or samples of their ranges."
    )
    samples: int | None = Field(None, ge=1, le=MOST_SAMPLES, description="Number of cases of a sampled design.")


class RunTable(_Table):
    """`[run]`."""

    cases_per_chunk: int = Field(
        2048, ge=1, le=2**20, description="Cases in one task and one chunk of the store; results do not depend on it."
    )


T = TypeVar("T", bound=_Table)


def validated(model: type[T], content: Mapping[str, Any], *, where: str, problems: list[Problem]) -> T:
    """Table read into its model; what is wrong is added to `problems` and left at its default.

    Parameters
    ----------
    model : type
        One of the models of this module.
    content : mapping
        Keys and values as TOML gave them.
    where : str
        File and table, such as `basin.toml: design.`.
    problems : list of Problem
        Added to.

    Returns
    -------
    model instance
        With defaults in place of what could not be read.
    """
    try:
        return model.model_validate(dict(content))
    except ValidationError as error:
        bad = set()
        for entry in error.errors(include_url=False):
            key = str(entry["loc"][0])
            bad.add(key)
            problems.append(_problem(model, key, entry, where))
        return model.model_validate({key: value for key, value in content.items() if key not in bad})


def _problem(model: type[_Table], key: str, entry: Any, where: str) -> Problem:
    shown = f"{key} = {entry['input']!r}"
    if len(shown) > 100:
        shown = shown[:97] + "..."
    context = entry.get("ctx", {})
    match entry["type"]:
        case "extra_forbidden":
            return Problem(where=where + key, what=f"{key} is not a key here", remedy=nearest(key, model.model_fields))
        case "literal_error":
            return Problem(where=where + key, what=f"{shown} is not one of {context['expected'].replace(' or ', ', ')}")
        case "int_type":
            return Problem(where=where + key, what=f"{shown} is not a whole number", remedy="Write digits, no quotes")
        case "string_type":
            return Problem(where=where + key, what=f"{shown} is not text", remedy="Put it in quotes")
        case "string_too_long":
            return Problem(where=where + key, what=f"{shown} is longer than {context['max_length']} letters")
        case _:
            bounds = model.model_fields[key].metadata
            low = next((bound.ge for bound in bounds if hasattr(bound, "ge")), "")
            high = next((bound.le for bound in bounds if hasattr(bound, "le")), "2^63 - 1")
            return Problem(where=where + key, what=f"{shown} is outside [{low}, {high}]")


def nearest(name: str, known: Iterable[str]) -> str:
    """Remedy for an unknown name: the nearest known one, else all of them."""
    names = list(known)
    near = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
    if near:
        return f"The nearest name is {near[0]}"
    if len(names) <= 12:
        return "Known here: " + ", ".join(names)
    return "`towage check --keys` lists every key"
