"""A table of cases in memory, evaluated without a study or a store."""

from __future__ import annotations

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
from toolkit.execution.mapping import check_options, map_blocks
from toolkit.execution.provenance import provenance
from toolkit.execution.table import read_table
from toolkit.quantities import INPUTS, Quantity
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
        its cases numbered in the order of the dimensions; outcomes in it are
        ignored, so that a dataset of results may be evaluated anew. In a mapping
        or DataFrame they are refused. A column of numbers with an attribute
        ``units`` (a DataArray or a variable of a Dataset) is converted from it.
        An empty mapping is one case, with every input at its default.
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
        With every problem: an unknown name, a name that stands twice, a value
        that cannot be read or is outside its interval (how many rows, and the
        first of them), a unit that does not fit, a table without rows.
    """
    return evaluate_with(current_model(), cases, workers=workers, title=title)


def evaluate_with(model: Model, cases: Any, *, workers: int | None = None, title: str = "table of cases") -> xr.Dataset:
    """`evaluate` with a model of the caller's own."""
    import xarray as xr

    check_options(workers, "threads")
    given = read_table(cases)
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
        return block, evaluate_distinct(
            {name: values[rows] for name, values in columns.items()}, model.evaluate
        ).results

    def finished(done: tuple[int, Columns]) -> None:
        (rows,) = blocks.slices(done[0])
        for name in RESULT_NAMES:
            results[name][rows] = done[1][name]

    side_by_side = min(workers or os.cpu_count() or 1, blocks.count)
    scheduler = "threads" if side_by_side > 1 else "serial"
    map_blocks(task, range(blocks.count), finished, workers=side_by_side, scheduler=scheduler)
    return results


def _default_column(quantity: Quantity, count: int) -> NDArray[np.generic]:
    if quantity.is_choice:
        return np.full(count, quantity.choices.index(str(quantity.default)), dtype=np.int64)
    return np.full(count, float(quantity.default))
