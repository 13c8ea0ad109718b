"""Cases that differ only in inputs which they do not use are run once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.quantities import INPUTS, Quantity
from toolkit.study.unused import UNUSED_AT_VALUE, UNUSED_BY_MANOEUVRE

__all__ = ["Columns", "Evaluator", "count_distinct", "distinct_columns", "evaluate_distinct"]

Columns = dict[str, NDArray[Any]]
"""One array a name, each of shape (n_case,)."""

Evaluator = Callable[[Columns], Columns]
"""What turns columns of inputs into columns of outcomes."""


def distinct_columns(columns: Columns) -> tuple[Columns, NDArray[np.int64]]:
    """Reduce a table of cases to those that differ in something they use.

    Inputs that a case does not use, by `toolkit.study.unused`, are set to
    their defaults. Then equal rows are merged.

    Parameters
    ----------
    columns : dict of ndarray
        Shape (n_case,) for every input, in dataset units; choices as codes.

    Returns
    -------
    distinct : dict of ndarray
        Shape (n_distinct,), in order of first appearance.
    inverse : ndarray of int
        Shape (n_case,): the distinct row of each case.
    """
    used = {name: np.array(values) for name, values in columns.items()}
    manoeuvre = used["manoeuvre"]
    words = INPUTS["manoeuvre"].choices
    one_way = used["making_fast"] == INPUTS["making_fast"].choices.index("one_way")
    for word, names in UNUSED_BY_MANOEUVRE.items():
        rows = (manoeuvre == words.index(word)) & one_way
        for name in names:
            used[name][rows] = _neutral(INPUTS[name])
    even = used["current_shear"] == 0.0
    for (cause, value), names in UNUSED_AT_VALUE.items():
        rows = used[cause] == value
        if cause == "current_speed":
            rows &= even
        for name in names:
            used[name][rows] = _neutral(INPUTS[name])

    count = len(manoeuvre)
    bits = [values.astype(np.float64).view(np.int64) for values in used.values()]
    varying = [column for column in bits if count and np.any(column != column[0])]
    if not varying:
        keep = np.arange(min(count, 1))
        return {name: values[keep] for name, values in used.items()}, np.zeros(count, dtype=np.int64)
    _, first, inverse = np.unique(np.stack(varying, axis=1), axis=0, return_index=True, return_inverse=True)
    order = np.argsort(first)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    keep = first[order]
    return {name: values[keep] for name, values in used.items()}, rank[inverse.reshape(-1)].astype(np.int64)


def evaluate_distinct(columns: Columns, evaluate: Evaluator) -> tuple[Columns, int, float]:
    """Outcomes of every case, from an evaluation of the distinct ones.

    Parameters
    ----------
    columns : dict of ndarray
        As for `distinct_columns`.
    evaluate : callable
        The engine.

    Returns
    -------
    results : dict of ndarray
        Shape (n_case,) for every outcome and derived coordinate.
    count : int
        How many cases were really run.
    simulated : float
        How long they lasted, all together, in simulated time [s].
    """
    distinct, inverse = distinct_columns(columns)
    results = evaluate(distinct)
    simulated = float(np.nansum(results["end_time"]))
    return {name: values[inverse] for name, values in results.items()}, len(distinct["manoeuvre"]), simulated


def count_distinct(columns: Columns) -> int:
    """How many cases of a table would really be run; `columns` as for `distinct_columns`."""
    return len(distinct_columns(columns)[0]["manoeuvre"])


def _neutral(quantity: Quantity) -> float | int:
    """Value that stands for 'not used': the default of an input."""
    return quantity.choices.index(str(quantity.default)) if quantity.is_choice else float(quantity.default)
