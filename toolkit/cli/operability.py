"""The verb `operability`: how much of the time a record of wind, and current, keeps the limit."""

from __future__ import annotations

import argparse
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from toolkit.cli import verbs
from toolkit.errors import Problem, StudyError

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.findings.operability import ReadingOptions

__all__ = ["add_arguments", "name_value_pairs", "operability"]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the verb."""
    parser.add_argument("source", metavar="STORE_OR_STUDY", help="store, exported NetCDF file, or study file")
    parser.add_argument("--at", nargs="+", action="extend", default=[], metavar="NAME=VALUE",
                        help="one value of every swept input but wind, such as displacement='1500 t'")  # fmt: skip
    parser.add_argument("--worst-over", nargs="+", action="extend", default=[], metavar="NAME",
                        help="swept inputs of which every value must pass, instead of one value")  # fmt: skip
    parser.add_argument("--limits", metavar="STUDY", help="study file whose [limits] are used instead")
    parser.add_argument("--forecast-factor", type=float, default=1.0, metavar="F",
                        help="operational limit over limit, for what a forecast may miss [1]")  # fmt: skip
    parser.add_argument("--gust-factor", type=float, metavar="G",
                        help="gust over mean wind of the record [what the record states, else none]")  # fmt: skip
    parser.add_argument("--job", default="3 h", metavar="TIME", help="length of the job [3 h]")
    parser.add_argument("--calm", default="4 h", metavar="TIME",
                        help="calms shorter than this do not end an event [4 h]")  # fmt: skip
    parser.add_argument("--output", metavar="DIR", help="folder [results/<study>/operability]")
    record = parser.add_argument_group("record")
    record.add_argument("--record", metavar="FILE", help="record of wind, and current, as CSV or NetCDF")
    record.add_argument("--invented", type=int, metavar="YEARS", help="an invented record instead, for demonstration")
    record.add_argument("--seed", type=int, metavar="N", help="of the invented record [stated in what is written]")
    record.add_argument("--columns", nargs="+", action="extend", default=[], metavar="WHAT=NAME",
                        help="columns by what they are: time, date, wind_speed, wind_from, current_speed, current_to, "
                        "or wind_to, current_from, wind_east, wind_north, ...")  # fmt: skip
    record.add_argument("--units", nargs="+", action="extend", default=[], metavar="WHAT=UNIT",
                        help="units of columns, such as wind_speed=kn")  # fmt: skip
    record.add_argument("--times-in", default="", metavar="ZONE",
                        help="time zone of the times: UTC, UTC+2, or an IANA name [what the file says]")  # fmt: skip
    record.add_argument("--hours-in", default="", metavar="ZONE",
                        help="time zone in which hours and months are counted [that of the times]")  # fmt: skip
    record.add_argument("--time-format", default="", metavar="PATTERN",
                        help="strftime pattern of times that are not ISO 8601, such as %%d.%%m.%%Y")  # fmt: skip
    record.add_argument("--times-at", choices=("start", "end"), default="start",
                        help="whether a time starts or ends the step of its value [start]")  # fmt: skip
    record.add_argument("--height", type=float, metavar="METRES",
                        help="height of the wind, brought to 10 m by the one-seventh power law [10]")  # fmt: skip
    record.add_argument("--averaging", default="", metavar="TIME", help="averaging time of the wind, for the report")
    record.add_argument("--averaging-factor", type=float, default=1.0, metavar="F",
                        help="what a wind is multiplied by to be a ten-minute mean [1]")  # fmt: skip
    record.add_argument("--step", default="", metavar="TIME", help="step of the record [found]")
    record.add_argument("--typical-year", action="store_true",
                        help="the record is spliced of months of several years: exceedance alone is found")  # fmt: skip


def operability(options: Namespace) -> None:
    """Hold a record against the wind limit of one configuration; write figures and tables."""
    from toolkit.execution.store import writing
    from toolkit.figures.operability import draw_operability
    from toolkit.findings.operability import limit_of_results, reading_lines
    from toolkit.findings.operability import operability as hold
    from toolkit.findings.operability.options import hours_of
    from toolkit.findings.operability.tables import MONTHS, basis_lines, operability_table
    from toolkit.findings.reading import cautions

    problems: list[Problem] = []
    if (options.record is None) == (options.invented is None):
        problems.append(Problem(where="arguments", what="one of --record and --invented is needed, and not both",
                                remedy="Name a record: --record FILE"))  # fmt: skip
    problems.extend(_idle_options(options))
    job = hours_of(options.job, where="--job", problems=problems)
    calm = hours_of(options.calm, where="--calm", problems=problems)
    at = name_value_pairs("--at", options.at, "displacement='1500 t'", problems)
    reading = _reading(options, problems)
    if problems:
        raise StudyError(problems)
    place = Path(options.source)
    results = verbs.results_at(place)
    record = _record(options, reading, with_current="current_speed" in results["outcome"].dims)
    limit = limit_of_results(
        results, at, worst_over=options.worst_over, limits=_limits(options.limits),
        with_current="current_speed" in record,
    )  # fmt: skip
    found = hold(
        record, limit, forecast_factor=options.forecast_factor, gust_factor=options.gust_factor, job_hours=job,
        calm_hours=calm,
    )  # fmt: skip
    folder = Path(options.output) if options.output else verbs.RESULTS / place.stem / "operability"
    with writing(folder, kept=""):
        files = draw_operability(found, folder)
    for line in (*reading_lines(record), *basis_lines(found)):
        print(line.rstrip(".") + ".")
    table = operability_table(found)
    print(f"{'':<58} {'box':>8} {'joint':>8}")
    for words, box, joint, _ in table.rows:
        if not any(f"availability, {month}" in str(words) for month in MONTHS):
            print(f"{words:<58} {_number(box):>8} {_number(joint):>8}")
    verbs.list_files(files, cautions(results.attrs))


def _idle_options(options: Namespace) -> list[Problem]:
    """Options that say how a file is read, with an invented record that has none, and the other way round."""
    if options.invented is None:
        idle = {"--seed": options.seed is not None}
        why = "the record is a file, and nothing is drawn"
    else:
        idle = {
            "--columns": bool(options.columns), "--units": bool(options.units), "--times-in": bool(options.times_in),
            "--hours-in": bool(options.hours_in), "--time-format": bool(options.time_format),
            "--times-at": options.times_at != "start", "--height": options.height is not None,
            "--averaging": bool(options.averaging), "--averaging-factor": options.averaging_factor != 1.0,
            "--step": bool(options.step), "--typical-year": options.typical_year,
        }  # fmt: skip
        why = "an invented record is hourly and its wind at 10 m, and no file is read"
    return [
        Problem(where="arguments", what=f"{flag} would say nothing", why=why, remedy=f"Leave {flag} out")
        for flag, given in idle.items()
        if given
    ]


def _number(value: str | float | int) -> str:
    """Four significant digits; nothing for a number that is not there."""
    from toolkit.figures.style import plain_number

    return value if isinstance(value, str) else "-" if value != value else plain_number(value)


def _limits(study: str | None) -> dict[str, float] | None:
    from toolkit.study import load_study

    return load_study(study).limits.in_force() if study else None


def _record(options: Namespace, reading: ReadingOptions, *, with_current: bool) -> xr.Dataset:
    """Record of the file that is named, or the invented one."""
    from toolkit.findings.operability import invented_record, read_record
    from toolkit.findings.operability.invented import DEFAULT_SEED

    if options.record is not None:
        return read_record(options.record, reading)
    seed = DEFAULT_SEED if options.seed is None else options.seed
    return invented_record(options.invented, seed=seed, current=with_current)


def _reading(options: Namespace, problems: list[Problem]) -> ReadingOptions:
    """What the arguments say of the record."""
    from toolkit.findings.operability import ReadingOptions

    return ReadingOptions(
        columns=name_value_pairs("--columns", options.columns, "wind_speed=WSPD", problems),
        units=name_value_pairs("--units", options.units, "wind_speed=kn", problems),
        times_in=options.times_in,
        hours_in=options.hours_in,
        time_format=options.time_format,
        times_at=options.times_at,
        height=options.height,
        averaging=options.averaging,
        averaging_factor=options.averaging_factor,
        typical_year=options.typical_year,
        step=options.step,
    )


def name_value_pairs(flag: str, texts: list[str], example: str, problems: list[Problem]) -> dict[str, str]:
    """Names and values written NAME=VALUE.

    Parameters
    ----------
    flag : str
        The argument, for messages.
    texts : list of str
        What was written.
    example : str
        One pair as it should be written.
    problems : list of Problem
        Added to.
    """
    found: dict[str, str] = {}
    for text in texts:
        name, equals, value = (part.strip() for part in text.partition("="))
        if not equals or not name or not value:
            problems.append(Problem(where=flag, what=f"'{text}' is not a name and a value",
                                    remedy=f"Write {flag} {example}"))  # fmt: skip
        elif name in found:
            problems.append(Problem(where=flag, what=f"{name} is named twice", remedy="Name it once"))
        else:
            found[name] = value
    return found
