"""One style for every figure: print size, greyscale, caption that carries what the figure rests on (floor 6)."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.execution.whole import whole
from toolkit.findings import LIMIT_NAMES
from toolkit.quantities import REGISTER, Outcome
from toolkit.quantities.units import user_label

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure, SubFigure

__all__ = [
    "CAUTION",
    "COLOUR_MAP",
    "DIRECTION_NOTE",
    "LIMIT_HATCHES",
    "LIMIT_LINES",
    "OUTCOME_MARKERS",
    "Sheet",
    "drawing",
    "nothing_to_draw",
    "numbers_alike",
    "plain_number",
    "series_style",
    "sheet",
    "text_width",
    "wrapped",
]

WIDTH_MM = 160.0
HEIGHT_MM = 110.0
DOTS_PER_INCH = 200
CAPTION_POINTS = 6.5
TITLE_POINTS = 9.5
COLOUR_MAP = "cividis"

CAUTION = (
    "Screening aid only, no substitute for pilots, trials, class approval or local rules, which come first. "
    "Keep clear of girting and of the snap-back of a parting line."
)
"""Caution of a caption; the full text goes with the dataset and its tables."""

DIRECTION_NOTE = "Wind is named by where it comes FROM, current by where it runs TO; true bearings clockwise from north"

_PARAMETERS: dict[str, Any] = {
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 8.0,
    "axes.titlesize": 8.5,
    "axes.labelsize": 8.0,
    "figure.titlesize": TITLE_POINTS,
    "xtick.labelsize": 7.0,
    "ytick.labelsize": 7.0,
    "legend.fontsize": 7.0,
    "legend.frameon": False,
    "axes.linewidth": 0.7,
    "lines.linewidth": 1.4,
    "lines.markersize": 4.5,
    "hatch.linewidth": 0.45,
    "image.cmap": COLOUR_MAP,
    "svg.hashsalt": "towage-envelope",
    "svg.fonttype": "path",
    "mathtext.default": "regular",
}

OUTCOME_MARKERS: dict[str, str] = {
    Outcome.not_run.name: ".",
    Outcome.not_steady.name: "o",
    Outcome.timed_out.name: "s",
    Outcome.deck_edge_immersed.name: "v",
    Outcome.capsized.name: "X",
    Outcome.line_parted.name: "|",
    Outcome.lost_station.name: "D",
    Outcome.collided.name: "*",
    Outcome.aground.name: "^",
    Outcome.not_converged.name: "+",
    Outcome.line_released.name: "_",
    Outcome.edge_met.name: "h",
    Outcome.not_held.name: "p",
}
"""Symbol of every outcome but ``completed``; the same in every figure."""

LIMIT_HATCHES: dict[str, str] = {
    "peak_heel_fraction": "//",
    "peak_heel": "/.",
    "tension_over_mbl": "||",
    "tension_over_swl": "--",
    "peak_contact_force": "++",
    "time_to_turn": "-.",
    "time_to_steady": "..",
    "overshoot": "o",
    "drift_distance": "|.",
    "swept_radius_barge": "\\.",
    "swept_radius_all": "xx",
    "room_to_edge": "\\\\",
    "peak_swing_rate": "*",
    "clearance_to_edge": "\\o",
    "contact_speed": "+.",
    "berthing_energy": "x.",
    "stopping_distance": "-o",
    "overrun_margin": "|o",
    "end_time": "-*",
    "drift_after_failure": "/o",
}
"""Hatching of every limit, sparse so that numbers read over it; the same in every figure."""

_DASHES: tuple[Any, ...] = (
    "-", (0, (6, 2)), (0, (1.2, 1.2)), (0, (6, 2, 1, 2)), (0, (3, 1)), (0, (8, 2, 1, 1, 1, 2)),
    (0, (1, 3)), (0, (10, 3)), (0, (4, 4)), (0, (2, 1, 6, 1)), (0, (1, 1, 3, 1)), (0, (5, 1, 1, 1, 1, 1)),
    (0, (2, 3)), (0, (12, 2)), (0, (3, 3)), (0, (7, 1, 1, 1)), (0, (9, 1)), (0, (1, 5)), (0, (6, 1, 2, 1)),
    (0, (4, 1, 1, 3)),
)  # fmt: skip
LIMIT_LINES: dict[str, Any] = dict(zip(LIMIT_NAMES, _DASHES, strict=True))
"""Line style of every limit; the same in every figure."""

_SERIES = (
    ("#00224e", "-", "o"),
    ("#b3a000", (0, (6, 2)), "s"),
    ("#666970", (0, (1.2, 1.2)), "^"),
    ("#d55e00", (0, (6, 2, 1, 2)), "D"),
    ("#7fa8c9", (0, (8, 2)), "v"),
    ("#8c4a6b", (0, (2, 1)), "P"),
)


def series_style(place: int) -> dict[str, Any]:
    """Colour, line style and marker of the nth series; told apart without colour."""
    colour, line, marker = _SERIES[place % len(_SERIES)]
    return {"color": colour, "linestyle": line, "marker": marker}


@contextmanager
def drawing() -> Iterator[None]:
    """Apply the style while drawing, and leave matplotlib's own settings as they were."""
    import matplotlib

    parameters: Any = _PARAMETERS
    with matplotlib.rc_context(parameters):
        yield


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A figure with a panel to draw in, and its caption set below it.

    Attributes
    ----------
    figure : matplotlib.figure.Figure
    panel : matplotlib.figure.SubFigure
        Draw here; the caption has its own strip and is never overlapped.
    caption : tuple of str
        Paragraphs of the caption, as given.
    """

    figure: Figure
    panel: SubFigure
    caption: tuple[str, ...]

    def save(self, folder: Path, name: str) -> list[Path]:
        """Write ``<name>.png`` and ``<name>.svg`` into a folder, which is made.

        Returns
        -------
        list of pathlib.Path
            The two files.
        """
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.backends.backend_svg import FigureCanvasSVG

        folder.mkdir(parents=True, exist_ok=True)
        paths = [folder / f"{name}.png", folder / f"{name}.svg"]
        description = " ".join(self.caption)
        plain = description.encode("latin-1", "replace").decode("latin-1")
        # the canvases are called themselves: savefig draws every figure once more to find its layout
        raster: Any = FigureCanvasAgg(self.figure)
        with drawing():
            with whole(paths[0]) as partial:
                raster.print_png(
                    partial, metadata={"Software": "", "Description": plain}, pil_kwargs={"compress_level": 4}
                )  # fmt: skip
            self.figure.set_layout_engine("none")  # as it stands; solving it again would only take time
            outlines: Any = FigureCanvasSVG(self.figure)
            with whole(paths[1]) as partial:
                outlines.print_svg(partial, metadata={"Date": None, "Description": description})
            self.figure.set_dpi(DOTS_PER_INCH)
            FigureCanvasAgg(self.figure)
        return paths


def sheet(title: str, caption: Sequence[str], *, height_mm: float = HEIGHT_MM) -> Sheet:
    """Make a print-size figure whose caption strip is as high as its wrapped lines need.

    Call inside :func:`drawing`.

    Parameters
    ----------
    title : str
        Set above the panel.
    caption : sequence of str
        Paragraphs; each starts on a line of its own.
    height_mm : float
        Height of the panel [mm]; the caption comes below it.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    inch = 25.4
    width = WIDTH_MM / inch
    figure = Figure(figsize=(width, height_mm / inch), dpi=DOTS_PER_INCH, layout="constrained")
    FigureCanvasAgg(figure)
    margin = 3.0 / inch
    room = 72.0 * (width - 2 * margin)
    lines = wrapped(caption, room)
    strip = (len(lines) * CAPTION_POINTS * 1.35 + 8.0) / 72.0
    figure.set_size_inches(width, height_mm / inch + strip)
    parts: Any = figure.subfigures(2, 1, height_ratios=[height_mm / inch, strip], hspace=0.0)
    panel, below = parts
    below.text(
        margin / width, 1.0 - 3.0 / 72.0 / strip, "\n".join(lines), fontsize=CAPTION_POINTS, va="top", ha="left",
        linespacing=1.25, parse_math=False,
    )  # fmt: skip
    panel.suptitle("\n".join(wrapped((title,), room, points=TITLE_POINTS)))
    return Sheet(figure=figure, panel=panel, caption=tuple(caption))


