"""Opening results: a store that is complete or half run, or a NetCDF file exported from one."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import StoreError
from toolkit.execution.attributes import RESULT_NAMES, SCHEMA, SCHEMA_VERSION, typed_flags
from toolkit.execution.blocks import Blocks
from toolkit.execution.creation import BLOCK_DONE
from toolkit.execution.integrity import UNREADABLE, check_study, cut_short, first_line, guarded
from toolkit.execution.mending import lost
from toolkit.execution.store import open_group
from toolkit.quantities import INPUTS

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["load_what_opens_results", "open_results"]

ATTRIBUTE_TYPES = (str, int, float, np.number)
"""What an attribute of a store, or each of several values, is: what NetCDF can hold too."""


def open_results(path: str | os.PathLike[str]) -> xr.Dataset:
    """Open the results of a run, lazily.

    Parameters
    ----------
    path : path
        A store, or a NetCDF file that `export_netcdf` wrote.

    Returns
    -------
    xarray.Dataset
        Data variables as dask arrays, one chunk a block. Cases that are not
        run yet have the outcome ``not_run`` and NaN in all else. Attributes
        ``blocks_done`` and ``blocks`` of a store tell how far it has got.

    Raises
    ------
    StoreError
        If there is nothing, if it is not ours, of another layout, or cut short;
        also later, when values are read that cannot be: store and variable are
        named.
    """
    try:
        place = Path(path)
    except TypeError:
        raise StoreError(
            f"{path!r} is not the path of results. Give the folder that `towage run` wrote, or an exported NetCDF file."
        ) from None
    dataset = _open_netcdf(place) if place.is_file() else _open_zarr(place)
    _check_whole(place, dataset)
    dataset = _in_order(dataset)
    for variable in dataset.variables.values():
        variable.attrs = typed_flags(variable.attrs, variable.dtype)
    return dataset


def load_what_opens_results() -> None:
    """Import the libraries of `open_results`, which takes a second, ahead of time."""
    import dask.array  # noqa: F401
    import xarray  # noqa: F401


def _check(place: Path, attributes: Mapping[Any, Any], names: Iterable[str]) -> None:
    """Refuse another layout, and results that have lost a variable."""
    version = attributes.get("schema_version")
    if version != SCHEMA_VERSION:
        raise StoreError(
            f"{place}: the layout is version {version}, and this is for version {SCHEMA_VERSION}. "
            "Run the study again with --fresh, or use the version of the toolkit that made it."
        )
    missing = ", ".join(sorted(set(RESULT_NAMES) - set(names)))
    if missing:
        raise cut_short(place, f"{missing} missing")
    check_study(place, attributes)


def _check_whole(place: Path, dataset: xr.Dataset) -> None:
    """Refuse results of which a variable was there and could not be made out, or an attribute is of no kind of ours."""
    lost = [name for name in RESULT_NAMES if name not in dataset.data_vars]
    if lost:
        raise cut_short(place, f"{', '.join(lost)} cannot be made out")
    for owner, attributes in (("", dataset.attrs), *((f"{k}: ", v.attrs) for k, v in dataset.variables.items())):
        for name, value in attributes.items():
            several = value if isinstance(value, list | tuple | np.ndarray) else [value]
            if isinstance(value, bool) or not all(isinstance(each, ATTRIBUTE_TYPES) for each in several):
                raise cut_short(place, f"{owner}its attribute '{name}' is neither text nor a number")


def _in_order(dataset: xr.Dataset) -> xr.Dataset:
    """Dataset with dimensions, inputs and outcomes in the order of the register, and words as plain text."""
    import xarray as xr

    order = {name: rank for rank, name in enumerate(dict.fromkeys((*dataset["outcome"].dims, *INPUTS)))}
    coordinates = {}
    variables = dataset.variables
    for name in sorted(dataset.coords, key=lambda name: order.get(name, len(order))):
        variable = variables[name]
        if variable.dtype.kind not in "fiu":
            variable = variable.copy(data=np.array(variable.values.tolist(), dtype=str))
        coordinates[name] = variable
    return xr.Dataset({name: variables[name] for name in RESULT_NAMES}, coords=coordinates, attrs=dict(dataset.attrs))


def _open_zarr(place: Path) -> xr.Dataset:
    import xarray as xr

    group = open_group(place, mode="r")
    _check(place, group.attrs, (file.parent.name for file in place.glob("*/zarr.json")))
    try:
        dataset: xr.Dataset = xr.open_zarr(place, consolidated=False, chunks=None)
        marks = dataset[BLOCK_DONE].values
        outcome = group["outcome"]
        missing = lost(place, Blocks(shape=outcome.shape, chunks=outcome.chunks), marks)
        dataset = dataset.drop_vars(BLOCK_DONE)
        for name in dataset.coords:
            dataset.variables[name].load()
        dataset = guarded(dataset, place)
    except UNREADABLE as error:
        raise cut_short(place, first_line(error)) from None
    if missing:
        raise cut_short(
            place, f"{missing} of {marks.size} blocks have lost a file",
            "Run the same study into it again: those blocks are run again, all others stay.",
        )  # fmt: skip
    for variable in dataset.variables.values():
        variable.encoding = {}
    dataset.attrs.update({"blocks": int(marks.size), "blocks_done": int(np.count_nonzero(marks))})
    return dataset


def _open_netcdf(place: Path) -> xr.Dataset:
    import xarray as xr

    try:
        dataset: xr.Dataset = xr.open_dataset(place, engine="netcdf4")
    except UNREADABLE as error:
        raise StoreError(
            f"{place}: cannot be read as NetCDF ({first_line(error)}). Give a store, or an exported file."
        ) from None
    if dataset.attrs.get("schema") != SCHEMA:
        dataset.close()
        raise StoreError(f"{place}: a NetCDF file that this package did not make. Give one that it exported.")
    _check(place, dataset.attrs, (str(name) for name in dataset.variables))
    try:
        for name in dataset.coords:
            dataset.variables[name].load()
    except UNREADABLE as error:
        raise cut_short(place, first_line(error)) from None
    return guarded(dataset, place)
