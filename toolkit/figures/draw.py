"""Every figure and table that a dataset allows, written into a folder (floor 6)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.contours import Panel, draw_field
from toolkit.figures.histories import draw_histories
from toolkit.figures.line_length import draw_line_length
from toolkit.figures.outlines import draw_outlines
from toolkit.figures.polar import draw_polar
from toolkit.figures.push_pull import draw_pairs
from toolkit.figures.style import Sheet
from toolkit.figures.view import caption, number_axes, take_slice
from toolkit.findings import (
    apply_limits,
    back_test,
    count_back_test,
    pair_along,
    passing_band,
    share_of_runs,
    shares_text,
    summarise_pairs,
    wind_limit,
)
from toolkit.findings.display import display_text, long_name
from toolkit.findings.reading import axis_values, cautions, directions, provenance
from toolkit.findings.tables import (
    Table,
    band_table,
    outcome_table,
    overview_lines,
    pairs_table,
    static_rule_table,
    wind_limit_table,
    write_table,
)
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_envelope", "draw_history"]

_PLANE_ORDER = (
    "bollard_pull", "displacement", "power_setting", "line_length", "wind_speed", "current_speed", "water_depth",
)  # fmt: skip
_FIELDS = ("time_to_steady", "time_to_turn", "peak_heel_fraction", "peak_tension", "peak_contact_force")
_POLAR_ORDER = ("displacement", "bollard_pull", "power_setting")
_SERIES_ORDER = ("power_setting", "bollard_pull", "displacement", "wind_speed")
_MOST_SERIES = 4

_READ_CELLS = (
    "Cells of a sparse grid are of one size and carry their value; dense grids are contoured. Hatching: the limit with "
    "the largest utilisation in a cell that does not pass; symbols: cases that did not complete."
)
_READ_POLAR = (
    "Each sector reaches to the last grid speed at which it and all smaller speeds pass; nothing is read between grid "
    "speeds. The ring in the middle is calm."
)
_READ_PAIRS = "Each pair has all other inputs alike. Pairs of which one failed are counted in the table, not drawn."


@dataclass(kw_only=True)
class _Folder:
    """Where things go, and the list of what is there."""

    path: Path
    paths: list[Path] = field(default_factory=list)
    entries: list[tuple[str, str]] = field(default_factory=list)

    def sheet(self, made: Sheet, name: str, words: str) -> None:
        self.paths.extend(made.save(self.path, name))
        self.entries.append((f"{name}.png", words))

    def table(self, table: Table, name: str) -> None:
        self.paths.extend(write_table(table, self.path, name))
        self.entries.append((f"{name}.md", table.title))

    def index(self, title: str, lines: tuple[str, ...]) -> None:
        rows = [f"- [{name}]({name}): {words}" for name, words in self.entries]
        told = [f"- {line}" for line in lines]
        text = "\n".join([f"# {title}", "", *told, "", "## Figures and tables", "", *rows, ""])
        path = self.path / "index.md"
        path.write_text(
            text + "\nEvery figure is there as PNG and SVG, every table as Markdown and CSV.\n", encoding="utf-8"
        )
        self.paths.append(path)


def draw_envelope(
    dataset: xr.Dataset,
    folder: str | Path,
    *,
    limits: object | None = None,
    at: Mapping[str, Any] | None = None,
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
        not show. By default speeds are cut at their lowest, directions where
        the fewest cases pass, all else at the first value; every caption says.

    Returns
    -------
    list of pathlib.Path
        Files written: figures (PNG and SVG), tables (CSV and Markdown) and
        ``index.md``.

    Raises
    ------
    StudyError
        If limits are not legal, or a value of `at` is not on the grid.
    """
    out = _Folder(path=Path(folder))
    out.path.mkdir(parents=True, exist_ok=True)
    judged = apply_limits(dataset, limits)
    for name in ("passes", "was_run", "outcome", "utilisation", "nearest_limit", "binding_limit"):
        judged[name] = judged[name].compute()
    wanted = dict(at or {})
    out.table(outcome_table(judged), "outcomes")
    for way, part, verdict in _by_manoeuvre(dataset, judged, wanted):
        _fields(out, part, verdict, way, wanted)
        if dataset["outcome"].size and "case" not in dataset["outcome"].dims:
            _polar(out, part, verdict, way, wanted)
            _lines(out, part, verdict, way, wanted)
            _bands(out, part, verdict, way, wanted)
    _pairs(out, dataset, judged)
    if "static_wind_demand" in dataset.variables:
        tested = back_test(dataset, limits)
        out.table(static_rule_table(count_back_test(tested), judged), "static_rule")
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


