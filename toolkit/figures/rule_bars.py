"""Rules held against the cases: bars for too lax and too strict, by the size of the barge (floor 6)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.style import Sheet, drawing, nothing_to_draw, sheet, wrapped
from toolkit.findings.display import display_text, long_name
from toolkit.findings.reading import axis_values

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["draw_rule_bars"]

_PARTS = (
    ("right_permitted", "right: permitted, passes", "#c9d6e6", ""),
    ("right_refused", "right: not permitted, does not pass", "#f0f0f0", ""),
    ("too_strict", "too strict: not permitted, passes", "#b3a000", ".."),
    ("too_lax", "too lax: permitted, does not pass", "#00224e", "//"),
)
MOST_RULES = 4
_TITLE_POINTS = 7.5


def draw_rule_bars(tested: xr.Dataset, *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw how often each rule is right, too strict and too lax, as shares of the decisions.

    Parameters
    ----------
    tested : xarray.Dataset
        From :func:`toolkit.findings.rule_test.back_test_rules`; the first four
        rules are drawn.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.

    Returns
    -------
    Sheet
        A panel for each rule: all decisions in the first bar, then by value of
        the input that was counted by.
    """
    by = str(tested.attrs["by"])
    rules = [str(r) for r in tested["rule"].values][:MOST_RULES]
    with drawing():
        made = sheet(title, caption, height_mm=92.0)
        if not int(tested["decision_count"].sum()):
            nothing_to_draw(made.panel.subplots(), "No decision: no case has been run.")
            return made
        panels = made.panel.subplots(1, len(rules), squeeze=False, sharey=True)[0]
        words = ["all", *(display_text(by, v) for v in (axis_values(tested, by) if by else ()))]
        legend: dict[str, Any] = {}
        for number, (ax, rule) in enumerate(zip(panels, rules, strict=True)):
            here = tested.sel(rule=rule)
            _stack(ax, here, by, words, legend)
            room = 130.0 / 25.4 * 72.0 / len(rules)
            ax.set_title("\n".join(wrapped((rule,), room, _TITLE_POINTS)), fontsize=_TITLE_POINTS)
            if number == 0:
                ax.set_ylabel("decisions [%]")
            if by:
                ax.set_xlabel(long_name(by))
        made.panel.legend(
            list(legend.values()), list(legend), loc="outside lower center", ncols=2, handlelength=3.0, handleheight=1.3
        )
    return made


def _stack(ax: Any, here: xr.Dataset, by: str, words: Sequence[str], legend: dict[str, Any]) -> None:
    """Stacked bars of one rule."""

    def counts(name: str) -> np.ndarray[Any, Any]:
        values = np.atleast_1d(here[name].values)
        return np.concatenate([[values.sum()], values]) if by else values

    total = counts("decision_count").astype(np.float64)
    floor = np.zeros(total.size)
    places = np.arange(total.size) + (np.arange(total.size) > 0) * 0.4
    for name, label, colour, hatch in _PARTS:
        share = np.divide(100.0 * counts(name), total, out=np.zeros(total.size), where=total > 0)
        bars = ax.bar(
            places, share, bottom=floor, width=0.86, color=colour, hatch=hatch, linewidth=0.4, label=label,
            edgecolor="white" if colour == "#00224e" else "black",
        )  # fmt: skip
        legend.setdefault(label, bars)
        for place, low, value in zip(places, floor, share, strict=True):
            if value >= 9.0:
                ax.text(
                    place, low + value / 2, f"{value:.0f}", ha="center", va="center", fontsize=5.6,
                    bbox={"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none", "alpha": 0.85},
                ).set_in_layout(False)  # fmt: skip
        floor = floor + share
    ax.set_ylim(0.0, 100.0)
    ax.set_xticks(places, words, rotation=60, ha="right", fontsize=6.0, rotation_mode="anchor")
    ax.tick_params(axis="x", length=0)
