"""A draft rule as somebody wrote it: displacement by wind to bollard pull, from CSV or TOML (floor 5)."""

from __future__ import annotations

import csv
import io
import os
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.display import display_text
from toolkit.findings.reading import require
from toolkit.quantities import INPUTS
from toolkit.quantities.units import parse

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["NOT_PERMITTED", "DraftRule", "load_draft_rule", "parse_draft_rule", "permitted_by"]

NOT_PERMITTED = ("not permitted", "none", "-", "")
"""What a cell may say where the rule permits no such tug."""

_KEYS = ("title", "displacement_up_to", "wind_up_to", "bollard_pull")
_LARGEST_FILE = 2**20


@dataclass(frozen=True, kw_only=True)
class DraftRule:
    """A table of bollard pulls.

    Attributes
    ----------
    title : str
        What it is called.
    displacement_up_to : tuple of float
        Upper end of each band of displacement, rising [kg]; a barge at an end
        is in the lower band, one above the last is in none.
    wind_up_to : tuple of float
        The same for the ten-minute mean wind [m/s].
    bollard_pull : tuple of tuple of float
        Smallest pull permitted, by displacement and wind [N]; infinite where
        none is.
    """

    title: str
    displacement_up_to: tuple[float, ...]
    wind_up_to: tuple[float, ...]
    bollard_pull: tuple[tuple[float, ...], ...]

    def least_pull(self, displacement: xr.DataArray, wind_speed: xr.DataArray) -> xr.DataArray:
        """Smallest pull permitted [N] for displacements [kg] and winds [m/s]; infinite outside the table."""
        import xarray as xr

        table = np.full((len(self.displacement_up_to) + 1, len(self.wind_up_to) + 1), np.inf)
        table[:-1, :-1] = self.bollard_pull

        def look_up(mass: Any, wind: Any) -> Any:
            row = np.searchsorted(_slackened(self.displacement_up_to), mass, side="left")
            column = np.searchsorted(_slackened(self.wind_up_to), wind, side="left")
            return table[row, column]

        least: xr.DataArray = xr.apply_ufunc(look_up, displacement, wind_speed)
        return least

    def lines(self) -> tuple[str, ...]:
        """The rule in words, one line a band of displacement."""
        said = []
        for mass, pulls in zip(self.displacement_up_to, self.bollard_pull, strict=True):
            cells = (
                f"wind to {display_text('wind_speed', wind)}: "
                + (display_text("bollard_pull", pull) if np.isfinite(pull) else "not permitted")
                for wind, pull in zip(self.wind_up_to, pulls, strict=True)
            )
            said.append(f"displacement to {display_text('displacement', mass)}: {'; '.join(cells)}")
        return tuple(said)


