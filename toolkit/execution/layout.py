"""What a dataset of a study's cases holds beside its outcomes: dimensions, coordinates, attributes."""

from __future__ import annotations

import json
import math
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from toolkit.execution.attributes import SCHEMA, SCHEMA_VERSION
from toolkit.execution.distinct import Evaluator
from toolkit.execution.provenance import provenance
from toolkit.quantities import INPUTS
from toolkit.study.unused import maybe_unused

if TYPE_CHECKING:
    from toolkit.motion.setting import Setting
    from toolkit.study import Study

__all__ = [
    "Model",
    "axes_to_fill_first",
    "axis_columns",
    "current_model",
    "default_store",
    "fixed_inputs",
    "global_attributes",
    "limits_text",
]


class Model(NamedTuple):
    """The engine as a run needs it: what it computes, and what identifies it."""

    evaluate: Evaluator
    hash: str
    step_rule: str

    def within(self, setting: Setting) -> Evaluator:
        """The engine within a basin and with the legs of a job; itself where there are none."""
        if not len(setting.edges) and not setting.legs:
            return self.evaluate
        engine: Any = self.evaluate  # of the toolkit's own, which takes a setting; others have none
        return partial(engine, setting=setting)


def current_model() -> Model:
    """Return the toolkit's own engine."""
    from toolkit.motion.engine import evaluate_columns, model_hash, step_rule

    return Model(evaluate_columns, model_hash(), step_rule())


def default_store(study: Study) -> Path:
    """Store of a study that names none: ``results/<name of the study file>.zarr``."""
    return Path("results") / f"{Path(study.source).stem or 'study'}.zarr"


def axis_columns(study: Study, cases: slice) -> dict[str, tuple[tuple[str, ...], NDArray[Any]]]:
    """Swept inputs with their dimensions and values.

    Parameters
    ----------
    study : Study
    cases : slice
        Cases of a sampled design that are wanted; a grid gives all of its levels.

    Returns
    -------
    dict
        Name to (dimensions, values): along itself on a grid, along ``case``
        in a sampled design. Numbers in dataset units, choices as words.
    """
    if study.design.is_grid:
        return {name: ((name,), np.asarray(values)) for name, values in study.axis_coordinates().items()}
    start, stop, _ = cases.indices(study.size)
    numbers = np.arange(start, stop, dtype=np.int64)
    found = {name: (("case",), np.asarray(values)) for name, values in study.axis_coordinates(numbers).items()}
    return {**found, "case": (("case",), numbers)}


ALWAYS = ("swing_rate_limit",)
"""Inputs that are told even where they are derived, as missing: `swing_rate_limit_in_force` says what came of them."""


def fixed_inputs(study: Study) -> dict[str, float | str]:
    """Inputs that have one given value, in dataset units; those that are derived are left out, but for `ALWAYS`."""
    swept = {axis.name for axis in study.axes}
    return {
        name: value
        for name, value in study.fixed.items()
        if name in INPUTS
        and name not in swept
        and not (isinstance(value, float) and math.isnan(value) and name not in ALWAYS)
    }


def axes_to_fill_first(study: Study) -> tuple[int, ...]:
    """Dimensions along which cases may be identical, so that one block should hold all of them."""
    unused = maybe_unused(study)
    return tuple(number for number, name in enumerate(study.dims) if name in unused)


def global_attributes(study: Study, model: Model) -> dict[str, Any]:
    """Global attributes of the dataset of a study: texts and whole numbers only."""
    return {
        **provenance(title=study.title, model_hash=model.hash, step_rule=model.step_rule),
        "schema": SCHEMA,
        "schema_version": SCHEMA_VERSION,
        "study_hash": study.hash(),
        "study": json.dumps(study.canonical(), sort_keys=True, ensure_ascii=False),
        "limits": limits_text(study),
        "seed": int(study.seed),
    }


def limits_text(study: Study) -> str:
    """Attribute ``limits`` of a study's results: JSON of the limits in force."""
    return json.dumps(study.limits.in_force(), sort_keys=True)
