"""Whether the effect of one input hangs on another: means over two axes (floor 5)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from toolkit.errors import Problem, StudyError
from toolkit.findings.censoring import filled
from toolkit.findings.intervals import LEVEL, block_sums, mean_and_error, t_reach
from toolkit.findings.paired import DRAW
from toolkit.findings.reading import outcome_of, require
from toolkit.quantities import Outcome

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["interaction"]


def interaction(
    dataset: xr.Dataset, first: str, second: str, quantity: str = "time_to_steady", *, level: float = LEVEL
) -> xr.Dataset:
    """Mean of an outcome over two axes, and how far the two do more than add up.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results on a grid.
    first, second : str
        Two axes; the mean is over all others.
    quantity : str
        An outcome. Failed cases count in the mean, see
        :func:`toolkit.findings.censoring.filled`.
    level : float
        Confidence level of the interval.

    Returns
    -------
    xarray.Dataset
        Over (`first`, `second`): ``mean``, ``low``, ``high`` (Student's t over
        draws; NaN without draws, as the other cases of a cell are conditions and
        no sample) [dataset unit], ``share_completed``, ``stood_in_share``,
        ``run_count``. Scalar ``interaction_share``: of the variance between the
        means, the share that is left once the best sum of one function of each
        axis is taken off (two-way layout without replicates); 0 where the two
        only add up, NaN where a cell is empty or nothing varies. Attribute
        ``stand_in``: what stands in for failed cases. Computed.

    Raises
    ------
    StudyError
        If an axis is not swept, or the two are one.
    """
    import xarray as xr

    require(dataset, (quantity,), "the mean over two axes")
    dims = [str(dim) for dim in dataset["outcome"].dims]
    problems = [
        Problem(where="interaction", what=f"{axis} is not swept on a grid", remedy=f"Choose from: {', '.join(dims)}")
        for axis in dict.fromkeys((first, second))
        if axis not in dims or axis == "case"
    ]
    if first == second:
        problems.append(Problem(where="interaction", what=f"{first} is named twice", remedy="Name two axes"))
    if problems:
        raise StudyError(problems)
    needed = dataset[["outcome", quantity]]
    # without the fixed inputs, which every step would merge anew; the time limit is asked for
    needed = needed.drop_vars([n for n in needed.coords if n not in (*needed.dims, "time_limit")]).compute()
    values, stood_in, words = filled(needed, quantity)
    over = [dim for dim in dims if dim not in (first, second)]
    mean, error, blocks = mean_and_error(*block_sums(values, (DRAW,), (first, second)))
    reach = t_reach(blocks, level) * error
    run = outcome_of(needed) != int(Outcome.not_run)
    count = run.sum(over)
    completed = (outcome_of(needed) == int(Outcome.completed)).sum(over)
    names = (first, second)
    found = xr.Dataset(
        {
            "mean": (names, mean),
            "low": (names, mean - reach),
            "high": (names, mean + reach),
            "share_completed": completed / count.where(count > 0),
            "stood_in_share": stood_in.sum(over) / count.where(count > 0),
            "run_count": count,
            "interaction_share": _left_over(mean),
        },
        coords={name: dataset[name] for name in names if name in dataset.coords},
        attrs={**dataset.attrs, "quantity": quantity, "stand_in": words, "level": level},
    )
    return found.transpose(*names)


def _left_over(means: np.ndarray) -> float:
    """Share of the variance of a table of means that rows plus columns leave over."""
    apart = means - means.mean()
    total = float((apart**2).sum())
    if not np.isfinite(total) or total == 0.0:
        return np.nan
    left = apart - apart.mean(0) - apart.mean(1)[:, None]
    return float((left**2).sum()) / total
