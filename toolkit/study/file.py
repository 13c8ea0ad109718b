"""Reading a study file, with every problem of it named at once."""

from __future__ import annotations

import dataclasses
import math
import os
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from toolkit.errors import Problem, StudyError
from toolkit.quantities import INPUTS, OUTCOMES
from toolkit.quantities.units import format_value, parse
from toolkit.study.axes import read_axis
from toolkit.study.basin import read_basin
from toolkit.study.legs import read_legs
from toolkit.study.limits import AT_LEAST, Limits
from toolkit.study.study import Axis, Design, RunOptions, Study, tidy

__all__ = ["SECTIONS", "load_study", "parse_study"]

SECTIONS: tuple[str, ...] = tuple(dict.fromkeys(quantity.section for quantity in INPUTS.values()))
"""Tables that hold inputs, in the order of the register."""

MOST_CASES = 10**8
LARGEST_FILE = 2**20


def load_study(path: str | os.PathLike[str]) -> Study:
    """Read a study file.

    Parameters
    ----------
    path : path-like
        A TOML file; see `towage check --keys` for what it may hold.

    Returns
    -------
    Study
        As for :func:`parse_study`, errors likewise.
    """
    if not isinstance(path, str | os.PathLike):
        raise _unreadable("study", f"{path!r} is not the path of a study file", "Name a .toml file")
    file = Path(path)
    try:
        if file.is_file() and file.stat().st_size > LARGEST_FILE:
            raise _unreadable(file.name, "is larger than 1 MiB and cannot be a study file")
        text = file.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise _unreadable(str(path), "does not exist", "Check the path") from None
    except IsADirectoryError:
        raise _unreadable(str(path), "is a folder and not a study file", "Name a .toml file") from None
    except UnicodeDecodeError:
        raise _unreadable(file.name, "is not text in UTF-8", "Save it as UTF-8") from None
    except (OSError, ValueError) as error:
        raise _unreadable(str(path), f"cannot be read ({error})") from None
    return parse_study(text, name=file.name)


def _unreadable(where: str, what: str, remedy: str = "") -> StudyError:
    return StudyError([Problem(where=where, what=what, remedy=remedy)])


def parse_study(text: str, *, name: str = "study.toml") -> Study:
    """Read the text of a study file.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        File name for messages and for the title if the text has none.

    Returns
    -------
    Study
        Checked and complete.

    Raises
    ------
    StudyError
        With every problem found.
    """
    from toolkit.study.checks import study_problems
    from toolkit.study.tables import DesignTable, RunTable, TopKeys, nearest, validated

    try:
        content = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        said = str(error) or "it is nested too deeply"
        raise _unreadable(name, f"is not valid TOML: {said}", "Put text with units in quotes: key = '12 kn'") from None

    problems: list[Problem] = []
    notes: list[str] = []
    legs = read_legs(content.pop("leg"), name, problems, notes) if "leg" in content else ()
    top = {key: value for key, value in content.items() if not isinstance(value, Mapping)}
    tables = {key: value for key, value in content.items() if isinstance(value, Mapping)}
    for key in [key for key in top if key in INPUTS]:
        problems.append(
            Problem(where=f"{name}: {key}", what=f"{key} stands outside a table",
                    remedy=f"Put it under [{INPUTS[key].section}]")
        )  # fmt: skip
        top.pop(key)
    known = (*SECTIONS, "limits", "design", "run", "basin", "leg")
    for key in [*(key for key in top if key in known), *(key for key in tables if key not in known)]:
        what = f"{key} is not a table" if key in top else f"[{key}] is not a table of a study file"
        remedy = f"Write [{key}] on a line of its own" if key in top else nearest(key, known)
        problems.append(Problem(where=f"{name}: {key}", what=what, remedy=remedy))
        top.pop(key, None)

    heads = validated(TopKeys, top, where=f"{name}: ", problems=problems)
    design = validated(DesignTable, tables.get("design", {}), where=f"{name}: design.", problems=problems)
    run = validated(RunTable, tables.get("run", {}), where=f"{name}: run.", problems=problems)
    if design.kind != "grid" and design.samples is None:
        problems.append(
            Problem(where=f"{name}: design.samples", what=f"samples is missing for kind = '{design.kind}'",
                    remedy="Write the number of cases, such as samples = 1024")
        )  # fmt: skip
    if design.kind == tables.get("design", {}).get("kind", "grid") == "grid" and design.samples is not None:
        problems.append(
            Problem(where=f"{name}: design.samples", what=f"samples = {design.samples} has no meaning on a grid",
                    remedy="Take it out, or write kind = 'sobol'")
        )  # fmt: skip

    axes, fixed = _read_inputs(tables, design.kind, name, problems, notes)
    limits = _read_limits(tables.get("limits", {}), name, problems)
    basin = read_basin(tables["basin"], name, problems) if "basin" in tables else None
    study = Study(
        title=heads.title or Path(name).stem,
        source=name,
        axes=axes,
        fixed=fixed,
        design=Design(kind=design.kind, samples=design.samples if design.kind != "grid" else None),
        seed=heads.seed,
        limits=limits,
        run=RunOptions(cases_per_chunk=run.cases_per_chunk),
        legs=legs,
        basin=basin,
        notes=tuple(notes),
    )
    if not study.design.is_grid and not axes:
        problems.append(
            Problem(where=f"{name}: design.kind", what=f"kind = '{design.kind}' has nothing to sample",
                    remedy="Give a factor as { from = ..., to = ... }")
        )  # fmt: skip
    if study.size > MOST_CASES:
        sizes = " x ".join(str(length) for length in study.shape)
        problems.append(
            Problem(where=name, what=f"{sizes} = {study.size} cases are more than {MOST_CASES}",
                    remedy="Take fewer values, or samples with [design] kind = 'sobol'")
        )  # fmt: skip
    elif not problems:
        problems.extend(study_problems(study))
    if problems:
        raise StudyError(problems)
    return study


