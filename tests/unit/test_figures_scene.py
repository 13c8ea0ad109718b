"""What moves in a plan view: hulls, line, drives, and what lies about them."""

from __future__ import annotations

import json

import numpy as np
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st

from tests import synthetic
from toolkit.errors import StudyError
from toolkit.figures.levels import target_levels
from toolkit.figures.moving_view import thrust_arrow
from toolkit.figures.outlines import draw_outlines
from toolkit.figures.player_data import player_data
from toolkit.figures.reading_history import clock, events_of, streams_of
from toolkit.figures.scene import MOST_SWEPT, SLACK_SHARE, Drive, placed, scene_of, spaced, swept_places
from toolkit.figures.strips import strips_of
from toolkit.figures.surroundings import BEYOND, surroundings_of, view_of
from toolkit.motion import vessel_rows
from toolkit.particulars.tug_shares import TYPE_SHARES

EDGE = [[-75, -60], [75, -60], [75, 60], [-75, 60]]
SHOAL = [[60, -60], [30, -60], [40, -35]]
BERTH = [[73, -40], [73, 50]]


def around(**attributes: object) -> xr.Dataset:
    """History with surroundings and no basin radius."""
    whole = synthetic.history(count=60).drop_vars("basin_radius")
    return whole.assign_attrs({name: json.dumps(value) for name, value in attributes.items()})


def scene(history: xr.Dataset):
    found = scene_of(history)
    assert found is not None
    return found


def test_hull_points_are_placed_east_and_north_by_heading() -> None:
    bow_and_starboard = np.array([[10.0, 0.0], [0.0, 4.0]])
    np.testing.assert_allclose(placed(bow_and_starboard, 100.0, 200.0, 90.0), [[210.0, 100.0], [200.0, 96.0]])
    np.testing.assert_allclose(placed(bow_and_starboard, 0.0, 0.0, 180.0), [[0.0, -10.0], [-4.0, 0.0]], atol=1e-12)


def test_line_runs_between_its_points_and_is_slack_as_the_outcome_counts_it() -> None:
    assert SLACK_SHARE == vessel_rows.SLACK_SHARE
    history = synthetic.history(count=60)
    slack = SLACK_SHARE * history.attrs["line_mbl"]
    history["line_tension"] = ("time", np.where(np.arange(60) < 20, 0.9 * slack, 1.1 * slack))
    found = scene(history)
    assert found.line is not None
    assert not found.line.taut[:20].any() and found.line.taut[20:].all()
    # at the start the barge heads north at the origin: her towing point is 14 m north of it
    np.testing.assert_allclose(found.line_ends(0)[0], [0.0, 14.0], atol=1e-9)
    tug = [history[f"tug_{name}"].values[0] for name in ("east", "north", "heading")]
    on_tug = found.line_ends(0)[1] - tug[:2]
    assert np.hypot(*on_tug) == pytest.approx(3.0)
    assert np.rad2deg(np.arctan2(*on_tug)) % 360 == pytest.approx((tug[2] + 180.0) % 360)


def test_a_line_that_a_leg_does_without_is_not_drawn() -> None:
    history = synthetic.history(count=60)
    history["line_tension"] = ("time", np.where(np.arange(60) < 30, 2e4, np.nan))
    found = scene(history)
    assert found.line is not None and found.line.on.tolist() == [True] * 30 + [False] * 30
    lines = draw_outlines(history).panel.axes[0].lines
    shown = spaced(found, 7)
    assert sum(line.get_color() == "black" for line in lines) == int(found.line.on[shown].sum()) < shown.size
    told = player_data(history, (), [])["columns"]["line_taut"]
    assert told[29] == 1 and told[30] is None


def test_legs_count_their_turns_from_their_own_start_so_no_target_is_drawn() -> None:
    history = synthetic.history(count=21)
    assert [level.words for level in target_levels(history)] == ["target"]
    legs = [{"manoeuvre": "tow_ahead"}, {"manoeuvre": "swing_push", "target_heading": 180.0}]
    assert not target_levels(history.assign_attrs(legs=json.dumps(legs), study="{}"))


def test_a_line_off_the_centreline_starts_there() -> None:
    found = scene(synthetic.history(count=20).assign_attrs(barge_towing_offset=-3.0))
    np.testing.assert_allclose(found.line_ends(0)[0], [-3.0, 14.0], atol=1e-9)


def test_no_line_in_a_push() -> None:
    assert scene(synthetic.history("swing_push", 30)).line is None


