"""Map of where each of two configurations does better (floor 6)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.style import COLOUR_MAP, Sheet, drawing, nothing_to_draw, sheet
from toolkit.findings.display import axis_label, display_text, to_display
from toolkit.findings.reading import axis_is_numeric, axis_values
from toolkit.findings.win_map import Better

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_win_map"]

MOST_LABELLED = 9
"""Most columns and rows for which numbers are written into the cells."""

_HATCHES = {
    Better.first: "",
    Better.second: "///",
    Better.even: "..",
    Better.neither_completes: "xx",
    Better.not_run: "--",
}


def draw_win_map(found: xr.Dataset, *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw the net preference over two axes.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.win_map.win_map` over two axes.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.

    Returns
    -------
    Sheet
        Cells of one size; shade and number: net preference, from all for the
        second to all for the first; hatching: who does better; numbers bold
        where a test of signs supports it, else in brackets.
    """
    down, across = (str(dim) for dim in found["better"].dims)
    with drawing():
        made = sheet(title, caption, height_mm=104.0)
        ax: Any = made.panel.subplots()
        better = found["better"].values
        if not (better != int(Better.not_run)).any():
            nothing_to_draw(ax, "No pair was run.")
            return made
        legend = _cells(made, ax, found)
        for name, ticks, size in ((across, ax.set_xticks, better.shape[1]), (down, ax.set_yticks, better.shape[0])):
            ticks(range(size), _ticks(found, name))
        ax.set_xlabel(axis_label(across))
        ax.set_ylabel(axis_label(down))
        made.panel.legend(list(legend.values()), list(legend), loc="outside lower center", ncols=3)
    return made


def _cells(made: Sheet, ax: Any, found: xr.Dataset) -> dict[str, Any]:
    """Shades, hatching and numbers; returns what they mean."""
    from matplotlib.patches import Patch, Rectangle

    first, second = (str(found.attrs[k]).replace("_", " ") for k in ("first", "second"))
    words = {
        Better.first: f"{first} does better", Better.second: f"{second} does better", Better.even: "even",
        Better.neither_completes: "neither ever completes", Better.not_run: "not run",
    }  # fmt: skip
    better, net = found["better"].values, 100.0 * found["net_preference"].values
    hidden = np.isin(better, (int(Better.not_run), int(Better.neither_completes)))
    shown = ax.imshow(np.where(hidden, np.nan, net), origin="lower", aspect="auto", cmap=COLOUR_MAP, vmin=-100.0,
                      vmax=100.0, interpolation="nearest")  # fmt: skip
    legend: dict[str, Any] = {}
    written = max(better.shape) <= MOST_LABELLED
    for (row, column), code in np.ndenumerate(better):
        kind = Better(int(code))
        dark = not hidden[row, column] and net[row, column] < 0.0
        if _HATCHES[kind]:
            ax.add_patch(
                Rectangle((column - 0.5, row - 0.5), 1.0, 1.0, fill=False, linewidth=0.0, hatch=_HATCHES[kind],
                          edgecolor="white" if dark else "black", alpha=0.6)
            )  # fmt: skip
        face = "#d9cf8a" if kind is Better.first else "#5b6b88" if kind is Better.second else "white"
        legend.setdefault(
            words[kind],
            Patch(facecolor=face, edgecolor="white" if kind is Better.second else "black", linewidth=0.4,
                  hatch=_HATCHES[kind]),
        )  # fmt: skip
        if hidden[row, column]:
            continue
        sure = bool(found["supported"].values[row, column])
        if written:
            number = f"{net[row, column]:+.0f}"
            ax.text(column, row, number if sure else f"({number})", ha="center", va="center", fontsize=6.5, zorder=6,
                    fontweight="bold" if sure else "normal",
                    bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.9})  # fmt: skip
        elif not sure:
            (dot,) = ax.plot(column, row, linestyle="none", marker="o", markersize=2.5, markerfacecolor="white",
                             markeredgecolor="black", markeredgewidth=0.4)  # fmt: skip
            legend.setdefault("not supported by signs", dot)
    bar = made.figure.colorbar(shown, ax=ax, pad=0.02, aspect=30)
    bar.set_label(f"net preference [% of pairs]: + {first}, - {second}", fontsize=7.0)
    return legend


def _ticks(found: xr.Dataset, name: str) -> list[str]:
    values = axis_values(found, name)
    if axis_is_numeric(found, name):
        return [f"{float(to_display(name, value)):.4g}" for value in values]
    return [display_text(name, value) for value in values]
