"""Legs of a job: what each changes of the inputs, from the tables `[[leg]]` of a study file."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from toolkit.errors import Problem, StudyError
from toolkit.quantities import INPUTS, OUTCOMES
from toolkit.quantities.units import format_value, parse

if TYPE_CHECKING:
    from toolkit.study.study import Study

__all__ = ["LEG_INPUTS", "Leg", "describe_leg", "leg_codes", "leg_study", "legs_problems", "read_legs"]

Leg = Mapping[str, float | str]
"""What a leg changes of the inputs: numbers in dataset units, and words."""

LEG_SECTIONS = ("manoeuvre", "towline", "crew", "failure")
ORDERED = ("power_setting", "barge_towing_station", "barge_towing_offset", "tug_towing_station")
"""Of the other sections: how hard she is to work, and where the line is made fast."""
LEG_INPUTS: tuple[str, ...] = tuple(
    name for name, quantity in INPUTS.items() if quantity.section in LEG_SECTIONS or name in ORDERED
)
"""Inputs that may change from leg to leg, in the order of the register: vessels and weather do not."""

OF_THE_START = ("initial_heading", "start", "start_speed")
"""Inputs that say how a case begins, which a later leg cannot choose."""
MOST_LEGS = 50


def read_legs(value: object, name: str, problems: list[Problem], notes: list[str]) -> tuple[Leg, ...]:
    """Legs of a study file.

    Parameters
    ----------
    value : object
        What TOML gave for `leg`: a list of tables, if it was written as `[[leg]]`.
    name : str
        File name, for messages.
    problems : list of Problem
        Added to.
    notes : list of str
        Added to where something is given that has no effect.

    Returns
    -------
    tuple of mapping
        In the order of the file; what could not be read is left out.
    """
    if not isinstance(value, list) or not value or not all(isinstance(leg, Mapping) for leg in value):
        what = "leg is a table of its own" if isinstance(value, Mapping) else "leg is not a list of tables"
        problems.append(Problem(where=f"{name}: leg", what=what, remedy="Write [[leg]], two brackets, before each leg"))
        return ()
    if len(value) > MOST_LEGS:
        problems.append(Problem(where=f"{name}: leg", what=f"{len(value)} legs are more than {MOST_LEGS}"))
        return ()
    return tuple(_read_leg(leg, number, name, problems, notes) for number, leg in enumerate(value, start=1))


def _read_leg(
    table: Mapping[str, Any], number: int, name: str, problems: list[Problem], notes: list[str]
) -> dict[str, float | str]:
    from toolkit.study.study import tidy

    found: dict[str, float | str] = {}
    for key, value in table.items():
        where = f"{name}: leg {number}: {key}"
        if key not in LEG_INPUTS:
            problems.append(_no_key(where, key))
        elif isinstance(value, list | Mapping):
            remedy = f"Write one value; a sweep belongs under [{INPUTS[key].section}]"
            problems.append(Problem(where=where, what=f"{key} takes one value in a leg", remedy=remedy))
        elif number > 1 and key in OF_THE_START:
            problems.append(
                Problem(where=where, what=f"{key} has no meaning in leg {number}",
                        why=f"it begins as leg {number - 1} left both vessels", remedy="Take it out")
            )  # fmt: skip
        else:
            try:
                parsed = parse(INPUTS[key], value, where=where)
            except StudyError as error:
                problems.extend(error.problems)
                continue
            found[key] = parsed if isinstance(parsed, str) else tidy(parsed)
            if number > 1 and key == "station_from":
                notes.append(f"{where} has no effect: the tug begins where leg {number - 1} left her.")
    return {key: found[key] for key in LEG_INPUTS if key in found}


def _no_key(where: str, key: str) -> Problem:
    from toolkit.study.tables import nearest

    if key in INPUTS:
        section = INPUTS[key].section
        return Problem(where=where, what=f"{key} cannot change from leg to leg",
                       why="a leg changes inputs of " + ", ".join(f"[{each}]" for each in LEG_SECTIONS)
                       + ", and " + ", ".join(ORDERED),
                       remedy=f"Write it under [{section}], for the whole job")  # fmt: skip
    if key in OUTCOMES:
        remedy = "It is an outcome; a limit on it belongs under [limits]"
    else:
        remedy = nearest(key, LEG_INPUTS)
    return Problem(where=where, what=f"{key} is not a key of a leg", remedy=remedy)


def leg_codes(legs: Sequence[Leg]) -> tuple[dict[str, float], ...]:
    """Legs as the engine takes them: numbers in dataset units, choices by code."""
    return tuple(
        {
            name: float(INPUTS[name].choices.index(value)) if isinstance(value, str) else float(value)
            for name, value in leg.items()
        }
        for leg in legs
    )


def leg_study(study: Study, number: int) -> Study:
    """The study that one leg, from 1, would be by itself; its messages name the leg."""
    leg = study.legs[number - 1]
    fixed = {**study.fixed, **leg}
    axes = tuple(axis for axis in study.axes if axis.name not in leg)
    if not axes and not study.design.is_grid:
        axes = study.axes
        fixed = {name: value for name, value in fixed.items() if study.axis(name) is None}
    return dataclasses.replace(
        study, source=f"{study.source}: leg {number}", axes=axes, legs=(), notes=(),
        fixed={name: fixed[name] for name in INPUTS if name in fixed},
    )  # fmt: skip


def legs_problems(study: Study) -> list[Problem]:
    """Problems of inputs that do not go together in some leg; as for `toolkit.study.checks.study_problems`."""
    from toolkit.study.checks import timing_problems

    return [
        problem for number in range(1, len(study.legs) + 1) for problem in timing_problems(leg_study(study, number))
    ]


def describe_leg(leg: Leg) -> str:
    """What a leg changes, in words, its manoeuvre first."""
    changes = [format_value(INPUTS[name], value, digits=6) for name, value in leg.items() if name == "manoeuvre"]
    changes += [f"{name} {format_value(INPUTS[name], value, digits=6)}" for name, value in leg.items()
                if name != "manoeuvre"]  # fmt: skip
    return ", ".join(changes) or "as in the tables above"
