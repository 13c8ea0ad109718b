"""Attributes of dataset variables, drawn from the register of quantities."""

from __future__ import annotations

from collections.abc import Mapping
from enum import IntEnum, IntFlag
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.quantities import DERIVED, OUTCOMES, Outcome, Quantity, RangeFlag

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "BYTES_PER_CASE",
    "FLAG_TYPES",
    "RESULT_NAMES",
    "SCHEMA",
    "SCHEMA_VERSION",
    "describe",
    "flag_attributes",
    "flag_words",
    "quantity_attributes",
    "result_attributes",
    "result_type",
    "typed_flags",
]

SCHEMA = "towage-envelope cases"
"""Value of the global attribute ``schema`` of every dataset that this package makes."""

SCHEMA_VERSION = 1
"""Version of the layout of a store; another version is refused, never guessed at."""

RESULT_NAMES: tuple[str, ...] = (*OUTCOMES, *DERIVED)
"""Names of the data variables of a dataset of cases, in their order."""

FLAG_TYPES: Mapping[str, type[IntEnum] | type[IntFlag]] = {"outcome": Outcome, "range_flags": RangeFlag}
"""Data variables that hold codes rather than measures, and what their codes are."""

_STORED_AS: dict[str, np.dtype[Any]] = {"outcome": np.dtype(np.int8), "range_flags": np.dtype(np.int16)}


def result_type(name: str) -> np.dtype[Any]:
    """Type in which a data variable is stored: codes as small integers, all else float64."""
    return _STORED_AS.get(name, np.dtype(np.float64))


BYTES_PER_CASE = sum(result_type(name).itemsize for name in RESULT_NAMES)
"""Bytes that the outcomes of one case take before they are compressed."""


def quantity_attributes(quantity: Quantity) -> dict[str, Any]:
    """CF attributes of one quantity: ``long_name``, ``units`` unless it is a word or code, ``comment``."""
    found: dict[str, Any] = {"long_name": quantity.long_name or quantity.name}
    if quantity.unit:
        found["units"] = quantity.unit
    if quantity.help:
        found["comment"] = quantity.help
    return found


def flag_attributes(codes: type[IntEnum] | type[IntFlag], dtype: np.dtype[Any]) -> dict[str, Any]:
    """CF flag attributes (CF-1.11 section 3.5) for a type of codes, with ``units`` 1: a code is a bare number.

    Parameters
    ----------
    codes : IntEnum or IntFlag type
        Exclusive codes give ``flag_values``, bits give ``flag_masks``.
    dtype : numpy dtype
        Type of the variable, which the flags must share.
    """
    key = "flag_masks" if issubclass(codes, IntFlag) else "flag_values"
    return {
        "units": "1",
        key: np.array([int(code) for code in codes], dtype=dtype),
        "flag_meanings": " ".join(str(code.name) for code in codes),
    }


def result_attributes(name: str) -> dict[str, Any]:
    """CF attributes of one data variable of a dataset of cases."""
    quantity = OUTCOMES.get(name) or DERIVED[name]
    found = quantity_attributes(quantity)
    if name in FLAG_TYPES:
        found.update(flag_attributes(FLAG_TYPES[name], result_type(name)))
    return found


def describe(dataset: xr.Dataset, quantities: Mapping[str, Quantity]) -> xr.Dataset:
    """Give every variable that has an entry in `quantities` its attributes, in place."""
    for name, variable in dataset.variables.items():
        key = str(name)
        if key in RESULT_NAMES:
            variable.attrs.update(result_attributes(key))
        elif key in quantities:
            variable.attrs.update(quantity_attributes(quantities[key]))
    return dataset


def typed_flags(attributes: Mapping[str, Any], dtype: np.dtype[Any]) -> dict[str, Any]:
    """Attributes with flag lists, as JSON keeps them, turned into arrays of the variable's type."""
    return {
        key: np.asarray(value, dtype=dtype) if key in ("flag_values", "flag_masks") else value
        for key, value in attributes.items()
    }


def flag_words(values: np.ndarray[Any, Any], attributes: Mapping[str, Any]) -> np.ndarray[Any, Any]:
    """Words for codes, by the flag attributes of their variable.

    Parameters
    ----------
    values : ndarray of int
        Codes or bit fields.
    attributes : mapping
        With ``flag_values`` or ``flag_masks``, and ``flag_meanings``.

    Returns
    -------
    ndarray of object
        Same shape; the words of a bit field stand with a space between, and
        no bit set gives an empty text.
    """
    words = str(attributes["flag_meanings"]).split()
    codes = np.unique(values)
    if "flag_masks" in attributes:
        masks = [int(mask) for mask in np.atleast_1d(attributes["flag_masks"])]
        table = {
            int(code): " ".join(word for mask, word in zip(masks, words, strict=True) if int(code) & mask)
            for code in codes
        }
    else:
        named = dict(zip((int(v) for v in np.atleast_1d(attributes["flag_values"])), words, strict=True))
        table = {int(code): named.get(int(code), f"code_{int(code)}") for code in codes}
    lookup = np.array([table[int(code)] for code in codes], dtype=object)
    return lookup[np.searchsorted(codes, values)]
