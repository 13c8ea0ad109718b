"""The envelope of every manoeuvre, and of a job, shows what that manoeuvre is about and names only what it uses."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from tests.fake_engine import TONNE_FORCE, study_of
from toolkit.execution.runner import run_study
from toolkit.figures import draw_envelope
from toolkit.figures.folder import Folder
from toolkit.findings import apply_limits, worst_values
from toolkit.findings.compare import PAIRED_QUANTITIES, paired_quantities
from toolkit.findings.conditions import fixed_text, idle_of, legs_text
from toolkit.findings.sensitivity.responses import DEFAULT_RESPONSES, default_responses
from toolkit.quantities import FACTS, MANOEUVRES, Outcome
from toolkit.quantities.manoeuvres import JOB
from toolkit.study import parse_study

pytestmark = pytest.mark.whole

GRID = {"bollard_pull": np.array([12.0, 30.0]) * TONNE_FORCE, "displacement": np.array([4e5, 1.5e6])}
SHORT = {
    "swing_pull": {"target_angle": 40.0}, "swing_push": {"target_angle": 40.0}, "tow_ahead": {"tow_distance": 60.0},
    "check_way": {"start_speed": 1.0}, "side_push": {"berth_gap": 3.0}, "hold": {"hold_time": 60.0},
    "walk": {"walk_distance": 8.0}, "shift": {"station_to": "port_shoulder"},
}  # fmt: skip
NOT_SAID: dict[str, tuple[str, ...]] = {
    "swing_pull": ("gap to the berth", "way of a side push", "distance to walk"),
    "swing_push": ("towline", "gap to the berth"),
    "tow_ahead": ("angle to turn", "tug attitude", "gap to the berth"),
    "check_way": ("angle to turn", "tug attitude"),
    "side_push": ("towline", "angle to turn", "time to hold"),
    "hold": ("towline", "approach speed"),
    "walk": ("towline", "end worked", "tug attitude"),
    "shift": ("power setting", "end worked", "towline material"),
}
JOB_TEXT = """
title = "Marrowby job"
[tug]
bollard_pull = ["12 t", "30 t"]
[barge]
displacement = ["400 t", "1500 t"]
[towline]
line_length = "25 m"
[[leg]]
manoeuvre = "swing_pull"
target_angle = "30 deg"
[[leg]]
manoeuvre = "shift"
station_to = "port_side"
[[leg]]
manoeuvre = "side_push"
berth_gap = "3 m"
"""


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> dict[str, xr.Dataset]:
    """Results of a small grid of every manoeuvre, and of a job."""
    folder = tmp_path_factory.mktemp("runs")
    studies: dict[str, Any] = {
        word: study_of(GRID, manoeuvre=word, time_limit=400.0, water_depth=7.5, **SHORT[word]) for word in MANOEUVRES
    }
    studies["job"] = parse_study(JOB_TEXT)
    options: dict[str, Any] = {"scheduler": "serial", "progress": False}
    return {word: run_study(study, folder / f"{word}.zarr", **options).load() for word, study in studies.items()}


@pytest.fixture(autouse=True)
def drawn(monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, str]]:
    """Captions of the figures that are put together, which nothing turns into dots, by name of file."""
    found: dict[str, str] = {}

    def sheet(self: Folder, made: Any, name: str, words: str) -> None:
        found[name] = " ".join(made.caption)

    monkeypatch.setattr(Folder, "sheet", sheet)
    yield found


@pytest.mark.filterwarnings("error::UserWarning", "error::RuntimeWarning")
@pytest.mark.parametrize("word", [*MANOEUVRES, "job"])
def test_the_envelope_is_of_the_manoeuvre(
    word: str, results: dict[str, xr.Dataset], drawn: dict[str, str], tmp_path: Path
) -> None:
    facts = JOB if word == "job" else FACTS[word]
    draw_envelope(results[word], tmp_path)
    fields = [name for name in drawn if name in results[word].data_vars]
    assert facts.figures[0] in fields and set(fields) <= set(facts.figures)
    completed = results[word]["outcome"] == int(Outcome.completed)
    assert {n for n in facts.figures if bool((results[word][n].notnull() & completed).any())} <= set(fields)
    for text in drawn.values():
        assert "bollard pull" not in text.split("Fixed: ")[1].split(" Wind is named")[0]
        for words in NOT_SAID.get(word, ()):
            assert words not in text, words
    static = tmp_path / "static_rule.md"
    assert static.exists() == (word in ("swing_pull", "swing_push", "side_push", "hold", "job"))
    if static.exists():
        assert f"Static rule against the {facts.noun}" in static.read_text(encoding="utf-8")


def test_a_job_tells_its_legs_and_what_each_sets(
    results: dict[str, xr.Dataset], drawn: dict[str, str], tmp_path: Path
) -> None:
    draw_envelope(results["job"], tmp_path)
    told = "1 swing pull, angle to turn 30 deg; 2 shift, station to take port side; 3 side push, gap to the berth 3 m"
    assert legs_text(results["job"]) == told and told in drawn["end_time"]
    text = fixed_text(results["job"])
    assert "manoeuvre" in idle_of(results["job"]) and "towline length 25 m" in text
    assert "station left" not in text and "distance to walk" not in text and "angle to turn 180" not in text
    assert text.count("swing pull") == 1


def test_a_job_that_turns_to_a_heading_tells_no_angle() -> None:
    def told(leg: str) -> str:
        columns = {name: ((), value) for name, value in study_of({}, manoeuvre="swing_pull").fixed.items()}
        legs = parse_study(JOB_TEXT.replace('target_angle = "30 deg"', leg)).canonical()["legs"]
        return fixed_text(xr.Dataset(columns, attrs={"study": json.dumps({"legs": legs})}))

    assert "angle to turn 180 deg" in told("")
    heading = told('target_heading = "200 deg"')
    assert "angle to turn" not in heading and "200 deg" in heading


def test_values_of_cases_that_were_not_held_are_drawn_too(results: dict[str, xr.Dataset]) -> None:
    hold = results["hold"].assign_attrs(valued_though_failed="held_share").copy(deep=True)
    hold["outcome"][0, 0] = int(Outcome.not_held)
    hold["held_share"].values[:] = [[0.4, 1.0], [1.0, 1.0]]
    hold["tow_speed"] = xr.full_like(hold["held_share"], 2.0)
    hold["tow_speed"][0, 1] = 1.0
    worst = worst_values(hold, apply_limits(hold), ["bollard_pull"], ["held_share", "tow_speed", "peak_heel"])
    assert worst["held_share"].values.tolist() == [0.4, 1.0]  # less is worse, and the case not held counts
    assert worst["tow_speed"].values.tolist() == [2.0, 1.0]


def test_the_leg_that_governs_is_of_the_worst_case_not_the_largest_number(results: dict[str, xr.Dataset]) -> None:
    job = results["job"].copy(deep=True)
    job["governing_leg"].values[:] = [[1.0, 3.0], [2.0, 3.0]]
    job["governing_share"].values[:] = [[0.8, 0.3], [0.4, np.nan]]
    worst = worst_values(job, apply_limits(job), ["displacement"], ["governing_leg", "governing_share"])
    assert worst["governing_share"].values.tolist() == [0.8, 0.4]
    assert worst["governing_leg"].values.tolist() == [1.0, 2.0]
    assert not worst["governing_leg_missing"].any()
    job["drift_along_berth"].values[:] = [[-4.0, 3.0], [2.0, np.nan]]
    worst = worst_values(job, apply_limits(job), ["displacement"], ["drift_along_berth"])
    assert worst["drift_along_berth"].values.tolist() == [-4.0, 2.0]  # the sign only tells the way
    assert worst["drift_along_berth_missing"].values.tolist() == [0, 1]


def test_axes_that_are_not_used_make_no_figure(
    results: dict[str, xr.Dataset], drawn: dict[str, str], tmp_path: Path
) -> None:
    lengths = xr.concat([results["side_push"]] * 2, "line_length").assign_coords(line_length=[15.0, 30.0])
    lengths["outcome"].attrs = results["side_push"]["outcome"].attrs
    draw_envelope(lengths.assign_attrs(results["side_push"].attrs), tmp_path)
    assert "tension_over_line_length" not in drawn
    assert "towline" not in drawn["time_to_berth"] and "Cases drawn: 4 of 4" in drawn["time_to_berth"]


def test_comparisons_and_sensitivities_ask_for_the_time_of_the_job(results: dict[str, xr.Dataset]) -> None:
    for word in MANOEUVRES:
        paired, responses = paired_quantities(results[word]), default_responses(results[word])
        if FACTS[word].swings:
            assert paired == PAIRED_QUANTITIES and responses == DEFAULT_RESPONSES
        else:
            assert paired[0] == responses[0] == FACTS[word].time and "time_to_steady" not in paired
    assert paired_quantities(results["job"])[0] == "end_time"
    assert "governing_leg" not in {*paired_quantities(results["job"]), *default_responses(results["job"])}
