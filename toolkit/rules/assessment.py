"""What comes of holding a vessel against a criterion: a value, a limit and a verdict with its reason."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from toolkit.rules.areas import first_intersection, second_intersection
from toolkit.rules.righting import Lever, RightingCurve
from toolkit.rules.source import Source

__all__ = ["FULL_CURVE_NEEDED", "Assessment", "Reach", "Verdict", "judged", "reach_of", "without_equilibrium"]

Sense = Literal[">=", ">", "<=", "<"]


class Verdict(StrEnum):
    """Outcome of a criterion."""

    met = "met"
    not_met = "not met"
    not_assessable = "not assessable"


FULL_CURVE_NEEDED = "not assessable without a full GZ curve"
"""Words for a criterion that hangs on the curve beyond the deck edge."""


@dataclass(frozen=True, kw_only=True)
class Assessment:
    """A criterion held against one vessel.

    Attributes
    ----------
    criterion : str
        What is asked, in words.
    value : float
        What she has, in `unit`; NaN where it cannot be said.
    limit : float
        What is asked, in `unit`.
    sense : {">=", ">", "<=", "<"}
        How value and limit must compare.
    unit : str
        Of both: m, m rad, m deg, rad or 1.
    at_least : bool
        Whether the value is a lower bound, from the part of the curve that is known.
    verdict : Verdict
        Outcome.
    note : str
        Reason for the verdict, and what was assumed.
    source : Source
        The rule.
    """

    criterion: str
    value: float
    limit: float
    sense: Sense
    unit: str
    at_least: bool = False
    verdict: Verdict
    note: str = ""
    source: Source


@dataclass(frozen=True, kw_only=True)
class Reach:
    """How far an area is taken.

    Attributes
    ----------
    start : float
        Equilibrium under the heeling lever [rad]; NaN where there is none within the curve.
    end : float
        Least of the ends that the rule names, or the end of the curve [rad].
    cut_short : bool
        Whether the curve ends before the rule does.
    lost : bool
        Whether the heeling lever is above the righting lever all the way that
        matters: she does not come to rest.
    note : str
        What was assumed.
    """

    start: float
    end: float
    cut_short: bool
    lost: bool
    note: str


def reach_of(curve: RightingCurve, heeling: Lever | None, *, most: float = math.inf) -> Reach:
    """Find how far areas are taken: to the second intersection, down-flooding or a given heel, whichever is least.

    Parameters
    ----------
    curve : RightingCurve
    heeling : callable or None
        Heeling lever [m] of heel [rad]; None where the rule names no heeling lever.
    most : float
        Further end that the rule names [rad].

    Notes
    -----
    A curve that stops at the deck edge is taken to stop before any
    down-flooding: openings are assumed to lie on or above the deck and inboard
    of its edge. Whatever lies beyond adds to the residual area of a criterion,
    so the area found is a lower bound.
    """
    start = first_intersection(curve, heeling) if heeling else 0.0
    second = second_intersection(curve, heeling) if heeling else math.nan
    ends = [end for end in (second, curve.down_flooding, most) if not math.isnan(end)]
    end = min(ends)
    note = "" if not math.isnan(curve.down_flooding) else "no down-flooding angle given: none assumed within the curve"
    cut_short = end > curve.known_to * (1.0 + 1e-9)
    vanished = curve.is_full and float(curve.lever(curve.known_to)) <= 0.0
    return Reach(
        start=start, end=min(end, curve.known_to), cut_short=cut_short,
        lost=math.isnan(start) and (vanished or not cut_short), note=note,
    )  # fmt: skip


def judged(
    criterion: str,
    value: float,
    sense: Sense,
    limit: float,
    unit: str,
    source: Source,
    *,
    at_least: bool = False,
    note: str = "",
    missing: str = FULL_CURVE_NEEDED,
) -> Assessment:
    """Compare a value with its limit.

    Parameters
    ----------
    criterion, unit, source, note
        As in `Assessment`.
    value, limit : float
        NaN as a value cannot be assessed.
    sense : {">=", ">", "<=", "<"}
        Comparison asked for.
    at_least : bool
        Whether the value is a lower bound: it can then meet a criterion that
        asks for much, and never break one.
    missing : str
        Words where the verdict is that nothing can be said.
    """
    holds = {">=": value >= limit, ">": value > limit, "<=": value <= limit, "<": value < limit}[sense]
    if math.isnan(value) or math.isnan(limit):
        verdict = Verdict.not_assessable
    elif not at_least:
        verdict = Verdict.met if holds else Verdict.not_met
    elif holds and sense in (">=", ">"):
        verdict, note = Verdict.met, "; ".join(filter(None, (note, "met within the known part of the curve")))
    else:
        verdict = Verdict.not_assessable
    if verdict is Verdict.not_assessable:
        note = "; ".join(filter(None, (missing, note)))
    return Assessment(
        criterion=criterion, value=value, limit=limit, sense=sense, unit=unit, at_least=at_least, verdict=verdict,
        note=note, source=source,
    )  # fmt: skip


def without_equilibrium(
    criterion: str, sense: Sense, limit: float, unit: str, source: Source, curve: RightingCurve, reach: Reach
) -> Assessment:
    """Assessment of a vessel that finds no equilibrium within her curve: not met if the curve settles it.

    Parameters
    ----------
    criterion, sense, limit, unit, source
        As in `judged`.
    curve : RightingCurve
    reach : Reach
        With no start.
    """
    found = f"no equilibrium up to {math.degrees(curve.known_to):.1f} degrees"
    return Assessment(
        criterion=criterion, value=math.nan, limit=limit, sense=sense, unit=unit, source=source,
        verdict=Verdict.not_met if reach.lost else Verdict.not_assessable,
        note=found if reach.lost else f"{FULL_CURVE_NEEDED}; {found}",
    )  # fmt: skip
