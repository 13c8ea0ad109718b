"""The go / caution / no-go card: one page to print, with its cautions (floor 6)."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.execution.whole import whole, write_whole
from toolkit.figures.polar import sectors
from toolkit.figures.style import DOTS_PER_INCH, drawing, wrapped
from toolkit.findings.display import axis_label

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from toolkit.findings.go_card import Card

__all__ = ["draw_card", "save_card"]

PAGE_MM = (210.0, 297.0)
_MARGIN_MM = 15.0
_INCH = 25.4
_GO, _CAUTION, _NO_GO = ("#e9efe6", ""), ("#f0d98c", "//"), ("#5b6470", "")
_WIDTHS = (0.17, 0.14, 0.21, 0.18, 0.30)
_ROSES_MM = (78.0, 66.0, 54.0, 42.0)


def draw_card(card: Card) -> Figure:
    """Draw a card on a page of A4, upright.

    Parameters
    ----------
    card : Card
        From :func:`toolkit.findings.go_card.go_card`.

    Returns
    -------
    matplotlib.figure.Figure
        One page; the rose is drawn smaller where the words need its room, and
        what still does not fit is cut at the end of the basis, which says so.
    """
    for rose in _ROSES_MM:
        page = _written(card, rose)
        if not page.cut:
            break
    return page.figure


def _written(card: Card, rose: float) -> _Page:
    """The page with a rose of this height [mm]."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with drawing():
        figure = Figure(figsize=(PAGE_MM[0] / _INCH, PAGE_MM[1] / _INCH), dpi=DOTS_PER_INCH)
        FigureCanvasAgg(figure)
        page = _Page(figure)
        page.text(("GO / CAUTION / NO-GO",), 15.0, bold=True)
        page.text((card.title,), 10.5, bold=True)
        page.text((card.job,), 8.0)
        page.space(2.0)
        if card.along in ("wind_from", "current_to") and len(card.places) > 1:
            _rose(page, card, rose)
        _table(page, card)
        page.space(2.5)
        page.heading("Cautions")
        page.text((card.cautions,), 8.0, bold=True)
        page.heading("Break off (common practice, no source)")
        page.text(card.abort, 8.0, dash=True)
        page.heading("Judged by")
        page.text(("; ".join(card.criteria) + ".",), 8.0)
        page.heading("Basis")
        page.text(card.basis, 7.0, dash=True)
    return page


