"""Push against pull: time against swept radius, one mark a paired case (floor 6)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, series_style, sheet
from toolkit.findings.display import axis_label, display_unit, long_name, to_display

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_pairs"]

MOST_JOINED = 60
"""Most pairs whose two cases are joined by a line."""


def draw_pairs(
    pairs: xr.Dataset,
    *,
    horizontal: str = "time_to_steady",
    vertical: str = "swept_radius_all",
    title: str,
    caption: Sequence[str],
) -> Sheet:
    """Draw the trade-off of two ways of doing the same job.

    Parameters
    ----------
    pairs : xarray.Dataset
        From :func:`toolkit.findings.pair_along`.
    horizontal, vertical : str
        Outcomes on the axes; less is better of both.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.

    Returns
    -------
    Sheet
        Left, both cases of every pair of which both completed; right, their
        differences, with the share of pairs in each quarter.
    """
    first, second = (str(pairs.attrs[key]).replace("_", " ") for key in ("first", "second"))
    values = {
        (name, side): to_display(name, pairs[f"{name}_{side}"].values.ravel())
        for name in (horizontal, vertical)
        for side in ("first", "second")
    }
    whole = np.all([np.isfinite(v) for v in values.values()], axis=0)
    with drawing():
        made = sheet(title, caption)
        if not whole.any():
            counts = ", ".join(
                f"{words} in {int(pairs[key].sum())}"
                for key, words in (
                    ("only_first", f"only {first}"), ("only_second", f"only {second}"), ("neither", "neither"),
                    ("not_run", "not run"),
                )
            )  # fmt: skip
            nothing_to_draw(made.panel.subplots(), f"No pair has both cases completed:\n{counts}.")
            return made
        trade, difference = made.panel.subplots(1, 2)
        x = [values[horizontal, side][whole] for side in ("first", "second")]
        y = [values[vertical, side][whole] for side in ("first", "second")]
        if x[0].size <= MOST_JOINED:
            trade.plot(np.array(x), np.array(y), color="#999999", linewidth=0.5, zorder=1)
        for place, name in enumerate((first, second)):
            style = {**series_style((0, 3)[place]), "linestyle": "none"}
            trade.plot(x[place], y[place], markerfacecolor=style["color"] if place == 0 else "white", label=name,
                       markersize=3.5 if x[0].size <= MOST_JOINED else 2.2, markeredgewidth=0.8 if x[0].size <=
                       MOST_JOINED else 0.4, alpha=0.85, zorder=3 - place, **style)  # fmt: skip
        trade.set_xlabel(axis_label(horizontal))
        trade.set_ylabel(axis_label(vertical))
        trade.set_title("both cases of each pair")
        _differences(difference, x[1] - x[0], y[1] - y[0], (horizontal, vertical), (first, second))
        handles, labels = trade.get_legend_handles_labels()
        made.panel.legend(handles, labels, loc="outside lower center", ncols=2)
    return made


def _differences(ax: Any, dx: Any, dy: Any, names: tuple[str, str], ways: tuple[str, str]) -> None:
    """Differences, second less first, and the share of pairs in each quarter."""
    first, second = ways
    ax.axhline(0.0, color="black", linewidth=0.8)
    ax.axvline(0.0, color="black", linewidth=0.8)
    ax.plot(dx, dy, linestyle="none", marker="o", markersize=3.0, color="#00224e", alpha=0.6)
    reach_x, reach_y = (1.35 * max(float(np.abs(d).max()), 1e-9) for d in (dx, dy))
    ax.set_xlim(-reach_x, reach_x)
    ax.set_ylim(-reach_y, reach_y)
    for right in (False, True):
        for upper in (False, True):
            here = ((dx > 0) == right) & ((dy > 0) == upper)
            time = "slower" if right else "not slower"
            room = "wider" if upper else "not wider"
            ax.text(
                0.97 if right else 0.03, 0.98 if upper else 0.02,
                f"{second} {time},\n{room}: {100 * here.mean():.0f} %",
                transform=ax.transAxes, ha="right" if right else "left", va="top" if upper else "bottom", fontsize=6.0,
            )  # fmt: skip
    ax.set_title(f"{second} less {first}")
    for name, setter in zip(names, (ax.set_xlabel, ax.set_ylabel), strict=True):
        unit = display_unit(name)
        setter(f"difference of {long_name(name)}" + (f" [{unit}]" if unit else ""))
