"""Spells of weather: events of exceedance, workable windows, waiting for one (floor 5)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.operability.workable import refuse_spliced

__all__ = ["HOURS_A_YEAR", "LADDER", "drop_short_calms", "events", "spells", "windows"]

HOURS_A_YEAR = 8766.0
"""Hours of a mean year, 365.25 days."""

LADDER = (1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 18.0, 24.0, 36.0, 48.0, 72.0)
"""Lengths of job for which the share of possible starts is told [hour]."""

EXCEEDED, WORKABLE, UNKNOWN = 0, 1, -1


def spells(state: NDArray[np.int8]) -> pd.DataFrame:
    """Runs of equal states.

    Parameters
    ----------
    state : ndarray of int8, shape (n,)
        `EXCEEDED`, `WORKABLE` or `UNKNOWN`, one a step.

    Returns
    -------
    pandas.DataFrame
        One row a spell, in order: ``state``, ``start`` (place of its first
        step), ``steps``; ``cut``: it begins or ends at the record's end or at a
        gap, so that its length is a least length.
    """
    if not state.size:
        return pd.DataFrame({"state": [], "start": [], "steps": [], "cut": []}, dtype=np.int64)
    start = np.flatnonzero(np.concatenate([[True], np.diff(state) != 0]))
    kind = state[start]
    around = np.concatenate([[UNKNOWN], kind, [UNKNOWN]])
    return pd.DataFrame(
        {
            "state": kind,
            "start": start,
            "steps": np.diff(np.concatenate([start, [state.size]])),
            "cut": (around[:-2] == UNKNOWN) | (around[2:] == UNKNOWN),
        }
    )


def _states(held: xr.Dataset, rule: str) -> NDArray[np.int8]:
    workable = held["workable"].sel(rule=rule).values
    return np.where(held["known"].values, workable.astype(np.int8), np.int8(UNKNOWN)).astype(np.int8)


def drop_short_calms(state: NDArray[np.int8], least_steps: float) -> NDArray[np.int8]:
    """States with every workable spell shorter than that many steps counted as exceeded.

    A spell that is cut by the end of the record or by a gap is dropped too if
    what is known of it is shorter.
    """
    found = spells(state)
    short = (found["state"] == WORKABLE) & (found["steps"] < least_steps - 1e-9)
    kind = np.where(short, EXCEEDED, found["state"])
    return np.repeat(kind, found["steps"]).astype(np.int8)


def events(held: xr.Dataset, *, calm_hours: float = 0.0) -> xr.Dataset:
    """Events of exceedance: how often, how long, how far apart.

    Parameters
    ----------
    held : xarray.Dataset
        From :func:`toolkit.findings.operability.workable_time`, of a record that
        is no typical year.
    calm_hours : float
        Workable spells shorter than this do not end an event: they are too
        short to be used [hour].

    Returns
    -------
    xarray.Dataset
        Along ``rule``: ``count`` (int), ``count_a_year``; ``mean_duration``,
        ``median_duration``, ``longest_duration``, ``mean_interval`` (start to
        start, of events with no gap between) [hour]; ``cut_count``, events whose
        true length is not known; ``conditional_availability``, the share of the
        known time that is workable in spells of `calm_hours` or more [1]; and
        ``count_by_month`` (rule, month), of the months that events begin in.
        Durations of no event are NaN.

    Raises
    ------
    StudyError
        In a typical year; with a negative length of calm.
    """
    refuse_spliced(held, "events")
    _positive("calm_hours", calm_hours, zero=True)
    step = float(held.attrs["step_hours"])
    known_hours = step * int(held["known"].sum())
    month = pd.DatetimeIndex(held["local_time"].values).month.to_numpy()
    rows: list[dict[str, float]] = []
    by_month = []
    for rule in map(str, held["rule"].values):
        state = drop_short_calms(_states(held, rule), calm_hours / step)
        table = spells(state)
        exceeded = table[table["state"] == EXCEEDED]
        hours = exceeded["steps"].to_numpy() * step
        part = (table["state"] == UNKNOWN).cumsum()[exceeded.index]
        between = exceeded["start"].diff()[part.diff() == 0].to_numpy(dtype=np.float64) * step
        rows.append(
            {
                "count": hours.size,
                "count_a_year": hours.size / known_hours * HOURS_A_YEAR if known_hours else np.nan,
                "mean_duration": float(np.mean(hours)) if hours.size else np.nan,
                "median_duration": float(np.median(hours)) if hours.size else np.nan,
                "longest_duration": float(np.max(hours)) if hours.size else np.nan,
                "mean_interval": float(np.mean(between)) if between.size else np.nan,
                "cut_count": int(exceeded["cut"].sum()),
                "conditional_availability": step * float((state == WORKABLE).sum()) / known_hours
                if known_hours
                else np.nan,
            }
        )
        by_month.append(np.bincount(month[exceeded["start"].to_numpy(dtype=np.int64)], minlength=13)[1:])
    found = _along_rule(held, rows, {"calm_hours": calm_hours})
    found["count_by_month"] = (("rule", "month"), np.stack(by_month))
    return found.assign_coords(month=np.arange(1, 13))


def windows(held: xr.Dataset, *, job_hours: float) -> xr.Dataset:
    """Workable windows at least as long as the job.

    Parameters
    ----------
    held : xarray.Dataset
        From :func:`toolkit.findings.operability.workable_time`, of a record that
        is no typical year.
    job_hours : float
        Length of the job [hour]; rounded up to whole steps.

    Returns
    -------
    xarray.Dataset
        Along ``rule``: ``count_a_year`` of windows long enough; ``share_in_windows``,
        the known time spent in them; ``share_of_starts``, the share of the times
        from which the job can be done to its end; ``mean_wait`` and ``wait_90``,
        the mean wait for such a start from any time and the one that nine in
        ten waits do not exceed [hour]; ``undecided_count``, steps of which this
        cannot be told because a gap or the end of the record comes first.
        ``share_of_starts_by_month`` (rule, month), ``share_of_starts_by_length``
        (rule, job_hours) along `LADDER`.

    Raises
    ------
    StudyError
        In a typical year; if the job has no length.
    """
    refuse_spliced(held, "windows")
    _positive("job_hours", job_hours, zero=False)
    step = float(held.attrs["step_hours"])
    needed = int(np.ceil(job_hours / step - 1e-9))
    known = int(held["known"].sum())
    month = pd.DatetimeIndex(held["local_time"].values).month.to_numpy()
    rows: list[dict[str, float]] = []
    by_month, by_length = [], []
    for rule in map(str, held["rule"].values):
        state = _states(held, rule)
        table = spells(state)
        long = table[(table["state"] == WORKABLE) & (table["steps"] >= needed)]
        left, decided_until = _room_ahead(table, state.size)
        possible, decided = _starts(state, left, decided_until, needed)
        wait = _waits(state, possible, decided) * step
        told = wait[~np.isnan(wait)]
        rows.append(
            {
                "count_a_year": len(long) / (known * step) * HOURS_A_YEAR if known else np.nan,
                "share_in_windows": float(long["steps"].sum()) / known if known else np.nan,
                "share_of_starts": _share(possible, decided),
                "mean_wait": float(told.mean()) if told.size else np.nan,
                "wait_90": float(np.quantile(told, 0.9)) if told.size else np.nan,
                "undecided_count": int((state != UNKNOWN).sum() - decided.sum()),
            }
        )
        by_month.append([_share(possible[month == m], decided[month == m]) for m in range(1, 13)])
        by_length.append([_share(*_starts(state, left, decided_until, int(np.ceil(h / step - 1e-9)))) for h in LADDER])
    found = _along_rule(held, rows, {"job_hours": job_hours})
    found["share_of_starts_by_month"] = (("rule", "month"), np.array(by_month))
    found["share_of_starts_by_length"] = (("rule", "length"), np.array(by_length))
    return found.assign_coords(month=np.arange(1, 13), length=list(LADDER))


def _room_ahead(table: pd.DataFrame, size: int) -> tuple[NDArray[Any], NDArray[Any]]:
    """Of every step: workable steps from it on, itself included, and whether an exceedance ends them."""
    steps = table["steps"].to_numpy(dtype=np.int64)
    start = table["start"].to_numpy(dtype=np.int64)
    kind = table["state"].to_numpy()
    end = np.repeat(start + steps, steps)
    left = np.where(np.repeat(kind, steps) == WORKABLE, end - np.arange(size), 0)
    after = np.concatenate([kind[1:], [UNKNOWN]])
    return left, np.repeat(after == EXCEEDED, steps)


def _starts(
    state: NDArray[np.int8], left: NDArray[Any], ended: NDArray[Any], needed: int
) -> tuple[NDArray[Any], NDArray[Any]]:  # fmt: skip
    """Of every step: whether the job can be done from it on, and whether that can be told."""
    possible = (state == WORKABLE) & (left >= needed)
    return possible, possible | (state == EXCEEDED) | ((state == WORKABLE) & ended)


def _waits(state: NDArray[np.int8], possible: NDArray[Any], decided: NDArray[Any]) -> NDArray[np.float64]:
    """Steps from every known step to the next possible start; NaN where an untold step comes before it."""
    place = np.arange(state.size)
    next_start = np.minimum.accumulate(np.where(possible, place, state.size)[::-1])[::-1]
    next_untold = np.minimum.accumulate(np.where(decided, state.size, place)[::-1])[::-1]
    told = (next_start < state.size) & (next_start < next_untold) & (state != UNKNOWN)
    return np.where(told, next_start - place, np.nan)


def _share(possible: NDArray[Any], decided: NDArray[Any]) -> float:
    return float(possible.sum() / decided.sum()) if decided.any() else np.nan


def _positive(name: str, value: float, *, zero: bool) -> None:
    if not np.isfinite(value) or value < 0.0 or (value == 0.0 and not zero):
        raise StudyError([
            Problem(where=name, what=f"{name} = {value:g} h is no length of time{'' if zero else ' above zero'}",
                    remedy="Give hours, such as 3")
        ])  # fmt: skip


_WORDS: dict[str, tuple[str, str]] = {
    "count": ("events of exceedance", "1"),
    "count_a_year": ("number a year", "year-1"),
    "mean_duration": ("mean duration", "h"),
    "median_duration": ("median duration", "h"),
    "longest_duration": ("longest duration", "h"),
    "mean_interval": ("mean interval from start to start", "h"),
    "cut_count": ("events cut by a gap or the end of the record", "1"),
    "conditional_availability": ("share of time in spells long enough to count", "1"),
    "share_in_windows": ("share of time in windows as long as the job", "1"),
    "share_of_starts": ("share of times from which the job can be done", "1"),
    "mean_wait": ("mean wait for a start", "h"),
    "wait_90": ("wait that nine in ten do not exceed", "h"),
    "undecided_count": ("steps of which it cannot be told", "1"),
}


def _along_rule(held: xr.Dataset, rows: Sequence[dict[str, float]], attributes: dict[str, float]) -> xr.Dataset:
    """Numbers of each rule as a dataset with names and units."""
    frame = pd.DataFrame(rows)
    found = xr.Dataset(
        {str(name): ("rule", frame[name].to_numpy()) for name in frame},
        coords={"rule": held["rule"]},
        attrs={**held.attrs, **attributes},
    )
    for name in found.data_vars:
        words, unit = _WORDS[str(name)]
        found[name].attrs = {"long_name": words, "units": unit}
    return found