def _by_manoeuvre(
    dataset: xr.Dataset, judged: xr.Dataset, wanted: Mapping[str, Any]
) -> Iterator[tuple[str, xr.Dataset, xr.Dataset]]:
    """Parts of a dataset, one a manoeuvre where it is swept."""
    if "manoeuvre" not in dataset["outcome"].dims or "manoeuvre" in wanted:
        yield "", dataset, judged
        return
    for place, way in enumerate(axis_values(dataset, "manoeuvre")):
        yield str(way), dataset.isel(manoeuvre=place), judged.isel(manoeuvre=place)


def _named(name: str, way: str) -> str:
    return f"{name}_{way}" if way else name


def _titled(words: str, way: str) -> str:
    text = words[:1].upper() + words[1:]
    return f"{text}: {way.replace('_', ' ')}" if way else text


def _has_value(dataset: xr.Dataset, judged: xr.Dataset, name: str) -> bool:
    """Whether any completed case has a value."""
    completed = judged["outcome"] == int(Outcome.completed)
    return name in dataset.data_vars and bool((dataset[name].notnull() & completed).any())


def _pick(dataset: xr.Dataset, axes: tuple[str, ...], count: int) -> tuple[str, ...]:
    """Axes that a plane shows best, at most `count`."""
    ranked = [a for a in _PLANE_ORDER if a in axes] + [a for a in axes if a not in _PLANE_ORDER]
    return tuple(ranked[:count])


def _fields(out: _Folder, dataset: xr.Dataset, judged: xr.Dataset, way: str, wanted: dict[str, Any]) -> None:
    """Draw outcomes over two axes, in calm and at the highest wind where wind is swept."""
    sampled = dataset["outcome"].dims == ("case",)
    if sampled:
        free = tuple(n for n in _PLANE_ORDER if n in dataset.coords and dataset[n].dims == ("case",))
        axes = free[:2]
    else:
        axes = _pick(dataset, tuple(a for a in number_axes(dataset) if a not in wanted), 2)
    cuts: list[dict[str, Any]] = [wanted]
    if not sampled and "wind_speed" in number_axes(dataset) and "wind_speed" not in {*axes, *wanted}:
        speeds = axis_values(dataset, "wind_speed")
        cuts = [{**wanted, "wind_speed": min(speeds)}, {**wanted, "wind_speed": max(speeds)}]
    panels: list[Panel] = []
    notes: tuple[str, ...] = ()
    for cut in cuts:
        part, verdict, notes = take_slice(dataset, judged, axes, cut)
        verdict = verdict.compute()
        words = f"wind {display_text('wind_speed', cut['wind_speed'])}" if len(cuts) > 1 else ""
        panels.append(Panel(dataset=part, judged=verdict, title=words))
    if len(cuts) > 1:
        ends = " and ".join(display_text("wind_speed", cut["wind_speed"]) for cut in cuts)
        notes = tuple(f"wind speed {ends} (lowest and highest)" if n.startswith("wind speed") else n for n in notes)
    drawn = _joined([panel.judged for panel in panels])
    # time to steady is always drawn: it also shows where nothing completed
    told = [name for name in _FIELDS if name == _FIELDS[0] or _has_value(dataset, judged, name)]
    for name in told:
        over = " over " + " and ".join(long_name(a) for a in axes) if axes else ""
        title = _titled(f"{long_name(name)}{over}", way)
        lead = (_READ_CELLS,) if len(axes) == 2 and not sampled else ()
        text = caption(dataset, drawn, lead=lead, notes=notes)
        out.sheet(draw_field(panels, name, axes, title=title, caption=text), _named(name, way), title)


def _joined(parts: list[xr.Dataset]) -> xr.Dataset:
    """Judgements of several slices as one, so that the cases drawn can be counted."""
    import xarray as xr

    bare = [part.drop_vars([c for c in part.coords if c not in part.dims]) for part in parts]
    return xr.concat(bare, dim="panel") if len(bare) > 1 else bare[0]


