"""Even steps of a record: which step it has, one row a step, gaps left open (floor 5)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError

__all__ = ["LEAST_KNOWN", "even_steps", "find_step", "splice", "splice_problems", "spliced_years"]

LEAST_KNOWN = 0.05
"""Share of the steps from first to last that must be known; below it, times are wrong rather than missing."""

_RARE = 0.01
"""Share of rows below which a difference of times is a gap or a stray row, and not a step of the record."""

_EARLY = 0.05
"""Part of a step by which a row may come early and still belong to the step: clocks that waver."""

_MANY_MONTHS = 10


def find_step(times: pd.DatetimeIndex, *, where: str, problems: list[Problem]) -> float:
    """Step of a record [hour]: the difference of successive times that covers most of it.

    Differences that are rarer than `_RARE` count as gaps or strays. What has no
    step of a minute or more is added to `problems`; then 1 comes back.
    """
    exact = pd.Series(times).sort_values().diff().dropna()
    exact = exact[exact > pd.Timedelta(0)]
    between = exact.dt.round("1min")
    between = between[between > pd.Timedelta(0)]
    if between.empty or exact.median() < pd.Timedelta(seconds=30):
        problems.append(
            Problem(where=where, what="successive times are not a minute or more apart",
                    remedy="Give a record of a year or more, averaged over ten minutes to an hour")
        )  # fmt: skip
        return 1.0
    minutes, number = np.unique((between / pd.Timedelta(minutes=1)).to_numpy(dtype=np.float64), return_counts=True)
    often = max(_RARE * number.sum(), min(2, number.max()))
    covered = np.where(number >= often, minutes * number, 0.0)
    return float(minutes[np.argmax(covered)]) / 60.0


def spliced_years(times: pd.DatetimeIndex) -> list[int]:
    """Years a typical year is spliced of; none where the record is not spliced.

    It is, where it spans ten months or more, every month is of one year alone,
    and more than two years are there (two are what a year from one spring to
    the next has).
    """
    frame = pd.DataFrame({"month": times.month, "year": times.year}).value_counts().reset_index()
    # a step that ends a month may carry the first hour of the next one: a stray, not a month
    frame = frame[frame["count"] > frame["count"].max() * 0.05]
    years = sorted(set(frame["year"]))
    one_year_each = frame["month"].is_unique and frame["month"].size >= _MANY_MONTHS
    return [int(year) for year in years] if one_year_each and len(years) > 2 else []


def splice_problems(times: pd.DatetimeIndex, years: list[int], *, typical_year: bool, where: str) -> list[Problem]:
    """What is wrong where a record is spliced and that was not said, or the other way round."""
    if years and not typical_year:
        return [
            Problem(where=where, what=f"the record is spliced: each month is of one year alone, out of "
                    f"{', '.join(map(str, years))}",
                    why="events, windows and good and bad years mean nothing in it",
                    remedy="Say that it is a typical year (typical_year): then exceedance alone is found")
        ]  # fmt: skip
    if typical_year and not years:
        months = pd.DataFrame({"month": times.month, "year": times.year}).drop_duplicates()["month"].value_counts()
        if int((months > 1).sum()) > 1:  # one month may have the first and the last days of a year's record
            return [
                Problem(where=where, what="the record is called a typical year and has months of several years",
                        why="a typical year has every month once", remedy="Leave typical_year out")
            ]  # fmt: skip
    return []


def splice(times: pd.DatetimeIndex) -> pd.DatetimeIndex:
    """Times of a typical year in one year, which is no year of the calendar's: 2001, or 2000 with a leap day."""
    leap = bool(((times.month == 2) & (times.day == 29)).any())
    shifted = pd.Timestamp("2000-01-01") if leap else pd.Timestamp("2001-01-01")
    parts = pd.DataFrame({"year": shifted.year, "month": times.month, "day": times.day})
    return pd.DatetimeIndex(pd.to_datetime(parts)) + (times - times.normalize())