def wrapped(paragraphs: Sequence[str], width: float, points: float = CAPTION_POINTS) -> list[str]:
    """Lines of paragraphs, each as wide as its measured words fit into a width [points]; no unit leaves its number."""
    space = text_width("n n", points) - 2.0 * text_width("n", points)
    lines: list[str] = []
    for paragraph in paragraphs:
        line, reach = "", 0.0
        for word in _kept_together(paragraph):
            wide = text_width(word, points)
            if line and reach + space + wide > width:
                lines.append(line)
                line, reach = word, wide
            else:
                reach += (space if line else 0.0) + wide
                line = f"{line} {word}".strip()
        if line:
            lines.append(line)
    return lines


@lru_cache(maxsize=1)
def _units() -> frozenset[str]:
    """Symbols of all units that figures show."""
    return frozenset(user_label(quantity) for quantity in REGISTER.values()) - {""}


_SIGNS = ("≤", "≥")


def _kept_together(paragraph: str) -> list[str]:
    """Words of a paragraph, a number with the unit behind it and the sign of a limit before it as one."""
    words: list[str] = []
    for word in paragraph.split():
        unit = word.rstrip(".,;:)") in _units()
        if words and (words[-1] in _SIGNS or (unit and re.fullmatch(r"([≤≥] )?\(?[-+]?\d+(\.\d+)?", words[-1]))):
            words[-1] = f"{words[-1]} {word}"
        else:
            words.append(word)
    return words


@lru_cache(maxsize=4096)
def text_width(text: str, points: float) -> float:
    """Width of a text in the font of the style [points], measured from its outlines."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextToPath

    font = FontProperties(family=["DejaVu Sans"], size=points)
    return float(TextToPath().get_text_width_height_descent(text, font, ismath=False)[0])


def nothing_to_draw(axes: Axes, why: str) -> None:
    """Say in an empty panel why there is nothing in it."""
    axes.set_xticks([])
    axes.set_yticks([])
    axes.text(0.5, 0.5, why, transform=axes.transAxes, ha="center", va="center", wrap=True, fontsize=8.0)


def plain_number(value: float) -> str:
    """Four significant digits, never with an exponent."""
    return f"{value:.0f}" if abs(value) >= 1000.0 else f"{value:.4g}"


def numbers_alike(values: NDArray[np.float64]) -> str:
    """Format with the decimals that about three digits of the largest value need, at most four; never a minus zero."""
    top = float(np.nanmax(np.abs(values))) if np.isfinite(values).any() else 1.0
    if 5e-5 <= top < 1.0:
        return f"z.{4 if top < 0.03 else 3}f"
    return f"z.{2 if top < 10.0 else 1 if top < 100.0 else 0}f"
