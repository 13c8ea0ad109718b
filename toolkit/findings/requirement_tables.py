"""A requirement in words: a cell, a table of rows, a table of bands against bands (floor 5)."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from toolkit.findings.conditions import idle_of
from toolkit.findings.display import axis_label, display_text, display_unit, long_name, to_display
from toolkit.findings.limits import binding_short, binding_words
from toolkit.findings.requirement import RequirementStatus
from toolkit.findings.table import Cell, Table, notes_on
from toolkit.findings.tables import overview_lines

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "basis_lines", "cell_words", "choice_words", "flag_words", "range_words", "requirement_matrix",
    "requirement_table", "sections",
]  # fmt: skip

READ_MARKS = (
    "'*': the smallest value run, less may do. '+': the largest value run, more may do. "
    "'less fails', 'more fails': what binds with the next smaller or larger value run; 'nearest': the limit used most."
)


def sections(found: xr.Dataset) -> Iterator[tuple[str, xr.Dataset]]:
    """Part a requirement into fields of rows and columns.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.requirement.requirement`.

    Yields
    ------
    tuple
        Words for a combination of all other dimensions (empty if there is
        none), and the part on (rows, columns): the first and the last banded
        input. With one banded input the columns are one.
    """
    rows, columns = _plane(found)
    others = [str(d) for d in found["smallest"].dims if d not in (rows, columns)]
    for place in product(*(range(found.sizes[d]) for d in others)):
        part = found.isel(dict(zip(others, place, strict=True)))
        words = []
        for dim in others:
            value = part[dim].item()
            if dim.endswith("_band"):
                words.append(f"{long_name(dim.removesuffix('_band'))} {value}")
            else:
                words.append(display_text(dim, value))
        yield ", ".join(words), part.transpose(*(d for d in (rows, columns) if d))


def _plane(found: xr.Dataset) -> tuple[str, str]:
    """Dimensions of rows and columns; empty where there is none."""
    banded = [f"{name}_band" for name in str(found.attrs["banded"]).split()]
    return (banded[0] if banded else "", banded[-1] if len(banded) > 1 else "")


def range_words(here: xr.Dataset, axis: str) -> str:
    """Words for what one cell asks for, such as ``12 to 30 t``; ends of the grid are marked."""
    status = RequirementStatus(int(here["status"]))
    if status is RequirementStatus.not_run:
        return "not all run"
    if status is RequirementStatus.none_passes:
        return "none passes"
    if status is RequirementStatus.margin_too_large:
        return (
            f"none holds the margin ({display_text(axis, here['smallest'])} to {display_text(axis, here['largest'])})"
        )
    number, unit = (f"{float(to_display(axis, here['asked'])):.4g}", display_unit(axis))
    least = "*" if status is RequirementStatus.smallest_run_passes else ""
    most = "+" if int(here["binds_above"]) == 0 else ""
    upper = f"{float(to_display(axis, here['largest'])):.4g}{most}"
    if upper.removesuffix("+") == number:
        return f"{number}{least}{most} {unit}".strip()
    return f"{number}{least} to {upper} {unit}".strip()


def binding_text(here: xr.Dataset) -> str:
    """What binds in one cell, such as ``less fails: time; more fails: heel``."""
    status = RequirementStatus(int(here["status"]))
    words = binding_short(int(here["binds"]))
    if status in (RequirementStatus.none_passes, RequirementStatus.not_run):
        return f"best fails: {words}"
    first = "nearest" if bool(here["nothing_less"]) else "less fails"
    parts = [f"{first}: {words}"]
    if int(here["binds_above"]):
        parts.append(f"more fails: {binding_short(int(here['binds_above']))}")
    return "; ".join(parts)


def cell_words(here: xr.Dataset, axis: str) -> str:
    """All of one cell: what is asked for and what binds."""
    return f"{range_words(here, axis)}; {binding_text(here)}"


def choice_words(here: xr.Dataset) -> str:
    """Which values of what may be chosen pass with the smallest value; empty where none does, or none is to choose."""
    words = []
    idle = idle_of(here)
    for name in str(here.attrs.get("free", "")).split():
        if name in idle:
            continue
        if f"{name}_words" in here:
            picked = str(here[f"{name}_words"].item())
            words.extend([f"{long_name(name)} {picked}"] if picked else [])
        elif np.isfinite(float(here[f"{name}_from"])):
            ends = [display_text(name, here[f"{name}_{end}"].item()) for end in ("from", "to")]
            words.append(f"{long_name(name)} {' to '.join(dict.fromkeys(ends))}")
    return ", ".join(words)


def flag_words(here: xr.Dataset) -> str:
    """What makes one cell doubtful, in words; empty where nothing does."""
    words = []
    if bool(here["passes_again"]):
        words.append("larger values pass again beyond a gap")
    if bool(here["not_all_run"]):
        words.append("cases not run leave it open")
    for name in here.data_vars:
        if str(name).startswith("falls_along_") and bool(here[name]):
            words.append(f"asks for less than in a lower band of {long_name(str(name).removeprefix('falls_along_'))}")
    return "; ".join(words)


def requirement_table(found: xr.Dataset, judged: xr.Dataset) -> Table:
    """One row a cell: what is asked for, what binds, on how many cases it rests, what is doubtful.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.requirement.requirement`.
    judged : xarray.Dataset
        What it was found in.
    """
    axis = str(found.attrs["axis"])
    dims = [str(d) for d in found["smallest"].dims]
    unit = display_unit(axis)
    rows: list[tuple[Cell, ...]] = []
    for place in np.ndindex(*(found.sizes[d] for d in dims)):
        here = found.isel(dict(zip(dims, (int(i) for i in place), strict=True)))
        keys = [str(here[d].item()).replace("_", " ") for d in dims]
        numbers = [float(to_display(axis, here[name].item())) for name in ("smallest", "asked", "largest")]
        above = int(here["binds_above"])
        rows.append(
            (
                *keys, *numbers,
                binding_words(int(here["binds"])), binding_words(above) if above else "",
                100.0 * float(here["share"]), int(here["passing_count"]), int(here["case_count"]),
                100.0 * float(here["utilisation"]), choice_words(here),
                RequirementStatus(int(here["status"])).name.replace("_", " "), flag_words(here),
            )
        )  # fmt: skip
    return Table(
        title=f"Smallest and largest {long_name(axis)} that pass, by band",
        header=(
            *(long_name(d.removesuffix("_band")) for d in dims),
            f"smallest [{unit}]", f"asked, with margin [{unit}]", f"largest [{unit}]", "binds", "binds above",
            "least share passing [%]", "passing there", "of cases", "largest use of a limit [%]", "choices that pass",
            "how found", "flags",
        ),
        rows=tuple(rows),
        notes=notes_on(
            judged,
            *basis_lines(found, judged),
            "'binds': what the next smaller value fails for; where the grid begins, the limit used most; where none "
            "passes, what the best value run fails for. Shares, counts and use are of the smallest value, where the "
            "share is least in the band (of the best value where none passes).",
        ),
    )  # fmt: skip


def requirement_matrix(found: xr.Dataset, judged: xr.Dataset, *, words: str = "") -> Table:
    """Bands against bands, each cell in words.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.requirement.requirement`, on at most two
        banded inputs and nothing else (see :func:`sections`).
    judged : xarray.Dataset
        What it was found in.
    words : str
        What sets this part apart, for the title.
    """
    axis = str(found.attrs["axis"])
    rows_dim, columns_dim = _plane(found)
    rows: list[tuple[Cell, ...]] = []
    columns = [str(v) for v in found[columns_dim].values] if columns_dim else ["all"]
    labels = [str(v) for v in found[rows_dim].values] if rows_dim else ["all"]
    for row, label in enumerate(labels):
        cells = []
        for column in range(len(columns)):
            here = found.isel({d: p for d, p in ((rows_dim, row), (columns_dim, column)) if d})
            extra = "; ".join(w for w in (choice_words(here), flag_words(here)) if w)
            cells.append(f"{cell_words(here, axis)}{f' ({extra})' if extra else ''}")
        rows.append((label, *cells))
    across = f"{axis_label(rows_dim.removesuffix('_band'))}" if rows_dim else ""
    what = long_name(columns_dim.removesuffix("_band")) if columns_dim else ""
    return Table(
        title=f"Required {long_name(axis)}{f': {words}' if words else ''}",
        header=(across, *(f"{what} {c}".strip() for c in columns)),
        rows=tuple(rows),
        notes=notes_on(judged, *basis_lines(found, judged), READ_MARKS),
    )


def basis_lines(found: xr.Dataset, judged: xr.Dataset) -> tuple[str, ...]:
    """What a requirement rests on: share, margins, what was pooled, what was free, how bands are read."""
    attributes = found.attrs
    axis = str(attributes["axis"])
    pooled = [name for name in str(attributes["pooled"]).split() if judged.sizes.get(name, 2) > 1]
    share = 100.0 * float(attributes["share"])
    lines = [
        f"A value of {long_name(axis)} passes where at least {share:.4g} % of the cases do, at every combination run "
        "in the band; cases not run count as not passing."
    ]
    if pooled:
        lines.append(f"Pooled in each share: {'; '.join(overview_lines(judged, pooled))}.")
    margin, tighter = float(attributes["margin"]), float(attributes["limit_margin"])
    lines.append(
        f"Margin: {margin:g} times the smallest {long_name(axis)} that passes is asked for, and all values run up to "
        "there pass."
        if margin > 1.0
        else f"No margin is put on the smallest {long_name(axis)} that passes."
    )
    lines.append(f"Every limit is tightened by a factor of {tighter:g}." if tighter > 1.0 else "No limit is tightened.")
    free = str(attributes["free"]).split()
    if free:
        lines.append(
            f"To be chosen by the master, one value for the whole band: {'; '.join(overview_lines(judged, free))}."
        )
    lines.append(
        "A band counts as the worst of its ends and of all values run between them; bands 'up to' begin at the lowest "
        f"value run. Of {long_name(axis)}, every value run from the smallest to the largest passes; what lies between "
        "two of them was not run."
    )
    return tuple(lines)
