"""Righting levers that a user gives for the tugs of a study, from a CSV file (floor 5)."""

from __future__ import annotations

import csv
import itertools
import math
import re
from pathlib import Path

from toolkit.errors import Problem, StudyError
from toolkit.findings.study_tugs import StudyTug
from toolkit.rules import RightingCurve, curve_from_table

__all__ = ["read_righting_levers"]

COLUMNS = ("heel", "lever", "tug", "down_flooding")
NEEDED = COLUMNS[:2]
NAME_IT = "Name the tug by its number in the table of `towage stability`, in a column 'tug'"
MOST_ROWS = 100_000
LARGEST_LEVER = 10.0
"""Levers beyond which a file is taken to be in another unit [m]."""
ADVICE = "Write columns heel [deg] and lever [m], and where there are several tugs their number as tug"


def read_righting_levers(path: Path, tugs: list[StudyTug]) -> dict[int, RightingCurve]:
    """Read the righting curves of tugs.

    Parameters
    ----------
    path : Path
        CSV file with a header: ``heel`` [degree] and ``lever`` [m]; ``tug``, the
        number of the tug in the table, where the study has several;
        ``down_flooding`` [degree], the same in all rows of a tug, where it is
        known. A unit in brackets may follow a name. Lines that start with ``#``
        are left out.
    tugs : list of StudyTug
        The tugs of the study.

    Returns
    -------
    dict of int to RightingCurve
        By the number of the tug.

    Raises
    ------
    StudyError
        With every problem of the file.
    """
    header, lines = _lines(path)
    problems: list[Problem] = []
    points: dict[int, list[tuple[int, float, float, float]]] = {}
    count = len(tugs) if "tug" in header else 1
    if count < len(tugs) and lines:  # once, not for every row
        problems.append(
            Problem(where=str(path), what=f"no tug is named, and the study has {len(tugs)}", remedy=NAME_IT)
        )
    for number, cells in lines:
        row = _row(path, number, header, cells, count, problems)
        if row is not None:
            points.setdefault(row[0], []).append((number, *row[1:]))
    curves: dict[int, RightingCurve] = {}
    for tug, rows in sorted(points.items()):
        found = _curve_problems(path, tug, rows)
        problems += found
        if not found:
            curves[tug] = curve_from_table(
                [math.radians(row[1]) for row in rows], [row[2] for row in rows],
                down_flooding=math.radians(rows[0][3]), deck_edge=tugs[tug - 1].deck_edge, origin=path.name,
            )  # fmt: skip
    if not lines:
        problems.append(Problem(where=str(path), what="there are no righting levers in it", remedy=ADVICE))
    if problems:
        raise StudyError(problems)
    return curves


def _lines(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Names of columns, and the rows with their line numbers."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not text in UTF-8"
        raise StudyError(
            [Problem(where=str(path), what=f"the file cannot be read ({reason})", remedy="Name a CSV file")]
        ) from None
    rows = [
        (number, [cell.strip() for cell in cells])
        for number, cells in enumerate(csv.reader(text.splitlines()), start=1)
        if any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#")
    ]
    if not rows:
        return list(NEEDED), []
    number, first = rows[0]
    header = [re.sub(r"[\[(].*[\])]", "", name).strip().lower().replace(" ", "_").replace("-", "_") for name in first]
    problems = [
        Problem(where=f"{path}: line {number}", what=f"there is no column '{name}'", remedy=ADVICE)
        for name in NEEDED
        if name not in header
    ]
    problems += [
        Problem(where=f"{path}: line {number}", what=f"column '{name}' is not known", remedy=ADVICE)
        for name in header
        if name not in COLUMNS
    ]
    problems += [
        Problem(where=f"{path}: line {number}", what=f"column '{name}' stands twice", remedy="Keep one of them")
        for name in sorted({name for name in header if header.count(name) > 1})
    ]
    if len(rows) > MOST_ROWS:
        problems.append(
            Problem(where=str(path), what=f"it has {len(rows) - 1} rows", why=f"{MOST_ROWS} are read at most",
                    remedy="Give fewer points: one every degree or so is plenty")
        )  # fmt: skip
    if problems:
        raise StudyError(problems)
    return header, rows[1:]


def _row(
    path: Path, number: int, header: list[str], cells: list[str], tugs: int, problems: list[Problem]
) -> tuple[int, float, float, float] | None:
    """Tug, heel, lever and down-flooding of a row; None with its problems told."""
    where = f"{path}: line {number}"
    if len(cells) != len(header):
        problems.append(
            Problem(where=where, what=f"{len(cells)} values stand under {len(header)} names",
                    remedy="Write numbers with a point, and a comma between them")
        )  # fmt: skip
        return None
    values: dict[str, float] = {"tug": math.nan, "down_flooding": math.nan}
    for name, cell in zip(header, cells, strict=True):
        if not cell and name not in NEEDED:
            continue
        try:
            values[name] = float(cell)
        except ValueError:
            values[name] = math.inf
        if not math.isfinite(values[name]):
            problems.append(
                Problem(where=where, what=f"{name} = '{cell[:40]}' is not a number", remedy="Write digits with a point")
            )
            return None
    tug = _tug(where, values["tug"], tugs, problems)
    for name, low, high, unit in (
        ("heel", 0.0, 180.0, "deg"), ("lever", -LARGEST_LEVER, LARGEST_LEVER, "m"), ("down_flooding", 1.0, 90.0, "deg"),
    ):  # fmt: skip
        if values[name] < low or values[name] > high:
            problems.append(
                Problem(where=where, what=f"{name} = {values[name]:g} {unit} is outside [{low:g}, {high:g}] {unit}",
                        remedy=ADVICE)
            )  # fmt: skip
            return None
    return None if tug is None else (tug, values["heel"], values["lever"], values["down_flooding"])


def _tug(where: str, value: float, tugs: int, problems: list[Problem]) -> int | None:
    """Number of the tug of a row; None with its problem told."""
    if math.isnan(value):
        if tugs == 1:
            return 1
        what = f"no tug is named, and the study has {tugs}"
    elif value.is_integer() and 1 <= value <= tugs:
        return int(value)
    else:
        what = f"tug = {value:g} is not a number from 1 to {tugs}"
    problems.append(Problem(where=where, what=what, remedy=NAME_IT))
    return None


def _curve_problems(path: Path, tug: int, rows: list[tuple[int, float, float, float]]) -> list[Problem]:
    where = f"{path}: tug {tug}"
    problems: list[Problem] = []

    def add(what: str, remedy: str, why: str = "") -> None:
        problems.append(Problem(where=where, what=what, why=why, remedy=remedy))

    if len(rows) < 4:
        add(f"{len(rows)} points of the curve", "Give four points or more", "a curve cannot be drawn through fewer")
    if rows[0][1] != 0.0:
        add(f"the curve starts at {rows[0][1]:g} deg", "Begin with heel 0, lever 0")
    elif abs(rows[0][2]) > 0.02:
        add(f"the lever upright is {rows[0][2]:g} m", "Begin with heel 0, lever 0",
            "a tug with a list is not what the rules are written for")  # fmt: skip
    for before, after in itertools.pairwise(rows):
        if after[1] <= before[1]:
            add(f"heel {after[1]:g} deg of line {after[0]} does not rise over {before[1]:g} deg",
                "Sort the rows by heel, one row a heel")  # fmt: skip
            break
    if len({row[3] for row in rows if not math.isnan(row[3])}) > 1 or len({math.isnan(row[3]) for row in rows}) > 1:
        add("down_flooding differs between rows", "Write the same in every row of a tug, or leave the column out")
    return problems
