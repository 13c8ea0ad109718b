"""How a record is to be read: what its columns do not say themselves (floor 5)."""

from __future__ import annotations

import datetime
import re
import zoneinfo
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from toolkit.errors import Problem

__all__ = ["HEIGHTS", "ROLES", "ReadingOptions", "hours_of", "options_problems", "zone_of"]

ROLES: dict[str, str] = {
    "time": "date and time, or time of day beside a date",
    "date": "date beside a time of day",
    "wind_speed": "mean wind speed",
    "wind_from": "bearing the wind comes FROM",
    "wind_to": "bearing the wind blows TO",
    "wind_east": "component of the wind's velocity towards east",
    "wind_north": "component of the wind's velocity towards north",
    "current_speed": "current speed",
    "current_to": "bearing the current runs TO",
    "current_from": "bearing the current comes FROM",
    "current_east": "component of the current's velocity towards east",
    "current_north": "component of the current's velocity towards north",
}
"""What a column of a record may be, and what it holds."""

HEIGHTS = (2.0, 150.0)
"""Heights of an anemometer for which the one-seventh power law is used [m]; a judgement, the surface layer."""

_AVERAGING_FACTORS = (0.5, 1.5)


@dataclass(frozen=True, kw_only=True)
class ReadingOptions:
    """What is told about a record beside what its file says.

    Attributes
    ----------
    columns : mapping
        Name of a column (CSV) or variable (NetCDF) by what it is, out of `ROLES`.
    units : mapping
        Unit of a column by what it is, such as ``{"wind_speed": "kn"}``; goes
        before what the file says.
    times_in : str
        Time zone of times that name none: ``UTC``, ``UTC+2`` (two hours ahead)
        or a name of the IANA list. Empty: CSV times stay as they stand, and
        NetCDF times are UTC by the CF conventions.
    hours_in : str
        Time zone in which hours of day and months are counted; that of the
        times if empty.
    time_format : str
        Pattern of the times in strftime's signs, where they are not ISO 8601.
    times_at : {"start", "end"}
        Whether a time is the start or the end of the step its value stands for.
    height : float or None
        Height of the wind above water [m]; None: what the file says, else 10 m.
    averaging : str
        Averaging time of the wind speed, such as ``10 min``; for the report.
    averaging_factor : float
        What the wind speed is multiplied by to be a ten-minute mean [1].
    typical_year : bool
        Whether the record is spliced of months of several years.
    step : str
        Step to which the record is brought, such as ``1 h``; found if empty.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    times_in: str = ""
    hours_in: str = ""
    time_format: str = ""
    times_at: Literal["start", "end"] = "start"
    height: float | None = None
    averaging: str = ""
    averaging_factor: float = 1.0
    typical_year: bool = False
    step: str = ""


def hours_of(text: str, *, where: str, problems: list[Problem]) -> float:
    """Hours of a length of time such as ``3 h``, ``90 min`` or ``1 day``.

    What is no length of time above zero is added to `problems`; then 1 comes back.
    """
    import pandas as pd

    words = str(text).strip()
    try:
        length = pd.Timedelta(words.lower()) if re.search(r"[A-Za-z]", words) else pd.NaT
    except ValueError:
        length = pd.NaT
    if pd.isna(length) or length <= pd.Timedelta(0):
        problems.append(
            Problem(where=where, what=f"'{words}' is no length of time above zero", remedy="Write for example '3 h'")
        )
        return 1.0
    return float(length / pd.Timedelta(hours=1))


def zone_of(text: str, *, where: str, problems: list[Problem]) -> datetime.tzinfo | None:
    """Time zone by ``UTC``, an offset such as ``UTC+2`` or ``-09:30``, or a name of the IANA list.

    None where `text` is empty, and where it is no zone, which is added to `problems`.
    """
    words = text.strip()
    if not words:
        return None
    offset = re.fullmatch(r"(?:UTC|GMT|Z)?\s*(?:([+\-−])(\d{1,2})(?::?([0-5]\d))?)?", words, re.IGNORECASE)
    if offset is not None:
        sign, hours, minutes = offset.groups()
        shift = datetime.timedelta(hours=int(hours or 0), minutes=int(minutes or 0))
        if shift <= datetime.timedelta(hours=14):
            return datetime.timezone(shift if sign in (None, "+") else -shift)
    else:
        try:
            return zoneinfo.ZoneInfo(words)
        except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
            pass
    problems.append(
        Problem(
            where=where,
            what=f"'{words}' is no time zone",
            remedy="Write UTC, an offset ahead of UTC such as UTC+2, or a name of the IANA list",
        )
    )
    return None


def options_problems(options: ReadingOptions) -> list[Problem]:
    """Everything that is wrong with the options themselves, before a file is opened."""
    problems: list[Problem] = []
    for kind, given in (("columns", options.columns), ("units", options.units)):
        problems.extend(
            Problem(where=f"{kind} {name}", what=f"{name} is nothing that a record holds",
                    remedy=f"Use one of: {', '.join(ROLES)}")
            for name in given
            if name not in ROLES
        )  # fmt: skip
    zone_of(options.times_in, where="times_in", problems=problems)
    zone_of(options.hours_in, where="hours_in", problems=problems)
    if options.step:
        hours_of(options.step, where="step", problems=problems)
    if options.averaging:
        hours_of(options.averaging, where="averaging", problems=problems)
    if options.times_at not in ("start", "end"):
        problems.append(Problem(where="times_at", what=f"times_at = {options.times_at!r} is not one of start, end"))
    if options.height is not None and not HEIGHTS[0] <= options.height <= HEIGHTS[1]:
        problems.append(
            Problem(
                where="height",
                what=f"height = {options.height:g} m is outside [{HEIGHTS[0]:g} m, {HEIGHTS[1]:g} m]",
                why="the one-seventh power law is for the lowest air over water",
                remedy="Bring the wind to 10 m yourself, and give 10",
            )
        )
    low, high = _AVERAGING_FACTORS
    if not low <= options.averaging_factor <= high:
        problems.append(
            Problem(
                where="averaging_factor",
                what=f"averaging_factor = {options.averaging_factor:g} is outside [{low:g}, {high:g}]",
                why="means over a minute to three hours differ by less",
                remedy="Give what a mean of the record is multiplied by to be a ten-minute mean",
            )
        )
    return problems
