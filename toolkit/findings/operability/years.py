"""Good and bad years: availability year by year, P50 and P90 (floor 5)."""

from __future__ import annotations

import numpy as np
import pandas as pd
import xarray as xr

from toolkit.findings.operability.workable import refuse_spliced

__all__ = ["LEAST_COVERAGE", "LEAST_YEARS", "yearly"]

LEAST_COVERAGE = 0.9
"""Share of a calendar year's steps that must be known for the year to count; a judgement, spread 0.8 to 0.95."""

LEAST_YEARS = 5
"""Whole years from which a P50 and a P90 year are given; a judgement: of fewer, one in ten cannot be told."""


def yearly(held: xr.Dataset) -> xr.Dataset:
    """Availability year by year, and the P50 and P90 year.

    Parameters
    ----------
    held : xarray.Dataset
        From :func:`toolkit.findings.operability.workable_time`, of a record that
        is no typical year.

    Returns
    -------
    xarray.Dataset
        Along ``year`` (calendar years of the local time): ``share`` (rule,
        year), ``coverage`` (known share of the year's steps), ``whole`` (bool;
        coverage of at least `LEAST_COVERAGE`). ``p50`` and ``p90`` (rule): the
        availability that half, and nine in ten, of the whole years reach or
        exceed, interpolated linearly between ranked years; NaN with fewer than
        `LEAST_YEARS` of them. ``whole_years`` (int).

    Raises
    ------
    StudyError
        In a typical year.
    """
    refuse_spliced(held, "good and bad years")
    local = pd.DatetimeIndex(held["local_time"].values)
    known = held["known"].values
    rules = [str(rule) for rule in held["rule"].values]
    frame = pd.DataFrame({"known": known}, index=local.year)
    for place, rule in enumerate(rules):
        frame[rule] = held["workable"].values[place] & known
    number = frame.groupby(level=0)[["known", *rules]].sum()
    years = number.index.to_numpy(dtype=np.int64)
    days = np.where(pd.to_datetime(pd.Series(years).astype(str), format="%Y").dt.is_leap_year, 366.0, 365.0)
    of = number["known"].to_numpy(dtype=np.float64)
    coverage = of * float(held.attrs["step_hours"]) / (24.0 * days)
    share = number[rules].to_numpy(dtype=np.float64).T / np.where(of > 0, of, np.nan)
    whole = coverage >= LEAST_COVERAGE
    enough = int(whole.sum()) >= LEAST_YEARS
    levels = np.quantile(share[:, whole], [0.5, 0.1], axis=1) if enough else np.full((2, len(rules)), np.nan)
    found = xr.Dataset(
        {
            "share": (("rule", "year"), share),
            "coverage": ("year", coverage),
            "whole": ("year", whole),
            "p50": ("rule", levels[0]),
            "p90": ("rule", levels[1]),
            "whole_years": int(whole.sum()),
        },
        coords={"rule": rules, "year": years},
        attrs=held.attrs,
    )
    found["share"].attrs = {"long_name": "availability of the year", "units": "1"}
    found["p50"].attrs = {"long_name": "availability that half of the years reach or exceed", "units": "1"}
    found["p90"].attrs = {"long_name": "availability that nine in ten years reach or exceed", "units": "1"}
    return found
