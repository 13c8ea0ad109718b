"""Tables of operability: what limits cost in time, box against joint (floor 5)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from toolkit.findings.display import display_text, display_unit, to_display
from toolkit.findings.operability.limit import NEVER, least_by_bearing
from toolkit.findings.operability.report import reading_lines
from toolkit.findings.operability.workable import RULES
from toolkit.findings.operability.years import LEAST_YEARS
from toolkit.findings.reading import cautions, directions, provenance
from toolkit.findings.table import Cell, Table

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.findings.operability.whole import Operability

__all__ = ["MONTHS", "basis_lines", "by_direction_table", "limit_words", "operability_table"]

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")  # fmt: skip


def limit_words(value: float) -> str:
    """Words for a wind limit [m s-1]: ``12 kn``, ``no wind, calm included`` or ``not known``."""
    if math.isnan(value):
        return "not known"
    return "no wind, calm included" if value == NEVER else display_text("wind_speed", value)


def basis_lines(found: Operability) -> tuple[str, ...]:
    """What an availability rests on, for notes and captions: limit, runs, gusts, forecast, box."""
    told = found.limit.attrs
    box = f"Box: wind at or below {limit_words(float(found.held.attrs['box_wind']))} from anywhere"
    current = float(found.held.attrs["box_current"])
    if math.isfinite(current):
        box += f", current at or below {display_text('current_speed', current)} (the box with the most time in it)"
    lines = [
        f"Limit: {told['title']}" + (f", {told['configuration']}" if "configuration" in told else ""),
        *([f"Holds for: {told['conditions']}"] if "conditions" in told else []),
        f"{box}. Joint: the limit at the bearing of the wind, the least of the two neighbouring bearings",
        *found.notes,
    ]
    if "limits_applied" in told:
        lines.append(f"Limits: {told['limits_applied']}")
    lines.append(f"Runs: {told['rests_on']}" if "rests_on" in told else "Runs: the limit was given as a table; what it "
                 "rests on is not known here")  # fmt: skip
    beyond = float(found.availability["share_beyond"])
    if beyond > 0:
        lines.append(f"{100 * beyond:.2f} % of the time counts as not workable only because nothing more was run "
                     "(stronger winds, stronger currents, other bearings)")  # fmt: skip
    return tuple(line.rstrip(".") + "." for line in lines)


def _notes(found: Operability, *extra: str) -> tuple[str, ...]:
    told = found.limit.attrs
    record = tuple(f"Record: {line.rstrip('.')}." for line in reading_lines(found.record))
    return (*extra, *basis_lines(found), *record, directions(told), provenance(told), cautions(told))


def operability_table(found: Operability) -> Table:
    """Availability, events, windows and years, for the box and the joint limit, and what the box gives away.

    Parameters
    ----------
    found : Operability
        From :func:`toolkit.findings.operability.operability`.
    """
    rows: list[tuple[Cell, ...]] = []

    def add(words: str, values: xr.DataArray, factor: float = 1.0) -> None:
        box, joint = (factor * float(values.sel(rule=rule)) for rule in RULES)
        rows.append((words, box, joint, joint - box))

    add("availability [% of time]", found.availability["share"], 100.0)
    for place, month in enumerate(MONTHS):
        by_month = found.availability["share_by_month"].isel(month=place)
        if not bool(by_month.isnull().all()):
            add(f"availability, {month} [% of time]", by_month, 100.0)
    extra = ["Given away: joint less box. Availability: share of the time in which the weather is known"]
    if found.events is None or found.single_events is None or found.windows is None or found.years is None:
        extra.append("Events, windows and P50 and P90 years are left out: a typical year is spliced of months of "
                     "several years, and has none")  # fmt: skip
    else:
        calm, job = float(found.events.attrs["calm_hours"]), float(found.windows.attrs["job_hours"])
        for name, words, factor in (
            ("count_a_year", "exceedance events a year", 1.0),
            ("mean_duration", "mean duration of an event [h]", 1.0),
            ("longest_duration", "longest event [h]", 1.0),
            ("mean_interval", "mean interval of events, start to start [h]", 1.0),
        ):
            add(words, found.single_events[name], factor)
        add(f"events a year, calms shorter than {calm:g} h dropped", found.events["count_a_year"])
        add("mean duration of such an event [h]", found.events["mean_duration"])
        add("conditional availability, such calms dropped [% of time]", found.events["conditional_availability"], 100.0)
        add(f"windows of {job:g} h or more a year", found.windows["count_a_year"])
        add("time in such windows [% of time]", found.windows["share_in_windows"], 100.0)
        add(f"times from which a job of {job:g} h can be done [% of time]", found.windows["share_of_starts"], 100.0)
        add("mean wait for a start [h]", found.windows["mean_wait"])
        add("wait that nine in ten do not exceed [h]", found.windows["wait_90"])
        whole = int(found.years["whole_years"])
        add("P50 year: half of the years reach [% of time]", found.years["p50"], 100.0)
        add("P90 year: nine in ten years reach [% of time]", found.years["p90"], 100.0)
        needed = "" if whole >= LEAST_YEARS else f"; a P50 and a P90 year need {LEAST_YEARS}"
        extra.append(f"Whole years of record: {whole}{needed}")
        if int(found.single_events["cut_count"].max()):
            extra.append(f"Up to {int(found.single_events['cut_count'].max())} events are cut by a gap or the end of "
                         "the record and count with what is known of them")  # fmt: skip
    return Table(
        title="Operability: what the limit costs in time",
        header=("what", "box", "joint", "given away by the box"),
        rows=tuple(rows),
        notes=_notes(found, *(f"{line}." for line in extra)),
    )


def by_direction_table(found: Operability) -> Table:
    """Limit, time and availability by the direction the wind comes from.

    Where the limit hangs on the current too, the limit told is the least over it.
    """
    least = least_by_bearing(found.limit)
    by = found.by_direction
    unit = display_unit("wind_speed")
    rows: list[tuple[Cell, ...]] = []
    for place, bearing in enumerate(by["wind_from"].values):
        here = by.isel(wind_from=place)
        box, joint = (100.0 * float(here["share"].sel(rule=rule)) for rule in RULES)
        limit = float(least[place])
        speed: Cell = float(to_display("wind_speed", limit)) if math.isfinite(limit) else limit_words(limit)
        mean = float(to_display("wind_speed", here["mean_wind"].item()))
        rows.append((f"{bearing:03.0f}", 100.0 * float(here["share_of_time"]), mean, speed, box, joint, joint - box))
    without = 100.0 * float(by["share_without_direction"])
    return Table(
        title="Operability by the direction the wind comes from",
        header=("wind from [deg]", "share of time [%]", f"mean wind [{unit}]", f"limit [{unit}]", "available, box [%]",
                "available, joint [%]", "given away by the box [%]"),
        rows=tuple(rows),
        notes=_notes(found, f"Calms and winds without a bearing, {without:.1f} % of the time, belong to no direction. "
                     "Each time belongs to the nearest bearing; the joint limit between two bearings is the lesser."),
    )  # fmt: skip
