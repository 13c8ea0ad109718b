"""Bands of an input, such as displacements from 300 to 500 t, each as good as the worst case in it (floor 5)."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.display import display_text, long_name
from toolkit.findings.reading import axis_is_numeric, axis_values

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["BANDED", "UP_TO", "Bands", "band_coordinates", "bands_along", "in_bands", "with_axes"]

UP_TO: frozenset[str] = frozenset({"wind_speed", "current_speed"})
"""Inputs whose bands begin at the lowest value run: a rule says 'up to', and must hold for all that is less."""

BANDED: tuple[str, ...] = ("displacement", "wind_speed")
"""Inputs that a requirement is given for, swept or fixed, unless others are named."""

_ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True)
class Bands:
    """Bands along one axis.

    Attributes
    ----------
    axis : str
        The input.
    low, high : tuple of float
        Ends of each band, both within it [dataset unit].
    members : tuple of tuple of int
        Places on the axis that decide on each band: every value in it, and
        where an end lies between two values run, the next one outside it.
    labels : tuple of str
        Words for each band, such as ``300 t to 500 t`` or ``up to 10 kn``.
    """

    axis: str
    low: tuple[float, ...]
    high: tuple[float, ...]
    members: tuple[tuple[int, ...], ...]
    labels: tuple[str, ...]

    @property
    def dim(self) -> str:
        """Dimension along these bands."""
        return f"{self.axis}_band"

    def __len__(self) -> int:
        return len(self.low)


def with_axes(judged: xr.Dataset, names: Iterable[str]) -> xr.Dataset:
    """Give an input that has one value an axis of its own, so that it can be banded like one that is swept."""
    for name in names:
        if name in judged.coords and not judged[name].ndim:
            judged = judged.expand_dims(name)
    return judged


def bands_along(
    dataset: xr.Dataset, axis: str, edges: Sequence[float] | None = None, *, up_to: bool | None = None
) -> Bands:
    """Cut an axis into bands.

    Parameters
    ----------
    dataset : xarray.Dataset
        With `axis` as a dimension of numbers.
    axis : str
        The input.
    edges : sequence of float, optional
        Ends of the bands, rising [dataset unit]; by default every value run is
        one. A band between two ends holds both of them.
    up_to : bool, optional
        Whether every band begins at the lowest value run and only its upper
        end counts; by default for the inputs of `UP_TO`.

    Returns
    -------
    Bands
        With one value run, one band of that value alone.

    Raises
    ------
    StudyError
        If the axis is not there, or an edge lies beyond the values run.
    """
    if axis not in dataset.dims or not axis_is_numeric(dataset, axis) or not dataset.sizes[axis]:
        raise StudyError([_no_axis(dataset, axis)])
    values = np.array(axis_values(dataset, axis))
    cumulative = axis in UP_TO if up_to is None else up_to
    found = sorted({float(e) for e in (values if edges is None else edges)})
    problems = [
        Problem(
            where=f"bands of {axis}",
            what=f"{axis} = {display_text(axis, edge)} is outside "
            f"[{display_text(axis, values.min())}, {display_text(axis, values.max())}]",
            why="nothing was run there",
            remedy="Take an edge within what was run, or run more",
        )
        for edge in found
        if not _within(values, edge)
    ]
    if not found:
        problems.append(Problem(where=f"bands of {axis}", what="no edge is given", remedy="Give at least one"))
    if problems:
        raise StudyError(problems)
    if cumulative:
        ends = [(float(values.min()), edge) for edge in found]
    else:
        ends = list(pairwise(found)) or [(found[0], found[0])]
    return Bands(
        axis=axis,
        low=tuple(low for low, _ in ends),
        high=tuple(high for _, high in ends),
        members=tuple(_members(values, low, high) for low, high in ends),
        labels=tuple(_label(axis, low, high, cumulative=cumulative) for low, high in ends),
    )


def _no_axis(dataset: xr.Dataset, axis: str) -> Problem:
    return Problem(
        where=str(dataset.attrs.get("title", "dataset")),
        what=f"{axis} is no axis of numbers",
        why="bands can be made only along one that was run on a grid",
        remedy=f"Sweep {axis} on a grid, or leave it out; here these are swept: "
        f"{', '.join(str(d) for d in dataset.dims) or 'none'}",
    )


def _within(values: NDArray[np.float64], edge: float) -> bool:
    slack = _ROUNDING * max(abs(edge), 1.0)
    return bool(math.isfinite(edge) and values.min() - slack <= edge <= values.max() + slack)


def _members(values: NDArray[np.float64], low: float, high: float) -> tuple[int, ...]:
    """Places of all values in a band and, where an end was not run itself, of the next value outside."""
    slack = _ROUNDING * max(abs(low), abs(high), 1.0)
    under, over = values[values <= low + slack].max(), values[values >= high - slack].min()
    return tuple(int(place) for place in np.flatnonzero((values >= under - slack) & (values <= over + slack)))


def _label(axis: str, low: float, high: float, *, cumulative: bool) -> str:
    if low == high:
        return display_text(axis, high)
    if cumulative and low == 0.0:
        return f"up to {display_text(axis, high)}"
    unit_once = display_text(axis, low).split()
    upper = display_text(axis, high)
    shared = len(unit_once) == 2 and upper.endswith(f" {unit_once[1]}")
    return f"{unit_once[0] if shared else ' '.join(unit_once)} to {upper}"


def in_bands(field: xr.Dataset, bands: Bands, reduce: Callable[[xr.Dataset, str], xr.Dataset]) -> xr.Dataset:
    """Reduce the values of each band to one.

    Parameters
    ----------
    field : xarray.Dataset
        With the axis of `bands`.
    bands : Bands
    reduce : callable
        Takes the members of one band and the name of the axis.

    Returns
    -------
    xarray.Dataset
        With ``<axis>_band`` in place of the axis, its labels as coordinate.
    """
    import xarray as xr

    parts = [reduce(field.isel({bands.axis: list(members)}), bands.axis) for members in bands.members]
    return xr.concat(parts, dim=bands.dim, coords="minimal", compat="override").assign_coords(
        {bands.dim: list(bands.labels)}
    )


def band_coordinates(
    cut: Mapping[str, Bands], dataset: xr.Dataset
) -> dict[str, tuple[str, list[float], dict[str, str]]]:
    """Coordinates ``<axis>_low`` and ``<axis>_high`` [unit of the axis] along each dimension of bands."""
    found: dict[str, tuple[str, list[float], dict[str, str]]] = {}
    for axis, bands in cut.items():
        unit = str(dataset[axis].attrs.get("units", ""))
        for end, values in (("low", bands.low), ("high", bands.high)):
            words = {"long_name": f"{end}est {long_name(axis)} of the band", "units": unit}
            found[f"{axis}_{end}"] = (bands.dim, list(values), words)
    return found
