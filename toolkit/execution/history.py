"""The time history of one case, run again."""

from __future__ import annotations

import json
import math
import warnings
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.execution.attributes import flag_attributes, quantity_attributes
from toolkit.execution.distinct import Columns
from toolkit.execution.in_hand import case_in_hand, checked, locate_in_study, one_of, refused
from toolkit.execution.integrity import study_content
from toolkit.execution.provenance import provenance
from toolkit.quantities import INPUTS, Outcome
from toolkit.quantities.channels import CHANNELS

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.study import Study

__all__ = ["history", "one_case", "study_of"]


def history(source: Study | xr.Dataset, /, *, case: int | None = None, **selection: object) -> xr.Dataset:
    """Run one case again and keep its time history.

    Parameters
    ----------
    source : Study or xarray.Dataset
        A study, or results of one, or a table of cases as `evaluate` returns.
    case : int, optional
        Number of the case, in C order over the dimensions of the study; of a
        dataset in C order over its own dimensions, so that in a part of the
        results it counts what is in hand.
    **selection
        Instead of `case`: a value for each swept input, exactly as in the
        study. Numbers are in the units of datasets (SI, degrees); texts carry
        a unit (``wind_speed="12 kn"``, ``wind_from="from 240 deg"``). What has
        one value only in the dataset need not be named.

    Returns
    -------
    xarray.Dataset
        Channels along ``time`` (see `toolkit.quantities.channels.CHANNELS`),
        ``phase`` with flag meanings; the case's inputs as scalar coordinates;
        facts of the case and its outcomes as attributes, in the units of
        datasets, ``outcome`` as a word; as attribute ``case`` its number in
        the whole study, or in the table that `evaluate` returned; the limits of
        the study as the attribute ``limits`` (JSON), where the source has any.

    Raises
    ------
    StudyError
        If the selection does not name one case of the source; the nearest value
        is named.
    StoreError
        If the attribute ``study`` of a dataset cannot be read.

    Warns
    -----
    UserWarning
        If the results were made with another model than the one at hand.
    """
    from toolkit.motion.engine import model_hash, step_rule
    from toolkit.motion.history import case_history
    from toolkit.motion.phases import Phase
    from toolkit.motion.setting import NO_SETTING
    from toolkit.study import Study

    columns, title, case_number = one_case(source, case, selection)
    made_with = getattr(source, "attrs", {}).get("model_hash", "")
    if made_with and made_with != model_hash():
        warnings.warn(
            f"the results were made with model {made_with}, and this history with model {model_hash()}: "
            "they may differ. Run the study again to compare the two.",
            UserWarning,
            stacklevel=2,
        )
    study = source if isinstance(source, Study) else study_of(source)
    channels, facts = case_history(columns, NO_SETTING if study is None else study.setting)
    return _dataset(
        columns,
        channels,
        facts,
        {
            **provenance(title=title, model_hash=model_hash(), step_rule=step_rule()),
            "schema": "towage-envelope history",
            "case": case_number,
            **_limits_of(source),
            **_basin_of(study),
            **_legs_of(study),
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


def one_case(source: Any, case: int | None, selection: Mapping[str, object]) -> tuple[Columns, str, int]:
    """Columns of the one case that is asked for, a title, and its number.

    Parameters
    ----------
    source : Study, xarray.Dataset
        As for :func:`history`.
    case : int or None
        Its number, or
    selection : mapping
        values of the swept inputs.

    Raises
    ------
    StudyError
        If neither or both name a case, or there is none such.
    """
    from toolkit.study import Study

    if case is not None and selection:
        raise refused("a case number and values are both given", "Give the one or the other")
    if isinstance(source, Study):
        number = locate_in_study(source, selection) if case is None else checked(case, source.size)
        return source.columns(np.array([number])), source.title, number
    study = study_of(source)
    if study is None:
        return _from_table(source, case, selection)
    number = case_in_hand(study, source, case, selection)
    return study.columns(np.array([number])), study.title, number


def study_of(source: Any) -> Study | None:
    """Study behind a dataset of results; None for a table of cases.

    Raises
    ------
    StudyError
        If it is no such dataset.
    """
    from toolkit.study import study_from_canonical

    attributes = getattr(source, "attrs", None)
    if attributes is None or "outcome" not in getattr(source, "variables", ()):
        raise refused(f"a {type(source).__name__} is not a study or results", "Give a study or a dataset of results")
    if "study" not in attributes:
        return None
    title = str(attributes.get("title", ""))
    return study_from_canonical(study_content(title or "results", attributes), title=title)


def _basin_of(study: Study | None) -> dict[str, str]:
    """Attributes with the corners of the basin's edge, of shoals and of a berth, north and east [m], as JSON."""
    if study is None or study.basin is None:
        return {}
    content = study.basin.canonical()
    names = {"edge": "basin_edge", "shoals": "basin_shoals", "berth": "berth_line"}
    return {name: json.dumps(content[key]) for key, name in names.items() if content.get(key)}


def _legs_of(study: Study | None) -> dict[str, str]:
    """Attribute with what each leg of a job changes of the inputs, in dataset units, as JSON."""
    return {} if study is None or not study.legs else {"legs": json.dumps(study.canonical()["legs"], sort_keys=True)}


def _limits_of(source: Any) -> dict[str, str]:
    """Attribute ``limits`` for the history of a case: those of the study, or of its results as they are now."""
    from toolkit.study import Study

    if isinstance(source, Study):
        return {"limits": json.dumps(source.limits.in_force(), sort_keys=True)}
    return {"limits": str(source.attrs["limits"])} if "limits" in source.attrs else {}


def _from_table(table: Any, case: int | None, selection: Mapping[str, object]) -> tuple[Columns, str, int]:
    size = int(table["outcome"].size)
    if selection or (case is None and size != 1):
        raise refused("a table of cases is not a grid", f"Name the case by its number, case=0 to {size - 1}")
    row = one_of(table, checked(0 if case is None else case, size))
    columns: Columns = {}
    for name, quantity in INPUTS.items():
        if name not in row.variables and not quantity.derived_unless_given:
            raise refused(f"the table has no {name}", "Give it as `evaluate` returned it")
        value = row[name].values.item() if name in row.variables else quantity.default
        code = quantity.choices.index(str(value)) if quantity.is_choice else float(value)
        columns[name] = np.array([code])
    number = int(row["case"].item()) if "case" in row.coords else 0
    return columns, str(table.attrs.get("title", "")), number
