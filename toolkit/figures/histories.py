"""Stacked histories of one case: turn, heel, line, contact, drives, with phases and events marked (floor 6)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.levels import (
    LEAST_LOAD,
    LEAST_TURN,
    Level,
    contact_levels,
    heel_levels,
    on_scale,
    target_levels,
    tension_levels,
)
from toolkit.figures.reading_history import bears, channel, events_of, history_caption, number, phase_spans
from toolkit.figures.style import Sheet, drawing, nothing_to_draw, series_style, sheet, text_width
from toolkit.findings.limits import limits_of
from toolkit.quantities.channels import CHANNELS
from toolkit.quantities.units import to_user_unit, user_label

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_histories"]

STRIP_POINTS = 5.5
STRIP_WIDTH = 250.0
"""Width of the strip of phases [points], a little less than the layout leaves for it."""

STRIP_LEVEL, STRIP_UPRIGHT = 5.5, 13.5
"""Height of the strip with level and with upright words [mm]; the longest name of a phase stands upright."""

_PHASE_SHADES = {
    "take weight": "#8f8f8f",
    "accelerate": "#d9d9d9",
    "hold": "#f4f4f4",
    "shift": "#b0b0b0",
    "check": "#d9d9d9",
    "steady": "#ffffff",
}


def draw_histories(history: xr.Dataset, *, limits: object | None = None) -> Sheet:
    """Draw the time histories of one case, one below the other.

    Parameters
    ----------
    history : xarray.Dataset
        Channels along ``time``, facts as attributes or scalar variables.
    limits : mapping or dataclass, optional
        Drawn as lines; by default those of the attribute ``limits``.

    Returns
    -------
    Sheet
        Ready to be saved. Of line tension and contact force, what the case has
        is drawn; both where it has neither.
    """
    spans = phase_spans(history)
    lead = (
        f"Strip on top: phases{'' if spans else ', not recorded'}. Upright lines: events. Drawn every half second: a "
        "peak between is in the numbers below, not in the curves."
    )
    pulls, pushes = bears(history, "line_tension"), bears(history, "contact_force")
    drawers = [_turn, _heel]
    if pulls or not pushes:
        drawers.append(_tension)
    if pushes or not pulls:
        drawers.append(_contact)
    drawers.extend((_thrust, _azimuth))
    with drawing():
        whole = max(spans[-1][1] - spans[0][0], 1.0) if spans else 1.0
        placed = [place_words(words, STRIP_WIDTH * (end - start) / whole) for start, end, words in spans]
        strip = STRIP_UPRIGHT if any(upright for _, upright in placed) else STRIP_LEVEL
        height = 36.0 + strip + 27.0 * len(drawers)
        made = sheet("History of one case", history_caption(history, lead, limits), height_mm=height)
        if not history.sizes.get("time", 0):
            nothing_to_draw(made.panel.subplots(), "The history holds no time.")
            return made
        ratios = [strip / 27.0, *([1.0] * len(drawers))]
        axes = made.panel.subplots(len(drawers) + 1, 1, sharex=True, height_ratios=ratios)
        made.panel.align_ylabels(axes)
        time = channel(history, "time") / 60.0
        span = max(float(time[-1] - time[0]), 1.0 / 60.0)
        axes[-1].set_xlim(float(time[0]), float(time[0]) + span)
        keys = _phase_strip(axes[0], axes[1:], spans, placed)
        in_force = limits_of(history, limits)
        for ax, draw in zip(axes[1:], drawers, strict=True):
            draw(ax, time, history, in_force)
            ax.grid(axis="y", linewidth=0.3, color="#bbbbbb")
            ax.legend(loc="upper left", bbox_to_anchor=(1.1, 1.05), borderaxespad=0.0, fontsize=6.0, handlelength=2.0)
        axes[-1].set_xlabel("time [min]")
        handles = {**_events(axes[1:], history), **keys}
        if handles:
            made.panel.legend(list(handles.values()), list(handles), loc="outside lower center", ncols=3, fontsize=6.5)
    return made


def place_words(words: str, width: float) -> tuple[str, bool]:
    """Words of a phase as they fit into its part of the strip.

    Parameters
    ----------
    words : str
        Name of the phase.
    width : float
        Width of its part [points].

    Returns
    -------
    tuple of (str, bool)
        The words, in two lines where that helps, and whether they stand
        upright; no words where not even that fits.
    """
    for text in (words, words.replace(" ", "\n")):
        if max(text_width(line, STRIP_POINTS) for line in text.split("\n")) + 3.0 <= width:
            return text, False
    return (words, True) if width >= STRIP_POINTS * 1.1 else ("", False)


def _phase_strip(
    strip: Any, others: Any, spans: list[tuple[float, float, str]], placed: list[tuple[str, bool]]
) -> dict[str, Any]:
    """Draw the strip of phases; returns keys for those whose words fit nowhere."""
    from matplotlib.patches import Patch

    strip.set_yticks([])
    strip.tick_params(bottom=False)
    strip.set_ylim(0, 1)
    for (start, end, words), (text, upright) in zip(spans, placed, strict=True):
        shade = _PHASE_SHADES.get(words, "#ffffff")
        strip.axvspan(start / 60.0, end / 60.0, facecolor=shade, edgecolor="#666666", linewidth=0.3)
        for ax in others:
            ax.axvline(start / 60.0, color="#bbbbbb", linewidth=0.5, zorder=0)
        if text:
            strip.text((start + end) / 120.0, 0.5, text, ha="center", va="center", fontsize=STRIP_POINTS,
                       linespacing=0.9, rotation=90 if upright else 0).set_in_layout(False)  # fmt: skip
    told = {words for (_, _, words), (text, _) in zip(spans, placed, strict=True) if text}
    untold = sorted({words for start, end, words in spans if end > start} - told)
    return {
        f"phase: {words}": Patch(facecolor=_PHASE_SHADES.get(words, "#ffffff"), edgecolor="#666666", linewidth=0.3)
        for words in untold
    }


def _events(axes: Any, history: xr.Dataset) -> dict[str, Any]:
    """Upright lines through all panels, and their legend."""
    handles: dict[str, Any] = {}
    for event in events_of(history):
        at = event.time / 60.0
        style = {"linewidth": 2.4} if event.ends else {"linewidth": 0.9, "linestyle": event.line, "zorder": 1}
        for ax in axes:
            handle = ax.axvline(at, color="black", **style)
        handles[f"{event.words}, {at:.1f} min"] = handle
    return handles


def _shown(history: xr.Dataset, name: str) -> NDArray[np.float64]:
    return to_user_unit(CHANNELS[name], channel(history, name))


def _plot(ax: Any, time: NDArray[np.float64], history: xr.Dataset, name: str, place: int, label: str) -> Any:
    style = {**series_style(place), "marker": None, "linewidth": 1.1}
    (handle,) = ax.plot(time, _shown(history, name), label=label, **style)
    return handle


def _turn(ax: Any, time: NDArray[np.float64], history: xr.Dataset, limits: dict[str, float]) -> None:
    angle = _plot(ax, time, history, "angle_turned", 0, "angle turned")
    for level in target_levels(history):
        ax.axhline(level.value, color="black", linewidth=0.8, linestyle=level.line, label=level.words)
    ax.set_ylabel("turned [deg]")
    twin = ax.twinx()
    rate = _plot(twin, time, history, "swing_rate", 3, f"swing rate [{user_label(CHANNELS['swing_rate'])}], right")
    twin.tick_params(labelsize=6.0)
    for axes, line in ((ax, angle), (twin, rate)):
        values = np.append(np.abs(line.get_ydata()), [level.value for level in target_levels(history)])
        if not np.nanmax(values, initial=0.0) > LEAST_TURN:
            axes.set_ylim(-1.0, 1.0)  # what rounding leaves would fill the panel
    twin.set_zorder(ax.get_zorder() - 1)
    ax.patch.set_visible(False)
    ax.plot([], [], color=rate.get_color(), linestyle=rate.get_linestyle(), label=rate.get_label())
    angle.set_zorder(4)


def _heel(ax: Any, time: NDArray[np.float64], history: xr.Dataset, limits: dict[str, float]) -> None:
    _plot(ax, time, history, "tug_heel", 0, "heel, starboard down")
    for level in heel_levels(history, limits):
        ax.axhline(level.value, color="black", linewidth=0.8, linestyle=level.line,
                   label=f"{level.words} {level.value:.1f} deg, either side")  # fmt: skip
        ax.axhline(-level.value, color="black", linewidth=0.8, linestyle=level.line)
    edge = number(history, "deck_edge_angle")
    if math.isfinite(edge):
        ax.set_ylim(-1.15 * edge, 1.15 * edge)
    ax.set_ylabel("tug heel [deg]")


def _marks(ax: Any, levels: list[Level], values: NDArray[np.float64], why_none: str) -> None:
    """Level lines [t]; one far above the values is told as off the scale instead of flattening them."""
    if not np.isfinite(values).any():
        ax.set_yticks([])
        ax.text(0.5, 0.5, why_none, transform=ax.transAxes, ha="center", va="center")
        return
    top = max(float(np.nanmax(values)), LEAST_LOAD)
    for level in sorted(levels, key=lambda level: level.value):
        words = f"{level.words} {level.value:.3g} t"
        if on_scale(level, values):
            ax.axhline(level.value, color="black", linewidth=0.8, linestyle=level.line, label=words)
            top = max(top, level.value)
        else:
            ax.plot([], [], color="black", linewidth=0.8, linestyle=level.line, label=f"{words}, off the scale")
    ax.set_ylim(0.0, 1.12 * top)


def _tension(ax: Any, time: NDArray[np.float64], history: xr.Dataset, limits: dict[str, float]) -> None:
    _plot(ax, time, history, "line_tension", 0, "line tension")
    why_none = "no line in use" if "line_tension" in history.variables else "not recorded"
    _marks(ax, tension_levels(history, limits), _shown(history, "line_tension"), why_none)
    ax.set_ylabel("tension [t]")


def _contact(ax: Any, time: NDArray[np.float64], history: xr.Dataset, limits: dict[str, float]) -> None:
    _plot(ax, time, history, "contact_force", 0, "contact force")
    why_none = "no fender in use" if "contact_force" in history.variables else "not recorded"
    _marks(ax, contact_levels(limits), _shown(history, "contact_force"), why_none)
    ax.set_ylabel("contact [t]")


def _thrust(ax: Any, time: NDArray[np.float64], history: xr.Dataset, limits: dict[str, float]) -> None:
    _plot(ax, time, history, "thrust_port", 0, "thrust, port")
    _plot(ax, time, history, "thrust_starboard", 3, "thrust, starboard")
    ax.set_ylim(bottom=0.0)
    ax.set_ylabel("thrust [t]")


def _azimuth(ax: Any, time: NDArray[np.float64], history: xr.Dataset, limits: dict[str, float]) -> None:
    """Draw directions of thrust, the curve broken where it passes through north of the tug's bow."""
    for name, place, words in (("azimuth_port", 0, "port"), ("azimuth_starboard", 3, "starboard")):
        angle = np.mod(_shown(history, name), 360.0)
        jump = np.abs(np.diff(angle, prepend=angle[:1])) > 180.0
        style = {**series_style(place), "marker": None, "linewidth": 1.1}
        ax.plot(time, np.where(jump, np.nan, angle), label=f"thrust direction, {words}", **style)
    ax.set_ylim(0.0, 360.0)
    ax.set_yticks([0, 90, 180, 270, 360])
    ax.set_ylabel("off bow [deg]")
