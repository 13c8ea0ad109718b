"""Where each of two configurations does better, over two axes (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.intervals import LEVEL, block_sums, sign_test
from toolkit.findings.paired import DRAW, blocks_of, preference

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["Better", "win_map"]


class Better(IntEnum):
    """Which of two does better in a cell."""

    not_run = 0
    first = 1
    second = 2
    even = 3
    neither_completes = 4


def _repeated(pairs: xr.Dataset, quantity: str, by: tuple[str, ...], over: Sequence[str]) -> NDArray[np.bool_]:
    """Which pairs of a cell are the same as one before them; shape (*over, pairs), as of `block_sums`."""
    sides = [pairs[f"{quantity}_{side}"].transpose(*over, *by).values for side in ("first", "second")]
    cells = int(np.prod([pairs.sizes[axis] for axis in over], dtype=int))
    first, second = (side.astype(np.float64).reshape(cells, -1) for side in sides)
    same = np.zeros(first.shape, dtype=np.bool_)
    for cell in range(cells):
        known = np.flatnonzero(np.isfinite(first[cell]) & np.isfinite(second[cell]))
        table = np.column_stack((first[cell, known], second[cell, known]))
        _, leads = np.unique(table, axis=0, return_index=True)
        same[cell, np.delete(known, leads)] = True
    return same.reshape(*(pairs.sizes[axis] for axis in over), -1)


def win_map(
    pairs: xr.Dataset,
    over: Sequence[str],
    quantity: str = "time_to_steady",
    *,
    blocks: Iterable[str] | None = None,
    level: float = LEVEL,
) -> xr.Dataset:
    """Find which of two does better, cell by cell.

    Parameters
    ----------
    pairs : xarray.Dataset
        From :func:`toolkit.findings.compare.pair` or ``pair_along``.
    over : sequence of str
        Axes of the map; all others are counted together in a cell.
    quantity : str
        Outcome by which a pair is judged where both completed; where one alone
        did, it is the better, see :func:`toolkit.findings.paired.preference`.
    blocks : iterable of str, optional
        Dimensions whose combinations count as one vote of the sign test; by
        default ``draw``, else every pair of the cell, those that agree to the
        last bit on both sides once: on a grid the directions of the wind in a
        calm are one case run once.
    level : float
        The sign test is held to 1 less this.

    Returns
    -------
    xarray.Dataset
        Over `over`: ``better`` (int8, :class:`Better`, by the net preference),
        ``supported`` (bool: the sign test says so at `level`),
        ``net_preference`` (1: always the first, -1: always the second),
        ``share_first``, ``share_second``, ``share_neither_completed`` (of the
        pairs run), ``mean_difference`` (second less first, of the pairs both
        completed; dataset unit), ``compared_count``, ``run_count``,
        ``sign_test_p``. Computed.

    Raises
    ------
    StudyError
        If an axis of the map is not there, or the outcome was not paired.
    """
    import xarray as xr

    dims = [str(dim) for dim in pairs["both_completed"].dims]
    known = str(pairs.attrs.get("quantities", "")).split()
    problems = [
        Problem(where="map", what=f"{axis} is not swept", remedy=f"Choose from: {', '.join(dims) or 'none is swept'}")
        for axis in over
        if axis not in dims
    ]
    if quantity not in known:
        problems.append(
            Problem(where="map", what=f"{quantity} was not paired", remedy=f"Choose from: {', '.join(known)}")
        )
    if problems:
        raise StudyError(problems)
    pairs = pairs.compute()
    rest = [dim for dim in dims if dim not in over]
    score = preference(pairs, quantity)
    by = tuple(blocks) if blocks is not None else blocks_of(rest, pairs.sizes) if DRAW in rest else tuple(rest)
    sums, counts = block_sums(score, by, over)
    if set(by) == set(rest) and DRAW not in by:
        same = _repeated(pairs, quantity, by, over)
        sums, counts = np.where(same, 0.0, sums), np.where(same, 0.0, counts)
    kept = tuple(dim for dim in over)
    shape = [pairs.sizes[dim] for dim in kept]

    def on_map(values: object) -> xr.DataArray:
        return xr.DataArray(np.asarray(values).reshape(shape), dims=kept)

    votes = on_map(sign_test((sums > 0).sum(-1), (sums < 0).sum(-1)))
    run = score.notnull().sum(rest)
    net = score.mean(rest)
    never = (pairs["neither"] & score.notnull()).sum(rest) == run
    better = xr.where(net > 0, int(Better.first), xr.where(net < 0, int(Better.second), int(Better.even)))
    better = xr.where(never, int(Better.neither_completes), better)
    better = xr.where(run > 0, better, int(Better.not_run))
    found = xr.Dataset(
        {
            "better": better.astype(np.int8),
            "supported": (votes <= 1.0 - level) & (run > 0),
            "net_preference": net,
            "share_first": (score > 0).sum(rest) / run.where(run > 0),
            "share_second": (score < 0).sum(rest) / run.where(run > 0),
            "share_neither_completed": pairs["neither"].sum(rest) / run.where(run > 0),
            "mean_difference": pairs[f"{quantity}_difference"].mean(rest),
            "compared_count": pairs[f"{quantity}_difference"].notnull().sum(rest),
            "run_count": run,
            "sign_test_p": votes.where(run > 0),
        },
        attrs={**pairs.attrs, "quantity": quantity, "over": " ".join(over), "level": level,
               "votes": int((counts > 0).sum(-1).max(initial=0))},
    ).transpose(*kept)  # fmt: skip
    found["better"].attrs = {
        "long_name": "which does better",
        "flag_values": np.array([int(b) for b in Better], dtype=np.int8),
        "flag_meanings": " ".join(b.name for b in Better),
    }
    return found