def _read_inputs(
    tables: Mapping[str, Any], kind: str, name: str, problems: list[Problem], notes: list[str]
) -> tuple[tuple[Axis, ...], dict[str, float | str]]:
    """Swept inputs and the fixed values of all others."""
    from toolkit.study.tables import nearest

    axes: dict[str, Axis] = {}
    fixed: dict[str, float | str] = {}
    for section in SECTIONS:
        members = [quantity.name for quantity in INPUTS.values() if quantity.section == section]
        for key, value in tables.get(section, {}).items():
            where = f"{name}: {section}.{key}"
            if key not in members:
                if key in INPUTS:
                    remedy = f"It belongs under [{INPUTS[key].section}]"
                elif key in OUTCOMES:
                    remedy = "It is an outcome; a limit on it belongs under [limits]"
                else:
                    remedy = nearest(key, members)
                problems.append(Problem(where=where, what=f"{key} is not a key of [{section}]", remedy=remedy))
                continue
            try:
                if isinstance(value, list | Mapping):
                    axes[key] = read_axis(INPUTS[key], value, sampled=kind != "grid", where=where, notes=notes)
                else:
                    parsed = parse(INPUTS[key], value, where=where)
                    fixed[key] = parsed if isinstance(parsed, str) else tidy(parsed)
            except StudyError as error:
                problems.extend(error.problems)
    for quantity in INPUTS.values():
        if quantity.name not in axes and quantity.name not in fixed:
            default = quantity.default
            fixed[quantity.name] = default if isinstance(default, str) or math.isnan(default) else tidy(default)
    return (
        tuple(axes[name] for name in INPUTS if name in axes),
        {name: fixed[name] for name in INPUTS if name in fixed},
    )


def _read_limits(table: Mapping[str, Any], name: str, problems: list[Problem]) -> Limits:
    from toolkit.study.tables import nearest

    known = [item.name for item in dataclasses.fields(Limits)]
    given: dict[str, float | None] = {}
    for key, value in table.items():
        where = f"{name}: limits.{key}"
        if key not in known:
            problems.append(Problem(where=where, what=f"{key} is not a limit", remedy=nearest(key, known)))
            continue
        if value == "off":
            given[key] = None
            continue
        try:
            limit = tidy(float(parse(OUTCOMES[key], value, where=where)))
        except StudyError as error:
            problems.extend(error.problems)
            continue
        if limit < 0.0 or (limit == 0.0 and key not in AT_LEAST):
            problems.append(
                Problem(where=where, what=f"{key} = {format_value(OUTCOMES[key], limit)} is not above zero",
                        why="no case could pass", remedy="Write a larger value, or 'off' for no limit")
            )  # fmt: skip
        given[key] = limit
    return Limits(**given)
