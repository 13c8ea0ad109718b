"""Where the envelope ends along an axis, never read between grid points to its favour (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.display import long_name
from toolkit.findings.reading import axis_is_numeric
from toolkit.findings.worst import worst_over

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["EnvelopeStatus", "largest_passing", "passing_band", "status_attributes", "wind_limit"]


class EnvelopeStatus(IntEnum):
    """How a limit along an axis was found."""

    never_passes = 0
    limited = 1
    passes_throughout = 2
    not_run = 3


def status_attributes() -> dict[str, object]:
    """Attributes of a variable that holds :class:`EnvelopeStatus`."""
    return {
        "long_name": "how the limit was found",
        "flag_values": np.array([int(s) for s in EnvelopeStatus], dtype=np.int8),
        "flag_meanings": " ".join(s.name for s in EnvelopeStatus),
    }


def _sorted(judged: xr.Dataset, axis: str, over: Iterable[str]) -> tuple[xr.Dataset, xr.DataArray]:
    """Field of worst cases with its axis rising, and positions along the axis."""
    import xarray as xr

    if axis not in judged["passes"].dims or not axis_is_numeric(judged, axis):
        raise StudyError(
            [
                Problem(
                    where=str(judged.attrs.get("title", "dataset")),
                    what=f"{axis} is no swept axis of numbers",
                    why="a limit can be found only along such an axis",
                    remedy=f"Sweep {axis} on a grid; here these are swept: "
                    f"{', '.join(str(d) for d in judged['passes'].dims) or 'none'}",
                )
            ]
        )
    field = worst_over(judged, over).sortby(axis)
    return field, xr.DataArray(np.arange(field.sizes[axis]), dims=axis)


def _at(field: xr.DataArray, position: xr.DataArray, wanted: xr.DataArray, axis: str) -> xr.DataArray:
    """Codes at a wanted position along the axis; 0 where the position lies off it."""
    return field.where(position == wanted, 0).max(axis).astype(np.int8)


def largest_passing(judged: xr.Dataset, axis: str, *, over: Iterable[str] = ()) -> xr.Dataset:
    """Largest value along an axis for which it and every smaller one pass.

    Conservative between grid points: the limit is the last grid value that
    passes, never a value beyond it.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.limits.apply_limits`.
    axis : str
        A swept axis of numbers, such as ``wind_speed``.
    over : iterable of str, optional
        Dimensions along which every case must pass as well.

    Returns
    -------
    xarray.Dataset
        On the remaining dimensions: ``limit`` [unit of the axis; NaN where the
        smallest value fails]; ``first_failing``, the next grid value (NaN where
        none); ``status`` (:class:`EnvelopeStatus`; ``not_run`` where the first
        value that does not pass was not run, so that the true limit may be
        larger); ``limited_by``, code of `binding_limit` at `first_failing`;
        ``not_monotone`` (bool): a larger value passes again.

    Raises
    ------
    StudyError
        If `axis` is not a swept axis of numbers.
    """
    import xarray as xr

    field, position = _sorted(judged, axis, over)
    passes = field["passes"]
    prefix = passes.astype(np.int8).cumprod(axis).astype(bool)
    count = prefix.sum(axis)
    size = field.sizes[axis]
    values = field[axis]
    first = position == count
    unrun = (~field["was_run"] & first).any(axis)
    status = xr.where(count == 0, int(EnvelopeStatus.never_passes), int(EnvelopeStatus.limited))
    status = xr.where(count == size, int(EnvelopeStatus.passes_throughout), status)
    status = xr.where(unrun, int(EnvelopeStatus.not_run), status).astype(np.int8)
    found = xr.Dataset(
        {
            "limit": values.where(prefix).max(axis),
            "first_failing": values.where(first).max(axis),
            "status": status,
            "limited_by": _at(field["binding_limit"], position, count, axis),
            "not_monotone": (passes & ~prefix).any(axis),
        },
        attrs={**judged.attrs, "axis": axis, "worst_over": " ".join(over)},
    )
    unit = judged[axis].attrs.get("units", "")
    found["limit"].attrs = {"long_name": f"largest {long_name(axis)} for which all smaller pass", "units": unit}
    found["first_failing"].attrs = {"long_name": f"{long_name(axis)} that does not pass first", "units": unit}
    found["status"].attrs = status_attributes()
    found["limited_by"].attrs = {**judged["binding_limit"].attrs, "long_name": "what ends the envelope"}
    found["not_monotone"].attrs = {"long_name": "a larger value passes again"}
    return found


def wind_limit(judged: xr.Dataset, *, over: Iterable[str] = ()) -> xr.Dataset:
    """Wind limit: :func:`largest_passing` along ``wind_speed`` (polar where ``wind_from`` is swept)."""
    return largest_passing(judged, "wind_speed", over=over)


def passing_band(judged: xr.Dataset, axis: str, *, over: Iterable[str] = ()) -> xr.Dataset:
    """Smallest and largest value along an axis that pass: too little and too much.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.limits.apply_limits`.
    axis : str
        A swept axis of numbers, such as ``bollard_pull`` or ``power_setting``.
    over : iterable of str, optional
        Dimensions along which every case must pass as well.

    Returns
    -------
    xarray.Dataset
        On the remaining dimensions: ``smallest`` and ``largest`` [unit of the
        axis; NaN where none passes]; ``limited_below`` and ``limited_above``,
        codes of `binding_limit` at the grid values next outside the band (0
        where the grid ends there; with none passing, those of the two ends of
        the grid); ``too_little`` and ``too_much`` (bool): a value below, or
        above, was run and does not pass; ``not_contiguous`` (bool): a value
        between the two does not pass; ``status`` (:class:`EnvelopeStatus`).
    """
    import xarray as xr

    field, position = _sorted(judged, axis, over)
    passes, values, size = field["passes"], field[axis], field.sizes[axis]
    any_passes = passes.any(axis)
    low = xr.where(any_passes, position.where(passes).min(axis), 1)
    high = xr.where(any_passes, position.where(passes).max(axis), size - 2)
    number = passes.sum(axis)
    failed = field["was_run"] & ~passes
    status = xr.where(any_passes, int(EnvelopeStatus.limited), int(EnvelopeStatus.never_passes))
    status = xr.where(number == size, int(EnvelopeStatus.passes_throughout), status)
    status = xr.where(~field["was_run"].any(axis), int(EnvelopeStatus.not_run), status).astype(np.int8)
    binding = field["binding_limit"]
    last = max(size - 1, 0)
    band = xr.Dataset(
        {
            "smallest": values.where(passes).min(axis),
            "largest": values.where(passes).max(axis),
            "limited_below": _at(binding, position, xr.where(any_passes, low - 1, 0), axis),
            "limited_above": _at(binding, position, xr.where(any_passes, high + 1, last), axis),
            "too_little": any_passes & (failed & (position < low)).any(axis),
            "too_much": any_passes & (failed & (position > high)).any(axis),
            "not_contiguous": any_passes & (high - low + 1 != number),
            "status": status,
        },
        attrs={**judged.attrs, "axis": axis, "worst_over": " ".join(over)},
    )
    unit = judged[axis].attrs.get("units", "")
    words = long_name(axis)
    band["smallest"].attrs = {"long_name": f"smallest {words} that passes", "units": unit}
    band["largest"].attrs = {"long_name": f"largest {words} that passes", "units": unit}
    for name, text in (("limited_below", "too little"), ("limited_above", "too much")):
        band[name].attrs = {**judged["binding_limit"].attrs, "long_name": f"what binds with {text}"}
    band["too_little"].attrs = {"long_name": f"a smaller {words} does not pass"}
    band["too_much"].attrs = {"long_name": f"a larger {words} does not pass"}
    band["not_contiguous"].attrs = {"long_name": "a value between the two does not pass"}
    band["status"].attrs = status_attributes()
    return band
