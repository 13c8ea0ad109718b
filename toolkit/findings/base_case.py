"""The case about which limits of a study are searched: every input at one value, choices apart (floor 5)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.conditions import said_once
from toolkit.findings.display import display_text, long_name
from toolkit.quantities import INPUTS
from toolkit.quantities.units import parse

if TYPE_CHECKING:
    from toolkit.study import Axis, Study

__all__ = ["BaseCase", "base_case", "check_single_cases", "spread_values"]

_LOWEST = ("wind_speed", "current_speed")
_FIRST = ("draw", "wind_from", "current_to")
MOST_SETS = 6
"""Most combinations of choices that limits are searched for."""


@dataclass(frozen=True, kw_only=True)
class BaseCase:
    """Inputs of a study at one value each.

    Attributes
    ----------
    inputs : dict
        Every input that is not to be derived, without `choices`: numbers in
        dataset units, or words.
    sets : tuple of dict
        Combinations of the choices that the study sweeps, at most `MOST_SETS`;
        one that is empty if it sweeps none.
    notes : tuple of str
        Which value was taken of what the study sweeps, one line each.
    """

    inputs: dict[str, Any]
    sets: tuple[dict[str, str], ...]
    notes: tuple[str, ...]

    def words(self, number: int) -> str:
        """Words for one set, such as ``swing push, fore and aft``; empty without choices."""
        return ", ".join(display_text(name, word) for name, word in self.sets[number].items())


def check_single_cases(study: Study, what: str) -> list[Problem]:
    """What keeps cases of a study from being run as rows of a table: legs and the edges of a basin are in no column.

    Parameters
    ----------
    study : Study
    what : str
        What is to be done with them, such as ``limits are searched``.

    Returns
    -------
    list of Problem
        Run without them, the cases would be of the default manoeuvre, or of
        open water, and the answer would look like one about the study.
    """
    where = study.source or "study"
    problems = []
    if study.legs:
        problems.append(
            Problem(where=where, what=f"[[leg]] stands {len(study.legs)} times, a job of several legs",
                    why=f"{what} for one manoeuvre at a time, and a leg begins where the one before it ended",
                    remedy="Write a study of the leg in question, or sweep the wind and use `towage envelope`")
        )  # fmt: skip
    if len(study.setting.edges):
        problems.append(
            Problem(where=where, what="[basin] draws edges",
                    why=f"{what} in open water, where nothing meets them",
                    remedy="Give basin_radius with a limit on room_to_edge instead, or sweep the wind and use "
                    "`towage envelope`")
        )  # fmt: skip
    return problems


def base_case(study: Study, at: Mapping[str, str | float] | None = None) -> BaseCase:
    """Take one value of everything that a study sweeps.

    Parameters
    ----------
    study : Study
        A grid or samples.
    at : mapping, optional
        Values of inputs, swept or not: texts with units or words, as in a study
        file, or numbers in dataset units.

    Returns
    -------
    BaseCase
        Unless named in `at`: of speeds the lowest, of directions and draws the
        first, of all other numbers the middle value (of ranges their middle);
        of choices all words, in combination.

    Raises
    ------
    StudyError
        For legs and edges (see :func:`check_single_cases`), for every name of
        `at` that is no input, every value that cannot be read, and if the
        choices make more than `MOST_SETS` combinations.
    """
    given: dict[str, float | str] = {}
    problems = check_single_cases(study, "limits are searched")
    for name, value in (at or {}).items():
        if name not in INPUTS:
            problems.append(Problem(where="at", what=f"{name} is not an input",
                                    remedy="`towage check --keys` lists them"))  # fmt: skip
            continue
        try:
            given[name] = parse(INPUTS[name], value, where=f"at {name}") if isinstance(value, str) else float(value)
        except StudyError as error:
            problems.extend(error.problems)
    swept = {axis.name: axis for axis in study.axes if axis.name not in given}
    choices = {name: list(map(str, axis.values)) for name, axis in swept.items() if isinstance(axis.values, tuple)}
    sets = [dict(zip(choices, words, strict=True)) for words in product(*choices.values())]
    if len(sets) > MOST_SETS:
        problems.append(
            Problem(where=study.source or "study", what=f"the choices swept make {len(sets)} combinations",
                    why=f"limits are searched for {MOST_SETS} at most",
                    remedy=f"Name one word of some: {', '.join(f'{n} ({len(w)})' for n, w in choices.items())}")
        )  # fmt: skip
    if problems:
        raise StudyError(problems)
    values: dict[str, Any] = {**study.fixed, **given}
    notes = [f"{long_name(name)} {display_text(name, value)} (chosen)" for name, value in given.items()]
    for name, axis in swept.items():
        if name not in choices:
            values[name], why = _one_of(axis)
            notes.append(f"{long_name(name)} {display_text(name, values[name])} ({why})")
    if isinstance(values.get("draw_seed"), float) and math.isnan(values["draw_seed"]):
        values["draw_seed"] = float(study.seed)
    kept = {n: v for n, v in values.items() if n not in choices and not (isinstance(v, float) and math.isnan(v))}
    return BaseCase(inputs=kept, sets=tuple(sets), notes=tuple(map(said_once, notes)))


def _one_of(axis: Axis) -> tuple[float, str]:
    values = np.asarray(axis.values, dtype=np.float64)
    if axis.name in _LOWEST:
        return float(values.min()), "lowest"
    if axis.name in _FIRST:
        return float(values[0]), "first"
    if axis.kind == "range":
        return float(axis.at(np.array([0.5]))[0]), "middle of its range"
    return float(np.sort(values)[(values.size - 1) // 2]), f"middle of {values.size}"


def spread_values(study: Study, name: str, most: int) -> tuple[float, ...]:
    """At most so many values spread over what a study sweeps of one input; its one value where it is fixed.

    Parameters
    ----------
    study : Study
    name : str
        An input that is a number.
    most : int
        2 or more.
    """
    axis = study.axis(name)
    if axis is None:
        return (float(study.fixed[name]),)
    if axis.kind == "range":
        return tuple(float(v) for v in axis.at(np.linspace(0.0, 1.0, most)))
    values = np.sort(np.asarray(axis.values, dtype=np.float64))
    places = np.unique(np.linspace(0, values.size - 1, min(most, values.size)).round().astype(int))
    return tuple(float(v) for v in values[places])