def _seconds(times: pd.Index) -> NDArray[np.int64]:
    """Whole seconds since 1970."""
    return (times.to_numpy() - np.datetime64("1970-01-01")) // np.timedelta64(1, "s")


def _other_steps(since: NDArray[np.int64], length: int) -> dict[str, float]:
    """Differences of sorted times beside the step, and the share of rows that have each; those that are not rare."""
    apart = np.round(np.diff(since) / 60.0)
    minutes, number = np.unique(apart[apart > 0], return_counts=True)
    shares = number / max(number.sum(), 1)
    return {
        f"{minute / 60.0:.4g} h": float(share)
        for minute, share in zip(minutes, shares, strict=True)
        if minute * 60.0 != length and share >= _RARE
    }


def even_steps(rows: pd.DataFrame, step: float, *, where: str = "record") -> tuple[pd.DataFrame, dict[str, Any]]:
    """Bring rows to even steps.

    Parameters
    ----------
    rows : pandas.DataFrame
        By time, in any order; ``wind_speed`` among its columns.
    step : float
        Step [hour].
    where : str
        File, for messages.

    Returns
    -------
    tuple
        One row a step from the first to the last, NaN in gaps; and counts. A
        value stands for the step that begins at its time. Of several rows in a
        step, the one with the most wind stands for it.

    Raises
    ------
    StudyError
        If fewer than `LEAST_KNOWN` of the steps have a row.
    """
    rows = rows.sort_index(kind="stable")
    length = round(step * 3600.0)
    since = _seconds(rows.index)
    # the minute within the step at which most rows stand
    minute, number_of_rows = np.unique(np.round(since % length / 60.0) * 60.0 % length, return_counts=True)
    phase = int(minute[np.argmax(number_of_rows)])
    number = np.floor((since - phase) / length + _EARLY).astype(np.int64)
    same_time = rows.index.duplicated(keep=False)
    identical = rows.reset_index(names="time").duplicated().to_numpy(dtype=bool)
    first = rows.reset_index(drop=True).assign(number=number)
    order = first.sort_values(["number", "wind_speed"], ascending=[True, False], kind="stable", na_position="last")
    kept = order.drop_duplicates("number").set_index("number").sort_index()
    if len(kept) < LEAST_KNOWN * (int(kept.index.max()) - int(kept.index.min()) + 1):
        raise StudyError([
            Problem(where=where, what=f"fewer than {100 * LEAST_KNOWN:g} % of the steps of {step:g} h from "
                    f"{rows.index[0]} to {rows.index[-1]} are there", why="such times are wrong, or the step is",
                    remedy="Put the times right, or say the step: step '3 h'")
        ])  # fmt: skip
    span = np.arange(kept.index.min(), kept.index.max() + 1, dtype=np.int64)
    even = kept.reindex(span)
    even.index = pd.Timestamp("1970-01-01") + pd.to_timedelta(span * length + phase, unit="s")
    known = even["wind_speed"].notna().to_numpy(dtype=bool)
    gap = (~known).astype(np.int64)
    starts = np.flatnonzero(np.diff(np.concatenate([[0], gap])) == 1)
    ends = np.flatnonzero(np.diff(np.concatenate([gap, [0]])) == -1)
    return even, {
        "duplicates_alike": int(identical.sum()),
        "duplicates_that_differ": int(same_time.sum() - np.unique(rows.index[same_time]).size - identical.sum()),
        "merged_within_step": int(len(rows) - len(kept) - (same_time.sum() - np.unique(rows.index[same_time]).size)),
        "steps": int(span.size),
        "known_steps": int(known.sum()),
        "gaps": int(starts.size),
        "longest_gap_hours": float(max(ends - starts + 1, default=0) * step),
        "other_steps": _other_steps(since, length),
        "first": str(even.index[0]),
        "last": str(even.index[-1]),
    }