@pytest.mark.parametrize(("tug_type", "code"), [("tractor", 0), ("azimuth_stern_drive", 1)])
def test_drives_lie_where_tugs_of_her_type_have_them_unless_told(tug_type: str, code: int) -> None:
    history = synthetic.history(count=30).assign_coords(tug_type=tug_type)
    port, starboard = scene(history).drives
    assert port.ahead == starboard.ahead == pytest.approx(TYPE_SHARES[code].drive_x.value * 24.0)
    assert port.starboard == -starboard.starboard < 0.0
    port, starboard = scene(history.assign_attrs(tug_drive_point=-7.0, tug_drive_half_spacing=2.5)).drives
    assert (port.ahead, port.starboard, starboard.starboard) == (-7.0, -2.5, 2.5)


@pytest.mark.parametrize(("direction", "tip"), [(0.0, (11.0, 1.0)), (90.0, (5.0, 7.0)), (180.0, (-1.0, 1.0))])
def test_an_arrow_begins_at_the_drive_and_points_where_it_drives_her(
    direction: float, tip: tuple[float, float]
) -> None:
    drive = Drive(words="port drive", ahead=5.0, starboard=1.0, thrust=np.ones(1), direction=np.array([direction]))
    corners = thrust_arrow(drive, 0, 6.0)
    np.testing.assert_allclose(corners[3], tip, atol=1e-9)
    np.testing.assert_allclose(0.5 * (corners[0] + corners[-1]), (5.0, 1.0), atol=1e-9)


def test_swept_outlines_leave_no_gap_where_only_the_tug_moves() -> None:
    count = 400
    history = synthetic.history(count=count)
    for name in ("barge_north", "barge_east", "barge_heading"):
        history[name] = ("time", np.zeros(count))
    history["tug_north"], history["tug_east"] = ("time", np.linspace(0.0, 120.0, count)), ("time", np.full(count, 40.0))
    history["tug_heading"] = ("time", np.where(np.arange(count) % 2, 0.5, 359.5))  # about north, no whole turns
    found = scene(history)
    places = swept_places(found)
    assert places[0] == 0 and places[-1] == count - 1
    assert np.diff(found.tug.north[places]).max() <= 0.5 * 9.0
    assert places.size < 200
    assert spaced(found, 7).size <= 7


def test_swept_outlines_are_bounded() -> None:
    history = synthetic.history(count=3000)
    history["barge_north"] = ("time", np.linspace(0.0, 9000.0, 3000))
    assert swept_places(scene(history)).size <= MOST_SWEPT


def test_surroundings_are_read_as_east_and_north() -> None:
    found = surroundings_of(around(basin_edge=EDGE, basin_shoals=[SHOAL, EDGE], berth_line=BERTH))
    assert found.edge is not None and found.berth is not None
    np.testing.assert_allclose(found.edge, np.array(EDGE)[:, ::-1])
    np.testing.assert_allclose(found.shoals[0], np.array(SHOAL)[:, ::-1])
    np.testing.assert_allclose(found.berth, np.array(BERTH)[:, ::-1])
    assert len(found.shoals) == 2
    nothing = surroundings_of(around(basin_shoals=[]))
    assert nothing.edge is None and nothing.berth is None and not nothing.shoals and np.isnan(nothing.radius)


def test_every_attribute_that_cannot_be_read_is_named() -> None:
    history = around(basin_shoals=[[[0, 0], [1, 1]]], berth_line=[[0, 0], [1, 1], [2, 2]]).assign_attrs(
        basin_edge="[[0, 0], [1, "
    )
    with pytest.raises(StudyError) as caught:
        surroundings_of(history)
    assert [problem.where for problem in caught.value.problems] == [
        f"history attribute '{name}'" for name in ("basin_edge", "basin_shoals", "berth_line")
    ]
    for wrong in (
        "{}",
        "3",
        '[["a", "b"], [1, 2], [3, 4]]',
        "[[1, 2, 3], [1, 2, 3], [1, 2, 3]]",
        "[[1, NaN], [1, 2], [3, 4]]",
    ):
        with pytest.raises(StudyError, match="basin_edge"):
            surroundings_of(around().assign_attrs(basin_edge=wrong))


