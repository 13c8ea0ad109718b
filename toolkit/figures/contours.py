"""One outcome over two axes, with limits and failures drawn as they were computed (floor 6).

Dense grids are drawn as filled contours, sparse ones as cells with their
values, one axis as a line, samples as a scatter. Nothing is interpolated across
a case that did not complete.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.cells import draw_cells, mark_failures
from toolkit.figures.style import (
    LIMIT_LINES,
    Sheet,
    drawing,
    nothing_to_draw,
    numbers_alike,
    plain_number,
    series_style,
    sheet,
)
from toolkit.findings import LIMIT_NAMES, limits_of
from toolkit.findings.display import axis_label, display_text, long_name, to_display
from toolkit.findings.reading import axis_values
from toolkit.findings.worst import valued_cases
from toolkit.quantities import Outcome
from toolkit.quantities.manoeuvres import WHOLE_NUMBERS

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes

__all__ = ["Panel", "draw_field"]

DENSE = 10
"""Fewest values of either axis for contours; below it, cells are drawn."""

OUTLYING = 1.5
"""Largest value over the 95th percentile from which the colours end at the latter."""


@dataclass(frozen=True, kw_only=True)
class Panel:
    """One panel: a slice of results with two, one or no axis left, or samples.

    Attributes
    ----------
    dataset, judged : xarray.Dataset
        Results and their judgement, cut alike.
    title : str
        What sets this panel apart.
    behind : int
        Cases behind each one drawn: 1, or as many as it is the worst of.
    """

    dataset: xr.Dataset
    judged: xr.Dataset
    title: str = ""
    behind: int = 1


def draw_field(
    panels: Sequence[Panel], quantity: str, axes: Sequence[str], *, title: str, caption: Sequence[str]
) -> Sheet:
    """Draw one outcome over up to two axes, in one or two panels with one scale.

    Parameters
    ----------
    panels : sequence of Panel
        All with the same axes.
    quantity : str
        Name of the outcome.
    axes : sequence of str
        Names of the axes left: (horizontal, vertical), (horizontal,) or none;
        for samples, the two coordinates along ``case``.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.

    Returns
    -------
    Sheet
        Ready to be saved.
    """
    from matplotlib.ticker import MaxNLocator

    values = np.concatenate([np.ravel(to_display(quantity, _shown(p, quantity))) for p in panels])
    finite = values[np.isfinite(values)]
    norm, beyond = _scale(finite)
    style = ".0f" if quantity in WHOLE_NUMBERS else numbers_alike(values)
    with drawing():
        made = sheet(title, caption)
        drawn = made.panel.subplots(1, len(panels), squeeze=False, sharey=True)[0]
        mappable: Any = None
        legend: dict[str, Any] = {}
        sampled = panels[0].dataset["outcome"].dims == ("case",)
        for number, (ax, panel) in enumerate(zip(drawn, panels, strict=True)):
            if not panel.dataset["outcome"].size:
                nothing_to_draw(ax, "The dataset holds no case.")
                continue
            found: Any = None
            if sampled:
                found = _scatter(ax, panel, quantity, axes, norm, legend)
            elif len(axes) == 2:
                found = _plane(ax, panel, quantity, axes, norm, legend, style)
            elif len(axes) == 1:
                _line(ax, panel, quantity, axes[0], legend)
            else:
                _single(ax, panel, quantity)
            mappable = found if found is not None else mappable
            ax.set_title(panel.title)
            if number and len(axes) == 2:
                ax.set_ylabel("")
        if mappable is not None and finite.size:
            whole: Any = MaxNLocator(integer=True) if quantity in WHOLE_NUMBERS else None
            if finite.min() == finite.max():
                whole = [float(finite[0])]  # one value everywhere: a scale would only show rounding
            made.panel.colorbar(mappable, ax=list(drawn), label=axis_label(quantity), pad=0.02, ticks=whole,
                                extend="max" if beyond else "neither")  # fmt: skip
        if legend:
            made.panel.legend(
                list(legend.values()), list(legend), loc="outside lower center", ncols=2 if len(legend) > 1 else 1,
                handlelength=3.0, handleheight=1.3,
            )  # fmt: skip
    return made


def _scale(finite: NDArray[np.float64]) -> tuple[Any, bool]:
    """Scale of colours, and whether a few values far above all others lie beyond it."""
    from matplotlib.colors import Normalize

    low, high = (float(finite.min()), float(finite.max())) if finite.size else (0.0, 1.0)
    most = float(np.quantile(finite, 0.95)) if finite.size else high
    beyond = most > low and most > 0.0 and high > OUTLYING * most
    high = most if beyond else high
    return Normalize(low, high if high > low else low + max(abs(low), 1.0) * 1e-3), beyond


def _missing(panel: Panel, quantity: str) -> NDArray[np.int64]:
    """Completed cases without a value, behind each case drawn."""
    if f"{quantity}_missing" in panel.dataset:
        return np.asarray(panel.dataset[f"{quantity}_missing"].values, dtype=np.int64)
    done = panel.judged["outcome"].values == int(Outcome.completed)
    return np.asarray(done & ~np.isfinite(_shown(panel, quantity)), dtype=np.int64)


def _shown(panel: Panel, quantity: str) -> NDArray[np.float64]:
    """Values of completed cases, and of others where these say something; NaN elsewhere."""
    if quantity not in panel.dataset:
        return np.full(panel.dataset["outcome"].shape, np.nan)
    counts = valued_cases(panel.dataset, panel.judged, quantity)
    return np.asarray(panel.dataset[quantity].where(counts).values, dtype=np.float64)


def _plane(ax: Axes, panel: Panel, quantity: str, axes: Sequence[str], norm: Any, legend: dict[str, Any],
           style: str) -> Any:  # fmt: skip
    horizontal, vertical = axes
    field = panel.dataset["outcome"].transpose(vertical, horizontal)
    flipped = panel.dataset["outcome"].dims != field.dims
    values, missing = to_display(quantity, _shown(panel, quantity)), _missing(panel, quantity)
    if flipped:
        values, missing = values.T, missing.T
    judged = panel.judged.transpose(..., vertical, horizontal)
    x = to_display(horizontal, axis_values(panel.dataset, horizontal))
    y = to_display(vertical, axis_values(panel.dataset, vertical))
    # contours need rising axes
    order = np.ix_(np.argsort(y), np.argsort(x))
    values, missing = values[order], missing[order]
    judged = judged.isel({vertical: order[0].ravel(), horizontal: order[1].ravel()})
    x, y = np.sort(x), np.sort(y)
    if min(x.size, y.size) >= DENSE and quantity not in WHOLE_NUMBERS:
        mappable = _contours(ax, x, y, values, judged, norm, legend)
    else:
        mappable = draw_cells(
            ax, values, missing, judged, norm, legend, quantity=quantity, style=style, behind=panel.behind
        )  # fmt: skip
        # cells are of one size: the axes are marked by value, not to scale
        ax.set_xticks(range(x.size), [plain_number(v) for v in x], rotation=45 if x.size > 7 else 0)
        ax.set_yticks(range(y.size), [plain_number(v) for v in y])
    ax.set_xlabel(axis_label(horizontal))
    ax.set_ylabel(axis_label(vertical))
    return mappable


def _contours(ax: Axes, x: NDArray[Any], y: NDArray[Any], values: NDArray[Any], judged: xr.Dataset, norm: Any,
              legend: dict[str, Any]) -> Any:  # fmt: skip
    """Filled contours over completed cases, a line where a limit is just met, symbols on failures."""
    from matplotlib.cm import ScalarMappable
    from matplotlib.lines import Line2D
    from matplotlib.ticker import MaxNLocator

    for values_of, axis in ((x, ax.xaxis), (y, ax.yaxis)):
        if values_of[0] > 0 and values_of[-1] / values_of[0] >= 10:
            _log_ticks(axis, values_of)
    levels = MaxNLocator(nbins=9).tick_values(norm.vmin, norm.vmax)
    masked = np.ma.masked_invalid(values)
    mappable = ScalarMappable(norm=norm)
    if masked.count() >= 4:
        ax.contourf(x, y, masked, levels=levels, norm=norm, extend="max")
        lines = ax.contour(x, y, masked, levels=levels, colors="white", linewidths=0.5)
        ax.clabel(lines, fontsize=5.5, fmt="%.3g", colors="white")
    used = judged["limit_utilisation"]
    for name in used["limit"].values:
        over = used.sel(limit=name).values
        finite = over[np.isfinite(over)]
        if name not in LIMIT_NAMES or not finite.size or not finite.min() < 1.0 < finite.max():
            continue
        inside = np.ma.masked_invalid(np.where(np.isinf(over), np.nan, over))
        ax.contour(x, y, inside, levels=[1.0], colors="white", linewidths=3.0)
        ax.contour(x, y, inside, levels=[1.0], colors="black", linewidths=1.5, linestyles=[LIMIT_LINES[str(name)]])
        legend.setdefault(
            f"at the limit: {long_name(str(name))}", Line2D([], [], color="black", linestyle=LIMIT_LINES[str(name)])
        )
    grid_x, grid_y = np.meshgrid(x, y)
    failed = (judged["outcome"].values == int(Outcome.completed)) & ~judged["passes"].values
    if failed.any():
        (handle,) = ax.plot(grid_x[failed], grid_y[failed], linestyle="none", marker="x", color="white", markersize=3.6,
                            markeredgewidth=1.6, zorder=3)  # fmt: skip
        (handle,) = ax.plot(grid_x[failed], grid_y[failed], linestyle="none", marker="x", color="black", markersize=3.0,
                            markeredgewidth=0.7, zorder=3)  # fmt: skip
        legend.setdefault("completed, but past a limit", handle)
    mark_failures(ax, grid_x, grid_y, judged["outcome"].values, legend)
    ax.margins(0.02)
    return mappable


def _log_ticks(axis: Any, values: NDArray[Any]) -> None:
    """Log scale with plain numbers at 1, 2 and 5."""
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

    axis.axes.set_xscale("log") if axis.axis_name == "x" else axis.axes.set_yscale("log")
    axis.set_major_locator(LogLocator(base=10, subs=(1.0, 2.0, 5.0)))
    axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axis.set_minor_formatter(NullFormatter())


def _line(ax: Axes, panel: Panel, quantity: str, axis: str, legend: dict[str, Any]) -> None:
    """Draw one axis left: a line through completed cases, broken at failures."""
    x = to_display(axis, axis_values(panel.dataset, axis))
    order = np.argsort(x)
    values = to_display(quantity, _shown(panel, quantity))[order]
    judged = panel.judged.isel({axis: order})
    x = x[order]
    style = series_style(0)
    (handle,) = ax.plot(x, values, color=style["color"], marker="o")
    legend["completed"] = handle
    past = np.isfinite(values) & ~judged["passes"].values
    if past.any():
        (handle,) = ax.plot(x[past], values[past], linestyle="none", marker="x", color="black", markersize=7)
        legend["completed, but past a limit"] = handle
    limit = limits_of(panel.judged).get(quantity)
    if limit is not None:
        legend[f"limit {display_text(quantity, limit)}"] = ax.axhline(
            float(to_display(quantity, limit)), color="black", linestyle=LIMIT_LINES[quantity], linewidth=1.0
        )
    if not np.isfinite(values).any():
        ax.set_ylim(0.0, 1.0)
        ax.set_yticks([])
        ax.text(0.5, 0.6, f"No completed case has a value of {long_name(quantity)}.", transform=ax.transAxes,
                ha="center", wrap=True)  # fmt: skip
        legend.pop("completed")
    bottom = np.full(x.size, ax.get_ylim()[0])
    mark_failures(ax, x, bottom, judged["outcome"].values, legend)
    ax.set_xlabel(axis_label(axis))
    ax.set_ylabel(axis_label(quantity))


def _single(ax: Axes, panel: Panel, quantity: str) -> None:
    """No axis left: say the one case in words."""
    value = float(_shown(panel, quantity))
    outcome = Outcome(int(panel.judged["outcome"])).name.replace("_", " ")
    judged = "passes" if bool(panel.judged["passes"]) else "does not pass"
    said = display_text(quantity, value) if np.isfinite(value) else "no value"
    nothing_to_draw(ax, f"One case.\n{long_name(quantity)}: {said}\nHow it ended: {outcome}; {judged}.")


def _scatter(ax: Axes, panel: Panel, quantity: str, axes: Sequence[str], norm: Any, legend: dict[str, Any]) -> Any:
    """Samples: one dot a case, filled where it passes, crossed where it is past a limit."""
    from matplotlib.cm import ScalarMappable

    if len(axes) < 2:
        nothing_to_draw(ax, "Fewer than two sampled inputs are numbers: see the tables.")
        return None
    x, y = (to_display(name, panel.dataset[name].values) for name in axes)
    values = to_display(quantity, _shown(panel, quantity))
    passes, codes = panel.judged["passes"].values, panel.judged["outcome"].values
    done = np.isfinite(values)
    for here, size, edge, words in ((done & passes, 22, "black", "passes"), (done & ~passes, 22, "none", "")):
        if here.any():
            handle = ax.scatter(x[here], y[here], c=values[here], norm=norm, s=size, edgecolors=edge, linewidths=0.6)
            if words:
                legend.setdefault(words, handle)
    past = done & ~passes
    if past.any():
        (cross,) = ax.plot(x[past], y[past], linestyle="none", marker="x", color="black", markersize=4.0,
                           markeredgewidth=0.7)  # fmt: skip
        legend.setdefault("completed, but past a limit", cross)
    for span, axis in ((x, ax.xaxis), (y, ax.yaxis)):
        if span.min() > 0 and span.max() / span.min() >= 10:
            _log_ticks(axis, span)
    mark_failures(ax, x, y, codes, legend)
    ax.set_xlabel(axis_label(axes[0]))
    ax.set_ylabel(axis_label(axes[1]))
    return ScalarMappable(norm=norm)
