"""Each tug of a study against the published stability rules, beside the heel that was simulated (floor 5).

A rule's lever is static: full pull across the tug, no speed, no waves. The
simulated heel is that of the manoeuvres of the study. Neither shows that a tug
complies with a rule: that is for her stability book, her class and her flag.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from toolkit.findings.reading import cautions, provenance, require
from toolkit.findings.rule_levers import SEVEREST_INTERCEPTED, either_of, levers_of
from toolkit.findings.study_tugs import DECISIVE_INPUTS, MOST_TUGS, StudyTug, tugs_of
from toolkit.findings.table import Cell, Table
from toolkit.particulars.common import TONNE, TONNE_FORCE
from toolkit.quantities import Outcome
from toolkit.rules import RightingCurve
from toolkit.rules.areas import dynamic_angle, first_intersection
from toolkit.rules.source import Source
from toolkit.study import Study

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["SimulatedHeel", "stability_notes", "stability_table"]

HEADER = (
    "tug", "which", "bollard pull [t]", "displacement [t]", "GM [m]", "deck edge [deg]", "rule", "lever upright [m]",
    "at rest [deg]", "thrown to [deg]", "verdict", "certainty of the text", "simulated peak heel on a line [deg]",
    "simulated over at rest", "righting lever at simulated heel [m]", "simulated peak heel, all cases [deg]",
    "cases run", "cases with the deck edge under or capsized",
)  # fmt: skip

ASSUMED = (
    "Assumed: load line length and length between perpendiculars are the waterline's, the aft perpendicular half of "
    "it abaft midships, underwater lateral area length times draught, towing point on the centreline, openings on or "
    "above the deck and inboard of its edge, level trim, GM corrected for free surfaces."
)
BEYOND = (
    "A righting curve from upright sides ends at the deck edge. A criterion that hangs on what lies beyond is not "
    "assessable without a full GZ curve (--righting-levers); one that is met before the deck edge is met."
)
STATIC = (
    "Levers are those upright. 'At rest' is the heel at which the lever is balanced, 'thrown to' the heel to which it "
    "takes an undamped tug when it comes on at once. The rules suppose her full bollard pull across her, or that she "
    "is dragged sideways at 5 knots; the simulated heel is the largest of the cases run, as the study orders them."
)
NOT_COMPLIANCE = "This table does not show compliance: several texts are from memory, and the hull is a family's."


@dataclass(frozen=True, kw_only=True)
class SimulatedHeel:
    """What the results say of a tug's heel.

    Attributes
    ----------
    on_line, any_case : float
        Largest heel of the cases in which a line is used, and of all [degree]; NaN where there is none.
    runs, cases : int
        Cases run, and all.
    immersed : int
        Cases that ended with the deck edge immersed, or capsized.
    """

    on_line: float
    any_case: float
    runs: int
    cases: int
    immersed: int


def _simulated(results: xr.Dataset | None, tug: StudyTug) -> SimulatedHeel:
    if results is None:
        return SimulatedHeel(on_line=math.nan, any_case=math.nan, runs=0, cases=0, immersed=0)
    require(results, ("outcome", "peak_heel"), "the simulated heel")
    here = results[[name for name in ("outcome", "peak_heel", "peak_tension") if name in results]]
    here = here.isel({name: at for name, at in tug.place.items() if name in here.dims}).compute()
    code = here["outcome"].fillna(0).astype(np.int8)
    run = code != int(Outcome.not_run)
    heel = here["peak_heel"].where(run)
    on_line = heel.where(here["peak_tension"].notnull()) if "peak_tension" in here else heel
    sunk = code.isin([int(Outcome.deck_edge_immersed), int(Outcome.capsized)])
    return SimulatedHeel(
        on_line=float(on_line.max()), any_case=float(heel.max()), runs=int(run.sum()), cases=int(code.size),
        immersed=int(sunk.sum()),
    )  # fmt: skip


def _certainty(lever: Source, criterion: Source) -> str:
    """Certainty of a rule's lever, and of its criterion where that is another."""
    if lever.certainty is criterion.certainty:
        return str(lever.certainty)
    return f"lever {lever.certainty}; criterion {criterion.certainty}"


def _heel(angle: float, curve: RightingCurve) -> Cell:
    """Heel in degrees, or words where it lies beyond the curve."""
    return f"> {math.degrees(curve.known_to):.1f}" if math.isnan(angle) else math.degrees(angle)


