"""The verb `stability`: the tugs of a study against the published rules, beside the simulated heel."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from toolkit.cli import verbs
from toolkit.errors import Problem, StudyError

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.study import Study

__all__ = ["stability"]


def stability(options: Namespace) -> None:
    """Write the tables of towing stability of a study, and say what is in them."""
    from toolkit.execution.store import writing
    from toolkit.findings.reading import cautions
    from toolkit.findings.righting_file import read_righting_levers
    from toolkit.findings.stability import stability_table
    from toolkit.findings.stability_criteria import criteria_table
    from toolkit.findings.study_tugs import tugs_of
    from toolkit.findings.table import write_table
    from toolkit.study import load_study

    place = Path(options.study)
    study = load_study(place)
    share = _share(options.intercepted)
    given = Path(options.righting_levers) if options.righting_levers else None
    curves = read_righting_levers(given, tugs_of(study)) if given else {}
    results = _simulated(study, options.results)
    folder = Path(options.output) if options.output else verbs.RESULTS / place.stem
    levers = stability_table(study, results, curves, intercepted=share)
    criteria = criteria_table(study, curves, intercepted=share)
    with writing(folder, kept=""):
        files = [*write_table(levers, folder, "stability"), *write_table(criteria, folder, "stability_criteria")]
    print(levers.title)
    _print_short(levers.header, levers.rows)
    if results is None:
        print(f"No simulated heel: there are no results of {place} yet. Run it: towage run {place}")
    verbs.list_files(files, cautions(results.attrs if results is not None else {}))


def _share(value: float | None) -> float:
    from toolkit.findings.rule_levers import SEVEREST_INTERCEPTED

    if value is None:
        return SEVEREST_INTERCEPTED
    if not 0.0 < value <= 1.0:
        raise StudyError(
            [Problem(where="--intercepted", what=f"intercepted = {value:g} [1] is outside (0, 1]",
                     why="it is the share of the propeller circle that the rudder intercepts at 45 degrees",
                     remedy="Give a share, or leave it out")]
        )  # fmt: skip
    return value


def _simulated(study: Study, named: str | None) -> xr.Dataset | None:
    """Results of the study: those named, or those in its own store if they are there and are hers."""
    from toolkit.execution.layout import default_store

    place = Path(named) if named else default_store(study)
    if named is None and not place.exists():
        return None
    results = verbs.open_place(place)
    verbs.refuse_another(study, place, results)
    return results


SHOWN = ("tug", "which", "GM [m]", "deck edge [deg]", "rule", "lever upright [m]", "at rest [deg]", "verdict",
         "simulated peak heel on a line [deg]")  # fmt: skip
HEADS = ("tug", "which", "GM m", "edge deg", "rule", "lever m", "at rest deg", "verdict", "simulated deg")


def _print_short(header: tuple[str, ...], rows: tuple[tuple[str | float | int, ...], ...]) -> None:
    """Print the columns that a person asks for first."""
    chosen = [header.index(name) for name in SHOWN]
    lines = [list(HEADS)]
    for row in rows:
        lines.append([_text(row[i]) for i in chosen])
    widths = [max(len(line[i]) for line in lines) for i in range(len(HEADS))]
    for line in lines:
        print("  " + "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip())


def _text(value: str | float | int) -> str:
    if isinstance(value, str):
        return value
    return "-" if value != value else f"{value:.3g}"
