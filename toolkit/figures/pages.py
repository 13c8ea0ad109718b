"""Figures and tables of one configuration: which axes each shows, and where the others are cut (floor 6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.configurations import Configuration
from toolkit.figures.contours import Panel, draw_field
from toolkit.figures.folder import Folder
from toolkit.figures.line_length import draw_line_length
from toolkit.figures.polar import draw_polar
from toolkit.figures.power import draw_power
from toolkit.figures.view import caption, master_note, number_axes, take_slice
from toolkit.figures.wind_current import draw_wind_current
from toolkit.findings import passing_band, share_of_runs, wind_limit
from toolkit.findings.conditions import facts_of_results
from toolkit.findings.display import display_text, long_name
from toolkit.findings.reading import axis_values
from toolkit.findings.tables import band_table, wind_limit_table
from toolkit.findings.worst import VALUED, valued_cases
from toolkit.quantities import FACTS
from toolkit.quantities.manoeuvres import JOB

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "FIELDS", "LINE_FIELDS", "draw_configuration", "draw_polar_page", "draw_power_page", "draw_wind_current_page",
]  # fmt: skip

FIELDS = tuple(dict.fromkeys((*(name for facts in FACTS.values() for name in facts.figures), *JOB.figures)))
"""Outcomes that are drawn over two axes, of one manoeuvre or another."""

LINE_FIELDS = ("peak_tension", "peak_tension_3s", "tension_over_mbl", "tension_over_swl")
"""Outcomes drawn over line length."""

_PLANE_ORDER = (
    "bollard_pull", "displacement", "power_setting", "line_length", "wind_speed", "current_speed", "water_depth",
)  # fmt: skip
_POLAR_ORDER = ("displacement", "bollard_pull", "power_setting")
_CURRENT_ORDER = ("water_depth", "displacement", "bollard_pull")
_SERIES_ORDER = ("power_setting", "bollard_pull", "displacement", "wind_speed")
_MOST_PANELS = 6
_MOST_SERIES = 4

_READ_CELLS = (
    "Cells of a sparse grid are of one size and carry their value; dense grids are contoured. Hatching: the limit with "
    "the largest utilisation in a cell that does not pass; symbols: cases that did not complete."
)
_READ_WORST = "A value is the worst of the {} directions; below a symbol, how many of them did not complete."
_READ_POLAR = (
    "Each sector reaches to the last grid speed at which it and all smaller speeds pass; nothing is read between grid "
    "speeds. The ring in the middle is calm. Grey hatching: no direction was run there, which says nothing about it."
)
_READ_CURRENT = (
    "Each mark is the last grid speed of the wind at which it and all smaller speeds pass; lines only join the marks, "
    "which stand a little aside of each other so that all can be seen."
)
_READ_POWER = (
    "Left: share of all cases run with this power setting that pass. Right: why the others do not, by the limit with "
    "the largest utilisation or by how they ended."
)
_READ_LINES = "Values of completed cases only; symbols below zero: cases that did not complete."


def draw_configuration(out: Folder, part: Configuration, at: Mapping[str, Any]) -> None:
    """Draw all that the axes of one configuration allow.

    Parameters
    ----------
    out : Folder
        Where to write.
    part : Configuration
        The cases.
    at : mapping
        Values [dataset units] or words at which axes are cut.
    """
    _fields(out, part, at)
    if part.dataset["outcome"].size and "case" not in part.dataset["outcome"].dims:
        for draw in (draw_polar_page, draw_wind_current_page, draw_power_page, _lines, _bands):
            draw(out, part, at)


def _free(part: Configuration, at: Mapping[str, Any]) -> tuple[str, ...]:
    """Axes of numbers that are not cut by the caller."""
    return tuple(axis for axis in number_axes(part.dataset) if axis not in at)


def _first_of(order: Sequence[str], axes: Sequence[str]) -> tuple[str, ...]:
    """The first name of an order that is among the axes, or none."""
    return tuple(name for name in order if name in axes)[:1]


def _spread(dataset: xr.Dataset, axis: Sequence[str], most: int) -> dict[str, dict[str, int]]:
    """Places spread over an axis, by label; one place with no label where there is no axis."""
    if not axis:
        return {"": {}}
    (name,) = axis
    size = dataset.sizes[name]
    places = np.unique(np.linspace(0, size - 1, min(most, size)).round().astype(int))
    values = axis_values(dataset, name)
    return {f"{long_name(name)} {display_text(name, values[p])}": {name: int(p)} for p in places}


def _has_value(part: Configuration, name: str) -> bool:
    """Whether any case has a value that says something."""
    if name not in part.dataset.data_vars:
        return False
    valued = part.dataset.assign_attrs({VALUED: " ".join(facts_of_results(part.dataset).valued_though_failed)})
    return bool((part.dataset[name].notnull() & valued_cases(valued, part.judged, name)).any())


def _together(parts: Sequence[xr.Dataset]) -> xr.Dataset:
    """Judgements of several slices as one, so that the cases drawn can be counted."""
    import xarray as xr

    plain = [one.drop_vars([c for c in one.coords if c not in one.dims]) for one in parts]
    return xr.concat(plain, dim="panel") if len(plain) > 1 else plain[0]


def _winds(part: Configuration, axes: Sequence[str], at: Mapping[str, Any]) -> dict[float, str]:
    """Two wind speeds to draw, and why: the lowest, and the highest at which anything drawn still passes."""
    speeds = sorted(axis_values(part.dataset, "wind_speed"))
    passing = take_slice(part.dataset, part.judged, (*axes, "wind_speed"), at).judged["passes"]
    some = passing.any([d for d in passing.dims if d != "wind_speed"]).sortby("wind_speed").values
    last = int(np.nonzero(some)[0].max()) if some.any() else -1
    if last == len(speeds) - 1:
        return {speeds[0]: "lowest", speeds[-1]: "highest run"}
    if last > 0:
        return {speeds[0]: "lowest", speeds[last]: "highest at which any of these passes"}
    return {speeds[0]: "lowest", speeds[1]: "next; none of these passes"}


def _fields(out: Folder, part: Configuration, at: Mapping[str, Any]) -> None:
    """Draw outcomes over two axes, in calm and in wind where wind is swept."""
    sampled = part.dataset["outcome"].dims == ("case",)
    free = _free(part, at)
    if sampled:
        free = tuple(n for n in _PLANE_ORDER if n in part.dataset.coords and part.dataset[n].dims == ("case",))
    axes = tuple([*(a for a in _PLANE_ORDER if a in free), *(a for a in free if a not in _PLANE_ORDER)][:2])
    winds: dict[float, str] = {}
    if not sampled and part.dataset["outcome"].size and "wind_speed" in free and "wind_speed" not in axes:
        winds = _winds(part, axes, at)
    fields = facts_of_results(part.dataset).figures
    slices = [
        take_slice(part.dataset, part.judged, axes, {**at, **cut}, names=fields)
        for cut in ([{"wind_speed": speed} for speed in winds] or [{}])
    ]
    panels = []
    for one, speed in zip(slices, winds or (None,), strict=True):
        count = f"{int(one.judged['passes'].sum())} of {one.judged['passes'].size} pass"
        words = "" if speed is None else f"wind {display_text('wind_speed', speed)}: {count}"
        panels.append(Panel(dataset=one.dataset, judged=one.judged, title=words, behind=one.behind))
    notes = slices[0].notes
    if winds:
        told = " and ".join(f"{display_text('wind_speed', speed)} ({why})" for speed, why in winds.items())
        notes = tuple(f"wind speed {told}" if n.startswith("wind speed") else n for n in notes)
    lead = [_READ_CELLS] if len(axes) == 2 and not sampled else []
    if slices[0].behind > 1:
        lead.append(_READ_WORST.format(slices[0].behind))
    lead.extend(master_note(one.judged for one in slices))
    text = caption(part.dataset, _together([one.cases for one in slices]), lead=lead, notes=notes)
    over = " over " + " and ".join(long_name(a) for a in axes) if axes else ""
    for name in fields:
        # the first, which says how well it went, is always drawn: it also shows where nothing completed
        if name == fields[0] or _has_value(part, name):
            title = part.titled(f"{long_name(name)}{over}")
            out.sheet(draw_field(panels, name, axes, title=title, caption=text), part.named(name), title)


def draw_polar_page(out: Folder, part: Configuration, at: Mapping[str, Any]) -> None:
    """Draw the wind limit by direction, a polar for each barge, tug or power; parameters as for `draw_configuration`.

    Nothing is drawn where wind and its direction are not both swept.
    """
    if "wind_from" not in part.dataset["outcome"].dims or "wind_speed" not in _free(part, at) or "wind_from" in at:
        return
    by = _first_of(_POLAR_ORDER, _free(part, at))
    cut = take_slice(part.dataset, part.judged, ("wind_from", "wind_speed", *by), at)
    places = _spread(part.dataset, by, _MOST_PANELS)
    title = part.titled("wind limit by the direction wind comes from" + "".join(f", by {long_name(b)}" for b in by))
    text = caption(part.dataset, _together([cut.cases.isel(p) for p in places.values()]), lead=(_READ_POLAR,),
                   notes=cut.notes)  # fmt: skip
    found = {label: wind_limit(cut.judged.isel(place)) for label, place in places.items()}
    top = max(axis_values(part.dataset, "wind_speed"))
    out.sheet(draw_polar(found, top=top, title=title, caption=text), part.named("wind_limit_polar"), title)


def draw_wind_current_page(out: Folder, part: Configuration, at: Mapping[str, Any]) -> None:
    """Draw the wind limit over current speed, a line for each depth or barge; parameters as for `draw_configuration`.

    Nothing is drawn where wind and current are not both swept.
    """
    free = _free(part, at)
    if not {"wind_speed", "current_speed"} <= set(free):
        return
    by = _first_of(_CURRENT_ORDER, free)
    cut = take_slice(part.dataset, part.judged, ("wind_speed", "current_speed", *by), at)
    places = _spread(part.dataset, by, _MOST_PANELS)
    title = part.titled("wind limit over current speed" + "".join(f", by {long_name(b)}" for b in by))
    text = caption(part.dataset, _together([cut.cases.isel(p) for p in places.values()]), lead=(_READ_CURRENT,),
                   notes=cut.notes)  # fmt: skip
    found = {label: wind_limit(cut.judged.isel(place)) for label, place in places.items()}
    top = max(axis_values(part.dataset, "wind_speed"))
    out.sheet(
        draw_wind_current(found, top=top, title=title, caption=text), part.named("wind_limit_over_current"), title
    )


def draw_power_page(out: Folder, part: Configuration, at: Mapping[str, Any]) -> None:
    """Draw the share that passes over power setting, of all cases and by displacement.

    Parameters as for `draw_configuration`; nothing is drawn where power is not swept.
    """
    free = _free(part, at)
    if "power_setting" not in free:
        return
    by = _first_of(("displacement", "bollard_pull"), free)
    whole = share_of_runs(part.judged, keep=("power_setting",))
    parts = {
        label: share_of_runs(part.judged.isel(place), keep=("power_setting",))
        for label, place in _spread(part.dataset, by, _MOST_SERIES).items()
        if place
    }
    title = part.titled("share of cases that pass over power setting")
    text = caption(part.dataset, part.judged, lead=(_READ_POWER,))
    out.sheet(draw_power(whole, parts, title=title, caption=text), part.named("passing_over_power"), title)


def _lines(out: Folder, part: Configuration, at: Mapping[str, Any]) -> None:
    """Draw tension over line length, a line for up to four values of one more axis."""
    free = _free(part, at)
    if "line_length" not in free or not _has_value(part, "peak_tension"):
        return
    by = _first_of(_SERIES_ORDER, free)
    cut = take_slice(part.dataset, part.judged, ("line_length", *by), at, names=LINE_FIELDS)
    places = _spread(part.dataset, by, _MOST_SERIES)
    limits = part.judged.attrs["limits"]
    series = {label: cut.dataset.isel(place).assign_attrs(limits=limits) for label, place in places.items()}
    title = part.titled("peak tension over line length")
    lead = (_READ_LINES, *master_note(series.values()))
    text = caption(part.dataset, _together([cut.cases.isel(p) for p in places.values()]), lead=lead, notes=cut.notes)
    out.sheet(draw_line_length(series, title=title, caption=text), part.named("tension_over_line_length"), title)


def _bands(out: Folder, part: Configuration, at: Mapping[str, Any]) -> None:
    """Write tables of the wind limit and of the smallest and largest pull and power that pass."""
    free, judged = _free(part, at), part.judged
    if "wind_speed" in free:
        keep = {"wind_speed", "wind_from", "bollard_pull", "displacement"}
        over = [str(d) for d in judged["passes"].dims if d not in keep]
        table = wind_limit_table(wind_limit(judged, over=over), judged)
        out.table(table, part.named("wind_limit"), part.titled(table.title))
    for axis in ("bollard_pull", "power_setting"):
        if axis in free:
            cut = take_slice(part.dataset, judged, (axis, "displacement", "wind_speed"), at)
            verdict = cut.judged.assign_attrs(slice="; ".join(cut.notes))
            table = band_table(passing_band(verdict, axis), cut.cases)
            out.table(table, part.named(f"{axis}_band"), part.titled(table.title))
