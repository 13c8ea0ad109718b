"""Sentences on what an analysis of sensitivity rests on, for notes and captions (floor 5)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from toolkit.findings.censoring import ENDS
from toolkit.findings.display import long_name

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["basis_lines", "failed_text", "stand_in_text"]

JUMPS = (
    "A steered tug whose orders come in steps is not smooth: where one order comes a look earlier an outcome may jump. "
    "That part shows as interaction of everything with everything, and no further sample lessens it."
)


def failed_text(found: xr.Dataset) -> str:
    """How many cases failed, and how."""
    counts = {name: int(found[f"{name}_count"]) for name in ENDS if f"{name}_count" in found}
    part = float(found["failed_share"].mean())
    share = f"{100.0 * part:.1f} % of the cases did not complete"
    if part == 0.0 or not counts:
        return f"{share} and none is dropped"
    told = f"{counts['out_of_time']:,} out of time, {counts['failed']:,} by another failure"
    return f"{share} ({told}) and none is dropped"


def stand_in_text(found: xr.Dataset) -> str:
    """What stands in for the values that failed cases lack; empty if nothing does."""
    words = [line.split(": ", 1) for line in str(found.attrs.get("stand_ins", "")).splitlines()]
    return "; ".join(f"{long_name(name)}: {said}" for name, said in words)


def basis_lines(found: xr.Dataset, *, jumps: bool = True) -> tuple[str, ...]:
    """Sentences on cases, stand-ins, what was left out and held.

    Parameters
    ----------
    found : xarray.Dataset
        From a function of :mod:`toolkit.findings.sensitivity`.
    jumps : bool
        Whether to say that outcomes of a steered tug jump.
    """
    said = stand_in_text(found)
    lines = [f"{int(found['case_count']):,} cases run; {failed_text(found)}."]
    lines += [f"Where a failed case has no value, there stands: {said}."] if said else []
    left = "; ".join(str(found.attrs.get("left_out", "")).splitlines())
    lines += [f"Left out: {left}."] if left else []
    lines += str(found.attrs.get("notes", "")).splitlines()
    sizes = [f"{found.attrs[k]} {k}" for k in ("trajectories", "replicates", "samples") if k in found.attrs]
    sizes.append(f"seed {found.attrs['design_seed']}")
    lines.append(f"Design: {', '.join(sizes)}.")
    if "passes" in found["quantity"].values:
        lines.append(f"Limits: {found.attrs.get('limits_applied', 'not recorded')}.")
    return (*lines, JUMPS) if jumps else tuple(lines)
