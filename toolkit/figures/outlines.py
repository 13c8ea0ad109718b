"""Plan view of one case: what barge, line and tug sweep over the ground (floor 6)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.reading_history import fact, history_caption, streams_of
from toolkit.figures.scene import Scene, scene_of, spaced, swept_places
from toolkit.figures.style import Sheet, drawing, nothing_to_draw, sheet
from toolkit.figures.surroundings import Surroundings, draw_surroundings, surroundings_of, view_of
from toolkit.findings.conditions import facts_of_results
from toolkit.quantities.manoeuvres import FACTS, Facts

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_outlines"]

SHOWN = 7
"""Outlines drawn, start and end among them."""


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
    around = surroundings_of(history)
    with drawing():
        made = sheet(
            "Swept outlines, plan view", history_caption(history, f"{lead} {around.legend()}", limits), height_mm=125.0
        )
        plan, side = made.panel.subplots(1, 2, width_ratios=[1.0, 0.26])
        scene = scene_of(history)
        if scene is None:
            nothing_to_draw(plan, "The history holds no positions, or lacks the dimensions of the hulls.")
        else:
            facts = facts_of_results(history)
            alone = facts is FACTS["walk"] or facts is FACTS["shift"]
            stays = isinstance(facts, Facts) and (facts.swings or facts is FACTS["hold"] or alone)
            label_at = None if alone else -0.82 if fact(history, "working_end") != "stern" else 0.82
            _draw_plan(plan, scene, around, label_at=label_at, stays=stays)
        _draw_compass(side, history)
    return made


def _draw_plan(ax: Any, scene: Scene, around: Surroundings, *, label_at: float | None, stays: bool) -> None:
    """Draw hulls, line and movement; `label_at` as for `_label_times`."""
    places = swept_places(scene)
    barge, tug = scene.barge, scene.tug
    for place in places:
        for hull in (barge, tug):
            corners = hull.at(int(place))
            if np.isfinite(corners).all():
                ax.fill(*corners.T, facecolor="#e3e3e3", edgecolor="none", zorder=0.3)
    shown = spaced(scene, SHOWN, of_tug=label_at is None)
    for number, place in enumerate(shown):
        start, end = number == 0, number == len(shown) - 1
        style = {"linewidth": 1.8 if start or end else 0.7, "linestyle": (0, (3, 1.5)) if start and not end else "-",
                 "zorder": 4 if start or end else 3}  # fmt: skip
        ax.fill(*barge.at(int(place)).T, facecolor="none", edgecolor="#00224e", **style)
        bow = barge.at(int(place), barge.outline[:2] * [0.9, 1.0])
        ax.plot(*bow.T, color="#00224e", linewidth=style["linewidth"], zorder=style["zorder"])
        waterline = tug.at(int(place))
        if np.isfinite(waterline).all():
            ax.fill(*waterline.T, facecolor="#cfc08a" if start or end else "none", edgecolor="#5a4b00", **style)
        if scene.line is not None and scene.line.on[place]:
            ends = scene.line_ends(int(place))
            ax.plot(*ends.T, color="black", linewidth=0.9, linestyle="-" if scene.line.taut[place] else ":", zorder=5)
    _label_times(ax, scene, [int(shown[0]), int(shown[-1]), *map(int, shown[1:-1])], label_at)
    north, east = barge.north[places], barge.east[places]
    away = np.hypot(north - north[0], east - east[0])
    far = int(np.argmax(away))
    if away[far] > 0.5:
        _draw_arrow(ax, (east[0], north[0]), (east[far], north[far]), "#b34700")
    draw_surroundings(ax, around)
    view = view_of(scene, around, places)
    points = view.points
    low, high = points.min(axis=0), points.max(axis=0)
    room = 0.06 * float((high - low).max())
    ax.set_xlim(low[0] - room, high[0] + room)
    ax.set_ylim(low[1] - room, high[1] + room)
    ax.set_aspect("equal", adjustable="box")
    ax.grid(linewidth=0.3, color="#bbbbbb", zorder=0)
    ax.set_axisbelow(True)
    ax.set_xlabel("east of the basin's centre [m]")
    ax.set_ylabel("north of the basin's centre [m]")
    ax.set_title(f"{'drift' if stays else 'displacement'} {away[far]:.1f} m (arrow); {view.words}")


APART = 0.25
"""Least distance of two times from each other, over the half length of the hull that they stand on."""


def _label_times(ax: Any, scene: Scene, places: Sequence[int], label_at: float | None) -> None:
    """Write times upon outlines, in this order, but none upon another.

    At a share `label_at` of the barge's half length forward of her midships, away from the tug; at the tug's midships
    where it is none, as the barge only drifts.
    """
    import matplotlib.patheffects as effects

    hull = scene.tug if label_at is None else scene.barge
    half = float(hull.outline[:, 0].max())
    written: list[tuple[float, float]] = []
    for place in dict.fromkeys(places):
        east, north = hull.at(place, np.array([[(label_at or 0.0) * half, 0.0]]))[0]
        if any(np.hypot(east - there[0], north - there[1]) < APART * half for there in written):
            continue
        if not np.isfinite([east, north]).all():
            continue
        ax.text(
            east, north, f"{scene.time[place] / 60.0:.1f}", fontsize=5.5, ha="center", va="center", zorder=7,
            path_effects=[effects.withStroke(linewidth=1.8, foreground="white")],
        )  # fmt: skip
        written.append((float(east), float(north)))


def _draw_compass(ax: Any, history: xr.Dataset) -> None:
    """North, wind and current as arrows in their own panel, each with its words below."""
    ax.set_xlim(-1, 1)
    ax.set_ylim(0, 6)
    ax.set_aspect("equal")
    ax.axis("off")
    _arrow(ax, 5.4, 0.0, "north", "black")
    for stream, height in zip(streams_of(history), (3.5, 1.6), strict=True):
        if math.isnan(stream.toward):
            ax.text(0, height, stream.words[0], ha="center", va="center", fontsize=7)
        else:
            colour = "#00224e" if stream.name == "wind" else "#b34700"
            _arrow(ax, height, stream.toward, "\n".join(stream.words), colour)
    ax.text(0, 0.1, "times at outlines\nin minutes", ha="center", va="center", fontsize=6.5)


def _draw_arrow(ax: Any, start: tuple[float, float], end: tuple[float, float], colour: str) -> None:
    style = {"arrowstyle": "-|>", "color": colour, "linewidth": 1.6, "shrinkA": 0, "shrinkB": 0}
    ax.annotate("", xy=end, xytext=start, zorder=6, arrowprops=style)


def _arrow(ax: Any, height: float, bearing: float, words: str, colour: str) -> None:
    east, north = 0.48 * math.sin(math.radians(bearing)), 0.48 * math.cos(math.radians(bearing))
    _draw_arrow(ax, (-east, height - north), (east, height + north), colour)
    ax.text(0, height - 0.62, words, ha="center", va="top", fontsize=7)
