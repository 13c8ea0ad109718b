"""Plan view of one swing: what barge, line and tug sweep over the ground (floor 6)."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.reading_history import channel, fact, history_caption
from toolkit.figures.style import Sheet, drawing, nothing_to_draw, sheet
from toolkit.findings.display import display_text

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["barge_outline", "draw_outlines", "instants", "tug_outline"]

SHOWN = 7
"""Outlines drawn, start and end among them."""

SWEPT = 80
"""Outlines whose union is shaded."""


def barge_outline(length: float, beam: float) -> NDArray[np.float64]:
    """Corners of a box-like barge, bow first.

    Parameters
    ----------
    length, beam : float
        [m].

    Returns
    -------
    ndarray, shape (4, 2)
        Forward and to starboard of midships [m].
    """
    a, b = length / 2, beam / 2
    return np.array([[a, -b], [a, b], [-a, b], [-a, -b]])


def tug_outline(length: float, beam: float) -> NDArray[np.float64]:
    """Waterline of a tug, drawn with a rounded stem and a square stern; shape (n, 2) [m]."""
    a, b = length / 2, beam / 2
    round_stem = np.linspace(-np.pi / 2, np.pi / 2, 15)
    stem = np.column_stack((0.1 * length + (a - 0.1 * length) * np.cos(round_stem), b * np.sin(round_stem)))
    return np.vstack((stem, [[-a, 0.85 * b], [-a, -0.85 * b]]))


def _placed(shape: NDArray[np.float64], north: float, east: float, heading: float) -> NDArray[np.float64]:
    """Points of a hull as (east, north) [m]; heading [degree]."""
    c, s = math.cos(math.radians(heading)), math.sin(math.radians(heading))
    ahead, starboard = shape[:, 0], shape[:, 1]
    return np.column_stack((east + ahead * s + starboard * c, north + ahead * c - starboard * s))


def instants(history: xr.Dataset, count: int) -> NDArray[np.int64]:
    """Places along time at which the hulls have moved by equal amounts, ends included."""
    north, east = channel(history, "barge_north"), channel(history, "barge_east")
    turned = np.deg2rad(channel(history, "barge_heading"))
    usable = np.nonzero(np.isfinite(north) & np.isfinite(east) & np.isfinite(turned))[0]
    if usable.size <= count:
        return usable
    length = fact(history, "barge_length")
    half = 0.5 * (length if math.isfinite(length) else 1.0)
    step = np.hypot(np.diff(north[usable]), np.diff(east[usable])) + half * np.abs(np.diff(np.unwrap(turned[usable])))
    moved = np.concatenate(([0.0], np.cumsum(step)))
    if moved[-1] <= 0.0:
        moved = np.arange(usable.size, dtype=np.float64)
    found = np.searchsorted(moved, np.linspace(0.0, moved[-1], count))
    chosen: NDArray[np.int64] = usable[np.unique(np.concatenate((found[:-1], [usable.size - 1])))]
    return chosen


def draw_outlines(history: xr.Dataset, *, limits: object | None = None) -> Sheet:
    """Draw what barge, line and tug sweep over the ground.

    Parameters
    ----------
    history : xarray.Dataset
        Channels along ``time``, facts as attributes or scalar variables.
    limits : mapping or dataclass, optional
        Told in the caption; by default those of the attribute ``limits``.

    Returns
    -------
    Sheet
        Ready to be saved. North is up, both axes have one scale.
    """
    lead = (
        "Heavy outlines: start (dashed) and end; thin: between, at equal steps of movement; grey: all that barge and "
        "tug sweep. The bar across a barge marks her bow. Arrow: largest displacement of the barge's midships."
    )
    radius = fact(history, "basin_radius")
    with drawing():
        made = sheet("Swept outlines, plan view", history_caption(history, lead, limits), height_mm=125.0)
        plan, side = made.panel.subplots(1, 2, width_ratios=[1.0, 0.26])
        sizes = [fact(history, name) for name in ("barge_length", "barge_beam", "tug_length", "tug_beam")]
        places = instants(history, SWEPT)
        if not places.size or not all(math.isfinite(size) for size in sizes):
            nothing_to_draw(plan, "The history holds no positions, or lacks the dimensions of the hulls.")
        else:
            _draw_plan(plan, history, sizes, places, radius)
        _draw_compass(side, history)
    return made


def _draw_plan(ax: Any, history: xr.Dataset, sizes: list[float], places: NDArray[np.int64], radius: float) -> None:
    from matplotlib.patches import Circle

    barge, tug = barge_outline(*sizes[:2]), tug_outline(*sizes[2:])
    at = {name: channel(history, name) for name in (
        "barge_north", "barge_east", "barge_heading", "tug_north", "tug_east", "tug_heading", "time", "line_tension",
    )}  # fmt: skip
    pulls = fact(history, "manoeuvre") == "swing_pull"
    towing = [fact(history, name) for name in ("barge_towing_point", "tug_towing_point")]

    def hulls(place: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        return (
            _placed(barge, at["barge_north"][place], at["barge_east"][place], at["barge_heading"][place]),
            _placed(tug, at["tug_north"][place], at["tug_east"][place], at["tug_heading"][place]),
        )

    reached: list[NDArray[np.float64]] = []
    for place in places:
        for corners in hulls(int(place)):
            if np.isfinite(corners).all():
                ax.fill(*corners.T, facecolor="#e3e3e3", edgecolor="none", zorder=1)
                reached.append(corners)
    shown = instants(history, SHOWN)
    for number, place in enumerate(shown):
        start, end = number == 0, number == len(shown) - 1
        style = {"linewidth": 1.8 if start or end else 0.7, "linestyle": (0, (3, 1.5)) if start and not end else "-",
                 "zorder": 4 if start or end else 3}  # fmt: skip
        box, hull = hulls(int(place))
        ax.fill(*box.T, facecolor="none", edgecolor="#00224e", **style)
        bow = _placed(
            barge[:2] * [0.9, 1.0], at["barge_north"][place], at["barge_east"][place], at["barge_heading"][place]
        )
        ax.plot(*bow.T, color="#00224e", linewidth=style["linewidth"], zorder=style["zorder"])
        if np.isfinite(hull).all():
            ax.fill(*hull.T, facecolor="#cfc08a" if start or end else "none", edgecolor="#5a4b00", **style)
        if pulls and all(math.isfinite(x) for x in towing):
            ends = np.vstack((
                _placed(np.array([[towing[0], 0.0]]), at["barge_north"][place], at["barge_east"][place],
                        at["barge_heading"][place]),
                _placed(np.array([[towing[1], 0.0]]), at["tug_north"][place], at["tug_east"][place],
                        at["tug_heading"][place]),
            ))  # fmt: skip
            taut = at["line_tension"][place] > 0.0
            ax.plot(*ends.T, color="black", linewidth=0.9, linestyle="-" if taut else ":", zorder=5)
        _label_time(ax, at, int(place), barge, working_bow=fact(history, "working_end") != "stern")
    north, east = at["barge_north"][places], at["barge_east"][places]
    away = np.hypot(north - north[0], east - east[0])
    far = int(np.argmax(away))
    if away[far] > 0.5:
        _draw_arrow(ax, (east[0], north[0]), (east[far], north[far]), "#b34700")
    points = np.vstack(reached)
    extent = float(np.abs(points - [east[0], north[0]]).max())
    if math.isfinite(radius) and radius <= 1.6 * extent:
        ax.add_patch(Circle((0.0, 0.0), radius, fill=False, linestyle=(0, (6, 2)), linewidth=1.1))
        points = np.vstack((points, [[-radius, -radius], [radius, radius]]))
    low, high = points.min(axis=0), points.max(axis=0)
    room = 0.06 * float((high - low).max())
    ax.set_xlim(low[0] - room, high[0] + room)
    ax.set_ylim(low[1] - room, high[1] + room)
    ax.set_aspect("equal", adjustable="box")
    ax.grid(linewidth=0.3, color="#bbbbbb", zorder=0)
    ax.set_axisbelow(True)
    ax.set_xlabel("east of the basin's centre [m]")
    ax.set_ylabel("north of the basin's centre [m]")
    told = f"basin radius {radius:.0f} m" if math.isfinite(radius) else "no basin radius given"
    if math.isfinite(radius) and radius > 1.6 * extent:
        told += " (beyond the drawing)"
    ax.set_title(f"drift {away[far]:.1f} m (arrow); {told}")


def _label_time(ax: Any, at: dict[str, NDArray[np.float64]], place: int, barge: NDArray[np.float64], *,
                working_bow: bool) -> None:  # fmt: skip
    """Write the time at the end of the barge at which the tug does not work."""
    import matplotlib.patheffects as effects

    tip = np.array([[(-0.82 if working_bow else 0.82) * barge[0, 0], 0.0]])
    east, north = _placed(tip, at["barge_north"][place], at["barge_east"][place], at["barge_heading"][place])[0]
    ax.text(
        east, north, f"{at['time'][place] / 60.0:.1f}", fontsize=5.5, ha="center", va="center", zorder=7,
        path_effects=[effects.withStroke(linewidth=1.8, foreground="white")],
    )  # fmt: skip


def _draw_compass(ax: Any, history: xr.Dataset) -> None:
    """North, wind and current as arrows in their own panel, each with its words below."""
    ax.set_xlim(-1, 1)
    ax.set_ylim(0, 6)
    ax.set_aspect("equal")
    ax.axis("off")
    _arrow(ax, 5.4, 0.0, "north", "black")
    rows = (("wind_speed", "wind_from", 180.0, "wind", 3.5), ("current_speed", "current_to", 0.0, "current", 1.6))
    for speed_name, direction_name, turned, word, height in rows:
        speed, direction = fact(history, speed_name), fact(history, direction_name)
        if not math.isfinite(speed) or not math.isfinite(direction):
            ax.text(0, height, f"{word} not recorded", ha="center", va="center", fontsize=7)
        elif speed == 0.0:
            ax.text(0, height, f"no {word}", ha="center", va="center", fontsize=7)
        else:
            words = f"{word} {display_text(speed_name, speed)}\n{display_text(direction_name, direction)}"
            _arrow(ax, height, direction + turned, words, "#00224e" if word == "wind" else "#b34700")
    ax.text(0, 0.1, "times at outlines\nin minutes", ha="center", va="center", fontsize=6.5)


def _draw_arrow(ax: Any, start: tuple[float, float], end: tuple[float, float], colour: str) -> None:
    style = {"arrowstyle": "-|>", "color": colour, "linewidth": 1.6, "shrinkA": 0, "shrinkB": 0}
    ax.annotate("", xy=end, xytext=start, zorder=6, arrowprops=style)


def _arrow(ax: Any, height: float, bearing: float, words: str, colour: str) -> None:
    east, north = 0.48 * math.sin(math.radians(bearing)), 0.48 * math.cos(math.radians(bearing))
    _draw_arrow(ax, (-east, height - north), (east, height + north), colour)
    ax.text(0, height - 0.62, words, ha="center", va="top", fontsize=7)
