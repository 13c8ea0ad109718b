"""How far outcomes move when the time step is refined: the error of the step, and what the crew makes of it.

Two questions, two answers. :func:`step_error` asks what the integrator does
wrong: the engine's own orders are played back in finer steps, over spans short
enough that an unsteered tug does not wander off. :func:`convergence_table` asks
what comes out in the end: whole runs, master and helm included. He orders power
in whole steps at whole looks, so that two runs that differ in the last digit
can part company at one order; the same runs with their start moved by next to
nothing show how much of the difference is of that kind, which no step can
lessen.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.motion.engine import outcomes_of, run_prepared
from toolkit.motion.lanes import record_orders, replay
from toolkit.motion.layout import PARAMETER_ROW, STATE_ROW
from toolkit.motion.legs import run_legs
from toolkit.motion.prepare import Columns, Prepared, prepare
from toolkit.motion.setting import NO_SETTING, Setting

__all__ = [
    "SPAN", "TOLERANCE", "Accuracy", "accuracy_of", "coarsest", "convergence_table", "refined", "step_error",
]  # fmt: skip

Outcomes = dict[str, NDArray[Any]]

TOLERANCE = 0.005
"""Relative difference on which a step is judged."""
SPAN = 60
"""Ticks between two meetings with the record: 30 s, several periods of line, roll and drives."""
NUDGES = (1e-9, 1e-3)
"""Shifts of the tug's start that stand for no difference at all, and for none that anybody could see [m]."""
OPEN_LOOP = ("time_to_turn", "peak_heel", "peak_tension", "peak_tension_3s", "peak_contact_force")
CLOSED_LOOP = (*OPEN_LOOP[:1], "time_to_steady", *OPEN_LOOP[1:])
SMALLEST = {"peak_heel": 0.5}
"""Size below which a difference is taken over this size instead, dataset units; heel [degree]."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class Accuracy:
    """Relative differences of one outcome over many cases.

    Attributes
    ----------
    run : str
        What was compared with what.
    outcome : str
        Name in the register.
    cases : int
        Cases in which both runs have it.
    median, percentile_90, percentile_99, largest : float
        Of the relative difference; NaN without cases.
    share_within : float
        Share of those cases within `TOLERANCE`.
    changed : float
        Share of all cases that end otherwise, or in which one run has this
        outcome and the other has not.
    """

    run: str
    outcome: str
    cases: int
    median: float
    percentile_90: float
    percentile_99: float
    largest: float
    share_within: float
    changed: float


def accuracy_of(
    run: str,
    found: Outcomes,
    reference: Outcomes,
    names: Iterable[str],
    *,
    ends: bool = True,
) -> tuple[Accuracy, ...]:
    """Compare outcomes of the same cases.

    Parameters
    ----------
    run : str
        Goes into the answer.
    found, reference : dict of str to ndarray, shape (n,)
        As `toolkit.motion.engine.evaluate_columns` gives them.
    names : iterable of str
        Outcomes to compare.
    ends : bool
        Whether a case that ends otherwise counts as changed.

    Returns
    -------
    tuple of Accuracy
    """
    rows = []
    for name in names:
        mine, other = found[name], reference[name]
        both = ~np.isnan(mine) & ~np.isnan(other)
        changed = np.isnan(mine) != np.isnan(other)
        if ends:
            changed |= found["outcome"] != reference["outcome"]
        size = np.maximum(np.abs(other[both]), SMALLEST.get(name, 0.0))
        apart = np.abs(mine[both] - other[both])
        # where both are nothing there is no difference
        relative = np.divide(apart, size, out=np.where(apart > 0.0, np.inf, 0.0), where=size > 0.0)
        middle, nine, last = np.quantile(relative, (0.5, 0.9, 0.99), method="nearest") if both.any() else (np.nan,) * 3
        rows.append(
            Accuracy(
                run=run,
                outcome=name,
                cases=int(both.sum()),
                median=float(middle),
                percentile_90=float(nine),
                percentile_99=float(last),
                largest=float(relative.max()) if both.any() else np.nan,
                share_within=float((relative <= TOLERANCE).mean()) if both.any() else np.nan,
                changed=float(changed.mean()),
            )
        )
    return tuple(rows)


def refined(prepared: Prepared, factor: float) -> Prepared:
    """The same cases with `factor` times as many steps a tick, rounded up."""
    parameters = prepared.parameters.copy()
    parameters[PARAMETER_ROW.steps_per_tick] = np.ceil(factor * parameters[PARAMETER_ROW.steps_per_tick])
    return dataclasses.replace(prepared, parameters=parameters)


def _afloat(columns: Columns) -> tuple[dict[str, NDArray[Any]], Prepared]:
    """Leave cases aground out, which are not run."""
    keep = ~prepare(columns).aground
    some: dict[str, NDArray[Any]] = {name: np.asarray(values)[keep] for name, values in columns.items()}
    return some, prepare(some)


def _checked(refinements: Sequence[float]) -> list[float]:
    factors = sorted({float(factor) for factor in refinements})
    if len(factors) < 2 or not factors[0] > 0.0:
        raise ValueError(f"refinements = {tuple(refinements)}: two or more numbers above 0 are compared")
    return factors


def convergence_table(
    columns: Columns, refinements: Sequence[float] = (1, 2, 4), nudges: Sequence[float] = NUDGES
) -> tuple[Accuracy, ...]:
    """Whole runs at several steps, against the finest.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n,)
        As for `toolkit.motion.engine.evaluate_columns`; some hundred cases
        make percentiles worth reading. Cases aground are left out.
    refinements : sequence of float
        Steps a tick over the engine's own; the largest is the reference.
    nudges : sequence of float
        Northward shifts of the tug's start in more runs at the finest step [m]:
        their differences are the floor below which a finer step cannot come.

    Returns
    -------
    tuple of Accuracy
        Runs ``step / 1``, ... and ``start + 1e-09 m``, ..., each with times,
        heel, tension and contact force.
    """
    factors = _checked(refinements)
    some, prepared = _afloat(columns)

    def outcomes(factor: float, shift: float = 0.0) -> Outcomes:
        finer = refined(prepared, factor)
        initial = finer.initial.copy()
        initial[STATE_ROW.tug_north] += shift
        finer = dataclasses.replace(finer, initial=initial)
        return outcomes_of(some, finer, *run_prepared(finer))

    reference = outcomes(factors[-1])
    rows: tuple[Accuracy, ...] = ()
    for factor in factors[:-1]:
        rows += accuracy_of(f"step / {factor:g}", outcomes(factor), reference, CLOSED_LOOP)
    for nudge in nudges:
        rows += accuracy_of(f"start + {nudge:g} m", outcomes(factors[-1], nudge), reference, CLOSED_LOOP)
    return rows


def step_error(
    columns: Columns,
    refinements: Sequence[float] = (1, 2, 4, 8),
    span: int | None = SPAN,
    *,
    setting: Setting = NO_SETTING,
    names: Iterable[str] = OPEN_LOOP,
    done: Callable[[], object] = lambda: None,
) -> tuple[Accuracy, ...]:
    """Error of the step alone: the engine's orders played back in other steps, against the finest.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n,)
        As for :func:`convergence_table`.
    refinements : sequence of float
        Steps a tick over the engine's own; the largest is the reference.
    span : int, optional
        Ticks between two meetings with the record, see
        `toolkit.motion.lanes.replay`; None for none, when an unsteered tug
        magnifies what was a small error.
    setting : Setting
        Legs of a job: each leg of each case counts as a case. Edges of the
        basin are left out.
    names : iterable of str
        Outcomes to compare.
    done : callable
        Called after the record and after each playback, of every leg; for a
        bar of progress.

    Returns
    -------
    tuple of Accuracy
        Peaks are the largest over all spans. Angle turned adds the errors of
        all spans up, and with it the time to turn.
    """
    factors, names = _checked(refinements), tuple(names)
    parts: list[list[Outcomes]] = []
    for some, prepared in _tables(columns, setting):
        record = record_orders(prepared)
        done()
        parts.append([])
        for factor in factors:
            parts[-1].append(outcomes_of(some, prepared, *replay(prepared, record, factor, span)))
            done()
    if not parts:
        return ()
    runs = [{name: np.concatenate([part[i][name] for part in parts]) for name in names} for i in range(len(factors))]
    rows: tuple[Accuracy, ...] = ()
    for factor, found in zip(factors[:-1], runs[:-1], strict=True):
        rows += accuracy_of(f"step / {factor:g}", found, runs[-1], names, ends=False)
    return rows


def _tables(columns: Columns, setting: Setting) -> Iterator[tuple[Columns, Prepared]]:
    """Cases that are run, as they begin: of a job, those of each leg in turn."""
    if not setting.legs:
        yield _afloat(columns)
        return
    for leg in run_legs(columns, Setting(legs=setting.legs)):
        keep = np.flatnonzero(~leg.prepared.aground)
        if keep.size:
            some: dict[str, NDArray[Any]] = {name: np.asarray(values)[keep] for name, values in leg.columns.items()}
            yield some, _picked(leg.prepared, keep)


def _picked(prepared: Prepared, cases: NDArray[np.int64]) -> Prepared:
    """Some of the cases, as they stand."""
    changes: dict[str, Any] = {}
    for field in dataclasses.fields(prepared):
        value = getattr(prepared, field.name)
        if isinstance(value, np.ndarray):
            changes[field.name] = np.ascontiguousarray(value[..., cases]) if value.size else value
        else:
            changes[field.name] = _of_cases(value, cases)
    return dataclasses.replace(prepared, **changes)


def _of_cases(vessel: Any, cases: NDArray[np.int64]) -> Any:
    """Particulars of the vessels of some cases."""
    size = max(np.size(getattr(vessel, field.name)) for field in dataclasses.fields(vessel))
    changes = {
        field.name: value[cases]
        for field in dataclasses.fields(vessel)
        if isinstance(value := getattr(vessel, field.name), np.ndarray) and value.shape == (size,)
    }
    return dataclasses.replace(vessel, **changes)


def coarsest(rows: Iterable[Accuracy], names: Iterable[str], share: float) -> str:
    """The run with the fewest steps that is good enough in every outcome; empty if none is.

    Parameters
    ----------
    rows : iterable of Accuracy
        As :func:`step_error` gives them, from few steps to many.
    names : iterable of str
        Outcomes that count.
    share : float
        Share of the cases that have to be within `TOLERANCE`, none of which
        may have an outcome that the reference has not, or lack one.
    """
    wanted = set(names)
    good: dict[str, bool] = {}
    for row in rows:
        if row.outcome in wanted:
            fine = row.changed == 0.0 and (row.cases == 0 or row.share_within >= share)
            good[row.run] = good.get(row.run, True) and fine
    return next((run for run, fine in good.items() if fine), "")
