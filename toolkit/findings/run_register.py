"""The register of a run set: what was run, with what, and what came of it, for whoever audits it (floor 5)."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.findings.conditions import legs_of, legs_text
from toolkit.findings.display import display_text, long_name
from toolkit.findings.limits import limit_words, limits_of
from toolkit.findings.reading import axis_values, parse_json
from toolkit.findings.shares import share_of_runs
from toolkit.findings.table import Cell, Table, notes_on
from toolkit.quantities import INPUTS

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["run_register"]

_MOST_VALUES = 12
_ALSO = {".png": "also as SVG", ".md": "also as CSV"}
_IDENTITY = (
    ("title", "title"), ("study_hash", "study"), ("seed", "seed"), ("toolkit_version", "version"),
    ("commit", "commit"), ("model_hash", "model"), ("step_rule", "step rule"), ("created", "created"),
    ("package_versions", "packages"), ("python", "Python"), ("machine", "machine"),
)  # fmt: skip
Row = tuple[Cell, ...]


def run_register(dataset: xr.Dataset, judged: xr.Dataset, *, made: Sequence[str] = ()) -> Table:
    """Register of a run set: identity, cases, outcomes, swept and fixed inputs, limits, files.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results, or a part of them.
    judged : xarray.Dataset
        Their judgement, from :func:`toolkit.findings.limits.apply_limits`.
    made : sequence of str
        Names of the figures and tables that were made of them.

    Returns
    -------
    Table
        Columns ``group``, ``item``, ``value`` and ``note``, all in words and
        users' units but for counts; inputs by their names in a study file. Of
        fixed inputs those off their default alone, with that default.
    """
    rows: list[Row] = [
        *_identity(dataset),
        *_counts(dataset, judged),
        *_swept(dataset),
        *_fixed(dataset),
        *_place(dataset),
        *_limits(judged),
        *(("file", name, "", _ALSO.get(Path(name).suffix, "")) for name in made),
    ]
    return Table(
        title="Run register",
        header=("group", "item", "value", "note"),
        rows=tuple(rows),
        notes=notes_on(
            judged,
            "One row a fact. Inputs that stand nowhere here are at their default (`towage check --keys`) "
            "or derived from others. Every case with its number and inputs: `towage export RESULTS --csv FILE`.",
        ),
    )


def _identity(dataset: xr.Dataset) -> list[Row]:
    rows: list[Row] = []
    for key, words in _IDENTITY:
        value = dataset.attrs.get(key)
        if key == "package_versions":
            value = ", ".join(f"{name} {found}" for name, found in parse_json(dataset.attrs, key).items())
        rows.append(("identity", words, str(value) if value not in (None, "") else "not recorded", ""))
    return rows


def _counts(dataset: xr.Dataset, judged: xr.Dataset) -> list[Row]:
    """Cases, and how they ended with shares of those run."""
    counts = share_of_runs(judged).compute()
    runs, blocks = int(counts["run_count"]), dataset.attrs.get("blocks")
    study = parse_json(dataset.attrs, "study")
    design = study.get("design") or {}
    rows: list[Row] = []
    if design:
        axes = [len(axis.get("values", ())) for axis in study.get("axes", ())]
        size = int(design.get("samples") or math.prod(axes))
        done = f"; {dataset.attrs['blocks_done']} of {blocks} blocks done" if blocks is not None else ""
        rows.append(("cases", "in the study", size, f"{str(design['kind']).replace('_', ' ')}{done}"))
    rows += [("cases", "in this register", int(counts["case_count"]), ""), ("cases", "of these run", runs, "")]
    for name in map(str, counts["ended"].values):
        number = int(counts["outcome_count"].sel(ended=name))
        if number:
            rows.append(("outcome", name.replace("_", " "), number, _share(number, runs, left=name == "not_run")))
    passing = int(counts["passing_count"])
    return [*rows, ("outcome", "completed and keeps every limit", passing, _share(passing, runs))]


def _share(number: int, runs: int, *, left: bool = False) -> str:
    return "left out of the shares" if left or not runs else f"{100.0 * number / runs:.1f} % of the cases run"


def _swept(dataset: xr.Dataset) -> list[Row]:
    """Inputs with several values, or drawn, and those values."""
    rows: list[Row] = []
    for name in INPUTS:
        if name not in dataset.coords or not dataset[name].ndim:
            continue
        values = list(dict.fromkeys(axis_values(dataset, name)))
        words = [display_text(name, value) for value in (values if _worded(values) else sorted(values))]
        few = len(words) <= _MOST_VALUES or _worded(values)
        text = ", ".join(words) if few else f"{words[0]} to {words[-1]}"
        drawn = " drawn" if dataset[name].dims == ("case",) else ""
        rows.append(("swept", name, text, f"{long_name(name)}: {len(words)} value{'s' * (len(words) != 1)}{drawn}"))
    return rows


def _worded(values: Sequence[Any]) -> bool:
    return bool(values) and isinstance(values[0], str)


def _fixed(dataset: xr.Dataset) -> list[Row]:
    """Inputs with one value that is not their default, with that default."""
    rows: list[Row] = []
    for name, quantity in INPUTS.items():
        if name not in dataset.coords or dataset[name].ndim:
            continue
        value, default = dataset[name].values.item(), quantity.default
        if isinstance(value, str):
            same, missing = value == default, False
        else:
            missing = math.isnan(value)
            same = bool(np.isclose(value, float(default), rtol=1e-12, atol=0.0))
        if not same and not missing:
            derived = not isinstance(default, str) and math.isnan(float(default))
            told = "derived" if derived else display_text(name, default)
            rows.append(("fixed, off default", name, display_text(name, value), f"{long_name(name)}: default {told}"))
    return rows


def _limits(judged: xr.Dataset) -> list[Row]:
    """Limits that were applied."""
    limits = limits_of(judged).items()
    return [("limit", n, limit_words(n, v).removeprefix(long_name(n)).strip(), long_name(n)) for n, v in limits]


def _place(dataset: xr.Dataset) -> list[Row]:
    """Legs of a job, and the corners of basin, shoals and berth."""
    rows: list[Row] = [("legs", "in order", legs_text(dataset), "")] if legs_of(dataset) else []
    basin = parse_json(dataset.attrs, "study").get("basin") or {}
    note = "north and east of the basin's centre [m]"
    rows.extend(("basin", name, json.dumps(corners), note) for name, corners in basin.items() if corners)
    return rows
