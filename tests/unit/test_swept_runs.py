"""The ground that many runs sweep, by the share of runs: counted in shapes of known area, and drawn of real runs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from tests.fake_engine import TONNE_FORCE, study_of
from toolkit.execution.runner import run_study
from toolkit.figures.configurations import configurations
from toolkit.figures.folder import Folder
from toolkit.figures.scene import placed, tug_outline
from toolkit.figures.style import Sheet
from toolkit.figures.surroundings import Surroundings
from toolkit.figures.swept_pages import add_swept, rerun
from toolkit.figures.swept_runs import draw_swept
from toolkit.findings import apply_limits
from toolkit.findings.swept import SweptRun, chosen_cases, swept_share
from toolkit.quantities import Outcome
from toolkit.study import parse_study

NOWHERE = Surroundings(radius=float("nan"), edge=None, shoals=(), berth=None)
SHORT: dict[str, Any] = {"target_angle": 40.0, "time_limit": 900.0, "water_depth": 7.5}
WIND = {"wind_speed": np.array([0.0, 5.0]), "wind_from": np.array([0.0, 90.0, 180.0])}
JOB = """
title = "Marrowby job"
[tug]
bollard_pull = "30 t"
[towline]
line_length = "25 m"
[environment]
wind_speed = ["0 kn", "5 kn"]
wind_from = ["0 deg", "90 deg"]
[[leg]]
manoeuvre = "swing_pull"
target_angle = "30 deg"
[[leg]]
manoeuvre = "shift"
station_to = "port_side"
"""


def rectangle(east: float, north: float, width: float, height: float) -> np.ndarray:
    return np.array([east, north]) + np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])


def made_up(*outlines: np.ndarray, case: int = 0, outcome: str = "completed", end: float = 0.0) -> SweptRun:
    """A run whose barge lay in the outlines, one after the other, and whose tug lay far off and small."""
    barge = np.array(outlines).reshape(-1, 4, 2)
    tug = np.array([rectangle(100.0, 100.0, 4.0, 2.0) for _ in outlines]).reshape(-1, 4, 2)
    track = np.array([[0.0, 0.0], [end, 0.0]]) if outlines else np.full((2, 2), np.nan)
    conditions = {"wind_speed": 5.0, "wind_from": 90.0, "current_speed": 0.0, "current_to": 0.0}
    return SweptRun(
        case=case, outcome=outcome, barge=barge, tug=tug, track=track, room=5.0, conditions=conditions
    )  # fmt: skip


def test_cells_are_counted_once_a_run_and_areas_are_those_of_the_shapes() -> None:
    left, right = rectangle(0.0, 0.0, 20.0, 10.0), rectangle(10.0, 0.0, 20.0, 10.0)
    runs = [made_up(left, left, right), made_up(right), made_up(left[::-1], outcome="timed_out")]
    found = swept_share(runs, cell=0.5)
    assert found.attrs["completed_count"] == 2 and found.attrs["failed_count"] == 1
    tug = 8.0
    assert found["area"].values.tolist() == [300.0 + tug, 200.0 + tug, 200.0 + tug]
    assert found["barge_area"].values.tolist() == [300.0, 200.0, 200.0]
    assert found["least_count"].values.tolist() == [1, 1, 2]
    assert found["area_swept"].values.tolist() == [300.0 + tug, 300.0 + tug, 200.0 + tug]
    here = found.sel(north=5.25, east=[5.25, 15.25, 25.25, 35.25], method="nearest")
    assert here["share_swept"].values.tolist() == [0.5, 1.0, 1.0, 0.0]
    assert here["failed_count"].values.tolist() == [1, 1, 0, 0]  # the failed run is in no share
    assert all("units" in found[name].attrs for name in (*found.data_vars, "north", "east"))


def test_a_hull_turned_any_way_covers_her_own_area() -> None:
    hull = tug_outline(30.0, 11.0)
    after = np.roll(hull, -1, axis=0)
    area = 0.5 * abs(float(np.sum(hull[:, 0] * after[:, 1] - after[:, 0] * hull[:, 1])))
    for heading in (0.0, 37.0, 123.0, 271.0):
        run = made_up(rectangle(0.0, 0.0, 1.0, 1.0))
        run = SweptRun(**{**run.__dict__, "tug": placed(hull, 3.3, -7.7, heading)[None] - 200.0})
        assert swept_share([run], cell=0.25)["area"].item() - 1.0 == pytest.approx(area, rel=0.01)


def test_nothing_completed_gives_no_share_and_nothing_afloat_gives_no_cell() -> None:
    found = swept_share([made_up(rectangle(0.0, 0.0, 20.0, 10.0), outcome="line_parted")])
    assert found["share_swept"].isnull().all() and found["area_swept"].isnull().all()
    assert int((found["failed_count"] > 0).sum()) * found.attrs["cell"] ** 2 == pytest.approx(208.0)
    made = draw_swept(found, NOWHERE, title="All fail", caption=("a",))
    assert [t.get_text() for t in made.panel.axes[1].get_legend().get_texts()] == ["failed: any run of 1\n208 m²"]
    empty = swept_share([made_up(outcome="aground")])
    assert not empty["east"].size and empty.attrs["without_place"] == 1
    told = [text.get_text() for text in draw_swept(empty, NOWHERE, title="Aground", caption=()).panel.axes[0].texts]
    assert "No run has a place to draw" in told[0]


def test_few_runs_draw_each_level_once() -> None:
    square = rectangle(0.0, 0.0, 20.0, 10.0)
    for count, levels in ((1, 1), (2, 2), (3, 3), (24, 3)):
        runs = [made_up(square, case=case, end=10.0) for case in range(count)]
        made = draw_swept(swept_share(runs), NOWHERE, title="Few", caption=())
        told = [text.get_text() for text in made.panel.axes[1].get_legend().get_texts()]
        assert len(told) == levels and told[-1].split("\n")[0].endswith(f" of {count}")
        assert "mean drift 10 m" in made.panel.axes[0].get_title()


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> dict[str, xr.Dataset]:
    """Results of a swing, of a swing that fails in all cases, and of a job."""
    folder = tmp_path_factory.mktemp("runs")
    pulls = {"bollard_pull": np.array([12.0, 20.0, 30.0]) * TONNE_FORCE}
    studies = {
        "swing": study_of({**pulls, **WIND}, manoeuvre="swing_push", basin_radius=90.0, **SHORT),
        "fails": study_of(WIND, manoeuvre="swing_pull", **{**SHORT, "target_angle": 180.0, "time_limit": 60.0}),
        "aground": study_of(WIND, **{**SHORT, "water_depth": 1.5}),
        "job": parse_study(JOB),
    }
    options: dict[str, Any] = {"scheduler": "serial", "progress": False}
    return {word: run_study(study, folder / f"{word}.zarr", **options).load() for word, study in studies.items()}


@pytest.fixture
def sheets(monkeypatch: pytest.MonkeyPatch) -> dict[str, Sheet]:
    """Figures that are put together, which nothing turns into dots, by name of file."""
    found: dict[str, Sheet] = {}
    monkeypatch.setattr(Folder, "sheet", lambda self, made, name, words: found.setdefault(name, made))
    return found


def test_cases_drawn_differ_in_what_they_use(results: dict[str, xr.Dataset]) -> None:
    swing, job = results["swing"], results["job"]
    assert len(chosen_cases(swing, 100)) == 3 * 4  # the calm is one case, whatever its direction
    assert len(chosen_cases(job, 100)) == 3
    few = chosen_cases(swing, 5, seed=4)
    assert few == chosen_cases(swing, 5, seed=4) and len(few) == 5 and few == sorted(few)
    assert few != chosen_cases(swing, 5, seed=5)
    half = swing.copy(deep=True)
    half["outcome"][1:] = int(Outcome.not_run)
    assert all(case < 6 for case in chosen_cases(half, 100))
    half["outcome"][:] = int(Outcome.not_run)
    assert chosen_cases(half, 100) == []


def test_runs_again_are_the_cases_of_the_results(results: dict[str, xr.Dataset]) -> None:
    swing = results["swing"]
    counted: list[int] = []
    runs, around, same = rerun(swing, [1, 5, 17], counted.append)
    assert [run.case for run in runs] == [1, 5, 17] and same == 3 and counted == [1, 1, 1]
    assert around.radius == 90.0
    room = swing["room_to_edge"].values.ravel()[[1, 5, 17]]
    np.testing.assert_allclose([run.room for run in runs], room, rtol=1e-9)
    # the ground swept reaches as far as the outcome says, but for the rounded stem of the tug
    reach = [max(np.hypot(*corners.T).max() for corners in run.outlines) for run in runs]
    assert all(90.0 - left - 3.0 < far <= 90.0 - left + 1e-6 for far, left in zip(reach, room, strict=True))


@pytest.mark.filterwarnings("error::RuntimeWarning")
@pytest.mark.parametrize("word", ["swing", "fails", "aground", "job"])
def test_figure_says_what_it_rests_on(
    word: str, results: dict[str, xr.Dataset], sheets: dict[str, Sheet], tmp_path: Path
) -> None:
    dataset = results[word]
    part = configurations(dataset, apply_limits(dataset), {})[0][0]
    found = add_swept(Folder(path=tmp_path), part, 8)
    assert found is not None
    count, whole = found.attrs["run_count"], found.attrs["completed_count"]
    text = " ".join(sheets["swept_outlines"].caption)
    assert f"{whole} of {count} runs completed" in text and f"{count} of {count} cases run" in text
    assert "what varies: wind speed (" in text and "wind from (" in text and "FROM" in text
    assert "ended otherwise" not in text
    if word == "swing":
        windy = dataset["outcome"].isel(bollard_pull=1, wind_speed=1) == int(Outcome.completed)
        calm = dataset["outcome"].values[1, 0, 0] == int(Outcome.completed)
        assert "bollard pull 20 t (middle of 3)" in text and count == 4 and whole == int(windy.sum()) + calm > 0
        least, half, most = found["area_swept"].values
        areas = found["area"].where(found["outcome"] == int(Outcome.completed))
        assert areas.sum() >= least >= areas.max() and least >= half >= most > 0.0
    if word == "fails":
        assert whole == 0 and f"timed out {count}" in text and (found["failed_count"] > 0).any()
    if word == "aground":
        assert f"{count} of them cannot be drawn" in text
    if word == "job":
        assert whole == count == 3 and "Legs: 1 swing pull" in text


def test_another_model_is_told_and_no_case_is_left_out(
    results: dict[str, xr.Dataset], sheets: dict[str, Sheet], tmp_path: Path
) -> None:
    swing = results["swing"].copy(deep=True)
    swing["outcome"][:] = int(Outcome.lost_station)
    part = configurations(swing, apply_limits(swing), {})[0][0]
    add_swept(Folder(path=tmp_path), part, 2)
    assert "Run again with model" not in " ".join(sheets["swept_outlines"].caption)
    assert "2 of them ended otherwise than in the results" in " ".join(sheets["swept_outlines"].caption)
    swing["outcome"][:] = int(Outcome.not_run)
    part = configurations(swing, apply_limits(swing), {})[0][0]
    out = Folder(path=tmp_path)
    assert add_swept(out, part, 2) is None and "no case has been run" in out.left_out[0]
