"""Curves of a limit that are run on the model, many cases to a table (floor 5)."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.limits import LIMIT_NAMES, apply_limits
from toolkit.findings.margins import check_factor
from toolkit.findings.reading import bare
from toolkit.quantities import INPUTS

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["ALL_LIMITS", "NO_LIMIT", "Brackets", "Curves", "Evaluate"]

Evaluate = Callable[[Mapping[str, Any]], "xr.Dataset"]
"""What turns a table of cases into a dataset along ``case``, such as `toolkit.evaluate`."""

ALL_LIMITS = "all_limits"
"""Word of the dimension ``criterion`` for all limits together."""

_JUDGED_BY = ("outcome", "legs_completed", "basin_radius", "manoeuvre")
"""What :func:`toolkit.findings.limits.apply_limits` looks at beside the quantities that are limited."""

NO_LIMIT = "no_limit"
"""Word of it for completing alone, no limit applied."""


@dataclass(kw_only=True, eq=False)
class Brackets:
    """Where every curve passes last and fails first, shape (criteria, *curves) each.

    Attributes
    ----------
    lower, upper : ndarray
        Last value that passes and first that does not; NaN where there is none.
    reason : ndarray of int
        Code of `binding_limit` at `upper`; 0 where it is NaN.
    passes_again : ndarray of bool
        A value of the scan beyond `upper` passes.
    shares : ndarray, shape (criteria, *curves, scan)
        Share of cases that pass at each value of the scan.
    """

    lower: NDArray[np.float64]
    upper: NDArray[np.float64]
    reason: NDArray[np.int64]
    passes_again: NDArray[np.bool_]
    shares: NDArray[np.float64]

    def wider_than(self, width: float) -> NDArray[np.bool_]:
        """Whether a bracket has two ends that lie further apart than a width."""
        closed = np.isfinite(self.lower) & np.isfinite(self.upper)
        return closed & (np.nan_to_num(self.upper) - np.nan_to_num(self.lower) > width * (1.0 + 1e-9))


@dataclass(kw_only=True, eq=False)
class Curves:
    """The axes of a search, and what was run for it so far.

    Attributes
    ----------
    evaluate : callable
        Table of cases to dataset along ``case``.
    cases : dict
        Inputs by name: a value, or several, which make an axis.
    name : str
        Input searched along.
    limits : dict
        Limits in force [dataset units].
    over, draws, share
        As for :func:`toolkit.findings.limit_search.find_limit`.
    each : bool
        Whether every limit is judged alone as well, and completing without any.
    """

    evaluate: Evaluate
    cases: dict[str, Any]
    name: str
    limits: dict[str, float]
    over: tuple[str, ...]
    draws: str | None
    share: float
    each: bool

    def __post_init__(self) -> None:
        self.axes = {k: list(v) for k, v in self.cases.items() if _is_axis(v)}
        self.pooled = [a for a in self.axes if a in self.over or a == self.draws]
        self.curves = {k: v for k, v in self.axes.items() if k not in self.pooled}
        self.criteria = [ALL_LIMITS, *((*self.limits, NO_LIMIT) if self.each else ())]
        self.shape = tuple(len(v) for v in self.curves.values())
        self.batches: list[xr.Dataset] = []
        self.steady: dict[str, tuple[Any, dict[Any, Any]]] = {}

    def check(self, low: float, high: float, steps: int, resolution: float | None) -> None:
        """Refuse what cannot be searched, with every problem."""
        problems = check_factor("share", self.share, 1e-6, 1.0, "it is a share of draws")
        problems += check_factor("steps", steps, 1, 1000, "the scan has to see where it passes again")
        if self.name in self.cases:
            problems.append(Problem(where="cases", what=f"{self.name} is given and searched along",
                                    remedy="Leave it out of the cases"))  # fmt: skip
        if self.name in INPUTS and INPUTS[self.name].is_choice:
            problems.append(Problem(where="name", what=f"{self.name} is a choice", why="words have no order"))
        if not (math.isfinite(low) and math.isfinite(high) and low < high):
            problems.append(Problem(where="bracket", what=f"[{low}, {high}] is no bracket", remedy="Let low be less"))
        if resolution is not None and not (math.isfinite(resolution) and resolution > 0.0):
            problems.append(Problem(where="resolution", what=f"resolution = {resolution} is not above zero"))
        absent = [a for a in (*self.over, *((self.draws,) if self.draws else ())) if a not in self.axes]
        problems += [
            Problem(where="cases", what=f"{a} is not given as a list", why="cases are pooled along it") for a in absent
        ]
        problems += [Problem(where=f"cases.{k}", what=f"{k} has no value") for k, v in self.axes.items() if not v]
        if problems:
            raise StudyError(problems)

    def scan(self, values: NDArray[np.float64]) -> Brackets:
        """Run every curve at rising values, and bracket the first failure of each."""
        places = np.indices((*self.shape, values.size)).reshape(len(self.shape) + 1, -1).T
        shape = (len(self.criteria), *self.shape, values.size)
        good, reasons, share = self.run(places[:, :-1], values[places[:, -1]])
        passes, why, shares = good.reshape(shape), reasons.reshape(shape), share.reshape(shape)
        prefix = np.cumprod(passes, axis=-1).astype(bool)
        count = prefix.sum(axis=-1)
        last = values.size - 1
        lower = np.where(count > 0, values[np.maximum(count - 1, 0)], np.nan)
        upper = np.where(count <= last, values[np.minimum(count, last)], np.nan)
        code = np.take_along_axis(why, np.minimum(count, last)[..., None], axis=-1)[..., 0]
        reason: NDArray[np.int64] = np.where(count <= last, code, 0).astype(np.int64)
        again = np.asarray((passes & ~prefix).any(axis=-1))
        return Brackets(lower=lower, upper=upper, reason=reason, passes_again=again, shares=shares)

    def at(self, values: NDArray[np.float64]) -> tuple[NDArray[np.bool_], NDArray[np.int64]]:
        """Run the curves at a value each (NaN: leave out): whether they pass, and why not.

        Parameters
        ----------
        values : ndarray, shape (criteria, *curves)
        """
        wanted = np.isfinite(values)
        places = np.argwhere(wanted)
        rows = np.column_stack([places[:, 1:], values[wanted]])
        rows, inverse = np.unique(rows, axis=0, return_inverse=True)  # several limits may halve the same bracket
        good, code, _ = self.run(rows[:, :-1].astype(np.intp), rows[:, -1])
        passes, why = np.zeros(values.shape, dtype=bool), np.zeros(values.shape, dtype=np.int64)
        back = inverse.reshape(-1)
        passes[wanted], why[wanted] = good[places[:, 0], back], code[places[:, 0], back]
        return passes, why

    def run(
        self, places: NDArray[np.intp], values: NDArray[np.float64]
    ) -> tuple[NDArray[np.bool_], NDArray[np.int64], NDArray[np.float64]]:
        """Run one table of cases: whether each row passes by each criterion, why not, and the share that passes.

        Parameters
        ----------
        places : ndarray of int, shape (rows, curve axes)
            Where on the axes of the curves each row lies.
        values : ndarray, shape (rows,)
            Value of the input searched along.

        Returns
        -------
        tuple of ndarray, shape (criteria, rows)
        """
        pool = [len(self.axes[a]) for a in self.pooled]
        result = self._kept(self.evaluate(self._table(places, values, pool)))
        shape = (len(self.criteria), len(values))
        passes, why, shares = np.zeros(shape, dtype=bool), np.zeros(shape, dtype=np.int64), np.zeros(shape)
        for number, criterion in enumerate(self.criteria):
            judged = apply_limits(result, self._limits_of(criterion))
            passes[number], shares[number] = self._reduced(judged["passes"].values.reshape(len(values), *pool))
            codes = judged["binding_limit"].values.reshape(len(values), -1)
            why[number] = [_most_common(line) for line in codes]
        return passes, why, shares

    def _kept(self, result: xr.Dataset) -> xr.Dataset:
        """Outcomes that are judged, remembered; inputs with one value once, which every step would merge anew."""
        result = result[[n for n in result.data_vars if n in (*_JUDGED_BY, *LIMIT_NAMES)]]
        varying = {*self.axes, self.name, "case"}
        steady = [str(n) for n in result.coords if n not in varying]
        if not self.batches:
            self.steady = {n: (result[n].values.flat[0], result[n].attrs) for n in steady if result[n].size}
        self.batches.append(result.drop_vars(steady))
        return self.batches[-1].assign_coords({n: v for n, (v, _) in self.steady.items() if n in _JUDGED_BY})

    def gathered(self) -> tuple[xr.Dataset, xr.Dataset]:
        """All cases run so far along ``case``, and their judgement by all limits."""
        import xarray as xr

        dataset = xr.concat(self.batches, dim="case", combine_attrs="override")
        dataset = dataset.assign_coords(case=np.arange(dataset.sizes["case"]))
        alone = {name: ((), value, attributes) for name, (value, attributes) in self.steady.items()}
        needed = {n: v for n, v in alone.items() if n in _JUDGED_BY}
        return dataset.assign_coords(alone), bare(apply_limits(dataset.assign_coords(needed), self.limits))

    def _limits_of(self, criterion: str) -> dict[str, float]:
        """Limits that a criterion applies."""
        if criterion == ALL_LIMITS:
            return self.limits
        return {} if criterion == NO_LIMIT else {criterion: self.limits[criterion]}

    def _table(self, places: NDArray[np.intp], values: NDArray[np.float64], pool: list[int]) -> dict[str, Any]:
        """Columns of a table: curves in rows, each with its pooled cases after one another."""
        behind = math.prod(pool)
        table = {k: v for k, v in self.cases.items() if k not in self.axes}
        for number, (axis, options) in enumerate(self.curves.items()):
            table[axis] = [options[i] for i in np.repeat(places[:, number], behind)]
        for number, axis in enumerate(self.pooled):
            inner = np.unravel_index(np.arange(behind), pool)[number]
            table[axis] = [self.axes[axis][i] for i in np.tile(inner, len(values))]
        table[self.name] = np.repeat(values, behind)
        return table

    def _reduced(self, good: NDArray[np.bool_]) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
        """Pass and share of curves from their cases, shape (curves, *pooled)."""
        if self.draws is None:
            flat = good.reshape(len(good), -1)
            return np.asarray(flat.all(axis=1)), np.asarray(flat.mean(axis=1))
        axis = self.pooled.index(self.draws) + 1
        others = tuple(i for i in range(1, good.ndim) if i != axis)
        shares = np.asarray(np.asarray(good.all(axis=others)).mean(axis=1))
        return shares >= self.share - 1e-9, shares


def _is_axis(value: Any) -> bool:
    return isinstance(value, (list, tuple, range)) or (isinstance(value, np.ndarray) and value.ndim == 1)


def _most_common(codes: NDArray[Any]) -> int:
    """Code that most of the failing cases have; the lower of two alike; 0 where none fails."""
    failing = codes[codes != 0]
    if not failing.size:
        return 0
    values, counts = np.unique(failing, return_counts=True)
    return int(values[np.argmax(counts)])
