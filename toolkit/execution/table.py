"""Reading a table of cases: columns of inputs, checked, in the units and codes of the engine."""

from __future__ import annotations

import difflib
import math
from collections.abc import Hashable, Mapping
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.execution.distinct import Columns
from toolkit.quantities import INPUTS, REGISTER, Quantity
from toolkit.quantities.units import format_interval, parse, within

__all__ = ["read_table"]

WHERE = "table of cases"


class _Raw(NamedTuple):
    """A column as the user gave it."""

    name: str
    values: NDArray[Any]
    unit: str
    """Unit that the column says it is in; empty if it says none."""


def read_table(cases: Any) -> Columns:
    """Columns of the inputs that a table gives.

    Parameters
    ----------
    cases : mapping, pandas.DataFrame or xarray.Dataset
        As for `toolkit.evaluate`.

    Returns
    -------
    dict of ndarray
        Shape (n_case,) for every input that is given.

    Raises
    ------
    StudyError
        With every problem found.
    """
    raw = _raw_columns(cases)
    problems = _name_problems([column.name for column in raw])
    known = {column.name: column for column in raw if column.name in INPUTS}
    lengths = {name: len(column.values) for name, column in known.items() if column.values.ndim}
    count = max(lengths.values(), default=1)
    if count == 0:
        problems.append(_no_rows())
    for name, length in lengths.items():
        if length != count:
            problems.append(
                Problem(
                    where=f"{WHERE}, column {name}",
                    what=f"{name} has {length} rows, and the longest column has {count}",
                    remedy="Give one value, or one for every case",
                )
            )
    columns: Columns = {}
    for name, column in known.items():
        values, found = _in_unit(INPUTS[name], np.atleast_1d(column.values), column.unit)
        if not found:
            values, found = _column(INPUTS[name], values)
        problems += found
        columns[name] = np.full(count, values[0]) if len(values) == 1 else values
    if problems:
        raise StudyError(problems)
    return columns


def _no_rows() -> Problem:
    return Problem(
        where=WHERE, what="the table has no rows", remedy="Give at least one case; an empty mapping is the default one"
    )


def _name_problems(names: list[str]) -> list[Problem]:
    """Names that stand twice, that are outcomes, or that nobody knows."""
    problems = []
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            problems.append(
                Problem(where=WHERE, what=f"column {name} stands {names.count(name)} times", remedy="Keep one of them")
            )
        if name in INPUTS or name == "case":
            continue
        if name in REGISTER:
            what, remedy = f"{name} is an outcome and not an input", "Leave it out; it is computed"
        else:
            near = difflib.get_close_matches(name, INPUTS, n=1)
            what = f"{name} is not an input"
            remedy = f"Did you mean {near[0]}?" if near else "`towage check --keys` lists them"
        problems.append(Problem(where=WHERE, what=what, remedy=remedy))
    return problems


def _raw_columns(cases: Any) -> list[_Raw]:
    """Columns as the user gave them, each of no or one dimension."""
    import xarray as xr

    if isinstance(cases, xr.Dataset):
        names = [str(name) for name in cases.variables if name in INPUTS]
        if not names:
            raise StudyError([_no_rows()])
        others = [_Raw(str(name), np.empty(0), "") for name in cases.data_vars if name not in REGISTER]
        stacked = xr.broadcast(*(cases[name].reset_coords(drop=True) for name in names))
        found = zip(names, stacked, strict=True)
        return [_Raw(name, array.values.reshape(-1), _unit_of(cases[name])) for name, array in found] + others
    if not hasattr(cases, "items"):
        raise StudyError(
            [
                Problem(
                    where=WHERE,
                    what=f"a {type(cases).__name__} is not a table",
                    remedy="Give a mapping of names to columns, a pandas DataFrame or an xarray Dataset",
                )
            ]
        )
    if hasattr(cases, "columns") and not cases.size:
        raise StudyError([_no_rows()])
    items: list[tuple[Hashable, Any]] = list(cases.items())
    return [_Raw(str(name), _as_array(values), _unit_of(values)) for name, values in items]


def _unit_of(values: Any) -> str:
    """Attribute ``units`` of a column, such as that of an xarray variable; empty if it has none."""
    attributes = getattr(values, "attrs", {})
    unit = attributes.get("units") if isinstance(attributes, Mapping) else None
    return "" if unit is None else str(unit).strip()


