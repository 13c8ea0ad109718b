"""What `towage check` says of a study."""

from __future__ import annotations

import math
import textwrap

from toolkit.quantities import DERIVED, INPUTS, OUTCOMES
from toolkit.quantities.units import format_value
from toolkit.quantities.wording import limit_cautions
from toolkit.study.basin import Basin
from toolkit.study.checks import study_warnings
from toolkit.study.legs import describe_leg
from toolkit.study.limits import AT_LEAST
from toolkit.study.study import Axis, Study

__all__ = ["estimated_bytes", "summary"]

BYTES_OF_CODES = 1 + 2
"""Bytes of a case's outcome code and of its range flags."""

DESIGNS = {
    "grid": "grid, every combination",
    "latin_hypercube": "Latin hypercube",
    "sobol": "scrambled Sobol' sequence",
}


def estimated_bytes(study: Study) -> int:
    """Size of the results before compression [byte]."""
    return study.size * (8 * (len(OUTCOMES) + len(DERIVED) - 2) + BYTES_OF_CODES)


def summary(
    study: Study,
    *,
    cases_per_second: float | None = None,
    simulated_per_second: float = math.nan,
    rate_holds: bool = True,
    distinct: int | None = None,
    cautions: str = "",
) -> str:
    """Text of what will run.

    Parameters
    ----------
    study : Study
        A checked study.
    cases_per_second : float, optional
        Distinct cases a second of the last long run on this machine.
    simulated_per_second : float
        Simulated seconds a second of that run.
    rate_holds : bool
        Whether that run was of the model as it is now; else no time is told.
    distinct : int, optional
        Cases that are really run; all of them unless given.
    cautions : str
        Text that goes with every decision.

    Returns
    -------
    str
        Lines without a final line break.
    """
    lines = [study.title, f"  file {study.source or 'none'}, study hash {study.hash()}"]
    lines += ["", f"Cases: {_cases(study)}", f"Design: {DESIGNS[study.design.kind]}{_seed(study)}"]
    if study.axes:
        lines += ["", "Swept:", *_table([(axis.name, _axis_text(axis)) for axis in study.axes])]
    changed = [
        (name, format_value(INPUTS[name], value, digits=6))
        for name, value in study.fixed.items()
        if not _is_default(name, value)
    ]
    lines += ["", "Fixed, and not at the default:", *(_table(changed) or ["  nothing"])]
    if study.legs:
        legs = [(str(number), describe_leg(leg)) for number, leg in enumerate(study.legs, start=1)]
        lines += ["", "Legs, each with what it changes:", *_table(legs)]
    if study.basin is not None:
        lines += ["", f"Basin: {_basin(study.basin)}"]
    limits = [
        (name, f"{'at least' if name in AT_LEAST else 'at most'} {format_value(OUTCOMES[name], value)}")
        for name, value in study.limits.in_force().items()
    ]
    lines += ["", "Limits for the findings:", *(_table(limits) or ["  none"])]
    if cautions:
        beside = limit_cautions(study.limits.in_force())
        lines += [textwrap.fill(text, 96, initial_indent="  ", subsequent_indent="  ") for text in beside]
    lines += ["", f"Results: {_size(estimated_bytes(study))} before compression"]
    lines += [f"Time: {_time(distinct or study.size, cases_per_second, simulated_per_second, rate_holds)}"]
    warnings = study_warnings(study)
    if warnings:
        lines += ["", "Warnings:", *(f"  - {warning}" for warning in warnings)]
    if cautions:
        lines += ["", textwrap.fill(f"Cautions: {cautions}", 96)]
    return "\n".join(lines)


def _basin(basin: Basin) -> str:
    parts = [f"edge of {len(basin.edge)} corners" if basin.edge else "no edge"]
    parts += [f"{len(basin.shoals)} shoal{'s' if len(basin.shoals) > 1 else ''}"] if basin.shoals else []
    parts += ["a berth, drawn only"] if basin.berth else []
    return ", ".join(parts)


def _cases(study: Study) -> str:
    if study.design.is_grid and len(study.shape) > 1:
        return f"{' x '.join(str(length) for length in study.shape)} = {study.size}"
    return str(study.size)


def _seed(study: Study) -> str:
    return "" if study.design.is_grid else f", seed {study.seed}"


def _axis_text(axis: Axis) -> str:
    if axis.kind == "range":
        return axis.text
    shown = [format_value(axis.quantity, value) for value in axis.values]
    if len(shown) > 8:
        shown = [*shown[:3], "...", shown[-1]]
    return f"{len(axis)} values: {', '.join(shown)}" + (" (log)" if axis.text.endswith(", log") else "")


def _table(rows: list[tuple[str, str]]) -> list[str]:
    width = max((len(name) for name, _ in rows), default=0)
    return [f"  {name:<{width}}  {text}" for name, text in rows]


def _is_default(name: str, value: float | str) -> bool:
    default = INPUTS[name].default
    if isinstance(value, str) or isinstance(default, str):
        return value == default
    return (math.isnan(value) and math.isnan(default)) or math.isclose(value, default, rel_tol=1e-9, abs_tol=1e-12)


def _size(count: int) -> str:
    for unit, factor in (("GB", 1e9), ("MB", 1e6), ("kB", 1e3)):
        if count >= factor:
            return f"about {count / factor:.3g} {unit}"
    return f"about {count} bytes"


def _time(cases: int, cases_per_second: float | None, simulated_per_second: float, rate_holds: bool) -> str:
    if not cases_per_second or not math.isfinite(cases_per_second) or cases_per_second <= 0.0:
        return "unknown until a first run of some length on this machine"
    if not rate_holds:
        return "unknown: the last long run on this machine was of another version of the model"
    seconds = cases / cases_per_second
    simulated = f" ({simulated_per_second:.3g} simulated seconds)" if math.isfinite(simulated_per_second) else ""
    rate = f"{float(f'{cases_per_second:.3g}'):g} cases{simulated} a second of the last long run here"
    basis = f"for {cases} distinct cases at the {rate}; longer or shorter swings take as much more or less"
    for unit, factor in (("h", 3600.0), ("min", 60.0)):
        if seconds >= 2.0 * factor:
            return f"about {seconds / factor:.3g} {unit}, {basis}"
    return f"about {max(seconds, 1.0):.2g} s, {basis}"
