"""The wind limit that a record is held against: by direction, and as a box (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import product
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike, NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.margins import check_factor

__all__ = [
    "FORECAST_FACTORS", "GUST_FACTORS", "NEVER", "WIDEST", "box_limits", "least_by_bearing", "lessened", "limit_at",
    "limit_dataset", "limit_table",
]  # fmt: skip

NEVER = -np.inf
"""Limit where not even the lowest wind passes: no wind keeps it, calm included."""

WIDEST = 90.0
"""Neighbouring bearings further apart than this leave an arc between them of which nothing is known [degree]."""

FORECAST_FACTORS = (0.3, 1.0)
"""Interval of the forecast allowance [1]."""

GUST_FACTORS = (1.0, 2.5)
"""Interval of the gust factor [1], that of the input of a study."""

_BEARINGS = ("wind_from", "current_to")
_SAME = 1e-9


def limit_table(bearings: ArrayLike, speeds: ArrayLike, *, title: str = "limits as given") -> xr.Dataset:
    """Wind limits by direction, from a plain table.

    Parameters
    ----------
    bearings : array_like of float, shape (n,)
        Bearings the wind comes FROM [degree, true].
    speeds : array_like of float, shape (n,)
        Largest mean wind at 10 m with which the job may be done [m s-1]; NaN
        where no wind passes, not even calm.
    title : str
        What the table is, for notes.

    Returns
    -------
    xarray.Dataset
        As :func:`limit_dataset` gives it.

    Raises
    ------
    StudyError
        For bearings outside [0, 360], two that are the same, limits below zero
        or infinite, or lists of different lengths.
    """
    from_ = np.atleast_1d(np.asarray(bearings, dtype=np.float64))
    limit = np.atleast_1d(np.asarray(speeds, dtype=np.float64))
    if from_.shape != limit.shape or from_.ndim != 1 or not from_.size:
        raise StudyError([
            Problem(where=title, what=f"there are {from_.size} bearings and {limit.size} limits",
                    remedy="Give one limit for each bearing, and one bearing at least")
        ])  # fmt: skip
    field = xr.DataArray(np.where(np.isnan(limit), NEVER, limit), dims="wind_from", coords={"wind_from": from_})
    return limit_dataset(field, {"title": title})


def limit_dataset(
    field: xr.DataArray, attributes: Mapping[str, Any], open_ended: xr.DataArray | None = None
) -> xr.Dataset:
    """Put a field of limits in order, and refuse what is none.

    Parameters
    ----------
    field : xarray.DataArray
        Along ``wind_from`` and, where the limit hangs on the current too,
        ``current_speed`` and ``current_to`` [m s-1]; `NEVER` where no wind
        passes, NaN where nothing is known.
    attributes : mapping
        ``title`` and, where known, ``rests_on`` (what the limit rests on, in
        words) and ``gust_factor`` of the runs.
    open_ended : xarray.DataArray of bool, optional
        Where the limit is only the end of what was run; nowhere unless given.

    Returns
    -------
    xarray.Dataset
        ``limit`` and ``open_ended``, their axes rising, bearings in [0, 360);
        attributes with ``forecast_factor`` 1 and ``gust_factor`` 1 unless given.
    """
    where = str(attributes.get("title", "limit"))
    problems = []
    ends = xr.zeros_like(field, dtype=bool) if open_ended is None else open_ended
    for name in _BEARINGS:
        if name in field.dims:
            values = np.asarray(field[name].values, dtype=np.float64)
            if not np.all((values >= 0.0) & (values <= 360.0)):
                problems.append(Problem(where=where, what=f"{name} has values outside [0 deg, 360 deg]",
                                        remedy="Give true bearings, clockwise from north"))  # fmt: skip
            field, ends = (one.assign_coords({name: np.mod(values, 360.0)}) for one in (field, ends))
    for name in map(str, field.dims):
        values = np.asarray(field[name].values, dtype=np.float64)
        if np.unique(values).size < values.size:
            problems.append(Problem(where=where, what=f"{name} has the same value twice", remedy="Give each one once"))
    if bool(((field < 0.0) & (field != NEVER)).any()) or bool((field == np.inf).any()):
        problems.append(Problem(where=where, what="a limit is below 0 or has no bound",
                                remedy="Give wind speeds in m/s, and NaN where no wind passes"))  # fmt: skip
    if "wind_from" not in field.dims:
        problems.append(Problem(where=where, what="the limit has no axis wind_from", remedy="Give it by direction"))
    if problems:
        raise StudyError(problems)
    field.attrs = {"long_name": "largest wind speed that passes", "units": "m s-1"}
    ends.attrs = {"long_name": "the limit is the end of what was run"}
    made = xr.Dataset({"limit": field, "open_ended": ends}).sortby([str(dim) for dim in field.dims])
    return made.assign_attrs({"forecast_factor": 1.0, "gust_factor": 1.0, **attributes})


def lessened(limit: xr.Dataset, *, forecast_factor: float = 1.0, gust_factor: float | None = None) -> xr.Dataset:
    """Operational limit on the mean wind: limit times forecast allowance, over the gusts that the runs did not have.

    Parameters
    ----------
    limit : xarray.Dataset
        From :func:`limit_table` or of results.
    forecast_factor : float
        Forecast allowance: operational limit over limit, because a forecast
        errs (marine warranty practice, from memory, not verified).
    gust_factor : float, optional
        Gust over mean of the wind of the record. The limit is divided by it,
        over the gust factor of the runs, so that it is the gust that keeps to
        what was run as a steady wind. None leaves the limit as it is.

    Raises
    ------
    StudyError
        If a factor is outside `FORECAST_FACTORS` or `GUST_FACTORS`.
    """
    why = "it lowers a limit for what a forecast may miss"
    problems = check_factor("forecast_factor", forecast_factor, *FORECAST_FACTORS, why)
    if gust_factor is not None:
        problems += check_factor("gust_factor", gust_factor, *GUST_FACTORS, "harbours reach about 1.5")
    if problems:
        raise StudyError(problems)
    ran = float(limit.attrs["gust_factor"])
    factor = forecast_factor if gust_factor is None else forecast_factor * ran / gust_factor
    attributes = {
        **limit.attrs,
        "forecast_factor": forecast_factor * float(limit.attrs["forecast_factor"]),
        "gust_factor": ran if gust_factor is None else gust_factor,
    }
    field = (limit["limit"] * factor).assign_attrs(limit["limit"].attrs)
    return limit.assign(limit=field).assign_attrs(attributes)


def _around(axis: NDArray[np.float64], values: NDArray[np.float64]) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Places of the bearings on either side, and whether the arc between them is too wide to know of."""
    bearings = np.mod(values, 360.0)
    after = np.searchsorted(axis, bearings - _SAME * 360.0) % axis.size
    on = np.isclose(np.mod(axis[after] - bearings + 180.0, 360.0) - 180.0, 0.0, atol=1e-6)
    before = np.where(on, after, (after - 1) % axis.size)
    width = np.mod(axis[after] - axis[before], 360.0)
    width = np.where((width == 0.0) & ~on, 360.0, width)
    return before, after, width > WIDEST


