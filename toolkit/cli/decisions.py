"""The verbs `requirement` and `limits`: a rule for the harbour, and an envelope with a card for the day."""

from __future__ import annotations

import argparse
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from toolkit.cli import verbs
from toolkit.cli.waiting import tell_of_compiling
from toolkit.errors import Problem, StudyError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["add_limits", "add_requirement", "limits", "requirement"]


def add_requirement(parser: argparse.ArgumentParser) -> None:
    """Arguments of `requirement`."""
    parser.add_argument("source", metavar="STORE_OR_STUDY", help="store, exported NetCDF file, or study file")
    parser.add_argument("--share", type=float, default=100.0, metavar="PERCENT",
                        help="cases that must pass, over all that is not shown [100]")  # fmt: skip
    parser.add_argument("--margin", type=float, default=1.0, metavar="F",
                        help="pull asked for over the smallest that passes [1]")  # fmt: skip
    parser.add_argument("--limit-margin", type=float, default=1.0, metavar="F",
                        help="factor by which every limit is tightened [1]")  # fmt: skip
    parser.add_argument("--bands", nargs="+", action="extend", default=[], metavar="NAME=ENDS",
                        help="ends of bands, such as displacement='300 t, 800 t, 4000 t'; a name alone takes the "
                        "values run [displacement and wind_speed, the values run]")  # fmt: skip
    parser.add_argument("--free", nargs="+", action="extend", default=[], metavar="NAME",
                        help="swept inputs the master may choose, such as line_length [power_setting]")  # fmt: skip
    parser.add_argument("--draft", metavar="FILE", help="draft rule to hold against the cases, as CSV or TOML")
    parser.add_argument("--static-margin", type=float, default=1.25, metavar="F",
                        help="factor of the rule 'beam wind force within the pull' [1.25]")  # fmt: skip
    parser.add_argument("--at", nargs="+", action="extend", default=[], metavar="NAME=VALUE",
                        help="swept inputs to cut at one value, such as current_speed='0.5 kn'")  # fmt: skip
    parser.add_argument("--limits", metavar="STUDY", help="study file whose [limits] are used instead")
    parser.add_argument("--failure-limits", metavar="STUDY",
                        help="study file whose [limits] hold once something has failed [the same]")  # fmt: skip
    parser.add_argument("--output", metavar="DIR", help="folder [results/<study>/requirement]")


def requirement(options: Namespace) -> None:
    """Draw up the smallest tug for each band, and hold other rules against the cases."""
    from toolkit.execution.store import writing
    from toolkit.figures.requirement_pages import RuleOptions, write_requirement
    from toolkit.findings.alike import cut_at
    from toolkit.findings.draft_rule import load_draft_rule
    from toolkit.findings.reading import cautions
    from toolkit.study import load_study

    place = Path(options.source)
    results = cut_at(verbs.results_at(place), verbs.selection(options.at))
    chosen = RuleOptions(
        share=options.share / 100.0,
        margin=options.margin,
        limit_margin=options.limit_margin,
        free=tuple(options.free),
        bands=_bands(options.bands),
        draft=load_draft_rule(options.draft) if options.draft else None,
        static_margin=options.static_margin,
        failure_limits=load_study(options.failure_limits).limits if options.failure_limits else None,
    )
    instead = load_study(options.limits).limits if options.limits else None
    folder = Path(options.output) if options.output else verbs.RESULTS / place.stem / "requirement"
    with writing(folder, kept=""):
        files = write_requirement(results, folder, limits=instead, options=chosen)
    print(results.attrs.get("title", place.stem))
    for rule in (file for file in files if file.name.startswith("rule") and not file.name.startswith("rules")):
        text = rule.read_text(encoding="utf-8")
        if way := rule.stem.removeprefix("rule").strip("_").replace("_", " "):
            print(f"\n# {way[0].upper()}{way[1:]}\n")
        print(text[text.index("## What is asked for") : text.index("## Basis")].rstrip())
    verbs.list_files(files, cautions(results.attrs))


def _bands(texts: Sequence[str]) -> dict[str, Sequence[float] | None] | None:
    """Bands by input, from `--bands`; None where none are given."""
    from toolkit.quantities import INPUTS
    from toolkit.quantities.units import parse

    bands: dict[str, Sequence[float] | None] = {}
    problems: list[Problem] = []
    for text in texts:
        name, equals, ends = (part.strip() for part in text.partition("="))
        if name not in INPUTS or INPUTS[name].is_choice or name in bands:
            why = "it is named twice" if name in bands else "it is no input that is a number"
            problems.append(Problem(where="--bands", what=f"'{text}' names no bands", why=why,
                                    remedy="Write --bands displacement='300 t, 800 t'"))  # fmt: skip
            continue
        bands[name] = None
        if equals:
            values = []
            for end in ends.split(","):
                try:
                    values.append(float(parse(INPUTS[name], end.strip(), where=f"--bands {name}")))
                except StudyError as error:
                    problems.extend(error.problems)
            bands[name] = values
    if problems:
        raise StudyError(problems)
    return bands or None


