"""Exceedance and availability: overall, by month, by hour of day, by direction (floor 5)."""

from __future__ import annotations

import numpy as np
import pandas as pd
import xarray as xr
from numpy.typing import ArrayLike, NDArray

from toolkit.findings.operability.report import reading_counts

__all__ = ["availability", "availability_by_direction", "exceedance"]


def exceedance(record: xr.Dataset, speeds: ArrayLike) -> xr.DataArray:
    """Share of the known time in which the wind is above a speed.

    Parameters
    ----------
    record : xarray.Dataset
        Record.
    speeds : array_like of float, shape (n,)
        Wind speeds [m s-1].

    Returns
    -------
    xarray.DataArray
        Along ``wind_speed``, shape (n,) [1]; attributes ``known_steps``. NaN
        where no wind is known.
    """
    reading_counts(record)
    known = np.sort(record["wind_speed"].values[~np.isnan(record["wind_speed"].values)])
    given = np.atleast_1d(np.asarray(speeds, dtype=np.float64))
    # up to rounding, as a limit is held: a wind that equals it does not exceed it
    below = np.searchsorted(known, given * (1.0 + 1e-9), side="right")
    share = (known.size - below) / known.size if known.size else np.full(given.shape, np.nan)
    attributes = {"long_name": "share of time with more wind", "units": "1", "known_steps": int(known.size)}
    return xr.DataArray(share, dims="wind_speed", coords={"wind_speed": given}, attrs=attributes)


def availability(held: xr.Dataset) -> xr.Dataset:
    """Share of the known time in which the job may be done.

    Parameters
    ----------
    held : xarray.Dataset
        From :func:`toolkit.findings.operability.workable_time`.

    Returns
    -------
    xarray.Dataset
        ``share`` (rule), ``share_by_month`` (rule, month), ``share_by_hour``
        (rule, hour) and ``share_by_month_and_hour`` (rule, month, hour) [1],
        NaN where nothing is known; ``known_steps``, ``known_by_month``,
        ``known_by_hour``, ``known_by_month_and_hour`` (int);
        ``share_beyond``, the share of the known time that is not workable under
        the joint limit only because nothing more was run. Months 1 to 12
        and hours 0 to 23 of the local time.
    """
    local = pd.DatetimeIndex(held["local_time"].values)
    known = held["known"].values
    frame = pd.DataFrame({"month": local.month, "hour": local.hour, "known": known})
    for rule in held["rule"].values:
        frame[str(rule)] = held["workable"].sel(rule=rule).values & known
    rules = [str(rule) for rule in held["rule"].values]
    every = pd.MultiIndex.from_product([range(1, 13), range(24)], names=["month", "hour"])
    counts = frame.groupby(["month", "hour"])[["known", *rules]].sum().reindex(every, fill_value=0)
    grid = counts.to_numpy(dtype=np.int64).reshape(12, 24, 1 + len(rules))
    coords = {"rule": rules, "month": np.arange(1, 13), "hour": np.arange(24)}
    found = xr.Dataset(coords=coords, attrs=held.attrs)
    for suffix, dims, over in (
        ("", (), (0, 1)),
        ("_by_month", ("month",), (1,)),
        ("_by_hour", ("hour",), (0,)),
        ("_by_month_and_hour", ("month", "hour"), ()),
    ):
        number = grid.sum(axis=over)
        of = number[..., 0]
        share = np.moveaxis(number[..., 1:], -1, 0) / np.where(of > 0, of, np.nan)
        found[f"share{suffix}"] = (("rule", *dims), share)
        found["known_steps" if not suffix else f"known{suffix}"] = (dims, of)
        found[f"share{suffix}"].attrs = {"long_name": "availability", "units": "1"}
    total = int(known.sum())
    found["share_beyond"] = float(held["beyond"].sum()) / total if total else np.nan
    found["share_beyond"].attrs = {"long_name": "share of time not workable because nothing more was run", "units": "1"}
    return found


def availability_by_direction(held: xr.Dataset, bearings: ArrayLike) -> xr.Dataset:
    """What each direction has of the time, and what the box gives away in it.

    Parameters
    ----------
    held : xarray.Dataset
        From :func:`toolkit.findings.operability.workable_time`.
    bearings : array_like of float, shape (n,)
        Bearings the wind comes FROM [degree]; each step belongs to the nearest.

    Returns
    -------
    xarray.Dataset
        Along ``wind_from`` in the order given: ``share_of_time`` of the known
        time [1], ``share`` (rule, wind_from) available of the time with wind
        from there [1], ``mean_wind`` [m s-1]. Calms and winds without a bearing
        belong to none; ``share_without_direction`` is theirs.
    """
    axis = np.mod(np.atleast_1d(np.asarray(bearings, dtype=np.float64)), 360.0)
    bearing, known = held["wind_from"].values, held["known"].values
    directed = known & ~np.isnan(bearing)
    nearest = _nearest(axis, bearing[directed])
    total = max(int(known.sum()), 1)
    number = np.bincount(nearest, minlength=axis.size)
    of = np.where(number > 0, number, np.nan)
    kept = [np.bincount(nearest[held["workable"].values[k][directed]], minlength=axis.size) for k in range(2)]
    wind = np.bincount(nearest, weights=held["wind_speed"].values[directed], minlength=axis.size)
    found = xr.Dataset(
        {
            "share_of_time": ("wind_from", number / total),
            "share": (("rule", "wind_from"), np.stack(kept) / of),
            "mean_wind": ("wind_from", wind / of),
            "share_without_direction": 1.0 - number.sum() / total,
        },
        coords={"rule": held["rule"], "wind_from": axis},
        attrs=held.attrs,
    )
    found["mean_wind"].attrs = {"long_name": "mean wind speed", "units": "m s-1"}
    return found


def _nearest(axis: NDArray[np.float64], bearings: NDArray[np.float64]) -> NDArray[np.int64]:
    """Place of the nearest bearing; of two as near, the first clockwise."""
    order = np.argsort(axis)
    rising = axis[order]
    edges = np.mod(rising + np.mod(np.roll(rising, -1) - rising, 360.0) / 2.0, 360.0)
    if rising.size == 1:
        return np.zeros(bearings.shape, dtype=np.int64)
    turned = np.mod(bearings - edges[-1], 360.0)
    place = np.searchsorted(np.mod(edges[:-1] - edges[-1], 360.0), turned, side="right")
    return np.asarray(order[place], dtype=np.int64)
