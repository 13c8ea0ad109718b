"""The verb `report`: one page of HTML for each kind of reader."""

from __future__ import annotations

import argparse
import shlex
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from toolkit.cli import verbs
from toolkit.cli.operability import name_value_pairs
from toolkit.errors import Problem, StoreError, StudyError

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["add_arguments", "report"]

USERS = ("port_authority", "consultant", "researcher")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the verb."""
    parser.add_argument("source", metavar="STORE_OR_STUDY", help="store, exported NetCDF file, or study file")
    parser.add_argument("--user", required=True, choices=USERS, help="for whom")
    parser.add_argument("--output", metavar="FILE", help="HTML file [results/<study>/report_<user>.html]")
    parser.add_argument("--at", nargs="+", action="extend", default=[], metavar="NAME=VALUE",
                        help="axes to cut for the findings, such as line_length='30 m'")  # fmt: skip
    parser.add_argument("--limits", metavar="STUDY", help="study file whose [limits] are used instead")
    parser.add_argument("--histories", type=int, default=3, metavar="N", choices=range(13),
                        help="cases run again and drawn: one that just passes, one that just does not, one that fails "
                        "[3, at most 12]")  # fmt: skip
    office = parser.add_argument_group("port authority")
    office.add_argument("--share", type=float, default=100.0, metavar="PERCENT", help="cases that must pass [100]")
    office.add_argument("--margin", type=float, default=1.0, metavar="F", help="pull asked for over the smallest [1]")
    office.add_argument("--free", nargs="+", action="extend", default=[], metavar="NAME",
                        help="swept inputs the master may choose, such as line_length [power_setting]")  # fmt: skip
    office.add_argument("--draft", metavar="FILE", help="draft rule to hold against the cases, as CSV or TOML")
    envelope = parser.add_argument_group("consultant")
    envelope.add_argument("--record", metavar="FILE", help="record of wind, and current, as CSV or NetCDF")
    envelope.add_argument("--columns", nargs="+", action="extend", default=[], metavar="WHAT=NAME",
                          help="columns of the record by what they are, as for `towage operability`")  # fmt: skip
    envelope.add_argument("--units", nargs="+", action="extend", default=[], metavar="WHAT=UNIT",
                          help="units of its columns, such as wind_speed=kn")  # fmt: skip
    envelope.add_argument("--times-in", default="", metavar="ZONE", help="time zone of its times [what the file says]")
    envelope.add_argument("--typical-year", action="store_true", help="it is spliced of months of several years")
    research = parser.add_argument_group("researcher")
    research.add_argument("--axis", default="", metavar="NAME", help="input to compare [the first swept choice]")
    research.add_argument("--values", nargs="+", default=[], metavar="VALUE", help="values to compare [all]")
    research.add_argument("--sensitivity", nargs="+", default=[], metavar="FILE",
                          help="tables that `towage sensitivity` wrote, as CSV")  # fmt: skip


def report(options: Namespace) -> None:
    """Write the report of one reader."""
    from toolkit.execution.history import history
    from toolkit.execution.store import writing
    from toolkit.figures.requirement_pages import RuleOptions
    from toolkit.findings.draft_rule import load_draft_rule
    from toolkit.findings.reading import cautions
    from toolkit.report.for_researcher import read_tables
    from toolkit.report.page import ReportOptions, write_report
    from toolkit.study import load_study

    place = Path(options.source)
    path = Path(options.output) if options.output else verbs.RESULTS / place.stem / f"report_{options.user}.html"
    if path.is_dir():
        raise StoreError(f"{path}: it is a folder. Name the HTML file to write: --output {path / 'report.html'}")
    results = verbs.results_at(place)
    rule = RuleOptions(
        share=options.share / 100.0,
        margin=options.margin,
        free=tuple(options.free),
        draft=load_draft_rule(options.draft) if options.draft else None,
    )

    def again(case: int) -> xr.Dataset:
        return history(results, case=case)

    chosen = ReportOptions(
        limits=load_study(options.limits).limits if options.limits else None,
        at=verbs.selection(options.at),
        rule=rule,
        record=_record(options),
        axis=options.axis,
        values=tuple(options.values),
        sensitivity=read_tables(options.sensitivity),
        history=again if options.histories else None,
        histories=options.histories,
        source=shlex.quote(options.source),
        command=_command(options),
    )
    with writing(path.parent, kept=""):
        file = write_report(results, path, options.user, options=chosen)
    print(f"{results.attrs.get('title', place.stem)}: {options.user.replace('_', ' ')}")
    verbs.list_files([file], cautions(results.attrs))


def _record(options: Namespace) -> xr.Dataset | None:
    """The record that is named, read as the arguments say."""
    from toolkit.findings.operability import ReadingOptions, read_record

    if not options.record:
        return None
    problems: list[Problem] = []
    reading = ReadingOptions(
        columns=name_value_pairs("--columns", options.columns, "wind_speed=WSPD", problems),
        units=name_value_pairs("--units", options.units, "wind_speed=kn", problems),
        times_in=options.times_in,
        typical_year=options.typical_year,
    )
    if problems:
        raise StudyError(problems)
    return read_record(options.record, reading)


def _command(options: Namespace) -> str:
    """The command in words that give the same page."""
    words = ["towage", "report", options.source, "--user", options.user]
    several = ("at", "free", "values", "sensitivity", "columns", "units")
    for name in ("output", "limits", "draft", "record", "times_in", "axis", *several):
        given = getattr(options, name)
        if given:
            words += [f"--{name.replace('_', '-')}", *(given if name in several else [given])]
    for name, default in (("share", 100.0), ("margin", 1.0), ("histories", 3)):
        if getattr(options, name) != default:
            words += [f"--{name}", f"{getattr(options, name):g}"]
    return shlex.join([*words, *(["--typical-year"] if options.typical_year else [])])
