"""A requirement as a rule in plain words, with what it rests on (floor 5)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from toolkit.findings.conditions import fixed_text
from toolkit.findings.display import long_name
from toolkit.findings.reading import bare, cautions, directions, provenance
from toolkit.findings.requirement import RequirementStatus
from toolkit.findings.requirement_tables import (
    READ_MARKS,
    basis_lines,
    binding_text,
    choice_words,
    flag_words,
    range_words,
    sections,
)
from toolkit.findings.shares import share_of_runs, shares_text
from toolkit.quantities.wording import GIRTING, NOT_MODELLED, SNAP_BACK

if TYPE_CHECKING:
    from collections.abc import Sequence

    import xarray as xr

__all__ = ["rule_lines", "rule_text"]

OPEN = "______________"
"""What somebody has to fill in."""

REFUSED = "not permitted with one such tug"


def rule_lines(found: xr.Dataset) -> tuple[str, ...]:
    """Say what is asked for, one line a row of bands and a step of the wind.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.requirement.requirement`.

    Returns
    -------
    tuple of str
        Markdown: a heading for each combination of what was kept, a line for
        each band. Neighbouring steps that ask for the same are one line.
    """
    axis = str(found.attrs["axis"])
    lines: list[str] = []
    for words, part in sections(found):
        if words:
            lines += [f"### {words[:1].upper()}{words[1:]}", ""]
        dims = [str(d) for d in part["smallest"].dims]
        rows = dims[0] if dims else ""
        for row in range(part.sizes[rows] if rows else 1):
            band = part.isel({rows: row}) if rows else part
            label = f"{long_name(rows.removesuffix('_band'))} {band[rows].item()}" if rows else "all barges run"
            lines.append(f"- {label[:1].upper()}{label[1:]}:")
            lines += [f"  - {step}" for step in _steps(band, axis)]
        lines.append("")
    return tuple(lines)


def _steps(band: xr.Dataset, axis: str) -> list[str]:
    """Steps along the last banded input, the same ones in a row said once, by the last of them."""
    dims = [str(d) for d in band["smallest"].dims]
    if not dims:
        return [_said(band, axis)]
    (dim,) = dims
    name = dim.removesuffix("_band")
    what = long_name(name)
    steps: list[tuple[float, str, str]] = []
    for place in range(band.sizes[dim]):
        here = band.isel({dim: place})
        low, label, said = float(here[f"{name}_low"]), f"{what} {here[dim].item()}", _said(here, axis)
        cumulative = bool(steps) and steps[-1][0] == low
        refused = said.startswith(REFUSED)
        if cumulative and steps[-1][2].startswith(REFUSED):
            continue  # what is not permitted up to a wind is not permitted up to a stronger one
        if cumulative and not refused and steps[-1][2] == said:
            steps.pop()
        if cumulative and refused:
            label = f"{what} above {steps[-1][1].removeprefix(what).removeprefix(' up to').strip()}"
        elif refused and band.sizes[dim] > 1 and _cumulative(band, dim):
            label = f"any {what} run"
        steps.append((low, label, said))
    return [f"{label}: {said}." for _, label, said in steps]


def _cumulative(band: xr.Dataset, dim: str) -> bool:
    """Whether all bands begin at one value, so that each holds the one before."""
    low = band[f"{dim.removesuffix('_band')}_low"].values
    return bool((low == low[0]).all())


def _said(here: xr.Dataset, axis: str) -> str:
    status = RequirementStatus(int(here["status"]))
    reason = binding_text(here)
    if status is RequirementStatus.none_passes:
        return f"{REFUSED}, no {long_name(axis)} run passes ({reason})"
    if status is RequirementStatus.not_run:
        return "not decided: cases were not run"
    if status is RequirementStatus.margin_too_large:
        return f"{REFUSED}, {range_words(here, axis)} ({reason})"
    extra = "; ".join(w for w in (choice_words(here), flag_words(here)) if w)
    return f"{long_name(axis)} {range_words(here, axis)} ({reason}){f'; {extra}' if extra else ''}"


def rule_text(found: xr.Dataset, judged: xr.Dataset, *, standby: Sequence[str] = (), tested: Sequence[str] = ()) -> str:
    """Print a requirement as a rule for review.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.requirement.requirement`.
    judged : xarray.Dataset
        What it was found in: gives conditions, limits, runs and provenance.
    standby : sequence of str
        Lines on when a standby tug is needed.
    tested : sequence of str
        Lines on how other rules did in the same cases.

    Returns
    -------
    str
        Markdown. Review date and approval are left open.
    """
    lines = [
        f"# Draft rule from simulated manoeuvres: {judged.attrs.get('title', 'untitled')}",
        "",
        "For review by those who make the rule. It rests on simulated cases alone and is no rule until they adopt it.",
        "",
        f"Holds for: {fixed_text(judged)}.",
        "",
        f"## What is asked for: {long_name(str(found.attrs['axis']))}",
        "",
        *rule_lines(found),
        READ_MARKS,
        "",
    ]
    flagged = int(sum(_doubtful(part) for _, part in sections(found)))
    if flagged:
        lines += [
            f"{flagged} of {found['smallest'].size} cells carry a flag: look at them before they become a rule.",
            "",
        ]
    if standby:
        lines += ["## When a standby tug is needed", "", *(f"- {line}" for line in standby), ""]
    if tested:
        lines += ["## How other rules did in the same cases", "", *(f"- {line}" for line in tested), ""]
    lines += [
        "## Basis",
        "",
        f"- Run set: {judged.attrs.get('title', 'untitled')}. {provenance(judged.attrs)}",
        f"- Limits: {judged.attrs.get('limits_applied', 'not recorded')}.",
        f"- {GIRTING}",
        f"- {SNAP_BACK}",
        *(f"- {line}" for line in basis_lines(found, judged)),
        f"- Runs: {shares_text(share_of_runs(bare(judged)))}",
        f"- {directions(judged.attrs)}",
        f"- Review date: {OPEN}   Adopted by: {OPEN}",
        "",
        f"**Cautions.** {cautions(judged.attrs)}",
        "",
        NOT_MODELLED,
        "",
    ]
    return "\n".join(lines)


def _doubtful(part: xr.Dataset) -> int:
    flags = [part["passes_again"], part["not_all_run"]]
    flags += [part[name] for name in part.data_vars if str(name).startswith("falls_along_")]
    return int(np.any([flag.values for flag in flags], axis=0).sum())
