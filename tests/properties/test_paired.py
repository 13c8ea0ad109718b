"""What holds for every paired comparison."""

from __future__ import annotations

import numpy as np
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from toolkit.findings import pair
from toolkit.findings.intervals import block_interval, block_sums, mean_and_error
from toolkit.findings.paired import compare_results
from toolkit.findings.win_map import win_map
from toolkit.quantities import Outcome

DIMS = ("displacement", "wind_speed", "draw")
CODES = [int(o) for o in (Outcome.not_run, Outcome.completed, Outcome.completed, Outcome.timed_out, Outcome.collided)]
SHAPES = st.tuples(st.integers(1, 3), st.integers(1, 3), st.integers(1, 4))
COMPARED = ("mean_difference", "median_difference", "restricted_difference")


@st.composite
def two(draw: st.DrawFn) -> tuple[xr.Dataset, xr.Dataset]:
    """Two configurations over conditions and draws, with failures and holes."""
    shape = draw(SHAPES)
    parts = []
    for _ in range(2):
        codes = draw(arrays.arrays(np.int8, shape, elements=st.sampled_from(CODES)))
        values = draw(arrays.arrays(np.float64, shape, elements=st.integers(1, 60).map(float)))
        kept = np.where(codes == int(Outcome.completed), values, np.nan)
        coords = {dim: np.arange(size, dtype=float) for dim, size in zip(DIMS, shape, strict=True)}
        parts.append(
            xr.Dataset({"outcome": (DIMS, codes), "time_to_steady": (DIMS, kept)}, {**coords, "time_limit": 100.0})
        )
    return parts[0], parts[1]


def summary(first: xr.Dataset, second: xr.Dataset) -> xr.Dataset:
    return compare_results(first, second, resamples=29).sel(quantity="time_to_steady")


@settings(max_examples=10)
@given(two())
def test_turning_the_two_round_turns_every_sign(parts: tuple[xr.Dataset, xr.Dataset]) -> None:
    one, other = summary(*parts), summary(*parts[::-1])
    for name in (*COMPARED, "net_preference"):
        np.testing.assert_allclose(one[name], -other[name], atol=1e-12)
    np.testing.assert_allclose(one["mean_difference_t_low"], -other["mean_difference_t_high"], atol=1e-9)
    np.testing.assert_allclose(one["share_first_better"], other["share_second_better"], atol=1e-12)
    np.testing.assert_allclose(one["share_conditions_flipping"], other["share_conditions_flipping"])


@settings(max_examples=10)
@given(two(), st.randoms(use_true_random=False))
def test_the_order_of_draws_means_nothing(parts: tuple[xr.Dataset, xr.Dataset], chance) -> None:
    order = list(range(parts[0].sizes["draw"]))
    chance.shuffle(order)
    shuffled = [part.isel(draw=order) for part in parts]
    one, other = summary(*parts), summary(*shuffled)
    for name in (*COMPARED, "net_preference", "mean_difference_t_low", "share_conditions_flipping"):
        np.testing.assert_allclose(one[name], other[name], atol=1e-9)


@settings(max_examples=10)
@given(two())
def test_every_pair_is_accounted_for(parts: tuple[xr.Dataset, xr.Dataset]) -> None:
    found = compare_results(*parts, resamples=9)
    kinds = ("both_completed", "only_first", "only_second", "neither", "not_run")
    assert sum(int(found[f"{kind}_count"]) for kind in kinds) == int(found["pair_count"]) == parts[0]["outcome"].size
    here = found.sel(quantity="time_to_steady")
    run = int(found["pair_count"] - found["not_run_count"])
    assert int(here["restricted_count"]) == run
    if run:
        decided = float(here["share_first_better"] + here["share_second_better"])
        assert decided <= 1.0 + 1e-12
        net = float(here["share_first_better"] - here["share_second_better"])
        np.testing.assert_allclose(here["net_preference"], net, atol=1e-12)


@settings(max_examples=10)
@given(two())
def test_cells_of_a_map_add_up_to_the_whole(parts: tuple[xr.Dataset, xr.Dataset]) -> None:
    pairs = pair(*parts)
    found = win_map(pairs, DIMS[:2])
    count = found["run_count"]
    assert int(count.sum()) == int((~pairs["not_run"]).sum())
    if int(count.sum()):
        whole = summary(*parts)
        shared = (found["net_preference"] * count).sum() / count.sum()
        np.testing.assert_allclose(shared, whole["net_preference"], atol=1e-12)


@settings(max_examples=50)
@given(
    arrays.arrays(np.float64, st.integers(3, 30), elements=st.floats(-1e3, 1e3)),
    st.floats(-1e3, 1e3),
    st.floats(0.1, 100.0),
)
def test_intervals_move_and_stretch_with_the_values(values: np.ndarray, shift: float, stretch: float) -> None:
    ones = np.ones(values.size)
    one, other = (
        block_interval(values, ones, resamples=49),
        block_interval(stretch * values + shift, ones, resamples=49),
    )
    size = 1e-6 * (1.0 + stretch * np.abs(values).max() + abs(shift))
    for name in ("mean", "t_low", "t_high"):
        assert abs(getattr(other, name) - (stretch * getattr(one, name) + shift)) <= size


@given(arrays.arrays(np.float64, (4, 6), elements=st.one_of(st.floats(-9.0, 9.0), st.just(np.nan))))
def test_blocks_hold_all_values_once(values: np.ndarray) -> None:
    array = xr.DataArray(values, dims=("wind_speed", "draw"))
    for by in (("draw",), ("wind_speed",), ("draw", "wind_speed"), ()):
        sums, counts = block_sums(array, by)
        assert counts.sum() == np.isfinite(values).sum()
        mean, _, used = mean_and_error(sums, counts)
        assert used == (counts > 0).sum()
        if np.isfinite(values).any():
            np.testing.assert_allclose(mean, np.nanmean(values), atol=1e-12)
