"""Everything that a port authority decides by, from results, written into a folder (floor 6)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from toolkit.errors import Problem, StudyError
from toolkit.execution.whole import write_whole
from toolkit.figures.configurations import Configuration, configurations
from toolkit.figures.folder import Folder
from toolkit.figures.requirement_map import draw_requirement
from toolkit.figures.rule_bars import draw_rule_bars
from toolkit.figures.standby_map import draw_standby
from toolkit.figures.view import caption
from toolkit.findings import LIMIT_NAMES, apply_limits, share_of_runs, shares_text
from toolkit.findings.bands import BANDED
from toolkit.findings.draft_rule import DraftRule, permitted_by
from toolkit.findings.reading import axis_values, bare, cautions, directions, provenance
from toolkit.findings.requirement import requirement
from toolkit.findings.requirement_tables import (
    READ_MARKS,
    basis_lines,
    requirement_matrix,
    requirement_table,
    sections,
)
from toolkit.findings.rule_tables import (
    back_test_lines,
    back_test_table,
    consequences_table,
    standby_lines,
    standby_table,
)
from toolkit.findings.rule_test import STATIC_MARGIN, back_test_rules, permitted_by_requirement, static_permits
from toolkit.findings.rule_words import rule_text
from toolkit.findings.standby import CONSEQUENCES, INTACT, failure_consequences, standby_need
from toolkit.findings.tables import overview_lines

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "RuleOptions", "draw_requirement_maps", "draw_rule_test", "draw_standby_pages", "free_inputs", "intact_cases",
    "write_requirement",
]  # fmt: skip

FAILURE = "failure"
MOST_BYTES = 2_000_000_000
"""Largest size of the outcomes that are read at once; above it they stay where they are."""

_READ_MAP = (
    "Each cell: what is asked for, in bold, then what binds. The darker, the more is asked for. Hatching: no tug run "
    "passes; by the limit that the best one fails. '!': a flag, see the table."
)
_READ_BARS = (
    "A decision is one tug, barge and wind. It passes where the share asked for of the cases behind it does; a rule "
    "permits it or not. Numbers: percent; a part below 9 has none."
)
_READ_STANDBY = (
    "A tug that passes with all well needs a standby tug where she does not with the failure. 'Below': from this pull "
    "on none is needed; 'not': none with this pull, but with a larger one; 'not all': none with some pulls, but with a "
    "larger one. Second line: what most tugs that need one fail for."
)


@dataclass(frozen=True, kw_only=True)
class RuleOptions:
    """How a rule is drawn up.

    Attributes
    ----------
    share : float
        Share of cases that must pass.
    margin, limit_margin : float
        Margin on the pull, and by which limits are tightened.
    free : tuple of str
        Inputs that the master may choose; ``power_setting`` is one of them
        where it is swept.
    bands : mapping or None
        Input to the ends of its bands [dataset unit], or to None; displacement
        and wind speed between the values run unless given.
    draft : DraftRule or None
        A rule to hold against the cases.
    static_margin : float
        Factor of the static rule that is held against them as well.
    failure_limits : object or None
        Limits that hold once something has failed; the same unless given.
    """

    share: float = 1.0
    margin: float = 1.0
    limit_margin: float = 1.0
    free: tuple[str, ...] = ()
    bands: Mapping[str, Sequence[float] | None] | None = None
    draft: DraftRule | None = None
    static_margin: float = STATIC_MARGIN
    failure_limits: object | None = None
    said: list[str] = field(default_factory=list)


def write_requirement(
    dataset: xr.Dataset, folder: str | Path, *, limits: object | None = None, options: RuleOptions | None = None
) -> list[Path]:
    """Draw up the requirement that results ask for, and hold other rules against them.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results of a grid with ``bollard_pull`` swept; may be lazy. Cut axes
        before, where one value is wanted.
    folder : path
        Where to write; made if it is not there, files of the same name replaced.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the dataset.
    options : RuleOptions, optional

    Returns
    -------
    list of pathlib.Path
        For each combination of the choices swept (at most six): ``rule`` (the
        rule in plain words, Markdown), ``requirement`` (map, table by band and
        table of rows), ``power_cap`` where power is swept, ``rules_tested``,
        and where failures are swept ``standby`` and ``consequences``; and
        ``index.md``.

    Raises
    ------
    StudyError
        If bollard pull is not swept on a grid, or something asked for is not
        legal or beyond what was run.
    """
    chosen = options or RuleOptions()
    out = Folder(path=Path(folder))
    dataset = _in_memory(dataset)
    judged = apply_limits(dataset, limits)
    parts, out.left_out = configurations(dataset, judged, {FAILURE: INTACT})
    for part in parts:
        _write_part(out, part, limits, chosen)
    intact = intact_cases(judged)
    out.index(
        f"Requirement: {dataset.attrs.get('title', 'untitled')}",
        (
            *overview_lines(judged),
            f"Limits: {judged.attrs['limits_applied']}.",
            f"Runs: {shares_text(share_of_runs(bare(intact)))}",
            directions(dataset.attrs),
            provenance(dataset.attrs),
            cautions(dataset.attrs),
        ),
    )
    return out.paths


def _in_memory(dataset: xr.Dataset) -> xr.Dataset:
    """Outcomes that are judged or told, read once."""
    told = {"outcome", "static_wind_demand", *LIMIT_NAMES, *CONSEQUENCES}
    names = [n for n in map(str, dataset.data_vars) if n in told]
    needed = dataset[names]
    return needed.compute() if needed.nbytes <= MOST_BYTES else needed


def intact_cases(judged: xr.Dataset) -> xr.Dataset:
    """Cases in which nothing fails, of results or their judgement; all of them where no failure is swept."""
    if FAILURE not in judged.dims:
        return judged
    words = axis_values(judged, FAILURE)
    return judged.isel({FAILURE: words.index(INTACT)}) if INTACT in words else judged


def _write_part(out: Folder, part: Configuration, limits: object | None, chosen: RuleOptions) -> None:
    """Write all of one configuration."""
    judged, dataset = intact_cases(part.judged), intact_cases(part.dataset)
    dims = set(map(str, judged["passes"].dims))
    free = free_inputs(judged, chosen, chosen.bands if chosen.bands is not None else BANDED)
    asked: dict[str, Any] = {"bands": chosen.bands, "share": chosen.share, "limit_margin": chosen.limit_margin}
    found = requirement(judged, free=free, margin=chosen.margin, **asked)
    plain = bare(judged)
    draw_requirement_maps(out, part, found, plain, dataset, "requirement")
    out.table(requirement_table(found, plain), part.named("requirement_rows"))
    if "power_setting" in dims:
        cap = requirement(
            judged,
            axis="power_setting",
            free=[f for f in free if f != "power_setting"],
            keep=("bollard_pull",),
            **asked,
        )
        out.table(requirement_table(cap, plain), part.named("power_cap"), part.titled("power: too little and too much"))
    tested = draw_rule_test(out, part, found, dataset, plain, free, chosen)
    standby = draw_standby_pages(out, part, limits, asked, chosen) if FAILURE in part.judged.dims else ()
    path = out.path / f"{part.named('rule')}.md"
    write_whole(path, rule_text(found, judged, standby=standby, tested=tested))
    out.paths.append(path)
    out.entries.insert(0, (path.name, part.titled("draft rule in plain words, with its basis")))


def free_inputs(judged: xr.Dataset, chosen: RuleOptions, banded: Iterable[str]) -> tuple[str, ...]:
    """Inputs of one configuration that the master may choose: those asked for, and power where it is swept.

    Parameters
    ----------
    judged : xarray.Dataset
        Judged cases of the configuration.
    chosen : RuleOptions
    banded : iterable of str
        Inputs by whose bands the requirement is given.

    Raises
    ------
    StudyError
        If one that is asked for cannot be left to him.
    """
    dims = set(map(str, judged["passes"].dims))
    taken = {
        "bollard_pull": "it is what is asked for",
        **dict.fromkeys(banded, "the requirement is given by bands of it"),
    }
    problems = [
        Problem(
            where="free",
            what=f"{name} cannot be left to the master",
            why=taken.get(name, "it is not swept, or each of its values has a rule of its own"),
            remedy=f"Name others of the inputs swept: {', '.join(sorted(dims - set(taken))) or 'there is none'}",
        )
        for name in chosen.free
        if name in taken or name not in dims
    ]
    if problems:
        raise StudyError(problems)
    return tuple(dict.fromkeys((*chosen.free, *({"power_setting"} & dims))))


def draw_requirement_maps(
    out: Folder, part: Configuration, found: xr.Dataset, judged: xr.Dataset, dataset: xr.Dataset, name: str
) -> None:
    """Draw the map and write the table of every field of bands.

    Parameters
    ----------
    out : Folder
        Where to write.
    part : Configuration
        Gives titles and names of files.
    found : xarray.Dataset
        From `toolkit.findings.requirement`.
    judged, dataset : xarray.Dataset
        The cases it rests on, for notes and captions.
    name : str
        Name of the files.
    """
    fields = list(sections(found))
    for number, (words, field_of) in enumerate(fields, start=1):
        here = name if len(fields) == 1 else f"{name}_{number}"
        out.table(
            requirement_matrix(field_of, judged, words=words), part.named(here), part.titled("required bollard pull")
        )
        title = part.titled("required bollard pull" + (f", {words}" if words else ""))
        text = caption(dataset, judged, lead=(_READ_MAP, READ_MARKS, *basis_lines(found, judged)[:3]))
        out.sheet(draw_requirement(field_of, title=title, caption=text), part.named(here), title)


def draw_rule_test(
    out: Folder, part: Configuration, found: xr.Dataset, dataset: xr.Dataset, judged: xr.Dataset,
    free: Iterable[str], chosen: RuleOptions,
) -> tuple[str, ...]:  # fmt: skip
    """Hold the static rule, the draft and the requirement itself against the cases.

    Parameters
    ----------
    out, part, found, dataset, judged
        As for :func:`draw_requirement_maps`.
    free : iterable of str
        Inputs that the master may choose.
    chosen : RuleOptions

    Returns
    -------
    tuple of str
        What came of it, a sentence a rule.
    """
    rules: dict[str, xr.DataArray] = {}
    if "static_wind_demand" in dataset.variables:
        rules[f"beam wind force times {chosen.static_margin:g} within the pull"] = static_permits(
            dataset, chosen.static_margin
        )
    if chosen.draft is not None:
        rules[chosen.draft.title] = permitted_by(chosen.draft, dataset)
    rules["this requirement"] = permitted_by_requirement(found, dataset)
    banded = str(found.attrs["banded"]).split()
    tested = back_test_rules(judged, rules, share=chosen.share, keep=banded, free=free)
    out.table(back_test_table(tested, judged), part.named("rules_tested"))
    title = part.titled("rules against the simulated cases")
    text = caption(dataset, judged, lead=(_READ_BARS,))
    out.sheet(draw_rule_bars(tested, title=title, caption=text), part.named("rules_tested"), title)
    return back_test_lines(tested)


def draw_standby_pages(
    out: Folder, part: Configuration, limits: object | None, asked: Mapping[str, Any], chosen: RuleOptions
) -> tuple[str, ...]:
    """Say when a standby tug is needed, and what failures lead to.

    Parameters
    ----------
    out : Folder
        Where to write.
    part : Configuration
        Cases with and without failures.
    limits : mapping or dataclass, optional
        Limits in dataset units, with a failure too unless `chosen` has others.
    asked : mapping
        Options of `toolkit.findings.standby_need`.
    chosen : RuleOptions

    Returns
    -------
    tuple of str
        What came of it, in sentences.
    """
    after = limits if chosen.failure_limits is None else chosen.failure_limits
    failed = apply_limits(part.dataset, after)
    need = standby_need(part.judged, failed=failed, **asked)
    plain = bare(part.judged)
    out.table(standby_table(need, plain), part.named("standby"))
    out.table(consequences_table(failure_consequences(bare(part.dataset), plain), plain), part.named("consequences"))
    title = part.titled("when a standby tug is needed")
    text = caption(
        part.dataset, plain, lead=(_READ_STANDBY, f"Limits with a failure: {need.attrs['limits_with_failure']}.")
    )
    out.sheet(draw_standby(need, title=title, caption=text), part.named("standby"), title)
    return standby_lines(need)