def _series(dataset: xr.Dataset, axis: str) -> dict[str, int]:
    """Up to four places spread over an axis, by label."""
    size = dataset.sizes[axis]
    places = np.unique(np.linspace(0, size - 1, min(_MOST_SERIES, size)).round().astype(int))
    values = axis_values(dataset, axis)
    return {f"{long_name(axis)} {display_text(axis, values[p])}": int(p) for p in places}


def _polar(out: _Folder, dataset: xr.Dataset, judged: xr.Dataset, way: str, wanted: dict[str, Any]) -> None:
    dims = dataset["outcome"].dims
    if "wind_from" not in dims or "wind_speed" not in number_axes(dataset) or {"wind_from", "wind_speed"} & set(wanted):
        return
    by = next((a for a in _POLAR_ORDER if a in number_axes(dataset) and a not in wanted), "")
    keep = ("wind_from", "wind_speed", *((by,) if by else ()))
    _, verdict, notes = take_slice(dataset, judged, keep, wanted)
    verdict = verdict.compute()
    top = max(axis_values(dataset, "wind_speed"))
    parts = {label: verdict.isel({by: p}) for label, p in _series(dataset, by).items()} if by else {"": verdict}
    title = _titled("wind limit by direction" + (f" and {long_name(by)}" if by else ""), way)
    text = caption(dataset, _joined(list(parts.values())), lead=(_READ_POLAR,), notes=notes)
    made = draw_polar({k: wind_limit(v) for k, v in parts.items()}, top=top, title=title, caption=text)
    out.sheet(made, _named("wind_limit_polar", way), title)


def _lines(out: _Folder, dataset: xr.Dataset, judged: xr.Dataset, way: str, wanted: dict[str, Any]) -> None:
    """Draw tension over line length, a line for up to four values of one more axis."""
    axes = number_axes(dataset)
    if "line_length" not in axes or "line_length" in wanted or not _has_value(dataset, judged, "peak_tension"):
        return
    by = next((a for a in _SERIES_ORDER if a in axes and a not in wanted), "")
    part, verdict, notes = take_slice(dataset, judged, ("line_length", *((by,) if by else ())), wanted)
    places = _series(part, by) if by else {"": 0}
    series, verdicts = {}, []
    for label, place in places.items():
        cut = {by: place} if by else {}
        series[label] = part.isel(cut).assign_attrs(limits=judged.attrs["limits"])
        verdicts.append(verdict.isel(cut).compute())
    title = _titled("peak tension over line length", way)
    lead = "Values of completed cases only; symbols below zero: cases that did not complete."
    text = caption(dataset, _joined(verdicts), lead=(lead,), notes=notes)
    out.sheet(draw_line_length(series, title=title, caption=text), _named("tension_over_line_length", way), title)


def _bands(out: _Folder, dataset: xr.Dataset, judged: xr.Dataset, way: str, wanted: dict[str, Any]) -> None:
    """Write tables of the wind limit and of the smallest and largest pull and power that pass."""
    axes = number_axes(dataset)
    if "wind_speed" in axes and "wind_speed" not in wanted:
        keep = {"wind_speed", "wind_from", "bollard_pull", "displacement"}
        over = [str(d) for d in judged["passes"].dims if d not in keep]
        out.table(wind_limit_table(wind_limit(judged, over=over), judged), _named("wind_limit", way))
    for axis in ("bollard_pull", "power_setting"):
        if axis in axes and axis not in wanted:
            _, verdict, notes = take_slice(dataset, judged, (axis, "displacement", "wind_speed"), wanted)
            verdict = verdict.assign_attrs(slice="; ".join(notes))
            out.table(band_table(passing_band(verdict, axis), verdict.compute()), _named(f"{axis}_band", way))


def _pairs(out: _Folder, dataset: xr.Dataset, judged: xr.Dataset) -> None:
    ways = axis_values(dataset, "manoeuvre") if "manoeuvre" in dataset["outcome"].dims else []
    if not {"swing_push", "swing_pull"} <= set(ways):
        return
    pairs = pair_along(dataset, "manoeuvre", "swing_push", "swing_pull").compute()
    out.table(pairs_table(summarise_pairs(pairs), judged), "push_against_pull")
    title = "Push against pull: time to steady and swept radius"
    if {"time_to_steady_first", "swept_radius_all_first"} <= set(pairs.data_vars):
        text = caption(dataset, judged, lead=(_READ_PAIRS,))
        out.sheet(draw_pairs(pairs, title=title, caption=text), "push_against_pull_pairs", title)
