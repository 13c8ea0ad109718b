"""Tables of limits searched for on the model: boxes, directions, draws (floor 5)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from toolkit.findings.display import axis_label, display_text, display_unit, long_name, to_display
from toolkit.findings.reading import axis_values
from toolkit.findings.table import Cell, Table, notes_on

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["box_table", "direction_table", "draws_table"]


_NAMES = {"wilson": "Wilson", "clopper_pearson": "Clopper and Pearson"}


def _keys(found: xr.Dataset, dims: list[str]) -> list[tuple[dict[str, int], list[Cell]]]:
    """Places of every combination of dimensions, and their values in users' units."""
    rows = []
    for place in np.ndindex(*(found.sizes[d] for d in dims)):
        at = dict(zip(dims, (int(i) for i in place), strict=True))
        cells: list[Cell] = []
        for dim in dims:
            value = axis_values(found, dim)[at[dim]]
            cells.append(value.replace("_", " ") if isinstance(value, str) else float(to_display(dim, value)))
        rows.append((at, cells))
    return rows


def box_table(boxes: xr.Dataset, judged: xr.Dataset) -> Table:
    """Single limits, the largest box that holds, and what either promises too much or gives away.

    Parameters
    ----------
    boxes : xarray.Dataset
        From :func:`toolkit.findings.box.box_against_joint`.
    judged : xarray.Dataset
        The cases it rests on.
    """
    axis, along = str(boxes.attrs["axis"]), str(boxes.attrs["along"])
    dims = [str(d) for d in boxes["single_limit"].dims]
    rows: list[tuple[Cell, ...]] = []
    for at, keys in _keys(boxes, dims):
        here = boxes.isel(at)
        numbers = [
            float(to_display(name, here[what].item()))
            for name, what in (
                (axis, "single_limit"),
                (along, "single_along"),
                (axis, "safe_limit"),
                (along, "safe_along"),
            )
        ]
        shares = [100.0 * float(here[name]) for name in ("promised_too_much", "given_away")]
        rows.append((*keys, *numbers, *shares, "yes" if bool(here["at_end"]) else "no"))
    first, second = display_unit(axis), display_unit(along)
    return Table(
        title=f"Single limits of {long_name(axis)} and {long_name(along)} against what holds jointly",
        header=(
            *map(axis_label, dims),
            f"single limit of {long_name(axis)} [{first}]", f"single limit of {long_name(along)} [{second}]",
            f"box that holds: {long_name(axis)} [{first}]", f"box that holds: {long_name(along)} [{second}]",
            "of the box of single limits does not hold [%]", "of what holds is outside the box that holds [%]",
            "a limit is the end of what was run",
        ),
        rows=tuple(rows),
        notes=notes_on(
            judged,
            "Single limits are read with the other quantity at its lowest. Shares are of areas, from no "
            f"{long_name(axis)} and the lowest {long_name(along)}; between two values run the smaller limit holds.",
        ),
    )  # fmt: skip


def direction_table(single: xr.Dataset, judged: xr.Dataset) -> Table:
    """One limit for all directions, and what it gives away against the limit by direction.

    Parameters
    ----------
    single : xarray.Dataset
        From :func:`toolkit.findings.box.worst_direction`.
    judged : xarray.Dataset
        The cases it rests on.
    """
    axis, along = str(single.attrs["axis"]), str(single.attrs["along"])
    dims = [str(d) for d in single["single_limit"].dims]
    unit = display_unit(axis)
    rows = tuple(
        (
            *keys,
            float(to_display(axis, single["single_limit"].isel(at).item())),
            _worst(single.isel(at), along),
            float(to_display(axis, single["mean_limit"].isel(at).item())),
            100.0 * float(single["given_away"].isel(at)),
        )
        for at, keys in _keys(single, dims)
    )
    return Table(
        title="One limit for all directions against the limit by direction",
        header=(*map(axis_label, dims), f"one limit for all [{unit}]", "of the direction",
                f"mean by direction [{unit}]", "given away [%]"),
        rows=rows,
        notes=notes_on(
            judged,
            "Given away: share of the mean limit by direction, every direction counted alike, that one limit for all "
            "leaves unused. Empty: from some direction not even the lowest wind passes; such a direction counts as 0 "
            "in the mean.",
        ),
    )  # fmt: skip


def _worst(single: xr.Dataset, along: str) -> str:
    """Direction of one limit for all of them; in words where no direction is worse than another."""
    if float(single["mean_limit"]) == max(float(single["single_limit"].fillna(0.0)), 0.0):
        return "all alike"
    return display_text(along, single["worst_from"].item())


def draws_table(shares: xr.Dataset, found: xr.Dataset, judged: xr.Dataset) -> Table:
    """Share of draws that pass by wind, with its interval, and the limit at the share asked for.

    Parameters
    ----------
    shares : xarray.Dataset
        From :func:`toolkit.findings.proportions.shares_of_scan` or
        :func:`toolkit.findings.proportions.passing_share`.
    found : xarray.Dataset
        The limit at the share asked for.
    judged : xarray.Dataset
        The cases it rests on.
    """
    axis = str(found.attrs["axis"])
    dims = [str(d) for d in shares["share"].dims]
    rows = tuple(
        (
            *keys,
            int(shares["passing_count"].isel(at)),
            int(shares["run_count"].isel(at)),
            *(100.0 * float(shares[name].isel(at)) for name in ("share", "share_low", "share_high")),
        )
        for at, keys in _keys(shares, dims)
    )
    confidence = 100.0 * float(shares.attrs["confidence"])
    told = [f"{display_text(axis, value)}" for value in np.ravel(found["limit"].values)]
    return Table(
        title="Share of draws that pass",
        header=(*map(axis_label, dims), "draws that pass", "draws", "share [%]",
                f"lower end, {confidence:g} % interval [%]", f"upper end, {confidence:g} % interval [%]"),
        rows=rows,
        notes=notes_on(
            judged,
            f"Largest {long_name(axis)} up to which at least {100.0 * float(found.attrs['share']):.4g} % of the draws "
            f"pass: {', '.join(told)}.",
            f"Interval by {_NAMES.get(str(shares.attrs['interval']), '')}: of the draws alone, as if the model "
            "were right.",
        ),
    )  # fmt: skip
