"""Paired differences of configurations with their intervals, and what became of the pairs (floor 6)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, series_style, sheet
from toolkit.findings.display import display_unit, long_name, to_display

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_difference_curve", "draw_paired_differences"]

_FATES = (
    ("both_completed", "both completed", {"facecolor": "white"}),
    ("only_first", "only the first", {"facecolor": "#7fa8c9", "hatch": "//"}),
    ("only_second", "only the second", {"facecolor": "#e6d37a", "hatch": "\\\\"}),
    ("neither", "neither", {"facecolor": "#666970"}),
    ("not_run", "not run", {"facecolor": "#eeeeee", "hatch": ".."}),
)


def _names(found: xr.Dataset) -> tuple[str, str]:
    return str(found.attrs["first"]).replace("_", " "), str(found.attrs["second"]).replace("_", " ")


def draw_paired_differences(comparisons: Sequence[xr.Dataset], *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw mean paired differences in percent of the first's mean, with two intervals.

    Parameters
    ----------
    comparisons : sequence of xarray.Dataset
        From :func:`toolkit.findings.paired.compare_results`; up to six, of the same
        outcomes.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.

    Returns
    -------
    Sheet
        Above the differences, below the shares of pairs by what became of them,
        one bar a comparison.
    """
    with drawing():
        count = max(len(comparisons), 1)
        quantities = [str(q) for q in comparisons[0]["quantity"].values] if comparisons else []
        made = sheet(title, caption, height_mm=34.0 + 9.0 * max(len(quantities), 3) + 9.0 * count)
        if not any(int(c["compared_count"].sum()) + int(c["pair_count"]) for c in comparisons):
            nothing_to_draw(made.panel.subplots(), "No pair was run.")
            return made
        upper, lower = made.panel.subplots(
            2, 1, gridspec_kw={"height_ratios": [max(len(quantities), 3), 0.6 + 0.9 * count]}
        )
        _forest(upper, comparisons, quantities)
        _fates(lower, comparisons)
    return made


def _forest(ax: Any, comparisons: Sequence[xr.Dataset], quantities: Sequence[str]) -> None:
    rows = np.arange(len(quantities), dtype=np.float64)[::-1]
    alone = len(comparisons) == 1
    for place, found in enumerate(comparisons):
        first, second = _names(found)
        scale = 100.0 / np.abs(found["mean_first"].values)
        middle, low, high, t_low, t_high = (
            scale * found[f"mean_difference{end}"].values for end in ("", "_low", "_high", "_t_low", "_t_high")
        )
        y = rows - 0.62 * ((place + 0.5) / len(comparisons) - 0.5)
        style = {**series_style(place), "linestyle": "none"}
        there = np.isfinite(middle)
        ax.hlines(y[there], low[there], high[there], color=style["color"], linewidth=2.6, alpha=0.55)
        ax.hlines(y[there], t_low[there], t_high[there], color=style["color"], linewidth=0.9)
        ax.plot(t_low[there], y[there], linestyle="none", marker="|", color=style["color"], markersize=5)
        ax.plot(t_high[there], y[there], linestyle="none", marker="|", color=style["color"], markersize=5)
        ax.plot(middle[there], y[there], label=f"{second} less {first}", markeredgecolor="white", markeredgewidth=0.4,
                **style)  # fmt: skip
        if alone:
            for row, name in zip(y, quantities, strict=True):
                _say(ax, row, name, found.sel(quantity=name))
    ax.axvline(0.0, color="black", linewidth=0.8)
    ax.set_yticks(rows, [long_name(name) for name in quantities])
    ax.set_ylim(-0.6, len(quantities) - 0.4)
    ax.set_xlabel("mean difference [% of the mean of the first]; left: the second is less")
    ax.grid(axis="x", linewidth=0.3, color="#bbbbbb")
    if alone:
        first, second = _names(comparisons[0])
        ax.set_title(f"{second} less {first}; thick: bootstrap, thin: Student's t", fontsize=7.5)
    else:
        ax.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=2, title="thick: bootstrap, thin: Student's t",
                  title_fontsize=7.0)  # fmt: skip


def _say(ax: Any, row: float, name: str, here: xr.Dataset) -> None:
    """Difference in users' units beside its row."""
    values = [float(to_display(name, here[f"mean_difference{e}"].item())) for e in ("", "_low", "_high")]
    unit = display_unit(name)
    words = "no pair compared"
    if np.isfinite(values[0]):
        shown = [f"{value:.0f}" if abs(value) >= 100.0 else f"{value:.3g}" for value in values]
        words = shown[0] + (f" {unit}" if unit else "")
        words += f" ({shown[1]} to {shown[2]})" if np.isfinite(values[1]) else ""
        words += f"\nsign flips {100.0 * float(here['share_sign_flips']):.0f} %"
    ax.annotate(words, (1.01, row), xycoords=("axes fraction", "data"), va="center", fontsize=6.2, linespacing=1.1,
                annotation_clip=False)  # fmt: skip


