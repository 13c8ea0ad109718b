"""Legs of a job: each manoeuvre begins where the one before it ended."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolkit.loads.bridle import bridle
from toolkit.motion.batch import CHANNELS
from toolkit.motion.engine import outcomes_of, run_prepared
from toolkit.motion.failures import (
    BLACK_OUT,
    FENDER_SLIPS,
    LATE_ORDER,
    LINE_PARTS,
    NO_FAILURE,
    WRONG_ORDER,
)
from toolkit.motion.layout import MEMORY_ROW, PARAMETER_ROW, STATE_ROW
from toolkit.motion.log import TICK
from toolkit.motion.prepare import Columns, Prepared, prepare
from toolkit.motion.setting import Setting
from toolkit.quantities import Outcome

__all__ = ["LegRun", "leg_columns", "run_legs"]

Array = NDArray[np.float64]

LINE_ROWS = tuple(
    getattr(PARAMETER_ROW, name)
    for name in ("line_length", "barge_towing_x", "barge_towing_y", "tug_towing_x", "bridle_half_spread", "bridle_leg")
)
"""What a line that stays fast from one leg to the next has in common."""
FENDER_ROWS = tuple(
    row
    for name, row in PARAMETER_ROW._asdict().items()
    if name.startswith("fender_") or name in ("pushing", "pushed_side")
)
"""What a tug that leaves the barge's side brings along of her fender."""


ORIGIN_ROWS = (PARAMETER_ROW.origin_north, PARAMETER_ROW.origin_east)
"""Where the job began, from which drift and swept circles are counted."""


@dataclass(frozen=True, kw_only=True)
class LegRun:
    """One leg of a job, for the cases that came to it.

    Attributes
    ----------
    number : int
        Of the leg, from 1.
    cases : ndarray of int, shape (n,)
        Rows of the table of cases.
    clock : ndarray, shape (n,)
        Time of the job at the start of the leg [s].
    columns : dict of str to ndarray, shape (n,)
        Inputs as they stand in this leg.
    prepared : Prepared
    memories, finals : ndarray, shape (rows, n)
    outcomes : dict of str to ndarray, shape (n,)
        On the leg's own clock.
    history : ndarray, shape (CHANNELS, entries), or (0, 0)
        Of the first case, if it was asked for.
    """

    number: int
    cases: NDArray[np.int64]
    clock: Array
    columns: Columns
    prepared: Prepared
    memories: Array
    finals: Array
    outcomes: dict[str, NDArray[Any]]
    history: Array


@dataclass(frozen=True, kw_only=True)
class _Carried:
    """What goes over from one leg to the next, for the cases that go on; arrays of shape (n,) or (rows, n)."""

    clock: Array
    state: Array
    parameters: Array
    pushing: NDArray[np.bool_]
    """Whether the last leg was a push."""
    kind: Array
    """Kind of what has failed and is not mended; none."""
    happened: NDArray[np.bool_]
    """Whether anything has failed, mended or not: one thing fails in a job."""
    failed_clock: Array
    """Time of the job at which it failed [s]."""
    failed_at: Array
    """The same on the clock of the last leg."""
    failed_north: Array
    failed_east: Array
    lasted: Array
    """How long the last leg took [s]."""


def leg_columns(columns: Columns, changes: Mapping[str, float]) -> dict[str, NDArray[Any]]:
    """Table of cases with what a leg changes of it."""
    size = len(next(iter(columns.values())))
    unknown = changes.keys() - columns.keys()
    if unknown:
        raise KeyError(f"a leg changes what is no input: {sorted(unknown)}")
    changed: dict[str, NDArray[Any]] = {name: np.asarray(values) for name, values in columns.items()}
    for name, value in changes.items():
        changed[name] = np.full(size, value, changed[name].dtype)
    return changed


