"""The ground that runs sweep, cell by cell: rasters, edges, outlines not known, and what is kept of each run."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from toolkit.findings.swept import CELL_SIZES, SweptRun, _raster, swept_share
from toolkit.quantities import Outcome


def box(east: float, north: float, width: float, height: float) -> np.ndarray:
    return np.array([east, north]) + np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])


NOTHING = np.empty((0, 4, 2))


def run(barge: np.ndarray, tug: np.ndarray = NOTHING, **changes: Any) -> SweptRun:
    given = {
        "case": 0, "outcome": "completed", "track": np.array([[1.0, 2.0], [3.0, 4.0]]), "room": 5.0,
        "conditions": {"wind_speed": 6.0, "wind_from": 90.0},
    }  # fmt: skip
    return SweptRun(**{"barge": barge, "tug": tug, **given, **changes})


@pytest.mark.parametrize(
    ("reach", "side"), [(100.0, 0.5), (200.0, 0.5), (201.0, 1.0), (401.0, 2.0), (20000.0, 50.0), (30000.0, 50.0)]
)
def test_cells_are_the_smallest_of_which_four_hundred_span_the_ground(reach: float, side: float) -> None:
    east, north, found = _raster([box(0.0, 0.0, reach, 50.0)], None)
    assert found == side
    # one cell of margin all round; edges are multiples of the side
    assert (east[0], east[-1]) == (-0.5 * side, (math.ceil(reach / side) + 0.5) * side)
    assert (north[0], north[-1]) == (-0.5 * side, (math.ceil(50.0 / side) + 0.5) * side)
    np.testing.assert_allclose(np.diff(east), side)
    assert _raster([box(0.0, 0.0, 50.0, reach)], None)[2] == side


def test_a_raster_begins_below_the_least_corner_of_all_and_may_be_given() -> None:
    east, north, side = _raster([box(-3.2, 1.0, 1.0, 1.0), box(5.0, -7.0, 1.0, 1.0)], 2.0)
    assert side == 2.0
    assert east.tolist() == [-5.0, -3.0, -1.0, 1.0, 3.0, 5.0, 7.0]
    assert north.tolist() == [-9.0, -7.0, -5.0, -3.0, -1.0, 1.0, 3.0]
    nothing = _raster([], None)
    assert not nothing[0].size and not nothing[1].size and nothing[2] == CELL_SIZES[0]
    assert _raster([], 3.0)[2] == 3.0


def test_a_centre_on_an_edge_is_swept_and_one_beyond_is_not() -> None:
    for turned in (1, -1):  # whichever way round the outline runs
        found = swept_share([run(box(0.5, 0.5, 2.0, 1.0)[None, ::turned])], cell=1.0)
        swept = found["completed_count"].values.nonzero()
        assert sorted({float(found["north"][i]) for i in swept[0]}) == [0.5, 1.5]
        assert sorted({float(found["east"][i]) for i in swept[1]}) == [0.5, 1.5, 2.5]
        assert float(found["area"][0]) == 6.0
    inside = swept_share([run(box(0.6, 0.6, 1.8, 1.0)[None])], cell=1.0)
    assert float(inside["area"][0]) == 1.0


def test_a_slanted_edge_cuts_the_cells_that_it_leaves_outside() -> None:
    triangle = np.array([[0.0, 0.0], [4.0, 0.0], [0.0, 4.0]])[None]
    # east + north <= 4: of rows at 0.5, 1.5, 2.5 and 3.5 there are 4, 3, 2 and 1 centres
    found = swept_share([run(triangle, NOTHING)], cell=1.0)
    assert found["completed_count"].sum("east").values.tolist() == [0, 4, 3, 2, 1, 0]


@pytest.mark.parametrize(("whole", "least"), [(1, [1, 1, 1]), (3, [1, 2, 3]), (10, [1, 5, 9]), (11, [1, 6, 10])])
def test_a_share_is_made_up_by_so_many_runs(whole: int, least: list[int]) -> None:
    # run k sweeps k cells, side by side: n runs or more sweep the first whole + 1 - n of them
    runs = [run(box(0.0, 0.0, float(k), 1.0)[None], case=k) for k in range(1, whole + 1)]
    found = swept_share([*runs, run(box(0.0, 0.0, 50.0, 1.0)[None], outcome="aground")], cell=1.0)
    assert found["least_count"].values.tolist() == least
    assert found["area_swept"].values.tolist() == [float(whole + 1 - number) for number in least]
    assert (found.attrs["run_count"], found.attrs["completed_count"], found.attrs["failed_count"]) == (
        whole + 1,
        whole,
        1,
    )
    first = found["share_swept"].sel(north=0.5, east=0.5)
    assert float(first) == 1.0 and float(found["share_swept"].sel(north=0.5, east=whole - 0.5)) == pytest.approx(
        1 / whole
    )


def test_outlines_that_are_not_known_are_left_out_and_runs_without_any_counted() -> None:
    gone = np.full((1, 4, 2), np.nan)
    half = run(np.concatenate([gone, box(0.0, 0.0, 2.0, 1.0)[None]]), box(2.0, 0.0, 1.0, 1.0)[None])
    assert len(half.outlines) == 2 and half.completed
    lost = run(gone, outcome="aground")
    assert lost.outlines == [] and not lost.completed
    found = swept_share([half, lost, run(NOTHING)], cell=1.0)
    assert found.attrs["without_place"] == 2
    assert found["barge_area"].values.tolist() == [2.0, 0.0, 0.0] and found["area"].values.tolist() == [3.0, 0.0, 0.0]
    # where each lay first, known or not; empty where she has no outline
    np.testing.assert_array_equal(found["barge_start_east"].values, np.full((3, 4), np.nan))
    np.testing.assert_array_equal(found["tug_start_east"].values[0], [2.0, 3.0, 3.0, 2.0])
    np.testing.assert_array_equal(found["tug_start_north"].values[0], [0.0, 0.0, 1.0, 1.0])
    assert np.isnan(found["tug_start_north"].values[1:]).all()


def test_of_each_run_its_end_its_room_its_track_and_its_weather_are_kept() -> None:
    found = swept_share([run(NOTHING, case=7), run(NOTHING, case=9, outcome="aground", room=math.nan, conditions={})])
    assert found["case"].values.tolist() == [7, 9]
    assert found["outcome"].values.tolist() == [int(Outcome.completed), int(Outcome.aground)]
    np.testing.assert_array_equal(found["room"], [5.0, np.nan])
    np.testing.assert_array_equal(found["wind_from"], [90.0, np.nan])
    assert found["track_east"].sel(moment="end").values.tolist() == [3.0, 3.0]
    assert found["track_north"].sel(moment="start").values.tolist() == [2.0, 2.0]
    none = swept_share([])
    assert (
        none.attrs["run_count"] == 0
        and none["area_swept"].isnull().all()
        and none["least_count"].values.tolist() == [1, 1, 1]
    )


def test_areas_are_those_of_cells_of_any_size_far_from_the_centre() -> None:
    here = box(1000.0, -2000.0, 8.0, 4.0)
    hulls = {"barge": here[None], "tug": box(1008.0, -2000.0, 2.0, 2.0)[None]}
    coarse = swept_share([run(**hulls)], cell=2.0)
    assert (float(coarse["barge_area"][0]), float(coarse["area"][0])) == (32.0, 36.0)
    assert coarse["area_swept"].values.tolist() == [36.0] * 3
    fine = swept_share([run(**hulls)])
    assert fine.attrs["cell"] == 0.5 and float(fine["area"][0]) == 36.0


def test_outlines_of_more_corners_than_others_are_kept_whole() -> None:
    triangle = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])[None]
    found = swept_share([run(NOTHING, triangle), run(NOTHING, box(0.0, 0.0, 1.0, 1.0)[None])], cell=1.0)
    np.testing.assert_array_equal(found["tug_start_east"], [[0.0, 1.0, 0.0, np.nan], [0.0, 1.0, 1.0, 0.0]])
