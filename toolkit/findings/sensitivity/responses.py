"""Numbers to be explained: outcomes in which failed cases count, and whether cases complete and pass (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.censoring import end_counts, filled
from toolkit.findings.conditions import facts_of_results
from toolkit.findings.display import axis_label, long_name
from toolkit.findings.limits import apply_limits, limits_of, limits_text
from toolkit.findings.reading import outcome_of
from toolkit.quantities import Outcome
from toolkit.quantities.manoeuvres import WHOLE_NUMBERS, Facts

if TYPE_CHECKING:
    import xarray as xr

__all__ = [
    "COMPLETED", "DEFAULT_RESPONSES", "PASSES", "check_responses", "default_responses", "response_label", "responses",
]  # fmt: skip

COMPLETED, PASSES = "completed", "passes"
"""Responses that are 1 or 0: the case completed; it completed and keeps every limit."""

DEFAULT_RESPONSES = (
    "time_to_steady", COMPLETED, PASSES, "peak_heel_fraction", "swept_radius_all", "drift_distance", "peak_tension",
    "peak_contact_force",
)  # fmt: skip
"""Responses of a swing looked at unless others are asked for, as far as they apply."""

_WORDS = {COMPLETED: "completed or not (1, 0)", PASSES: "passes all limits or not (1, 0)"}


def response_label(name: str) -> str:
    """Words for a response, with its unit."""
    return _WORDS.get(name, axis_label(name))


def default_responses(results: xr.Dataset) -> tuple[str, ...]:
    """Responses looked at unless others are asked for: the time of the job, completed, passes, and what is drawn."""
    facts = facts_of_results(results)
    if isinstance(facts, Facts) and facts.swings:
        return DEFAULT_RESPONSES
    wanted = (facts.time, COMPLETED, PASSES, *facts.figures, *DEFAULT_RESPONSES[3:])
    return tuple(name for name in dict.fromkeys(wanted) if name not in WHOLE_NUMBERS)


def check_responses(names: Iterable[str] | None) -> None:
    """Refuse an empty list of responses, before anything is run.

    Raises
    ------
    StudyError
    """
    if names is not None and not tuple(names):
        raise StudyError([Problem(where="responses", what="no outcome is named", remedy="Name one, or leave it out")])


def responses(
    results: xr.Dataset, names: Iterable[str] | None = None, limits: Mapping[str, float] | None = None
) -> xr.Dataset:
    """Take from results what is to be explained; no case is dropped.

    An analysis of the completed cases alone would be of inputs that are no
    longer independent, so it is not offered: failed cases enter with a stand-in,
    and with their own share beside.

    Parameters
    ----------
    results : xarray.Dataset
        Along ``case``, every case run.
    names : iterable of str, optional
        Outcomes, `COMPLETED` or `PASSES`; by default those of
        :func:`default_responses` that apply to all cases.
    limits : mapping, optional
        Limits for `PASSES`, by default those of the results [dataset units].

    Returns
    -------
    xarray.Dataset
        ``value`` (``quantity``, ``case``) [dataset unit of each], ``stood_in``
        (bool, the same), ``failed`` (``case``, bool). Attributes: ``left_out``
        (sentences), ``stand_ins`` (name and words, a line each), ``limits_applied``,
        counts of how cases ended.

    Raises
    ------
    StudyError
        If a case was not run, or a response that was asked for is not there or
        does not apply to all cases.
    """
    import xarray as xr

    outcome = outcome_of(results)
    holes = int((outcome == int(Outcome.not_run)).sum())
    if holes or not outcome.size:
        raise StudyError(
            [Problem(where="results", what=f"{holes} of {outcome.size} cases were not run",
                     why="the design is made for all of them", remedy="Run them all")]
        )  # fmt: skip
    in_force = limits_of(results, limits)
    problems: list[Problem] = []
    values, stood, kept, left, words = [], [], [], [], []
    for name in default_responses(results) if names is None else tuple(dict.fromkeys(names)):
        value, stand, said, why = _response(results, name, in_force)
        if why and names is None:
            left.append(f"{long_name(name)}: {why}")
            continue
        if why:
            problems.append(Problem(where=f"response {name}", what=f"{name}: {why}", remedy="Leave it out"))
            continue
        kept.append(name)
        values.append(value)
        stood.append(stand)
        words += [f"{name}: {said}"] if said else []
    if problems:
        raise StudyError(problems)
    size = outcome.size
    found = xr.Dataset(
        {
            "value": (("quantity", "case"), np.array(values).reshape(-1, size)),
            "stood_in": (("quantity", "case"), np.array(stood, dtype=bool).reshape(-1, size)),
            "failed": ("case", (outcome != int(Outcome.completed)).values),
        },
        coords={"quantity": kept},
        attrs={
            **results.attrs, "left_out": "\n".join(left), "stand_ins": "\n".join(words),
            "limits_applied": limits_text(in_force),
        },
    )  # fmt: skip
    for name, count in end_counts(results).items():
        found[f"{name}_count"] = count
    return found


def _response(results: xr.Dataset, name: str, in_force: Mapping[str, float]) -> tuple[Any, Any, str, str]:
    """Values, where they are stand-ins, what stands in, and why the response does not serve."""
    none: tuple[Any, Any, str] = (np.empty(0), np.empty(0), "")
    completed = (outcome_of(results) == int(Outcome.completed)).values
    nothing = np.zeros(completed.shape, dtype=bool)
    if name == COMPLETED:
        return completed.astype(np.float64), nothing, "", ""
    if name == PASSES:
        if not in_force:
            return *none, "no limit is set"
        passes = apply_limits(results, dict(in_force))["passes"].values
        return passes.astype(np.float64), nothing, "", ""
    if name not in results.data_vars or results[name].dtype.kind not in "fi":
        return *none, "it is no outcome of the results"
    value, stand, words = filled(results, name)
    lacking = int(value.isnull().sum())
    if lacking:
        return *none, f"it does not apply in {lacking:,} of {value.size:,} cases"
    return value.values, stand.values, words, ""
