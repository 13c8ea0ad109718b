"""Checks of a whole study: inputs against one another, over all of its cases."""

from __future__ import annotations

import math

import numpy as np

from toolkit.errors import Problem
from toolkit.particulars.crew import CREWS
from toolkit.quantities import INPUTS, silent_inputs
from toolkit.quantities.manoeuvres import idle_in_job
from toolkit.quantities.units import format_value
from toolkit.study.basin import basin_problems, basin_warnings
from toolkit.study.combinations import combinations
from toolkit.study.hull_checks import hull_problems, hull_warnings, start_problems
from toolkit.study.legs import leg_study, legs_problems
from toolkit.study.manoeuvre_checks import (
    berth_warnings,
    duration_problems,
    duration_warnings,
    target_warnings,
    way_warnings,
)
from toolkit.study.study import Study
from toolkit.study.unused import UNUSED_AT_VALUE

__all__ = ["interplay_problems", "study_problems", "study_warnings"]

ORDER_RASTER = 0.5
"""Raster of orders and of the steady condition [s]; see the step rule of the engine."""


def interplay_problems(study: Study) -> list[Problem]:
    """Problems of inputs that are each in range and do not go together; as for :func:`study_problems`."""
    return [*timing_problems(study), *legs_problems(study), *_current_problems(study), *hull_problems(study)]


def timing_problems(study: Study) -> list[Problem]:
    """Problems of times that the engine's raster, or one another, forbid; as for :func:`study_problems`."""
    return [*_raster_problems(study), *_delay_problems(study), *duration_problems(study)]


def study_problems(study: Study) -> list[Problem]:
    """Everything for which a study cannot be run, or need not be.

    Parameters
    ----------
    study : Study
        Whose single values have been checked.

    Returns
    -------
    list of Problem
        Empty if the study can be run.
    """
    return interplay_problems(study) or [*start_problems(_first_leg(study)), *basin_problems(_first_leg(study))]


def _first_leg(study: Study) -> Study:
    """What decides how a case begins: the study, or the first leg of a job."""
    return leg_study(study, 1) if study.legs else study


def _where(study: Study, name: str) -> str:
    return f"{study.source}: {INPUTS[name].section}.{name}"


def _raster_problems(study: Study) -> list[Problem]:
    problems = []
    for name in ("order_interval", "steady_time"):
        quantity = INPUTS[name]
        values = combinations(study, [name])[name]
        steps = values / ORDER_RASTER
        off = values[np.abs(steps - np.round(steps)) > 1e-9]
        if off.size:
            remedy = f"Write for example '{np.ceil(off[0] / ORDER_RASTER) * ORDER_RASTER:g} s'"
            if not study.design.is_grid and study.axis(name) is not None:
                remedy = "List the values to be sampled instead of a range"
            problems.append(
                Problem(where=_where(study, name), why="orders and conditions are looked at every half second",
                        what=f"{name} = {format_value(quantity, off[0].item())} is not a multiple of {ORDER_RASTER} s",
                        remedy=remedy)
            )  # fmt: skip
    return problems


def _delay_problems(study: Study) -> list[Problem]:
    columns = combinations(study, ["order_delay", "order_interval", "crew"])
    habits = list(CREWS.values())
    for name in ("order_delay", "order_interval"):
        usual = np.array([getattr(habit, name) for habit in habits])[columns["crew"].astype(np.int64)]
        columns[name] = np.where(np.isnan(columns[name]), usual, columns[name])
    delay, interval = columns["order_delay"], columns["order_interval"]
    late = np.flatnonzero(delay > interval * (1.0 + 1e-9))
    if not late.size:
        return []
    worst = late[0]
    shown = [format_value(INPUTS[name], float(columns[name][worst])) for name in ("order_delay", "order_interval")]
    return [
        Problem(where=_where(study, "order_delay"), why="an order would come after the next look",
                what=f"order_delay = {shown[0]} is longer than order_interval = {shown[1]}",
                remedy=f"Write order_delay = '{shown[1]}' or less, or a longer order_interval")
    ]  # fmt: skip


def _current_problems(study: Study) -> list[Problem]:
    """Shear that, far from the centre of the basin, makes more of the current than the register allows."""
    c = combinations(study, ["current_speed", "current_to", "current_shear", "start_north", "start_east"])
    to = np.deg2rad(c["current_to"])
    at_start = c["current_speed"] + c["current_shear"] * (np.cos(to) * c["start_east"] - np.sin(to) * c["start_north"])
    quantity = INPUTS["current_speed"]
    worst = int(np.argmax(np.abs(at_start)))
    if abs(at_start[worst]) <= quantity.high * (1.0 + 1e-9):
        return []
    most = format_value(quantity, quantity.high)
    return [
        Problem(where=_where(study, "current_shear"), why=quantity.why,
                what=f"with current_shear = {c['current_shear'][worst]:.4g} /s the current where the barge starts is "
                f"{format_value(quantity, abs(float(at_start[worst])))}, more than {most}",
                remedy="Write a smaller current_shear, or start nearer to the centre of the basin")
    ]  # fmt: skip


