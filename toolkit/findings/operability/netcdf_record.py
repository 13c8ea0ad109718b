"""Rows of a record in a NetCDF file, by its CF attributes (floor 5)."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from toolkit.errors import Problem, StoreError, StudyError
from toolkit.findings.operability.headings import factor_of, missing_columns, role_of_standard_name, roles_of
from toolkit.findings.operability.options import ReadingOptions
from toolkit.findings.operability.raw import RawRecord, flows_of

__all__ = ["read_netcdf"]

UNREADABLE = (OSError, ValueError, RuntimeError, ArithmeticError, TypeError, LookupError, AttributeError, MemoryError)
"""What NetCDF, and the reading of its times, raise on a file that is not what it should be."""


def read_netcdf(path: Path, options: ReadingOptions) -> RawRecord:
    """Read the rows of a NetCDF file.

    A variable is known by the name the user gave, else by its CF
    ``standard_name``, else by its own name. Times are UTC by the CF conventions
    unless the user says otherwise. Dimensions beside time must have one value.

    Raises
    ------
    StudyError
        With every variable, unit, dimension and calendar that does not fit.
    StoreError
        If the file cannot be opened.
    """
    problems: list[Problem] = []
    name = path.name
    try:
        with xr.open_dataset(path, engine="netcdf4") as opened:
            dataset = opened.load()
    except UNREADABLE as error:
        why = (str(error).strip().splitlines() or ["no further word"])[0]
        raise StoreError(f"{path}: cannot be read as NetCDF ({why}). Give a record as CSV or NetCDF.") from None
    found = _roles(dataset, options, name, problems)
    problems.extend(missing_columns(found, where=name, headings=[str(v) for v in dataset.variables]))
    factors = {
        role: factor_of(role, options.units.get(role, str(dataset[variable].attrs.get("units", ""))), where=name,
                        problems=problems)
        for role, variable in found.items()
        if role != "time"
    }  # fmt: skip
    times = _times(dataset, found.get("time", ""), options, name, problems)
    columns = {role: _column(dataset, found, role, name, problems) for role in factors}
    if problems:
        raise StudyError(problems)
    told = [f"{role} is '{variable}', times {factors[role]:.6g}" if role in factors else f"{role} is '{variable}'"
            for role, variable in found.items()]  # fmt: skip
    for role in ("wind_speed", "wind_east"):
        cell_methods = str(dataset[found[role]].attrs.get("cell_methods", "")) if role in found else ""
        if cell_methods:
            told.append(f"the file says of {role}: {cell_methods}")
    values, turned = flows_of({role: column * factors[role] for role, column in columns.items()})
    return RawRecord(
        name=name,
        times=times,
        values=values,
        unreadable=np.zeros(times.size, dtype=bool),
        rows=np.arange(1, times.size + 1),
        height=_height(dataset, found),
        told=(*told, *turned),
    )


def _roles(dataset: xr.Dataset, options: ReadingOptions, name: str, problems: list[Problem]) -> dict[str, str]:
    """Variable by what it is: named by the user, by its standard name, else by its own."""
    names = [str(variable) for variable in dataset.variables]
    found: dict[str, str] = {}
    for role, variable in options.columns.items():
        if variable in names:
            found[role] = variable
        else:
            problems.append(
                Problem(where=name, what=f"there is no variable '{variable}' for {role}",
                        remedy=f"There are: {', '.join(names[:20])}")
            )  # fmt: skip
    standard: dict[str, str] = {}
    for variable in names:
        role = role_of_standard_name(str(dataset[variable].attrs.get("standard_name", "")))
        if not role or role in options.columns or variable in found.values():
            continue
        if role in standard:
            problems.append(
                Problem(where=name, what=f"'{standard[role]}' and '{variable}' are both {role}",
                        remedy=f"Say which: columns {role}={variable}")
            )  # fmt: skip
        standard[role] = variable
    found = {**standard, **found}
    left = [variable for variable in names if variable not in found.values()]
    by_name = roles_of(left, {}, where=name, problems=[])
    return {**{role: v for role, (v, _) in by_name.items() if role != "date" and role not in options.columns}, **found}


def _times(
    dataset: xr.Dataset, variable: str, options: ReadingOptions, name: str, problems: list[Problem]
) -> pd.DatetimeIndex:  # fmt: skip
    if not variable:
        return pd.DatetimeIndex([])
    times = dataset[variable]
    if times.ndim != 1 or times.dtype.kind != "M":
        calendar = times.encoding.get("calendar", times.attrs.get("calendar", ""))
        problems.append(
            Problem(where=name, what=f"{variable} is no list of times on the clock",
                    why=f"its calendar is '{calendar}'" if calendar else "it has no units such as 'hours since ...'",
                    remedy="Write it with CF units in the standard calendar")
        )  # fmt: skip
        return pd.DatetimeIndex([])
    index = pd.DatetimeIndex(times.values)
    return index if options.times_in else index.tz_localize("UTC")


def _column(
    dataset: xr.Dataset, found: dict[str, str], role: str, name: str, problems: list[Problem]
) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Values along time alone; NaN where the file has its fill value."""
    variable = dataset[found[role]]
    dims = dataset[found["time"]].dims if "time" in found else ()
    many = [f"{dim} ({variable.sizes[dim]})" for dim in variable.dims if dim not in dims and variable.sizes[dim] != 1]
    if many or not set(dims) <= set(variable.dims):
        problems.append(
            Problem(where=name, what=f"{found[role]} is no plain series in time",
                    why=f"it also has {', '.join(many)}" if many else "it has no dimension of time",
                    remedy="Take one place out of the file first")
        )  # fmt: skip
        return np.zeros(0)
    if variable.dtype.kind not in "fiu":
        problems.append(Problem(where=name, what=f"{found[role]} holds no numbers", remedy="Name another variable"))
        return np.zeros(0)
    return np.asarray(variable.squeeze([d for d in variable.dims if d not in dims]).values, dtype=np.float64)


def _heights(dataset: xr.Dataset, found: dict[str, str]) -> Iterator[float]:
    for role in ("wind_speed", "wind_east"):
        variable = dataset[found[role]] if role in found else None
        if variable is None:
            continue
        for coordinate in variable.coords.values():
            if coordinate.attrs.get("standard_name") == "height" and coordinate.size == 1:
                yield float(coordinate.values.item())
        if isinstance(variable.attrs.get("height"), (int, float, np.number)):
            yield float(variable.attrs["height"])


def _height(dataset: xr.Dataset, found: dict[str, str]) -> float | None:
    """Height of the wind that the file names, as a scalar CF coordinate or an attribute [m]."""
    return next(_heights(dataset, found), None)
