"""The time history of one case, run again."""

from __future__ import annotations

import json
import math
import warnings
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.execution.attributes import flag_attributes, quantity_attributes
from toolkit.execution.distinct import Columns
from toolkit.execution.provenance import provenance
from toolkit.quantities import INPUTS, Outcome
from toolkit.quantities.channels import CHANNELS

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.study import Study

__all__ = ["history"]


def history(source: Study | xr.Dataset, /, *, case: int | None = None, **selection: object) -> xr.Dataset:
    """Run one case again and keep its time history.

    Parameters
    ----------
    source : Study or xarray.Dataset
        A study, or results of one, or a table of cases as `evaluate` returns.
    case : int, optional
        Number of the case, in C order over the dimensions of the study.
    **selection
        Instead of `case`: a value for each swept input, exactly as in the
        study. Numbers are in the units of datasets (SI, degrees); texts carry
        a unit (``wind_speed="12 kn"``, ``wind_from="from 240 deg"``).

    Returns
    -------
    xarray.Dataset
        Channels along ``time`` (see `toolkit.quantities.channels.CHANNELS`),
        ``phase`` with flag meanings; the case's inputs as scalar coordinates;
        facts of the case and its outcomes as attributes, in the units of
        datasets, ``outcome`` as a word; the limits of the study as the
        attribute ``limits`` (JSON), where the source has any.

    Raises
    ------
    StudyError
        If the selection does not name one case; the nearest value is named.

    Warns
    -----
    UserWarning
        If the results were made with another model than the one at hand.
    """
    from toolkit.motion.engine import model_hash, step_rule
    from toolkit.motion.history import case_history
    from toolkit.motion.phases import Phase

    columns, title, case_number = _one_case(source, case, selection)
    made_with = getattr(source, "attrs", {}).get("model_hash", "")
    if made_with and made_with != model_hash():
        warnings.warn(
            f"the results were made with model {made_with}, and this history with model {model_hash()}: "
            "they may differ. Run the study again to compare the two.",
            UserWarning,
            stacklevel=2,
        )
    channels, facts = case_history(columns)
    return _dataset(
        columns,
        channels,
        facts,
        {
            **provenance(title=title, model_hash=model_hash(), step_rule=step_rule()),
            "schema": "towage-envelope history",
            "case": case_number,
            **_limits_of(source),
        },
        Phase,
    )


def _dataset(
    columns: Columns, channels: Mapping[str, Any], facts: Mapping[str, float], attributes: dict[str, Any], phases: Any
) -> xr.Dataset:
    import xarray as xr

    variables: dict[str, Any] = {}
    for name, values in channels.items():
        found = quantity_attributes(CHANNELS[name])
        if name == "phase":
            values = np.asarray(values, dtype=np.int8)
            found |= flag_attributes(phases, values.dtype)
        variables[name] = ("time", values, found)
    coordinates: dict[str, Any] = {"time": variables.pop("time")}
    for name, quantity in INPUTS.items():
        value = columns[name][0].item()
        if quantity.is_choice:
            coordinates[name] = ((), quantity.choices[int(value)], quantity_attributes(quantity))
        elif not math.isnan(value):
            coordinates[name] = ((), float(value), quantity_attributes(quantity))
    told: dict[str, Any] = {name: float(value) for name, value in facts.items()}
    if "outcome" in facts:
        told["outcome"] = Outcome(int(facts["outcome"])).name
    if "range_flags" in facts:
        told["range_flags"] = int(facts["range_flags"])
    return xr.Dataset(variables, coords=coordinates, attrs={**attributes, **told})


def _one_case(source: Any, case: int | None, selection: Mapping[str, object]) -> tuple[Columns, str, int]:
    """Columns of the one case that is asked for, a title, and its number."""
    study = _study_of(source)
    if case is not None and selection:
        raise _refused("a case number and values are both given", "Give the one or the other")
    if study is None:
        return _from_table(source, 0 if case is None and source.sizes.get("case") == 1 else case, selection)
    if case is None:
        from toolkit.study import locate

        case = locate(study, {name: _as_text(name, value) for name, value in selection.items()})
    number = _checked(case, study.size)
    return study.columns(np.array([number])), study.title, number


def _study_of(source: Any) -> Study | None:
    """Study behind a study or a dataset of results; None for a table of cases."""
    from toolkit.study import Study, study_from_canonical

    if isinstance(source, Study):
        return source
    attributes = getattr(source, "attrs", None)
    if attributes is None or "outcome" not in getattr(source, "variables", ()):
        raise _refused(f"a {type(source).__name__} is not a study or results", "Give a study or a dataset of results")
    if "study" not in attributes:
        return None
    return study_from_canonical(json.loads(attributes["study"]), title=str(attributes.get("title", "")))


def _limits_of(source: Any) -> dict[str, str]:
    """Attribute ``limits`` for the history of a case: those of the study, or of its results as they are now."""
    from toolkit.study import Study

    if isinstance(source, Study):
        return {"limits": json.dumps(source.limits.in_force(), sort_keys=True)}
    return {"limits": str(source.attrs["limits"])} if "limits" in source.attrs else {}


def _from_table(table: Any, case: int | None, selection: Mapping[str, object]) -> tuple[Columns, str, int]:
    size = int(table.sizes.get("case", 1))
    if case is None or selection:
        raise _refused("a table of cases is not a grid", f"Name the case by its number, case=0 to {size - 1}")
    number = _checked(case, size)
    row = table.isel(case=number) if "case" in table.dims else table
    columns: Columns = {}
    for name, quantity in INPUTS.items():
        value = row[name].values.item() if name in row.coords else quantity.default
        code = quantity.choices.index(str(value)) if quantity.is_choice else float(value)
        columns[name] = np.array([code])
    return columns, str(table.attrs.get("title", "")), number


def _checked(case: object, size: int) -> int:
    if isinstance(case, bool) or not isinstance(case, int | np.integer) or not 0 <= case < size:
        raise _refused(f"case = {case} is outside [0, {size - 1}]", "Give the number of a case")
    return int(case)


def _as_text(name: str, value: object) -> object:
    """A bare number with the unit of datasets written behind it."""
    quantity = INPUTS.get(name)
    if quantity is None or isinstance(value, str | bool) or not isinstance(value, int | float | np.number):
        return value
    return f"{float(value)!r} {quantity.unit if quantity.unit != '1' else ''}".strip()


def _refused(what: str, remedy: str) -> StudyError:
    return StudyError([Problem(where="history", what=what, remedy=remedy)])
