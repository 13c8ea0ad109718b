"""Rows of a record in a CSV file (floor 5)."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from toolkit.errors import Problem, StoreError, StudyError
from toolkit.findings.operability.headings import factor_of, in_brackets, missing_columns, roles_of, time_pattern
from toolkit.findings.operability.options import ReadingOptions
from toolkit.findings.operability.raw import RawRecord, flows_of, read_numbers, read_times

__all__ = ["read_csv"]

MOST_LINES_ABOVE = 60
"""Lines above the headings that a file may begin with."""

LEAST_TIMES_READ = 0.5
"""Share of rows whose time must be readable; below it the way of reading is wrong, not the rows."""


def read_csv(path: Path, options: ReadingOptions) -> RawRecord:
    """Read the rows of a CSV file.

    The headings are looked for below up to `MOST_LINES_ABOVE` other lines; the
    cells may be parted by commas, semicolons or tabs. With semicolons or tabs a
    comma in a number is its decimal mark.

    Parameters
    ----------
    path : Path
        UTF-8, else Latin-1.
    options : ReadingOptions
        What the file does not say.

    Raises
    ------
    StudyError
        With every column, unit and pattern of times that is missing or unclear.
    StoreError
        If the file cannot be opened.
    """
    problems: list[Problem] = []
    name = path.name
    text = _text(path)
    above, separator, headings = _headings(text, options, name, problems)
    roles = roles_of(headings, options.columns, where=name, problems=problems)
    problems.extend(missing_columns(roles, where=name, headings=headings))
    factors = {
        role: factor_of(role, options.units.get(role, unit), where=name, problems=problems)
        for role, (_, unit) in roles.items()
        if role not in ("time", "date")
    }
    if problems:
        raise StudyError(problems)
    table = _table(text, above, separator, headings, list(dict.fromkeys(column for column, _ in roles.values())))
    if table.empty:
        raise StudyError([Problem(where=name, what="there are no rows below the headings", remedy="Give a record")])
    told = [f"headings on line {above + 1}; {role} is '{column}'" if place == 0 else f"{role} is '{column}'"
            for place, (role, (column, _)) in enumerate(roles.items())]  # fmt: skip
    columns, unreadable = {}, (table == "").all(axis=1).to_numpy(dtype=bool)
    for role, factor in factors.items():
        numbers, wrong = read_numbers(table[roles[role][0]], decimal_comma=separator != ",")
        columns[role], unreadable = numbers * factor, unreadable | wrong
        unit = options.units.get(role, roles[role][1])
        told.append(f"{role} in {unit or 'degrees (not said)'}, times {factor:.6g}")
    values, turned = flows_of(columns)
    if "current_set" in roles or in_brackets(roles.get("current_to", ("", ""))[0])[0].lower().endswith(("dir", "tion")):
        told.append("the direction of the current is taken as the bearing it runs TO")
    times = _times(table, roles, options, name)
    return RawRecord(
        name=name,
        times=times,
        values=values,
        unreadable=unreadable,
        rows=table.index.to_numpy(dtype=np.int64),
        told=(*told, *turned),
    )


def _text(path: Path) -> str:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise StoreError(f"{path}: cannot be read ({error.strerror}). Give a record as CSV or NetCDF.") from None
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def _lines(text: str) -> list[str]:
    """Lines of a text, whichever of the three ways of ending them was used."""
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def _cells(line: str, separator: str) -> list[str]:
    """Cells of a line; none where it cannot be read as cells."""
    try:
        return next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
    except csv.Error:
        return []


def _headings(
    text: str, options: ReadingOptions, name: str, problems: list[Problem]
) -> tuple[int, str, list[str]]:  # fmt: skip
    """Number of lines above the headings, what parts cells, and the headings."""
    best: tuple[int, int, str, list[str]] = (0, 0, ",", [])
    for number, line in enumerate(_lines(text)[: MOST_LINES_ABOVE + 1]):
        separator = max(",;\t", key=line.count)
        if line.startswith("#") or separator not in line:
            continue
        cells = [cell.strip() for cell in _cells(line, separator)]
        quiet: list[Problem] = []
        roles = roles_of(cells, options.columns, where=name, problems=quiet)
        if len(roles) > best[0]:
            best = (len(roles), number, separator, cells)
    found, number, separator, cells = best
    if found == 0 or not text.strip():
        problems.append(
            Problem(where=name, what="no line of headings was found",
                    why=f"none of the first {MOST_LINES_ABOVE} lines names a column that is known",
                    remedy="Head the columns 'time, wind_speed [kn], wind_from [deg]', or name them")
        )  # fmt: skip
    elif len(set(cells)) < len(cells):
        twice = sorted({cell for cell in cells if cell and cells.count(cell) > 1})
        used = roles_of(cells, options.columns, where=name, problems=[])
        problems.extend(
            Problem(where=name, what=f"two columns are headed '{cell}'", remedy="Name them apart")
            for cell in twice
            if cell in {column for column, _ in used.values()}
        )
    return number, separator, cells


def _table(text: str, above: int, separator: str, headings: list[str], wanted: list[str]) -> pd.DataFrame:
    """Wanted cells as text, one row a line below the headings, by the number of the line.

    Lines that start with # and empty lines are left out. A line with another number of cells than there are
    headings, empty ones at its end aside, is kept with no cell: a comma in a number would have shifted them.
    """
    numbers, rows = [], []
    places = [headings.index(heading) for heading in wanted]
    nothing = [""] * len(places)
    for number, line in enumerate(_lines(text)[above + 1 :], start=above + 2):
        if line.startswith("#") or not line.strip(f" {separator}"):
            continue
        cells = _cells(line, separator)
        whole = len(cells) >= len(headings) and not any(cells[len(headings) :])
        numbers.append(number)
        rows.append([cells[place] for place in places] if whole else nothing)
    return pd.DataFrame(rows, columns=wanted, index=numbers, dtype=object)


def _times(
    table: pd.DataFrame, roles: dict[str, tuple[str, str]], options: ReadingOptions, name: str
) -> pd.DatetimeIndex:  # fmt: skip
    names = [roles[role][0] for role in ("date", "time") if role in roles]
    text: pd.Series[Any] = table[names[0]]
    if len(names) == 2:
        text = table[names[0]].str.strip() + " " + table[names[1]].str.strip()
    pattern = options.time_format or time_pattern(*(in_brackets(n)[1] for n in names))
    try:
        times, zoned = read_times(text, pattern)
    except (ValueError, TypeError) as error:
        raise StudyError([
            Problem(where=name, what=f"time_format = '{pattern}' is no pattern of times ({error})",
                    remedy="Write it in strftime's signs, such as '%d.%m.%Y %H:%M'")
        ]) from None  # fmt: skip
    readable = np.asarray(times.notna())
    if readable.mean() < LEAST_TIMES_READ:
        shown = str(text.to_numpy()[np.argmin(readable)])
        raise StudyError([
            Problem(where=name, what=f"times such as '{shown}' cannot be read",
                    why="they are not ISO 8601" if not pattern else f"they do not follow {pattern}",
                    remedy="Say the pattern in strftime's signs: time_format '%d.%m.%Y %H:%M'")
        ])  # fmt: skip
    says_utc = any(("utc" in n.lower() or "gmt" in n.lower()) for n in names)
    return times.tz_localize("UTC") if says_utc and not zoned and not options.times_in else times
