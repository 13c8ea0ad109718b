"""What a report says, before it is a page: answer, sections, pictures and tables (floor 6)."""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from toolkit.figures.folder import Folder
from toolkit.figures.style import DOTS_PER_INCH, Sheet, drawing
from toolkit.findings.reading import cautions, directions, provenance
from toolkit.findings.table import Table

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

__all__ = [
    "Content",
    "Gathered",
    "Picture",
    "Section",
    "begin_at",
    "bullets",
    "gathered",
    "of_results",
    "picture_of",
    "short_notes",
]

LARGEST_DRAWING = 600_000
"""Bytes of an SVG above which a figure is put into the page as dots instead."""


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A figure inside the page.

    Attributes
    ----------
    title, words : str
        What it shows, and all that is written below it, for those who do not see it.
    source : str
        Data URI of an SVG, or of a PNG where that is smaller.
    """

    title: str
    words: str
    source: str


@dataclass(frozen=True, kw_only=True)
class Section:
    """A part of a report.

    Attributes
    ----------
    heading : str
    paragraphs : tuple of str
    lines : tuple of tuple
        Level, from 0, and words of each line of a list.
    pictures : tuple of Picture
    tables : tuple of Table
    """

    heading: str
    paragraphs: tuple[str, ...] = ()
    lines: tuple[tuple[int, str], ...] = ()
    pictures: tuple[Picture, ...] = ()
    tables: tuple[Table, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Content:
    """What one reader is told.

    Attributes
    ----------
    reader, question : str
        For whom, and what was asked.
    answer : tuple of str
        Sentences, the first one the answer; with the share of runs it rests on.
    sections : tuple of Section
    assumptions : tuple of str
        What holds for this reader's findings, beside what holds for all.
    commands : tuple of str
        Commands that give more than the page shows, with ``RESULTS`` for the source.
    grid : tuple of str
        Axes that the part of the page that can be moved begins with: down and across.
    begin : dict
        Words of choices that it begins at.
    """

    reader: str
    question: str
    answer: tuple[str, ...]
    sections: tuple[Section, ...] = ()
    assumptions: tuple[str, ...] = ()
    commands: tuple[str, ...] = ()
    grid: tuple[str, ...] = ()
    begin: dict[str, str] = field(default_factory=dict)


@dataclass(kw_only=True)
class Gathered(Folder):
    """A folder that is none: keeps figures and tables for a page.

    Attributes
    ----------
    pictures, tables : list
        What was handed in, in order.
    """

    pictures: list[Picture] = field(default_factory=list)
    tables: list[Table] = field(default_factory=list)

    def sheet(self, made: Sheet, name: str, words: str) -> None:
        """Keep a figure."""
        self.pictures.append(picture_of(made.figure, words, made.caption))

    def table(self, table: Table, name: str, words: str = "") -> None:
        """Keep a table, under `words` where they say more than its title."""
        more = {"title": words} if words else {}
        self.tables.append(Table(**{**{k: getattr(table, k) for k in ("title", "header", "rows", "notes")}, **more}))

    def section(self, heading: str, paragraphs: Sequence[str] = (), lines: Sequence[tuple[int, str]] = ()) -> Section:
        """Everything kept so far as a section."""
        return Section(
            heading=heading, paragraphs=(*paragraphs, *self.left_out), lines=tuple(lines),
            pictures=tuple(self.pictures), tables=tuple(self.tables),
        )  # fmt: skip


def gathered() -> Gathered:
    """Nothing kept yet."""
    return Gathered(path=Path())


def picture_of(figure: Figure, title: str, words: Sequence[str] = ()) -> Picture:
    """A figure as a picture that is part of the page.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
    title : str
        What it shows.
    words : sequence of str
        Paragraphs of its caption.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    drawn, dots = io.BytesIO(), io.BytesIO()
    with drawing():
        raster: Any = FigureCanvasAgg(figure)
        raster.draw()
        figure.set_layout_engine("none")  # as it stands
        outlines: Any = FigureCanvasSVG(figure)
        outlines.print_svg(drawn, metadata={"Date": None})
        kind, held = "svg+xml", drawn.getvalue()
        if len(held) > LARGEST_DRAWING:
            figure.set_dpi(DOTS_PER_INCH)
            raster = FigureCanvasAgg(figure)
            raster.print_png(dots, metadata={"Software": ""})
            if len(dots.getvalue()) < len(held):
                kind, held = "png", dots.getvalue()
    text = base64.b64encode(held).decode()
    return Picture(title=title, words=" ".join((f"{title}.", *words)), source=f"data:image/{kind};base64,{text}")


def short_notes(table: Table, attributes: dict[Any, Any]) -> tuple[str, ...]:
    """Notes of a table without what the page says of all of them: conventions, provenance, cautions, limits."""
    said = {directions(attributes), provenance(attributes), cautions(attributes)}
    return tuple(note for note in table.notes if note not in said and not note.startswith("Limits: "))


def bullets(text: Sequence[str]) -> tuple[tuple[int, str], ...]:
    """Lines of a list in Markdown as level and words; headings stand at level 0, without their signs."""
    found = []
    for line in text:
        bare = line.strip()
        if bare:
            level = (len(line) - len(line.lstrip(" "))) // 2
            found.append((level, bare.lstrip("#-").strip().replace("**", "")))
    return tuple(found)


def begin_at(dataset: xr.Dataset) -> dict[str, str]:
    """Choices with one value, by name: those of the configuration that is told first."""
    return {
        str(name): str(value.item())
        for name, value in dataset.coords.items()
        if not value.ndim and value.dtype.kind in "UO"
    }


def of_results(dataset: xr.Dataset) -> str:
    """Title of results in words."""
    return str(dataset.attrs.get("title") or "untitled results")