def stability_table(
    study: Study,
    results: xr.Dataset | None = None,
    curves: Mapping[int, RightingCurve] | None = None,
    *,
    intercepted: float = SEVEREST_INTERCEPTED,
) -> Table:
    """Set the rules' levers on each tug of a study beside the heel that was simulated.

    Parameters
    ----------
    study : Study
        A checked study.
    results : xarray.Dataset, optional
        Results of the same study.
    curves : mapping of int to RightingCurve, optional
        Full righting curves by the number of the tug, in place of upright sides.
    intercepted : float
        Share s of 46 CFR 173.095 [1].

    Returns
    -------
    Table
        One row a tug and rule: metacentric height, deck-edge angle; the rule's
        lever upright, the heels at rest and thrown to, its verdict and the
        certainty of its text; the largest simulated heel on a line, over the
        heel at rest, the righting lever there, the largest of all cases, and
        how many cases it rests on.
    """
    rows: list[tuple[Cell, ...]] = []
    tugs = tugs_of(study)
    for tug in tugs:
        curve = (curves or {}).get(tug.number, tug.curve)
        heel = _simulated(results, tug)
        at_peak = math.radians(heel.on_line)
        held = float(curve.lever(at_peak)) if at_peak <= curve.known_to else math.nan
        seen: tuple[Cell, ...] = (heel.runs, heel.immersed) if results is not None else (math.nan, math.nan)
        for rule in levers_of(tug, intercepted):
            rest = first_intersection(curve, rule.lever)
            found = rule.criteria(curve)
            rows.append(
                (tug.number, tug.label, tug.bollard_pull / TONNE_FORCE, tug.displacement / TONNE,
                 tug.metacentric_height, math.degrees(tug.deck_edge), rule.name, float(rule.lever(0.0)),
                 _heel(rest, curve), _heel(dynamic_angle(curve, rule.lever), curve),
                 str(either_of(found)), _certainty(rule.source, found[0].source), heel.on_line,
                 heel.on_line / math.degrees(rest) if rest else math.nan, held, heel.any_case, *seen)
            )  # fmt: skip
    return Table(
        title=f"{study.title}: towing stability of each tug beside the simulated heel", header=HEADER,
        rows=tuple(rows), notes=stability_notes(study, tugs, results, curves, intercepted),
    )  # fmt: skip


def stability_notes(
    study: Study,
    tugs: list[StudyTug],
    results: xr.Dataset | None,
    curves: Mapping[int, RightingCurve] | None,
    intercepted: float,
) -> tuple[str, ...]:
    """Notes below the tables of stability: what is assumed, what is not shown, runs, provenance, cautions."""
    notes = [STATIC, ASSUMED, BEYOND, NOT_COMPLIANCE]
    notes.append(
        f"46 CFR 173.095 takes a share s of the propeller circle that a rudder intercepts; here s = {intercepted:g}"
        + (", the severest reading: the law gives none for azimuth drives." if intercepted == 1.0 else ".")
    )
    for number, curve in sorted((curves or {}).items()):
        notes.append(f"Tug {number}: righting levers of {curve.origin}, to {math.degrees(curve.known_to):.0f} degrees."
                     + _slope_note(tugs[number - 1], curve))  # fmt: skip
    if len(tugs) == MOST_TUGS:
        notes.append(f"{MOST_TUGS} tugs are listed at most: an even selection of those that differ in "
                     f"{', '.join(name for name in DECISIVE_INPUTS if study.axis(name))}.")  # fmt: skip
    if results is None:
        notes.append("No results at hand: no simulated heel.")
        return (*notes, f"Provenance: study {study.hash()}.", cautions({}))
    shares = [_simulated(results, tug) for tug in tugs]
    runs, cases = sum(one.runs for one in shares), sum(one.cases for one in shares)
    notes.append(f"Simulated heel from {runs:,} of {cases:,} cases of the tugs listed.")
    return (*notes, provenance(results.attrs), cautions(results.attrs))


def _slope_note(tug: StudyTug, curve: RightingCurve) -> str:
    """Warning where the table's slope upright is not the metacentric height of the study."""
    small = math.radians(2.0)
    slope = float(curve.lever(small)) / math.sin(small)
    if abs(slope - tug.metacentric_height) <= 0.15 * tug.metacentric_height:
        return ""
    return (f" Near upright they give GM {slope:.2f} m, and the study has {tug.metacentric_height:.2f} m: "
            "they are not of one condition.")  # fmt: skip
