"""Cases that the page shows as they went: which are worth it, and their pictures (floor 6)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from toolkit.errors import StoreError, StudyError
from toolkit.figures.histories import draw_histories
from toolkit.figures.outlines import draw_outlines
from toolkit.figures.reading_history import outcome_name
from toolkit.findings.conditions import fixed_text
from toolkit.findings.limits import OUTCOME_OFFSET
from toolkit.quantities import Outcome
from toolkit.report.content import Picture, picture_of

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["CasePictures", "pictured", "telling_cases"]


@dataclass(frozen=True, kw_only=True)
class CasePictures:
    """One case as it went.

    Attributes
    ----------
    number : int
        In C order over the dimensions of the results.
    why, conditions, ended, note : str
        Why it is shown, its inputs, how it ended, and whether that is another model's word than the results'.
    pictures : tuple of Picture
        Ground swept with the outlines of the hulls, and courses in time.
    """

    number: int
    why: str
    conditions: str
    ended: str
    note: str
    pictures: tuple[Picture, ...]


def telling_cases(judged: xr.Dataset, most: int = 3) -> dict[int, str]:
    """Cases that tell where the edge of the envelope is, by number, and why each was chosen.

    Parameters
    ----------
    judged : xarray.Dataset
        From :func:`toolkit.findings.apply_limits`, of a grid.
    most : int
        How many at most.

    Returns
    -------
    dict
        The case that passes closest to a limit, the one that just breaks one,
        and the first of those that ended in the most frequent failure.
    """
    if not judged["passes"].size:
        return {}
    used = np.asarray(judged["utilisation"].values, dtype=float).ravel()
    passes = np.asarray(judged["passes"].values, dtype=bool).ravel()
    codes = np.asarray(judged["binding_limit"].values, dtype=int).ravel()
    found: dict[int, str] = {}
    near = np.where(passes & np.isfinite(used), used, -np.inf)
    if np.isfinite(near).any():
        found[int(near.argmax())] = "passes closest to a limit"
    broken = np.where((codes > 0) & (codes < OUTCOME_OFFSET - 1) & np.isfinite(used), used, np.inf)
    if np.isfinite(broken).any():
        found[int(broken.argmin())] = "breaks a limit by the least"
    ended = codes[(codes > OUTCOME_OFFSET)]
    if ended.size:
        kinds, counts = np.unique(ended, return_counts=True)
        found[int((codes == kinds[counts.argmax()]).argmax())] = "ended in the most frequent failure"
    return dict(list(found.items())[:most])


def pictured(
    cases: dict[int, str], judged: xr.Dataset, history: Callable[[int], xr.Dataset], *, limits: object | None = None
) -> tuple[tuple[CasePictures, ...], tuple[str, ...]]:
    """Run cases again and draw them.

    Parameters
    ----------
    cases : dict
        Number to why it is shown.
    judged : xarray.Dataset
        The results that they are of.
    history : callable
        Number of a case to its history, such as `toolkit.history` gives it.
    limits : mapping or dataclass, optional
        Limits in dataset units; by default those of the history.

    Returns
    -------
    tuple
        What was drawn, and a line for every case that could not be.
    """
    drawn, told = [], []
    for number, why in cases.items():
        try:
            found = history(number)
        except (StudyError, StoreError) as error:
            told.append(f"Case {number} could not be run again: {' '.join(str(error).split())}")
            continue
        ended = outcome_name(found)
        plan, course = draw_outlines(found, limits=limits), draw_histories(found, limits=limits)
        drawn.append(
            CasePictures(
                number=number, why=why, conditions=fixed_text(found), ended=ended,
                note=_note(found, judged, number),
                pictures=(
                    picture_of(plan.figure, f"Case {number}: ground swept, {ended}", plan.caption),
                    picture_of(course.figure, f"Case {number}: courses in time, {ended}", course.caption),
                ),
            )
        )  # fmt: skip
    return tuple(drawn), tuple(told)


def _note(found: xr.Dataset, judged: xr.Dataset, number: int) -> str:
    """Say where what was run again is not what the results hold."""
    stored = Outcome(int(np.asarray(judged["outcome"].values).ravel()[number])).name.replace("_", " ")
    told = []
    if found.attrs.get("model_hash") != judged.attrs.get("model_hash"):
        told.append("Run again with another version of the model than the results: times and forces may differ.")
    if outcome_name(found) != stored:
        told.append(f"In the results this case ended otherwise: {stored}.")
    return " ".join(told)
