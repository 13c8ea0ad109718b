"""The share of cases that pass, with the interval that so few draws leave open (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.reading import require
from toolkit.findings.worst import worst_over

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["DRAWS", "passing_share", "proportion_interval"]

DRAWS = "draw"
"""Axis along which cases differ by chance alone: gusts and crew."""

Method = Literal["wilson", "clopper_pearson"]


def proportion_interval(
    passing: ArrayLike, count: ArrayLike, *, confidence: float = 0.95, method: Method = "wilson"
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Two-sided confidence interval of a proportion.

    Parameters
    ----------
    passing, count : array_like of int, same shape
        Passing cases, and cases; independent draws.
    confidence : float
        In (0, 1).
    method : {"wilson", "clopper_pearson"}
        Wilson's score interval, whose mean coverage is near `confidence`, or the
        exact interval of Clopper and Pearson, whose coverage is never below it.

    Returns
    -------
    tuple of ndarray
        Lower and upper end; NaN where `count` is 0.

    Notes
    -----
    Wilson (J. American Statistical Association 22, 1927; cited so in the
    documentation of Boost.Histogram) and Clopper and Pearson (1934), whose
    papers were not read; both agree with `scipy.stats.binomtest` to rounding,
    which is tested.

    Raises
    ------
    StudyError
        If the confidence is not in (0, 1).
    """
    from scipy import special

    if not 0.0 < confidence < 1.0:
        raise StudyError([Problem(where="confidence", what=f"confidence = {confidence} is outside (0, 1)")])
    k, n = np.broadcast_arrays(np.asarray(passing, dtype=np.float64), np.asarray(count, dtype=np.float64))
    tail = 0.5 * (1.0 - confidence)
    empty = n == 0
    safe = np.where(empty, 1.0, n)
    if method == "clopper_pearson":
        low = np.where(k > 0, special.betaincinv(np.maximum(k, 1.0), safe - k + 1.0, tail), 0.0)
        high = np.where(k < safe, special.betaincinv(k + 1.0, np.maximum(safe - k, 1.0), 1.0 - tail), 1.0)
    else:
        z2 = float(special.ndtri(1.0 - tail)) ** 2
        centre = (k + 0.5 * z2) / (safe + z2)
        half = np.sqrt(z2 * (k * (safe - k) / safe + 0.25 * z2)) / (safe + z2)
        low = np.where(k > 0, centre - half, 0.0)
        high = np.where(k < safe, centre + half, 1.0)
    return np.where(empty, np.nan, low), np.where(empty, np.nan, high)


def passing_share(
    judged: xr.Dataset,
    *,
    draws: str = DRAWS,
    over: Iterable[str] = (),
    confidence: float = 0.95,
    method: Method = "wilson",
) -> xr.Dataset:
    """Share of draws that pass, with its interval.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.limits.apply_limits`.
    draws : str
        Dimension along which cases differ by chance alone.
    over : iterable of str
        Dimensions along which every case of a draw must pass, such as
        ``wind_from``: the same gusts from every side.
    confidence, method
        As for :func:`proportion_interval`.

    Returns
    -------
    xarray.Dataset
        On the remaining dimensions: ``share`` of the draws run that pass,
        ``share_low``, ``share_high`` (all NaN where none was run),
        ``passing_count``, ``run_count``, ``draw_count``. Of the direction of the
        wind or a line's length, which are chosen and not drawn, no such
        interval exists. Lazy if `judged` is.

    Raises
    ------
    StudyError
        If there is no such dimension.
    """
    import xarray as xr

    require(judged, ("passes", "was_run"), "the share that passes")
    if draws not in judged["passes"].dims:
        swept = ", ".join(str(d) for d in judged["passes"].dims) or "none"
        raise StudyError(
            [
                Problem(
                    where=str(judged.attrs.get("title", "dataset")),
                    what=f"{draws} is not swept",
                    why="an interval needs cases that differ by chance alone",
                    remedy=f"Sweep {draws}; here these are swept: {swept}",
                )
            ]
        )
    field = worst_over(judged, over)
    passing, run = field["passes"].sum(draws), field["was_run"].sum(draws)

    def end(which: int) -> Any:
        return xr.apply_ufunc(
            lambda k, n: proportion_interval(k, n, confidence=confidence, method=method)[which],
            passing, run, dask="parallelized", output_dtypes=[np.float64],
        )  # fmt: skip

    found = xr.Dataset(
        {
            "share": passing / run.where(run > 0),
            "share_low": end(0),
            "share_high": end(1),
            "passing_count": passing,
            "run_count": run,
            "draw_count": xr.full_like(run, judged.sizes[draws]),
        },
        attrs={**judged.attrs, "draws": draws, "confidence": float(confidence), "interval": method,
               "worst_over": " ".join(over)},
    )  # fmt: skip
    for name, words in (
        ("share", "share of the draws run that pass"),
        ("share_low", f"lower end of its {100 * confidence:g} % interval"),
        ("share_high", f"upper end of its {100 * confidence:g} % interval"),
        ("passing_count", "draws that pass"),
        ("run_count", "draws that were run"),
        ("draw_count", "draws"),
    ):
        found[name].attrs = {"long_name": words, "units": "1"}
    return found


def shares_of_scan(found: xr.Dataset, draws: int, *, confidence: float = 0.95, method: Method = "wilson") -> xr.Dataset:
    """Share of draws that pass at each value of a scan, with its interval.

    Parameters
    ----------
    found : xarray.Dataset
        From :func:`toolkit.findings.limit_search.find_limit` with `draws`.
    draws : int
        Number of draws.
    confidence, method
        As for :func:`proportion_interval`.

    Returns
    -------
    xarray.Dataset
        ``share``, ``share_low``, ``share_high``, ``passing_count``,
        ``run_count`` along the input that was searched, and what else `found`
        has but ``scan``.
    """
    name = str(found.attrs["axis"])
    share = found["scan_share"].rename(scan=name)
    passing = (share * draws).round().astype(np.int64)
    low, high = proportion_interval(passing.values, np.full(passing.shape, draws), confidence=confidence, method=method)
    shares = share.to_dataset(name="share")
    shares["share_low"], shares["share_high"] = (share.dims, low), (share.dims, high)
    shares["passing_count"] = passing
    shares["run_count"] = passing * 0 + draws
    shares[name].attrs = {"units": found["limit"].attrs.get("units", "")}
    return shares.assign_attrs({**found.attrs, "confidence": float(confidence), "interval": method})
