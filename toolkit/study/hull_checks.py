"""Checks of the vessels of a study: do their particulars belong together, do they float."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem
from toolkit.particulars import Barge, Tug, barge_from_displacement, barge_problems, tug_from_bollard_pull, tug_problems
from toolkit.quantities import INPUTS
from toolkit.study.combinations import combinations
from toolkit.study.study import Study

__all__ = ["hull_problems", "hull_warnings"]

BARGE_INPUTS = tuple(name for name, quantity in INPUTS.items() if quantity.section == "barge")
TUG_INPUTS = tuple(name for name, quantity in INPUTS.items() if quantity.section == "tug")
WATER = ("water_depth", "water_density")


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


def hull_problems(study: Study) -> list[Problem]:
    """Problems of vessels that no case of a study can be run with.

    Parameters
    ----------
    study : Study
        Whose single values have been checked.

    Returns
    -------
    list of Problem
        Particulars that do not belong together in any case, and a study in
        which every case is aground.
    """
    problems: list[Problem] = []
    barge, barge_depth = _barges(study)
    tug, tug_depth = _tugs(study)
    problems += [misfit.problem(f"{study.source}: barge") for misfit in barge_problems(barge)]
    problems += [misfit.problem(f"{study.source}: tug") for misfit in tug_problems(tug)]
    for name, draught, depth in (("barge", barge.draught, barge_depth), ("tug", tug.draught, tug_depth)):
        if not problems and np.all(draught >= depth):
            problems.append(
                Problem(where=f"{study.source}: environment.water_depth",
                        what=f"water_depth = {depth.max():.3g} m at most leaves the {name} aground in every case",
                        why=f"her draught is {draught.min():.3g} m or more",
                        remedy="Give more water, or a smaller hull")
            )  # fmt: skip
    return problems


def hull_warnings(study: Study) -> list[str]:
    """Cases that are aground or outside the family of their vessel.

    Parameters
    ----------
    study : Study
        A checked study.

    Returns
    -------
    list of str
        Sentences; empty if there is nothing to say.
    """
    found: list[str] = []
    barge, barge_depth = _barges(study)
    tug, tug_depth = _tugs(study)
    ashore = "is aground before the start: the outcome is `aground`"
    extrapolated = "is outside the sizes that her family was drawn up for: extrapolated, and flagged"
    for name, mask, what in (
        ("barge", barge.draught >= barge_depth, ashore),
        ("tug", tug.draught >= tug_depth, ashore),
        ("barge", barge.out_of_family, extrapolated),
        ("tug", tug.out_of_family, extrapolated),
    ):
        share = float(np.mean(mask))
        if share > 0.0:
            found.append(f"In {_share(share)} of the cases the {name} {what}.")
    return found


def _share(share: float) -> str:
    if share == 1.0:
        return "all"
    return "less than 1 percent" if share < 0.01 else f"{100.0 * share:.0f} percent"
