"""Peak tension against line length, with breaking load and the fitting's safe working load (floor 6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.style import OUTCOME_MARKERS, Sheet, drawing, nothing_to_draw, series_style, sheet
from toolkit.findings import limits_of
from toolkit.findings.display import axis_label, to_display
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_line_length"]

_RATIOS = (
    ("tension_over_mbl", "peak, % of the line's MBL"),
    ("tension_over_swl", "3 s mean, % of the fitting's SWL"),
)


def draw_line_length(series: Mapping[str, xr.Dataset], *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw peak tension over line length, and as shares of MBL and SWL.

    Parameters
    ----------
    series : mapping
        Label to results along ``line_length`` alone; up to four.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.

    Returns
    -------
    Sheet
        Ready to be saved. Lengths whose case did not complete carry the symbol
        of their outcome below zero and no value.
    """
    with drawing():
        made = sheet(title, caption, height_mm=120.0)
        first = next(iter(series.values()), None)
        if first is None or not first["outcome"].size:
            nothing_to_draw(made.panel.subplots(), "No line length was run.")
            return made
        axes = made.panel.subplots(2, 2, sharex="col", gridspec_kw={"width_ratios": [1, 1]})
        grid = axes[0, 0].get_gridspec()
        for ax in axes[:, 0]:
            ax.remove()
        tension, mbl, swl = made.panel.add_subplot(grid[:, 0]), axes[0, 1], axes[1, 1]
        legend: dict[str, Any] = {}
        codes = [one["outcome"].values for one in series.values()]
        for place, (label, one) in enumerate(series.items()):
            length = to_display("line_length", one["line_length"].values)
            order = np.argsort(length)
            style = series_style(place)
            (legend[f"{label}, peak" if label else "peak"],) = tension.plot(
                length[order], to_display("peak_tension", _completed(one, "peak_tension"))[order], **style
            )
            (legend[f"{label}, 3 s mean" if label else "peak 3 s mean"],) = tension.plot(
                length[order], to_display("peak_tension_3s", _completed(one, "peak_tension_3s"))[order],
                **{**style, "linewidth": 0.7, "markerfacecolor": "white"},
            )  # fmt: skip
            for ax, (name, _) in zip((mbl, swl), _RATIOS, strict=True):
                ax.plot(length[order], 100.0 * _completed(one, name)[order], **style)
        limits = limits_of(first)
        for ax, (name, words) in zip((mbl, swl), _RATIOS, strict=True):
            if name in limits:
                legend["limit"] = ax.axhline(100.0 * limits[name], color="black", linestyle=(0, (2, 2)), linewidth=1.0)
            legend["100 %"] = ax.axhline(100.0, color="black", linewidth=0.8)
            ax.set_ylim(0.0, max(ax.get_ylim()[1], 105.0))
            ax.set_ylabel(words)
        tension.set_ylim(0.0, tension.get_ylim()[1])
        tension.set_ylabel(f"peak tension [{axis_label('peak_tension').split('[')[-1]}")
        tension.set_xlabel(axis_label("line_length"))
        tension.set_yticks([tick for tick in tension.get_yticks() if tick >= 0.0])
        swl.set_xlabel(axis_label("line_length"))
        tension.set_ylim(0.0, tension.get_ylim()[1])
        _mark_failures(tension, series, codes, legend)
        if not any(np.isfinite(_completed(one, "peak_tension")).any() for one in series.values()):
            tension.text(0.5, 0.6, "No completed case has a line tension.", transform=tension.transAxes, ha="center")
        made.panel.legend(list(legend.values()), list(legend), loc="outside lower center", ncols=3, handlelength=3.0)
    return made


def _completed(one: xr.Dataset, name: str) -> NDArray[np.float64]:
    done = one["outcome"].values == int(Outcome.completed)
    if name not in one:
        return np.full(done.shape, np.nan)
    return np.where(done, np.asarray(one[name].values, dtype=np.float64), np.nan)


def _mark_failures(
    ax: Any, series: Mapping[str, xr.Dataset], codes: Sequence[NDArray[Any]], legend: dict[str, Any]
) -> None:
    """Symbols of failed cases below zero tension, one row a series."""
    ax.axhline(0.0, color="black", linewidth=0.6)
    row = 0.045 * ax.get_ylim()[1]
    for place, (one, ended) in enumerate(zip(series.values(), codes, strict=True)):
        length = to_display("line_length", one["line_length"].values)
        for outcome in Outcome:
            here = ended == int(outcome)
            if outcome is Outcome.completed or not here.any():
                continue
            (handle,) = ax.plot(
                length[here], np.full(int(here.sum()), -row * (place + 0.5)), linestyle="none",
                marker=OUTCOME_MARKERS[outcome.name], color=series_style(place)["color"], markerfacecolor="none",
            )  # fmt: skip
            ax.set_ylim(bottom=-row * len(series))
            legend.setdefault(outcome.name.replace("_", " "), handle)
