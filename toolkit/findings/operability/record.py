"""A record of wind, and current, put right: even steps, gaps left open, every fault counted (floor 5)."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr
from numpy.typing import NDArray

from toolkit.errors import Problem, StoreError, StudyError
from toolkit.findings.operability.csv_record import read_csv
from toolkit.findings.operability.faults import judge_rows
from toolkit.findings.operability.netcdf_record import read_netcdf
from toolkit.findings.operability.options import HEIGHTS, ReadingOptions, hours_of, options_problems, zone_of
from toolkit.findings.operability.raw import RawRecord
from toolkit.findings.operability.steps import even_steps, find_step, splice, splice_problems, spliced_years

__all__ = ["PROFILE_EXPONENT", "REFERENCE_HEIGHT", "read_record", "record_of", "to_reference_height"]

REFERENCE_HEIGHT = 10.0
"""Height above water of the wind that limits are for [m]."""

PROFILE_EXPONENT = 1.0 / 7.0
"""Exponent of the wind's profile over open water; common practice, no source (the same as that of the wind loads)."""


def to_reference_height(speed: NDArray[np.float64], height: float) -> NDArray[np.float64]:
    r"""Wind speed at 10 m from that at another height.

    Parameters
    ----------
    speed : ndarray
        Wind speed at `height` [m s-1].
    height : float
        Height above water [m], within `HEIGHTS`.

    Returns
    -------
    ndarray
        :math:`V_{10} = V_z (10 / z)^{1/7}` [m s-1], of the same shape.
    """
    return np.asarray(speed * (REFERENCE_HEIGHT / height) ** PROFILE_EXPONENT)


def read_record(path: str | os.PathLike[str], options: ReadingOptions | None = None) -> xr.Dataset:
    """Read a record of wind, and current where it has one, from CSV or NetCDF.

    Parameters
    ----------
    path : path
        CSV or NetCDF, told apart by its first bytes.
    options : ReadingOptions, optional
        What the file does not say itself.

    Returns
    -------
    xarray.Dataset
        As :func:`record_of` gives it.

    Raises
    ------
    StudyError
        With everything that is wrong with options, columns, units and times.
    StoreError
        If there is no such file, or it cannot be opened.
    """
    told = options or ReadingOptions()
    place = Path(path)
    problems = options_problems(told)
    if problems:
        raise StudyError(problems)
    if not place.is_file():
        raise StoreError(f"{place}: there is no such file. Give a record as CSV or NetCDF.")
    with place.open("rb") as file:
        start = file.read(8)
    is_netcdf = start[:3] == b"CDF" or start[:4] == b"\x89HDF"
    return record_of(read_netcdf(place, told) if is_netcdf else read_csv(place, told), told)


