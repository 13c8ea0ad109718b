"""What findings need to know of a results dataset (floor 5)."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.quantities.wording import CAUTIONS, DIRECTIONS

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "axis_is_numeric", "axis_values", "bare", "cautions", "directions", "outcome_of", "parse_json", "provenance",
    "require",
]  # fmt: skip


def cautions(attributes: Mapping[Any, Any]) -> str:
    """Cautions of a dataset, or those of this package if it carries none."""
    return str(attributes.get("cautions") or CAUTIONS)


def directions(attributes: Mapping[Any, Any]) -> str:
    """Convention of directions of a dataset, or that of this package."""
    return str(attributes.get("directions") or DIRECTIONS)


def require(dataset: xr.Dataset, names: Iterable[str], purpose: str) -> None:
    """Refuse a dataset that lacks variables or coordinates, naming all of them.

    Raises
    ------
    StudyError
        With one problem for every name that is missing.
    """
    missing = [name for name in names if name not in dataset.variables]
    if missing:
        raise StudyError(
            Problem(
                where=str(dataset.attrs.get("title", "dataset")),
                what=f"{name} is missing",
                why=f"it is needed for {purpose}",
                remedy="Use a results dataset as `towage run` writes it",
            )
            for name in missing
        )


def outcome_of(dataset: xr.Dataset) -> xr.DataArray:
    """Outcome codes as whole numbers, ``not_run`` where the store holds nothing.

    Returns
    -------
    xarray.DataArray
        int8 of the shape of ``outcome``; lazy if the dataset is.
    """
    require(dataset, ("outcome",), "telling how cases ended")
    outcome = dataset["outcome"]
    if outcome.dtype.kind == "f":
        outcome = outcome.fillna(0)
    return outcome.astype(np.int8)


def bare(dataset: xr.Dataset) -> xr.Dataset:
    """Leave out all coordinates but those along the dataset's own axes, which every step would merge anew."""
    return dataset.drop_vars([name for name in dataset.coords if name not in dataset.dims and not dataset[name].ndim])


def axis_values(dataset: xr.Dataset, axis: str) -> list[Any]:
    """Values of an axis as plain floats or words; positions if it has no coordinate."""
    if axis not in dataset.coords:
        return list(range(dataset.sizes[axis]))
    values = dataset[axis].values
    return [str(v) for v in values] if values.dtype.kind in "UOST" else [float(v) for v in values]


def axis_is_numeric(dataset: xr.Dataset, axis: str) -> bool:
    """Whether an axis has a coordinate of numbers (a choice has words, `case` only counts)."""
    return axis != "case" and axis in dataset.coords and dataset[axis].dtype.kind in "fiu"


def provenance(attributes: Mapping[Any, Any]) -> str:
    """One line that says where a result comes from: version, study, model, date."""
    parts = []
    for key, label in (
        ("toolkit_version", "toolkit"),
        ("commit", "commit"),
        ("study_hash", "study"),
        ("model_hash", "model"),
        ("created", "made"),
    ):
        value = str(attributes.get(key) or "")
        if key == "commit" and len(value) >= 40:
            value = value[:10] + value[40:]
        if value:
            parts.append(f"{label} {value}")
    return "Provenance: " + (", ".join(parts) if parts else "not recorded in the dataset") + "."


def parse_json(attributes: Mapping[Any, Any], key: str) -> dict[str, Any]:
    """Read a JSON object from an attribute; empty if it is not there.

    Raises
    ------
    StudyError
        If the attribute is there and is no JSON object.
    """
    text = attributes.get(key)
    if text is None or text == "":
        return {}
    try:
        value = json.loads(text) if isinstance(text, str) else dict(text)
    except (TypeError, ValueError):
        value = None
    if not isinstance(value, dict):
        raise StudyError(
            [
                Problem(
                    where=f"dataset attribute '{key}'",
                    what=f"{key} = {str(text)[:60]!r} is no JSON object",
                    why="limits are read from it",
                    remedy="Give the limits with the call, or write the dataset again with `towage run`",
                )
            ]
        )
    return value
