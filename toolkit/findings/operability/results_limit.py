"""The wind limit of one configuration of a results dataset, by direction (floor 5)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
import xarray as xr

from toolkit.errors import Problem, StudyError
from toolkit.findings.conditions import fixed_text
from toolkit.findings.display import display_text, long_name
from toolkit.findings.envelope import EnvelopeStatus, wind_limit
from toolkit.findings.limits import apply_limits
from toolkit.findings.operability.limit import NEVER, limit_dataset
from toolkit.findings.reading import axis_is_numeric, axis_values
from toolkit.findings.shares import share_of_runs, shares_text
from toolkit.quantities import INPUTS
from toolkit.quantities.units import parse

__all__ = ["limit_of_found", "limit_of_results"]

_CURRENT = ("current_speed", "current_to")
_OWN = ("wind_speed", "wind_from")


def limit_of_results(
    results: xr.Dataset,
    at: Mapping[str, object] | None = None,
    *,
    worst_over: Iterable[str] = (),
    limits: object | None = None,
    with_current: bool = False,
) -> xr.Dataset:
    """Wind limit by direction of one configuration.

    Parameters
    ----------
    results : xarray.Dataset
        A grid of results that sweeps ``wind_speed`` and ``wind_from``.
    at : mapping, optional
        A value for every other swept axis, written as in a study file
        (``{"displacement": "1500 t", "manoeuvre": "swing_push"}``).
    worst_over : iterable of str
        Axes along which every case must pass, instead of a value.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the results.
    with_current : bool
        Whether to keep axes of the current that no value is given for, because
        the record has a current.

    Returns
    -------
    xarray.Dataset
        As :func:`toolkit.findings.operability.limit.limit_dataset` gives it:
        the last grid speed that passes with all smaller ones.

    Raises
    ------
    StudyError
        With every axis that is not named, and every name and value that does
        not fit.
    """
    over = tuple(worst_over)
    chosen, notes = _choose(results, dict(at or {}), over, with_current=with_current)
    part = results.isel(chosen)
    judged = apply_limits(part, limits)
    notes.extend(f"{long_name(dim)}: worst over {part.sizes[dim]} values" for dim in over)
    words = "; ".join(notes) or "its only configuration"
    named = [name for name in at or {} if name in results["outcome"].dims]
    return limit_of_found(wind_limit(judged, over=over), judged, configuration=words, named=named)


def limit_of_found(
    found: xr.Dataset, judged: xr.Dataset, *, configuration: str, named: Iterable[str] = ()
) -> xr.Dataset:
    """Wind limit by direction from limits that were found already, on a grid or by a search.

    Parameters
    ----------
    found : xarray.Dataset
        Limits of ``wind_speed`` along ``wind_from`` and, if wanted, the current,
        from :func:`toolkit.findings.wind_limit` or
        :func:`toolkit.findings.limit_search.find_limit`.
    judged : xarray.Dataset
        The judged cases that they rest on.
    configuration : str
        What the limits are for, in words.
    named : iterable of str
        Inputs that these words name; the others of one value are told as what the limits hold for.

    Returns
    -------
    xarray.Dataset
        As for :func:`limit_of_results`.
    """
    found = found.squeeze([dim for dim in found["limit"].dims if dim not in (*_OWN, *_CURRENT)], drop=True).compute()
    status = found["status"]
    known = found["limit"].notnull()
    field = found["limit"].where(known | (status != int(EnvelopeStatus.never_passes)), NEVER)
    ends = status.isin([int(EnvelopeStatus.passes_throughout), int(EnvelopeStatus.not_run)])
    told = [configuration]
    number = int((ends & known).sum())
    if number:
        told.append(f"{number} of {status.size} limits are the end of what was run")
    again = int(found["not_monotone"].sum())
    if again:
        told.append(f"beyond {again} of {status.size} a larger wind passes again, which is not counted on")
    kept = {"title", "toolkit_version", "commit", "study_hash", "model_hash", "created", "cautions", "directions"}
    attributes = {
        **{key: value for key, value in judged.attrs.items() if key in kept},
        "limits_applied": judged.attrs["limits_applied"],
        "configuration": "; ".join(told),
        "conditions": fixed_text(judged, leave_out=named),
        "rests_on": shares_text(share_of_runs(judged)),
        "gust_factor": _least(judged, "gust_factor", 1.0),
        "gusts_in_runs": str(_least(judged, "gust_intensity", 0.0) > 0.0),
        "ran_current": _ran_current(judged),
    }
    bare = [name for name in found.coords if name not in found["limit"].dims]
    return limit_dataset(field.drop_vars(bare), attributes, ends.drop_vars(bare))


def _least(dataset: xr.Dataset, name: str, otherwise: float) -> float:
    """Value of a fixed input, the smallest of one that varies."""
    return float(dataset[name].min()) if name in dataset.coords else otherwise


def _ran_current(part: xr.Dataset) -> str:
    """The current of the runs in words, where it has one value."""
    if "current_speed" not in part.coords or part["current_speed"].size > 1:
        return ""
    speed = float(part["current_speed"].values.item())
    words = display_text("current_speed", speed)
    if speed and "current_to" in part.coords and part["current_to"].size == 1:
        words += f" {display_text('current_to', float(part['current_to'].values.item()))}"
    return words


def _choose(
    results: xr.Dataset, at: dict[str, object], over: tuple[str, ...], *, with_current: bool
) -> tuple[dict[str, int], list[str]]:
    """Places at which axes are cut, and what they are in words."""
    problems: list[Problem] = []
    dims = [str(dim) for dim in results["outcome"].dims]
    title = str(results.attrs.get("title", "results"))
    for name in _OWN:
        if name not in dims or not axis_is_numeric(results, name):
            problems.append(
                Problem(where=title, what=f"{name} is not swept", why="the limit is a wind speed for each direction",
                        remedy=f"Sweep {name} on a grid, or give limits as a table of bearings")
            )  # fmt: skip
    for name in (*at, *over):
        if name in _OWN:
            problems.append(Problem(where="selection", what=f"{name} cannot be chosen",
                                    why="it comes from the record", remedy="Leave it out"))  # fmt: skip
        elif name not in results.coords and name not in dims:
            problems.append(Problem(where="selection", what=f"{name} is not an input of these results",
                                    remedy=f"Swept here: {', '.join(d for d in dims if d not in _OWN)}"))  # fmt: skip
        elif name in over and (name not in dims or name in at):
            why = "it has a value chosen" if name in at else "it is not swept"
            problems.append(Problem(where="selection", what=f"there is no worst over {name}: {why}",
                                    remedy="Leave it out"))  # fmt: skip
    places: dict[str, int] = {}
    notes: list[str] = []
    for name, value in at.items():
        if name in _OWN or name not in results.coords or name in over:
            continue
        place = _place(results, name, value, problems)
        if place is not None and name in dims:
            places[name] = place
            notes.append(f"{long_name(name)} {display_text(name, axis_values(results, name)[place])}")
    for dim in dims:
        if dim in (*_OWN, *over) or dim in at or (with_current and dim in _CURRENT):
            continue
        if results.sizes[dim] == 1:
            places[dim] = 0
        else:
            values = _as_written(dim, axis_values(results, dim))
            problems.append(
                Problem(where="selection", what=f"{dim} is swept and not named",
                        remedy=f"Choose one of {values}; or take the worst over it")
            )  # fmt: skip
    if problems:
        raise StudyError(problems)
    return places, notes


def _place(results: xr.Dataset, name: str, value: object, problems: list[Problem]) -> int | None:
    """Place of a value on an axis, or 0 for the value of a fixed input; adds a problem where it is not there."""
    try:
        wanted = parse(INPUTS[name], value, where=f"selection {name}") if name in INPUTS else value
    except StudyError as error:
        problems.extend(error.problems)
        return None
    options = [v if isinstance(v, str) else float(v) for v in np.atleast_1d(results[name].values).tolist()]
    for place, option in enumerate(options):
        if isinstance(option, str) or isinstance(wanted, str):
            if option == wanted:
                return place
        elif isinstance(wanted, (int, float)) and math.isclose(option, wanted, rel_tol=1e-9, abs_tol=1e-12):
            return place
    problems.append(
        Problem(where="selection", what=f"{name} = {value} is not on the grid", why="nothing is read between runs",
                remedy=f"Use one of: {_as_written(name, options)}")
    )  # fmt: skip
    return None


def _as_written(name: str, options: list[Any]) -> str:
    """Values as they are written in a study, at most a dozen."""
    shown = [option if isinstance(option, str) else display_text(name, option) for option in options[:12]]
    return ", ".join([*shown, "..."] if len(options) > len(shown) else shown)
