"""The verbs `compare` and `sensitivity`: configurations pair by pair, and what moves the outcomes."""

from __future__ import annotations

import math
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from toolkit.cli import verbs
from toolkit.cli.waiting import tell_of_compiling
from toolkit.errors import Problem, StudyError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import xarray as xr

    from toolkit.motion.convergence import Accuracy
    from toolkit.study import Study

__all__ = ["compare", "sensitivity"]

STEP_CASES = 64
"""Cases of a study whose time step is refined, spread over all of them."""


def compare(options: Namespace) -> None:
    """Compare configurations pair by pair, all else alike."""
    from toolkit.execution.store import writing
    from toolkit.figures.comparison_pages import draw_comparison
    from toolkit.findings.alike import cut_at
    from toolkit.findings.reading import cautions
    from toolkit.findings.research_tables import comparison_lines

    if options.axis and options.other:
        verbs.refuse("arguments", "--axis and --with are both given", "Give the one or the other")
    if options.over and len(options.over) != 2:
        verbs.refuse("--over", f"{len(options.over)} axes are named", "Name two, such as displacement wind_speed")
    place = Path(options.source)
    at = verbs.selection(options.at)
    results = cut_at(verbs.results_at(place), at)
    wanted: dict[str, Any] = {"over": tuple(options.over or ()), "quantity": options.quantity}
    if options.other:
        other = Path(options.other)
        wanted |= {"second": cut_at(verbs.results_at(other), at), "names": (place.stem, other.stem)}
    else:
        wanted |= {"axis": options.axis or _first_choice(results), "values": tuple(options.values or ())}
    folder = Path(options.output) if options.output else verbs.RESULTS / place.stem / "comparison"
    with writing(folder, kept=""):
        files, found = draw_comparison(results, folder, **wanted)
    print(results.attrs.get("title", place.stem))
    for one in found:
        print("\n".join(f"  {line}" for line in comparison_lines(one)))
        _print_differences(one)
    verbs.list_files(files, cautions(results.attrs))


def _first_choice(results: xr.Dataset) -> str:
    """The first axis of words; empty without one."""
    words = [str(dim) for dim in results["outcome"].dims if dim in results.coords and results[dim].dtype.kind in "UO"]
    return next(iter(words), "")


def _print_differences(found: xr.Dataset) -> None:
    from toolkit.findings.display import axis_label, to_display

    first, second = found.attrs["first"], found.attrs["second"]
    print(f"  {second} less {first}, with the {100.0 * found.attrs['level']:g} % bootstrap interval:")
    for name in map(str, found["quantity"].values):
        here = found.sel(quantity=name)
        middle, low, high = (
            float(to_display(name, here[f"mean_difference{end}"].item())) for end in ("", "_low", "_high")
        )
        if math.isnan(middle):
            print(f"    {axis_label(name):<40} no pair to compare")
            continue
        flips = 100.0 * float(here["share_sign_flips"])
        print(f"    {axis_label(name):<40} {middle:9.3g} ({low:.3g} to {high:.3g}), sign flips {flips:.0f} %")


def sensitivity(options: Namespace) -> None:
    """Find what moves the outcomes over the ranges of a study."""
    from functools import partial

    from toolkit.execution.records import evaluate
    from toolkit.execution.store import writing
    from toolkit.figures.sensitivity_pages import draw_sensitivity
    from toolkit.findings.reading import cautions
    from toolkit.findings.sensitivity.analysis import analyse
    from toolkit.findings.sensitivity.words import failed_text
    from toolkit.study import load_study

    place = Path(options.study)
    study = load_study(place)
    folder = Path(options.output) if options.output else verbs.RESULTS / place.stem / "sensitivity"
    with writing(folder, kept=""):
        folder.mkdir(parents=True, exist_ok=True)
    tell_of_compiling(study.manoeuvres)
    found = analyse(
        study,
        partial(evaluate, workers=options.workers, title=study.title),
        at=verbs.selection(options.at),
        coefficients=not options.no_coefficients,
        trajectories=options.trajectories,
        keep=options.keep,
        samples=options.samples,
        replicates=options.replicates,
        names=options.outcomes,
        seed=options.seed,
        say=lambda text: print(text, flush=True),
    )
    steps: Mapping[str, Sequence[Accuracy]] = _steps(study) if options.steps else {}
    with writing(folder, kept=""):
        files = draw_sensitivity(found, folder, steps=steps)
    print(f"{failed_text(found.indices)}.")
    _print_indices(found.indices)
    verbs.list_files(files, cautions(found.indices.attrs))


def _print_indices(indices: xr.Dataset) -> None:
    from toolkit.findings.display import long_name
    from toolkit.findings.sensitivity.responses import response_label

    for name in map(str, indices["quantity"].values):
        here = indices.sel(quantity=name).sortby("total_order", ascending=False)
        if math.isnan(float(here["total_order"].max())):
            print(f"{response_label(name)}: the same in all cases, nothing to share out")
            continue
        print(f"{response_label(name)}: share of the variance, alone and with all interactions")
        for factor in map(str, here["factor"].values):
            alone, low, high, total, least, most = (
                float(here[f"{order}{end}"].sel(factor=factor))
                for order in ("first_order", "total_order")
                for end in ("", "_low", "_high")
            )
            first = f"{alone:5.2f} ({low:.2f} to {high:.2f})"
            print(f"    {long_name(factor):<46} {first}  {total:5.2f} ({least:.2f} to {most:.2f})")


def _steps(study: Study) -> Mapping[str, Sequence[Accuracy]]:
    """What a finer time step changes in cases of the study."""
    import numpy as np

    from toolkit.motion.convergence import convergence_table, step_error

    numbers = np.unique(np.linspace(0, study.size - 1, min(STEP_CASES, study.size)).astype(int))
    columns = study.columns(numbers)
    print(f"Time step: {numbers.size} cases of the study, each many times over", flush=True)
    if not numbers.size:
        raise StudyError([Problem(where=study.source, what="the study has no case", remedy="Sweep or fix inputs")])
    return {
        f"Error of the step alone: the orders of {numbers.size} cases of the study played back in finer steps.":
            step_error(columns),
        f"Whole runs: {numbers.size} cases of the study with master and helm, against a quarter of the step; and with "
        "the start moved by next to nothing, which no step can be finer than.": convergence_table(columns),
    }  # fmt: skip