def test_a_view_reaches_out_to_what_is_near_and_says_what_is_not() -> None:
    found = scene(around())
    places = swept_places(found)
    hulls = found.corners(places)
    near = view_of(found, surroundings_of(around(basin_edge=EDGE)), places)
    assert near.words == "edge of the basin as given"
    assert near.points[:, 1].min() == -75.0 and near.pair < near.reach() == 150.0
    far = view_of(found, surroundings_of(around(basin_edge=(10 * np.array(EDGE)).tolist())), places)
    assert far.words.endswith("(beyond the drawing)") and len(far.points) == len(hulls)
    limit = BEYOND * float(np.abs(hulls).max())
    for radius, words in ((0.9 * limit, "basin radius"), (1.1 * limit, "beyond")):
        round_basin = surroundings_of(around().assign_attrs(basin_radius=radius))
        assert words in view_of(found, round_basin, places).words
    assert view_of(found, surroundings_of(around()), places).words == "no basin radius given"


def test_the_print_of_outlines_shows_surroundings() -> None:
    from matplotlib.patches import Polygon

    ax = draw_outlines(around(basin_edge=EDGE, basin_shoals=[SHOAL], berth_line=BERTH)).panel.axes[0]
    shapes = [patch.get_xy()[:-1] for patch in ax.patches if isinstance(patch, Polygon)]
    for wanted in (EDGE, SHOAL):
        assert any(
            shape.shape == np.shape(wanted) and np.allclose(shape, np.array(wanted)[:, ::-1]) for shape in shapes
        )
    assert any(
        np.allclose(line.get_xydata(), np.array(BERTH)[:, ::-1]) for line in ax.lines if len(line.get_xydata()) == 2
    )


def test_wind_points_where_it_blows_to_and_current_where_it_runs_to() -> None:
    wind, current = streams_of(synthetic.history(count=5))
    assert wind.toward % 360 == 60.0 and wind.words[1] == "from 240 deg"
    assert current.toward == 90.0 and current.words[1] == "to 090 deg"
    calm = synthetic.history(count=5).assign_coords(wind_speed=0.0).drop_vars("current_to")
    assert [stream.words for stream in streams_of(calm)] == [("no wind",), ("current not recorded",)]
    assert all(np.isnan(stream.toward) for stream in streams_of(calm))


def test_strips_are_of_what_the_case_has_and_keep_their_levels_in_sight() -> None:
    pull = {strip.name: strip for strip in strips_of(synthetic.history(count=50))}
    push = {strip.name: strip for strip in strips_of(synthetic.history("swing_push", 50))}
    assert set(pull) - set(push) == {"line_tension"} and set(push) - set(pull) == {"contact_force"}
    assert {level.words for level in pull["line_tension"].levels} == {"fitting's SWL"}
    assert {level.words for level in pull["line_tension"].off_scale} == {"line's MBL", "limit on MBL"}
    assert "line's MBL 75 t, off the scale" in pull["line_tension"].level_words()
    assert pull["tug_heel"].level_words().count("deck edge 13 deg, either side") == 1
    for strip in (*pull.values(), *push.values()):
        known = [*strip.values[np.isfinite(strip.values)], *(level.value for level in strip.levels)]
        assert strip.low <= min(known) and max(known) <= strip.high


def test_an_end_that_was_not_meant_is_an_event() -> None:
    assert [event.ends for event in events_of(synthetic.history(count=20))] == [False, False]
    last = events_of(synthetic.history(count=20, outcome=8))[-1]
    assert last.ends and last.words == "ended: collided" and last.time == 350.0


def test_legs_of_a_job_are_events_from_where_they_begin() -> None:
    made = synthetic.history(count=21)
    made["leg"] = ("time", np.repeat([1.0, 2.0, 3.0], 7))
    legs = [{"manoeuvre": "tow_ahead"}, {"manoeuvre": "check_way"}, {"manoeuvre": "side_push"}, {"manoeuvre": "hold"}]
    events = events_of(made.assign_attrs(legs=json.dumps(legs), study="{}", time_to_berth=340.0))
    words = ["leg 1, tow ahead", "leg 2, check way", "leg 3, side push", "berth met"]
    assert [event.words for event in events] == words
    assert [event.time for event in events] == [0.0, made["time"].values[7], made["time"].values[14], 340.0]


@given(st.floats(0.0, 20000.0))
def test_clock_tells_whole_seconds(seconds: float) -> None:
    minutes, rest = clock(seconds).removesuffix(" s").split(" min ")
    assert len(rest) == 2 and int(rest) < 60
    assert abs(60 * int(minutes) + int(rest) - seconds) <= 0.5
