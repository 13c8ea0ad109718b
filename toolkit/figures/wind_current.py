"""Wind limit over current speed or another input, a line for each depth or barge (floor 6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, series_style, sheet
from toolkit.findings import EnvelopeStatus
from toolkit.findings.display import axis_label, display_unit, long_name, to_display

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_wind_current"]

_DODGE = 0.008
"""Sideways shift of neighbouring lines, as a share of the axis, so that none hides another."""


def draw_wind_current(
    found: Mapping[str, xr.Dataset],
    *,
    top: float,
    title: str,
    caption: Sequence[str],
    along: str = "current_speed",
    end: str = "end of the grid",
) -> Sheet:
    """Draw the largest wind for which all smaller pass, over current speed.

    Parameters
    ----------
    found : mapping
        Label to limits along ``current_speed`` alone, from
        :func:`toolkit.findings.wind_limit`; up to six.
    top : float
        Largest wind speed of the grid [m/s], at which the grid ends.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.
    along : str
        Input in place of the current, such as ``displacement``.
    end : str
        Words for where what was run ends.

    Returns
    -------
    Sheet
        Ready to be saved. A cross below zero: not even the lowest wind passes.
    """
    with drawing():
        made = sheet(title, caption)
        ax: Any = made.panel.subplots()
        if not found or not all(one["limit"].size for one in found.values()):
            nothing_to_draw(ax, f"No {long_name(along)} was run.")
            return made
        edge = float(to_display("wind_speed", top)) or 1.0
        legend: dict[str, Any] = {}
        span = max(float(to_display(along, one[along].values).max()) for one in found.values())
        for place, (label, lazy) in enumerate(found.items()):
            one = lazy.compute().sortby(along)
            shift = _DODGE * (span or 1.0) * (place - (len(found) - 1) / 2)
            current = to_display(along, one[along].values) + shift
            limit, status = to_display("wind_speed", one["limit"].values), one["status"].values
            style = series_style(place)
            (legend[label or "wind limit"],) = ax.plot(current, limit, **style)
            never = status == int(EnvelopeStatus.never_passes)
            if never.any():
                low = np.full(int(never.sum()), -0.035 * edge * (place + 1))
                ax.plot(current[never], low, linestyle="none", marker="x", color=style["color"], markersize=5)
                (key,) = ax.plot([], [], linestyle="none", marker="x", color="black", markersize=5)
                legend["not even the lowest wind run passes"] = key
            for here, marker, words in (
                (status == int(EnvelopeStatus.not_run), "$?$", "next speed not run: may be higher"),
                (one["not_monotone"].values & ~never, "*", "a higher speed passes again"),
            ):
                if here.any():
                    high = np.nan_to_num(limit[here]) + 0.04 * edge
                    (legend[words],) = ax.plot(current[here], high, linestyle="none", marker=marker, color="black")
        last = ax.axhline(edge, color="black", linewidth=0.9, linestyle=(0, (2, 2)))
        legend[f"{end}, {edge:.3g} {display_unit('wind_speed')}"] = last
        ax.axhline(0.0, color="black", linewidth=0.6)
        fails = any((one["status"] == int(EnvelopeStatus.never_passes)).any() for one in found.values())
        ax.set_ylim(-0.035 * edge * (len(found) + 1 if fails else 1), 1.1 * edge)
        ax.set_yticks([tick for tick in ax.get_yticks() if 0.0 <= tick <= 1.05 * edge])
        ax.grid(axis="y", linewidth=0.3, color="#bbbbbb")
        ax.set_xlabel(axis_label(along))
        ax.set_ylabel(f"wind limit [{display_unit('wind_speed')}]")
        legend = {**{label: legend[label] for label in found if label in legend}, **legend}
        made.panel.legend(list(legend.values()), list(legend), loc="outside right center", handlelength=3.0)
    return made
