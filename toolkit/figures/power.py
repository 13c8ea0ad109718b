"""Share of cases that pass over the power setting: rises while there is too little, falls with too much (floor 6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, plain_number, series_style, sheet
from toolkit.findings.display import axis_label, to_display
from toolkit.findings.limits import BINDING_MEANINGS, binding_words

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_power"]

_REASONS = (
    ("#00224e", ""), ("#b3a000", "//"), ("#9a9da3", ".."), ("#d5c893", "\\\\"), ("#5b6b8c", "xx"), ("#f2f2f2", "--"),
)  # fmt: skip


def draw_power(
    whole: xr.Dataset, parts: Mapping[str, xr.Dataset], *, title: str, caption: Sequence[str]
) -> Sheet:  # fmt: skip
    """Draw the share of cases that pass over power setting, and why the others do not.

    Parameters
    ----------
    whole : xarray.Dataset
        Counts along ``power_setting`` of all cases, from
        :func:`toolkit.findings.share_of_runs`.
    parts : mapping
        Label to the same counts of a part of the cases; up to five.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.

    Returns
    -------
    Sheet
        Left, shares that pass; right, shares of the cases run by the reason for
        which they do not pass, most frequent first.
    """
    with drawing():
        made = sheet(title, caption)
        whole = whole.compute().sortby("power_setting")
        if not int(whole["run_count"].sum()):
            nothing_to_draw(made.panel.subplots(), "No case has been run.")
            return made
        passing, reasons = made.panel.subplots(1, 2)
        power = to_display("power_setting", whole["power_setting"].values)
        passing.plot(power, 100.0 * whole["share_passing"].values, color="black", linewidth=2.4, marker="o",
                     label="all cases")  # fmt: skip
        for place, (label, part) in enumerate(parts.items()):
            shares = part.compute().sortby("power_setting")["share_passing"].values
            passing.plot(power, 100.0 * shares, label=label, **{**series_style(place), "linewidth": 1.0})
        passing.set_ylim(-3.0, 103.0)
        passing.set_xticks(power, [plain_number(p) for p in power])
        passing.set_xlabel(axis_label("power_setting"))
        passing.set_ylabel("cases run that pass [%]")
        passing.grid(axis="y", linewidth=0.3, color="#bbbbbb")
        passing.legend(loc="upper center", bbox_to_anchor=(0.5, -0.2), fontsize=6.5, handlelength=3.0)
        _draw_reasons(reasons, whole, power)
    return made


def _draw_reasons(ax: Any, counts: xr.Dataset, power: Any) -> None:
    """Stacked bars of the shares that do not pass, by reason."""
    codes = {name: code for code, name in BINDING_MEANINGS.items()}
    total = counts["binding_count"].sum("power_setting")
    ranked = sorted((str(n) for n in total["binding"].values), key=lambda n: -int(total.sel(binding=n)))
    ranked = [name for name in ranked if int(total.sel(binding=name))]
    most = len(_REASONS) - 1
    groups = [([name], binding_words(codes[name])) for name in ranked[:most]]
    if ranked[most:]:
        groups.append((ranked[most:], "other reasons"))
    runs = np.maximum(counts["run_count"].values, 1)
    places, floor = np.arange(power.size), np.zeros(power.size)
    for (names, words), (colour, hatch) in zip(groups, _REASONS, strict=False):
        share = 100.0 * counts["binding_count"].sel(binding=names).transpose("binding", ...).values.sum(axis=0) / runs
        ax.bar(places, share, bottom=floor, width=0.8, color=colour, hatch=hatch, edgecolor="white" if colour ==
               "#00224e" else "black", linewidth=0.4, label=words)  # fmt: skip
        floor = floor + share
    ax.set_ylim(0.0, 103.0)
    ax.set_xticks(places, [plain_number(p) for p in power])
    ax.set_xlabel(axis_label("power_setting"))
    ax.set_ylabel("cases run that do not pass [%]")
    if groups:
        ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.2), fontsize=6.5, handlelength=3.0, handleheight=1.3)
