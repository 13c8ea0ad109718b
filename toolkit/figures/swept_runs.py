"""Plan view of what many runs of one configuration sweep over the ground, by the share of runs (floor 6)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, sheet
from toolkit.figures.surroundings import Surroundings, draw_surroundings, near_parts
from toolkit.findings.display import display_text, display_unit, to_display

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["READ_SWEPT", "draw_swept"]

READ_SWEPT = (
    "Grey: ground that barge or tug lies over at any moment of a run, darker where more completed runs do so, "
    "bounded by a thin, a dashed and a heavy line; the line between the two vessels is not counted. Hatched: what runs "
    "that failed swept until they ended; they count in no share. Dash-dotted: both vessels at the start, the "
    "shortest and the longest where sizes vary. Dots: the barge's midships at the end of completed runs, crosses: of "
    "failed ones. Arrow: from the mean start to the mean end of the completed runs."
)
"""How to read the figure, for its caption."""

_GREYS = ("#e4e4e4", "#b8b8b8", "#7d7d7d")
_BOUNDS: tuple[tuple[float, Any], ...] = ((0.7, "-"), (1.0, (0, (4, 2))), (1.5, "-"))
_BARGE, _TUG, _DRIFT = "#00224e", "#5a4b00", "#b34700"
_DOTTED: Any = (0, (1, 1.5))
_ROOM = 0.05
_MOST_ARROWS = 12


def draw_swept(found: xr.Dataset, around: Surroundings, *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw the ground swept by many runs, by the share of runs.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.swept.swept_share`.
    around : Surroundings
        Edge of the basin, shoals and berth.
    title : str
    caption : sequence of str

    Returns
    -------
    Sheet
        Ready to be saved. North is up, both axes have one scale.
    """
    with drawing():
        made = sheet(title, caption, height_mm=130.0)
        plan, side = made.panel.subplots(1, 2, width_ratios=[1.0, 0.3])
        marks: list[tuple[Any, str]] = []
        if not found["east"].size:
            nothing_to_draw(plan, "No run has a place to draw: none was afloat, or both vessels' places are not known.")
        else:
            marks = _draw_ground(plan, found)
            _draw_starts(plan, found)
            drift = _draw_ends(plan, found)
            draw_surroundings(plan, around)
            words = _frame(plan, found, around)
            plan.set_title("\n".join(part for part in (drift, words) if part))
        _draw_streams(side, found)
        if marks:
            handles, labels = zip(*marks, strict=True)
            side.legend(handles, labels, loc="lower center", bbox_to_anchor=(0.5, 0.0), borderaxespad=0.0,
                        handlelength=1.6, fontsize=6.5)  # fmt: skip
    return made


def _draw_ground(ax: Any, found: xr.Dataset) -> list[tuple[Any, str]]:
    """Fill the levels of the completed runs and hatch what failed runs swept; handles and words for the legend."""
    from matplotlib.patches import Patch

    east, north = found["east"].values, found["north"].values
    whole, failed = int(found.attrs["completed_count"]), int(found.attrs["failed_count"])
    counts = found["completed_count"].values
    marks: list[tuple[Any, str]] = []
    shown: list[int] = []
    for level, least in enumerate(found["least_count"].values.tolist()):
        # of few runs two levels may be one and the same; what no cell reaches is left out
        if not whole or least in shown or not (counts >= least).any():
            continue
        shown.append(least)
        width, line = _BOUNDS[level]
        ax.contourf(east, north, counts, levels=[least - 0.5, counts.max() + 1.0], colors=[_GREYS[level]], zorder=0.6)
        ax.contour(east, north, counts, levels=[least - 0.5], colors="black", linewidths=width, linestyles=[line],
                   zorder=1.2)  # fmt: skip
        share = found["share"].values[level]
        words = f"any run of {whole}" if least == 1 else f"{100 * share:.0f} % or more: {least} of {whole}"
        patch = Patch(facecolor=_GREYS[level], edgecolor="black", linewidth=width, linestyle=line)
        marks.append((patch, f"{words}\n{found['area_swept'].values[level]:,.0f} m²"))
    swept = found["failed_count"].values
    if swept.any():
        ax.contourf(east, north, swept, levels=[0.5, swept.max() + 1.0], colors="none", hatches=["////"], zorder=1.0)
        ax.contour(east, north, swept, levels=[0.5], colors="black", linewidths=0.8, linestyles=[_DOTTED], zorder=1.2)
        patch = Patch(facecolor="none", edgecolor="black", hatch="////", linewidth=0.8, linestyle=_DOTTED)
        area = (swept > 0).sum() * float(found.attrs["cell"]) ** 2
        marks.append((patch, f"failed: any run of {failed}\n{area:,.0f} m²"))
    return marks


def _draw_starts(ax: Any, found: xr.Dataset) -> None:
    """Draw the shortest and the longest of each vessel at the start, and a bar across the barge's bow."""
    import matplotlib.patheffects as effects

    halo = [effects.withStroke(linewidth=2.6, foreground="white")]
    for hull, colour in (("barge", _BARGE), ("tug", _TUG)):
        outlines = np.stack([found[f"{hull}_start_{way}"].values for way in ("east", "north")], axis=-1)
        known = outlines[np.isfinite(outlines).all(axis=(1, 2))]
        lengths = [float(np.linalg.norm(corners[:, None] - corners[None], axis=2).max()) for corners in known]
        ends = {int(np.argmin(lengths)), int(np.argmax(np.round(lengths, 2)))} if lengths else set()
        for corners in known[sorted(ends)]:
            ax.fill(*corners.T, facecolor="none", edgecolor=colour, linewidth=1.3, linestyle=(0, (5, 1.2, 1, 1.2)),
                    zorder=3, path_effects=halo)  # fmt: skip
            if hull == "barge":
                bow, length = corners[:2], corners[2] - corners[1]
                ax.plot(*(bow + 0.05 * length).T, color=colour, linewidth=1.3, zorder=3, path_effects=halo)


