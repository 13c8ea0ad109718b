"""What each verb of the command does."""

from __future__ import annotations

import json
import math
import textwrap
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from toolkit.cli.quick_answer import spare_what_a_quick_answer_needs_not
from toolkit.cli.waiting import tell_of_compiling
from toolkit.errors import Problem, StoreError, StudyError

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.study import Study

__all__ = [
    "RESULTS", "check", "envelope", "export", "history", "list_files", "open_place", "refuse", "refuse_another",
    "results_at", "run", "selection",
]  # fmt: skip

RESULTS = Path("results")
"""Folder that is written into, in a folder of each study's name, unless another is named."""

MOST_COUNTED = 50_000
"""Cases of a study up to which `check` counts those that are really run."""

MOST_SWEPT = 200
"""Cases that `envelope --swept` runs again of each combination of choices."""


def check(options: Namespace) -> None:
    """Say what a study will run, or list every key."""
    if options.process_is_ours:
        spare_what_a_quick_answer_needs_not()
    if options.keys or options.markdown:
        from toolkit.study.keys import keys_markdown, keys_text

        print(keys_markdown() if options.markdown else keys_text())
        return
    if options.study is None:
        refuse("arguments", "no study is named", "Name a study file, or ask for --keys")
    from toolkit.execution.layout import current_model
    from toolkit.execution.rates import last_rate
    from toolkit.quantities.wording import CAUTIONS
    from toolkit.study import load_study
    from toolkit.study.summary import summary

    study = load_study(options.study)
    rate = last_rate()
    if rate is None:
        print(summary(study, cautions=CAUTIONS))
        return
    holds = rate.model_hash == current_model().hash
    print(
        summary(
            study,
            cases_per_second=rate.cases_per_second,
            simulated_per_second=rate.simulated_per_second,
            rate_holds=holds,
            distinct=_distinct(study) if holds else None,
            cautions=CAUTIONS,
        )
    )


def _distinct(study: Study) -> int | None:
    """Cases of a grid that are really run; None where that would take long to count."""
    if not study.design.is_grid or study.size > MOST_COUNTED:
        return None
    import numpy as np

    from toolkit.execution.distinct import count_distinct

    return count_distinct(study.columns(np.arange(study.size)))


def run(options: Namespace) -> None:
    """Run a study into its store."""
    from toolkit.execution.layout import default_store
    from toolkit.execution.runner import run_study
    from toolkit.quantities.wording import CAUTIONS
    from toolkit.study import load_study

    if options.serial and options.scheduler:
        refuse("arguments", "--serial and --scheduler are both given", "Give the one or the other")
    study = load_study(options.study)
    store = Path(options.store) if options.store else default_store(study)
    scheduler = "serial" if options.serial else options.scheduler or "threads"
    if not options.scheduler or options.scheduler in ("threads", "processes"):
        tell_of_compiling(study.manoeuvres)
    results = run_study(
        study,
        store,
        workers=options.workers,
        scheduler=scheduler,
        progress=not options.no_progress,
        fresh=options.fresh,
        reuse=options.reuse,
        verify=options.verify,
    )
    counts = json.loads(results.attrs.get("outcome_counts", "{}"))
    print(f"{study.title}: {study.size} cases in {store}")
    for word, count in sorted(counts.items(), key=lambda item: -item[1]):
        print(f"  {word.replace('_', ' '):<20} {count:>9}  {100.0 * count / study.size:5.1f} %")
    print(f"Next: towage envelope {store}")
    _caution(CAUTIONS)


def history(options: Namespace) -> None:
    """Run one case again, write its time history and draw it."""
    from toolkit.execution.energy import case_energy
    from toolkit.execution.export import export_netcdf
    from toolkit.execution.history import history as case_history
    from toolkit.execution.store import writing
    from toolkit.figures import animate_history, can_write_mp4, draw_history, write_player
    from toolkit.findings.conditions import manoeuvres_of
    from toolkit.findings.energy_table import energy_table
    from toolkit.findings.table import write_table
    from toolkit.quantities import OUTCOMES
    from toolkit.quantities.units import format_value
    from toolkit.study import Study, load_study

    moving = list(dict.fromkeys(options.animate or ["html"]))
    if "mp4" in moving and not can_write_mp4():
        refuse("--animate mp4", "ffmpeg is not on this machine", "Install ffmpeg, or choose html or gif")
    place = Path(options.source)
    source = load_study(place) if _is_study(place) else open_place(place)
    tell_of_compiling(source.manoeuvres if isinstance(source, Study) else manoeuvres_of(source))
    found = case_history(source, case=options.case, **selection(options.at))
    folder = Path(options.output) if options.output else RESULTS / place.stem / f"history-{found.attrs['case']}"
    with writing(folder, kept=""):
        folder.mkdir(parents=True, exist_ok=True)
        files = [export_netcdf(found, folder / "history.nc", overwrite=True), *draw_history(found, folder)]
        for what in moving:
            write = write_player if what == "html" else animate_history
            files.append(write(found, folder / f"moving.{what}"))
        if options.energy:
            table = energy_table(case_energy(source, case=options.case, **selection(options.at)))
            files += write_table(table, folder, "energy")
    print(f"Case {found.attrs['case']}: {str(found.attrs['outcome']).replace('_', ' ')}")
    for name, quantity in OUTCOMES.items():
        value = found.attrs.get(name)
        if quantity.unit and isinstance(value, float) and not math.isnan(value):
            print(f"  {quantity.long_name:<44} {format_value(quantity, value)}")
    if options.energy:
        print(f"Balance of energy: {table.notes[0]}")
    list_files(files, str(found.attrs["cautions"]))


