"""Making the store of a study: built under another name and renamed, so that it is there whole or not at all."""

from __future__ import annotations

import glob
import shutil
import uuid
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.execution.attributes import RESULT_NAMES, quantity_attributes, result_attributes, result_type
from toolkit.execution.blocks import Blocks, choose_chunks
from toolkit.execution.layout import Model, axes_to_fill_first, axis_columns, fixed_inputs, global_attributes
from toolkit.execution.together import make_arrays, write_arrays
from toolkit.quantities import INPUTS

if TYPE_CHECKING:
    from toolkit.study import Study

__all__ = ["BLOCK_DONE", "create_store", "remove_remains"]

BLOCK_DONE = "block_done"
"""Name of the array of marks, one byte a block."""

CASE = "number of the case"

SAMPLES_AT_ONCE = 2**16
"""Samples whose inputs are worked out, and written as one chunk, at a time: a table of all of them may not fit."""


def create_store(path: Path, study: Study, model: Model) -> None:
    """Build a store beside its place and move it there; what stands there is moved away first, and then deleted."""
    path.parent.mkdir(parents=True, exist_ok=True)
    building = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.partial")
    try:
        _build(building, study, model)
        if path.exists():
            old = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.old")
            path.rename(old)
            building.rename(path)
            shutil.rmtree(old, ignore_errors=True)
        else:
            building.rename(path)
    finally:
        shutil.rmtree(building, ignore_errors=True)


def remove_remains(path: Path) -> None:
    """Delete what runs that were killed while they made a store have left beside it; only under the claim on it."""
    for ending in ("partial", "old"):
        for folder in path.parent.glob(f".{glob.escape(path.name)}.????????.{ending}"):
            shutil.rmtree(folder, ignore_errors=True)


def _build(path: Path, study: Study, model: Model) -> None:
    import zarr
    from zarr.codecs import ZstdCodec

    group = zarr.create_group(path, zarr_format=3)
    coordinates = _put_coordinates(path, study)
    chunks = choose_chunks(study.shape, study.run.cases_per_chunk, axes_to_fill_first(study))
    arrays: dict[str, dict[str, Any]] = {}
    for name in RESULT_NAMES:
        dtype = result_type(name)
        arrays[name] = {
            "shape": study.shape,
            "chunks": chunks,
            "dtype": dtype,
            "fill_value": np.nan if dtype.kind == "f" else 0,
            # with a checksum, so that bytes that have changed since are an error and no other number
            "compressors": ZstdCodec(level=3, checksum=True),
            "dimension_names": list(study.dims),
            "attributes": _plain(result_attributes(name)),
        }
    arrays[BLOCK_DONE] = {
        "shape": (Blocks(shape=study.shape, chunks=chunks).count,),
        "chunks": (1,),
        "dtype": np.uint8,
        "fill_value": 0,
        "compressors": None,
        "dimension_names": ["block"],
        "attributes": {"long_name": "mark that all variables of a block are written"},
    }
    make_arrays(path, arrays)
    group.attrs.update({**global_attributes(study, model), "coordinates": " ".join(coordinates)})


def _put_coordinates(path: Path, study: Study) -> list[str]:
    """Write all inputs; returns those that are no dimensions."""
    fixed = {name: _storable(np.asarray(value)) for name, value in fixed_inputs(study).items()}
    scalars = make_arrays(path, {name: _coordinate(name, (), (), value) for name, value in fixed.items()})
    write_arrays(scalars, ..., fixed)
    lengths = dict(zip(study.dims, study.shape, strict=True))
    arrays: dict[str, Any] = {}
    for start in range(0, 1 if study.design.is_grid else study.size, SAMPLES_AT_ONCE):
        found = axis_columns(study, slice(start, start + SAMPLES_AT_ONCE))
        values = {name: _storable(column) for name, (_, column) in found.items()}
        arrays = arrays or make_arrays(
            path,
            {
                name: _coordinate(name, dims, tuple(lengths[dim] for dim in dims), values[name])
                for name, (dims, _) in found.items()
            },
        )
        write_arrays(arrays, ... if study.design.is_grid else (slice(start, start + SAMPLES_AT_ONCE),), values)
    return [*([] if study.design.is_grid else [axis.name for axis in study.axes]), *fixed]


def _coordinate(name: str, dims: tuple[str, ...], shape: tuple[int, ...], first: NDArray[Any]) -> dict[str, Any]:
    """How the array of a coordinate is made, whose `first` values give type and chunk."""
    attributes = quantity_attributes(INPUTS[name]) if name in INPUTS else {"long_name": CASE}
    return {
        "shape": shape,
        "chunks": first.shape,
        "dtype": first.dtype,
        "fill_value": np.nan if first.dtype.kind == "f" else "" if first.dtype.kind == "T" else 0,
        "dimension_names": list(dims),
        "attributes": _plain(attributes),
        # a coordinate of zeros alone must not look like one that was never written
        "config": {"write_empty_chunks": True},
    }


def _storable(values: NDArray[Any]) -> NDArray[Any]:
    """Words as text of any length, the one string type that Zarr 3 specifies; numbers as they are."""
    return values if values.dtype.kind in "fiu" else values.astype(np.dtypes.StringDType())


def _plain(attributes: dict[str, Any]) -> dict[str, Any]:
    return {key: value.tolist() if isinstance(value, np.ndarray) else value for key, value in attributes.items()}
