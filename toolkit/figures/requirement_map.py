"""A requirement as a map of bands: what is asked for and what binds, written into every cell (floor 6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.figures.style import LIMIT_HATCHES, Sheet, drawing, nothing_to_draw, sheet, text_width
from toolkit.findings.display import display_unit, long_name, to_display
from toolkit.findings.limits import BINDING_MEANINGS
from toolkit.findings.requirement import RequirementStatus
from toolkit.findings.requirement_tables import binding_text, flag_words, range_words

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes

__all__ = ["draw_requirement", "label_bands", "write_cells"]

_POINTS = 6.6
_LEAST_POINTS = 4.4
_TICK_POINTS = 7.0
_SHADES = ("#ffffff", "#6f93bf")
_REFUSED, _OPEN = "#d9d9d9", "#f3f3f3"


def draw_requirement(part: xr.Dataset, *, title: str, caption: Sequence[str]) -> Sheet:
    """Draw what is asked for by band, the shade by how much, refused bands hatched by what binds.

    Parameters
    ----------
    part : xarray.Dataset
        Requirement on one or two banded inputs, from
        :func:`toolkit.findings.requirement_tables.sections`: rows first.
    title, caption : str, sequence of str
        As for :func:`toolkit.figures.style.sheet`.

    Returns
    -------
    Sheet
        Ready to be saved.
    """
    axis = str(part.attrs["axis"])
    dims = [str(d) for d in part["smallest"].dims]
    rows = part.sizes[dims[0]] if dims else 1
    from matplotlib.patches import Patch

    with drawing():
        made = sheet(title, caption, height_mm=min(max(24.0 + 15.0 * rows, 60.0), 170.0))
        ax: Any = made.panel.subplots()
        if len(dims) != 2 or not part["smallest"].size:
            nothing_to_draw(ax, "Nothing to draw: a map needs bands of two inputs.")
            return made
        legend: dict[str, Any] = {}
        asked = to_display(axis, part["asked"].values)
        finite = asked[np.isfinite(asked)]
        columns = part.sizes[dims[1]]
        words: dict[tuple[int, int], tuple[str, ...]] = {}
        for row, column in np.ndindex(rows, columns):
            here = part.isel({dims[0]: row, dims[1]: column})
            _fill(ax, row, column, here, _place(float(asked[row, column]), finite), legend)
            head = f"{range_words(here, axis)}{' !' if flag_words(here) else ''}"
            words[row, column] = (head, *binding_text(here).split("; "))
        wide = 112.0 / 25.4 * 72.0 / columns
        write_cells(ax, words, wide)
        label_bands(ax, part, dims, wide)
        for value in sorted({float(finite.min()), float(finite.max())}) if finite.size else ():
            key = Patch(facecolor=_shade(_place(value, finite)), edgecolor="black", linewidth=0.4)
            legend[f"{long_name(axis)} of {value:.4g} {display_unit(axis)} asked for"] = key
        made.panel.legend(
            list(legend.values()), list(legend), loc="outside lower center", ncols=2 if len(legend) > 1 else 1,
            handlelength=3.0, handleheight=1.3,
        )  # fmt: skip
    return made


def _place(value: float, finite: np.ndarray[Any, Any]) -> float:
    """Place of a value between the least and the most that is asked for; 0 where all ask for the same."""
    if not np.isfinite(value) or not finite.size or finite.max() <= finite.min():
        return 0.0
    return float((value - finite.min()) / (finite.max() - finite.min()))


def _shade(place: float) -> Any:
    from matplotlib.colors import to_rgb

    light, dark = (np.array(to_rgb(c)) for c in _SHADES)
    return tuple(light + (0.12 + 0.88 * place) * (dark - light))


def _fill(ax: Axes, row: int, column: int, here: xr.Dataset, place: float, legend: dict[str, Any]) -> None:
    from matplotlib.patches import Patch, Rectangle

    status = RequirementStatus(int(here["status"]))
    passes = status in (RequirementStatus.found, RequirementStatus.smallest_run_passes)
    name = BINDING_MEANINGS.get(int(here["binds"]), "")
    hatch = "" if passes else LIMIT_HATCHES.get(name, "")
    if passes:
        colour = _shade(place)
    else:
        colour = _OPEN if status is RequirementStatus.not_run else _REFUSED
    ax.add_patch(Rectangle((column - 0.5, row - 0.5), 1, 1, facecolor=colour, edgecolor="none", zorder=1))
    if hatch:
        ax.add_patch(
            Rectangle(
                (column - 0.5, row - 0.5), 1, 1, fill=False, edgecolor="#8a8a8a", linewidth=0.0, hatch=hatch, zorder=1.5
            )
        )
        key = Patch(facecolor=_REFUSED, edgecolor="#6a6a6a", linewidth=0.4, hatch=hatch)
        legend.setdefault(f"not permitted; best fails: {long_name(name)}", key)
    elif not passes:
        words = "not all run" if status is RequirementStatus.not_run else "not permitted; other reasons, as written"
        legend.setdefault(words, Patch(facecolor=colour, edgecolor="black", linewidth=0.4))


def write_cells(ax: Axes, words: Mapping[tuple[int, int], Sequence[str]], wide: float) -> None:
    """Write lines into the cells of a map, the first one bold, all as large as the longest fits.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        With cells of size 1 about whole numbers.
    words : mapping
        (Row, column) to lines.
    wide : float
        Width of a cell [points].
    """
    longest = max(
        (
            text_width(line, _POINTS) * (1.14 if i == 0 else 1.0)
            for lines in words.values()
            for i, line in enumerate(lines)
        ),
        default=1.0,
    )
    points = max(min(_POINTS, _POINTS * 0.95 * wide / longest), _LEAST_POINTS)
    step = 0.26 if max(map(len, words.values()), default=0) > 2 else 0.36
    for (row, column), lines in words.items():
        top = row + step * (len(lines) - 1) / 2
        for number, line in enumerate(lines):
            ax.text(
                column, top - number * step, line, ha="center", va="center_baseline", fontsize=points, zorder=3,
                fontweight="bold" if number == 0 else "normal", parse_math=False,
                bbox={"boxstyle": "square,pad=0.12", "facecolor": "white", "edgecolor": "none", "alpha": 0.72},
            ).set_in_layout(False)  # fmt: skip


def label_bands(ax: Axes, part: xr.Dataset, dims: Sequence[str], wide: float) -> None:
    """Mark the axes of a map with the words of its bands, rows upward, and rule lines between cells.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
    part : xarray.Dataset
    dims : sequence of str
        Dimensions of rows and columns.
    wide : float
        Width of a cell [points]: words that would run into each other are turned.
    """
    rows, columns = (part.sizes[d] for d in dims)
    ax.set_xlim(-0.5, columns - 0.5)
    ax.set_ylim(-0.5, rows - 0.5)
    words = [str(v) for v in part[dims[1]].values]
    crowded = max(text_width(w, _TICK_POINTS) for w in words) > 0.92 * wide
    ax.set_xticks(range(columns), words, rotation=35 if crowded else 0, ha="right" if crowded else "center")
    ax.set_yticks(range(rows), [str(v) for v in part[dims[0]].values])
    ax.tick_params(length=0)
    for edge in range(1, columns):
        ax.axvline(edge - 0.5, color="white", linewidth=1.2, zorder=2)
    for edge in range(1, rows):
        ax.axhline(edge - 0.5, color="white", linewidth=1.2, zorder=2)
    ax.set_xlabel(long_name(dims[1].removesuffix("_band")))
    ax.set_ylabel(long_name(dims[0].removesuffix("_band")))
