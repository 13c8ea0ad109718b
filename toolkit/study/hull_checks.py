"""Checks of the vessels of a study: do their particulars belong together, do they float, do they lie clear."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem
from toolkit.particulars import Barge, Tug, barge_from_displacement, barge_problems, tug_from_bollard_pull, tug_problems
from toolkit.quantities import INPUTS
from toolkit.study.combinations import combinations
from toolkit.study.study import Study

__all__ = ["START_INPUTS", "hull_problems", "hull_warnings", "start_problems"]

BARGE_INPUTS = tuple(name for name, quantity in INPUTS.items() if quantity.section == "barge")
TUG_INPUTS = tuple(name for name, quantity in INPUTS.items() if quantity.section == "tug")
WATER = ("water_depth", "water_density")
RIGHTING_INPUTS = ("greatest_righting_lever", "greatest_lever_angle", "vanishing_angle")
"""Three numbers of a full righting curve: lever and the two angles, in this order."""
START_INPUTS = (
    "displacement", "barge_length", "barge_beam", "bollard_pull", "tug_type", "tug_length", "tug_beam", "line_length",
    "manoeuvre", "side_way", "check_from", "start_speed", "tug_attitude", "working_end", "lead_angle", "push_station",
    "tug_towing_station", "barge_towing_station", "barge_towing_offset", "station_from",
)  # fmt: skip
"""Inputs that decide how the hulls lie to each other at the start."""
MOST_STARTS = 4000
"""Starts that are looked at: `towage check` answers at once."""
TOO_SHORT = "at its lead, the line is too short for the barge's beam and the tug's length"


def _barges(study: Study) -> tuple[Barge, NDArray[np.float64]]:
    """Barges of a study with the depth of water of each."""
    c = combinations(study, (*BARGE_INPUTS, *WATER))
    barge = barge_from_displacement(
        displacement=c["displacement"], loading=c["loading"], length=c["barge_length"], beam=c["barge_beam"],
        draught=c["barge_draught"], freeboard=c["barge_freeboard"], fitting_swl=c["barge_fitting_swl"],
        water_density=c["water_density"],
    )  # fmt: skip
    return barge, c["water_depth"]


def _tugs(study: Study) -> tuple[Tug, NDArray[np.float64]]:
    """Tugs of a study with the depth of water of each."""
    c = combinations(study, (*TUG_INPUTS, *WATER))
    tug = tug_from_bollard_pull(
        bollard_pull=c["bollard_pull"], tug_type_code=c["tug_type"], length=c["tug_length"], beam=c["tug_beam"],
        draught=c["tug_draught"], displacement=c["tug_displacement"], freeboard=c["tug_freeboard"],
        metacentric_height=c["metacentric_height"], towing_point_height=c["towing_point_height"],
        fender_height=c["fender_height"], astern_pull_ratio=c["astern_pull_ratio"],
        bollard_pull_derate=c["bollard_pull_derate"], water_density=c["water_density"],
    )  # fmt: skip
    return tug, c["water_depth"]


def _overlaps(study: Study) -> NDArray[np.bool_]:
    """Whether tug and barge overlap at the start, for an even selection of what decides it."""
    from toolkit.motion.prepare import prepare
    from toolkit.motion.start import overlap_at_start

    prepared = prepare(combinations(study, START_INPUTS, MOST_STARTS))
    return overlap_at_start(prepared.parameters, prepared.initial)


def hull_problems(study: Study) -> list[Problem]:
    """Particulars that do not belong together in any case; as for `toolkit.study.checks.study_problems`."""
    barge, _ = _barges(study)
    tug, _ = _tugs(study)
    return [
        *(misfit.problem(f"{study.source}: barge") for misfit in barge_problems(barge)),
        *(misfit.problem(f"{study.source}: tug") for misfit in tug_problems(tug)),
        *_righting_problems(study, tug),
    ]


def _righting_problems(study: Study, tug: Tug) -> list[Problem]:
    """A full righting curve of which a number is wanting, or that does not rise beyond the deck edge and fall again."""
    c = combinations(study, (*TUG_INPUTS, *WATER))
    numbers = np.stack([c[name] for name in RIGHTING_INPUTS])
    given = np.isfinite(numbers)
    if np.any(given.any(axis=0) & ~given.all(axis=0)):
        return [
            Problem(where=f"{study.source}: tug",
                    what=f"of {', '.join(RIGHTING_INPUTS)} some are given and some are not",
                    why="the righting lever beyond the deck edge is drawn from all three",
                    remedy="Give all three, or none")
        ]  # fmt: skip
    edge, top, vanishing = np.rad2deg(tug.deck_edge_angle), *numbers[1:]
    problems = []
    for name, angle, low, what in (
        ("greatest_lever_angle", top, edge, "the deck edge is under at"),
        ("vanishing_angle", vanishing, top, "the lever is greatest at"),
    ):
        wrong = np.flatnonzero(angle <= low)  # not where neither is given
        if wrong.size:
            at, least = wrong[0], np.broadcast_to(low, angle.shape)[wrong[0]]
            problems.append(
                Problem(where=f"{study.source}: tug.{name}",
                        what=f"{name} = {angle[at]:.4g} degrees is not beyond {least:.4g}",
                        why=f"{what} that angle, and the curve goes on from there",
                        remedy="Give a larger angle, or none of the three numbers of the curve")
            )  # fmt: skip
    return problems


def start_problems(study: Study) -> list[Problem]:
    """Reasons for which every case of a study would end before it begins: aground, or overlapping hulls.

    Otherwise as for :func:`hull_problems`. In a table of cases these are
    outcomes and no problems.
    """
    problems: list[Problem] = []
    barge, barge_depth = _barges(study)
    tug, tug_depth = _tugs(study)
    for name, draught, depth in (("barge", barge.draught, barge_depth), ("tug", tug.draught, tug_depth)):
        if not problems and np.all(draught >= depth):
            problems.append(
                Problem(where=f"{study.source}: environment.water_depth",
                        what=f"water_depth = {depth.max():.3g} m at most leaves the {name} aground in every case",
                        why=f"her draught is {draught.min():.3g} m or more",
                        remedy="Give more water, or a smaller hull")
            )  # fmt: skip
    if _overlaps(study).all():
        length = combinations(study, ["line_length"])["line_length"].max()
        problems.append(
            Problem(where=f"{study.source}: towline.line_length",
                    what=f"line_length = {length:.3g} m at most: in every case tug and barge overlap at the start",
                    why=TOO_SHORT,
                    remedy="Give a longer line, or a smaller tug")
        )  # fmt: skip
    return problems


def hull_warnings(study: Study) -> list[str]:
    """Cases that end before they begin, or are outside the family of their vessel, in sentences."""
    found: list[str] = []
    barge, barge_depth = _barges(study)
    tug, tug_depth = _tugs(study)
    ashore = "is aground before the start: the outcome is `aground`"
    extrapolated = "is outside the sizes that her family was drawn up for: extrapolated, and flagged"
    for name, mask, what in (
        ("the barge", barge.draught >= barge_depth, ashore),
        ("the tug", tug.draught >= tug_depth, ashore),
        ("the barge", barge.out_of_family, extrapolated),
        ("the tug", tug.out_of_family, extrapolated),
        ("tug and barge", _overlaps(study), f"overlap where they start: {TOO_SHORT}; the outcome is `collided`"),
    ):
        share = float(np.mean(mask))
        if share > 0.0:
            found.append(f"In {_share(share)} of the cases {name} {what}.")
    return found


def _share(share: float) -> str:
    if share == 1.0:
        return "all"
    return "less than 1 percent" if share < 0.01 else f"{100.0 * share:.0f} percent"
