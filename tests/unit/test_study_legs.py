"""Legs of a job and the basin, as a study file gives them: read, checked, kept, and handed to the engine."""

from __future__ import annotations

import json
from collections.abc import Iterable

import numpy as np
import pytest

from toolkit.errors import StudyError
from toolkit.motion.engine import evaluate_columns
from toolkit.quantities import INPUTS, Outcome
from toolkit.study import Study, parse_study, study_from_canonical
from toolkit.study.checks import study_warnings
from toolkit.study.summary import summary

HEAD = '[tug]\nbollard_pull = ["30 t", "45 t"]\n'
LEGS = """
[[leg]]
manoeuvre = "swing_pull"
target_angle = "60 deg"
[[leg]]
manoeuvre = "shift"
station_to = "port_shoulder"
make_fast_time = "1 min"
[[leg]]
"""
ROOM = """
[environment]
start_north = "10 m"
[basin]
edge = [["150 m", "-150 m"], ["150 m", "150 m"], ["-0.15 km", "150 m"], ["-150 m", "-150 m"]]
shoals = [[["120 m", "100 m"], ["120 m", "140 m"], ["90 m", "120 m"], ["120 m", "100 m"]]]
berth = [["-140 m", "-100 m"], ["-140 m", "100 m"]]
"""
JOB, BASIN = HEAD + LEGS, HEAD + ROOM


def said(text: str) -> str:
    """Everything that is wrong with a study file."""
    with pytest.raises(StudyError) as error:
        parse_study(text, name="basin.toml")
    return str(error.value)


def kept(study: Study) -> Study:
    """A study as it comes back from a store."""
    return study_from_canonical(json.loads(json.dumps(study.canonical())))


def test_legs_are_read_in_dataset_units_and_handed_on_by_code() -> None:
    study = parse_study(JOB)
    shift = {"manoeuvre": "shift", "station_to": "port_shoulder", "make_fast_time": 60.0}
    assert study.legs == ({"manoeuvre": "swing_pull", "target_angle": 60.0}, shift, {})
    codes = study.setting.legs[1]
    assert codes["manoeuvre"] == INPUTS["manoeuvre"].choices.index("shift")
    assert codes["station_to"] == INPUTS["station_to"].choices.index("port_shoulder")
    outcomes = evaluate_columns(study.columns(np.arange(2)), study.setting)
    assert (outcomes["legs_completed"] >= 1.0).all()


def test_manoeuvres_of_a_study_are_those_of_its_cases_or_of_its_legs_each_once() -> None:
    start = str(parse_study(HEAD).fixed["manoeuvre"])
    assert parse_study(HEAD).manoeuvres == (start,)
    assert parse_study(JOB).manoeuvres == tuple(dict.fromkeys(("swing_pull", "shift", start)))
    swept = HEAD + '\n[manoeuvre]\nmanoeuvre = ["swing_push", "hold"]\n'
    assert parse_study(swept).manoeuvres == ("swing_push", "hold")


@pytest.mark.parametrize("text", [JOB, BASIN, BASIN + LEGS])
def test_a_store_keeps_them(text: str) -> None:
    study = parse_study(text)
    again = kept(study)
    assert again.hash() == study.hash()
    assert again.legs == study.legs
    assert again.basin == study.basin
    np.testing.assert_array_equal(again.setting.edges, study.setting.edges)


def test_the_hash_of_other_studies_is_as_it_was_and_that_of_these_is_their_own() -> None:
    plain = parse_study(HEAD)
    assert not {"legs", "basin"} & plain.canonical().keys()
    assert plain.setting.legs == () and plain.setting.edges.shape == (0, 5)
    hashes = {parse_study(text).hash() for text in (HEAD, JOB, JOB.replace("60 deg", "61 deg"), BASIN)}
    assert len(hashes) == 4


def test_power_and_fittings_may_change_from_leg_to_leg() -> None:
    leg = 'power_setting = "20 percent"\nbarge_towing_station = "40 percent"\n'
    study = parse_study(JOB.replace("[[leg]]", "[[leg]]\n" + leg, 1))
    assert study.legs[0]["power_setting"] == 0.2
    assert study.legs[0]["barge_towing_station"] == 0.4
    assert "power_setting" not in study.legs[1]


