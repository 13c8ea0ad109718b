"""What limits of a study are searched for, and the searches of one combination of its choices (floor 6)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.figures.folder import Folder
from toolkit.figures.view import caption
from toolkit.findings.base_case import BaseCase
from toolkit.findings.display import display_text, long_name
from toolkit.findings.go_card import CAUTION_FACTOR, FORECAST_FACTOR, check_factors
from toolkit.findings.limit_search import Evaluate, LimitSearch, find_limit
from toolkit.findings.margins import check_factor
from toolkit.findings.proportions import DRAWS
from toolkit.quantities import INPUTS, silent_inputs

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.study import Study

__all__ = ["BY_CHANCE", "Job", "LimitOptions", "drawn_by_chance"]

KNOT = 1852.0 / 3600.0

BY_CHANCE = ("gust_intensity", "crew_scatter")
"""Inputs that let draws differ."""


@dataclass(frozen=True, kw_only=True)
class LimitOptions:
    """What is searched, and how finely.

    Attributes
    ----------
    at : mapping
        Values of inputs, as :func:`toolkit.findings.base_case.base_case` takes them.
    top : float
        Largest wind searched [m/s].
    step, resolution : float
        Largest step of the scan, and width to which limits are halved [m/s].
    directions : int
        Directions of the wind, even round the compass, of the limit by
        direction; of curves that hold from every direction a half of them.
    currents : tuple of float
        Speeds of the current [m/s].
    depth_ratios : tuple of float
        Water depth over draught; empty for the depth of the study alone.
    draws : int
        Draws of gusts and crew that every limit rests on; 0 for one alone.
    share : float
        Share of draws that must pass.
    forecast_factor, caution_factor : float
        As for :func:`toolkit.findings.go_card.operational_limit`.
    """

    at: Mapping[str, str | float] = field(default_factory=dict)
    top: float = 30.0 * KNOT
    step: float = 2.5 * KNOT
    resolution: float = 0.25 * KNOT
    directions: int = 24
    currents: tuple[float, ...] = tuple(k * KNOT for k in (0.0, 0.25, 0.5, 0.75, 1.0))
    depth_ratios: tuple[float, ...] = (1.2, 1.5, 2.5)
    draws: int = 0
    share: float = 0.9
    forecast_factor: float = FORECAST_FACTOR
    caution_factor: float = CAUTION_FACTOR

    def check(self) -> None:
        """Refuse what cannot be searched, with every problem."""
        problems = [
            *check_factor("top", self.top, 0.1, INPUTS["wind_speed"].high, "no harbour towage above it"),
            *check_factor("step", self.step, 0.01, max(self.top, 0.01), "the scan has to see where it passes again"),
            *check_factor("resolution", self.resolution, 1e-3, max(self.step, 1e-3), "it is finer than a step"),
            *check_factor("directions", self.directions, 1, 360, "they go round the compass"),
            *check_factor("draws", self.draws, 0, 100_000, "they are cases by chance"),
            *check_factor("share", self.share, 1e-6, 1.0, "it is a share of draws"),
            *check_factors(self.forecast_factor, self.caution_factor),
        ]
        for name, values, low, high in (
            ("currents", self.currents, 0.0, INPUTS["current_speed"].high),
            ("depth ratios", self.depth_ratios, 1.01, 100.0),
        ):
            problems += [p for v in values for p in check_factor(name, v, low, high, "the model holds within it")]
        if self.draws and DRAWS not in INPUTS:
            problems.append(Problem(where="draws", what="this model draws nothing by chance"))
        if problems:
            raise StudyError(problems)


def drawn_by_chance(inputs: Mapping[str, Any]) -> bool:
    """Whether draws of gusts and crew differ at all."""
    return any(float(inputs.get(name, 0.0)) > 0.0 for name in BY_CHANCE)


@dataclass(kw_only=True)
class Job:
    """One combination of choices, and where its pages go.

    Attributes
    ----------
    study : Study
    out : Folder
    evaluate : callable
        Table of cases to dataset.
    options : LimitOptions
    base : BaseCase
    number : int
        Which of its sets.
    say : callable
        Called with a line for every search.
    files : dict
        Datasets found so far, by the name of their search.
    """

    study: Study
    out: Folder
    evaluate: Evaluate
    options: LimitOptions
    base: BaseCase
    number: int
    say: Callable[[str], object]
    files: dict[str, xr.Dataset] = field(default_factory=dict)

    @property
    def inputs(self) -> dict[str, Any]:
        """Inputs of the base case in this combination, without the wind that is searched."""
        values = {**self.base.inputs, **self.base.sets[self.number]}
        values.pop("wind_speed", None)
        return values

    def named(self, name: str) -> str:
        """Name of a file of this combination."""
        return "_".join([name, *self.base.sets[self.number].values()])

    @property
    def words(self) -> str:
        """Words for this combination, the manoeuvre first."""
        swept = self.base.sets[self.number]
        chosen = [n for n in self.options.at if INPUTS[n].is_choice and n != "manoeuvre"]
        told = [n for n in ("manoeuvre", *chosen) if n not in swept]
        return ", ".join(
            [*(display_text(n, self.inputs[n]) for n in told), *filter(None, [self.base.words(self.number)])]
        )

    def titled(self, words: str) -> str:
        """Title of a page of this combination."""
        own = self.words
        return f"{words[:1].upper()}{words[1:]}{f': {own}' if own else ''}"

    def search(self, name: str, axes: Mapping[str, Any], **wanted: Any) -> LimitSearch:
        """Search the wind limit along some axes, and keep what was found."""
        options = self.options
        limits = self.study.limits.in_force()
        steps = max(1, int(np.ceil(options.top / options.step - 1e-9)))
        self.say(f"  {self.titled(name.replace('_', ' '))}")
        cases = {**self.inputs, **axes}
        if options.draws:
            cases[DRAWS] = list(range(1, options.draws + 1))
            wanted |= {"draws": DRAWS, "share": options.share}
        search = find_limit(
            self.evaluate, cases, "wind_speed", 0.0, options.top, limits, steps=steps, resolution=options.resolution,
            **wanted,
        )  # fmt: skip
        told = {"title": self.study.title, "study_hash": self.study.hash()}
        for one in (search.found, search.judged, search.dataset):
            one.attrs.update(told)
        self.files[self.named(name)] = search.found
        return search

    def caption(self, search: LimitSearch, lead: str, leave: tuple[str, ...] = ()) -> tuple[str, ...]:
        """Caption of a figure that rests on a search."""
        fine, step = (display_text("wind_speed", search.found.attrs[n]) for n in ("resolution", "scan_step"))
        how = f"Searched to {fine} after a scan in steps of {step}; what passes again between two steps is not seen."
        lines = (lead, how, *self.chance())
        return caption(search.dataset.drop_vars(list(leave)), search.judged, lead=lines, notes=self.notes(leave))

    def chance(self) -> tuple[str, ...]:
        """What the limits rest on of what is drawn by chance."""
        if self.options.draws:
            return (
                f"A value passes where at least {100.0 * self.options.share:.4g} % of {self.options.draws} draws do.",
            )
        return ("Gusts and crew are of one draw alone.",) if drawn_by_chance(self.inputs) else ()

    def notes(self, leave: tuple[str, ...]) -> tuple[str, ...]:
        """Which values of swept inputs were taken, without those shown."""
        unused = silent_inputs(str(self.inputs["manoeuvre"]), self.inputs)
        shown = {long_name(n) for n in ("wind_speed", *leave, *unused)}
        return tuple(n for n in self.base.notes if not any(n.startswith(f"{s} ") for s in shown))
