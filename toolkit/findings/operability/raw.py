"""A record as its file has it: times and numbers, row by row, before anything is put right (floor 5)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from toolkit.findings.operability.headings import FLOWS

__all__ = ["RawRecord", "flows_of", "read_numbers", "read_times"]

_OFFSET = r"[T ]\d{1,2}(?::?\d{2}){0,2}(?:\.\d+)?\s*(?:Z|[+-]\d{2}(?::?\d{2})?)$"
_MIDNIGHT = r"(?:^|[^0-9:])24:00(?::00)?$"
_NO_VALUE = frozenset({"", "-", "--", "na", "n/a", "nan", "nil", "null", "none", "m", "missing"})


@dataclass(frozen=True, kw_only=True)
class RawRecord:
    """Rows of a file.

    Attributes
    ----------
    name : str
        File, for messages.
    times : pandas.DatetimeIndex
        One a row, NaT where it cannot be read; in UTC if the file names zones,
        else without a zone.
    values : mapping of ndarray
        ``wind_speed``, ``wind_from`` and, where the record has a current,
        ``current_speed``, ``current_to``; shape (rows,) [m/s, degree]. NaN where
        missing or unreadable; nothing is judged yet.
    unreadable : ndarray of bool
        Rows that cannot be read: words where a number belongs, cells too many or too few.
    rows : ndarray of int
        Number of the line, or of the place, of each row in the file.
    height : float or None
        Height of the wind that the file names [m].
    told : tuple of str
        What was recognised, and how it was read.
    """

    name: str
    times: pd.DatetimeIndex
    values: Mapping[str, NDArray[np.float64]]
    unreadable: NDArray[np.bool_]
    rows: NDArray[np.int64]
    height: float | None = None
    told: tuple[str, ...] = field(default=())


def read_numbers(column: pd.Series[Any], *, decimal_comma: bool) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Numbers of a column of text, NaN where there is none; and where words stand that are no number.

    Words that mean "no value" (``-``, ``NA``, ``M``, ...) are missing, not wrong.
    """
    text = column.fillna("").astype(str).str.strip()
    if decimal_comma:
        text = text.str.replace(",", ".", regex=False)
    numbers = pd.to_numeric(text, errors="coerce").to_numpy(dtype=np.float64)
    numbers = np.where(np.isinf(numbers), np.nan, numbers)
    empty = text.str.lower().isin(_NO_VALUE).to_numpy(dtype=bool)
    return numbers, np.isnan(numbers) & ~empty


def read_times(text: pd.Series[Any], pattern: str) -> tuple[pd.DatetimeIndex, bool]:
    """Times of a column of text, NaT where one cannot be read; and whether they name their zone.

    Parameters
    ----------
    text : pandas.Series of str
        ISO 8601, or by `pattern`. ``24:00`` is the next day's 00:00.
    pattern : str
        In strftime's signs; empty for ISO 8601.

    Returns
    -------
    tuple
        Times in UTC if any row names an offset (rows without one then cannot be
        read), else without a zone.
    """
    text = text.fillna("").astype(str).str.strip().str.replace(r"\s+", " ", regex=True)
    midnight = text.str.contains(_MIDNIGHT, regex=True)
    text = text.where(~midnight, text.str.replace("24:00", "00:00", regex=False))
    offset = text.str.contains(_OFFSET, regex=True) if not pattern else pd.Series(False, index=text.index)
    zoned = "%z" in pattern or bool(offset.any())
    if not pattern:  # pandas knows words such as 'today', which are no time of a record
        text = text.where(offset if zoned else text.str.contains(r"^\d", regex=True), "")
    times = pd.to_datetime(text, format=pattern or "ISO8601", errors="coerce", utc=zoned)
    times = times.where(~midnight, times + pd.Timedelta(days=1))
    return pd.DatetimeIndex(times), zoned


def flows_of(columns: Mapping[str, NDArray[np.float64]]) -> tuple[dict[str, NDArray[np.float64]], tuple[str, ...]]:
    """Wind and current as speed and bearing, from what a file has in their place.

    Parameters
    ----------
    columns : mapping
        Arrays by what they are, out of `ROLES` [m/s, degree].

    Returns
    -------
    tuple
        ``wind_speed``, ``wind_from`` and, if there, ``current_speed``,
        ``current_to`` [m/s, degree]; and what was done, in words.
    """
    found: dict[str, NDArray[np.float64]] = {}
    told = []
    for flow, (speed, bearing, other, east, north) in FLOWS.items():
        if speed in columns and (bearing in columns or other in columns):
            found[speed] = columns[speed]
            if bearing in columns:
                found[bearing] = columns[bearing]
            else:
                valid = (columns[other] >= 0.0) & (columns[other] <= 360.0)
                found[bearing] = np.where(valid, np.mod(columns[other] + 180.0, 360.0), columns[other])
                told.append(f"{bearing} is {other} turned by 180 degrees")
        elif east in columns:
            found[speed] = np.hypot(columns[east], columns[north])
            towards = np.rad2deg(np.arctan2(columns[east], columns[north]))
            found[bearing] = np.mod(towards + (180.0 if flow == "wind" else 0.0), 360.0)
            told.append(f"{speed} and {bearing} are from the components {east} and {north}")
    return found, tuple(told)