def run_legs(columns: Columns, setting: Setting, *, recorded: bool = False) -> Iterator[LegRun]:
    """Run a job leg by leg, each for the cases whose earlier legs were all completed.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n,)
        Every input of the register, as for `toolkit.motion.engine.evaluate_columns`.
    setting : Setting
        Its legs say what each changes of the inputs.
    recorded : bool
        Whether the history of the first case is kept.

    Yields
    ------
    LegRun
        No more once no case goes on.

    Notes
    -----
    Place, heading and velocities of both vessels, heel and drives, go over; so
    do the time of gusts, front and failures, and what has failed. Drift and swept
    circles are counted from the barge's start in the first leg, the angle turned
    anew in each; a place or berth that an input gives off the barge's start is
    off her start in the leg. The time
    limit is each leg's own. A line that is not fast yet from the leg before
    is made fast at the start of a leg: a tug too far off for it, like one that
    finds no station, has `lost_station`.
    """
    cases = np.arange(len(next(iter(columns.values()))))
    carried: _Carried | None = None
    for number, changes in enumerate(setting.legs, start=1):
        going_on: dict[str, NDArray[Any]] = {name: np.asarray(values)[cases] for name, values in columns.items()}
        some = leg_columns(going_on, changes)
        clock = np.zeros(len(cases)) if carried is None else carried.clock
        stray = np.zeros(len(cases), dtype=np.bool_)
        if carried is not None:
            some |= _where_she_lies(carried.state)
        prepared = prepare(some, clock)
        pushing = prepared.parameters[PARAMETER_ROW.pushing] > 0.0
        if carried is not None:
            prepared = _carried_on(prepared, carried)
            stray = _out_of_reach(prepared, carried)
            prepared = dataclasses.replace(prepared, aground=prepared.aground | stray)
        entries = 0
        if recorded and not prepared.aground[0]:
            entries = int(np.ceil(float(some["time_limit"][0]) / TICK)) + 2
        history = np.full((CHANNELS if entries else 0, entries), np.nan)
        memories, finals = run_prepared(prepared, history, setting)
        outcomes = outcomes_of(some, prepared, memories, finals)
        outcomes["outcome"] = np.where(stray, int(Outcome.lost_station), outcomes["outcome"])
        if carried is not None:
            _put_back(outcomes, prepared, carried)
        yield LegRun(
            number=number, cases=cases, clock=clock, columns=some, prepared=prepared, memories=memories, finals=finals,
            outcomes=outcomes, history=history,
        )  # fmt: skip
        going = np.flatnonzero(outcomes["outcome"] == int(Outcome.completed))
        if not going.size:
            return
        carried = _carry(prepared, memories, finals, clock, carried, going, pushing)
        cases = cases[going]


def _where_she_lies(state: Array) -> dict[str, Array]:
    """Inputs that say where the barge lies at the start, from where she lies."""
    heading = np.rad2deg(np.arctan2(state[STATE_ROW.barge_sine], state[STATE_ROW.barge_cosine])) % 360.0
    return {
        "start_north": state[STATE_ROW.barge_north],
        "start_east": state[STATE_ROW.barge_east],
        "initial_heading": heading,
    }


def _carry(
    prepared: Prepared, memories: Array, finals: Array, clock: Array, before: _Carried | None,
    going: NDArray[np.int64], pushing: NDArray[np.bool_],
) -> _Carried:  # fmt: skip
    """What the cases that go on take along from a leg that has been run."""
    p, m = prepared.parameters[:, going], memories[:, going]
    lasted, failed_at = m[MEMORY_ROW.time], m[MEMORY_ROW.failed_at]
    since = lasted - failed_at
    kind = np.where(failed_at >= 0.0, p[PARAMETER_ROW.failure], NO_FAILURE)
    mended = (
        ((kind == BLACK_OUT) & (since >= p[PARAMETER_ROW.restart_time]))
        | ((kind == LATE_ORDER) & (since >= p[PARAMETER_ROW.fault_duration]))
        | ((kind == WRONG_ORDER) & (since >= p[PARAMETER_ROW.fault_duration] + p[PARAMETER_ROW.recognition_time]))
        | (kind == LINE_PARTS)
    )
    failed_clock, happened = clock[going] + failed_at, failed_at >= 0.0
    if before is not None:
        happened = happened | before.happened[going]
        failed_clock = np.where(p[PARAMETER_ROW.failed_before] > 0.0, before.failed_clock[going], failed_clock)
    state = finals[:, going].copy()
    state[STATE_ROW.turned] = 0.0
    state[STATE_ROW.drive_energy] = 0.0
    return _Carried(
        clock=clock[going] + lasted,
        state=state,
        parameters=p,
        pushing=pushing[going],
        kind=np.where(mended, NO_FAILURE, kind),
        happened=happened,
        failed_clock=failed_clock,
        failed_at=failed_at,
        failed_north=m[MEMORY_ROW.failed_north],
        failed_east=m[MEMORY_ROW.failed_east],
        lasted=lasted,
    )


