"""Moving pictures: small, whole, and of whatever a history holds."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from tests import synthetic
from toolkit.errors import StoreError, StudyError
from toolkit.figures import animate_history, can_write_mp4, moving_view
from toolkit.figures.animation import chosen_entries
from toolkit.figures.moving_view import INKS, MovingView
from toolkit.figures.style import drawing

pytestmark = pytest.mark.whole

SHORT = {"frames_per_second": 4.0, "duration": 1.0}

needs_ffmpeg = pytest.mark.skipif(not can_write_mp4(), reason="ffmpeg is a system package, and is not on this machine")


def pictures_of(path: Path) -> list[np.ndarray]:
    with Image.open(path) as image:
        found = []
        for number in range(image.n_frames):
            image.seek(number)
            found.append(np.asarray(image.convert("RGB")))
        return found


@given(st.integers(0, 30000), st.integers(1, 600))
def test_entries_are_spread_evenly_from_the_first_to_the_last(entries: int, frames: int) -> None:
    chosen = chosen_entries(entries, frames)
    assert chosen.size == min(entries, frames)
    if entries and frames > 1:
        assert chosen[0] == 0 and chosen[-1] == entries - 1
    if chosen.size > 1:
        gaps = np.diff(chosen)
        assert gaps.min() >= 1 and gaps.max() - gaps.min() <= 1


@pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")
@pytest.mark.parametrize("manoeuvre", ["swing_pull", "swing_push"])
def test_a_gif_moves_keeps_time_and_says_where_it_is_from(manoeuvre: str, tmp_path: Path) -> None:
    path = animate_history(synthetic.history(manoeuvre, 300), tmp_path / "new" / "moving.gif", **SHORT)
    with Image.open(path) as image:
        assert image.size == (moving_view.WIDTH, moving_view.HEIGHT)
        times = []
        for number in range(image.n_frames):
            image.seek(number)
            times.append(image.info["duration"])
        assert b"study 0123456789abcdef" in image.info["comment"] and b"Screening aid only" in image.info["comment"]
    assert times == [250] * 3 + [2000]
    assert path.stat().st_size < 300_000
    frames = pictures_of(path)
    assert all((one != other).any() for one, other in itertools.pairwise(frames))


def test_the_same_history_gives_the_same_bytes(tmp_path: Path) -> None:
    history = synthetic.history(count=60)
    one, other = (animate_history(history, tmp_path / name, **SHORT).read_bytes() for name in ("a.gif", "b.gif"))
    assert one == other


def test_what_stands_still_is_painted_the_same_with_and_without_copying() -> None:
    """The copy of the background is a matter of speed: each picture alone is the picture in the row."""
    history = synthetic.history(count=40)
    with drawing():
        row = list(MovingView(history).pictures(np.array([0, 20, 39])))
        alone = [next(MovingView(history).pictures(np.array([place]))) for place in (0, 20, 39)]
    for one, other in zip(row, alone, strict=True):
        np.testing.assert_array_equal(one, other)


def test_a_view_leafs_after_a_barge_that_goes_far() -> None:
    history = synthetic.history(count=40)
    away = np.linspace(0.0, 2000.0, 40)
    history = history.assign(barge_east=history["barge_east"] + away, tug_east=history["tug_east"] + away)
    with drawing():
        view = MovingView(history)
        limits = []
        for _ in view.pictures(np.arange(0, 40, 8)):
            low, high = view._plan.get_xlim()
            limits.append((low, high))
        tall = np.ptp(view._plan.get_ylim()) / (0.755 * moving_view.HEIGHT)
    wide = (limits[0][1] - limits[0][0]) / (0.565 * moving_view.WIDTH)
    assert wide == pytest.approx(tall, rel=1e-6), "one scale on both axes"
    assert len(set(limits)) > 3
    for (low, high), east in zip(limits, history["barge_east"].values[::8], strict=True):
        assert low < east < high and high - low < 500.0


def test_the_wind_arrow_points_as_the_wind_blows() -> None:
    """Wind from 240 blows to 060: in pixels 60 degrees right of upward."""
    with drawing():
        view = MovingView(synthetic.history(count=5))
        view._canvas.draw()
        panel = next(ax for ax in view._figure.axes if len(ax.texts) == 6)
        wind = next(t for t in panel.texts if t.get_text().startswith("wind"))
        arrow = panel.texts[panel.texts.index(wind) - 1]
        tip, tail = (panel.transData.transform(point) for point in (arrow.xy, arrow.xyann))
    assert math.degrees(math.atan2(*(tip - tail))) == pytest.approx(60.0, abs=1e-6)


@pytest.mark.parametrize("force", [np.nan, 1.0], ids=["line", "line and fender"])
def test_no_words_overlap(force: float) -> None:
    """Titles of strips, levels, clock and caption, with the widest words a case gives."""
    history = synthetic.history(count=30).assign_coords(swing_rate_limit=0.75)
    history["line_tension"] = history["line_tension"] * 8.0
    history["contact_force"] = history["line_tension"] * force
    history = history.assign_attrs(title="Marrowby Basin, " * 12)
    with drawing():
        view = MovingView(history)
        list(view.pictures(np.array([29])))
        renderer = view._canvas.get_renderer()
        words = [t for t in view._figure.texts if t.get_text()]
        for ax in view._figure.axes:
            words += [t for t in (ax.title, ax._left_title, ax._right_title, ax.xaxis.label, *ax.texts) if t.get_text()]
        boxes = [(t.get_text()[:40], t.get_window_extent(renderer)) for t in words]
    for place, (name, box) in enumerate(boxes):
        assert box.x0 >= 0 and box.x1 <= moving_view.WIDTH and box.y0 >= 0 and box.y1 <= moving_view.HEIGHT, name
        for other_name, other in boxes[place + 1 :]:
            assert not box.overlaps(other), (name, other_name)


def test_inks_differ_without_colour() -> None:
    from matplotlib.colors import to_rgb

    shades = sorted(float(np.dot(to_rgb(ink), (0.299, 0.587, 0.114))) for ink in (*INKS[2:5], "white", INKS[0]))
    assert min(np.diff(shades)) > 0.08


@pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")
def test_little_or_nothing_is_drawn_as_that(tmp_path: Path) -> None:
    whole = synthetic.history(count=30, outcome=9)
    missing = whole.copy()
    for name in missing.data_vars:
        missing[name] = missing[name].astype(float) * np.nan
    holes = whole.copy()
    holes["tug_north"] = holes["tug_north"].where(holes["time"] < 200.0)
    bare = xr.Dataset(coords={"time": [0.0, 1.0]})
    no_heel = whole.drop_vars(
        ["tug_heel", "line_tension", "phase", "power_ordered", "thrust_port", "azimuth_starboard"]
    )
    for number, history in enumerate(
        (whole.isel(time=[0]), whole.isel(time=slice(0, 0)), missing, holes, bare, no_heel)
    ):
        path = animate_history(history, tmp_path / f"{number}.gif", frames_per_second=2.0, duration=1.0)
        assert len(pictures_of(path)) >= 1
    with drawing():
        view = MovingView(whole.isel(time=slice(0, 0)))
        assert len(list(view.pictures(np.array([], dtype=int)))) == 1
        assert "Nothing moves: aground" in view._plan.texts[0].get_text()


def test_all_that_cannot_be_written_is_said_at_once(tmp_path: Path) -> None:
    with pytest.raises(StudyError) as caught:
        animate_history(synthetic.history(count=5), tmp_path / "a.avi", frames_per_second=math.nan, duration=500.0)
    told = str(caught.value)
    assert len(caught.value.problems) == 3
    assert "'.avi'" in told and "nan 1/s is outside [1, 50]" in told and "500 s is outside [1, 120] s" in told
    with pytest.raises(StudyError, match="more than 600"):
        animate_history(synthetic.history(count=5), tmp_path / "a.gif", frames_per_second=50.0, duration=60.0)
    assert not list(tmp_path.iterdir())


def test_mp4_without_ffmpeg_is_refused(tmp_path: Path) -> None:
    import matplotlib

    with matplotlib.rc_context({"animation.ffmpeg_path": "no-such-program"}):
        assert not can_write_mp4()
        with pytest.raises(StudyError, match="ffmpeg is not on this machine"):
            animate_history(synthetic.history(count=5), tmp_path / "a.mp4")
    assert not list(tmp_path.iterdir())


def test_an_ffmpeg_that_fails_leaves_no_file(tmp_path: Path) -> None:
    import matplotlib

    program = tmp_path / "ffmpeg"
    program.write_text("#!/bin/sh\necho 'no such codec' >&2\nexit 1\n", encoding="utf-8")
    program.chmod(0o755)
    history, settings = synthetic.history(count=40), {"animation.ffmpeg_path": str(program)}
    with matplotlib.rc_context(settings), pytest.raises(StoreError, match="ffmpeg could not write it"):
        animate_history(history, tmp_path / "a.mp4", **SHORT)
    assert [path.name for path in tmp_path.iterdir()] == ["ffmpeg"]


@needs_ffmpeg
def test_mp4_is_whole(tmp_path: Path) -> None:
    path = animate_history(synthetic.history(count=60), tmp_path / "moving.mp4", **SHORT)
    made = path.read_bytes()
    assert made[4:8] == b"ftyp" and b"moov" in made and len(made) < 500_000
    assert [one.name for one in tmp_path.iterdir()] == ["moving.mp4"]
