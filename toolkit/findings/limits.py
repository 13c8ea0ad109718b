"""Limits applied to outcomes: who passes, who does not, and what binds (floor 5)."""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.display import display_text, long_name
from toolkit.findings.reading import outcome_of, parse_json, require
from toolkit.quantities import Outcome
from toolkit.study.limits import AT_LEAST, Limits

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "BINDING_MEANINGS",
    "LIMIT_NAMES",
    "MISSING_VALUE",
    "OUTCOME_OFFSET",
    "apply_limits",
    "binding_short",
    "binding_words",
    "limit_words",
    "limits_of",
    "limits_text",
]

LIMIT_NAMES: tuple[str, ...] = tuple(field.name for field in dataclasses.fields(Limits))
"""Outcomes that a limit may be set on; their places, from 1, are codes of `binding_limit`."""

_MAY_NOT_APPLY = frozenset(
    {"tension_over_mbl", "tension_over_swl", "peak_contact_force", "room_to_edge", "clearance_to_edge", "contact_speed",
     "berthing_energy", "stopping_distance", "overrun_margin", "drift_after_failure"}
)  # fmt: skip
_OF_A_SWING = frozenset({"time_to_turn", "time_to_steady", "overshoot"})

MISSING_VALUE = 99
"""Code of `binding_limit` for a completed case that lacks a value which a limit is set on."""

OUTCOME_OFFSET = 100
"""Added to an outcome's code, this is the code of `binding_limit` of a case that failed by its outcome."""

BINDING_MEANINGS: dict[int, str] = {
    0: "none",
    **{place: name for place, name in enumerate(LIMIT_NAMES, start=1)},
    MISSING_VALUE: "missing_value",
    **{OUTCOME_OFFSET + int(o): o.name for o in Outcome if o is not Outcome.completed},
}
"""Meaning of every code of `binding_limit`."""


def binding_words(code: int) -> str:
    """Words for a code of `binding_limit`, such as ``peak heel over deck-edge angle``."""
    name = BINDING_MEANINGS.get(int(code), f"code {int(code)}")
    return long_name(name) if name in LIMIT_NAMES else name.replace("_", " ")


_SHORT = {
    "peak_heel_fraction": "heel",
    "peak_heel": "heel",
    "tension_over_mbl": "line load",
    "tension_over_swl": "fitting load",
    "peak_contact_force": "contact force",
    "time_to_turn": "time",
    "time_to_steady": "time",
    "drift_distance": "drift",
    "swept_radius_barge": "swept radius",
    "swept_radius_all": "swept radius",
    "room_to_edge": "room",
    "peak_swing_rate": "swing rate",
    "deck_edge_immersed": "deck edge",
}


def binding_short(code: int) -> str:
    """One or two words for a code of `binding_limit`, for cells of tables and figures, such as ``fitting load``."""
    name = BINDING_MEANINGS.get(int(code), f"code {int(code)}")
    return _SHORT.get(name, name.replace("_", " "))


def limits_of(dataset: xr.Dataset, limits: object | None = None) -> dict[str, float]:
    """Limits in force, by outcome name.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results; its attribute ``limits`` (JSON) is read if `limits` is None.
    limits : mapping or dataclass, optional
        Limits in dataset units; None or NaN as a value means "no such limit".

    Returns
    -------
    dict
        Name to value [dataset unit], in the order of `LIMIT_NAMES`.

    Raises
    ------
    StudyError
        For every name that no limit can be set on and every value that is no
        number of zero or more.
    """
    if limits is None:
        given: Mapping[str, Any] = parse_json(dataset.attrs, "limits")
    elif isinstance(limits, Mapping):
        given = limits
    elif dataclasses.is_dataclass(limits) and not isinstance(limits, type):
        given = {field.name: getattr(limits, field.name) for field in dataclasses.fields(limits)}
    else:
        raise TypeError(f"limits must be a mapping or a dataclass, not {type(limits).__name__}")
    problems = []
    found: dict[str, float] = {}
    for name, value in given.items():
        if value is None:
            continue
        if name not in LIMIT_NAMES:
            problems.append(
                Problem(
                    where=f"limits.{name}",
                    what=f"no limit can be set on {name}",
                    why="it is no outcome that grows with risk",
                    remedy=f"Use one of: {', '.join(LIMIT_NAMES)}",
                )
            )
        elif isinstance(value, bool) or not isinstance(value, (int, float, np.number)) or float(value) < 0:
            problems.append(
                Problem(
                    where=f"limits.{name}",
                    what=f"{name} = {value!r} is no number of zero or more",
                    remedy="Give a number in dataset units, or leave the limit out",
                )
            )
        elif not math.isnan(float(value)):
            found[name] = float(value)
    if problems:
        raise StudyError(problems)
    return {name: found[name] for name in LIMIT_NAMES if name in found}


def limits_text(limits: Mapping[str, float]) -> str:
    """Limits in one line, in users' units; says so where none is set."""
    if not limits:
        return "none set: a case passes if it completed"
    return "; ".join(limit_words(name, value) for name, value in limits.items())


def limit_words(name: str, value: float) -> str:
    """Words for one limit in users' units, such as ``time to steady ≤ 15 min``."""
    return f"{long_name(name)} {'≥' if name in AT_LEAST else '≤'} {display_text(name, value)}"


def _swings(dataset: xr.Dataset) -> xr.DataArray | bool:
    """Where a case is a swing, which alone comes to a target."""
    if "legs_completed" in dataset and bool(dataset["legs_completed"].notnull().any()):
        return False
    if "manoeuvre" not in dataset.coords:
        return True
    return dataset["manoeuvre"].str.startswith("swing")


