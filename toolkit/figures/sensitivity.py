"""Bars of screening and of Sobol' indices, one panel a response (floor 6)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, sheet, text_width
from toolkit.findings.display import display_unit, long_name, to_display
from toolkit.findings.sensitivity.responses import response_label

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["MOST_PANELS", "draw_indices", "draw_screening"]

MOST_PANELS = 6
"""Most responses that one figure shows; those first named."""
_COLUMNS = 3
_LABEL_POINTS = 6.5
_DARK, _LIGHT = "#00224e", "#e6d37a"


def draw_indices(found: xr.Dataset, *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw first and total Sobol' indices with their intervals.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.sensitivity.sobol`.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.

    Returns
    -------
    Sheet
        Inputs in the order of their largest total index; the share of values
        that are stand-ins beside each response.
    """
    with drawing():
        made, axes, factors, names = _panels(found, "total_order", title, caption)
        for ax, name in zip(axes, names, strict=False):
            here = found.sel(quantity=name, factor=factors)
            rows = np.arange(len(factors), dtype=np.float64)[::-1]
            if not np.isfinite(here["total_order"].values).any():
                _nothing_in_panel(ax, f"{_title(name)}\nis the same in all cases:\nnothing to share out.")
                continue
            for order, shift, style, words in (
                ("total_order", 0.19, {"facecolor": _LIGHT, "hatch": "////"}, "total: with all interactions"),
                ("first_order", -0.19, {"facecolor": _DARK}, "first: alone"),
            ):
                ax.barh(rows + shift, here[order].values, height=0.36, edgecolor="black", linewidth=0.5, label=words,
                        **style)  # fmt: skip
                ax.hlines(rows + shift, here[f"{order}_low"].values, here[f"{order}_high"].values, color="#d55e00",
                          linewidth=1.3, zorder=4)  # fmt: skip
            ax.axvline(0.0, color="black", linewidth=0.6)
            ax.axvline(1.0, color="black", linewidth=0.5, linestyle=(0, (2, 2)))
            _keep_shares_in_sight(ax)
            _finish(ax, name, "share of variance", here)
        _legend(made, axes, f"{100.0 * float(found.attrs.get('level', np.nan)):g} % interval")
    return made


def draw_screening(found: xr.Dataset, *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw mean sizes of elementary effects with their intervals, and deviations.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.sensitivity.screen`.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.
    """
    with drawing():
        made, axes, factors, names = _panels(found, "mean_size", title, caption)
        for ax, name in zip(axes, names, strict=False):
            here = found.sel(quantity=name, factor=factors)
            rows = np.arange(len(factors), dtype=np.float64)[::-1]
            size, low, high, deviation = (
                to_display(name, here[key].values)
                for key in ("mean_size", "mean_size_low", "mean_size_high", "deviation")
            )
            ax.barh(rows, size, height=0.62, color="#7fa8c9", edgecolor="black", linewidth=0.5, label="mean size")
            ax.hlines(rows, low, high, color="#d55e00", linewidth=1.3, zorder=4)
            ax.plot(deviation, rows, linestyle="none", marker="D", markersize=3.2, color="black",
                    markerfacecolor="white", label="deviation")  # fmt: skip
            unit = display_unit(name)
            _finish(ax, name, "effect of its whole width" + (f" [{unit}]" if unit else ""), here)
        _legend(made, axes, f"{100.0 * float(found.attrs.get('level', np.nan)):g} % interval")
    return made


def _panels(
    found: xr.Dataset, key: str, title: str, caption: Sequence[str]
) -> tuple[Sheet, list[Any], list[str], list[str]]:
    """Sheet with a panel for each response, inputs ordered by their largest share of anything."""
    names = [str(name) for name in found["quantity"].values][:MOST_PANELS]
    size = np.abs(found[key].sel(quantity=names).values)
    top = np.nan_to_num(size).max(axis=1, keepdims=True, initial=0.0)
    share = np.divide(size, top, out=np.zeros(size.shape), where=top > 0).max(axis=0, initial=0.0)
    factors = [str(found["factor"].values[k]) for k in np.argsort(-np.nan_to_num(share), kind="stable")]
    columns = min(_COLUMNS, max(len(names), 1))
    rows = max(-(-len(names) // columns), 1)
    made = sheet(title, caption, height_mm=16.0 + rows * (15.0 + 5.8 * max(len(factors), 3)))
    axes = made.panel.subplots(rows, columns, sharey=True, squeeze=False)
    for spare in axes.ravel()[len(names) :]:
        spare.set_axis_off()
    if not names:
        nothing_to_draw(axes[0, 0], "No response applies to all cases.")
    for first in axes[:, 0] if names else []:
        first.set_yticks(np.arange(len(factors))[::-1], [_folded(long_name(f)) for f in factors],
                         fontsize=_LABEL_POINTS, linespacing=0.95)  # fmt: skip
    return made, list(axes.ravel()), factors, names


SHARES_SHOWN = (-0.5, 1.5)
"""Ends of the scale of shares at the most: they lie within 0 and 1, and what runs far beyond is error of the sample."""


def _keep_shares_in_sight(ax: Any) -> None:
    """End the scale where intervals of few samples would flatten the bars, and say so."""
    low, high = ax.get_xlim()
    if low < SHARES_SHOWN[0] or high > SHARES_SHOWN[1]:
        ax.set_xlim(max(low, SHARES_SHOWN[0]), min(high, SHARES_SHOWN[1]))
        ax.text(0.98, 0.02, "runs on beyond the scale", transform=ax.transAxes, ha="right", va="bottom", fontsize=5.5,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0}, zorder=5)  # fmt: skip


def _nothing_in_panel(ax: Any, why: str) -> None:
    """As `nothing_to_draw`, without taking the names of the inputs from all panels, which share their axis."""
    ax.set_xticks([])
    ax.text(0.5, 0.5, why, transform=ax.transAxes, ha="center", va="center", fontsize=8.0)


def _title(name: str) -> str:
    return response_label(name).split(" [")[0].removesuffix(" (1, 0)")


def _folded(words: str, width: float = 112.0) -> str:
    """Words on two lines where they are wider than a label may be [points]."""
    if text_width(words, _LABEL_POINTS) <= width:
        return words
    parts = words.split(" ")
    half = min(range(1, len(parts)), key=lambda k: abs(len(" ".join(parts[:k])) - len(" ".join(parts[k:]))))
    return " ".join(parts[:half]) + "\n" + " ".join(parts[half:])


def _finish(ax: Any, name: str, label: str, here: xr.Dataset) -> None:
    ax.set_xlabel(label, fontsize=6.8)
    share = 100.0 * float(here["stood_in_share"])
    ax.set_title(_folded(_title(name), 92.0) + (f"\n({share:.0f} % stand-ins)" if share else ""), fontsize=7.2)
    ax.tick_params(axis="x", labelsize=6.2)
    ax.grid(axis="x", linewidth=0.3, color="#bbbbbb")
    ax.set_axisbelow(True)
    ax.set_ylim(-0.6, here.sizes["factor"] - 0.4)


def _legend(made: Sheet, axes: Sequence[Any], interval: str) -> None:
    from matplotlib.lines import Line2D

    handles: dict[str, Any] = {}
    for ax in axes:
        for handle, words in zip(*ax.get_legend_handles_labels(), strict=True):
            handles.setdefault(words, handle)
    if handles:
        handles[interval] = Line2D([], [], color="#d55e00", linewidth=1.3)
        made.panel.legend(list(handles.values()), list(handles), loc="outside lower center", ncols=4)
