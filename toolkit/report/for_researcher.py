"""The report of a researcher: configurations compared pair by pair, and how sure that is (floor 6)."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from toolkit.errors import Problem, StudyError
from toolkit.figures import comparison_pages
from toolkit.figures.paired_difference import draw_paired_differences
from toolkit.figures.view import caption
from toolkit.findings import apply_limits, share_of_runs, shares_text
from toolkit.findings.conditions import facts_of_results
from toolkit.findings.display import as_sentence, display_unit, long_name, to_display
from toolkit.findings.paired import compare_along
from toolkit.findings.reading import bare
from toolkit.findings.research_tables import comparison_lines, paired_difference_table, preference_table
from toolkit.findings.table import Table
from toolkit.findings.tables import outcome_table
from toolkit.report.content import Content, Section, gathered

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["read_tables", "researcher"]

READER = "Researcher: configurations compared"
QUESTION = (
    "Which of the configurations does better, all else alike; where; by how much; how sure is that; and what do the "
    "cases say that did not complete?"
)
_COMMANDS = ("towage compare RESULTS", "towage sensitivity STUDY", "towage export RESULTS --netcdf FILE --csv FILE")
_MOST_ROWS = 400


def researcher(
    dataset: xr.Dataset,
    *,
    limits: object | None = None,
    judged: xr.Dataset | None = None,
    axis: str = "",
    values: Sequence[Any] = (),
    sensitivity: Iterable[Table] = (),
) -> Content:
    """Findings of a researcher.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results, in memory; axes cut before where one value is wanted.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the dataset.
    judged : xarray.Dataset, optional
        The same cases as judged already, instead of by `limits`.
    axis : str
        Input whose values are compared; the first choice that is swept unless given.
    values : sequence, optional
        Values to compare, each with the first; all of them unless given.
    sensitivity : iterable of Table
        Tables of a sensitivity, as :func:`read_tables` reads them.

    Returns
    -------
    Content
        Where nothing is swept that can be compared, it says so in place of an answer.

    Raises
    ------
    StudyError
        If `axis` or a value of it is not there.
    """
    judged = bare(apply_limits(dataset, limits) if judged is None else judged)
    runs = f"It rests on {shares_text(share_of_runs(judged))}"
    chosen = axis or _first_choice(dataset)
    last = (_ends(judged), _sensitivity(tuple(sensitivity)))
    if not chosen or not judged["passes"].size:
        why = "Nothing can be compared in these results: no choice is swept on a grid."
        return Content(reader=READER, question=QUESTION, answer=(why, runs), sections=last, commands=_COMMANDS)
    sets, left = comparison_pages.comparison_sets(dataset, chosen, tuple(values), None, ("first", "second"))
    found = [compare_along(dataset, chosen, *two) for _, _, two in sets]
    return Content(
        reader=READER,
        question=QUESTION,
        answer=(*(_answer(one, facts_of_results(dataset).time) for one in found), runs),
        grid=(chosen, "wind_speed"),
        sections=(_differences(dataset, judged, chosen, found, left), *_where(dataset, judged, chosen, sets), *last),
        assumptions=tuple(dict.fromkeys(line for one in found for line in comparison_lines(one)[3:])),
        commands=_COMMANDS,
    )


def _first_choice(dataset: xr.Dataset) -> str:
    """The first axis of words with two of them; empty without one."""
    dims = [str(dim) for dim in dataset["outcome"].dims]
    return next((d for d in dims if d in dataset.coords and dataset[d].dtype.kind in "UO" and dataset.sizes[d] > 1), "")


def _answer(found: xr.Dataset, quantity: str) -> str:
    """The difference in the time of the job, or in the first outcome there is, with interval and failed pairs."""
    first, second = str(found.attrs["first"]), str(found.attrs["second"])
    names = [str(name) for name in found["quantity"].values]
    name = quantity if quantity in names else (names or [""])[0]
    lead = comparison_lines(found)[0]
    lead = as_sentence(lead)
    if not name or math.isnan(float(found["mean_difference"].sel(quantity=name))):
        return f"{as_sentence(second)} cannot be set against {first} by a mean: no pair completed both ways. {lead}"
    one = found.sel(quantity=name)
    middle, low, high = (float(to_display(name, one[f"mean_difference{end}"].item())) for end in ("", "_low", "_high"))
    unit = display_unit(name)
    size = f"{abs(middle):.3g} {unit}".strip()
    if low <= 0.0 <= high or math.isnan(low):
        told = f"{second} and {first} differ in {long_name(name)} by no more than the interval leaves open"
    else:
        less, more = (second, first) if middle < 0 else (first, second)
        told = f"{less} has the smaller {long_name(name)}: {size} less than {more} in the mean"
    flips = 100.0 * float(one["share_sign_flips"])
    level = 100.0 * float(found.attrs["level"])
    return (
        f"{as_sentence(told)} ({second} less {first}: {middle:.3g}, {level:g} % interval {low:.3g} to "
        f"{high:.3g} {unit}; of the pairs that completed both ways, the sign is the other one in {flips:.0f} %). {lead}"
    )


def _differences(
    dataset: xr.Dataset, judged: xr.Dataset, axis: str, found: Sequence[xr.Dataset], left: Sequence[str]
) -> Section:
    out = gathered()
    out.left_out.extend(left)
    title = f"Paired differences by {long_name(axis)}"
    text = caption(dataset, judged, lead=(comparison_pages.READ_DIFFERENCES,))
    out.sheet(draw_paired_differences(found, title=title, caption=text), "", title)
    out.table(paired_difference_table(found), "")
    out.table(preference_table(found), "")
    lines = dict.fromkeys(line for one in found for line in comparison_lines(one))
    told = (
        "Times that were not reached are known only to be longer than the time limit (they are censored). Differences "
        "are of the pairs that completed both ways; the second table counts the others as well."
    )
    return out.section("Differences, pair by pair", (told,), [(0, line) for line in lines])


def _where(dataset: xr.Dataset, judged: xr.Dataset, axis: str, sets: Sequence[Any]) -> tuple[Section, ...]:
    quantity = facts_of_results(dataset).time
    if quantity not in dataset.data_vars:
        return ()
    maps, means = gathered(), gathered()
    for place, (both, named, _) in enumerate(sets):
        comparison_pages.draw_two_compared(maps, both, named, f"_{place + 1}", (dataset, judged), (), quantity)
    comparison_pages.draw_interactions(means, dataset, judged, axis, (), quantity)
    return maps.section("Where each does better"), means.section("How inputs work together")


def _ends(judged: xr.Dataset) -> Section:
    out = gathered()
    if judged["passes"].size:
        out.table(outcome_table(judged), "")
    return out.section("How the cases ended")


def _sensitivity(tables: tuple[Table, ...]) -> Section:
    heading = "What moves the outcomes"
    if not tables:
        told = "No tables of a sensitivity were given (--sensitivity FILE.csv, as `towage sensitivity` writes them)."
        return Section(heading=heading, paragraphs=(told,))
    return Section(heading=heading, tables=tables)


def read_tables(paths: Iterable[str | Path]) -> tuple[Table, ...]:
    """Read tables as this package writes them in CSV: title and notes behind ``#``, a header, rows.

    Raises
    ------
    StudyError
        For every file that is not there or holds no table.
    """
    found, problems = [], []
    for place in map(Path, paths):
        try:
            lines = place.read_text(encoding="utf-8").splitlines()
        except (OSError, UnicodeDecodeError) as error:
            problems.append(_no_table(place, str(getattr(error, "strerror", "") or "it is no text")))
            continue
        told = [line[1:].strip() for line in lines if line.startswith("#")]
        rows = list(csv.reader(io.StringIO("\n".join(line for line in lines if not line.startswith("#")))))
        if len(rows) < 2 or any(len(row) != len(rows[0]) for row in rows):
            problems.append(_no_table(place, "its rows are not all as long as its header, or there are none"))
            continue
        left = (f"{len(rows) - 1 - _MOST_ROWS:,} rows more are in the file.",) if len(rows) - 1 > _MOST_ROWS else ()
        found.append(
            Table(title=(told or [place.stem])[0], header=tuple(rows[0]),
                  rows=tuple(tuple(map(_cell, row)) for row in rows[1 : 1 + _MOST_ROWS]), notes=(*told[1:], *left))
        )  # fmt: skip
    if problems:
        raise StudyError(problems)
    return tuple(found)


def _cell(text: str) -> str | float:
    try:
        return float(text) if text else math.nan
    except ValueError:
        return text


def _no_table(place: Path, why: str) -> Problem:
    return Problem(where=str(place), what="it holds no table", why=why,
                   remedy="Name a CSV file that `towage sensitivity` wrote")  # fmt: skip
