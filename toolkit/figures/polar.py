"""Wind limit by the direction the wind comes from: north up, clockwise (floor 6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, series_style, sheet
from toolkit.findings import EnvelopeStatus
from toolkit.findings.display import display_unit, to_display

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_polar", "sectors"]


def sectors(directions: NDArray[np.float64]) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Order directions round the compass and give each the sector half-way to its neighbours.

    Parameters
    ----------
    directions : ndarray, shape (n,)
        Bearings [degree]; 360 is the same as 0, of which the first is kept.

    Returns
    -------
    tuple of ndarray
        Positions in `directions`, shape (m,); left edges and widths of the
        sectors [degree], shape (m,). A lone direction gets 30 degrees.
    """
    bearings, places = np.unique(np.round(np.mod(directions, 360.0), 9), return_index=True)
    if bearings.size == 1:
        return places, bearings - 15.0, np.array([30.0])
    after = np.mod(np.roll(bearings, -1) - bearings, 360.0)
    before = np.roll(after, 1)
    # a sector never reaches further than to 45 degrees from the direction run
    left, right = np.minimum(before / 2, 45.0), np.minimum(after / 2, 45.0)
    return places, bearings - left, left + right


def draw_polar(found: Mapping[str, xr.Dataset], *, top: float, title: str, caption: Sequence[str]) -> Sheet:
    """Draw wind limits by direction, each sector at the last grid speed that passes.

    Parameters
    ----------
    found : mapping
        Label to limits along ``wind_from`` alone, from
        :func:`toolkit.findings.wind_limit`; up to four. One is drawn as
        sectors, several as stepped outlines.
    top : float
        Largest wind speed of the grid [m/s], at which the grid ends.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.

    Returns
    -------
    Sheet
        Ready to be saved.
    """
    with drawing():
        made = sheet(title, caption)
        if not found or not all(one["limit"].size for one in found.values()):
            nothing_to_draw(made.panel.subplots(), "No wind direction was run.")
            return made
        ax: Any = made.panel.subplots(subplot_kw={"projection": "polar"})
        ax.set_theta_zero_location("N")
        ax.set_theta_direction(-1)
        ax.set_thetagrids(np.arange(0, 360, 45), ["N", "NE", "E", "SE", "S", "SW", "W", "NW"])
        edge = float(to_display("wind_speed", top)) or 1.0
        ax.set_rlim(0.0, 1.08 * edge)
        # the ring in the middle stands for calm, so that "calm only" is seen as such
        ax.set_rorigin(-0.15 * edge)
        ax.set_rlabel_position(22.5)
        legend: dict[str, Any] = {}
        for place, (label, one) in enumerate(found.items()):
            _draw_one(ax, one.compute(), label, place, len(found), legend)
        circle = np.linspace(0, 2 * np.pi, 181)
        (end,) = ax.plot(circle, np.full(181, edge), color="black", linewidth=0.9, linestyle=(0, (2, 2)))
        legend[f"end of the grid, {edge:.3g} {display_unit('wind_speed')}"] = end
        ax.set_title(f"wind limit [{display_unit('wind_speed')}] by the direction wind comes FROM", pad=10)
        # names of series first, then what the marks mean
        legend = {**{label: legend[label] for label in found if label in legend}, **legend}
        made.panel.legend(list(legend.values()), list(legend), loc="outside right center", handlelength=3.0)
    return made


def _draw_one(ax: Any, one: xr.Dataset, label: str, place: int, count: int, legend: dict[str, Any]) -> None:
    style = series_style(place)
    order, left, width = sectors(np.asarray(one["wind_from"].values, dtype=np.float64))
    limit = to_display("wind_speed", one["limit"].values[order])
    status = one["status"].values[order]
    again = one["not_monotone"].values[order]
    start, span = np.deg2rad(left), np.deg2rad(width)
    middle = np.deg2rad(one["wind_from"].values[order])
    height = np.nan_to_num(limit)
    # marks of several series side by side, so that none hides another
    shift = np.deg2rad(3.0) * (place - (count - 1) / 2)
    if count == 1:
        throughout = status == int(EnvelopeStatus.passes_throughout)
        for here, hatch, words in (
            (~throughout & (status != int(EnvelopeStatus.never_passes)), "", "passes up to here"),
            (throughout, "////", "passes to the end of the grid"),
        ):
            if here.any():
                legend[words] = ax.bar(
                    start[here], height[here], span[here], align="edge", color="#9fb4d0", edgecolor="black",
                    linewidth=0.7, hatch=hatch,
                )  # fmt: skip
    else:
        for a, w, h, following in zip(start, span, height, np.roll(height, -1), strict=True):
            arc = np.linspace(a, a + w, 12)
            ax.plot(np.append(arc, a + w), np.append(np.full(12, h), following), color=style["color"],
                    linestyle=style["linestyle"])  # fmt: skip
        (legend[label],) = ax.plot(
            middle + shift, height, linestyle="none", marker=style["marker"], color=style["color"], markersize=4,
            fillstyle="full" if place < 2 else "none",
        )  # fmt: skip
    edge = ax.get_ylim()[1] / 1.08
    for here, marker, words, radius in (
        (status == int(EnvelopeStatus.never_passes), "x", "does not pass at the lowest speed run", 0.0),
        ((status == int(EnvelopeStatus.limited)) & (limit == 0.0), "o", "passes in calm only", 0.0),
        (status == int(EnvelopeStatus.not_run), "$?$", "next speed not run: may be higher", None),
        (again, "*", "a higher speed passes again", edge * 1.04),
    ):
        if here.any():
            at = height[here] + 0.03 * edge if radius is None else np.full(int(here.sum()), radius)
            (legend[words],) = ax.plot(
                middle[here] + shift, at, linestyle="none", marker=marker, color="black", markerfacecolor="white" if
                marker == "o" else "black", clip_on=False, zorder=5,
            )  # fmt: skip
