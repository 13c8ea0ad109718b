"""Every figure and table that a dataset allows, written into a folder (floor 6)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from toolkit.figures.configurations import configurations
from toolkit.figures.folder import Folder
from toolkit.figures.histories import draw_histories
from toolkit.figures.outlines import draw_outlines
from toolkit.figures.pages import FIELDS, LINE_FIELDS, draw_configuration
from toolkit.figures.push_pull import draw_pairs
from toolkit.figures.swept_pages import add_swept
from toolkit.figures.view import bare, caption
from toolkit.findings import (
    LIMIT_NAMES,
    apply_limits,
    back_test,
    count_back_test,
    count_limits,
    pair_along,
    share_of_runs,
    shares_text,
    summarise_pairs,
)
from toolkit.findings.compare import PAIRED_QUANTITIES
from toolkit.findings.conditions import facts_of_results, legs_of, manoeuvres_of
from toolkit.findings.reading import axis_values, cautions, directions, provenance
from toolkit.findings.run_register import run_register
from toolkit.findings.tables import limits_table, outcome_table, overview_lines, pairs_table, static_rule_table
from toolkit.quantities import FACTS

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_envelope", "draw_history"]

MOST_BYTES = 2_000_000_000
"""Largest size of the outcomes that are drawn, up to which they are read at once."""

_READ_PAIRS = "Each pair has all other inputs alike. Pairs of which one failed are counted in the table, not drawn."


def draw_envelope(
    dataset: xr.Dataset,
    folder: str | Path,
    *,
    limits: object | None = None,
    at: Mapping[str, Any] | None = None,
    swept: int = 0,
    done: Callable[[int], object] = lambda runs: None,
) -> list[Path]:
    """Draw the operating envelope of a results dataset, as far as its axes allow.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results by the contract of this package: a grid or samples; may be lazy.
    folder : path
        Where to write; made if it is not there, files of the same name replaced.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the dataset.
    at : mapping, optional
        Values [dataset units] or words at which to cut axes that a figure does
        not show. By default directions are reduced to the worst over them,
        speeds are cut at their lowest, pull, displacement and power at their
        middle value, all else at the first; every caption says.
    swept : int
        Cases of each combination of choices that are run again, most, to draw
        the ground they sweep; 0 for none.
    done : callable
        Called with 1 after each of them.

    Returns
    -------
    list of pathlib.Path
        Files written: figures (PNG and SVG), tables (CSV and Markdown) and
        ``index.md``, which also says what was left out. Choices that are swept
        (manoeuvre, attitude, ...) give a set of figures for each combination,
        up to :data:`toolkit.figures.configurations.MOST_SETS`.

    Raises
    ------
    StudyError
        If limits are not legal, or a value of `at` is not on the grid.
    """
    out = Folder(path=Path(folder))
    out.path.mkdir(parents=True, exist_ok=True)
    wanted = dict(at or {})
    dataset = _in_memory(dataset)
    judged = bare(apply_limits(dataset, limits))
    parts, out.left_out = configurations(dataset, judged, wanted)
    out.table(outcome_table(judged), "outcomes")
    counts = {"": count_limits(judged)}
    counts |= {part.words: count_limits(part.judged) for part in parts if part.words}
    out.table(limits_table(counts, judged), "limits_alone_and_together")
    for part in parts:
        draw_configuration(out, part, wanted)
    _pairs(out, dataset, judged)
    _static_rule(out, dataset, judged, limits)
    for part in parts if swept else ():
        add_swept(out, part, swept, done)
    out.table(run_register(dataset, judged, made=[name for name, _ in out.entries]), "run_register")
    out.index(
        f"Operating envelope: {dataset.attrs.get('title', 'untitled')}",
        (
            *overview_lines(judged),
            f"Limits: {judged.attrs['limits_applied']}.",
            f"Runs: {shares_text(share_of_runs(judged))}",
            directions(dataset.attrs),
            provenance(dataset.attrs),
            cautions(dataset.attrs),
        ),
    )
    return out.paths


def draw_history(history: xr.Dataset, folder: str | Path, *, limits: object | None = None) -> list[Path]:
    """Draw the plan view and the time histories of one case.

    Parameters
    ----------
    history : xarray.Dataset
        Channels along ``time``; facts of the case as attributes or scalars.
    folder : path
        Where to write.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the attribute ``limits``.

    Returns
    -------
    list of pathlib.Path
        ``outlines`` and ``histories``, each as PNG and SVG.
    """
    place = Path(folder)
    return [
        *draw_outlines(history, limits=limits).save(place, "outlines"),
        *draw_histories(history, limits=limits).save(place, "histories"),
    ]


def _in_memory(dataset: xr.Dataset) -> xr.Dataset:
    """Outcomes that are drawn or judged, read once; left lazy where they are too large for that."""
    drawn = {"outcome", "static_wind_demand", *FIELDS, *LINE_FIELDS, *PAIRED_QUANTITIES, *LIMIT_NAMES}
    needed = dataset[[str(name) for name in dataset.data_vars if str(name) in drawn]]
    return needed.compute() if needed.nbytes <= MOST_BYTES else needed


def _pairs(out: Folder, dataset: xr.Dataset, judged: xr.Dataset) -> None:
    ways = axis_values(dataset, "manoeuvre") if "manoeuvre" in dataset["outcome"].dims else []
    swings = [way for way in FACTS if way in ways and FACTS[way].swings]
    if len(swings) != 2:
        return
    pairs = pair_along(dataset, "manoeuvre", *reversed(swings)).compute()
    out.table(pairs_table(summarise_pairs(pairs), judged), "push_against_pull")
    title = "Push against pull: time to steady and swept radius"
    if {"time_to_steady_first", "swept_radius_all_first"} <= set(pairs.data_vars):
        text = caption(dataset, judged, lead=(_READ_PAIRS,))
        out.sheet(draw_pairs(pairs, title=title, caption=text), "push_against_pull_pairs", title)


def _static_rule(out: Folder, dataset: xr.Dataset, judged: xr.Dataset, limits: object | None) -> None:
    if "static_wind_demand" not in dataset.variables:
        return
    ways = [way for way in manoeuvres_of(dataset) if way not in FACTS or FACTS[way].static_rule]
    if manoeuvres_of(dataset) and not ways:
        return  # the rule is for what wind and pull decide
    if "manoeuvre" in dataset.dims:
        dataset = dataset.sel(manoeuvre=ways)
        judged = judged.sel(manoeuvre=ways)
    one = len(ways) < 2 or bool(legs_of(dataset))
    nouns = {facts_of_results(dataset).noun} if one else {FACTS[way].noun for way in ways if way in FACTS}
    noun = nouns.pop() if len(nouns) == 1 else "case"
    tested = back_test(dataset, limits)
    by = next((d for d in ("displacement", "bollard_pull") if d in tested["passes"].dims), None)
    along = count_back_test(tested, keep=(by,)) if by else None
    out.table(static_rule_table(count_back_test(tested), judged, along, noun=noun), "static_rule")
