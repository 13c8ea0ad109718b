"""A study: which factors are swept, what is fixed, and the table of cases it stands for."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from toolkit.motion.setting import NO_SETTING, Setting
from toolkit.quantities import INPUTS, Quantity
from toolkit.study.basin import Basin
from toolkit.study.designs import unit_samples
from toolkit.study.legs import Leg, leg_codes
from toolkit.study.limits import Limits

__all__ = ["Axis", "Design", "RunOptions", "Study", "tidy"]

SCHEMA = 1
"""Version of the content that `Study.canonical` gives."""

SIGNIFICANT_DIGITS = 12
"""Digits to which every number of a study is held, so that a value does not depend on the unit it was written in."""


def tidy(value: float) -> float:
    """Number rounded to the digits that a study holds."""
    return float(f"{value:.{SIGNIFICANT_DIGITS}g}")


@dataclass(frozen=True, kw_only=True, eq=False)
class Axis:
    """One swept input.

    Attributes
    ----------
    name : str
        The input.
    values : ndarray of float, or tuple of str
        Levels in dataset units, ascending, or words in the user's order. For a
        range of a sampled design its two ends.
    kind : {"levels", "range"}
        Whether `values` are levels, or the ends of a range that a sampled
        design fills.
    spacing : {"linear", "log"}
        How a range is filled.
    text : str
        The axis as the user wrote it.
    """

    name: str
    values: NDArray[np.float64] | tuple[str, ...]
    kind: Literal["levels", "range"] = "levels"
    spacing: Literal["linear", "log"] = "linear"
    text: str = ""

    def __len__(self) -> int:
        return len(self.values)

    @property
    def quantity(self) -> Quantity:
        """Register entry of the input."""
        return INPUTS[self.name]

    @cached_property
    def codes(self) -> NDArray[np.float64] | NDArray[np.int64]:
        """Levels as the engine takes them: numbers, or codes of words."""
        if isinstance(self.values, tuple):
            return np.array([self.quantity.choices.index(word) for word in self.values], dtype=np.int64)
        return self.values

    def at(self, share: NDArray[np.float64]) -> NDArray[np.float64] | NDArray[np.int64]:
        """Values at places of the unit interval: along a range, or by equal slices over levels."""
        if self.kind == "levels":
            return self.codes[np.minimum((share * len(self)).astype(np.int64), len(self) - 1)]
        low, high = (float(value) for value in self.values)
        if self.spacing == "log":
            return np.asarray(np.exp(math.log(low) + share * (math.log(high) - math.log(low))))
        return low + share * (high - low)

    def canonical(self) -> dict[str, Any]:
        """Content that decides results."""
        if self.kind == "range":
            low, high = (float(value) for value in self.values)
            return {"name": self.name, "from": low, "to": high, "spacing": self.spacing}
        values = list(self.values) if isinstance(self.values, tuple) else self.values.tolist()
        return {"name": self.name, "values": values}


@dataclass(frozen=True, kw_only=True)
class Design:
    """How the swept factors are combined.

    Attributes
    ----------
    kind : {"grid", "latin_hypercube", "sobol"}
        Every combination, or samples.
    samples : int or None
        Number of cases of a sampled design.
    """

    kind: Literal["grid", "latin_hypercube", "sobol"] = "grid"
    samples: int | None = None

    @property
    def is_grid(self) -> bool:
        """Whether every combination of levels is a case."""
        return self.kind == "grid"


@dataclass(frozen=True, kw_only=True)
class RunOptions:
    """How a study is cut into tasks; results do not depend on it."""

    cases_per_chunk: int = 2048


@dataclass(frozen=True, kw_only=True, eq=False)
class Study:
    """What is to be run, complete: every input is swept or fixed.

    Attributes
    ----------
    title : str
        Words for figures and datasets.
    source : str
        File name it was read from.
    axes : tuple of Axis
        Swept inputs, in the order of the register, so that the layout of a
        store does not hang on the order of keys in a file.
    fixed : mapping of str to float or str
        Every other input in dataset units; NaN where it is to be derived.
    design : Design
        Grid or samples.
    seed : int
        Seed of samples.
    limits : Limits
        Limits for the findings; not part of the hash.
    run : RunOptions
        Not part of the hash.
    legs : tuple of mapping of str to float or str
        Legs of a job: what each changes of the inputs, in dataset units. None:
        each case is one manoeuvre.
    basin : Basin or None
        Edges of basin and shoals, and a berth.
    notes : tuple of str
        What was tidied while reading, for `towage check`.
    """

    title: str
    source: str = ""
    axes: tuple[Axis, ...]
    fixed: Mapping[str, float | str]
    design: Design = field(default_factory=Design)
    seed: int = 1
    limits: Limits = field(default_factory=Limits)
    run: RunOptions = field(default_factory=RunOptions)
    legs: tuple[Leg, ...] = ()
    basin: Basin | None = None
    notes: tuple[str, ...] = ()

    @property
    def dims(self) -> tuple[str, ...]:
        """Dimensions of the results: the swept inputs on a grid, else `case`."""
        return tuple(axis.name for axis in self.axes) if self.design.is_grid else ("case",)

    @property
    def shape(self) -> tuple[int, ...]:
        """Length along each of `dims`."""
        if self.design.is_grid:
            return tuple(len(axis) for axis in self.axes)
        return (int(self.design.samples or 0),)

    @property
    def size(self) -> int:
        """Number of cases."""
        return math.prod(self.shape)

    @property
    def manoeuvres(self) -> tuple[str, ...]:
        """Manoeuvres of its cases, each once; of a job those of its legs."""
        axis = self.axis("manoeuvre")
        given = [self.fixed["manoeuvre"]] if axis is None else axis.values
        words = [word for leg in self.legs for word in ([leg["manoeuvre"]] if "manoeuvre" in leg else given)]
        return tuple(dict.fromkeys(map(str, words if self.legs else given)))

    @property
    def setting(self) -> Setting:
        """What all cases have in common: edges of the basin, and legs."""
        edges = NO_SETTING.edges if self.basin is None else self.basin.edges
        return Setting(edges=edges, legs=leg_codes(self.legs))

    def axis(self, name: str) -> Axis | None:
        """Axis of a swept input, or None where it is fixed."""
        return next((axis for axis in self.axes if axis.name == name), None)

    def columns(self, flat_indices: ArrayLike) -> dict[str, NDArray[Any]]:
        """Table of cases.

        Parameters
        ----------
        flat_indices : array_like of int, shape (n,)
            Positions in C order over `shape`.

        Returns
        -------
        dict of str to ndarray, shape (n,)
            Every input: float in dataset units with NaN for "derive it", or
            int codes of a choice.

        Raises
        ------
        IndexError
            If a position is outside the study.
        """
        positions = np.atleast_1d(np.asarray(flat_indices, dtype=np.int64))
        if positions.size and (positions.min() < 0 or positions.max() >= self.size):
            raise IndexError(f"case numbers run from 0 to {self.size - 1}")
        swept: dict[str, NDArray[Any]] = {}
        if self.design.is_grid:
            places = np.unravel_index(positions, self.shape) if self.axes else ()
            for axis, place in zip(self.axes, places, strict=True):
                swept[axis.name] = axis.codes[place]
        else:
            shares = unit_samples(self.design.kind, self.size, len(self.axes), self.seed, positions)
            for number, axis in enumerate(self.axes):
                swept[axis.name] = axis.at(shares[:, number])
        columns = {
            name: swept[name] if name in swept else _filled(quantity, self.fixed[name], positions.size)
            for name, quantity in INPUTS.items()
        }
        # the study's own seed where something is drawn: cases without draws are the same under any
        seeds, draws = columns["draw_seed"], (columns["gust_intensity"] > 0.0) | (columns["crew_scatter"] > 0.0)
        draws |= any(float(leg.get("crew_scatter", 0.0)) > 0.0 for leg in self.legs)
        columns["draw_seed"] = np.where(np.isnan(seeds), np.where(draws, float(self.seed), np.nan), seeds)
        return columns

    def axis_coordinates(self, flat_indices: ArrayLike | None = None) -> dict[str, NDArray[Any]]:
        """Coordinates of the swept inputs, words as strings.

        Parameters
        ----------
        flat_indices : array_like of int, optional
            Cases of a sampled design that are wanted; all of them unless given.

        Returns
        -------
        dict of str to ndarray
            On a grid the levels of each axis; for samples the value of every case.
        """
        if self.design.is_grid:
            return {axis.name: np.array(axis.values) for axis in self.axes}
        columns = self.columns(np.arange(self.size) if flat_indices is None else flat_indices)
        return {
            axis.name: np.array(axis.quantity.choices)[columns[axis.name]]
            if axis.quantity.is_choice
            else columns[axis.name]
            for axis in self.axes
        }

    def canonical(self) -> dict[str, Any]:
        """Full content that decides results, ready for JSON; `study_from_canonical` is its inverse."""
        return {
            "schema": SCHEMA,
            "axes": [axis.canonical() for axis in self.axes],
            "fixed": {
                name: None if isinstance(value, float) and math.isnan(value) else value
                for name, value in self.fixed.items()
            },
            "design": {"kind": self.design.kind, "samples": self.design.samples},
            "seed": self.seed,
            **({"legs": [dict(leg) for leg in self.legs]} if self.legs else {}),
            **({"basin": self.basin.canonical()} if self.basin is not None else {}),
        }

    def hash(self) -> str:
        """Hash of `canonical`: 16 hexadecimal digits, the same on every machine."""
        text = json.dumps(self.canonical(), sort_keys=True, separators=(",", ":"), allow_nan=False)
        return hashlib.sha256(text.encode()).hexdigest()[:16]


def _filled(quantity: Quantity, value: float | str, count: int) -> NDArray[Any]:
    if quantity.is_choice:
        return np.full(count, quantity.choices.index(str(value)), dtype=np.int64)
    return np.full(count, float(value))