def _fates(ax: Any, comparisons: Sequence[xr.Dataset]) -> None:
    places = np.arange(len(comparisons))[::-1]
    left = np.zeros(len(comparisons))
    for key, words, style in _FATES:
        total = np.array([float(found["pair_count"]) for found in comparisons])
        share = 100.0 * np.array([float(found[f"{key}_count"]) for found in comparisons]) / np.maximum(total, 1.0)
        if key == "not_run" and not share.any():
            continue
        ax.barh(places, share, left=left, height=0.62, label=words, edgecolor="black", linewidth=0.6, **style)
        for place, start, width in zip(places, left, share, strict=True):
            if width >= 6.0:
                ax.text(start + 0.5 * width, place, f"{width:.0f}", ha="center", va="center", fontsize=6.5,
                        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8})  # fmt: skip
        left += share
    ax.set_yticks(places, [" /\n".join(_names(found)) for found in comparisons], fontsize=6.5)
    ax.set_xlim(0.0, 100.0)
    ax.set_ylim(-0.55, len(comparisons) - 0.45)
    ax.set_xlabel("pairs [%], by which of the two completed within the time limit")
    ax.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=5, handlelength=1.6,
              columnspacing=1.0)  # fmt: skip


def draw_difference_curve(pairs: xr.Dataset, quantity: str, *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw all paired differences in order of size, the pairs of which one failed at either end.

    Parameters
    ----------
    pairs : xarray.Dataset
        From :func:`toolkit.findings.compare.pair`.
    quantity : str
        Outcome, of which less is better.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.
    """
    first, second = _names(pairs)
    difference = to_display(quantity, pairs[f"{quantity}_difference"].values.ravel())
    difference = np.sort(difference[np.isfinite(difference)])
    only_second, only_first, neither = (int(pairs[k].sum()) for k in ("only_second", "only_first", "neither"))
    run = only_second + difference.size + only_first + neither
    with drawing():
        made = sheet(title, caption, height_mm=88.0)
        ax: Any = made.panel.subplots()
        if not run:
            nothing_to_draw(ax, "No pair was run.")
            return made
        ends = np.cumsum([0, only_second, difference.size, only_first, neither]) * 100.0 / run
        _bands(ax, ends, first, second)
        if difference.size:
            share = ends[1] + (np.arange(difference.size) + 0.5) * 100.0 / run
            ax.plot(share, difference, color="#00224e", linewidth=1.6,
                    marker="o" if difference.size < 60 else None, markersize=2.5)  # fmt: skip
            _halves(ax, share, difference, second)
        ax.axhline(0.0, color="black", linewidth=0.8)
        ax.set_xlim(0.0, 100.0)
        ax.set_xlabel(f"share of the {run:,} pairs run [%], in order of their difference")
        unit = display_unit(quantity)
        ax.set_ylabel(f"{long_name(quantity)}:\n{second} less {first}" + (f" [{unit}]" if unit else ""))
        if ax.get_legend_handles_labels()[0]:
            ax.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=3)
    return made


def _bands(ax: Any, ends: NDArray[np.float64], first: str, second: str) -> None:
    """Pairs that have no difference because one failed, or both did."""
    for k, words, style in (
        (0, f"only {second} completed", {"facecolor": "#e6d37a", "hatch": "\\\\"}),
        (2, f"only {first} completed", {"facecolor": "#7fa8c9", "hatch": "//"}),
        (3, "neither completed", {"facecolor": "#666970"}),
    ):
        width = ends[k + 1] - ends[k]
        if width > 0.0:
            ax.axvspan(ends[k], ends[k + 1], edgecolor="black", linewidth=0.5, alpha=0.8,
                       label=f"{words}: {width:.1f} %", **style)  # fmt: skip


def _halves(ax: Any, share: NDArray[np.float64], difference: NDArray[np.float64], second: str) -> None:
    """Say on either side of the zero how many pairs lie there."""
    per_pair = 100.0 / len(difference)
    for below, at in ((True, "bottom"), (False, "top")):
        part = float((difference < 0.0).sum() if below else (difference > 0.0).sum()) * per_pair
        if part:
            ax.text(0.5 * (share[0] + share[-1]), 0.03 if below else 0.97,
                    f"{second} {'less' if below else 'more'} in {part:.0f} % of the pairs that both completed",
                    transform=ax.get_xaxis_transform(), va=at, ha="center", fontsize=7.0,
                    bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5})  # fmt: skip