def envelope(options: Namespace) -> None:
    """Judge results by their limits and draw the operating envelope."""
    from tqdm import tqdm

    from toolkit.execution.store import writing
    from toolkit.figures import draw_envelope
    from toolkit.findings import apply_limits, limits_of, limits_text, share_of_runs, shares_text
    from toolkit.findings.alike import cut_at
    from toolkit.quantities.wording import limit_cautions
    from toolkit.study import load_study

    if not 0 <= options.swept <= MOST_SWEPT:
        refuse(
            "--swept", f"swept = {options.swept} is outside [0, {MOST_SWEPT}]", "Give the number of runs, such as 24"
        )
    place = Path(options.source)
    results = cut_at(results_at(place), selection(options.at))
    if options.limits:
        results.attrs["limits"] = json.dumps(load_study(options.limits).limits.in_force(), sort_keys=True)
    folder = Path(options.output) if options.output else RESULTS / place.stem
    with writing(folder, kept=""):
        folder.mkdir(parents=True, exist_ok=True)
    print(results.attrs.get("title", place.stem))
    limits = limits_of(results)
    print(f"Limits: {limits_text(limits)}")
    for beside in limit_cautions(limits):
        print(textwrap.fill(beside, 96, initial_indent="  ", subsequent_indent="  "))
    print(shares_text(share_of_runs(apply_limits(results))))
    with writing(folder, kept=""):
        if options.swept:
            with tqdm(unit=" runs again", leave=False, disable=None) as bar:
                files = draw_envelope(results, folder, swept=options.swept, done=bar.update)
        else:
            files = draw_envelope(results, folder)
    list_files(files, str(results.attrs["cautions"]))


def export(options: Namespace) -> None:
    """Write results as NetCDF or CSV."""
    from toolkit.execution.export import export_csv, export_netcdf, notes_beside

    if not options.netcdf and not options.csv:
        refuse("arguments", "no file to write is named", "Add --netcdf FILE or --csv FILE")
    results = results_at(Path(options.source))
    files = []
    if options.netcdf:
        files.append(export_netcdf(results, options.netcdf, overwrite=options.overwrite))
    if options.csv:
        table = export_csv(results, options.csv, overwrite=options.overwrite)
        files += [table, notes_beside(table)]
    list_files(files, str(results.attrs["cautions"]))


def refuse(where: str, what: str, remedy: str) -> NoReturn:
    """Refuse with one problem: where, what, and what to do."""
    raise StudyError([Problem(where=where, what=what, remedy=remedy)])


def _is_study(place: Path) -> bool:
    """Whether a path names a study file rather than results."""
    return place.suffix == ".toml" or (place.is_file() and place.suffix != ".nc")


def open_place(place: Path) -> xr.Dataset:
    """Results in a store or an exported file, under their own limits."""
    from toolkit.execution.results import open_results

    return open_results(place)


def results_at(place: Path) -> xr.Dataset:
    """Results in a store or file; those of a study under the study's present limits."""
    if not _is_study(place):
        return open_place(place)
    from toolkit.execution.layout import default_store
    from toolkit.study import load_study

    study = load_study(place)
    store = default_store(study)
    if not store.exists():
        raise StoreError(f"{store}: there are no results of {place} yet. Run it first: towage run {place}")
    results = open_place(store)
    refuse_another(study, store, results)
    results.attrs["limits"] = json.dumps(study.limits.in_force(), sort_keys=True)
    return results


def refuse_another(study: Study, store: Path, results: xr.Dataset) -> None:
    """Refuse results in the store of a study that are not those of the study as it now is."""
    held = results.attrs.get("study_hash")
    if held != study.hash():
        raise StoreError(
            f"{store}: it holds study {held}, and {study.source} now is study {study.hash()}. "
            "Run the study again with --fresh, or name the store itself."
        )


def selection(texts: list[str]) -> dict[str, str]:
    """Names and values of `--at`."""
    found: dict[str, str] = {}
    problems = []
    for text in texts:
        name, equals, value = (part.strip() for part in text.partition("="))
        if not equals or not name or not value:
            problems.append(Problem(where="--at", what=f"'{text}' is not a name and a value",
                                    remedy="Write --at wind_speed='12 kn'"))  # fmt: skip
        elif name == "case":
            problems.append(Problem(where="--at", what="case is not an input", remedy="Write --case N"))
        elif name in found:
            problems.append(Problem(where="--at", what=f"{name} is named twice", remedy="Name it once"))
        found[name] = value
    if problems:
        raise StudyError(problems)
    return found


def list_files(files: list[Path], cautions: str) -> None:
    """Print what was written, and the cautions."""
    print("Written:")
    for file in files:
        print(f"  {file}")
    _caution(cautions)


def _caution(text: str) -> None:
    print(textwrap.fill(f"Cautions: {text}", 96))