def save_card(card: Card, folder: Path, name: str) -> list[Path]:
    """Write a card as ``<name>.pdf``, ``.png``, ``.svg`` and ``.md`` into a folder, which is made.

    Returns
    -------
    list of pathlib.Path
        The four files. The same card gives the same bytes.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.backends.backend_pdf import FigureCanvasPdf
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / f"{name}.{ending}" for ending in ("pdf", "png", "svg", "md")]
    figure = draw_card(card)
    about = {"Title": f"Go / caution / no-go: {card.title}", "Creator": None, "Producer": None, "CreationDate": None}
    with drawing():
        canvas: Any = FigureCanvasAgg(figure)
        with whole(paths[1]) as partial:
            canvas.print_png(partial, metadata={"Software": ""})
        canvas = FigureCanvasPdf(figure)
        with whole(paths[0]) as partial:
            canvas.print_pdf(partial, metadata=about)
        canvas = FigureCanvasSVG(figure)
        with whole(paths[2]) as partial:
            canvas.print_svg(partial, metadata={"Date": None, "Title": about["Title"]})
    write_whole(paths[3], card.to_markdown())
    return paths


class _Page:
    """A page that is written from the top down."""

    def __init__(self, figure: Figure) -> None:
        self.figure = figure
        self.at = _MARGIN_MM
        self.cut = False

    @property
    def left(self) -> float:
        """Depth of the page that is left above the lower margin [mm]."""
        return PAGE_MM[1] - _MARGIN_MM - self.at

    def space(self, height: float) -> None:
        """Leave a strip free [mm]."""
        self.at += height

    def heading(self, words: str) -> None:
        """Write a heading."""
        self.space(1.2)
        self.text((words,), 8.5, bold=True)

    def text(self, lines: Sequence[str], points: float, *, bold: bool = False, dash: bool = False) -> None:
        """Write paragraphs across the page; what does not fit is left out, and that is said."""
        room = (PAGE_MM[0] - 2 * _MARGIN_MM) / _INCH * 72.0 * (0.85 if bold else 0.99)
        said = wrapped([f"- {line}" for line in lines] if dash else lines, room, points)
        height = points * 1.3 * _INCH / 72.0
        most = int(self.left / height)
        if len(said) > most:
            self.cut = True
            said = [*said[: max(most - 1, 0)], "(cut for want of room: see the Markdown file)"]
        for line in said:
            self.figure.text(
                _MARGIN_MM / PAGE_MM[0], 1.0 - (self.at + 0.8 * height) / PAGE_MM[1], line, fontsize=points,
                fontweight="bold" if bold else "normal", va="baseline", ha="left", parse_math=False,
            )  # fmt: skip
            self.at += height

    def axes(self, height: float, wide: float = 1.0, **options: Any) -> Axes:
        """Axes across a share of the page, of a height [mm]."""
        across = PAGE_MM[0] - 2 * _MARGIN_MM
        left = (_MARGIN_MM + 0.5 * (1.0 - wide) * across) / PAGE_MM[0]
        bottom = 1.0 - (self.at + height) / PAGE_MM[1]
        made = self.figure.add_axes((left, bottom, wide * across / PAGE_MM[0], height / PAGE_MM[1]), **options)
        self.at += height
        return made


def _rose(page: _Page, card: Card, height: float) -> None:
    """Compass with go, caution and no-go outward."""
    page.space(6.0)
    ax: Any = page.axes(height, wide=height / (PAGE_MM[0] - 2 * _MARGIN_MM), projection="polar")
    page.space(6.0)
    ax.set_theta_zero_location("N")
    ax.set_theta_direction(-1)
    order, left, width = sectors(np.array(card.places))
    go, top = (np.maximum(np.array(v)[order], 0.0) for v in (card.go, card.no_go))
    edge = 1.15 * max(float(top.max()), 1.0)
    start, span = np.deg2rad(left), np.deg2rad(width)
    for low, high, (colour, hatch), words in (
        (0.0 * go, go, _GO, "go"), (go, top, _CAUTION, "caution"), (top, 0.0 * top + edge, _NO_GO, "no-go"),
    ):  # fmt: skip
        ax.bar(start, high - low, span, bottom=low, align="edge", color=colour, hatch=hatch, edgecolor="black",
               linewidth=0.4, label=words)  # fmt: skip
    ax.set_rlim(0.0, edge)
    ax.set_thetagrids(np.arange(0, 360, 45), ["N", "NE", "E", "SE", "S", "SW", "W", "NW"], fontsize=7.0)
    ticks = [t for t in ax.get_yticks() if 0.0 < t < edge]
    ax.set_yticks(ticks, [f"{t:g}" for t in ticks], fontsize=6.0)
    ax.set_rlabel_position(22.5)
    for text in ax.get_yticklabels():
        text.set_bbox({"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "boxstyle": "square,pad=0.1"})
    ax.grid(linewidth=0.3, color="#777777")
    ax.tick_params(axis="x", pad=-2)
    ax.legend(loc="center left", bbox_to_anchor=(1.22, 0.5), fontsize=7.5, handleheight=1.5,
              title=f"{axis_label(card.axis)}\nby {axis_label(card.along)}", title_fontsize=7.0)  # fmt: skip


def _table(page: _Page, card: Card) -> None:
    """Rows of the card as a table, go white, caution and no-go shaded."""
    from matplotlib.patches import Rectangle

    height = min(5.4, max(3.4, 62.0 / (len(card.labels) + 1)))
    ax = page.axes(height * (len(card.labels) + 1))
    ax.set_axis_off()
    ax.set_xlim(0.0, 1.0)
    ax.set_ylim(len(card.labels) + 1.0, 0.0)
    edges = np.concatenate([[0.0], np.cumsum(_WIDTHS)])
    unit = f" [{card.unit}]"
    heads = (axis_label(card.along), f"GO{unit}", f"CAUTION{unit}", f"NO-GO{unit}", "note")
    points = min(8.0, height * 72.0 / _INCH * 0.62)
    for row in range(-1, len(card.labels)):
        cells = heads if row < 0 else (card.labels[row], *card.words(row), card.marks[row])
        for column, text in enumerate(cells):
            colour, hatch = {1: _GO, 2: _CAUTION, 3: _NO_GO}.get(column, ("white", ""))
            ax.add_patch(
                Rectangle((edges[column], row + 1.0), _WIDTHS[column], 1.0, facecolor=colour, edgecolor="black",
                          linewidth=0.4, hatch="" if row >= 0 else hatch, clip_on=False)
            )  # fmt: skip
            ax.text(
                edges[column] + 0.5 * _WIDTHS[column], row + 1.55, text, ha="center", va="center", parse_math=False,
                fontsize=points if column < 4 else points * 0.85,
                fontweight="bold" if row < 0 or column == 3 else "normal",
                color="white" if column == 3 else "black",
                bbox={"facecolor": colour, "edgecolor": "none", "boxstyle": "square,pad=0.05"} if row < 0 else None,
            )  # fmt: skip
