"""A table of cases in memory, evaluated without a study or a store."""

from __future__ import annotations

import difflib
import math
import os
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from toolkit.errors import Problem, StudyError
from toolkit.execution.attributes import RESULT_NAMES, SCHEMA, SCHEMA_VERSION, describe, result_type
from toolkit.execution.blocks import Blocks, choose_chunks
from toolkit.execution.distinct import Columns, evaluate_distinct
from toolkit.execution.layout import Model, current_model
from toolkit.execution.provenance import provenance
from toolkit.execution.runner import check_options, map_blocks
from toolkit.quantities import INPUTS, REGISTER, Quantity
from toolkit.quantities.units import format_interval, parse, within
from toolkit.study import Design, Study
from toolkit.study.checks import interplay_problems

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

__all__ = ["evaluate", "evaluate_with"]

CASES_PER_BLOCK = 1024


@dataclass(frozen=True, kw_only=True, eq=False)
class _TableOfCases(Study):
    """A table of cases in the guise of a sampled study, so that what is checked of a study is checked of it."""

    table: Columns

    def columns(self, flat_indices: ArrayLike) -> Columns:
        positions = np.atleast_1d(np.asarray(flat_indices, dtype=np.int64))
        return {name: values[positions] for name, values in self.table.items()}


def _interplay(columns: Columns, count: int) -> list[Problem]:
    """Inputs that are each in range and do not go together; ending before the start is an outcome, not a problem."""
    table = _TableOfCases(
        title="", source="table of cases", axes=(), fixed={}, table=columns,
        design=Design(kind="latin_hypercube", samples=count),
    )  # fmt: skip
    return interplay_problems(table)


def evaluate(
    cases: Mapping[str, Any] | pd.DataFrame | xr.Dataset, *, workers: int | None = None, title: str = "table of cases"
) -> xr.Dataset:
    """Evaluate a table of cases in memory.

    Parameters
    ----------
    cases : mapping, pandas.DataFrame or xarray.Dataset
        A value or a column for each input that is not left at its default, by
        its name in the register. Numbers are in the units of datasets (SI,
        angles in degrees); texts carry a unit, as in a study file (``"12 kn"``);
        choices are words; NaN or None stands for "derive it". A Dataset may
        have any dimensions: its inputs are broadcast against each other, and
        its cases numbered in the order of the dimensions. Outcomes in the
        table are ignored, so that a dataset of results may be evaluated anew.
    workers : int, optional
        Blocks that run side by side; the number of processors unless given.
    title : str
        Title of the dataset.

    Returns
    -------
    xarray.Dataset
        Outcomes and derived coordinates along ``case``, in the order of the
        table; the given inputs as coordinates along ``case``, all others as
        scalar coordinates.

    Raises
    ------
    StudyError
        With every problem: an unknown name, a value that cannot be read or is
        outside its interval (how many rows, and the first of them).
    """
    return evaluate_with(current_model(), cases, workers=workers, title=title)


def evaluate_with(model: Model, cases: Any, *, workers: int | None = None, title: str = "table of cases") -> xr.Dataset:
    """`evaluate` with a model of the caller's own."""
    import xarray as xr

    check_options(workers, "threads")
    given = _read(cases)
    count = max((len(values) for values in given.values()), default=1)
    columns = {name: given.get(name, _default_column(quantity, count)) for name, quantity in INPUTS.items()}
    problems = _interplay(columns, count)
    if problems:
        raise StudyError(problems)
    results = _run(model, columns, count, workers)

    coordinates: dict[str, Any] = {"case": ("case", np.arange(count, dtype=np.int64))}
    for name, quantity in INPUTS.items():
        values = columns[name]
        if name in given:
            words = np.array(quantity.choices)[values.astype(np.int64)] if quantity.is_choice else values
            coordinates[name] = ("case", words)
        elif not quantity.derived_unless_given:
            coordinates[name] = ((), quantity.default)
    dataset = xr.Dataset(
        {name: ("case", results[name].astype(result_type(name))) for name in RESULT_NAMES},
        coords=coordinates,
        attrs={
            **provenance(title=title, model_hash=model.hash, step_rule=model.step_rule),
            "schema": SCHEMA,
            "schema_version": SCHEMA_VERSION,
        },
    )
    dataset["case"].attrs["long_name"] = "number of the case"
    return describe(dataset, INPUTS)


