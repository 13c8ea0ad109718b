"""A whole analysis of one study: screening, then indices of what matters, spread, sample size (floor 5)."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from toolkit.errors import Problem, StudyError
from toolkit.findings.sensitivity.factors import Evaluate, Factors, check_power, factors_of
from toolkit.findings.sensitivity.indices import SAMPLES, sobol
from toolkit.findings.sensitivity.responses import COMPLETED, PASSES
from toolkit.findings.sensitivity.sample_size import REPLICATES, running_means
from toolkit.findings.sensitivity.screening import TRAJECTORIES, ranked, screen
from toolkit.findings.sensitivity.spread import AT_PLACES, DRAWN, spread_over
from toolkit.quantities import OUTCOMES

if TYPE_CHECKING:
    import xarray as xr

    from toolkit.study import Axis, Study

__all__ = ["KEPT", "Analysis", "analyse"]

KEPT = 6
"""Inputs that go from the screening into the indices unless another number is asked for."""

_ALONG = ("wind_speed", "bollard_pull", "power_setting", "displacement", "current_speed", "line_length")


@dataclass(frozen=True, kw_only=True)
class Analysis:
    """What an analysis found.

    Attributes
    ----------
    title : str
        Of the study.
    factors : Factors
        All that was varied.
    screened, indices, running : xarray.Dataset
        From `screen`, `sobol` and `running_means`.
    spread : xarray.Dataset or None
        From `spread_over`; None without coefficients or without an input to
        look along.
    left_out : tuple of str
        What could not be done, in sentences.
    """

    title: str
    factors: Factors
    screened: xr.Dataset
    indices: xr.Dataset
    running: xr.Dataset
    spread: xr.Dataset | None
    left_out: tuple[str, ...] = ()


def analyse(
    study: Study,
    evaluate: Evaluate,
    *,
    at: Mapping[str, str] | None = None,
    coefficients: bool = True,
    trajectories: int = TRAJECTORIES,
    keep: int = KEPT,
    samples: int = SAMPLES,
    replicates: int = REPLICATES,
    names: Sequence[str] | None = None,
    seed: int | None = None,
    say: Callable[[str], None] = lambda _: None,
) -> Analysis:
    """Analyse what moves the outcomes over the ranges of a study.

    Parameters
    ----------
    study : Study
        Its limits are those of the response ``passes``.
    evaluate : callable
        From a table of cases to results.
    at, coefficients
        As for :func:`toolkit.findings.sensitivity.factors.factors_of`.
    trajectories : int
        Of the screening.
    keep : int
        Inputs, those that matter most in the screening, that go into the
        indices; 2 or more.
    samples : int
        Of the indices; a power of two, 32 or more. Half as many make each
        sequence of the running means.
    replicates : int
        Sequences of the running means.
    names : sequence of str, optional
        Outcomes, ``completed`` or ``passes``.
    seed : int, optional
        That of the study unless given.
    say : callable
        Told what comes next, with its number of cases.

    Returns
    -------
    Analysis

    Raises
    ------
    StudyError
        If a number does not fit (before anything is run), or as the parts raise.
    """
    if keep < 2:
        what = f"keep = {keep} is fewer than 2"
        raise StudyError([Problem(where="indices", what=what, remedy="Keep two inputs or more")])
    check_power(samples, 32)
    known = (*OUTCOMES, COMPLETED, PASSES)
    unknown = [name for name in names or () if name not in known or name == "outcome"]
    if unknown:
        raise StudyError(
            Problem(where="outcomes", what=f"{name} cannot be explained", why="it is no outcome that is a number",
                    remedy=f"Name outcomes of the register, {COMPLETED} or {PASSES}")
            for name in unknown
        )  # fmt: skip
    seed = study.seed if seed is None else seed
    wanted = None if names is None else tuple(names)
    limits = study.limits.in_force()
    factors = factors_of(study, at=at, coefficients=coefficients)
    width = len(factors.axes)

    say(f"Screening: {width} inputs, {trajectories * (width + 1):,} cases")
    screened = screen(evaluate, factors, count=trajectories, names=wanted, limits=limits, seed=seed)
    kept = factors.keep(ranked(screened, keep), "at the base, by the screening")
    say(f"Sobol' indices: {len(kept.axes)} inputs, {samples * (len(kept.axes) + 2):,} cases")
    indices = sobol(evaluate, kept, samples=samples, names=wanted, limits=limits, seed=seed)
    say(f"Sample size: {replicates} sequences, {replicates * samples // 2:,} cases")
    running = running_means(
        evaluate, factors, samples=samples // 2, replicates=replicates, names=wanted, limits=limits, seed=seed
    )
    spread, left = None, []
    along = _along(study, at or {})
    if not factors.coefficients:
        left.append("Spread of the coefficients: none is varied.")
    elif along is None:
        left.append("Spread of the coefficients: no input of numbers is swept to look along.")
    else:
        count = AT_PLACES if along.kind == "range" else len(along)
        say(f"Spread of {len(factors.coefficients)} coefficients: {count * (DRAWN + 1):,} cases")
        spreading = factors_of(study, at=at, conditions=False)
        spread = spread_over(evaluate, spreading, along, names=wanted, limits=limits, seed=seed)
    return Analysis(
        title=study.title, factors=factors, screened=screened, indices=indices, running=running, spread=spread,
        left_out=tuple(left),
    )  # fmt: skip


def _along(study: Study, at: Mapping[str, str]) -> Axis | None:
    """Input over whose values the spread is looked at."""
    free = {axis.name: axis for axis in study.axes if axis.name not in at and len(axis) > 1}
    numbers = [name for name, axis in free.items() if not isinstance(axis.values, tuple)]
    return next((free[name] for name in (*_ALONG, *numbers) if name in free), None)