def _draw_ends(ax: Any, found: xr.Dataset) -> str:
    """Mark where each barge ended, and the mean drift of completed runs by an arrow; words on that drift."""
    track = np.stack([found[f"track_{way}"].values for way in ("east", "north")], axis=-1)
    completed = found["outcome"].values == 1
    for mask, mark, size in ((completed, "o", 7.0), (~completed, "x", 14.0)):
        for colour, width in (("white", 2.4), ("black", 0.9)):  # a white rim, to be seen on dark ground
            ax.scatter(*track[mask, 1].T, marker=mark, s=size, color=colour, linewidths=width, zorder=5)
    known = track[completed & np.isfinite(track).all(axis=(1, 2))]
    if not len(known):
        return ""
    start, end = known.mean(axis=0)
    away = float(np.hypot(*(end - start)))
    each = np.hypot(*(known[:, 1] - known[:, 0]).T)
    if away > 0.5:
        style = {"arrowstyle": "-|>", "color": _DRIFT, "linewidth": 1.8, "shrinkA": 0, "shrinkB": 0}
        ax.annotate("", xy=end, xytext=start, zorder=6, arrowprops=style)
    return f"start to end: mean drift {away:.0f} m (arrow), of single runs {each.min():.0f} to {each.max():.0f} m"


def _frame(ax: Any, found: xr.Dataset, around: Surroundings) -> str:
    """Set how far the view reaches; words on the edge of the basin and the least room to it."""
    half = 0.5 * float(found.attrs["cell"])
    east, north = found["east"].values, found["north"].values
    corners = np.array([(x, y) for x in (east[0] - half, east[-1] + half) for y in (north[0] - half, north[-1] + half)])
    starts = np.stack([found[f"track_{way}"].values[:, 0] for way in ("east", "north")], axis=-1)
    near, words = near_parts(corners, np.nanmean(starts, axis=0), around)
    points = np.vstack((corners, *near))
    low, high = points.min(axis=0), points.max(axis=0)
    room = _ROOM * float((high - low).max())
    ax.set_xlim(low[0] - room, high[0] + room)
    ax.set_ylim(low[1] - room, high[1] + room)
    ax.set_aspect("equal", adjustable="box")
    ax.grid(linewidth=0.3, color="#bbbbbb", zorder=0)
    ax.set_axisbelow(True)
    ax.set_xlabel("east of the basin's centre [m]")
    ax.set_ylabel("north of the basin's centre [m]")
    left = found["room"].values[found["outcome"].values == 1]
    if np.isfinite(left).any():
        least = float(np.nanmin(left))
        words += (
            f"; least room of a completed run {least:.0f} m"
            if least >= 0.0
            else f"; a completed run oversteps it by {-least:.0f} m"
        )
    return words


def _draw_streams(ax: Any, found: xr.Dataset) -> None:
    """North, and every direction of wind and current of the runs, as arrows in their own panel."""
    ax.set_xlim(-1, 1)
    ax.set_ylim(0, 7.2)
    ax.set_aspect("equal", anchor="N")
    ax.axis("off")
    _arrow(ax, (0.0, 6.2), (0.0, 7.1), "black")
    ax.text(0, 6.1, "north", ha="center", va="top", fontsize=7)
    for name, direction, inward, height in (("wind", "wind_from", True, 5.0), ("current", "current_to", False, 2.9)):
        speeds = found[f"{name}_speed"].values
        bearings = np.unique(np.mod(found[direction].values[speeds > 0.0], 360.0))
        bearings = bearings[np.isfinite(bearings)]
        shown = bearings[
            np.unique(np.linspace(0, bearings.size - 1, min(bearings.size, _MOST_ARROWS)).round().astype(int))
        ]
        for bearing in shown:
            along = np.array([math.sin(math.radians(bearing)), math.cos(math.radians(bearing))])
            rim, hub = (share * along + [0.0, height] for share in (0.62, 0.2 if bearings.size > 1 else -0.62))
            _arrow(ax, *((rim, hub) if inward else (hub, rim)), _BARGE if inward else _DRIFT)
        ax.text(0, height - 0.72, _stream_words(name, direction, speeds, bearings), ha="center", va="top", fontsize=6.5)


def _stream_words(name: str, direction: str, speeds: NDArray[np.float64], bearings: NDArray[np.float64]) -> str:
    """Speeds and directions of wind or current of all runs."""
    if not np.isfinite(speeds).any():
        return f"{name} not recorded"
    low, high = (f"{to_display(f'{name}_speed', end):.3g}" for end in (np.nanmin(speeds), np.nanmax(speeds)))
    if not bearings.size:
        return f"no {name}"
    told = f"{name} {low if low == high else f'{low} to {high}'} {display_unit(f'{name}_speed')}"
    if bearings.size == 1:
        return f"{told}\n{display_text(direction, bearings[0])}"
    return f"{told}\n{'FROM' if name == 'wind' else 'TO'} {bearings.size} directions"


def _arrow(ax: Any, start: Any, end: Any, colour: str) -> None:
    style = {"arrowstyle": "-|>", "color": colour, "linewidth": 1.1, "shrinkA": 0, "shrinkB": 0, "mutation_scale": 7}
    ax.annotate("", xy=tuple(end), xytext=tuple(start), arrowprops=style)
