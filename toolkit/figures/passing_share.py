"""Share of draws that pass over wind or another input, with the interval so few draws leave open (floor 6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, series_style, sheet
from toolkit.findings.display import axis_label, display_text, to_display

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_passing_share"]


def draw_passing_share(
    found: Mapping[str, xr.Dataset],
    *,
    title: str,
    caption: Sequence[str],
    along: str = "wind_speed",
    wanted: float | None = None,
    limit: float | None = None,
) -> Sheet:
    """Draw shares that pass over one input, a line and a band for each part.

    Parameters
    ----------
    found : mapping
        Label to shares along `along` alone: from
        :func:`toolkit.findings.proportions.passing_share`, with intervals, or
        from :func:`toolkit.findings.share_of_runs` (as ``share_passing``),
        without; up to six.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.
    along : str
        Input along the horizontal axis.
    wanted : float, optional
        Share that is asked for, drawn as a line.
    limit : float, optional
        Largest value of `along` up to which it is reached [dataset unit], drawn
        as a line; NaN is none.

    Returns
    -------
    Sheet
        Ready to be saved.
    """
    with drawing():
        made = sheet(title, caption)
        ax: Any = made.panel.subplots()
        if not found or not any(int(one["run_count"].sum()) for one in found.values()):
            nothing_to_draw(ax, "No case has been run.")
            return made
        legend: dict[str, Any] = {}
        for place, (label, lazy) in enumerate(found.items()):
            one = lazy.compute().sortby(along)
            style = series_style(place)
            x = to_display(along, one[along].values)
            share = 100.0 * one["share" if "share" in one else "share_passing"].values
            (legend[label or "share that passes"],) = ax.plot(x, share, **style)
            if "share_low" in one:
                low, high = (100.0 * one[f"share_{end}"].values for end in ("low", "high"))
                ax.fill_between(x, low, high, color=style["color"], alpha=0.16, linewidth=0.0)
                ax.vlines(x, low, high, color=style["color"], linewidth=0.7)
        if wanted is not None:
            words = f"share asked for, {100.0 * wanted:.4g} %"
            legend[words] = ax.axhline(100.0 * wanted, color="black", linewidth=0.9, linestyle=(0, (2, 2)))
        if limit is not None and np.isfinite(limit):
            words = f"reached up to {display_text(along, limit)}"
            at = float(to_display(along, limit))
            legend[words] = ax.axvline(at, color="black", linewidth=0.9, linestyle=(0, (6, 2, 1, 2)))
        ax.set_ylim(-3.0, 103.0)
        ax.set_yticks(np.arange(0, 101, 20))
        ax.grid(axis="y", linewidth=0.3, color="#bbbbbb")
        ax.set_xlabel(axis_label(along))
        ax.set_ylabel("cases run that pass [%]")
        made.panel.legend(list(legend.values()), list(legend), loc="outside right center", handlelength=3.0)
    return made
