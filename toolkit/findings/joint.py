"""Each limit on its own against all limits together: the box and the joint envelope (floor 5)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from toolkit.findings.reading import require
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["count_limits"]


def count_limits(judged: xr.Dataset) -> xr.Dataset:
    """Count the cases that keep each limit on its own, and those that keep all.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.limits.apply_limits`.

    Returns
    -------
    xarray.Dataset
        Along ``limit`` (empty where none is set): ``applied_count``, completed
        cases to which the limit applied; ``kept_count``, completed cases that
        keep it or to which it does not apply; ``only_broken_count``, completed
        cases that break it and keep every other. Beside them ``run_count``,
        ``completed_count``, ``all_kept_count`` and
        ``least_kept_count``, the smallest of the ``kept_count``: what the
        limits would promise if each were read on its own. All int, of the cases
        run; a value that is missing though its limit applies counts as kept
        here and not in ``all_kept_count``.
    """
    import xarray as xr

    require(judged, ("passes", "was_run", "outcome", "limit_utilisation"), "counting limits")
    over = list(judged["passes"].dims)
    completed = judged["outcome"] == int(Outcome.completed)
    used = judged["limit_utilisation"]
    used = used.isel(limit=np.nonzero(used["limit"].values != "none")[0])
    broken = (used > 1.0) & completed
    kept = completed & ~broken
    counts = xr.Dataset(
        {
            "applied_count": (used.notnull() & completed).sum(over),
            "kept_count": kept.sum(over),
            "only_broken_count": (broken & (broken.sum("limit") == 1)).sum(over),
            "run_count": judged["was_run"].sum(over),
            "completed_count": completed.sum(over),
            "all_kept_count": judged["passes"].sum(over),
        },
        attrs=judged.attrs,
    )
    few = counts["kept_count"].min() if used.sizes["limit"] else counts["completed_count"]
    counts["least_kept_count"] = few
    for name, words in (
        ("applied_count", "completed cases to which the limit applied"),
        ("kept_count", "completed cases that keep the limit"),
        ("only_broken_count", "completed cases that break this limit alone"),
        ("run_count", "cases that were run"),
        ("completed_count", "cases that completed"),
        ("all_kept_count", "cases that keep all limits"),
        ("least_kept_count", "fewest cases that keep one limit"),
    ):
        counts[name].attrs = {"long_name": words, "units": "1"}
    return counts