def record_of(raw: RawRecord, options: ReadingOptions) -> xr.Dataset:
    """Put the rows of a file right.

    Rows that cannot be read are left out, times are sorted, several rows in one
    step give way to the one with the most wind, and the record is brought to
    even steps. Gaps stay gaps: nothing is filled in.

    Parameters
    ----------
    raw : RawRecord
        Rows of the file.
    options : ReadingOptions
        What the file does not say.

    Returns
    -------
    xarray.Dataset
        Along ``time`` (even steps; UTC where the zone is known):
        ``wind_speed`` at 10 m [m s-1] and ``wind_from`` [degree], NaN in gaps,
        and ``wind_from`` NaN in calms; ``current_speed`` and ``current_to`` where
        the file has them; coordinate ``local_time``, in which hours and months
        are counted. Attributes: ``kind`` (``measured`` or ``typical_year``),
        ``step_hours``, ``time_zone``, ``reading`` (JSON of all counts).

    Raises
    ------
    StudyError
        If too little can be read, if the record is spliced of several years and
        that was not said, or if a zone is needed and not known.
    """
    problems: list[Problem] = []
    height = options.height if options.height is not None else raw.height
    if height is not None and not HEIGHTS[0] <= height <= HEIGHTS[1]:
        problems.append(
            Problem(where=raw.name, what=f"height = {height:g} m of the wind is outside [{HEIGHTS[0]:g} m, "
                    f"{HEIGHTS[1]:g} m]", why="the one-seventh power law is for the lowest air over water",
                    remedy="Say the height: height 10")
        )  # fmt: skip
    times, zone = _in_utc(raw, options, problems)
    if problems:
        raise StudyError(problems)
    rows, counts = judge_rows(raw, times)
    usable = pd.DatetimeIndex(rows.index)
    if options.step:
        step = hours_of(options.step, where="step", problems=problems)
    else:
        step = find_step(usable, where=raw.name, problems=problems)
    years = spliced_years(usable)
    problems.extend(splice_problems(usable, years, typical_year=options.typical_year, where=raw.name))
    if problems:
        raise StudyError(problems)
    if options.times_at == "end":
        usable = usable - pd.Timedelta(hours=step)
    rows.index = splice(usable) if options.typical_year else usable
    even, merged = even_steps(rows, step, where=raw.name)
    counts |= merged
    even["wind_speed"] = to_reference_height(
        even["wind_speed"].to_numpy(dtype=np.float64) * options.averaging_factor, height or REFERENCE_HEIGHT
    )
    counts |= {
        "told": list(raw.told), "spliced_years": years, "times_at": options.times_at, "averaging": options.averaging,
        "averaging_factor": options.averaging_factor, "height": height,
        "height_factor": float(to_reference_height(np.ones(1), height or REFERENCE_HEIGHT)[0]),
    }  # fmt: skip
    return _dataset(raw.name, even, counts, step=step, zone=zone, options=options)


def _in_utc(
    raw: RawRecord, options: ReadingOptions, problems: list[Problem]
) -> tuple[pd.DatetimeIndex, str]:  # fmt: skip
    """Times without a zone, in UTC where one is known; and that zone in words."""
    times = raw.times
    zone = zone_of(options.times_in, where="times_in", problems=problems)
    if times.tz is not None:
        return times.tz_convert("UTC").tz_localize(None), "UTC, or with the offsets that they name"
    if zone is not None:
        # an hour that the clock shows twice is summer time first; one that it skips has no time
        first = ~pd.Series(times).duplicated().to_numpy(dtype=bool)
        aware = times.tz_localize(zone, ambiguous=first, nonexistent="NaT")
        return aware.tz_convert("UTC").tz_localize(None), options.times_in
    if options.hours_in:
        problems.append(
            Problem(where=raw.name, what="the times name no zone", why=f"hours are wanted in {options.hours_in}",
                    remedy="Say theirs: times_in UTC")
        )  # fmt: skip
    return times, ""


def _dataset(
    name: str, even: pd.DataFrame, counts: Mapping[str, Any], *, step: float, zone: str, options: ReadingOptions
) -> xr.Dataset:  # fmt: skip
    """Record as a dataset, with the local time of every step."""
    time = pd.DatetimeIndex(even.index)
    wanted = zone_of(options.hours_in or options.times_in, where="hours_in", problems=[])
    local = time.tz_localize("UTC").tz_convert(wanted).tz_localize(None) if zone and wanted is not None else time
    attributes = {
        "wind_speed": ("wind speed", "m s-1", "wind_speed"),
        "wind_from": ("wind from", "degree", "wind_from_direction"),
        "current_speed": ("current speed", "m s-1", "sea_water_speed"),
        "current_to": ("current to", "degree", "sea_water_velocity_to_direction"),
    }
    record = xr.Dataset(
        {str(column): ("time", even[column].to_numpy(dtype=np.float64)) for column in even.columns},
        coords={"time": time, "local_time": ("time", local)},
    )
    for column in record.data_vars:
        long_name, unit, standard = attributes[str(column)]
        record[column].attrs = {"long_name": long_name, "units": unit, "standard_name": standard}
    record.attrs = {
        "title": name,
        "kind": "typical_year" if options.typical_year else "measured",
        "step_hours": step,
        "time_zone": zone,
        "hours_zone": (options.hours_in or options.times_in or "UTC") if zone else "",
        "reading": json.dumps(counts),
    }
    return record
