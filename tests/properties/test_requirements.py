"""Requirements hold in every case of their bands, ask for no more than they must, and do not hang on the layout."""

from __future__ import annotations

import numpy as np
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from toolkit.findings import (
    Standby,
    apply_limits,
    back_test_rules,
    permitted_by_requirement,
    requirement,
    standby_need,
)

PULLS, MASSES, WINDS, DIRECTIONS = [1e5, 2e5, 3e5, 4e5], [3e5, 6e5, 9e5], [0.0, 5.0, 10.0], [0.0, 90.0]
AXES = {"bollard_pull": PULLS, "displacement": MASSES, "wind_speed": WINDS, "wind_from": DIRECTIONS}
codes_of_grids = arrays(np.int8, (4, 3, 3, 2), elements=st.sampled_from([1, 1, 1, 1, 4, 7, 0]))
shares = st.sampled_from([0.5, 1.0])
few = settings(max_examples=8)


def grid(codes: np.ndarray, axes: dict[str, list[float]] = AXES) -> xr.Dataset:
    dataset = xr.Dataset({"outcome": (tuple(axes), codes)}, coords={k: np.array(v) for k, v in axes.items()})
    return apply_limits(dataset, {})


def brute_force(codes: np.ndarray, mass: int, wind: int, pull: int, share: float) -> bool:
    """Whether one pull passes at all points of a band of displacement and up to a wind, by plain loops."""
    for m in (mass, mass + 1):
        for w in range(wind + 1):
            if sum(int(code) == 1 for code in codes[pull, m, w]) < share * 2:
                return False
    return True


@few
@given(codes_of_grids, shares)
def test_every_value_asked_for_passes_and_no_smaller_one_does(codes: np.ndarray, share: float) -> None:
    found = requirement(grid(codes), share=share)
    for mass, wind in np.ndindex(2, 3):
        passing = [brute_force(codes, mass, wind, pull, share) for pull in range(4)]
        smallest, largest = (float(found[name][mass, wind]) for name in ("smallest", "largest"))
        if not any(passing):
            assert np.isnan(smallest) and np.isnan(largest)
            continue
        first = passing.index(True)
        last = first + (passing[first:].index(False) - 1 if False in passing[first:] else len(passing[first:]) - 1)
        assert (smallest, largest) == (PULLS[first], PULLS[last])
        assert bool(found["passes_again"][mass, wind]) == any(passing[last + 1 :])


@few
@given(codes_of_grids, shares)
def test_stronger_wind_and_larger_share_never_ask_for_less(codes: np.ndarray, share: float) -> None:
    judged = grid(codes)
    found = requirement(judged, share=share)["smallest"].fillna(np.inf).values
    assert (np.maximum.accumulate(found, axis=1) == found).all()
    assert (requirement(judged, share=1.0)["smallest"].fillna(np.inf).values >= found).all()


@few
@given(codes_of_grids)
def test_a_wider_band_asks_for_no_less_than_its_parts(codes: np.ndarray) -> None:
    judged = grid(codes)
    parts = requirement(judged)["smallest"].fillna(np.inf).max("displacement_band").values
    whole = requirement(judged, bands={"displacement": [3e5, 9e5], "wind_speed": None})["smallest"].fillna(np.inf)
    assert (whole.values[0] >= parts).all()


@few
@given(codes_of_grids, st.permutations(list(AXES)), st.booleans())
def test_the_order_of_axes_and_values_does_not_matter(codes: np.ndarray, order: list[str], turned: bool) -> None:
    judged = grid(codes)
    other = judged.transpose("limit", *order)
    if turned:
        other = other.isel({name: slice(None, None, -1) for name in order})
    one, two = requirement(judged, share=0.5), requirement(other, share=0.5)
    dims = one["smallest"].dims
    for name in ("smallest", "largest", "asked", "status", "binds", "binds_above", "share", "passes_again"):
        np.testing.assert_array_equal(one[name].values, two[name].transpose(*dims).values, err_msg=name)


@few
@given(codes_of_grids, shares)
def test_a_requirement_permits_nothing_that_fails(codes: np.ndarray, share: float) -> None:
    judged = grid(codes)
    found = requirement(judged, share=share)
    tested = back_test_rules(judged, {"this": permitted_by_requirement(found, judged)}, share=share)
    assert int(tested["too_lax"].sum()) == 0


@few
@given(codes_of_grids, arrays(np.int8, (4, 3, 3, 2), elements=st.sampled_from([1, 1, 4])))
def test_no_standby_tug_from_the_pull_on_that_is_said(codes: np.ndarray, failed: np.ndarray) -> None:
    axes = {"failure": [0, 1], **AXES}
    judged = grid(np.stack([codes, failed]), axes).assign_coords(failure=["none", "black_out"])
    need = standby_need(judged).isel(failure=0)
    for mass, wind in np.ndindex(2, 3):
        kinds = need["need"][:, mass, wind].values
        limit = float(need["smallest_without"][mass, wind])
        if np.isfinite(limit):
            beyond = kinds[np.array(PULLS) >= limit]
            assert beyond[0] == Standby.not_needed
            assert set(beyond.tolist()) <= {int(Standby.not_needed), int(Standby.not_permitted)}
        for place, kind in enumerate(kinds):
            well = brute_force(codes, mass, wind, place, 1.0)
            if kind == Standby.needed:
                assert well and not brute_force(failed, mass, wind, place, 1.0)
