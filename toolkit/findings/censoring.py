"""Cases that did not complete: how they ended, and what stands for the time they do not have (floor 5)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.display import display_text
from toolkit.findings.reading import outcome_of
from toolkit.quantities import FACTS, Outcome
from toolkit.quantities.manoeuvres import LEAST_IS_WORST

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["ENDS", "TIMES", "end_counts", "filled", "horizon_of", "restricted"]

TIMES: tuple[str, ...] = ("time_to_turn", *sorted({facts.time for facts in FACTS.values()} - {"end_time"}))
"""Outcomes that are times to an event, which a case may end without having seen."""

OUT_OF_TIME: tuple[Outcome, ...] = (Outcome.not_steady, Outcome.timed_out)
"""Ends at the time limit: the time would have been longer, nobody knows by how much."""

ENDS: dict[str, str] = {
    "completed": "completed within the time limit",
    "out_of_time": "still not done at the time limit",
    "failed": "ended before by a failure",
    "not_run": "not run",
}
"""Ways in which a case ends, as far as times are concerned, and words for them."""


def end_counts(dataset: xr.Dataset) -> dict[str, int]:
    """Count cases by `ENDS`."""
    codes = outcome_of(dataset).values
    counts = {
        "completed": int(np.count_nonzero(codes == int(Outcome.completed))),
        "out_of_time": int(np.count_nonzero(np.isin(codes, [int(o) for o in OUT_OF_TIME]))),
        "not_run": int(np.count_nonzero(codes == int(Outcome.not_run))),
    }
    return {name: counts.get(name, int(codes.size) - sum(counts.values())) for name in ENDS}


def horizon_of(dataset: xr.Dataset, horizon: float | None = None) -> float:
    """Time up to which every case was watched [s]: the smallest time limit, or less.

    Parameters
    ----------
    dataset : xarray.Dataset
        With ``time_limit`` as a coordinate, unless `horizon` is given.
    horizon : float, optional
        A shorter time [s].

    Raises
    ------
    StudyError
        If there is no time limit, or `horizon` is beyond it.
    """
    limit = float(dataset["time_limit"].min()) if "time_limit" in dataset.variables else np.nan
    if horizon is None:
        horizon = limit
    if not horizon > 0.0:
        what, why = "no time limit is known", "a case that did not complete has no time of its own"
        raise StudyError(
            [Problem(where="horizon", what=what, why=why, remedy="Give a horizon in seconds, up to which all were run")]
        )
    if horizon > limit:
        shown = [display_text("time_limit", value) for value in (horizon, limit)]
        raise StudyError(
            [
                Problem(
                    where="horizon",
                    what=f"horizon = {shown[0]} is beyond the time limit of {shown[1]}",
                    why="nobody knows what would have happened after it",
                    remedy=f"Give {shown[1]} or less",
                )
            ]
        )
    return float(horizon)


def restricted(dataset: xr.Dataset, name: str, horizon: float) -> xr.DataArray:
    """Time to an event, or the horizon where it was not seen by then.

    The mean of it is the restricted mean time, the mean time spent waiting up
    to the horizon. As every case was watched up to there, it is known exactly
    and needs no model of the times that were not seen (Royston and Parmar 2013,
    from memory, not verified).

    Parameters
    ----------
    dataset : xarray.Dataset
        Results.
    name : str
        One of `TIMES`.
    horizon : float
        From :func:`horizon_of` [s].

    Returns
    -------
    xarray.DataArray
        [s]; NaN where the case was not run. A case that ended early by a failure
        never gets there: the horizon stands for it, too. NaN also where a case
        completed without the event: steady just short of the target heading,
        she has no time to turn.
    """
    time = dataset[name].astype(np.float64)
    return time.where(~(_broken(dataset) & time.isnull()), horizon).clip(max=horizon).where(_run(dataset))


def _run(dataset: xr.Dataset) -> xr.DataArray:
    return outcome_of(dataset) != int(Outcome.not_run)


def _broken(dataset: xr.Dataset) -> xr.DataArray:
    """Cases that were run and did not complete."""
    return _run(dataset) & (outcome_of(dataset) != int(Outcome.completed))


def filled(dataset: xr.Dataset, name: str, horizon: float | None = None) -> tuple[xr.DataArray, xr.DataArray, str]:
    """Values of an outcome in which failed cases count.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results.
    name : str
        An outcome.
    horizon : float, optional
        As for :func:`horizon_of`; of times only.

    Returns
    -------
    values : xarray.DataArray
        As they are where there is one. A time that was not reached is the
        horizon. Any other value that a case that did not complete lacks is the
        worst of all (largest, or smallest of that of which less is worse). NaN where
        the case was not run, and in completed cases to which it does not apply.
    stood_in : xarray.DataArray of bool
        Where the value is such a stand-in.
    words : str
        What stands in; empty if nothing does.
    """
    run, broken, value = _run(dataset), _broken(dataset), dataset[name].astype(np.float64)
    if name in TIMES:
        end = horizon_of(dataset, horizon)
        stood_in = (broken & value.isnull()) | (run & (value > end))
        words = f"the time limit, {display_text(name, end)}" if bool(stood_in.any()) else ""
        return restricted(dataset, name, end), stood_in, words
    # a case that failed has an end, though no time of the job
    stood_in = broken & (value.isnull() | (name == "end_time"))
    if not bool(stood_in.any()) or not bool((value.notnull() & run).any()):
        return value.where(run), stood_in, ""
    worst = float(value.where(run).min() if name in LEAST_IS_WORST else value.where(run).max())
    return value.where(~stood_in, worst).where(run), stood_in, f"the worst value seen, {display_text(name, worst)}"
