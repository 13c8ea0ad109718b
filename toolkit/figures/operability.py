"""Operability drawn: exceedance with the limits marked, months, hours, windows and years (floor 6)."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.folder import Folder
from toolkit.figures.style import (
    CAUTION,
    COLOUR_MAP,
    DIRECTION_NOTE,
    Sheet,
    drawing,
    nothing_to_draw,
    sheet,
    text_width,
)
from toolkit.findings.display import axis_label, display_unit, to_display
from toolkit.findings.operability.climate import exceedance
from toolkit.findings.operability.limit import NEVER, least_by_bearing
from toolkit.findings.operability.report import reading_lines, reading_table, record_words
from toolkit.findings.operability.tables import MONTHS, basis_lines, by_direction_table, operability_table
from toolkit.findings.operability.workable import RULES
from toolkit.findings.operability.years import LEAST_YEARS
from toolkit.findings.reading import cautions, directions, provenance

if TYPE_CHECKING:
    from toolkit.findings.operability.whole import Operability

__all__ = ["draw_exceedance", "draw_hours", "draw_months", "draw_operability", "draw_windows"]

_STYLES: dict[str, dict[str, Any]] = {
    "box": {"color": "#8a7400", "linestyle": (0, (6, 2)), "marker": "s", "markersize": 6.0, "markerfacecolor": "white"},
    "joint": {"color": "#00224e", "linestyle": "-", "marker": "o", "markersize": 3.5},
}
_BARS: dict[str, dict[str, Any]] = {
    "box": {"facecolor": "#e3d9a8", "edgecolor": "#4d4300", "hatch": "////"},
    "joint": {"facecolor": "#00224e", "edgecolor": "#00224e"},
}
_NAMES = {"box": "box: one limit for all directions", "joint": "joint: limit by direction"}
_MOST_LINES = 6
_CLOSE = 0.025
"""Part of the axis by which two marks must be apart to have a label each."""

_SMALL = 6.2
"""Size of the words at the limits [points]."""
_AXIS = 230.0
"""Height of an axis, about [points]: it is laid out only as it is saved."""

_LEAST_SHARE = 1e-4
_POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")


def draw_operability(found: Operability, folder: str | Path) -> list[Path]:
    """Write every figure and table of an operability into a folder, with an index.

    Parameters
    ----------
    found : Operability
        From :func:`toolkit.findings.operability.operability`.
    folder : path
        Where to write; made if it is not there, files of the same name replaced.

    Returns
    -------
    list of pathlib.Path
        ``wind_exceedance``, ``availability_by_month``, ``availability_by_hour``
        and ``windows_and_years`` (PNG and SVG); ``operability``,
        ``operability_by_direction`` and ``record_reading`` (CSV and Markdown);
        ``index.md``. A typical year has no ``windows_and_years``; the index says why.
    """
    out = Folder(path=Path(folder))
    out.sheet(draw_exceedance(found), "wind_exceedance", "Time with more wind than a speed, and the limits")
    out.sheet(draw_months(found), "availability_by_month", "Availability by month, box against joint")
    out.sheet(draw_hours(found), "availability_by_hour", "Availability by hour of day and month, joint limit")
    if found.windows is None:
        out.left_out.append("windows, events, P50 and P90 years: a typical year is spliced of months of several years")
    else:
        out.sheet(draw_windows(found), "windows_and_years", "Starts that leave time for the job, and year by year")
    out.table(operability_table(found), "operability")
    out.table(by_direction_table(found), "operability_by_direction")
    out.table(reading_table(found.record), "record_reading")
    told = found.limit.attrs
    lines = (*basis_lines(found), *(f"Record: {line}." for line in reading_lines(found.record)), directions(told),
             provenance(told), cautions(told))  # fmt: skip
    out.index(f"Operability: {record_words(found.record)}", lines)
    return out.paths


def _caption(found: Operability, *lead: str) -> tuple[str, ...]:
    held = found.held
    known, steps = int(found.availability["known_steps"]), held.sizes["time"]
    share = 100 * known / steps if steps else 0.0
    record = (
        f"Record: {record_words(found.record)}; {known:,} of {steps:,} steps of {float(held.attrs['step_hours']):g} h "
        f"known ({share:.1f} %), gaps not filled."
    )
    return (" ".join(lead), record, *basis_lines(found), f"{DIRECTION_NOTE}. {provenance(found.limit.attrs)}", CAUTION)


def _percent(found: Operability, rule: str) -> float:
    return 100.0 * float(found.availability["share"].sel(rule=rule))


def draw_exceedance(found: Operability) -> Sheet:
    """Draw the share of time with more wind than a speed, with the box and the limits by direction marked.

    The level at which the joint limit stops work meets the curve at the single
    limit that would stop it as often.
    """
    current = ", at the worst current run" if found.limit["limit"].ndim > 1 else ""
    lead = ("The curve tells how much of the time has more wind than a speed. Upright lines: wind limits, with the "
            f"directions they are for{current}. Level lines: time in which the limits stop work; where the joint one "
            "meets the curve is the one limit that would stop work as often.")  # fmt: skip
    with drawing():
        made = sheet("Wind exceedance and the limits", _caption(found, lead))
        ax: Any = made.panel.subplots()
        wind = found.held["wind_speed"].values[found.held["known"].values]
        if not wind.size:
            nothing_to_draw(ax, "No wind is known in the record.")
            return made
        speeds = np.linspace(0.0, float(wind.max()), 240)
        known = found.held[["wind_speed"]].where(found.held["known"]).assign_attrs(found.record.attrs)
        shares = exceedance(known, speeds).values
        seen = shares >= max(_LEAST_SHARE, 1.0 / wind.size)
        edge = float(to_display("wind_speed", wind.max())) or 1.0
        ax.plot(to_display("wind_speed", speeds[seen]), 100 * shares[seen], color="black", linewidth=2.0,
                label="record, all directions")  # fmt: skip
        ax.set_yscale("log")
        low = 100 * max(float(shares[seen].min()), _LEAST_SHARE) if seen.any() else 1.0
        ticks = [t for t in (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100) if t >= 0.7 * low]
        ax.set_yticks(ticks, [f"{t:g}" for t in ticks])
        ax.minorticks_off()
        ax.set_ylim(min(0.7 * low, ticks[0]), 130.0)
        for rule in RULES:
            stopped = 100.0 - _percent(found, rule)
            if stopped > 0:
                ax.axhline(stopped, linewidth=1.1, color=_STYLES[rule]["color"], linestyle=_STYLES[rule]["linestyle"],
                           label=f"{rule}: stops work {stopped:.1f} % of the time")  # fmt: skip
        _limit_lines(ax, found, edge)
        ax.set_xlim(0.0, 1.02 * max(edge, 1.0))
        ax.set_xlabel(axis_label("wind_speed"))
        ax.set_ylabel("time with more wind [%]")
        ax.grid(linewidth=0.3, color="#bbbbbb")
        entries = ax.get_legend_handles_labels()
        made.panel.legend(*entries, loc="outside lower center", ncols=3 if len(entries[1]) < 4 else 2, handlelength=3.0)
    return made


def _limit_lines(ax: Any, found: Operability, edge: float) -> None:
    """Upright lines at the limits by direction, each with its bearings; a band where they are too many or too close."""
    least, bearings = least_by_bearing(found.limit), found.limit["limit"]["wind_from"].values
    distinct = np.unique(np.round(least[np.isfinite(least)], 6))
    speeds = to_display("wind_speed", distinct)
    crowded = distinct.size > _MOST_LINES or bool((np.diff(speeds) < _CLOSE * edge).any())
    never = [float(b) for b, limit in zip(bearings, least, strict=True) if limit == NEVER]
    current = ", at the worst current run" if found.limit["limit"].ndim > 1 else ""
    words = [f"no wind passes, calm included{current}: {_points(never, bearings.size)}"] if never else []
    if speeds.size and speeds[0] > edge:
        words.append(
            f"no wind of the record reaches a limit; the least is {speeds[0]:.3g} {display_unit('wind_speed')}"
        )
    ax.text(0.985, 0.80, "\n".join(words), transform=ax.transAxes, fontsize=6.5, ha="right", va="top")
    if crowded:
        label = f"limits by direction: {speeds[0]:.3g} to {speeds[-1]:.3g} {display_unit('wind_speed')}"
        ax.axvspan(min(speeds[0], edge), min(speeds[-1], edge), color="#d9d9d9", linewidth=0, zorder=0, label=label)
        distinct, speeds = distinct[: not never], speeds[: not never]
    for place, (value, speed) in enumerate(zip(distinct, speeds, strict=True)):
        is_box = place == 0 and not never
        ax.axvline(speed, color=_STYLES["box"]["color"] if is_box else "#555555", linewidth=1.4 if is_box else 0.8,
                   linestyle=_STYLES["box"]["linestyle"] if is_box else (0, (1, 1.5)))  # fmt: skip
        here = [float(b) for b, limit in zip(bearings, least, strict=True) if np.isclose(limit, value, rtol=1e-5)]
        text = f"{'box, ' if is_box else ''}{speed:.3g} {display_unit('wind_speed')}"
        if not crowded:
            text += f": {_points(here, bearings.size)}"
        if speed <= edge:
            side = "right" if speed > 0.05 * edge else "left"
            ax.annotate(
                text,
                (speed, _clear_of_curve(ax, speed, text)),
                xycoords=ax.get_xaxis_transform(),
                textcoords="offset points",
                xytext=(-3.0 if side == "right" else 3.0, 0.0),
                fontsize=_SMALL,
                rotation=90,
                va="bottom",
                ha=side,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
            )


def _clear_of_curve(ax: Any, speed: float, text: str) -> float:
    """Height, as a part of the axis, at which an upright text at a speed begins: at the foot, or above the curve."""
    long = text_width(text, _SMALL) / _AXIS
    speeds, shares = ax.lines[0].get_data()
    if not len(speeds):
        return 0.03
    low, high = np.log(ax.get_ylim())
    at = float((np.log(np.interp(speed, speeds, shares)) - low) / (high - low))
    return 0.03 if 0.03 + long + _CLOSE < at else min(at + 2.0 * _CLOSE, max(1.0 - long, 0.03))


def _points(bearings: list[float], of: int) -> str:
    """Bearings as points of the compass where they are some, in degrees otherwise."""
    if len(bearings) == of:
        return "all directions"
    on = [np.isclose(b / 22.5, round(b / 22.5), atol=1e-6) for b in bearings]
    return " ".join(_POINTS[round(b / 22.5) % 16] for b in bearings) if all(on) else " ".join(
        f"{b:03.0f}" for b in bearings
    )  # fmt: skip


def draw_months(found: Operability) -> Sheet:
    """Draw availability by month for both ways to hold the limit, and the starts that leave time for the job."""
    lead = "Bars: share of the known time of the month in which the limit is kept; lines across: the whole record."
    starts = found.windows["share_of_starts_by_month"] if found.windows is not None else None
    if found.windows is not None:
        lead += (" Diamonds: share of the times from which a job of "
                 f"{float(found.windows.attrs['job_hours']):g} h can be done, joint limit.")  # fmt: skip
    with drawing():
        made = sheet("Availability by month", _caption(found, lead))
        ax: Any = made.panel.subplots()
        shares = 100.0 * found.availability["share_by_month"]
        if bool(shares.isnull().all()):
            nothing_to_draw(ax, "No wind is known in the record.")
            return made
        places = np.arange(12)
        for number, rule in enumerate(RULES):
            height = np.nan_to_num(shares.sel(rule=rule).values)
            ax.bar(places + 0.4 * (number - 0.5), height, width=0.38, linewidth=0.6, label=_NAMES[rule], **_BARS[rule])
            level, line = _percent(found, rule), {key: _STYLES[rule][key] for key in ("color", "linestyle")}
            ax.axhline(level, linewidth=0.9, zorder=0, label=f"{rule}, whole record: {level:.1f} %", **line)
        if starts is not None:
            ax.plot(places + 0.2, 100.0 * starts.sel(rule="joint").values, linestyle="none", marker="D", markersize=4,
                    color="#d98b3a", markeredgecolor="white", markeredgewidth=0.6, clip_on=False, zorder=3,
                    label="joint: starts that leave time for the job")  # fmt: skip
        for place in np.flatnonzero(shares.isnull().all("rule").values):
            ax.text(place, 2.0, "no record", rotation=90, ha="center", va="bottom", fontsize=6.5)
        ax.set_xticks(places, [month[:3] for month in MONTHS])
        ax.set_ylim(0.0, 103.0)
        ax.set_ylabel("available [% of time]")
        ax.grid(axis="y", linewidth=0.3, color="#bbbbbb")
        ax.set_axisbelow(True)
        made.panel.legend(loc="outside lower center", ncols=2, handlelength=3.0)
    return made


def draw_hours(found: Operability) -> Sheet:
    """Draw availability under the joint limit by hour of day and month, each cell with its number."""
    zone = str(found.record.attrs["hours_zone"])
    hours = f"hour of day, {zone}" if zone else "hour of day, as the file has it"
    lead = "Share of the known time in which the joint limit is kept [%]; a cell is the hour that begins at its number."
    with drawing():
        made = sheet("Availability by hour of day and month, joint limit", _caption(found, lead))
        ax: Any = made.panel.subplots()
        shares = 100.0 * found.availability["share_by_month_and_hour"].sel(rule="joint").values
        if np.isnan(shares).all():
            nothing_to_draw(ax, "No wind is known in the record.")
            return made
        low, high = float(np.nanmin(shares)), float(np.nanmax(shares))
        low, high = (max(low - 1.0, 0.0), min(high + 1.0, 100.0)) if high - low < 1e-9 else (low, high)
        ax.set_facecolor("#e4e4e4")
        image = ax.pcolormesh(np.arange(25), np.arange(13), np.ma.masked_invalid(shares), cmap=COLOUR_MAP, vmin=low,
                              vmax=high, edgecolor="white", linewidth=0.3)  # fmt: skip
        for month, hour in zip(*np.nonzero(~np.isnan(shares)), strict=True):
            value = shares[month, hour]
            dark = (value - low) / (high - low) < 0.5
            ax.text(hour + 0.5, month + 0.5, f"{value:.0f}", ha="center", va="center", fontsize=4.8,
                    color="white" if dark else "black")  # fmt: skip
        ax.set_xticks(np.arange(0, 24, 3) + 0.5, [f"{hour:02d}" for hour in range(0, 24, 3)])
        ax.set_yticks(np.arange(12) + 0.5, [month[:3] for month in MONTHS])
        ax.invert_yaxis()
        ax.set_xlabel(hours)
        made.panel.colorbar(image, ax=ax, label="available [% of time]", fraction=0.04, pad=0.02)
    return made


def draw_windows(found: Operability) -> Sheet:
    """Draw the starts that leave time for a job over its length, and availability year by year.

    Only for a record that is no typical year.
    """
    assert found.windows is not None and found.years is not None
    job = float(found.windows.attrs["job_hours"])
    lead = (f"Left: share of the times from which a job of a length can be done to its end; upright line: {job:g} h. "
            "Right: share of the known time of each whole year; lines: P50 and P90 year, which half and nine in ten of "
            "the years reach.")  # fmt: skip
    with drawing():
        made = sheet("Workable windows, and year by year", _caption(found, lead))
        if not int(found.availability["known_steps"]):
            nothing_to_draw(made.panel.subplots(), "No wind is known in the record.")
            return made
        left, right = made.panel.subplots(1, 2)
        for rule in RULES:
            shares = 100.0 * found.windows["share_of_starts_by_length"].sel(rule=rule)
            left.plot(found.windows["length"].values, shares.values, label=_NAMES[rule], **_STYLES[rule])
        left.axvline(job, color="black", linewidth=0.8, linestyle=(0, (1, 1.5)))
        left.set_xscale("log")
        ticks = [1, 2, 4, 8, 12, 24, 48]
        left.set_xticks(ticks, [str(tick) for tick in ticks])
        left.minorticks_off()
        left.set_ylim(-3.0, 103.0)
        left.set_xlabel("length of the job [h]")
        left.set_ylabel("starts that leave time for it [%]")
        left.grid(linewidth=0.3, color="#bbbbbb")
        _draw_years(right, found)
        handles, labels = left.get_legend_handles_labels()
        made.panel.legend(handles, labels, loc="outside lower center", ncols=2, handlelength=3.0)
    return made


def _draw_years(ax: Any, found: Operability) -> None:
    assert found.years is not None
    whole = found.years.isel(year=np.flatnonzero(found.years["whole"].values))
    if not whole.sizes["year"]:
        nothing_to_draw(ax, "No year of the record is whole.")
        return
    years = whole["year"].values
    marks: list[tuple[float, str]] = []
    for rule in RULES:
        style = _STYLES[rule]
        ax.plot(years, 100.0 * whole["share"].sel(rule=rule).values, **{**style, "linestyle": "none"})
        for level, dashes in (("p50", "-"), ("p90", (0, (1, 1.5)))):
            value = 100.0 * float(whole[level].sel(rule=rule))
            if np.isfinite(value):
                ax.axhline(value, color=style["color"], linestyle=dashes, linewidth=0.9)
                marks.append((value, f"{rule} {level.upper()} {value:.1f}"))
    if int(found.years["whole_years"]) < LEAST_YEARS:
        ax.set_title(f"P50 and P90 need {LEAST_YEARS} whole years", fontsize=7.0)
    shown = whole["share"].values * 100.0
    room = max(3.0, 0.35 * float(np.nanmax(shown) - np.nanmin(shown)))
    top = min(float(np.nanmax(shown)) + room, 101.0)
    ax.set_ylim(max(float(np.nanmin(shown)) - room, -0.04 * top), top)
    ax.set_yticks([tick for tick in ax.get_yticks() if -1e-9 <= tick <= 100.0 + 1e-9])
    low, high = ax.get_ylim()
    above = low
    for value, text in sorted(marks):
        above = max(value, above + 0.035 * (high - low))
        ax.text(1.01, above, text, transform=ax.get_yaxis_transform(), fontsize=5.8, va="center")
    every = max(1, -(-years.size // 6))
    ax.set_xticks(years[::every], [str(year) for year in years[::every]])
    ax.set_xlabel("year of the record" + (" (invented)" if found.record.attrs["kind"] == "invented" else ""))
    ax.set_ylabel("available [% of time]")
    ax.grid(axis="y", linewidth=0.3, color="#bbbbbb")
