"""When a standby tug is needed: a map of bands for each failure (floor 6)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.requirement_map import label_bands, write_cells
from toolkit.figures.style import Sheet, drawing, nothing_to_draw, sheet
from toolkit.findings.display import display_text
from toolkit.findings.limits import binding_short
from toolkit.findings.standby import Standby, without_standby

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes

__all__ = ["draw_standby"]

MOST_FAILURES = 8
"""As many as there are kinds."""
_LOOK = {
    "no standby tug needed": ("#dfe8f2", ""),
    "needed with smaller tugs alone": ("#c8b95a", ".."),
    "needed, save with some smaller tugs": ("#a9966b", "--"),
    "needed with every tug that may do it": ("#7d8fa8", "//"),
    "not permitted even with all well": ("#d9d9d9", "xx"),
    "not decided: not all run": ("#ffffff", ""),
}


def draw_standby(need: xr.Dataset, *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw for each failure and band whether a standby tug is needed, and from which tug on it is not.

    Parameters
    ----------
    need : xarray.Dataset
        From :func:`toolkit.findings.standby.standby_need`, on two banded
        inputs and nothing else that is kept; the first eight failures are drawn.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.

    Returns
    -------
    Sheet
        Ready to be saved.
    """
    axis, failure = str(need.attrs["axis"]), str(need.attrs["failure"])
    bands = [f"{name}_band" for name in str(need.attrs["banded"]).split()]
    words = [str(w) for w in need[failure].values][:MOST_FAILURES]
    rows = -(-len(words) // 2)
    with drawing():
        made = sheet(title, caption, height_mm=min(20.0 + 62.0 * rows, 206.0))
        if set(map(str, need["smallest_without"].dims)) != {failure, *bands} or len(bands) != 2:
            nothing_to_draw(made.panel.subplots(), "Nothing to draw: a map needs bands of two inputs.")
            return made
        panels = made.panel.subplots(rows, min(len(words), 2), squeeze=False).ravel()
        wide = (56.0 if len(words) > 1 else 112.0) / 25.4 * 72.0 / need.sizes[bands[1]]
        legend: dict[str, Any] = {}
        for place, (ax, word) in enumerate(zip(panels, words, strict=False)):
            here = need.sel({failure: word})
            written = {
                (row, column): _cell(ax, row, column, here.isel({bands[0]: row, bands[1]: column}), axis, legend)
                for row, column in np.ndindex(*(need.sizes[b] for b in bands))
            }
            write_cells(ax, written, wide)
            label_bands(ax, need, bands, wide)
            if place + 2 < len(words):  # the panel below has the same bands
                ax.set_xlabel("")
                ax.tick_params(labelbottom=False)
            if place % 2:
                ax.set_ylabel("")
                ax.tick_params(labelleft=False)
            ax.set_title(word.replace("_", " "))
        for ax in panels[len(words) :]:
            ax.remove()
        made.panel.legend(
            list(legend.values()), list(legend), loc="outside lower center", ncols=2, handlelength=3.0, handleheight=1.3
        )
    return made


def _cell(ax: Axes, row: int, column: int, here: xr.Dataset, axis: str, legend: dict[str, Any]) -> list[str]:
    """Fill one cell, and say what is to be written into it."""
    from matplotlib.patches import Patch, Rectangle

    codes = here["need"].values
    limit = float(here["smallest_without"])
    lines: tuple[str, ...]
    if not (codes != int(Standby.not_permitted)).any():
        kind, lines = "not permitted even with all well", ("-",)
    elif not np.isin(codes, [int(Standby.needed), int(Standby.not_run)]).any():
        kind, lines = "no standby tug needed", ("no",)
    elif not math.isnan(limit):
        kind = "needed with smaller tugs alone"
        lines = (f"below {display_text(axis, limit)}", _reason(here))
    elif (codes == int(Standby.needed)).any() and (without := without_standby(here)):
        kind = "needed, save with some smaller tugs"
        lines = (f"not {display_text(axis, without[0]) if len(without) == 1 else 'all'}", _reason(here))
    elif (codes == int(Standby.needed)).any():
        kind, lines = "needed with every tug that may do it", ("yes", _reason(here))
    else:
        kind, lines = "not decided: not all run", ("?",)
    colour, hatch = _LOOK[kind]
    box: dict[str, Any] = {"facecolor": colour, "edgecolor": "#6a6a6a", "hatch": hatch}
    ax.add_patch(Rectangle((column - 0.5, row - 0.5), 1, 1, linewidth=0.0, zorder=1, **box))
    legend.setdefault(kind, Patch(linewidth=0.4, **box))
    return [line for line in lines if line]


def _reason(here: xr.Dataset) -> str:
    """What most tugs that need the standby tug fail for with the failure."""
    codes = here["binds"].values[here["need"].values == int(Standby.needed)]
    if not codes.size:
        return ""
    values, counts = np.unique(codes, return_counts=True)
    return binding_short(int(values[np.argmax(counts)]))
