"""Wind limit by the direction the wind comes from: north up, clockwise (floor 6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, sheet
from toolkit.findings import EnvelopeStatus
from toolkit.findings.display import display_unit, to_display

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_polar", "gaps", "sectors"]

NOT_RUN = "direction not run"
"""Words of the legend for parts of the compass about which nothing is known."""


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


def gaps(left: NDArray[np.float64], width: NDArray[np.float64]) -> tuple[NDArray[Any], NDArray[Any]]:
    """Parts of the compass between sectors, of which no direction was run.

    Parameters
    ----------
    left, width : ndarray, shape (m,)
        Sectors [degree] in the order of :func:`sectors`.

    Returns
    -------
    tuple of ndarray
        Starts and widths [degree], shape (k,); empty where the sectors go all round.
    """
    ends = left + width
    spans = np.mod(np.roll(left, -1) - left, 360.0)
    spans[spans == 0.0] = 360.0  # a lone sector comes round to itself
    spans = spans - width
    here = spans > 1e-6
    return ends[here], spans[here]


def draw_polar(
    found: Mapping[str, xr.Dataset],
    *,
    top: float,
    title: str,
    caption: Sequence[str],
    rings: Mapping[str, float] | None = None,
    end: str = "end of the grid",
) -> Sheet:
    """Draw wind limits by direction, each sector at the last grid speed that passes.

    Parameters
    ----------
    found : mapping
        Label to limits along ``wind_from`` alone, from
        :func:`toolkit.findings.wind_limit`; up to six, each in a panel of its own.
    top : float
        Largest wind speed of the grid [m/s], at which the grid ends.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.
    rings : mapping, optional
        Label to one limit for all directions [m/s], drawn as a ring; NaN is none.
    end : str
        Words for where what was run ends.

    Returns
    -------
    Sheet
        Ready to be saved.
    """
    rows = 2 if len(found) > 3 else 1
    columns = -(-len(found) // rows) if found else 1
    with drawing():
        made = sheet(title, caption, height_mm=142.0 if rows == 2 else 84.0 if columns > 1 else 110.0)
        if not found or not all(one["limit"].size for one in found.values()):
            nothing_to_draw(made.panel.subplots(), "No wind direction was run.")
            return made
        axes = made.panel.subplots(rows, columns, subplot_kw={"projection": "polar"}, squeeze=False).ravel()
        edge = float(to_display("wind_speed", top)) or 1.0
        legend: dict[str, Any] = {}
        for number, (ax, (label, one)) in enumerate(zip(axes, found.items(), strict=False)):
            _prepare(ax, edge, numbered=number == 0)
            _draw_one(ax, one.compute(), edge, legend, end)
            circle = np.linspace(0, 2 * np.pi, 91)
            (last,) = ax.plot(circle, np.full(91, edge), color="black", linewidth=0.9, linestyle=(0, (2, 2)))
            legend[f"{end}, {edge:.3g} {display_unit('wind_speed')}"] = last
            single = float(to_display("wind_speed", (rings or {}).get(label, np.nan)))
            if np.isfinite(single):
                (ring,) = ax.plot(circle, np.full(91, single), color="#d55e00", linewidth=1.6, zorder=4)
                legend["one limit for all directions"] = ring
            ax.set_title(label, pad=7, fontsize=8.0)
        for ax in axes[len(found) :]:
            ax.remove()
        made.panel.legend(list(legend.values()), list(legend), loc="outside lower center", ncols=3, handleheight=1.2)
    return made


MOST_RINGS = 6
"""Rings of speed that can be told apart."""


def _prepare(ax: Any, edge: float, *, numbered: bool) -> None:
    """Compass with north up and speeds outward; the ring in the middle stands for calm."""
    from matplotlib.patheffects import withStroke

    ax.set_theta_zero_location("N")
    ax.set_theta_direction(-1)
    ax.set_thetagrids(np.arange(0, 360, 90), ["N", "E", "S", "W"])
    ax.set_rlim(0.0, 1.12 * edge)
    ax.set_rorigin(-0.15 * edge)
    ax.set_rlabel_position(22.5)
    ax.tick_params(axis="x", pad=-3)
    step = next(step for step in (1.0, 2.0, 5.0, 10.0, 20.0, 50.0) if edge / step <= MOST_RINGS or step == 50.0)
    ticks = np.arange(0.0, 0.97 * edge, step).tolist()  # the last ring is the end of the grid, which the legend tells
    words = [f"{tick:g}" if tick else "" for tick in ticks]
    if numbered and words:
        words[-1] += f" {display_unit('wind_speed')}"
    # a white rim: the words lie on hatched sectors, and the last may reach across the end of the grid
    ax.set_yticks(ticks, words, fontsize=6.0, path_effects=[withStroke(linewidth=1.8, foreground="white")], zorder=6)
    ax.grid(linewidth=0.4, color="#bbbbbb")


def _draw_one(ax: Any, one: xr.Dataset, edge: float, legend: dict[str, Any], end: str) -> None:
    order, left, width = sectors(np.asarray(one["wind_from"].values, dtype=np.float64))
    limit = to_display("wind_speed", one["limit"].values[order])
    status = one["status"].values[order]
    start, span = np.deg2rad(left), np.deg2rad(width)
    middle = np.deg2rad(one["wind_from"].values[order])
    height = np.nan_to_num(limit)
    never = status == int(EnvelopeStatus.never_passes)
    throughout = status == int(EnvelopeStatus.passes_throughout)
    unknown = (status == int(EnvelopeStatus.not_run)) & ~np.isfinite(limit)
    starts, spans = gaps(left, width)
    starts, spans = np.concatenate([starts, left[unknown]]), np.concatenate([spans, width[unknown]])
    if starts.size:
        legend[NOT_RUN] = ax.bar(
            np.deg2rad(starts), edge, np.deg2rad(spans), align="edge", color="#e4e4e4", edgecolor="#8a8a8a",
            linewidth=0.0, hatch="xxx", zorder=0.5,
        )  # fmt: skip
    for here, colour, hatch, words in (
        (~throughout & ~never & ~unknown, "#9fb4d0", "", "passes up to here"),
        (throughout, "#5f7fa8", "//", f"passes to the {end}"),
    ):
        if here.any():
            legend[words] = ax.bar(
                start[here], height[here], span[here], align="edge", color=colour, edgecolor="black", linewidth=0.6,
                hatch=hatch,
            )  # fmt: skip
    calm_only = (status == int(EnvelopeStatus.limited)) & (limit == 0.0)
    for here, marker, words, radius in (
        (never, "x", "does not pass at the lowest speed run", 0.0),
        (calm_only, "o", "passes in calm only", 0.0),
        ((status == int(EnvelopeStatus.not_run)) & ~unknown, "$?$", "next speed not run: may be higher", None),
        (one["not_monotone"].values[order], "*", "a higher speed passes again", edge * 1.04),
    ):
        if here.any():
            at = height[here] + 0.06 * edge if radius is None else np.full(int(here.sum()), radius)
            (legend[words],) = ax.plot(
                middle[here], at, linestyle="none", marker=marker, color="black", markersize=3.6, clip_on=False,
                markerfacecolor="white" if marker == "o" else "black", zorder=5,
            )  # fmt: skip