def test_order_of_keys_and_units_of_a_leg_do_not_change_the_hash() -> None:
    keys = 'manoeuvre = "swing_pull"\ntarget_angle = "60 deg"'
    other = JOB.replace(keys, 'target_angle = "0.1666666666666666666 turn"\nmanoeuvre = "swing_pull"')
    other = other.replace("1 min", "60 s")
    assert parse_study(other).hash() == parse_study(JOB).hash()


@pytest.mark.parametrize(
    ("leg", "words"),
    [
        ('bollard_pull = "45 t"', ("leg 2: bollard_pull", "cannot change from leg to leg", "[tug]", "[towline]")),
        ('wind_speed = "45 kn"', ("cannot change from leg to leg", "[environment]")),
        ('line_length = ["15 m", "20 m"]', ("takes one value in a leg", "[towline]")),
        ('line_length = { from = "15 m", to = "20 m", count = 3 }', ("takes one value in a leg",)),
        ('line_length = "1 m"', ("leg 2: line_length", "outside [3 m, 400 m]")),
        ('lin_length = "15 m"', ("not a key of a leg", "line_length")),
        ('peak_heel = "3 deg"', ("outcome", "[limits]")),
        ('initial_heading = "30 deg"', ("no meaning in leg 2", "as leg 1 left")),
        ('manoeuvre = "swing"', ("swing_pull",)),
        ('order_interval = "2.3 s"', ("leg 2", "not a multiple of 0.5 s")),
        ('order_interval = "2 s"\norder_delay = "3 s"', ("leg 2", "longer than order_interval")),
    ],
)
def test_what_is_wrong_in_a_leg_is_named(leg: str, words: Iterable[str]) -> None:
    text = said(f"{HEAD}[[leg]]\n[[leg]]\n{leg}\n")
    assert all(word in text for word in words), text


def test_every_problem_at_once() -> None:
    text = said(f'{HEAD}[[leg]]\nline_length = "1 m"\n[[leg]]\nlin_length = "2 m"\n[basin]\nedge = 3\nshore = 2\n')
    assert text.startswith("4 problems")


@pytest.mark.parametrize("value", ['[leg]\nmanoeuvre = "shift"\n', "leg = 3\n", "leg = []\n", 'leg = ["shift"]\n'])
def test_a_leg_is_written_with_two_brackets(value: str) -> None:
    assert "[[leg]]" in said(value + HEAD if value.startswith("leg") else HEAD + value)


def test_too_many_legs() -> None:
    assert "51 legs are more than 50" in said(HEAD + "[[leg]]\n" * 51)


def test_what_has_no_effect_is_said() -> None:
    leg = '[[leg]]\nline_length = "18 m"\n'
    swept = f'{HEAD}[towline]\nline_length = ["15 m", "20 m"]\n'
    study = parse_study(f'{swept}{leg}{leg}station_from = "bow_line"\n')
    text = " ".join(study_warnings(study))
    assert "line_length is swept and has no effect: every leg sets it" in text
    assert "station_from has no effect: the tug begins where leg 1 left her" in text


def test_the_summary_tells_of_legs_and_basin() -> None:
    text = summary(parse_study(BASIN + LEGS))
    assert "2  shift, station_to port_shoulder, make_fast_time 60 s" in text
    assert "3  as in the tables above" in text
    assert "Basin: edge of 4 corners, 1 shoal, a berth" in text


def test_basin_is_read_as_edges() -> None:
    study = parse_study(BASIN)
    assert study.basin is not None
    assert study.basin.edge[2] == (-150.0, 150.0)
    assert study.basin.berth == ((-140.0, -100.0), (-140.0, 100.0))
    edges = study.setting.edges
    assert edges.shape == (7, 5)  # the shoal was closed by hand
    assert edges[3].tolist() == [-150.0, -150.0, 150.0, -150.0, 0.0]
    assert edges[6].tolist() == [90.0, 120.0, 120.0, 100.0, 1.0]
    outcomes = evaluate_columns(study.columns(np.arange(2)), study.setting)
    assert (outcomes["clearance_to_edge"] < 200.0).all()
    assert set(outcomes["outcome"].tolist()) <= {Outcome.completed, Outcome.edge_met}


