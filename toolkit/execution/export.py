"""Exports of a dataset for other programs: CF NetCDF and CSV."""

from __future__ import annotations

import contextlib
import errno
import math
import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import StoreError
from toolkit.execution.attributes import flag_words
from toolkit.execution.integrity import first_line
from toolkit.execution.store import writing
from toolkit.execution.whole import whole
from toolkit.quantities.wording import CAUTIONS, DIRECTIONS

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["export_csv", "export_netcdf", "notes_beside"]

ROWS_AT_ONCE = 100_000
"""Rows of a CSV file that are held in memory at a time, about."""


def export_netcdf(dataset: xr.Dataset, path: str | os.PathLike[str], *, overwrite: bool = False) -> Path:
    """Write a dataset as compressed NetCDF-4 by the CF-1.11 conventions.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results, a table of cases or a history.
    path : path
        File to write, in folders that are made where they are missing.
    overwrite : bool
        Whether a file that is there may be replaced.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    StoreError
        If the file is there and `overwrite` is not set, or cannot be written.
    """
    encoding: dict[Any, dict[str, Any]] = {}
    for name, variable in dataset.variables.items():
        # a coordinate has no missing values (CF-1.11 section 2.5.1), and code 0 of an outcome is a code
        missing = math.nan if variable.dtype.kind == "f" and name in dataset.data_vars else None
        encoding[name] = {"_FillValue": missing}
        if variable.ndim and variable.dtype.kind in "fiu":
            encoding[name] |= {"zlib": True, "complevel": 4, "shuffle": True}
    import dask

    # block after block in this thread: where a block cannot be read, another thread must not still be writing
    # to a file that is being closed
    with _replacing(Path(path), overwrite) as partial, dask.config.set(scheduler="synchronous"):
        try:
            dataset.to_netcdf(partial, engine="netcdf4", format="NETCDF4", encoding=encoding)
        except RuntimeError as error:  # of the library below, which does not pass on what the disk said
            raise OSError(errno.EIO, f"{first_line(error)}; is there no room left, or File too large") from error
    return Path(path)


def export_csv(dataset: xr.Dataset, path: str | os.PathLike[str], *, overwrite: bool = False) -> Path:
    """Write a dataset as a long table: one row for each case, or each time of a history.

    The first line names each column as ``name [unit]``, in the units of the
    dataset; a ratio has the unit ``1``, and a word none. Codes are written as
    words, numbers with all their digits, and missing numbers as nothing, in
    UTF-8. Cautions, conventions of direction and provenance, for which a CSV
    file has no room, go into a Markdown file beside it (:func:`notes_beside`).
    Parameters, what is returned and errors are as for :func:`export_netcdf`.
    """
    notes = notes_beside(path)
    _refuse_to_replace(notes, overwrite)
    sizes = dict(dataset.sizes)
    names = [*dataset.coords, *dataset.data_vars]
    header = [_heading(dataset, str(name)) for name in names]
    with _replacing(Path(path), overwrite) as partial, partial.open("w", encoding="utf-8", newline="") as file:
        for number, slab in enumerate(_slabs(dataset)):
            _table(slab, names, header).to_csv(file, index=False, header=number == 0, lineterminator="\n")
        if 0 in sizes.values():
            file.write(",".join(header) + "\n")
    with _replacing(notes, overwrite) as partial:
        partial.write_text(_notes(dataset, Path(path).name), encoding="utf-8")
    return Path(path)


def notes_beside(path: str | os.PathLike[str]) -> Path:
    """Markdown file that goes with a CSV file: ``basin.csv.md`` with ``basin.csv``."""
    return Path(path).with_name(f"{Path(path).name}.md")


def _notes(dataset: xr.Dataset, name: str) -> str:
    """What must be known to read a CSV file, from the attributes of its dataset."""
    told = dataset.attrs
    lines = [f"# {told.get('title', 'Results')}", "", f"This goes with `{name}`.", ""]
    lines += [f"> **Cautions.** {told.get('cautions', CAUTIONS)}", "", str(told.get("directions", DIRECTIONS)), ""]
    lines += ["Units stand behind the names of columns; an empty cell means 'does not apply' or 'never happened'.", ""]
    for key in ("toolkit_version", "commit", "study_hash", "model_hash", "created", "limits"):
        if key in told:
            lines.append(f"- {key.replace('_', ' ')}: {told[key]}")
    return "\n".join(lines).rstrip() + "\n"


def _heading(dataset: xr.Dataset, name: str) -> str:
    if "flag_meanings" in dataset[name].attrs:
        return name  # written in words
    unit = dataset[name].attrs.get("units", "")
    return f"{name} [{unit}]" if unit else name


def _slabs(dataset: xr.Dataset) -> Iterator[xr.Dataset]:
    """Pieces of a dataset along its first dimension, of about `ROWS_AT_ONCE` rows."""
    if not dataset.sizes:
        yield dataset
        return
    first = _dimensions(dataset)[0]
    length = dataset.sizes[first]
    rows = math.prod(dataset.sizes.values())
    step = max(1, ROWS_AT_ONCE * length // max(rows, 1))
    for start in range(0, length, step):
        yield dataset.isel({first: slice(start, start + step)})


def _dimensions(dataset: xr.Dataset) -> tuple[str, ...]:
    """Dimensions in the order of the data variables."""
    return tuple(dict.fromkeys(str(dim) for v in dataset.data_vars.values() for dim in v.dims)) or tuple(
        str(dim) for dim in dataset.sizes
    )


def _table(slab: xr.Dataset, names: list[Any], header: list[str]) -> Any:
    import pandas as pd

    dims = _dimensions(slab)
    shape = tuple(slab.sizes[dim] for dim in dims)
    slab = slab.compute()
    columns = {}
    for name, title in zip(names, header, strict=True):
        variable = slab[name].variable
        values = variable.values
        if "flag_meanings" in variable.attrs:
            values = np.asarray(flag_words(values, variable.attrs), dtype=object)
        place = tuple(slice(None) if dim in variable.dims else None for dim in dims)
        order = [variable.dims.index(dim) for dim in dims if dim in variable.dims]
        columns[title] = np.broadcast_to(values.transpose(order)[place], shape).reshape(-1)
    return pd.DataFrame(columns, index=range(math.prod(shape)))


def _refuse_to_replace(path: Path, overwrite: bool) -> None:
    if path.is_dir():
        raise StoreError(f"{path}: is a folder. Give the name of a file.")
    if path.exists() and not overwrite:
        raise StoreError(f"{path}: is there already. Give another name, or say that it may be replaced (--overwrite).")


@contextlib.contextmanager
def _replacing(path: Path, overwrite: bool) -> Iterator[Path]:
    """A name beside `path` to write to, which takes its place when all is written."""
    _refuse_to_replace(path, overwrite)
    with writing(path, kept=""):
        path.parent.mkdir(parents=True, exist_ok=True)
        with whole(path) as partial:
            yield partial