def _run(model: Model, columns: Columns, count: int, workers: int | None) -> Columns:
    """All cases through the engine, block by block."""
    blocks = Blocks(shape=(count,), chunks=choose_chunks((count,), CASES_PER_BLOCK))
    results: Columns = {name: np.zeros(count, dtype=result_type(name)) for name in RESULT_NAMES}

    def task(block: int) -> tuple[int, Columns]:
        (rows,) = blocks.slices(block)
        return block, evaluate_distinct({name: values[rows] for name, values in columns.items()}, model.evaluate)[0]

    def finished(done: tuple[int, Columns]) -> None:
        (rows,) = blocks.slices(done[0])
        for name in RESULT_NAMES:
            results[name][rows] = done[1][name]

    side_by_side = min(workers or os.cpu_count() or 1, blocks.count)
    scheduler = "threads" if side_by_side > 1 else "serial"
    map_blocks(task, range(blocks.count), finished, workers=side_by_side, scheduler=scheduler)
    return results


def _read(cases: Any) -> Columns:
    """Columns of the inputs that a table gives, checked, in the units and codes of the engine."""
    raw = _raw_columns(cases)
    problems: list[Problem] = []
    known: dict[str, NDArray[Any]] = {}
    for name, values in raw.items():
        if name in INPUTS:
            known[name] = values
        elif name not in REGISTER and name != "case":
            near = difflib.get_close_matches(str(name), INPUTS, n=1)
            problems.append(
                Problem(
                    where="table of cases",
                    what=f"{name} is not an input",
                    remedy=f"Did you mean {near[0]}?" if near else "`towage check --keys` lists them",
                )
            )
    lengths = {name: len(values) for name, values in known.items() if values.ndim}
    count = max(lengths.values(), default=1)
    for name, length in lengths.items():
        if length != count:
            problems.append(
                Problem(
                    where=f"table of cases, column {name}",
                    what=f"{name} has {length} rows, and the longest column has {count}",
                    remedy="Give one value, or one for every case",
                )
            )
    columns: Columns = {}
    for name, values in known.items():
        column, found = _column(INPUTS[name], np.atleast_1d(values))
        problems += found
        columns[name] = np.full(count, column[0]) if len(column) == 1 else column
    if problems:
        raise StudyError(problems)
    return columns


def _raw_columns(cases: Any) -> dict[str, NDArray[Any]]:
    """Columns as the user gave them, each of no or one dimension."""
    import xarray as xr

    if isinstance(cases, xr.Dataset):
        names = [str(name) for name in cases.variables if name in INPUTS]
        others = {str(name): np.empty(0) for name in cases.data_vars if name not in INPUTS}
        stacked = xr.broadcast(*(cases[name].reset_coords(drop=True) for name in names)) if names else ()
        return {name: array.values.reshape(-1) for name, array in zip(names, stacked, strict=True)} | others
    if not hasattr(cases, "items"):
        raise StudyError(
            [
                Problem(
                    where="table of cases",
                    what=f"a {type(cases).__name__} is not a table",
                    remedy="Give a mapping of names to columns, a pandas DataFrame or an xarray Dataset",
                )
            ]
        )
    return {str(name): _as_array(values) for name, values in cases.items()}


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
    where = f"table of cases, {quantity.name}, row {rows[0]}"
    if len(rows) > 1:
        where += f" and {len(rows) - 1} more"
    return Problem(where=where, what=what, why=why, remedy=remedy or "Correct the table")


def _default_column(quantity: Quantity, count: int) -> NDArray[np.generic]:
    if quantity.is_choice:
        return np.full(count, quantity.choices.index(str(quantity.default)), dtype=np.int64)
    return np.full(count, float(quantity.default))
