"""Cases that differ only in inputs which they do not use are run once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from toolkit.quantities import INPUTS, Quantity
from toolkit.quantities.manoeuvres import Condition, conditions_of_use
from toolkit.study.unused import UNUSED_AT_VALUE

__all__ = [
    "Columns",
    "Evaluated",
    "Evaluator",
    "Known",
    "count_distinct",
    "distinct_columns",
    "evaluate_distinct",
    "used_columns",
]

Columns = dict[str, NDArray[Any]]
"""One array a name, each of shape (n_case,)."""

Evaluator = Callable[[Columns], Columns]
"""What turns columns of inputs into columns of outcomes."""


Known = Callable[[Columns, NDArray[np.int64]], tuple[NDArray[np.bool_], Columns]]
"""What finds outcomes of cases that were run before.

It is given the columns of distinct cases and the row of the table at which
each of them stands first, as `distinct_columns` gives them, both of shape
(n,); it returns a mask of shape (n,) and the outcomes of the cases in the
mask, of shape (n_known,). Where nothing is known these may be left out.
"""


class Evaluated(NamedTuple):
    """What came of a table of cases."""

    results: Columns
    """Shape (n_case,) for every outcome and derived coordinate."""

    run: int
    """How many cases were really run."""

    simulated: float
    """How long these lasted, all together, in simulated time [s]."""

    known: int
    """How many cases of the table have their outcomes from another run."""


def used_columns(columns: Columns) -> Columns:
    """Table of cases in which inputs that a case does not use are at their defaults.

    Parameters
    ----------
    columns : dict of ndarray
        Shape (n_case,) for every input, in dataset units; choices as codes.
        What is not used stands in `toolkit.quantities.manoeuvres` and
        `toolkit.study.unused`.

    Returns
    -------
    dict of ndarray
        New arrays where something changes, those of the table elsewhere. Cases
        whose rows are equal in all columns have equal outcomes.
    """
    used = dict(columns)

    def put_aside(name: str, rows: NDArray[np.bool_]) -> None:
        if rows.any():
            used[name] = np.where(rows, _neutral(INPUTS[name]), used[name])

    for code in np.unique(used["manoeuvre"]).tolist():
        rows = columns["manoeuvre"] == code
        for name, condition in conditions_of_use(INPUTS["manoeuvre"].choices[int(code)]).items():
            put_aside(name, rows & ~_where(condition, columns))
    even = used["current_shear"] == 0.0
    for (cause, value), names in UNUSED_AT_VALUE.items():
        rows = used[cause] == value
        if cause == "current_speed":
            rows &= even
        for name in names:
            put_aside(name, rows)
    return used


def _where(condition: Condition, columns: Columns) -> NDArray[np.bool_]:
    """Cases in which an input is used, by the words of their choices."""
    found = np.zeros(columns["manoeuvre"].shape, dtype=np.bool_)
    for each in condition:
        met = np.ones_like(found)
        for name, words in each.items():
            met &= np.isin(columns[name], [INPUTS[name].choices.index(word) for word in words])
        found |= met
    return found


def distinct_columns(columns: Columns, *, whole: bool = False) -> tuple[Columns, NDArray[np.int64], NDArray[np.int64]]:
    """Reduce a table of cases to those that differ in something they use.

    Parameters
    ----------
    columns : dict of ndarray
        As for `used_columns`.
    whole : bool
        Take every input for used: a later leg of a job may use what the first
        does not.

    Returns
    -------
    distinct : dict of ndarray
        Shape (n_distinct,), with unused inputs at their defaults, in order of
        first appearance.
    first : ndarray of int
        Shape (n_distinct,): the row at which each of them stands first.
    inverse : ndarray of int
        Shape (n_case,): the distinct row of each case.
    """
    used = columns if whole else used_columns(columns)
    count = len(used["manoeuvre"])
    bits = [values.astype(np.float64, copy=False).view(np.int64) for values in used.values()]
    varying = [column for column in bits if count and np.any(column != column[0])]
    if not varying:
        first, inverse = np.arange(min(count, 1), dtype=np.int64), np.zeros(count, dtype=np.int64)
        return _picked(used, first), first, inverse
    together = np.lexsort(varying)  # equal rows side by side, in the order of the table
    begins = np.ones(count, dtype=np.bool_)
    begins[1:] = np.any([column[together[1:]] != column[together[:-1]] for column in varying], axis=0)
    earliest = np.empty(count, dtype=np.int64)  # for every row the first one that is equal to it
    earliest[together] = together[begins][np.cumsum(begins) - 1]
    first = np.flatnonzero(earliest == np.arange(count))
    return _picked(used, first), first, np.searchsorted(first, earliest)


def evaluate_distinct(
    columns: Columns, evaluate: Evaluator, known: Known | None = None, *, whole: bool = False
) -> Evaluated:
    """Outcomes of every case, from an evaluation of the distinct ones that are not known yet.

    Parameters
    ----------
    columns : dict of ndarray
        As for `used_columns`.
    evaluate : callable
        The engine.
    known : callable, optional
        What finds outcomes of cases that were run before.
    whole : bool
        As for `distinct_columns`.
    """
    distinct, first, inverse = distinct_columns(columns, whole=whole)
    have, before = known(distinct, first) if known else (np.zeros(len(first), dtype=np.bool_), {})
    missing = np.flatnonzero(~have)
    results: Columns = {}
    if len(missing) or not len(first):
        results = evaluate(_picked(distinct, missing) if have.any() else distinct)
    simulated = float(np.nansum(results["end_time"])) if results else 0.0
    if have.any():
        results = {name: _merged(have, values, results.get(name)) for name, values in before.items()}
    return Evaluated(_picked(results, inverse), len(missing), simulated, int(np.count_nonzero(have[inverse])))


def _picked(columns: Columns, rows: NDArray[np.int64]) -> Columns:
    return {name: values[rows] for name, values in columns.items()}


def _merged(have: NDArray[np.bool_], before: NDArray[Any], now: NDArray[Any] | None) -> NDArray[Any]:
    """Column of outcomes that are known in the mask, and have just been worked out outside of it."""
    column = np.empty(len(have), dtype=before.dtype if now is None else now.dtype)
    column[have] = before
    if now is not None:
        column[~have] = now
    return column


def count_distinct(columns: Columns) -> int:
    """How many cases of a table would really be run; `columns` as for `used_columns`."""
    return len(distinct_columns(columns)[1])


def _neutral(quantity: Quantity) -> float | int:
    """Value that stands for 'not used': the default of an input."""
    return quantity.choices.index(str(quantity.default)) if quantity.is_choice else float(quantity.default)