def study_warnings(study: Study) -> list[str]:
    """What a user should know before running a checked study, in sentences."""
    idle = _idle_in_legs(study) if study.legs else _idle_inputs(study)
    first = _first_leg(study)
    return [
        *study.notes, *_design_warnings(study), *_arrangement_warnings(study), *idle, *_idle_limits(study),
        *hull_warnings(first), *basin_warnings(first), *duration_warnings(study),
        *target_warnings(study), *way_warnings(first),
        *berth_warnings(first),
    ]  # fmt: skip


def _design_warnings(study: Study) -> list[str]:
    if study.design.kind == "sobol" and study.size & (study.size - 1):
        higher = 1 << study.size.bit_length()
        return [
            f"samples = {study.size} is not a power of two, so the Sobol' sequence is not balanced; "
            f"{higher // 2} or {higher} would be."
        ]
    if study.design.kind == "latin_hypercube":
        return ["A Latin hypercube cannot be extended later; a Sobol' sequence can."]
    return []


def _arrangement_warnings(study: Study) -> list[str]:
    """What the modelled master cannot do with a type of tug."""
    for each in [leg_study(study, number) for number in range(1, len(study.legs) + 1)] or [study]:
        columns = combinations(each, ["manoeuvre", "tug_type"])
        swings = columns["manoeuvre"] < INPUTS["manoeuvre"].choices.index("tow_ahead")
        if (swings & (columns["tug_type"] == INPUTS["tug_type"].choices.index("conventional"))).any():
            return [
                "The modelled master cannot check a swing well with a conventional tug, which gives no force to the "
                "side: most such cases end off station. Do not compare types of tug on their swings."
            ]
    return []


def _idle_inputs(study: Study) -> list[str]:
    """Swept inputs that change nothing, in all cases or in some."""
    found: list[str] = []
    columns = combinations(study, ["manoeuvre"])
    manoeuvres = {INPUTS["manoeuvre"].choices[code] for code in np.unique(columns["manoeuvre"])}
    idle: dict[str, list[str]] = {}
    words = {name: value for name, value in study.fixed.items() if study.axis(name) is None}
    for manoeuvre in sorted(manoeuvres):
        unused = silent_inputs(manoeuvre, words)
        for axis in study.axes:
            if axis.name in unused:
                idle.setdefault(axis.name, []).append(manoeuvre)
    for name, where in idle.items():
        if len(where) == len(manoeuvres):
            found.append(f"{name} is swept and has no effect: every case is {' or '.join(where)}.")
        else:
            words_of = " or ".join(where)
            found.append(f"{name} is swept and has no effect where manoeuvre is {words_of}: those cases repeat.")
    for (cause, value), names in UNUSED_AT_VALUE.items():
        idle_everywhere = (combinations(study, [cause])[cause] == value).all()
        if cause == "current_speed":
            idle_everywhere &= (combinations(study, ["current_shear"])["current_shear"] == 0.0).all()
        choices = INPUTS[cause].choices
        shown = choices[int(value)] if choices else f"{value:g}"
        for name in names:
            if study.axis(name) is not None and idle_everywhere:
                found.append(f"{name} is swept and has no effect: {cause} is {shown} in every case.")
    if not _basin_given(study) and study.basin is None:
        for name in ("start_north", "start_east"):
            if study.axis(name) is not None:
                found.append(f"{name} is swept and has no effect: environment.basin_radius is not given.")
    return found


def _idle_in_legs(study: Study) -> list[str]:
    """Swept inputs that every leg of a job sets for itself, or none uses."""
    words = {name: value for name, value in study.fixed.items() if study.axis(name) is None}
    idle = idle_in_job(study.legs, words)
    return [
        f"{axis.name} is swept and has no effect: "
        + ("every leg sets it." if all(axis.name in leg for leg in study.legs) else "no leg uses it.")
        for axis in study.axes
        if axis.name in idle
    ]


def _basin_given(study: Study) -> bool:
    radius = study.fixed.get("basin_radius", 0.0)
    return not (isinstance(radius, float) and math.isnan(radius))


def _idle_limits(study: Study) -> list[str]:
    """Limits that can never bind."""
    found = []
    if study.limits.clearance_to_edge is not None and study.basin is None:
        found.append("The limit clearance_to_edge has no effect: the study has no [basin].")
    if study.limits.room_to_edge is not None and not _basin_given(study):
        found.append("The limit room_to_edge has no effect: environment.basin_radius is not given.")
    return found