def _in_unit(quantity: Quantity, values: NDArray[Any], unit: str) -> tuple[NDArray[Any], list[Problem]]:
    """Column converted from the unit that it says it is in, and what is wrong with that unit."""
    if unit in ("", quantity.unit) or (quantity.is_choice and unit == "1"):
        return values, []
    where = f"{WHERE}, column {quantity.name}"
    if quantity.is_choice or values.dtype.kind not in "fiu":
        kind = "words" if quantity.is_choice else "texts"
        return values, [
            Problem(where=where, what=f"a column of {kind} has the attribute units = {unit!r}",
                    remedy="Take the attribute off; a text says its unit itself")
        ]  # fmt: skip
    try:
        # how much one of that unit is, wherever the interval of the quantity begins
        factor = parse(replace(quantity, low=-math.inf, high=math.inf), f"1 {unit}", wrap=False)
    except StudyError as error:
        own = quantity.unit if quantity.unit != "1" else "a bare ratio"
        what = f"units = {unit!r} does not fit {quantity.name}, which is in {own}"
        return values, [Problem(where=where, what=what, why=error.problems[0].why, remedy="Convert the column")]
    return values.astype(np.float64) * float(factor), []


def _as_array(values: Any) -> NDArray[Any]:
    if isinstance(values, str | bytes) or values is None or not np.iterable(values):
        return np.array(values, dtype=object)
    if getattr(values, "ndim", 1) == 1 and getattr(getattr(values, "dtype", None), "kind", "") in ("f", "i", "u"):
        return np.asarray(values)
    rows = list(values)
    if all(_is_number(value) for value in rows):
        return np.array(rows, dtype=np.float64)
    array = np.empty(len(rows), dtype=object)
    for row, value in enumerate(rows):
        array[row] = value
    return array


def _column(quantity: Quantity, values: NDArray[Any]) -> tuple[NDArray[np.generic], list[Problem]]:
    """Engine's column of one input, and what is wrong with it."""
    if quantity.is_choice or values.dtype.kind not in "fiu":
        return _parsed(quantity, values)
    column = values.astype(np.float64)
    bad = ~((column >= quantity.low) & (column <= quantity.high))
    if quantity.derived_unless_given:
        bad &= ~np.isnan(column)
    # the few that are outside may be so by the rounding of a conversion only
    rows = [
        int(row)
        for row in np.flatnonzero(bad)
        if not (np.isfinite(column[row]) and within(quantity, float(column[row])))
    ]
    problems = []
    if rows:
        shown = f"{quantity.name} = {column[rows[0]]:g} {quantity.unit if quantity.unit != '1' else ''}".rstrip()
        problems.append(_problem(quantity, rows, f"{shown} is outside {format_interval(quantity)}", quantity.why))
    return np.where(np.isnan(column), column, np.clip(column, quantity.low, quantity.high)), problems


def _parsed(quantity: Quantity, values: NDArray[Any]) -> tuple[NDArray[np.generic], list[Problem]]:
    """Column of words, of texts with units, or of these mixed with numbers."""
    column = np.zeros(len(values), dtype=np.int64 if quantity.is_choice else np.float64)
    known: dict[object, float | int] = {}
    wrong: dict[str, tuple[list[int], Problem]] = {}
    for row, value in enumerate(values.tolist()):
        key = value if isinstance(value, str) else (type(value), repr(value))
        if key not in known:
            try:
                known[key] = _one(quantity, value)
            except StudyError as error:
                problem = error.problems[0]
                wrong.setdefault(problem.what, ([], problem))[0].append(row)
                continue
        column[row] = known[key]
    return column, [_problem(quantity, rows, p.what, p.why, p.remedy) for rows, p in wrong.values()]


def _one(quantity: Quantity, value: Any) -> float | int:
    if quantity.is_choice:
        return quantity.choices.index(str(parse(quantity, value)))
    if value is None or (isinstance(value, float) and math.isnan(value)):
        if quantity.derived_unless_given:
            return math.nan
        raise StudyError(
            [Problem(where="", what=f"{quantity.name} is missing", remedy="Give a value, or no such column")]
        )
    if isinstance(value, str):
        return float(parse(quantity, value))
    # a number beside texts is in the unit of datasets, like a column of numbers
    column, problems = _column(quantity, np.array([float(value)])) if _is_number(value) else (np.zeros(1), [])
    if problems or not _is_number(value):
        raise StudyError(problems or [Problem(where="", what=f"{quantity.name} = {value!r} is not a number")])
    return float(column[0])


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float | np.integer | np.floating) and not isinstance(value, bool)


def _problem(quantity: Quantity, rows: list[int], what: str, why: str = "", remedy: str = "") -> Problem:
    where = f"{WHERE}, {quantity.name}, row {rows[0]}"
    if len(rows) > 1:
        where += f" and {len(rows) - 1} more"
    return Problem(where=where, what=what, why=why, remedy=remedy or "Correct the table")