def _slackened(ends: Sequence[float]) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Ends of bands, moved up by rounding, so that a value at an end is in the lower band."""
    return np.asarray(ends) * (1.0 + 1e-9)


def permitted_by(rule: DraftRule, dataset: xr.Dataset) -> xr.DataArray:
    """Whether a rule permits the tug of each case.

    Parameters
    ----------
    rule : DraftRule
    dataset : xarray.Dataset
        With ``displacement``, ``wind_speed`` and ``bollard_pull`` as
        coordinates, swept or fixed: a grid or samples.

    Returns
    -------
    xarray.DataArray
        bool, on as many of the dataset's dimensions as the three have.
    """
    names = ("displacement", "wind_speed", "bollard_pull")
    require(dataset, names, "holding a draft rule against the cases")
    mass, wind, pull = (dataset[name].reset_coords(drop=True) for name in names)
    return pull >= rule.least_pull(mass, wind) * (1.0 - 1e-9)


def load_draft_rule(path: str | os.PathLike[str]) -> DraftRule:
    """Read a draft rule from a CSV or TOML file.

    Parameters
    ----------
    path : path-like
        ``.csv``: the first row holds a word in its first cell and the upper end
        of each band of wind (``10 kn``); every other row the upper end of a band
        of displacement (``1500 t``) and a bollard pull for each band of wind
        (``20 t``, or ``not permitted``). Lines that start with ``#`` are left
        out. ``.toml``: ``displacement_up_to``, ``wind_up_to``, ``bollard_pull``
        (rows in a list), and ``title``.

    Returns
    -------
    DraftRule

    Raises
    ------
    StudyError
        With every problem: what cannot be read, units that do not fit, ends
        that do not rise, rows of another length.
    """
    file = Path(path)
    try:
        if file.is_file() and file.stat().st_size > _LARGEST_FILE:
            raise _unreadable(file.name, "is larger than 1 MiB and cannot be a table of a rule")
        text = file.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise _unreadable(str(path), "does not exist") from None
    except (OSError, ValueError) as error:
        raise _unreadable(str(path), f"cannot be read ({error})") from None
    return parse_draft_rule(text, name=file.name)


def parse_draft_rule(text: str, *, name: str = "draft.csv") -> DraftRule:
    """Read the text of a draft rule; see :func:`load_draft_rule`.

    Parameters
    ----------
    text : str
    name : str
        File name: its ending says CSV or TOML, and messages name it.
    """
    content = _from_toml(text, name) if name.lower().endswith(".toml") else _from_csv(text, name)
    problems: list[Problem] = []
    mass = _ends(content["displacement_up_to"], "displacement", name, problems)
    wind = _ends(content["wind_up_to"], "wind_speed", name, problems)
    pulls = []
    rows = content["bollard_pull"]
    if len(rows) != len(mass):
        problems.append(Problem(where=f"{name}: bollard_pull", what=f"{len(rows)} rows for {len(mass)} displacements",
                                remedy="Give one row for each band of displacement"))  # fmt: skip
    for number, row in enumerate(rows, start=1):
        where = f"{name}: row {number}"
        if not isinstance(row, Sequence) or isinstance(row, str) or len(row) != len(wind):
            told = len(row) if isinstance(row, Sequence) and not isinstance(row, str) else "no"
            problems.append(Problem(where=where, what=f"{told} pulls for {len(wind)} bands of wind",
                                    remedy="Give one for each, or 'not permitted'"))  # fmt: skip
            continue
        pulls.append(tuple(_pull(cell, f"{where}, wind {column}", problems) for column, cell in enumerate(row, 1)))
    if problems:
        raise StudyError(problems)
    return DraftRule(
        title=str(content.get("title") or Path(name).stem),
        displacement_up_to=mass,
        wind_up_to=wind,
        bollard_pull=tuple(pulls),
    )


def _from_toml(text: str, name: str) -> Mapping[str, Any]:
    try:
        content = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise _unreadable(name, f"is not valid TOML: {error}") from None
    problems = [
        Problem(where=f"{name}: {key}", what=f"{key} is not a key of a draft rule", remedy=f"Known: {', '.join(_KEYS)}")
        for key in content
        if key not in _KEYS
    ]
    problems += [
        Problem(where=f"{name}: {key}", what=f"{key} is not a list", remedy=f"Write {key} = [...]")
        for key in _KEYS[1:]
        if not isinstance(content.get(key), list) or not content[key]
    ]
    if problems:
        raise StudyError(problems)
    return content


def _from_csv(text: str, name: str) -> Mapping[str, Any]:
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    rows = [[cell.strip() for cell in row] for row in csv.reader(io.StringIO("\n".join(lines)))]
    if len(rows) < 2 or len(rows[0]) < 2:
        raise _unreadable(
            name,
            "has no row of winds and no row of a displacement",
            "Write 'displacement up to, 10 kn, 15 kn', then '1500 t, 20 t, 30 t'",
        )
    return {
        "wind_up_to": rows[0][1:],
        "displacement_up_to": [row[0] for row in rows[1:]],
        "bollard_pull": [row[1:] for row in rows[1:]],
    }


def _unreadable(where: str, what: str, remedy: str = "") -> StudyError:
    return StudyError([Problem(where=where, what=what, remedy=remedy)])


def _ends(values: Sequence[Any], quantity: str, name: str, problems: list[Problem]) -> tuple[float, ...]:
    """Upper ends of bands, which have to rise; NaN for one that cannot be read."""
    ends = []
    for place, value in enumerate(values, start=1):
        ends.append(_number(quantity, value, f"{name}: {quantity} {place}", problems))
    for place, (lower, upper) in enumerate(pairwise(ends), start=2):
        if not upper > lower and np.isfinite([lower, upper]).all():
            words = f"{display_text(quantity, upper)} does not lie above {display_text(quantity, lower)}"
            problems.append(Problem(where=f"{name}: {quantity} {place}", what=words, remedy="Let the ends rise"))
    return tuple(ends)


def _pull(cell: Any, where: str, problems: list[Problem]) -> float:
    if isinstance(cell, str) and cell.strip().lower() in NOT_PERMITTED:
        return float("inf")
    return _number("bollard_pull", cell, where, problems)


def _number(quantity: str, value: Any, where: str, problems: list[Problem]) -> float:
    try:
        return float(parse(INPUTS[quantity], value, where=where))
    except StudyError as error:
        problems.extend(error.problems)
        return float("nan")
