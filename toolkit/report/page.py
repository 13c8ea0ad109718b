"""A report as a page: a single HTML file that needs no server and no network (floor 6)."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from toolkit.errors import Problem, StudyError
from toolkit.execution.whole import write_whole
from toolkit.figures.pages import FIELDS
from toolkit.figures.player import content_hash, embedded_json
from toolkit.figures.requirement_pages import RuleOptions
from toolkit.findings import LIMIT_NAMES, apply_limits
from toolkit.findings.alike import cut_at
from toolkit.findings.compare import PAIRED_QUANTITIES
from toolkit.findings.conditions import fixed_text
from toolkit.findings.display import display_text, long_name
from toolkit.findings.reading import bare, cautions, directions, provenance
from toolkit.findings.standby import CONSEQUENCES
from toolkit.findings.table import Table, cell_text
from toolkit.findings.tables import overview_lines
from toolkit.quantities import RangeFlag
from toolkit.quantities.wording import GIRTING, NOT_MODELLED, SNAP_BACK
from toolkit.report.cases import pictured, telling_cases
from toolkit.report.content import Content, of_results, short_notes
from toolkit.report.evidence import evidence
from toolkit.report.explorer import SHOWN, explorer_data
from toolkit.report.for_consultant import consultant
from toolkit.report.for_port_authority import port_authority
from toolkit.report.for_researcher import researcher

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["USERS", "ReportOptions", "report_page", "write_report"]

USERS = ("port_authority", "consultant", "researcher")
"""Readers that a report is written for."""

SCRIPTS = ("verdicts.js", "grid.js", "case.js", "controls.js")

LIMITS_OF_USE = (
    NOT_MODELLED,
    GIRTING,
    SNAP_BACK,
    "The numbers come from a reduced-order model: sheltered water, no waves, one tug working. They tell cases apart "
    "and show where to look closer; they are no promise for a particular tug, barge or day.",
    "What passes here has passed on the model at the values that were run. Nothing was run between two of them, and "
    "nothing beyond the last.",
    "A case that did not complete says what the modelled master did; a person might do better, or worse. Such cases "
    "are counted and never left out.",
    "Whoever decides checks the limits against the tug's own stability book, the fittings, the line and the local "
    "rules, and keeps a tug, a line and people in hand for what the model does not know.",
)


@dataclass(frozen=True, kw_only=True)
class ReportOptions:
    """What goes into a report beside the results.

    Attributes
    ----------
    limits : mapping, dataclass or None
        Limits in dataset units; those of the results unless given.
    at : mapping
        Axes to cut before anything is concluded, as text with units. The part
        of the page that can be moved keeps them all.
    rule : RuleOptions
        For the port authority.
    record : xarray.Dataset or None
        Wind over time, for the consultant.
    axis, values : str, sequence
        Configurations to compare, for the researcher.
    sensitivity : iterable of Table
        Tables of a sensitivity, for the researcher.
    history : callable or None
        Number of a case to its time history; without it no case is drawn.
    histories : int
        Cases drawn at most.
    source, command : str
        What commands name as the results, and the command that wrote this page.
    """

    limits: object | None = None
    at: Mapping[str, str] = field(default_factory=dict)
    rule: RuleOptions = field(default_factory=RuleOptions)
    record: xr.Dataset | None = None
    axis: str = ""
    values: Sequence[Any] = ()
    sensitivity: Iterable[Table] = ()
    history: Callable[[int], xr.Dataset] | None = None
    histories: int = 3
    source: str = "RESULTS"
    command: str = ""


def write_report(
    dataset: xr.Dataset, path: str | Path, user: str, *, options: ReportOptions | None = None
) -> Path:  # fmt: skip
    """Write the report of one reader.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results by the contract of this package; may be lazy.
    path : path
        HTML file to write. Its folder is made, a file of the same name replaced.
    user : str
        One of `USERS`.
    options : ReportOptions, optional

    Returns
    -------
    pathlib.Path
        The file. It opens from the disk and asks no network for anything.

    Raises
    ------
    StudyError
        If there is no such reader, or something asked for is not legal.
    """
    page = report_page(dataset, user, options=options)
    place = Path(path)
    place.parent.mkdir(parents=True, exist_ok=True)
    write_whole(place, page)
    return place


def report_page(dataset: xr.Dataset, user: str, *, options: ReportOptions | None = None) -> str:
    """Page of :func:`write_report` as text.

    Every word of the results is escaped; the page's own script and style are
    allowed by their hashes, pictures only where they are part of the page.
    """
    chosen = options or ReportOptions()
    if user not in USERS:
        problem = Problem(where="user", what=f"'{user}' is no reader", remedy=f"Use one of: {', '.join(USERS)}")
        raise StudyError([problem])
    whole = _in_memory(dataset)
    part = cut_at(whole, dict(chosen.at))
    judged = apply_limits(whole, chosen.limits)
    judged_part = cut_at(judged, dict(chosen.at))
    content = _content(part, judged_part, user, chosen)
    cases, told = _cases(judged, chosen)
    style, script = _resource("page.css"), "\n".join(_resource(name) for name in SCRIPTS)
    page: str = _template("page.html").render(
        policy=f"default-src 'none'; img-src data:; style-src {content_hash(style)}; "
        f"script-src {content_hash(script)}; base-uri 'none'; form-action 'none'",
        style=style,
        script=script,
        data=embedded_json(
            explorer_data(whole, bare(judged), source=chosen.source, grid=content.grid, begin=content.begin)
        ),
        title=of_results(dataset),
        content=content,
        cautions=cautions(dataset.attrs),
        sections=[(f"part-{place}", section) for place, section in enumerate(content.sections, start=1)],
        cases=cases,
        cases_told=told,
        assumptions=_assumptions(part, judged_part, content, chosen),
        limits_of_use=LIMITS_OF_USE,
        command=chosen.command or f"towage report {chosen.source} --user {user}",
        commands=[command.replace("RESULTS", chosen.source) for command in content.commands],
        user=user,
        source=chosen.source,
        provenance=provenance(dataset.attrs),
        directions=directions(dataset.attrs),
        attributes=dataset.attrs,
        short_notes=short_notes,
        evidence=evidence(),
        cell=cell_text,
        right=_numeric_columns,
    )
    return page


def _content(part: xr.Dataset, judged: xr.Dataset, user: str, chosen: ReportOptions) -> Content:
    if user == "port_authority":
        return port_authority(part, limits=chosen.limits, judged=judged, options=chosen.rule)
    if user == "consultant":
        return consultant(part, judged=judged, record=chosen.record)
    return researcher(part, judged=judged, axis=chosen.axis, values=chosen.values, sensitivity=chosen.sensitivity)


def _in_memory(dataset: xr.Dataset) -> xr.Dataset:
    """What is judged, told or compared, read once."""
    told = {
        "outcome", "static_wind_demand", "range_flags", *LIMIT_NAMES, *PAIRED_QUANTITIES, *CONSEQUENCES, *SHOWN,
        *FIELDS,
    }  # fmt: skip
    return dataset[[name for name in map(str, dataset.data_vars) if name in told]].compute()


def _cases(judged: xr.Dataset, chosen: ReportOptions) -> tuple[Any, tuple[str, ...]]:
    if chosen.history is None or chosen.histories < 1:
        return (), ("No case was run again for this page.",)
    if "case" in judged["passes"].dims:
        return (), ("No case is drawn: these results are samples.",)
    return pictured(telling_cases(judged, chosen.histories), judged, chosen.history, limits=chosen.limits)


def _assumptions(part: xr.Dataset, judged: xr.Dataset, content: Content, chosen: ReportOptions) -> list[str]:
    cut = [f"{long_name(name)} {display_text(name, part[name].item())}" for name in chosen.at if not part[name].ndim]
    lines = [
        f"Limits: {judged.attrs['limits_applied']}.",
        *(f"Swept: {line}" for line in overview_lines(bare(judged))),
        *([f"Cut for the findings: {', '.join(cut)}."] if cut else []),
        f"Held fixed: {fixed_text(part)}.",
        *content.assumptions,
        *_flags(part, judged),
        directions(part.attrs),
    ]
    return list(dict.fromkeys(lines))


def _flags(part: xr.Dataset, judged: xr.Dataset) -> list[str]:
    """How many cases left the range of the model's data."""
    if "range_flags" not in part.data_vars or not int(judged["was_run"].sum()):
        return []
    bits = part["range_flags"].fillna(0).astype(int).values[judged["was_run"].values]
    said = [
        f"{str(flag.name).replace('_', ' ')} {100.0 * float((bits & int(flag) > 0).mean()):.1f} %"
        for flag in RangeFlag
        if (bits & int(flag)).any()
    ]
    if not said:
        return ["No case left the range of the model's data."]
    return [f"Cases run that left the range of the model's data: {', '.join(said)}."]


def _numeric_columns(table: Table) -> list[bool]:
    return [all(not isinstance(row[place], str) for row in table.rows) for place in range(len(table.header))]


def _resource(name: str) -> str:
    return (files("toolkit.report") / "report_page" / name).read_text(encoding="utf-8")


def _template(name: str) -> Any:
    """Template of the page; what goes into it is escaped wherever it stands."""
    from jinja2 import Environment, StrictUndefined

    around = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    around.filters["sentence"] = lambda text: re.sub(r"[.\s]*$", ".", str(text))
    return around.from_string(_resource(name))
