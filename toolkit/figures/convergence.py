"""Convergence in the number of samples and in the time step (floor 6)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, series_style, sheet
from toolkit.findings.display import long_name, to_display
from toolkit.findings.sensitivity.responses import response_label

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.motion.convergence import Accuracy

__all__ = ["draw_sample_size", "draw_step"]

MOST_SHOWN = 3
"""Most responses that the figure on samples shows; those first named."""
_SMALLEST = 1e-9
"""Relative difference at which the axis ends; less is drawn there."""


def draw_sample_size(running: xr.Dataset, *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw running means of all replicates, and how their error falls.

    Parameters
    ----------
    running : xarray.Dataset
        From :func:`toolkit.findings.sensitivity.running_means`.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.
    """
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

    names = [str(name) for name in running["quantity"].values][:MOST_SHOWN]
    with drawing():
        made = sheet(title, caption, height_mm=106.0)
        if not names:
            nothing_to_draw(made.panel.subplots(), "No response applies to all cases.")
            return made
        axes = made.panel.subplots(2, len(names), sharex=True, squeeze=False)
        count = running["count"].values
        for column, name in enumerate(names):
            here, (upper, lower) = running.sel(quantity=name), axes[:, column]
            low, high, mean = (to_display(name, here[key].values) for key in ("low", "high", "mean"))
            upper.fill_between(
                count, low, high, color="#7fa8c9", alpha=0.6, linewidth=0.0, label="interval of the mean"
            )
            for replicate in to_display(name, here["value"].values):
                (one,) = upper.plot(count, replicate, color="#666970", linewidth=0.5)
            one.set_label("one sequence")
            upper.plot(count, mean, label="mean of all sequences", **series_style(0))
            upper.set_title(response_label(name), fontsize=7.5)
            error, random = (to_display(name, here[key].values) for key in ("error", "random_error"))
            if (error > 0.0).any():
                lower.plot(count, error, label="error of one sequence", **series_style(3))
                lower.plot(count, random, label="error of as many random cases", **{**series_style(2), "marker": ""})
                lower.set_yscale("log")
                lower.yaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
                lower.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:.3g}"))
                lower.yaxis.set_minor_formatter(NullFormatter())
            else:
                nothing_to_draw(lower, "the same in\nall sequences")
            lower.set_xscale("log", base=2)
            lower.set_xticks(count, [f"{int(value)}" for value in count])
            lower.set_xlabel("samples")
            for ax in (upper, lower):
                ax.grid(linewidth=0.3, color="#bbbbbb")
                ax.tick_params(labelsize=6.2)
        axes[0, 0].set_ylabel("running mean")
        axes[1, 0].set_ylabel("its error")
        handles = {w: h for ax in axes.ravel() for h, w in zip(*ax.get_legend_handles_labels(), strict=True)}
        made.panel.legend(list(handles.values()), list(handles), loc="outside lower center", ncols=3)
    return made


def draw_step(rows: Sequence[Accuracy], *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw what a refined step changes: median and the 90 and 99 of 100 of cases, by run and outcome.

    Parameters
    ----------
    rows : sequence of Accuracy
        From :mod:`toolkit.motion.convergence`.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.
    """
    from toolkit.motion.convergence import TOLERANCE

    runs = list(dict.fromkeys(row.run for row in rows))
    outcomes = list(dict.fromkeys(row.outcome for row in rows if row.cases))
    with drawing():
        made = sheet(title, caption, height_mm=24.0 + 13.0 * max(len(outcomes), 3))
        ax: Any = made.panel.subplots()
        if not any(row.cases for row in rows):
            nothing_to_draw(ax, "No case has an outcome to compare.")
            return made
        for place, run in enumerate(runs):
            style = series_style(place)
            for row in (row for row in rows if row.run == run and row.cases):
                y = len(outcomes) - 1 - outcomes.index(row.outcome) - 0.7 * ((place + 0.5) / len(runs) - 0.5)
                middle, nine, last = np.maximum((row.median, row.percentile_90, row.percentile_99), _SMALLEST)
                ax.plot([middle, last], [y, y], color=style["color"], linewidth=1.0, linestyle=style["linestyle"])
                ax.plot(middle, y, color=style["color"], marker=style["marker"], linestyle="none", label=run)
                ax.plot(nine, y, color=style["color"], marker="|", markersize=7, linestyle="none")
                ax.plot(
                    last, y, color=style["color"], marker=style["marker"], markerfacecolor="white", linestyle="none"
                )
        ax.set_xscale("log")
        ax.set_yticks(range(len(outcomes))[::-1], [long_name(name) for name in outcomes])
        ax.set_ylim(-0.6, len(outcomes) - 0.4)
        ax.set_xlabel("relative difference against the finest step: filled median, bar 90, open 99 of 100 cases")
        ax.grid(axis="x", linewidth=0.3, color="#bbbbbb")
        mark = ax.axvline(TOLERANCE, color="black", linewidth=0.9, linestyle=(0, (2, 2)))
        handles = dict(zip(*reversed(ax.get_legend_handles_labels()), strict=True))
        handles[f"{100.0 * TOLERANCE:g} %"] = mark
        made.panel.legend(list(handles.values()), list(handles), loc="outside lower center", ncols=5)
    return made
