"""Single limits against the limit that holds jointly: what a box promises too much, and what it gives away (floor 5).

A box reads each limit on its own: so much wind, so much current. With both
limits taken where the other quantity is at its lowest, its corner promises what
nothing was found to hold; a box that holds in its corner gives away the rest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.display import long_name
from toolkit.findings.reading import axis_is_numeric, require

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["box_against_joint", "by_sectors", "worst_direction"]


def box_against_joint(found: xr.Dataset, along: str = "current_speed", *, low: float = 0.0) -> xr.Dataset:
    """Hold the box of two single limits against the limit of one quantity over the other.

    Parameters
    ----------
    found : xarray.Dataset
        Limits along `along`, from :func:`toolkit.findings.wind_limit` or
        :func:`toolkit.findings.limit_search.find_limit`.
    along : str
        The other quantity, a dimension of numbers with two values or more.
    low : float
        Value of the limited quantity from which areas are counted [its unit].

    Returns
    -------
    xarray.Dataset
        On the remaining dimensions and `along`: ``joint``, the limit that holds
        at this and every smaller value of `along` (NaN: nothing is permitted).
        Without `along`: ``single_limit``, the limit at the smallest value of
        `along`; ``single_along``, the value of `along` up to which the smallest
        value of the limited quantity passes; ``safe_limit`` and ``safe_along``,
        corner of the largest box that holds everywhere; ``promised_too_much``,
        share of the single box, by area, that does not hold jointly; ``given_away``,
        share of what holds jointly that lies outside the safe box; NaN where
        nothing is permitted, or the box has no area. Areas are counted by
        steps: between two values of `along` the smaller joint limit holds.
        ``at_end`` (bool): a limit is the end of what was run, so that the true
        one may be larger. Computed.

    Raises
    ------
    StudyError
        If `along` is no such dimension.
    """
    import xarray as xr

    require(found, ("limit", "status"), "single and joint limits")
    if along not in found["limit"].dims or not axis_is_numeric(found, along) or found.sizes[along] < 2:
        raise StudyError(
            [
                Problem(
                    where=str(found.attrs.get("title", "limits")),
                    what=f"{along} is no axis of two numbers or more",
                    why="a box has two sides",
                    remedy=f"Find the limits at several values of {along}",
                )
            ]
        )
    ordered = found[["limit", "status"]].sortby(along).compute()
    others = [str(d) for d in ordered["limit"].dims if d != along]
    values = ordered[along].values.astype(np.float64)
    limits = ordered["limit"].transpose(*others, along)
    shape = limits.shape[:-1]
    joint = np.minimum.accumulate(np.where(np.isnan(limits.values), -np.inf, limits.values), axis=-1)
    rows = [_boxes(joint[place], values, low) for place in np.ndindex(*shape)]
    boxes = xr.Dataset(
        {name: (others, np.array([row[name] for row in rows]).reshape(shape)) for name in _NAMES},
        coords={d: ordered[d] for d in others if d in ordered.coords},
    )
    boxes["joint"] = ((*others, along), np.where(np.isfinite(joint), joint, np.nan))
    boxes = boxes.assign_coords({along: ordered[along]})
    throughout = ordered["status"].transpose(*others, along) == 2
    boxes["at_end"] = throughout.isel({along: 0}, drop=True) | (limits.isel({along: -1}, drop=True).notnull())
    boxes.attrs = {**found.attrs, "along": along}
    unit, axis = str(found["limit"].attrs.get("units", "")), str(found.attrs["axis"])
    other_unit = str(found[along].attrs.get("units", ""))
    for name, words, its in (
        ("joint", f"{long_name(axis)} that holds up to here", unit),
        ("single_limit", f"single limit of {long_name(axis)}", unit),
        ("single_along", f"single limit of {long_name(along)}", other_unit),
        ("safe_limit", f"{long_name(axis)} of the largest box that holds", unit),
        ("safe_along", f"{long_name(along)} of the largest box that holds", other_unit),
        ("promised_too_much", "share of the box of single limits that does not hold jointly", "1"),
        ("given_away", "share of what holds jointly outside the largest box that holds", "1"),
        ("at_end", "a limit is the end of what was run", "1"),
    ):
        boxes[name].attrs = {"long_name": words, "units": its}
    return boxes


_NAMES = ("single_limit", "single_along", "safe_limit", "safe_along", "promised_too_much", "given_away")


def _boxes(joint: NDArray[np.float64], values: NDArray[np.float64], low: float) -> dict[str, float]:
    """Boxes of one curve that never rises; minus infinity where nothing is permitted."""
    row: dict[str, float] = dict.fromkeys(_NAMES, np.nan)
    held = np.flatnonzero(np.isfinite(joint))
    if not held.size:
        return row
    last = int(held[-1])
    row["single_limit"], row["single_along"] = float(joint[0]), float(values[last])
    heights = np.maximum(joint[: last + 1] - low, 0.0)
    widths = values[: last + 1] - values[0]
    area = float((np.diff(widths) * heights[1:]).sum())
    corner = int(np.argmax(heights * widths))
    row["safe_limit"], row["safe_along"] = float(joint[corner]), float(values[corner])
    box = float(heights[0] * widths[-1])
    if box > 0.0:
        row["promised_too_much"] = 1.0 - area / box
    if area > 0.0:
        row["given_away"] = 1.0 - float(heights[corner] * widths[corner]) / area
    return row


def worst_direction(found: xr.Dataset, along: str = "wind_from") -> xr.Dataset:
    """Hold one limit for all directions against the limit by direction.

    Parameters
    ----------
    found : xarray.Dataset
        Limits along `along`.
    along : str
        Direction, such as ``wind_from``.

    Returns
    -------
    xarray.Dataset
        On the remaining dimensions: ``single_limit``, the smallest of all
        directions (NaN where one never passes), ``worst_from``, the direction
        it belongs to; ``mean_limit``, mean over directions of the limit by
        direction (0 where never); ``given_away``, share of that mean that the
        single limit leaves unused, every direction counted alike; NaN if nothing
        is permitted from anywhere. Computed.
    """
    require(found, ("limit", along), "one limit for all directions")
    here = found[["limit", along]].compute()
    limit = here["limit"]
    filled = limit.fillna(-np.inf)
    single = filled.min(along)
    mean = limit.fillna(0.0).clip(min=0.0).mean(along)
    used: Any = single.clip(min=0.0)
    result = limit.to_dataset(name="limit").drop_vars("limit").drop_dims(along)
    result["single_limit"] = single.where(np.isfinite(single))
    result["worst_from"] = here[along].isel({along: filled.argmin(along)}).drop_vars(along).astype(np.float64)
    result["mean_limit"] = mean
    result["given_away"] = 1.0 - used / mean.where(mean > 0.0)
    unit = str(found["limit"].attrs.get("units", ""))
    result["single_limit"].attrs = {"long_name": "limit that holds from every direction", "units": unit}
    result["mean_limit"].attrs = {"long_name": "mean over directions of the limit by direction", "units": unit}
    result["given_away"].attrs = {"long_name": "share of it that one limit for all leaves unused", "units": "1"}
    return result.assign_attrs({**found.attrs, "along": along})


def by_sectors(found: xr.Dataset, count: int = 8, along: str = "wind_from") -> xr.Dataset:
    """Bring limits by direction down to sectors, each as low as the lowest in it.

    Parameters
    ----------
    found : xarray.Dataset
        Limits along `along` [degree].
    count : int
        Sectors, the first about north; 1 to 72.
    along : str
        Direction.

    Returns
    -------
    xarray.Dataset
        `found` with `along` at the middle of each sector. A sector takes every
        direction within it and on its edges, and one that holds none the
        nearest direction on either side; of these the case with the smallest
        limit, and ``not_monotone`` where any is. Computed.
    """
    import xarray as xr

    require(found, ("limit", along), "limits by sector")
    if not 1 <= count <= 72:
        raise StudyError([Problem(where="sectors", what=f"count = {count} is outside [1, 72]")])
    here = found.compute()
    bearings = np.mod(here[along].values.astype(np.float64), 360.0)
    parts = []
    for middle in np.arange(count) * 360.0 / count:
        apart = np.mod(bearings - middle + 180.0, 360.0) - 180.0
        members = np.flatnonzero(np.abs(apart) <= 180.0 / count + 1e-9)
        if not members.size:
            sides = [np.flatnonzero(side) for side in (apart >= 0.0, apart <= 0.0)]
            members = np.unique([s[np.argmin(np.abs(apart[s]))] for s in sides if s.size])
        part = here.isel({along: members})
        lowest = part["limit"].fillna(-np.inf).argmin(along)
        chosen = part.isel({along: lowest}).drop_vars(along)
        if "not_monotone" in part:
            chosen["not_monotone"] = part["not_monotone"].any(along).assign_attrs(part["not_monotone"].attrs)
        parts.append(chosen)
    together = xr.concat(parts, dim=along).assign_coords({along: np.arange(count) * 360.0 / count})
    together[along].attrs = here[along].attrs
    return together.assign_attrs({**here.attrs, "sectors": count})
