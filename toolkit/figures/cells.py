"""Two axes of few values as cells that carry their numbers, hatched where a limit is broken (floor 6)."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.style import LIMIT_HATCHES, OUTCOME_MARKERS, text_width
from toolkit.findings import LIMIT_NAMES
from toolkit.findings.display import long_name
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes

__all__ = ["draw_cells", "edges", "mark_failures"]

MOST_LABELLED = 9
"""Most columns for which the values are written into the cells."""

NO_VALUE = "†"
"""Mark of completed cases that have no value."""

_POINTS = 6.5


def mark_failures(
    ax: Axes, x: NDArray[Any], y: NDArray[Any], codes: NDArray[Any], legend: dict[str, Any], *, halo: bool = False
) -> None:
    """Mark every case that did not complete by the symbol of its outcome; with a white rim on coloured ground."""
    for outcome in Outcome:
        here = codes == int(outcome)
        if outcome is Outcome.completed or not here.any():
            continue
        (handle,) = ax.plot(
            x[here], y[here], linestyle="none", marker=OUTCOME_MARKERS[outcome.name], color="black",
            markerfacecolor="none", markeredgewidth=0.9, clip_on=False, zorder=4,
            path_effects=_rim(2.6) if halo else None,
        )  # fmt: skip
        legend.setdefault(outcome.name.replace("_", " "), handle)


def draw_cells(
    ax: Axes, values: NDArray[np.float64], missing: NDArray[np.int64], judged: xr.Dataset, norm: Any,
    legend: dict[str, Any], *, quantity: str, style: str, behind: int,
) -> Any:  # fmt: skip
    """Draw equal cells with their values; hatched by the limit that binds, bold edge round what passes.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    values : ndarray, shape (rows, columns)
        Values in display units; NaN where none.
    missing : ndarray of int, shape (rows, columns)
        Completed cases of a cell that have no value.
    judged : xarray.Dataset
        Judgement on (rows, columns).
    norm : matplotlib.colors.Normalize
    legend : dict
        Words to handles; added to.
    quantity : str
        Name of the outcome.
    style : str
        Format of the values, one for all panels of a figure.
    behind : int
        Cases behind each cell: 1, or as many as it is the worst of.
    """
    mappable = ax.imshow(values, origin="lower", aspect="auto", norm=norm, interpolation="nearest")
    codes = judged["outcome"].values
    valued = np.isfinite(values) & (codes != int(Outcome.completed))
    _hatch(ax, values, judged["binding_limit"].values, mappable.to_rgba, legend)
    if values.shape[1] <= MOST_LABELLED:
        _write(ax, values, missing, codes, legend, quantity, style)
        if behind > 1:
            _count_failures(ax, judged["not_completed_count"].values, codes, behind, valued)
    outlines = edges(judged["passes"].values)
    if outlines:
        x, y = (np.concatenate([[*line[axis], np.nan] for line in outlines]) for axis in (0, 1))
        ax.plot(x, y, color="white", linewidth=3.4, solid_capstyle="round", zorder=5)
        (edge,) = ax.plot(x, y, color="black", linewidth=1.8, solid_capstyle="round", zorder=5)
        legend.setdefault("edge of what passes", edge)
    place = np.indices(values.shape)
    mark_failures(ax, place[1], place[0] + np.where(valued, 0.31, 0.16 if behind > 1 else 0.0), codes, legend,
                  halo=bool(valued.any()))  # fmt: skip
    return mappable


def _hatch(ax: Axes, values: NDArray[np.float64], binding: NDArray[Any], colour_of: Callable[..., Any],
           legend: dict[str, Any]) -> None:  # fmt: skip
    """Hatch cells by the limit that binds, in white on dark cells and in black on light ones."""
    from matplotlib.patches import Patch, PathPatch
    from matplotlib.path import Path

    unit = Path.unit_rectangle()
    alike: dict[tuple[str, bool], list[Path]] = {}
    for (row, column), code in np.ndenumerate(binding):
        if not 1 <= int(code) <= len(LIMIT_NAMES):
            continue
        value = values[row, column]
        dark = bool(np.isfinite(value)) and float(np.dot(colour_of(value)[:3], (0.299, 0.587, 0.114))) < 0.5
        corner = np.array([column - 0.5, row - 0.5])
        square = Path(unit.vertices + corner, unit.codes)
        alike.setdefault((LIMIT_NAMES[int(code) - 1], dark), []).append(square)
    for (name, dark), cells in alike.items():
        # one patch for all cells hatched alike: a hatch is drawn anew for every patch
        ax.add_patch(
            PathPatch(Path.make_compound_path(*cells), fill=False, linewidth=0.0, hatch=LIMIT_HATCHES[name],
                      edgecolor="white" if dark else "black", alpha=0.8)
        )  # fmt: skip
        key = Patch(facecolor="#e8e8e8", edgecolor="black", linewidth=0.4, hatch=LIMIT_HATCHES[name])
        legend.setdefault(f"does not pass; binds: {long_name(name)}", key)


def _write(ax: Axes, values: NDArray[np.float64], missing: NDArray[np.int64], codes: NDArray[Any],
           legend: dict[str, Any], quantity: str, style: str) -> None:  # fmt: skip
    """Write values, and the mark of a completed case without one, into small white boxes."""
    from matplotlib.lines import Line2D

    lacking = (missing > 0) & (codes == int(Outcome.completed))
    shown: list[tuple[int, int, str]] = []
    for (row, column), value in np.ndenumerate(values):
        words = f"{value:{style}}" if np.isfinite(value) else ""
        shown.append((row, column, words + NO_VALUE * bool(lacking[row, column])))
    shown = [one for one in shown if one[2]]
    for row, column, words in shown:
        ax.text(column, row, words, ha="center", va="center_baseline", fontsize=_POINTS, zorder=3,
                parse_math=False).set_in_layout(False)  # fmt: skip
    if shown:
        wide = max(text_width(words, _POINTS) for _, _, words in shown) + 3.5
        ax.plot([c for _, c, _ in shown], [r for r, _, _ in shown], linestyle="none", color="white", zorder=2.5,
                marker=_rounded(wide, 1.45 * _POINTS), markersize=wide, markeredgewidth=0.0)  # fmt: skip
    if lacking.any():
        key = Line2D([], [], linestyle="none", marker="$†$", color="black", markersize=5.0, markeredgewidth=0.3)
        legend.setdefault(_why_missing(quantity), key)


def _rounded(width: float, height: float) -> Any:
    """Rounded box as a marker: one artist for all cells draws far faster than a box round each text."""
    from matplotlib.patches import BoxStyle

    return BoxStyle.Round(pad=0.0, rounding_size=0.25 * height)(-width / 2, -height / 2, width, height, 1.0)


def _why_missing(quantity: str) -> str:
    if quantity == "time_to_turn":
        return "target heading not passed, steady just short of it"
    return f"completed without a value of {long_name(quantity)}"


def _rim(width: float) -> list[Any]:
    """White rim round what is drawn [points]."""
    from matplotlib.patheffects import withStroke

    return [withStroke(linewidth=width, foreground="white")]


def _count_failures(
    ax: Axes, failed: NDArray[np.int64], codes: NDArray[Any], behind: int, valued: NDArray[np.bool_]
) -> None:
    """Write below the symbol of a failure how many of the cases behind the cell did not complete."""
    for (row, column), code in np.ndenumerate(codes):
        if int(code) not in (int(Outcome.completed), int(Outcome.not_run)):
            low = row - (0.3 if valued[row, column] else 0.22)
            ax.text(column, low, f"{int(failed[row, column])} of {behind}", ha="center", va="center", fontsize=5.0,
                    zorder=3, path_effects=_rim(1.6)).set_in_layout(False)  # fmt: skip


def edges(passes: NDArray[np.bool_]) -> list[tuple[list[float], list[float]]]:
    """Segments between cells of which one passes and the other does not."""
    segments: list[tuple[list[float], list[float]]] = []
    for row, column in zip(*np.nonzero(passes[:, 1:] != passes[:, :-1]), strict=True):
        segments.append(([column + 0.5, column + 0.5], [row - 0.5, row + 0.5]))
    for row, column in zip(*np.nonzero(passes[1:, :] != passes[:-1, :]), strict=True):
        segments.append(([column - 0.5, column + 0.5], [row + 0.5, row + 0.5]))
    return segments
