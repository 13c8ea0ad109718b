"""A study back from the content that a store keeps of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.quantities import INPUTS
from toolkit.quantities.units import format_interval, format_value, within
from toolkit.study.basin import basin_from_canonical
from toolkit.study.legs import LEG_INPUTS
from toolkit.study.limits import Limits
from toolkit.study.study import SCHEMA, Axis, Design, RunOptions, Study

__all__ = ["study_from_canonical"]


def study_from_canonical(
    content: Mapping[str, Any], *, title: str = "", source: str = "", limits: Limits | None = None,
    run: RunOptions | None = None,
) -> Study:  # fmt: skip
    """Inverse of `Study.canonical`.

    Parameters
    ----------
    content : mapping
        What `Study.canonical` gave, as it comes back from JSON.
    title, source : str
        Words and file name, which the content does not hold.
    limits : Limits, optional
        Which the content does not hold either; the defaults if left out.
    run : RunOptions, optional
        Likewise.

    Returns
    -------
    Study
        With the same hash.

    Raises
    ------
    StudyError
        If the content is not a study of this version, or holds values outside
        their intervals.
    """
    where = source or "stored study"
    try:
        if content["schema"] != SCHEMA:
            raise _foreign(where, f"schema = {content['schema']} is not {SCHEMA}")
        axes = tuple(_axis(entry) for entry in content["axes"])
        fixed = {
            name: math.nan if value is None else value if isinstance(value, str) else float(value)
            for name, value in content["fixed"].items()
        }
        design = Design(kind=content["design"]["kind"], samples=content["design"]["samples"])
        seed = int(content["seed"])
        legs = tuple(dict(leg) for leg in content.get("legs", ()))
        basin = basin_from_canonical(content["basin"]) if "basin" in content else None
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise _foreign(where, f"it does not hold a study ({type(error).__name__}: {error})") from None
    names = [*(axis.name for axis in axes), *fixed]
    if sorted(names) != sorted(INPUTS):
        odd = sorted(set(names) ^ set(INPUTS)) or sorted(name for name in names if names.count(name) > 1)
        raise _foreign(where, f"its inputs differ from this version's in {', '.join(odd)}")
    problems = [problem for name, value in fixed.items() for problem in _value_problems(where, name, value)]
    problems += [p for axis in axes for value in axis.values for p in _value_problems(where, axis.name, value)]
    for leg in legs:
        odd = sorted(set(leg) - set(LEG_INPUTS))
        if odd:
            raise _foreign(where, f"its legs hold what this version's do not: {', '.join(odd)}")
        problems += [problem for name, value in leg.items() for problem in _value_problems(where, name, value)]
    if design.kind not in ("grid", "latin_hypercube", "sobol"):
        problems.append(Problem(where=where, what=f"design = {design.kind!r} is not known"))
    if problems:
        raise StudyError(problems)
    return Study(
        title=title or where, source=source, axes=axes, fixed={name: fixed[name] for name in INPUTS if name in fixed},
        design=design, seed=seed, limits=limits or Limits(), run=run or RunOptions(), legs=legs,
        basin=basin,
    )  # fmt: skip


def _foreign(where: str, what: str) -> StudyError:
    return StudyError([Problem(where=where, what=what, remedy="Run the study file again with this version")])


def _axis(entry: Mapping[str, Any]) -> Axis:
    name = str(entry["name"])
    quantity = INPUTS[name]
    if "values" not in entry:
        ends = np.array([float(entry["from"]), float(entry["to"])])
        text = " to ".join(format_value(quantity, float(end), digits=6) for end in ends)
        if entry["spacing"] not in ("linear", "log"):
            raise ValueError(f"spacing {entry['spacing']!r}")
        return Axis(name=name, values=ends, kind="range", spacing=entry["spacing"], text=text)
    if quantity.is_choice:
        words = tuple(str(word) for word in entry["values"])
        return Axis(name=name, values=words, text=", ".join(words))
    levels = np.array([float(value) for value in entry["values"]])
    text = ", ".join(format_value(quantity, float(level), digits=6) for level in levels[:8])
    return Axis(name=name, values=levels, text=text + (", ..." if len(levels) > 8 else ""))


def _value_problems(where: str, name: str, value: float | str) -> list[Problem]:
    quantity = INPUTS[name]
    if quantity.is_choice:
        good = value in quantity.choices
        interval = ", ".join(quantity.choices)
    else:
        number = math.inf if isinstance(value, str) else float(value)
        good = within(quantity, number) or (math.isnan(number) and quantity.derived_unless_given)
        interval = format_interval(quantity)
    if good:
        return []
    return [Problem(where=f"{where}: {name}", what=f"{name} = {value!r} is outside {interval}", why=quantity.why)]
