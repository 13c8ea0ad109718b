"""The report of a port authority: which tug for which barge and wind, and when a second one stands by (floor 6)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures import requirement_pages
from toolkit.figures.configurations import Configuration, configurations
from toolkit.figures.pages import draw_power_page
from toolkit.figures.requirement_pages import FAILURE, RuleOptions
from toolkit.findings import apply_limits, share_of_runs, shares_text
from toolkit.findings.display import long_name
from toolkit.findings.reading import axis_is_numeric, bare
from toolkit.findings.requirement import RequirementStatus, requirement
from toolkit.findings.requirement_tables import READ_MARKS, basis_lines, range_words, sections
from toolkit.findings.rule_words import rule_lines
from toolkit.findings.standby import INTACT
from toolkit.findings.table import Table, notes_on
from toolkit.report.content import Content, Gathered, Section, begin_at, bullets, gathered

if TYPE_CHECKING:
    from collections.abc import Sequence

    import xarray as xr

__all__ = ["port_authority"]

READER = "Port authority: which tug to ask for"
QUESTION = (
    "Which bollard pull should be asked for, for which barge and wind; how much power is too much; does the rule in "
    "use find the same; and when should a standby tug be asked for?"
)
_MOST_TOLD = 8
REFUSED = (RequirementStatus.none_passes, RequirementStatus.not_run, RequirementStatus.margin_too_large)


def port_authority(
    dataset: xr.Dataset,
    *,
    limits: object | None = None,
    judged: xr.Dataset | None = None,
    options: RuleOptions | None = None,
) -> Content:
    """Findings of a port authority.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results, in memory; axes cut before where one value is wanted.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the dataset.
    judged : xarray.Dataset, optional
        The same cases as judged already, instead of by `limits`.
    options : RuleOptions, optional
        Share, margins, bands, what is free to choose, a draft rule.

    Returns
    -------
    Content
        Where bollard pull is not swept on a grid, it says so in place of an answer.
    """
    chosen = options or RuleOptions()
    judged = apply_limits(dataset, limits) if judged is None else judged
    runs = f"It rests on {shares_text(share_of_runs(bare(requirement_pages.intact_cases(judged))))}"
    if "bollard_pull" not in judged["passes"].dims or not axis_is_numeric(judged, "bollard_pull"):
        why = "No smallest tug can be read from these results: bollard pull is not swept on a grid."
        return Content(reader=READER, question=QUESTION, answer=(why, runs), commands=_COMMANDS)
    if not judged["passes"].size:
        return Content(reader=READER, question=QUESTION, answer=("There is no case in these results.", runs))
    bands = _bands(judged, chosen)
    parts, left = configurations(dataset, judged, {FAILURE: INTACT})
    found = [_found(part, chosen, bands) for part in parts]
    order = sorted(range(len(parts)), key=lambda n: (-_permitted(found[n]), -_passing(parts[n])))
    best = order[0]
    sections = [_rule_section(parts[n], found[n], first=n == best and len(parts) > 1) for n in order]
    tested, words = _tested_section(parts, found, chosen, best)
    return Content(
        reader=READER,
        question=QUESTION,
        answer=(
            *_answer(parts, found, best),
            *_basis(parts, best, runs),
            *(f"Rule tested: {line}" for line in words[best]),
        ),
        sections=(
            _methods(parts, found, order, judged, left),
            *sections,
            tested,
            *_power_sections(parts),
            *_standby_section(parts, limits, chosen, bands),
        ),
        assumptions=(*basis_lines(found[best], judged), READ_MARKS),
        commands=_COMMANDS,
        grid=("displacement", "bollard_pull"),
        begin=begin_at(parts[best].dataset),
    )


_COMMANDS = ("towage requirement RESULTS --share 100 --margin 1", "towage envelope RESULTS")


def _bands(judged: xr.Dataset, chosen: RuleOptions) -> Any:
    """Bands asked for, or the usual ones as far as they are swept."""
    if chosen.bands is not None:
        return chosen.bands
    usual = [n for n in ("displacement", "wind_speed") if n in judged["passes"].dims and judged.sizes[n] > 1]
    others = [str(d) for d in judged["passes"].dims if str(d) != "bollard_pull" and axis_is_numeric(judged, str(d))]
    return dict.fromkeys(usual or others[:1])


def _asked(part: Configuration, chosen: RuleOptions, bands: Any) -> dict[str, Any]:
    free = requirement_pages.free_inputs(requirement_pages.intact_cases(part.judged), chosen, bands)
    return {"bands": bands, "share": chosen.share, "limit_margin": chosen.limit_margin, "free": free}


def _found(part: Configuration, chosen: RuleOptions, bands: Any) -> xr.Dataset:
    judged = requirement_pages.intact_cases(part.judged)
    return requirement(judged, margin=chosen.margin, **_asked(part, chosen, bands))


def _permitted(found: xr.Dataset) -> int:
    return int((~np.isin(found["status"].values, [int(status) for status in REFUSED])).sum())


def _passing(part: Configuration) -> float:
    return float(share_of_runs(bare(requirement_pages.intact_cases(part.judged)))["share_passing"].fillna(-1.0))


def _answer(parts: Sequence[Configuration], found: Sequence[xr.Dataset], best: int) -> tuple[str, ...]:
    cells, permitted = found[best]["status"].size, _permitted(found[best])
    banded = " and ".join(long_name(name) for name in str(found[best].attrs["banded"]).split())
    way = parts[best].words
    asked = 100.0 * float(found[best].attrs["share"])
    share = "all cases" if asked >= 100.0 else f"at least {asked:g} % of the cases"
    several = len(parts) > 1 and bool(way)
    if not permitted:
        none = "No tug that was run can be asked for" + (", by any way of doing the job" if several else "")
        return (f"{none}: in none of {cells} bands of {banded} does any bollard pull pass in {share}.",)
    lead = f"{way[:1].upper()}{way[1:]}, can be permitted most often of the ways run: in " if several else "In "
    rest = f"; in the other {cells - permitted} none does, or it cannot be decided" if permitted < cells else ""
    first = f"{lead}{permitted} of {cells} bands of {banded} a bollard pull that was run passes in {share}{rest}."
    return (first, *(words for words in (_strongest(found[best]),) if words))


def _basis(parts: Sequence[Configuration], best: int, runs: str) -> tuple[str, ...]:
    """Runs behind the answer: of this way of doing the job, and of all."""
    if len(parts) == 1:
        return (runs,)
    own = shares_text(share_of_runs(bare(requirement_pages.intact_cases(parts[best].judged))))
    return (f"That rests on {own}", runs.replace("It rests", "The whole report rests"))


def _strongest(found: xr.Dataset) -> str:
    """What is asked for at the last band that is permitted of each row; empty where that is no short sentence."""
    fields = list(sections(found))
    if len(fields) != 1 or len(str(found.attrs["banded"]).split()) != 2:
        return ""
    part = fields[0][1]
    rows, columns = (str(dim) for dim in part["status"].dims)
    if part.sizes[rows] > _MOST_TOLD:
        return ""
    told = []
    for row in range(part.sizes[rows]):
        here = part.isel({rows: row})
        fits = ~np.isin(here["status"].values, [int(status) for status in REFUSED])
        last = int(fits.size if fits.all() else np.argmin(fits)) - 1
        if last < 0:
            told.append(f"{here[rows].item()}: not permitted")
        else:
            cell = here.isel({columns: last})
            told.append(f"{here[rows].item()}: {range_words(cell, 'bollard_pull')}, {cell[columns].item()}")
    names = [long_name(dim.removesuffix("_band")) for dim in (rows, columns)]
    marks = "".join(
        f" {mark}: {words}."
        for mark, words in (("*", "the smallest tug run, less may do"), ("+", "the largest run, more may do"))
        if any(mark in line for line in told)
    )
    return f"Bollard pull by {names[0]}, at the strongest {names[1]} permitted: {'; '.join(told)}.{marks}"


def _methods(
    parts: Sequence[Configuration], found: Sequence[xr.Dataset], order: Sequence[int], judged: xr.Dataset,
    left: Sequence[str],
) -> Section:  # fmt: skip
    rows = tuple(
        (parts[n].words or "the only one", _permitted(found[n]), found[n]["status"].size, 100.0 * _passing(parts[n]))
        for n in order
    )
    table = Table(
        title="Ways of doing the job, the one that can be permitted most often first",
        header=("way of doing the job", "bands permitted", "bands", "cases that pass [% of those run]"),
        rows=rows,
        notes=notes_on(bare(requirement_pages.intact_cases(judged))),
    )
    return Section(heading="Ways of doing the job", tables=(table,), paragraphs=tuple(left))


def _rule_section(part: Configuration, found: xr.Dataset, *, first: bool) -> Section:
    out = gathered()
    judged, dataset = requirement_pages.intact_cases(part.judged), requirement_pages.intact_cases(part.dataset)
    requirement_pages.draw_requirement_maps(out, part, found, bare(judged), dataset, "requirement")
    out.tables.clear()  # what it would say stands in the lines
    words = "Requirement" + (f": {part.words}" if part.words else "") + (" (permitted most often)" if first else "")
    told = "For review by those who make the rule: it is no rule until they adopt it. Review date: left open."
    return out.section(words, (told,), bullets(rule_lines(found)))


def _tested_section(
    parts: Sequence[Configuration], found: Sequence[xr.Dataset], chosen: RuleOptions, best: int
) -> tuple[Section, list[tuple[str, ...]]]:
    """Rules against the cases: a figure and lines of every way, the table of the one that is told first."""
    out, told = gathered(), []
    for part, asked in zip(parts, found, strict=True):
        judged, dataset = requirement_pages.intact_cases(part.judged), requirement_pages.intact_cases(part.dataset)
        free = tuple(str(asked.attrs["free"]).split())
        told.append(requirement_pages.draw_rule_test(out, part, asked, dataset, bare(judged), free, chosen))
    lines = [
        (0, f"{part.words}: {line}" if part.words else line)
        for part, some in zip(parts, told, strict=True)
        for line in some
    ]
    table = out.tables[best]
    out.tables[:] = [Table(title=parts[best].titled(table.title), **_rest(table))]
    return out.section("Rules held against the simulated cases", (), lines), told


def _rest(table: Table) -> dict[str, Any]:
    return {"header": table.header, "rows": table.rows, "notes": table.notes}


def _power_sections(parts: Sequence[Configuration]) -> tuple[Section, ...]:
    out = gathered()
    for part in parts:
        intact = Configuration(
            words=part.words, suffix=part.suffix, dataset=requirement_pages.intact_cases(part.dataset),
            judged=bare(requirement_pages.intact_cases(part.judged)),
        )  # fmt: skip
        draw_power_page(out, intact, {})
    if out.pictures:
        return (out.section("Power: too little and too much"),)
    told = "Power setting is not swept in these results: too much of it cannot be told from too little."
    return (Section(heading="Power: too little and too much", paragraphs=(told,)),)


def _standby_section(
    parts: Sequence[Configuration], limits: object | None, chosen: RuleOptions, bands: Any
) -> tuple[Section, ...]:
    heading = "When a standby tug is needed"
    if not any(FAILURE in part.judged.dims and INTACT in part.judged[FAILURE].values for part in parts):
        told = (
            "No failure is swept in these results: nothing is said of a standby tug, which does not mean none is due."
        )
        return (Section(heading=heading, paragraphs=(told,)),)
    out: Gathered = gathered()
    lines: list[tuple[int, str]] = []
    for part in parts:
        asked = {k: v for k, v in _asked(part, chosen, bands).items() if k != "free"}
        said = requirement_pages.draw_standby_pages(out, part, limits, asked, chosen)
        lines += [(0, f"{part.words}: {line}" if part.words else line) for line in said]
    return (out.section(heading, (), lines),)
