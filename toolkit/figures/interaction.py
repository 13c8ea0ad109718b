"""Two inputs together: means over one, a line for each value of the other; and the spread over one input (floor 6)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, series_style, sheet
from toolkit.findings.display import axis_label, display_text, long_name, to_display
from toolkit.findings.reading import axis_is_numeric, axis_values
from toolkit.findings.sensitivity.responses import COMPLETED, PASSES

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_interaction", "draw_spread"]

MOST_LINES = 6
"""Most values of the second input that are drawn, spread over all."""
MOST_SPREADS = 4
"""Most responses whose spread one figure shows; those first named."""


def _across(ax: Any, found: xr.Dataset, axis: str) -> NDArray[np.float64]:
    """Label an axis, and the places of its values: as they are, or one after the other for words."""
    ax.set_xlabel(axis_label(axis))
    if axis_is_numeric(found, axis):
        return to_display(axis, found[axis].values)
    words = [display_text(axis, value) for value in axis_values(found, axis)]
    ax.set_xticks(range(len(words)), words)
    ax.set_xlim(-0.4, len(words) - 0.6)
    return np.arange(len(words), dtype=np.float64)


def draw_interaction(found: xr.Dataset, *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw means over the first input, a line for each value of the second, and the share completed.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.interaction.interaction`.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.
    """
    first, second = (str(dim) for dim in found["mean"].dims)
    name = str(found.attrs["quantity"])
    with drawing():
        made = sheet(title, caption, height_mm=92.0)
        if not np.isfinite(found["mean"].values).any():
            nothing_to_draw(made.panel.subplots(), "No case was run that has a value.")
            return made
        upper, lower = made.panel.subplots(2, 1, sharex=True, gridspec_kw={"height_ratios": [2.4, 1.0]})
        size = found.sizes[second]
        values = axis_values(found, second)
        x = _across(lower, found, first)
        for place, at in enumerate(np.unique(np.linspace(0, size - 1, min(MOST_LINES, size)).round().astype(int))):
            here, style = found.isel({second: int(at)}), series_style(place)
            mean, low, high = (to_display(name, here[key].values) for key in ("mean", "low", "high"))
            upper.plot(x, mean, label=display_text(second, values[at]), **style)
            there = np.isfinite(low)
            upper.vlines(x[there], low[there], high[there], color=style["color"], linewidth=1.0)
            lower.plot(x, 100.0 * here["share_completed"].values, **style)
        upper.set_ylabel(f"mean of\n{axis_label(name)}")
        lower.set_ylabel("completed [%]")
        lower.set_ylim(-4.0, 104.0)
        for ax in (upper, lower):
            ax.grid(linewidth=0.3, color="#bbbbbb")
        share = float(found["interaction_share"])
        if np.isfinite(share):
            upper.set_title(f"{100.0 * share:.0f} % of the variance between these means is interaction", fontsize=7.5)
        made.panel.legend(*upper.get_legend_handles_labels(), title=long_name(second), loc="outside right center",
                          handlelength=3.0)  # fmt: skip
    return made


def draw_spread(spread: xr.Dataset, *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw quantiles of outcomes over one input, with the coefficients over their spread.

    Parameters
    ----------
    spread : xarray.Dataset
        From :func:`toolkit.findings.sensitivity.spread_over`.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.
    """
    along = str(spread.attrs["along"])
    names = [str(n) for n in spread["quantity"].values if n not in (COMPLETED, PASSES)][:MOST_SPREADS]
    with drawing():
        made = sheet(title, caption, height_mm=112.0)
        if not names:
            nothing_to_draw(made.panel.subplots(), "No response applies to all cases.")
            return made
        columns = min(len(names), 2)
        axes = made.panel.subplots(-(-len(names) // columns), columns, squeeze=False)
        for spare in axes.ravel()[len(names) :]:
            spare.set_axis_off()
        for ax, name in zip(axes.ravel(), names, strict=False):
            here = spread.sel(quantity=name)
            x = _across(ax, spread, along)
            low, lower, middle, upper, high = (to_display(name, one) for one in here["value"].values)
            wide = {"linewidth": 0.0} if axis_is_numeric(spread, along) else {"linewidth": 0.0, "step": "mid"}
            ax.fill_between(x, low, high, color="#cfdde9", label="90 of 100 draws", **wide)
            ax.fill_between(x, lower, upper, color="#7fa8c9", label="50 of 100 draws", **wide)
            ax.plot(x, middle, label="median", **series_style(0))
            ax.plot(x, to_display(name, here["nominal"].values), label="coefficients as they stand",
                    **{**series_style(3), "markerfacecolor": "white"})  # fmt: skip
            failed = 100.0 * spread["failed_share"].values
            ax.set_title(axis_label(name) + ("; top: not completed" if failed.any() else ""), fontsize=7.5)
            ax.grid(linewidth=0.3, color="#bbbbbb")
            if failed.any():
                ax.margins(y=0.2)
                for place, share in zip(x, failed, strict=True):
                    ax.text(place, 0.98, f"{share:.0f} %", transform=ax.get_xaxis_transform(), ha="center", va="top",
                            fontsize=5.8)  # fmt: skip
        made.panel.legend(*axes[0, 0].get_legend_handles_labels(), loc="outside lower center", ncols=4)
    return made