SQUARE = '[["90 m", "-90 m"], ["90 m", "90 m"], ["-90 m", "90 m"], ["-90 m", "-90 m"]]'
BOW_TIE = '[["90 m", "-90 m"], ["90 m", "90 m"], ["-90 m", "-90 m"], ["-90 m", "90 m"]]'
SPIKE = '[["90 m", "-90 m"], ["90 m", "90 m"], ["-90 m", "90 m"], ["-200 m", "90 m"], ["-90 m", "90 m"]]'
BACK = SQUARE.replace('["-90 m", "-90 m"]', '["-200 m", "90 m"], ["-120 m", "90 m"], ["-120 m", "-90 m"]')


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("", ("[basin] is empty",)),
        ("edge = 3", ("basin.edge", "not a list of places")),
        ('edge = [["0 m", "0 m"], ["9 m", "0 m"]]', ("2 corners", "three or more")),
        ('edge = [["0 m", "0 m"], ["9 m"], ["9 m", "9 m"]]', ("basin.edge[1]", "is not a place")),
        ('edge = [["0 m", "0 m"], ["9 kn", "0 m"], ["9 m", "9 m"]]', ("basin.edge[1]", "not a length")),
        ("edge = [[0, 0], [9, 0], [9, 9]]", ("has no unit",)),
        ('edge = [["0 m", "0 m"], ["9000 m", "0 m"], ["9 m", "9 m"]]', ("outside",)),
        (f"edge = {BOW_TIE}", ("cross",)),
        (f"edge = {SPIKE}", ("twice",)),
        (f"edge = {BACK}", ("cross",)),
        (f"edge = {SQUARE}\nshoals = [3]", ("basin.shoals[0]",)),
        (f"edge = {SQUARE}\nshoals = {SQUARE}", ("basin.shoals[0]",)),
        (f"edge = {SQUARE}\nshoals = [{SQUARE}]", ("begins beyond the edge or on a shoal",)),
        (f'edge = {SQUARE}\nberth = [["0 m", "0 m"]]', ("basin.berth", "not two")),
        (f"edge = {SQUARE}\nquay = 3", ("quay is not a key of [basin]",)),
        (f'edge = {SQUARE}\n[environment]\nstart_east = "88 m"', ("begins beyond the edge",)),
    ],
)
def test_what_is_wrong_with_a_basin_is_named(table: str, words: Iterable[str]) -> None:
    text = said(f"{HEAD}[basin]\n{table}\n")
    assert all(word in text for word in words), text


def test_too_many_edges() -> None:
    angle = np.linspace(0.0, 2.0 * np.pi, 202)[:-1]
    corners = ", ".join(f'["{100 * np.cos(a):.3f} m", "{100 * np.sin(a):.3f} m"]' for a in angle)
    assert "201 edges are more than 200" in said(f"{HEAD}[basin]\nedge = [{corners}]\n")


def test_some_starts_beyond_the_edge_are_outcomes_and_no_problem() -> None:
    text = f'{HEAD}[basin]\nedge = {SQUARE}\n[environment]\nstart_east = ["0 m", "88 m"]\n'
    study = parse_study(text)
    assert any("the barge begins beyond the basin's edge" in line for line in study_warnings(study))
    outcomes = evaluate_columns(study.columns(np.arange(4)), study.setting)
    assert (outcomes["outcome"] == Outcome.edge_met).sum() >= 2


def test_swings_of_a_conventional_tug_are_warned_of() -> None:
    swing = '[manoeuvre]\nmanoeuvre = "{}"\n[tug]\ntug_type = ["tractor", "{}"]\n'
    warnings = study_warnings(parse_study(swing.format("swing_push", "conventional")))
    assert any("conventional" in told for told in warnings)
    for manoeuvre, tug in (("swing_push", "azimuth_stern_drive"), ("tow_ahead", "conventional")):
        assert not any("conventional" in told for told in study_warnings(parse_study(swing.format(manoeuvre, tug))))
    job = '[tug]\ntug_type = "conventional"\n[[leg]]\nmanoeuvre = "tow_ahead"\n[[leg]]\nmanoeuvre = "swing_pull"\n'
    assert sum("conventional" in told for told in study_warnings(parse_study(job))) == 1