def _utilisation(dataset: xr.Dataset, name: str, limit: float) -> xr.DataArray:
    """Value over limit; for room to the edge, distance used over distance allowed."""
    import xarray as xr

    value = dataset[name]
    allowed: xr.DataArray | float = limit
    if name in AT_LEAST:
        radius = dataset["basin_radius"] if "basin_radius" in dataset.variables else np.nan
        value, allowed = radius - value, radius - limit
    allowed = xr.zeros_like(value, dtype=np.float64) + allowed
    ratio = value / allowed.where(allowed > 0)
    no_room = xr.where(value > 0, np.inf, 0.0).where(value.notnull())
    return ratio.where(allowed > 0, no_room)


def _lean(dataset: xr.Dataset, names: Iterable[str]) -> xr.Dataset:
    """What judging needs, without the coordinates that every step would merge anew."""
    besides = ("manoeuvre", "basin_radius")
    told = [n for n in ("outcome", *names, "legs_completed", *besides) if n in dataset.variables]
    part = dataset[told]
    return part.drop_vars([name for name in part.coords if name not in part.dims and name not in besides])


def apply_limits(dataset: xr.Dataset, limits: object | None = None) -> xr.Dataset:
    """Judge every case of a results dataset against limits.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results by the contract of this package; may be lazy, and stays so.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the dataset's attribute
        ``limits``.

    Returns
    -------
    xarray.Dataset
        On the dataset's dimensions and coordinates:

        - ``passes`` (bool): the case was run, completed, and keeps every limit;
        - ``was_run`` (bool): False where the outcome is ``not_run``, which is
          no failure and is left out of every share;
        - ``outcome`` (int8): how the case ended, as in `dataset`;
        - ``utilisation`` (float): largest value over limit of a completed case;
          NaN where not completed or where no limit applies;
        - ``limit_utilisation`` (float): the same for each limit, with a leading
          dimension ``limit``; NaN where the quantity does not apply;
        - ``nearest_limit`` (int8): the limit of the largest utilisation, kept
          or not; 0 where no limit applies;
        - ``binding_limit`` (int8): why a case does not pass: the limit with the
          largest utilisation, or how the case ended; 0 where it passes.

        A quantity that does not apply (tension in a push, room without a basin)
        does not bind. Any other value that is missing in a completed case does,
        as ``missing_value``.

    Raises
    ------
    StudyError
        If a limit is not legal, or is set on a variable that is not there.
    """
    import xarray as xr

    in_force = limits_of(dataset, limits)
    require(dataset, ("outcome", *in_force), "a limit that is set on it")
    if not dataset["outcome"].size:
        dataset = dataset.compute()  # dask reduces no empty array
    whole, dataset = dataset, _lean(dataset, in_force)
    outcome = outcome_of(dataset)
    was_run = outcome != int(Outcome.not_run)
    completed = outcome == int(Outcome.completed)

    nothing = xr.full_like(outcome, np.nan, dtype=np.float64)
    missing = xr.zeros_like(completed)
    layers = []
    for name, limit in in_force.items():
        used = _utilisation(dataset, name, limit).where(completed)
        layers.append((nothing.fillna(0.0) + used).transpose(*outcome.dims))
        if name not in _MAY_NOT_APPLY:
            gone = completed & used.isnull()
            missing = missing | (gone & _swings(dataset) if name in _OF_A_SWING else gone)
    by_limit = xr.concat(
        layers or [nothing], dim="limit", coords="minimal", compat="override", join="override"
    ).assign_coords(limit=list(in_force) or ["none"])
    codes = xr.DataArray([LIMIT_NAMES.index(n) + 1 for n in in_force] or [0], dims="limit")

    utilisation = by_limit.max("limit", skipna=True)
    is_largest = (by_limit == utilisation) & utilisation.notnull()
    # of two limits used alike, the one named first in LIMIT_NAMES
    nearest = xr.where(is_largest, codes, np.int8(127)).min("limit")
    nearest = xr.where(utilisation.notnull(), nearest, 0).astype(np.int8)
    passes = completed & ~missing & ~(utilisation > 1.0)
    binding = xr.where(utilisation > 1.0, nearest, 0)
    binding = xr.where(missing, MISSING_VALUE, binding)
    binding = xr.where(completed, binding, outcome.astype(np.int16) + OUTCOME_OFFSET).astype(np.int8)

    judged = xr.Dataset(
        {
            "passes": passes,
            "was_run": was_run,
            "outcome": outcome,
            "utilisation": utilisation,
            "limit_utilisation": by_limit,
            "nearest_limit": nearest,
            "binding_limit": binding,
        },
        coords=whole.coords,
        attrs={**whole.attrs, "limits": json.dumps(in_force), "limits_applied": limits_text(in_force)},
    )
    flags = {
        "flag_values": np.array(list(BINDING_MEANINGS), dtype=np.int8),
        "flag_meanings": " ".join(BINDING_MEANINGS.values()),
    }
    judged["passes"].attrs = {"long_name": "case completed and keeps every limit", "limits": limits_text(in_force)}
    judged["was_run"].attrs = {"long_name": "case was run"}
    judged["outcome"].attrs = {
        **whole["outcome"].attrs,
        "long_name": "how the case ended",
        "flag_values": np.array([int(o) for o in Outcome], dtype=np.int8),
        "flag_meanings": " ".join(o.name for o in Outcome),
    }
    judged["utilisation"].attrs = {"long_name": "largest value over its limit", "units": "1"}
    judged["limit_utilisation"].attrs = {"long_name": "value over limit", "units": "1"}
    judged["nearest_limit"].attrs = {"long_name": "limit with the largest utilisation", **flags}
    judged["binding_limit"].attrs = {"long_name": "why the case does not pass", **flags}
    return judged
