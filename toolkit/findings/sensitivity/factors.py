"""What is varied in a sensitivity analysis, and the table of cases for places of the unit cube (floor 5)."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.base_case import check_single_cases
from toolkit.findings.display import display_text, long_name
from toolkit.findings.sensitivity.spreads import coefficient_axes
from toolkit.quantities import INPUTS
from toolkit.quantities.units import parse
from toolkit.study import Axis

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.study import Study

__all__ = ["Evaluate", "Factors", "check_power", "factors_of"]

Evaluate = Callable[[Mapping[str, Any]], "xr.Dataset"]
"""From a table of cases, a column or one value for each input, to results along ``case``."""


@dataclass(frozen=True, kw_only=True)
class Factors:
    """Inputs that are varied, each over its values, and the value of every other.

    Attributes
    ----------
    axes : tuple of Axis
        A range is filled evenly (in its logarithm if it says so), of listed
        values each is equally likely. All are independent.
    base : mapping of str to float or str
        Every input at the point from which things are varied, those of `axes`
        included [dataset unit].
    coefficients : frozenset of str
        Those of `axes` that are coefficients of the model.
    swept : tuple of str
        What the study sweeps, varied here or held.
    notes : tuple of str
        What was left out or held, in sentences.
    """

    axes: tuple[Axis, ...]
    base: Mapping[str, float | str]
    coefficients: frozenset[str] = frozenset()
    swept: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Names of what is varied."""
        return tuple(axis.name for axis in self.axes)

    def table(self, places: NDArray[np.float64]) -> dict[str, Any]:
        """Table of cases.

        Parameters
        ----------
        places : ndarray, shape (n, factors)
            In the unit cube.

        Returns
        -------
        dict
            A column for each factor, one value for every other input.
        """
        return {**self.base, **{axis.name: _values(axis, places[:, k]) for k, axis in enumerate(self.axes)}}

    def keep(self, names: Iterable[str], why: str) -> Factors:
        """Vary some factors only, in this order, and hold the others at the base.

        Parameters
        ----------
        names : iterable of str
        why : str
            Reason, for the notes.
        """
        wanted = list(names)
        axes = {axis.name: axis for axis in self.axes}
        held = [name for name in axes if name not in wanted]
        said = ", ".join(_said(name, self.base[name]) for name in held)
        notes = (*self.notes, f"Held {why}: {said}.") if held else self.notes
        return replace(
            self, axes=tuple(axes[name] for name in wanted), notes=notes,
            coefficients=self.coefficients & frozenset(wanted),
        )  # fmt: skip

    def without(self, name: str) -> Factors:
        """The same with one factor taken out, held at the base."""
        return replace(self, axes=tuple(axis for axis in self.axes if axis.name != name))

    def base_text(self) -> str:
        """The base case in words, as far as it is varied."""
        return ", ".join(_said(name, self.base[name]) for name in self.names)

    def held_text(self, leave_out: str = "") -> str:
        """What the study sweeps and is held here, in words."""
        held = [name for name in self.swept if name not in self.names and name != leave_out]
        return ", ".join(_said(name, self.base[name]) for name in held) or "as the study has it"


def _said(name: str, value: float | str) -> str:
    """Name and value; a bearing says from or to once."""
    text = display_text(name, value)
    word = text.split(" ")[0]
    return f"{long_name(name)} {text}".replace(f" {word} {word} ", f" {word} ")


def _values(axis: Axis, places: NDArray[np.float64]) -> NDArray[Any]:
    values = axis.at(places)
    return np.array(axis.quantity.choices)[values] if isinstance(axis.values, tuple) else values


def factors_of(
    study: Study, *, at: Mapping[str, str] | None = None, conditions: bool = True, coefficients: bool = True
) -> Factors:
    """Factors of a study: the inputs it sweeps, and the coefficients of the model over their stated spreads.

    Parameters
    ----------
    study : Study
        Its ranges are varied over their whole width, its listed values each
        with equal chance.
    at : mapping, optional
        Swept inputs to hold, each with a value as in a study file; it need not
        be one of the study's.
    conditions, coefficients : bool
        Whether to vary what the study sweeps, and the coefficients.

    Returns
    -------
    Factors
        The base is the middle of every range, the middle one of listed values
        (the lower of two) and the first of words; coefficients as the study has
        them.

    Raises
    ------
    StudyError
        For every name of `at` that the study does not sweep, and every value
        that cannot be read; if nothing is left to vary.
    """
    held: dict[str, float | str] = {}
    problems = check_single_cases(study, "sensitivities are found")
    for name, text in (at or {}).items():
        if study.axis(name) is None:
            swept = ", ".join(axis.name for axis in study.axes) or "nothing"
            problems.append(Problem(where="at", what=f"{name} is not swept", remedy=f"The study sweeps: {swept}"))
            continue
        try:
            held[name] = parse(INPUTS[name], text, where=f"at {name}")
        except StudyError as error:
            problems.extend(error.problems)
    if problems:
        raise StudyError(problems)
    swept_axes = tuple(axis for axis in study.axes if axis.name not in held and len(axis) > 1)
    spread, left_out = coefficient_axes(study, held) if coefficients else ((), ())
    axes = (*(swept_axes if conditions else ()), *spread)
    if not axes:
        raise StudyError(
            [Problem(where=study.source or "study", what="nothing is left to vary",
                     remedy="Sweep inputs, hold fewer of them, or let the coefficients vary")]
        )  # fmt: skip
    base = {**study.fixed, **{axis.name: _middle(axis) for axis in study.axes}, **held}
    if isinstance(base.get("draw_seed"), float) and math.isnan(float(base["draw_seed"])):
        base["draw_seed"] = float(study.seed)
    notes = [f"Ranges of {study.source or 'the study'}, study {study.hash()}."]
    notes += [f"Held as asked: {_said(name, value)}." for name, value in held.items()]
    notes += [f"Not spread: {', '.join(left_out)}."] if left_out else []
    return Factors(
        axes=axes, base=base, coefficients=frozenset(axis.name for axis in spread), notes=tuple(notes),
        swept=tuple(axis.name for axis in study.axes),
    )  # fmt: skip


def _middle(axis: Axis) -> float | str:
    if isinstance(axis.values, tuple):
        return axis.values[0]
    if axis.kind == "levels":
        return float(axis.values[(len(axis) - 1) // 2])
    return float(axis.at(np.array([0.5]))[0])


def check_power(samples: int, least: int = 8) -> None:
    """Refuse a number of samples that leaves a Sobol' sequence unbalanced.

    Raises
    ------
    StudyError
        Unless it is a power of two, `least` or more.
    """
    if samples < least or samples & (samples - 1):
        higher = max(least, 1 << max(samples, 1).bit_length())
        near = f"{higher // 2} or {higher}" if samples > least else f"{least} or more"
        raise StudyError(
            [Problem(where="samples", what=f"samples = {samples} is not a power of two of {least} or more",
                     why="a Sobol' sequence is balanced only at powers of two", remedy=f"Ask for {near}")]
        )  # fmt: skip
