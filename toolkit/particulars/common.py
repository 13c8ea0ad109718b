"""What the particulars share: array types, judged constants, power-law families, misfits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem
from toolkit.quantities.inputs import COMMON, JUDGEMENT, TONNE_FORCE

__all__ = [
    "COMMON",
    "FROM_MEMORY",
    "GRAVITY",
    "JUDGEMENT",
    "TONNE",
    "TONNE_FORCE",
    "Array",
    "Judged",
    "Misfit",
    "Numbers",
    "PowerLaw",
    "as_array",
    "common_shape",
    "given_or",
]

Array: TypeAlias = NDArray[np.float64]
"""Result of a particular: shape (n,), or a float64 scalar where scalars went in."""

Numbers: TypeAlias = float | NDArray[np.float64]
"""Argument of a particular: a number, or an array of the common shape (n,)."""

GRAVITY = 9.80665
"""Standard acceleration of gravity [m s-2]."""

TONNE = 1000.0
"""One tonne [kg]."""

FROM_MEMORY = "from memory, not verified"
"""Mark of a published figure that was not read again in its source."""


@dataclass(frozen=True, kw_only=True)
class Judged:
    """A constant that no source settles, with the spread to carry through a study.

    Attributes
    ----------
    value : float
        The value used.
    low, high : float
        Stated spread about it.
    unit : str
        UDUNITS spelling.
    mark : str
        Where it comes from.
    """

    value: float
    low: float
    high: float
    unit: str = "1"
    mark: str = JUDGEMENT

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high:
            raise ValueError(f"value = {self.value} [{self.unit}] is outside its own spread [{self.low}, {self.high}]")


@dataclass(frozen=True, kw_only=True)
class PowerLaw:
    """A dimension as a power of size, through the first and the last member of a series.

    Attributes
    ----------
    first, last : tuple of float
        (size, dimension) of the two members that the law passes through.
    """

    first: tuple[float, float]
    last: tuple[float, float]

    @property
    def exponent(self) -> float:
        """Exponent of the law."""
        return float(np.log(self.last[1] / self.first[1]) / np.log(self.last[0] / self.first[0]))

    def __call__(self, size: Numbers) -> Array:
        """Dimension of a member of this size, in the unit of the series."""
        # np.power, not **: the operator on a lone number takes another route and differs in the last bit
        return np.asarray(self.first[1] * np.power(as_array(size) / self.first[0], self.exponent))[()]


@dataclass(frozen=True, kw_only=True)
class Misfit:
    """Particulars that do not belong together, found over all cases at once.

    Attributes
    ----------
    name : str
        Quantity that comes out wrong.
    mask : ndarray of bool
        Shape of the particulars; True where it does.
    value : ndarray
        The quantity, same shape.
    unit : str
        Its unit.
    low, high : float
        Interval it should lie in.
    why, remedy : str
        Reason, and what to do.
    """

    name: str
    mask: NDArray[np.bool_]
    value: Array
    unit: str
    low: float
    high: float
    why: str
    remedy: str

    @classmethod
    def outside(
        cls, name: str, value: Array, interval: tuple[float, float], *, why: str, remedy: str, unit: str = "1"
    ) -> list[Misfit]:
        """Misfit of the values outside a closed interval, in a list; an empty list where there are none."""
        low, high = interval
        mask = np.asarray((value < low) | (value > high))
        if not np.any(mask):
            return []
        return [cls(name=name, mask=mask, value=value, unit=unit, low=low, high=high, why=why, remedy=remedy)]

    def problem(self, where: str) -> Problem:
        """Put it as a problem of the study at `where`, with the values that are wrong."""
        wrong = np.atleast_1d(self.value)[np.atleast_1d(self.mask)]
        least, most = f"{wrong.min():.3g}", f"{wrong.max():.3g}"
        shown = least if least == most else f"{least} to {most}"
        what = f"{self.name} = {shown} [{self.unit}] is outside [{self.low:g}, {self.high:g}]"
        return Problem(where=where, what=what, why=self.why, remedy=self.remedy)


def as_array(value: Numbers) -> Array:
    """Float64 array of a number or an array; a number gives a zero-dimensional one."""
    return np.asarray(value, dtype=np.float64)


def given_or(given: Numbers, family: Numbers) -> Array:
    """Values as given, and those of the family where NaN stands for 'not given'."""
    return np.where(np.isnan(given), family, given)[()]


def common_shape(fields: dict[str, Any]) -> dict[str, Any]:
    """Bring every field to the common shape; fields of a scalar case stay scalars."""
    arrays = np.broadcast_arrays(*fields.values())
    return {name: np.array(array)[()] for name, array in zip(fields, arrays, strict=True)}
