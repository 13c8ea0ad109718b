"""Reading one swept input: a list of values, or a range."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.quantities import Quantity
from toolkit.quantities.units import BEARINGS, format_value, parse
from toolkit.study.study import Axis, tidy

__all__ = ["read_axis"]

MOST_LEVELS = 100_000
RANGE_KEYS = ("from", "to", "count", "spacing")


def read_axis(
    quantity: Quantity, value: list[Any] | Mapping[str, Any], *, sampled: bool, where: str, notes: list[str]
) -> Axis:
    """Axis of a swept input.

    Parameters
    ----------
    quantity : Quantity
        The input.
    value : list or mapping
        `["0 kn", "10 kn"]` or `{ from = "5 t", to = "80 t", count = 6, spacing = "log" }`.
    sampled : bool
        Whether the design samples; a range then has no count.
    where : str
        File and key, for messages.
    notes : list of str
        Added to where numbers are sorted.

    Returns
    -------
    Axis
        With its levels, or the ends of a range that is to be sampled.

    Raises
    ------
    StudyError
        With every problem of the axis.
    """
    if isinstance(value, list):
        return _listed(quantity, value, where, notes)
    problems = _range_shape(quantity, value, sampled, where)
    ends: list[float] = []
    for key in ("from", "to"):
        if key in value and not quantity.is_choice:
            try:
                ends.append(tidy(float(parse(quantity, value[key], where=f"{where}.{key}", wrap=False))))
            except StudyError as error:
                problems.extend(error.problems)
    if problems:
        raise StudyError(problems)
    low, high = ends
    spacing = value.get("spacing", "linear")
    word = BEARINGS.get(quantity.name, "")
    shown = [format_value(quantity, end, digits=6).removeprefix(word).strip() for end in ends]
    if low >= high:
        remedy = "Swap them"
        if quantity.name in BEARINGS:
            remedy = "Write a sector across north as a list of bearings"
        raise _one(where, f"{quantity.name} = {shown[0]} to {shown[1]} does not run upward", remedy)
    if spacing == "log" and low <= 0.0:
        raise _one(where, f"{quantity.name} starts at {shown[0]}, where no logarithm exists", "Start above zero")
    if sampled:
        text = f"{shown[0]} to {shown[1]}" + (", log" if spacing == "log" else "")
        return Axis(name=quantity.name, values=np.array(ends), kind="range", spacing=spacing, text=text)
    count = value["count"]
    levels = np.geomspace(low, high, count) if spacing == "log" else np.linspace(low, high, count)
    text = f"{shown[0]} to {shown[1]}, {count} values" + (", log" if spacing == "log" else "")
    return _levels(quantity, [tidy(float(level)) for level in levels], where, text)


def _one(where: str, what: str, remedy: str, why: str = "") -> StudyError:
    return StudyError([Problem(where=where, what=what, why=why, remedy=remedy)])


def _range_shape(quantity: Quantity, value: Mapping[str, Any], sampled: bool, where: str) -> list[Problem]:
    """Problems of a range's keys, before its ends are read."""
    from toolkit.study.tables import nearest

    name = quantity.name
    problems: list[Problem] = []

    def add(key: str, what: str, remedy: str) -> None:
        problems.append(Problem(where=f"{where}.{key}" if key else where, what=what, remedy=remedy))

    if quantity.is_choice:
        add("", f"{name} is a word and has no range", f"List words: {list(quantity.choices)}")
        return problems
    for key in value:
        if key not in RANGE_KEYS:
            add(key, f"{key} is not a key of a range", nearest(key, RANGE_KEYS))
    for key in ("from", "to"):
        if key not in value:
            add("", f"{name} has no '{key}'", f"Write {{ from = ..., to = ...{'' if sampled else ', count = ...'} }}")
    spacing = value.get("spacing", "linear")
    if spacing not in ("linear", "log"):
        add("spacing", f"spacing = {spacing!r} is not one of 'linear', 'log'", "Write 'linear' or 'log'")
    count = value.get("count")
    if sampled:
        if count is not None:
            add("count", f"count = {count!r} has no meaning in a sampled design", "Take it out: [design] samples rules")
    elif count is None:
        add("", f"{name} has no 'count'", "Write count = 6, or [design] kind = 'sobol' to sample the range")
    elif isinstance(count, bool) or not isinstance(count, int):
        add("count", f"count = {count!r} is not a whole number", "Write digits without quotes")
    elif not 2 <= count <= MOST_LEVELS:
        add("count", f"count = {count} is outside [2, {MOST_LEVELS}]", "Write one value without a table, or 2 and more")
    return problems


def _listed(quantity: Quantity, value: list[Any], where: str, notes: list[str]) -> Axis:
    if not value:
        raise _one(where, f"{quantity.name} is an empty list", "List its values, or take the key out for its default")
    problems: list[Problem] = []
    parsed: list[float | str] = []
    for place, item in enumerate(value):
        try:
            result = parse(quantity, item, where=f"{where}[{place}]")
            parsed.append(result if isinstance(result, str) else tidy(result))
        except StudyError as error:
            problems.extend(error.problems)
    if problems:
        raise StudyError(problems)
    text = ", ".join(str(item) for item in value)
    if quantity.is_choice:
        words = tuple(str(word) for word in parsed)
        _refuse_twice(quantity, words, where)
        return Axis(name=quantity.name, values=words, text=text)
    numbers = [float(number) for number in parsed]
    if numbers != sorted(numbers):
        notes.append(f"{where}: the values of {quantity.name} are not in rising order; they are sorted.")
    return _levels(quantity, numbers, where, text)


def _levels(quantity: Quantity, numbers: list[float], where: str, text: str) -> Axis:
    if quantity.name in BEARINGS:
        numbers = [0.0 if number == 360.0 else number for number in numbers]
    levels: NDArray[np.float64] = np.array(sorted(numbers))
    _refuse_twice(quantity, tuple(levels.tolist()), where)
    return Axis(name=quantity.name, values=levels, text=text)


def _refuse_twice(quantity: Quantity, values: tuple[Any, ...], where: str) -> None:
    twice = [value for place, value in enumerate(values) if value in values[:place]] if len(values) < 1000 else []
    if len(values) >= 1000 and len(set(values)) < len(values):
        twice = [values[0]]
    if twice:
        shown = ", ".join(dict.fromkeys(format_value(quantity, value, digits=6) for value in twice))
        remedy = "Take it out"
        if quantity.name in BEARINGS and 0.0 in twice:
            remedy = "360 deg is 0 deg again: end one step before it"
        raise _one(where, f"{quantity.name} holds {shown} twice", remedy)