def add_limits(parser: argparse.ArgumentParser) -> None:
    """Arguments of `limits`."""
    parser.add_argument("study", metavar="STUDY", help="study file (TOML): gives case, barges, choices and limits")
    parser.add_argument("--at", nargs="+", action="extend", default=[], metavar="NAME=VALUE",
                        help="values of inputs, such as bollard_pull='30 t' manoeuvre=swing_push")  # fmt: skip
    parser.add_argument("--top", default="30 kn", metavar="WIND", help="largest wind searched [30 kn]")
    parser.add_argument("--step", default="2.5 kn", metavar="WIND", help="largest step of the scan [2.5 kn]")
    parser.add_argument("--resolution", default="0.25 kn", metavar="WIND", help="width of a limit found [0.25 kn]")
    parser.add_argument("--directions", type=int, default=24, metavar="N", help="directions of the wind [24]")
    parser.add_argument("--currents", default="0 kn, 0.25 kn, 0.5 kn, 0.75 kn, 1 kn", metavar="SPEEDS",
                        help="speeds of the current [0 to 1 kn in quarters]; one alone draws no curve")  # fmt: skip
    parser.add_argument("--depth-ratios", default="1.2, 1.5, 2.5", metavar="RATIOS",
                        help="water depths over draught, beside the depth of the study [1.2, 1.5, 2.5]")  # fmt: skip
    parser.add_argument("--draws", type=int, default=0, metavar="N",
                        help="draws of gusts and crew, for the share that passes with its interval [none]")  # fmt: skip
    parser.add_argument("--share", type=float, default=90.0, metavar="PERCENT", help="draws that must pass [90]")
    parser.add_argument("--forecast-factor", type=float, default=0.8, metavar="F",
                        help="no-go over limit found, for what a forecast may miss [0.8]")  # fmt: skip
    parser.add_argument("--caution-factor", type=float, default=0.75, metavar="F",
                        help="where caution begins, over no-go [0.75]")  # fmt: skip
    parser.add_argument("--workers", type=int, metavar="N", help="blocks that run side by side [processors]")
    parser.add_argument("--output", metavar="DIR", help="folder [results/<study>/limits]")


def limits(options: Namespace) -> None:
    """Search the wind limits of a study on the model; write curves, tables and cards."""
    from functools import partial

    from toolkit.execution.export import export_netcdf
    from toolkit.execution.records import evaluate
    from toolkit.execution.store import writing
    from toolkit.figures.limit_pages import LimitOptions, write_limits
    from toolkit.quantities.wording import CAUTIONS
    from toolkit.study import load_study

    place = Path(options.study)
    study = load_study(place)
    problems: list[Problem] = []
    read: dict[str, Any] = {
        name: _value("wind_speed", getattr(options, name), f"--{name}", problems)
        for name in ("top", "step", "resolution")
    }
    read["currents"] = tuple(_value("current_speed", v, "--currents", problems) for v in _several(options.currents))
    read["depth_ratios"] = tuple(_value("", v, "--depth-ratios", problems) for v in _several(options.depth_ratios))
    if problems:
        raise StudyError(problems)
    tell_of_compiling(study.manoeuvres)
    chosen = LimitOptions(
        at=verbs.selection(options.at),
        directions=options.directions,
        draws=options.draws,
        share=options.share / 100.0,
        forecast_factor=options.forecast_factor,
        caution_factor=options.caution_factor,
        **read,
    )
    chosen.check()
    folder = Path(options.output) if options.output else verbs.RESULTS / place.stem / "limits"
    with writing(folder, kept=""):
        folder.mkdir(parents=True, exist_ok=True)
    print(f"{study.title}: searching wind limits on the model")
    run = partial(evaluate, workers=options.workers, title=study.title)
    files, found = write_limits(study, folder, run, options=chosen, say=lambda words: print(words, flush=True))
    with writing(folder, kept=""):
        files += [export_netcdf(one, folder / f"{name}.nc", overwrite=True) for name, one in found.items()]
    for card in (file for file in files if file.name.startswith("card") and file.suffix == ".md"):
        lines = card.read_text(encoding="utf-8").splitlines()
        print("\n".join([lines[0].removeprefix("# "), *(line for line in lines if line.startswith("|"))]))
    verbs.list_files(files, CAUTIONS)


def _several(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def _value(name: str, text: str, where: str, problems: list[Problem]) -> float:
    """Value with a unit, or a bare number where `name` is empty; NaN with a problem where it cannot be read."""
    from toolkit.quantities import INPUTS
    from toolkit.quantities.units import parse

    try:
        return float(parse(INPUTS[name], text, where=where)) if name else float(text)
    except StudyError as error:
        problems.extend(error.problems)
    except ValueError:
        problems.append(Problem(where=where, what=f"'{text}' is not a number", remedy="Write 1.2, 1.5"))
    return float("nan")