def _between(axis: NDArray[np.float64], values: NDArray[np.float64]) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Places of the speeds on either side, and whether a speed lies above all that were run."""
    after = np.searchsorted(axis, values * (1.0 - _SAME))
    beyond = after >= axis.size
    after = np.minimum(after, axis.size - 1)
    on = np.isclose(axis[after], values, rtol=1e-9, atol=1e-12)
    before = np.where(on, after, np.maximum(after - 1, 0))
    return before, after, beyond


def limit_at(
    limit: xr.Dataset,
    wind_from: NDArray[np.float64],
    current_speed: NDArray[np.float64] | None = None,
    current_to: NDArray[np.float64] | None = None,
) -> NDArray[np.float64]:
    """Wind limit for each step of a record: the least of the neighbours on the grid.

    Parameters
    ----------
    limit : xarray.Dataset
        Limits.
    wind_from : ndarray, shape (n,)
        Bearing the wind comes FROM [degree]; NaN takes the least of all.
    current_speed, current_to : ndarray, shape (n,), optional
        Needed where the limit hangs on them [m s-1, degree]. A bearing of NaN
        takes the least of all; a current below the lowest one run is held
        against that.

    Returns
    -------
    ndarray, shape (n,)
        Limit [m s-1], `NEVER` where no wind passes. NaN where nothing is known:
        between bearings more than `WIDEST` apart, above the largest current
        run, and where the current itself is not known.
    """
    given = {"wind_from": wind_from, "current_speed": current_speed, "current_to": current_to}
    field = limit["limit"]
    unknown = np.zeros(wind_from.shape, dtype=bool)
    choices: list[list[NDArray[Any]]] = []
    for dim in map(str, field.dims):
        values, axis = given[dim], np.asarray(field[dim].values, dtype=np.float64)
        if values is None:
            raise StudyError([
                Problem(where=str(limit.attrs.get("title", "limit")), what=f"the limit hangs on {dim}",
                        why="the record does not have it", remedy=f"Choose one {dim}")
            ])  # fmt: skip
        missing = np.isnan(values)
        filled = np.where(missing, axis[0], values)
        if dim in _BEARINGS:
            before, after, wide = _around(axis, filled)
            unknown |= wide & ~missing
            places = [before, after]
            if missing.any():  # a missing bearing takes the place that is least, found below over all of them
                places = [np.where(missing, place, other) for place, other in _all_and(axis.size, before, after)]
        else:
            before, after, beyond = _between(axis, filled)
            unknown |= beyond | missing
            places = [before, after]
        choices.append(places)
    values = field.values
    least = np.full(wind_from.shape, np.inf)
    for corner in product(*choices):
        least = np.minimum(least, values[tuple(corner)])  # NaN, nothing known, goes before any number
    return np.where(unknown, np.nan, least)


def _all_and(size: int, before: NDArray[Any], after: NDArray[Any]) -> Iterable[tuple[NDArray[Any], NDArray[Any]]]:
    """Every place of an axis, beside one of the two neighbours."""
    for place in range(max(size, 2)):
        yield np.full(before.shape, place % size), before if place % 2 == 0 else after


def box_limits(limit: xr.Dataset) -> list[tuple[float, float]]:
    """Single limits: the least wind limit of all directions, for each largest current.

    Returns
    -------
    list of tuple
        Largest current [m s-1; infinite where the limit does not hang on the
        current] and the wind limit that holds in every direction up to it
        [m s-1; NaN where nothing is known in one of them].
    """
    field = limit["limit"]
    if "current_speed" not in field.dims:
        return [(np.inf, float(field.min(skipna=False)))]
    least = field.min([dim for dim in field.dims if dim != "current_speed"], skipna=False).values
    return list(zip(map(float, field["current_speed"].values), map(float, np.minimum.accumulate(least)), strict=True))


def least_by_bearing(limit: xr.Dataset) -> NDArray[np.float64]:
    """Least limit over the current for each ``wind_from`` [m s-1]; NaN, nothing known, goes before any number."""
    field = limit["limit"]
    return np.asarray(field.min([dim for dim in field.dims if dim != "wind_from"], skipna=False).values)
