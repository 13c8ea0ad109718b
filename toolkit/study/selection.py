"""Finding one case of a study by the values of its swept inputs."""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.quantities import INPUTS
from toolkit.quantities.units import format_value, parse
from toolkit.study.study import Axis, Study, tidy

__all__ = ["describe_case", "locate"]

SAME = 1e-9
"""Relative difference below which a value is a level of the grid."""


def locate(study: Study, at: Mapping[str, object]) -> int:
    """Case number of a point of a grid.

    Parameters
    ----------
    study : Study
        On a grid; cases of samples are known by their number alone.
    at : mapping
        A value for every swept input with more than one level, written as in
        a study file. A fixed input may be named if its value agrees.

    Returns
    -------
    int
        Position in C order over `study.shape`.

    Raises
    ------
    StudyError
        If a name or value does not fit; the nearest level is named.
    """
    where = "selection"
    if not study.design.is_grid:
        raise StudyError([
            Problem(where=where, what="the study is sampled and has no grid",
                    remedy=f"Name the case by its number, 0 to {study.size - 1}")
        ])  # fmt: skip
    problems: list[Problem] = []
    places: dict[str, int] = {}
    for name, text in at.items():
        if name not in INPUTS:
            near = difflib.get_close_matches(name, INPUTS, n=1)
            remedy = f"The nearest name is {near[0]}" if near else "Swept here: " + ", ".join(study.dims)
            problems.append(Problem(where=where, what=f"{name} is not an input", remedy=remedy))
            continue
        try:
            value = parse(INPUTS[name], text, where=f"{where} {name}")
        except StudyError as error:
            problems.extend(error.problems)
            continue
        axis = study.axis(name)
        if axis is None:
            fixed = study.fixed[name]
            if not _same(value, fixed):
                shown = format_value(INPUTS[name], fixed)
                problems.append(
                    Problem(where=where, what=f"{name} = {text} differs from the study, where it is fixed at {shown}",
                            remedy="Leave it out, or change the study")
                )  # fmt: skip
            continue
        place = _place(axis, value)
        if place is None:
            problems.append(
                Problem(where=where, what=f"{name} = {text} is not a value of the study",
                        remedy=f"The nearest is {_nearest(axis, value)}")
            )  # fmt: skip
        else:
            places[name] = place
    named = {name for name in at if name in INPUTS}
    for axis in study.axes:
        if axis.name not in named and len(axis) > 1:
            first = format_value(axis.quantity, axis.values[0], digits=6)
            problems.append(
                Problem(where=where, what=f"{axis.name} is swept and not named",
                        remedy=f"Add {axis.name}='{first}', or another of its values")
            )  # fmt: skip
    if problems:
        raise StudyError(problems)
    if not study.axes:
        return 0
    return int(np.ravel_multi_index([places.get(axis.name, 0) for axis in study.axes], study.shape))


def _same(value: float | str, other: float | str) -> bool:
    if isinstance(value, str) or isinstance(other, str):
        return value == other
    return math.isclose(value, other, rel_tol=SAME, abs_tol=1e-12)


def _place(axis: Axis, value: float | str) -> int | None:
    if isinstance(value, float):
        value = tidy(value)
    return next((place for place, level in enumerate(axis.values) if _same(value, level)), None)


def _nearest(axis: Axis, value: float | str) -> str:
    if isinstance(value, str):
        return ", ".join(str(word) for word in axis.values)
    levels = np.asarray(axis.values, dtype=np.float64)
    return format_value(axis.quantity, float(levels[np.argmin(np.abs(levels - value))]), digits=6)


def describe_case(study: Study, number: int) -> str:
    """Swept inputs of one case in words, such as `bollard_pull 30 t, wind_speed 12 kn`."""
    columns = study.columns([number])
    parts = (f"{axis.name} {format_value(axis.quantity, columns[axis.name][0].item())}" for axis in study.axes)
    return ", ".join(parts) or "the only case"
