"""Heeling levers of the published rules on a tug of a study, with the criteria that belong to them (floor 5)."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from toolkit.findings.study_tugs import StudyTug
from toolkit.rules import (
    Assessment,
    RightingCurve,
    Verdict,
    iacs_towing,
    imo_criteria,
    imo_intact,
    imo_towing,
    us_towing,
)
from toolkit.rules.righting import Lever
from toolkit.rules.source import Source, source_of

__all__ = ["SEVEREST_INTERCEPTED", "RuleLever", "criteria_without_lever", "either_of", "levers_of"]

SEVEREST_INTERCEPTED = 1.0
"""Share s of 46 CFR 173.095 where none is given: the law has none for azimuth drives, and no reading is severer."""

NO_ESCORT = "needs the largest heeling lever of her escort trials, which no study holds"


@dataclass(frozen=True, kw_only=True)
class RuleLever:
    """A heeling lever of a rule on one tug.

    Attributes
    ----------
    name : str
        Short words for it.
    lever : callable
        [m] of heel [rad].
    source : Source
        The rule of the lever.
    criteria : callable
        Assessments of a righting curve under the lever; one of them that is met is enough.
    """

    name: str
    lever: Lever
    source: Source
    criteria: Callable[[RightingCurve], tuple[Assessment, ...]]


def levers_of(tug: StudyTug, intercepted: float = SEVEREST_INTERCEPTED) -> tuple[RuleLever, ...]:
    """Heeling levers of the rules on a tug.

    Parameters
    ----------
    tug : StudyTug
    intercepted : float
        Share s of 46 CFR 173.095 [1].

    Returns
    -------
    tuple of RuleLever
        IMO self-tripping and tow-tripping, IACS Rec. 24, 46 CFR 173.095.
    """
    azimuth: dict[str, imo_towing.Drive] = {"tractor": "tractor", "azimuth_stern_drive": "azimuth_stern_drive"}
    coefficient = imo_towing.thrust_coefficient(
        azimuth.get(tug.drive, "conventional"), "bow" if tug.towing_x > 0.0 else "stern", tug.towing_x - tug.drive_x,
        tug.length,
    )  # fmt: skip
    drives: dict[str, float] = {
        "propellers": 2.0, "power": tug.shaft_power, "diameter": tug.propeller_diameter, "intercepted": intercepted,
        "height": tug.thrust_height, "displacement": tug.displacement,
    }  # fmt: skip
    self_tripping = _lever(
        imo_towing.self_tripping_lever, bollard_pull=tug.bollard_pull, displacement=tug.displacement,
        coefficient=coefficient, height=tug.thrust_height,
    )  # fmt: skip
    tow_tripping = _lever(
        imo_towing.tow_tripping_lever, displacement=tug.displacement, lateral_area=tug.length * tug.draught,
        height=tug.towing_height, draught=tug.draught, towing_station=tug.towing_x + 0.5 * tug.length,
        length=tug.length, freeboard=tug.freeboard, beam=tug.beam, water_density=tug.water_density,
    )  # fmt: skip
    iacs = _lever(
        iacs_towing.towing_heeling_lever, bollard_pull=tug.bollard_pull, displacement=tug.displacement,
        height=tug.thrust_height,
    )  # fmt: skip
    towline = _lever(us_towing.towline_pull_lever, **drives)

    def by_law(curve: RightingCurve) -> tuple[Assessment, ...]:
        required = float(us_towing.gm_required(**drives, freeboard=tug.freeboard, beam=tug.beam))
        height = tug.metacentric_height
        told = f"for s = {intercepted:g}; met up to s = {intercepted * height / required:.2f}"
        return (
            us_towing.towline_pull_gm_criterion(height, required, note=told),
            us_towing.towline_pull_criterion(curve, towline, note=f"for s = {intercepted:g}"),
        )

    return (
        RuleLever(name="IMO self-tripping", lever=self_tripping, source=source_of(imo_towing.self_tripping_lever),
                  criteria=lambda curve: (imo_criteria.self_tripping_criterion(curve, self_tripping),)),
        RuleLever(name="IMO tow-tripping", lever=tow_tripping, source=source_of(imo_towing.tow_tripping_lever),
                  criteria=lambda curve: (imo_criteria.tow_tripping_criterion(curve, tow_tripping),)),
        RuleLever(name="IACS Rec. 24", lever=iacs, source=source_of(iacs_towing.towing_heeling_lever),
                  criteria=lambda curve: iacs_towing.towing_criteria(curve, iacs)),
        RuleLever(name="46 CFR 173.095", lever=towline, source=source_of(us_towing.towline_pull_lever),
                  criteria=by_law),
    )  # fmt: skip


def _lever(function: Callable[..., Any], **fixed: float) -> Lever:
    return functools.partial(function, **fixed)


def criteria_without_lever(tug: StudyTug, curve: RightingCurve) -> tuple[Assessment, ...]:
    """Criteria that come on top: intact stability by IMO and by 46 CFR, and escort, for which a study has no lever."""
    escort = Assessment(
        criterion="areas and equilibrium (escort)", value=math.nan, limit=math.nan, sense=">=", unit="1",
        verdict=Verdict.not_assessable, note=NO_ESCORT, source=source_of(imo_criteria.escort_criteria),
    )  # fmt: skip
    return (
        escort,
        *imo_intact.intact_criteria(curve, tug.metacentric_height),
        *us_towing.tug_intact_criteria(curve),
    )


def either_of(assessments: Iterable[Assessment]) -> Verdict:
    """Verdict of a rule that asks for one of several criteria."""
    found = {one.verdict for one in assessments}
    for verdict in (Verdict.met, Verdict.not_assessable):
        if verdict in found:
            return verdict
    return Verdict.not_met
