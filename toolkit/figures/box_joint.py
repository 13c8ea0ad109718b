"""The joint limit of wind and current as steps, with the box of single limits and the box that holds (floor 6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, sheet
from toolkit.findings.display import axis_label, display_unit, to_display

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_box_joint"]

MOST_PANELS = 3


def draw_box_joint(boxes: Mapping[str, xr.Dataset], *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw what holds jointly against boxes of single limits.

    Parameters
    ----------
    boxes : mapping
        Label to what :func:`toolkit.findings.box.box_against_joint` found, along
        its second quantity alone; up to three, each in a panel of its own.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.

    Returns
    -------
    Sheet
        Ready to be saved. Between two values run the smaller limit is drawn.
    """
    with drawing():
        made = sheet(title, caption, height_mm=88.0 if len(boxes) > 1 else 104.0)
        shown = list(boxes.items())[:MOST_PANELS]
        if not shown:
            nothing_to_draw(made.panel.subplots(), "No limit was found.")
            return made
        panels = made.panel.subplots(1, len(shown), squeeze=False, sharey=True)[0]
        legend: dict[str, Any] = {}
        top = max(float(np.nanmax(np.nan_to_num(_shown(one)))) for _, one in shown)
        for number, (ax, (label, one)) in enumerate(zip(panels, shown, strict=True)):
            _draw_one(ax, one, legend)
            along, axis = str(one.attrs["along"]), str(one.attrs["axis"])
            ax.set_ylim(0.0, 1.12 * top or 1.0)
            ends = to_display(along, one[along].values)
            ax.set_xlim(ends.min() - 0.04 * np.ptp(ends), ends.max() + 0.04 * np.ptp(ends))
            ax.set_xlabel(axis_label(along))
            if number == 0:
                ax.set_ylabel(f"{axis_label(axis).rsplit(' [', 1)[0]} limit [{display_unit(axis)}]")
            ax.set_title("\n".join([label, *_shares(one)]), fontsize=7.0)
        made.panel.legend(
            list(legend.values()), list(legend), loc="outside lower center", ncols=3, handlelength=2.4, handleheight=1.2
        )
    return made


def _shown(one: xr.Dataset) -> Any:
    return to_display(str(one.attrs["axis"]), one["joint"].values)


def _draw_one(ax: Any, one: xr.Dataset, legend: dict[str, Any]) -> None:
    from matplotlib.patches import Rectangle

    along, axis = str(one.attrs["along"]), str(one.attrs["axis"])
    x, joint = to_display(along, one[along].values), _shown(one)
    held = np.isfinite(joint)
    if not held.any():
        nothing_to_draw(ax, "Nothing is permitted.")
        return
    x, joint = x[held], joint[held]
    # from one value of the second quantity to the next the smaller limit, that of the next, holds
    legend["holds jointly"] = ax.fill_between(x, joint, step="pre", color="#9fb4d0", linewidth=0.0)
    (legend["limit at each value run"],) = ax.plot(x, joint, linestyle="none", marker="o", color="#00224e")
    looks: tuple[tuple[str, dict[str, Any], str], ...] = (
        ("single", {"edgecolor": "#d55e00", "linestyle": (0, (5, 2)), "linewidth": 1.6}, "box of single limits"),
        ("safe", {"edgecolor": "black", "hatch": "..", "linewidth": 1.2}, "largest box that holds"),
    )
    for name, style, words in looks:
        wide, high = (to_display(n, one[f"{name}_{e}"].item()) for n, e in ((along, "along"), (axis, "limit")))
        if np.isfinite([wide, high]).all():
            box = Rectangle((x[0], 0.0), float(wide) - x[0], float(high), fill=False, zorder=3, **style)
            legend[words] = ax.add_patch(box)


def _shares(one: xr.Dataset) -> list[str]:
    """What the box of single limits promises too much, and what the box that holds gives away, in words."""
    said = []
    for name, words in (
        ("promised_too_much", "promised too much: {} %"),
        ("given_away", "given away: {} %"),
    ):
        share = float(one[name])
        if np.isfinite(share):
            said.append(words.format(f"{100.0 * share:.0f}"))
    return said
