"""Results that are no longer whole, told in words where they are read."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import StoreError

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "BLOCKS_AGAIN",
    "UNREADABLE",
    "GuardedArray",
    "check_study",
    "cut_short",
    "first_line",
    "guarded",
    "study_content",
]

UNREADABLE = (KeyError, ValueError, TypeError, AttributeError, OSError, RuntimeError, EOFError, MemoryError)
"""What Zarr, its codecs and NetCDF raise on files that are not what they should be."""


def first_line(error: BaseException) -> str:
    """What an error says, on one line."""
    return (str(error).splitlines() or [type(error).__name__])[0]


BLOCKS_AGAIN = "Run the study again with --verify, which runs the blocks again that cannot be read, and no others."
"""What to do where blocks of a store can no longer be read."""


def cut_short(path: object, reason: str, remedy: str = "") -> StoreError:
    """Error for results of ours that are no longer whole."""
    return StoreError(
        f"{path}: cannot be read ({reason}): it was cut short or changed by hand. "
        + (remedy or "Move it away, or give another store, and run the study again.")
    )


def study_content(place: object, attributes: Mapping[Any, Any]) -> dict[str, Any]:
    """Content of the attribute ``study``.

    Raises
    ------
    StoreError
        If it is no JSON object.
    """
    try:
        content = json.loads(attributes["study"])
    except (KeyError, TypeError, ValueError, RecursionError):
        content = None
    if not isinstance(content, dict):
        raise cut_short(place, "its attribute 'study' is missing or is no JSON object")
    return content


def check_study(place: Path, attributes: Mapping[Any, Any]) -> None:
    """Refuse results whose attribute ``study`` is damaged, or is not the one that ``study_hash`` stands for.

    A table of cases has neither attribute.

    Raises
    ------
    StoreError
        With the name of the attribute.
    """
    if "study" not in attributes and "study_hash" not in attributes:
        return
    content = study_content(place, attributes)
    try:
        text = json.dumps(content, sort_keys=True, separators=(",", ":"), allow_nan=False)
    except ValueError:
        raise cut_short(place, "its attribute 'study' holds a number that is not finite") from None
    # as toolkit.study.Study.hash makes it
    if hashlib.sha256(text.encode()).hexdigest()[:16] != attributes.get("study_hash"):
        raise cut_short(place, "its attribute 'study' is not the study that 'study_hash' stands for")


class GuardedArray:
    """A stored variable that says in words which one it is if a piece of it cannot be read.

    Parameters
    ----------
    variable : xarray.Variable
        Lazy, as a backend of xarray opens it.
    place : Path
        Store or file.
    name : str
        Name of the variable.
    """

    def __init__(self, variable: xr.Variable, place: Path, name: str) -> None:
        self.shape, self.dtype, self.ndim = variable.shape, variable.dtype.newbyteorder("="), variable.ndim
        self._variable, self._place, self._name = variable, place, name

    def __getitem__(self, region: Any) -> NDArray[Any]:
        """Values of a region, read now."""
        try:
            return np.asarray(self._variable[region].values, dtype=self.dtype)
        except UNREADABLE as error:
            remedy = BLOCKS_AGAIN if self._place.is_dir() else "Export it from its store again."
            raise cut_short(self._place, f"{self._name}: {first_line(error)}", remedy) from None


def guarded(dataset: xr.Dataset, place: Path) -> xr.Dataset:
    """Data variables as dask arrays, one chunk a block, whose errors name store and variable.

    Parameters
    ----------
    dataset : xarray.Dataset
        Opened lazily without chunks.
    place : Path
        Where it was opened.
    """
    import dask.array as da

    variables = {}
    for name, array in dataset.data_vars.items():
        variable = array.variable
        blocks = variable.encoding.get("preferred_chunks", {})
        stored = GuardedArray(variable, place, str(name))
        data = da.from_array(
            stored,
            chunks=tuple(max(1, int(blocks.get(dim, size))) for dim, size in variable.sizes.items()),
            name=False,
            asarray=True,
            fancy=False,
            meta=np.empty((0,) * variable.ndim, dtype=stored.dtype),
        )
        variables[name] = (variable.dims, data, variable.attrs, variable.encoding)
    return dataset.assign(variables)
