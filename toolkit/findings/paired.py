"""Two configurations under the same gusts, crews and all else: paired differences with intervals (floor 5)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from toolkit.errors import Problem, StudyError
from toolkit.findings.alike import check_draws, differing_inputs, value_at
from toolkit.findings.censoring import TIMES, end_counts, horizon_of, restricted
from toolkit.findings.compare import pair, paired_quantities, summarise_pairs
from toolkit.findings.intervals import LEVEL, RESAMPLES, block_interval, block_sums, mean_and_error, sign_test
from toolkit.quantities.manoeuvres import LEAST_IS_WORST

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["DRAW", "blocks_of", "compare_along", "compare_results", "difference_of", "preference"]

DRAW = "draw"
"""Axis of replicates: each a draw of gusts and crew that all configurations meet alike."""

_BLOCK_WORDS = {
    DRAW: "draws of gusts and crew: the intervals say what other draws would give in the conditions run",
    "case": "sampled cases: the intervals say what other samples of the same conditions would give",
    "": "single cases of the grid, pairs that repeat (directions of the wind in a calm) together one, read as if they "
    "were drawn at random from the conditions: the intervals say how steady the mean is over conditions, not what "
    "other gusts or another crew would give",
}


def blocks_of(dims: Iterable[object], sizes: Mapping[Any, int]) -> tuple[str, ...]:
    """Dimensions whose combinations are resampled as a whole: draws, else samples, else every case alone."""
    names = [str(dim) for dim in dims]
    return next(((dim,) for dim in (DRAW, "case") if dim in names and sizes[dim] > 1), tuple(names))


def difference_of(pairs: xr.Dataset, name: str) -> xr.DataArray:
    """Paired difference, signed so that more than nothing speaks for the first."""
    difference: xr.DataArray = pairs[f"{name}_difference"]
    return -difference if name in LEAST_IS_WORST else difference


def sign_of(values: xr.DataArray) -> xr.DataArray:
    """1, 0 or -1; NaN stays."""
    return values.copy(data=np.sign(values.data))


def preference(pairs: xr.Dataset, name: str) -> xr.DataArray:
    """Which of a pair does better: 1 the first, -1 the second, 0 neither; NaN where not run.

    Where one alone completed it is the better, whatever the failed one's values
    would have been; where both did, the one with the better value; where neither
    did, the pair says nothing. For a time this is Gehan's score of two times of
    which some are only known to exceed the time limit (Gehan, Biometrika, 1965,
    cited so in the documentation of statistical packages; the paper was not read), taken within pairs.
    """
    import xarray as xr

    both = sign_of(difference_of(pairs, name)).where(pairs["both_completed"], 0.0)
    score: xr.DataArray = xr.where(pairs["only_first"], 1.0, xr.where(pairs["only_second"], -1.0, both))
    # a value that does not apply leaves a pair out; where it never applies, nothing is to be preferred
    idle = pairs["both_completed"] & both.isnull()
    if bool(idle.any()) and not bool((pairs["both_completed"] & ~idle).any()):
        return score.where(False)
    return score.where(~pairs["not_run"] & ~idle)


def compare_along(dataset: xr.Dataset, axis: str, first: Any, second: Any, **options: Any) -> xr.Dataset:
    """Compare two values of one axis of a grid; see :func:`compare_results`.

    Parameters
    ----------
    dataset : xarray.Dataset
        Results on a grid with `axis`.
    axis : str
        Name of an input.
    first, second : str or float
        Its values: words, numbers in dataset units, or texts with a unit.
    **options
        As for :func:`compare_results`.

    Raises
    ------
    StudyError
        If a value is not on the axis.
    """
    found = [value_at(dataset, axis, value) for value in (first, second)]
    parts = [dataset.isel({axis: place}, drop=True) for place, _ in found]
    names = (found[0][1], found[1][1])
    return compare_results(*parts, **{"names": names, **options}).assign_attrs(differs_in=axis)


def compare_results(
    first: xr.Dataset,
    second: xr.Dataset,
    *,
    names: tuple[str, str] = ("first", "second"),
    quantities: Iterable[str] | None = None,
    blocks: Iterable[str] | None = None,
    horizon: float | None = None,
    level: float = LEVEL,
    resamples: int = RESAMPLES,
    seed: int = 1,
) -> xr.Dataset:
    """Compare two configurations, pair by pair.

    Parameters
    ----------
    first, second : xarray.Dataset
        Results with the same dimensions; coordinates in common are paired, what
        only one has is counted.
    names : tuple of str
        What to call the two.
    quantities : iterable of str, optional
        Outcomes to compare, of which less is better unless they have a least
        limit; by default `toolkit.findings.compare.paired_quantities`.
    blocks : iterable of str, optional
        Dimensions whose combinations are resampled as a whole; by default
        ``draw``, else ``case``, else every case alone, pairs that repeat to the
        last bit as one.
    horizon : float, optional
        Time up to which times are counted [s]; the time limit unless given.
    level : float
        Confidence level of all intervals, each on its own.
    resamples, seed : int
        Of the bootstrap.

    Returns
    -------
    xarray.Dataset
        What :func:`toolkit.findings.compare.summarise_pairs` gives, and along
        ``quantity`` (``_low`` and ``_high`` by bootstrap of whole blocks,
        ``_t_low`` and ``_t_high`` by Student's t over blocks):

        - ``mean_first``, ``mean_second``, ``mean_difference``: of the pairs of
          which both completed; second less first [dataset unit];
        - ``share_sign_flips``: of these pairs, those whose difference has the
          other sign than the mean;
        - ``conditions_count``, ``share_conditions_flipping``: conditions run
          under several draws, and the share of them in which the sign of the
          difference is not the same in all draws; NaN without draws;
        - ``net_preference``: share of the pairs run in which the first does
          better less that in which the second does, see :func:`preference`;
          ``share_first_better``, ``share_second_better``; ``sign_test_p`` of
          blocks by the sign of their mean preference, NaN where blocks are not
          draws or samples;
        - ``pairing_gain``: how many times the variance of the mean difference
          would be larger without pairing, judged by blocks;
        - ``restricted_mean_first``, ``_second``, ``restricted_difference``: for
          times, of ``restricted_count`` pairs run, the horizon standing for a
          time not reached; NaN for all else;
        - ``blocks_count``: blocks that the difference rests on.

        Scalars ``first_<end>_count``, ``second_<end>_count`` by
        `toolkit.findings.censoring.ENDS`, and
        ``unshared_count``, cases that only one of the two has. Computed.

    Raises
    ------
    StudyError
        If the two cannot be paired: other dimensions, no case in common, other
        samples, or other draws under the same numbers.
    """
    import xarray as xr

    asked = tuple(paired_quantities(first) if quantities is None else quantities)
    first, second = (d[["outcome", *(q for q in asked if q in d.data_vars)]].compute() for d in (first, second))
    check_draws(first, second)
    differs = " ".join(differing_inputs(first, second))
    first, second = _lean(first), _lean(second)
    pairs = pair(first, second, names=names, quantities=asked)
    chosen = str(pairs.attrs["quantities"]).split()
    if not chosen:
        what = f"none of the outcomes asked for is in the results: {', '.join(asked) or 'none is named'}"
        raise StudyError([Problem(where="comparison", what=what, remedy="Name outcomes of the register")])
    one, two = xr.align(first, second, join="inner")
    dims = tuple(str(dim) for dim in pairs["both_completed"].dims)
    by = tuple(blocks) if blocks is not None else blocks_of(dims, pairs.sizes)
    options = {"level": level, "resamples": resamples, "seed": seed}
    watched = all("time_limit" in d.variables for d in (one, two))
    end = min(horizon_of(d, horizon) for d in (one, two)) if watched or horizon is not None else None
    merged = _repeats((one, two), ("outcome", *chosen), by) if set(by) >= set(dims) else None
    rows = [_row(pairs, one, two, name, by, merged, end, options) for name in chosen]
    unshared = first["outcome"].size + second["outcome"].size - 2 * one["outcome"].size
    found: dict[str, Any] = {key: ("quantity", np.array([row[key] for row in rows])) for key in rows[0]}
    found["unshared_count"] = unshared
    for side, part in (("first", one), ("second", two)):
        found |= {f"{side}_{name}_count": count for name, count in end_counts(part).items()}
    summary = summarise_pairs(pairs).assign(found)
    words = next((_BLOCK_WORDS[b] for b in (DRAW, "case") if by == (b,)), "")
    words = words or (_BLOCK_WORDS[""] if set(by) >= set(dims) else f"combinations of {', '.join(by)}")
    return summary.assign_attrs(
        level=level, resamples=resamples, bootstrap_seed=seed, blocks=" ".join(by), block_words=words,
        horizon=np.nan if end is None else end, differs_in=differs,
    )  # fmt: skip


def _lean(dataset: xr.Dataset) -> xr.Dataset:
    """Without the fixed inputs, which every step would merge anew, but for the time limit."""
    idle = [name for name in dataset.coords if name != "time_limit" and not dataset[name].ndim]
    return dataset.drop_vars(idle)


def _repeats(sides: Iterable[xr.Dataset], names: Iterable[str], by: tuple[str, ...]) -> NDArray[np.intp]:
    """Number of the block of every pair, one for all pairs that agree to the last bit on both sides.

    On a grid the directions of the wind in a calm, or the lengths of a line that is not used, are one case run once:
    pairs that repeat tell nothing more, and counted apart would make intervals too narrow. Pairs without any value
    are not known to repeat.
    """
    names = tuple(names)
    columns = [side[name].transpose(*by).values.astype(np.float64).ravel() for side in sides for name in names]
    table = np.column_stack(columns)
    known = np.isfinite(np.delete(table, [0, len(names)], axis=1)).any(axis=1)
    spare = np.where(known, 0.0, np.arange(known.size) + 1.0)
    filled = np.column_stack((np.where(np.isfinite(table), table, -1e300), spare))
    blocks: NDArray[np.intp] = np.unique(filled, axis=0, return_inverse=True)[1].ravel()
    return blocks


def _row(
    pairs: xr.Dataset, one: xr.Dataset, two: xr.Dataset, name: str, by: tuple[str, ...],
    merged: NDArray[np.intp] | None, end: float | None, options: Mapping[str, Any],
) -> dict[str, float]:  # fmt: skip
    """Everything about one outcome; `merged` are numbers of blocks that are one."""
    difference, score = pairs[f"{name}_difference"], preference(pairs, name)
    row: dict[str, float] = {}

    def sums(values: xr.DataArray) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        total, count = block_sums(values, by)
        if merged is None:
            return total, count
        added = [np.bincount(merged, part).astype(np.float64) for part in (total, count)]
        return added[0], added[1]

    def put(key: str, values: xr.DataArray) -> float:
        interval = block_interval(*sums(values), **options)
        row.update({key: interval.mean, f"{key}_low": interval.low, f"{key}_high": interval.high,
                    f"{key}_t_low": interval.t_low, f"{key}_t_high": interval.t_high})  # fmt: skip
        return interval.mean

    for side in ("first", "second"):
        row[f"mean_{side}"] = _mean(pairs[f"{name}_{side}"].where(difference.notnull()))
    mean = put("mean_difference", difference)
    row["blocks_count"] = float((sums(difference)[1] > 0).sum())
    put("share_sign_flips", (sign_of(difference) * np.sign(mean) < 0).astype(np.float64).where(difference.notnull()))
    row["conditions_count"], row["share_conditions_flipping"] = _flipping(difference)
    put("net_preference", score)
    for side, sign in (("first", 1), ("second", -1)):
        row[f"share_{side}_better"] = _mean((score == sign).where(score.notnull()))
    of_blocks = block_sums(score, by)[0]
    drawn = by in ((DRAW,), ("case",))
    row["sign_test_p"] = float(sign_test((of_blocks > 0).sum(), (of_blocks < 0).sum())) if drawn else np.nan
    row["pairing_gain"] = _gain(pairs, name, by)
    times = [difference.where(False)] * 2
    if name in TIMES and end is not None:
        times = [restricted(part, name, end).where(~pairs["not_run"]) for part in (one, two)]
    put("restricted_difference", times[1] - times[0])
    both = times[0].notnull() & times[1].notnull()
    row["restricted_count"] = float(both.sum())
    row["restricted_mean_first"], row["restricted_mean_second"] = (_mean(time.where(both)) for time in times)
    return row


def _mean(values: xr.DataArray) -> float:
    there = values.values[np.isfinite(values.values.astype(np.float64))]
    return float(there.mean()) if there.size else np.nan


def _flipping(difference: xr.DataArray) -> tuple[float, float]:
    """Conditions compared under two draws or more, and the share of them in which draws disagree on the sign."""
    if DRAW not in difference.dims:
        return 0.0, np.nan
    several = difference.notnull().sum(DRAW) > 1
    apart = (difference.max(DRAW) > 0) & (difference.min(DRAW) < 0)
    count = float(several.sum())
    return count, float((apart & several).sum()) / count if count else np.nan


def _gain(pairs: xr.Dataset, name: str, by: tuple[str, ...]) -> float:
    """Variance of an unpaired difference of means over that of the paired one."""
    there = pairs[f"{name}_difference"].notnull()
    errors = [
        float(mean_and_error(*block_sums(pairs[f"{name}_{side}"].where(there), by))[1])
        for side in ("first", "second", "difference")
    ]
    return (errors[0] ** 2 + errors[1] ** 2) / errors[2] ** 2 if errors[2] > 0 else np.nan