def _carried_on(prepared: Prepared, carried: _Carried) -> Prepared:
    """Prepared cases that begin where the leg before ended, with what had failed by then.

    What is left of a time that runs from the failure is what it has not run
    yet. A line or a fender that was to fail before it was in use does not fail.
    """
    p = prepared.parameters.copy()
    failed = carried.kind > NO_FAILURE
    passed = np.isin(p[PARAMETER_ROW.failure], (LINE_PARTS, FENDER_SLIPS)) & (p[PARAMETER_ROW.failure_angle] < 0.0)
    passed &= p[PARAMETER_ROW.failure_time] < carried.clock
    p[PARAMETER_ROW.failure] = np.where(
        carried.happened, carried.kind, np.where(passed, NO_FAILURE, p[PARAMETER_ROW.failure])
    )
    p[PARAMETER_ROW.failed_before] = failed
    for row in ORIGIN_ROWS:
        p[row] = carried.parameters[row]
    p[PARAMETER_ROW.failed_north], p[PARAMETER_ROW.failed_east] = carried.failed_north, carried.failed_east
    # one that leaned on the barge still has her fender between the hulls as she leaves
    leaning = carried.pushing & (p[PARAMETER_ROW.pushing] == 0.0)
    for row in FENDER_ROWS:
        p[row] = np.where(leaning, carried.parameters[row], p[row])
    steps = PARAMETER_ROW.steps_per_tick
    p[steps] = np.where(leaning, np.maximum(carried.parameters[steps], p[steps]), p[steps])
    run = carried.lasted - carried.failed_at
    for name in ("restart_time", "fault_duration", "recognition_time"):
        row = getattr(PARAMETER_ROW, name)
        p[row] = np.where(failed, np.maximum(carried.parameters[row] - run, 0.0), p[row])
    return dataclasses.replace(
        prepared, parameters=np.ascontiguousarray(p), initial=np.ascontiguousarray(carried.state)
    )


def _out_of_reach(prepared: Prepared, carried: _Carried) -> NDArray[np.bool_]:
    """Cases in which a line has to be made fast and the tug lies too far off for it."""
    p, s = prepared.parameters, prepared.initial
    fast = (carried.parameters[PARAMETER_ROW.on_line] > 0.0) & np.all(
        p[LINE_ROWS, :] == carried.parameters[LINE_ROWS, :], axis=0
    )
    tow = p[PARAMETER_ROW.tug_towing_x]
    north = s[STATE_ROW.tug_north] + s[STATE_ROW.tug_cosine] * tow - s[STATE_ROW.barge_north]
    east = s[STATE_ROW.tug_east] + s[STATE_ROW.tug_sine] * tow - s[STATE_ROW.barge_east]
    c, sn = s[STATE_ROW.barge_cosine], s[STATE_ROW.barge_sine]
    x = c * north + sn * east - p[PARAMETER_ROW.barge_towing_x]
    y = c * east - sn * north - p[PARAMETER_ROW.barge_towing_y]
    spread, leg = p[PARAMETER_ROW.bridle_half_spread], p[PARAMETER_ROW.bridle_leg]
    reach = np.array([bridle(*each)[0] for each in zip(x, y, spread, leg, strict=True)])
    needed = (p[PARAMETER_ROW.on_line] > 0.0) & ~fast
    return np.asarray(needed & (reach > p[PARAMETER_ROW.line_length]))


def _put_back(outcomes: dict[str, NDArray[Any]], prepared: Prepared, carried: _Carried) -> None:
    """Count times since a failure of an earlier leg from when it happened."""
    before = prepared.parameters[PARAMETER_ROW.failed_before] > 0.0
    earlier = np.where(before, carried.clock - carried.failed_clock, 0.0)
    outcomes["failed_at"] = outcomes["failed_at"] - earlier
    outcomes["time_to_contact"] = outcomes["time_to_contact"] + earlier
