"""A study file is read whole, or refused with every problem named."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from toolkit.errors import StudyError
from toolkit.quantities import INPUTS
from toolkit.study import load_study, parse_study

KNOT = 1852.0 / 3600.0
TONNE_FORCE = 9806.65

BASIN = """
title = "Marrowby Basin, first look"
seed = 7

[tug]
bollard_pull = { from = "10 t", to = "80 t", count = 4, spacing = "log" }

[barge]
displacement = ["300 t", "800 t"]
loading = "50 percent"

[environment]
wind_speed = ["0 kn", "10 kn", "20 kn"]
wind_from = "from 240 deg"
current_to = "to 90 deg"

[manoeuvre]
turn = ["port", "starboard"]
swing_rate_limit = "off"

[limits]
time_to_steady = "12 min"
tension_over_swl = "off"
room_to_edge = "5 m"

[run]
cases_per_chunk = 256
"""


def problems(text: str) -> list[str]:
    with pytest.raises(StudyError) as refusal:
        parse_study(text, name="basin.toml")
    return [str(problem) for problem in refusal.value.problems]


def the_problem(text: str) -> str:
    (only,) = problems(text)
    return only


def test_reads_a_whole_file() -> None:
    study = parse_study(BASIN, name="basin.toml")
    assert study.title == "Marrowby Basin, first look"
    assert study.source == "basin.toml"
    assert study.seed == 7
    assert study.dims == ("bollard_pull", "displacement", "wind_speed", "turn")
    assert study.shape == (4, 2, 3, 2)
    assert study.size == 48
    assert study.run.cases_per_chunk == 256
    assert study.fixed["loading"] == 0.5
    assert study.fixed["wind_from"] == 240.0
    assert study.fixed["swing_rate_limit"] == 20.0
    assert study.limits.time_to_steady == 720.0
    assert study.limits.tension_over_swl is None
    assert study.limits.peak_heel_fraction == 0.67
    assert {*study.dims, *study.fixed} == set(INPUTS)


def test_log_range_has_equal_ratios_and_exact_ends() -> None:
    values = np.asarray(parse_study(BASIN).axes[0].values, dtype=float)
    assert values[[0, -1]].tolist() == [10 * TONNE_FORCE, 80 * TONNE_FORCE]
    assert np.allclose(values[1:] / values[:-1], 2.0, rtol=1e-11)


def test_linear_range_has_equal_steps() -> None:
    study = parse_study('[environment]\nwind_speed = { from = "0 kn", to = "30 kn", count = 4 }')
    assert np.allclose(np.asarray(study.axes[0].values, dtype=float) / KNOT, [0, 10, 20, 30], atol=1e-10)


def test_empty_file_is_the_default_case() -> None:
    study = parse_study("", name="plain.toml")
    assert (study.title, study.dims, study.shape, study.size) == ("plain", (), (), 1)
    assert math.isnan(float(study.fixed["barge_length"]))
    assert study.columns([0])["bollard_pull"] == pytest.approx([INPUTS["bollard_pull"].default])


def test_words_keep_their_order_and_numbers_are_sorted_with_a_note() -> None:
    study = parse_study('[environment]\nwind_speed = ["20 kn", "0 kn"]\n[manoeuvre]\nturn = ["port", "starboard"]')
    assert study.axis("turn").values == ("port", "starboard")  # type: ignore[union-attr]
    assert study.axis("wind_speed").values[0] == 0.0  # type: ignore[union-attr]
    assert any("sorted" in note for note in study.notes)


def test_sector_across_north_is_a_list() -> None:
    study = parse_study('[environment]\nwind_from = ["from 300 deg", "from 330 deg", "from 360 deg", "from 30 deg"]')
    assert np.asarray(study.axes[0].values).tolist() == [0.0, 30.0, 300.0, 330.0]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[tug]\nbolard_pull = '30 t'", "bollard_pull"),
        ("[tug]\nwind_speed = '12 kn'", "[environment]"),
        ("[tug]\npeak_heel = '5 deg'", "[limits]"),
        ("bollard_pull = '30 t'", "Put it under [tug]"),
        ("tug = 3", "[tug] on a line of its own"),
        ("[tugs]\n", "nearest name is tug"),
        ("[[tug]]\n", "not a table"),
        ("[title]\n", "[title] is not a table"),
        ("titel = 'x'", "nearest name is title"),
        ("title = 3", "quotes"),
        ("seed = -1", "outside [0"),
        ("seed = 1.5", "whole number"),
        ("[run]\ncases_per_chunk = 0", "outside [1"),
        ("[design]\nkind = 'sobel'\nsamples = 8", "'sobol'"),
        ("[design]\nsamples = 8", "no meaning on a grid"),
        ("[design]\nkind = 'sobol'\n[manoeuvre]\nturn = ['port', 'starboard']", "samples is missing"),
        ("[design]\nkind = 'sobol'\nsamples = 8", "nothing to sample"),
        ("[tug]\nspool_time = []", "empty list"),
        ("[tug]\nspool_time = ['3 s', '3 s']", "holds 3 s twice"),
        ("[manoeuvre]\nturn = ['port', 'port']", "holds port twice"),
        ("[tug]\nspool_time = { from = '3 s', to = '9 s' }", "'count'"),
        ("[tug]\nspool_time = { from = '3 s', count = 3 }", "no 'to'"),
        ("[tug]\nspool_time = { from = '3 s', to = '9 s', count = 1 }", "outside [2"),
        ("[tug]\nspool_time = { from = '3 s', to = '9 s', count = 2.0 }", "whole number"),
        ("[tug]\nspool_time = { from = '3 s', to = '9 s', count = true }", "whole number"),
        ("[tug]\nspool_time = { from = '3 s', to = '9 s', count = 1000000000 }", "outside [2"),
        ("[tug]\nspool_time = { from = '9 s', to = '3 s', count = 3 }", "does not run upward"),
        ("[tug]\nspool_time = { from = '3 s', to = '9 s', count = 3, step = 1 }", "step is not a key of a range"),
        ("[tug]\nspool_time = { from = '3 s', to = '9 s', count = 3, spacing = 'cubic' }", "'linear' or 'log'"),
        ("[environment]\nwind_speed = { from = '0 kn', to = '9 kn', count = 3, spacing = 'log' }", "logarithm"),
        ("[environment]\nwind_from = { from = '0 deg', to = '360 deg', count = 13 }", "360 deg is 0 deg again"),
        ("[environment]\nwind_from = { from = '300 deg', to = '60 deg', count = 3 }", "list of bearings"),
        ("[manoeuvre]\nturn = { from = 'port', to = 'starboard', count = 2 }", "has no range"),
        ("[crew]\norder_interval = '1.2 s'", "write for example '1.5 s'"),
        ("[manoeuvre]\nsteady_time = ['15 s', '15.2 s']", "multiple of 0.5 s"),
        ("[crew]\norder_delay = '3 s'\norder_interval = '2 s'", "longer than order_interval = 2 s"),
        ("[crew]\norder_delay = ['1 s', '2 s']\norder_interval = ['1 s', '2 s']", "order_delay = 2 s"),
        ("[barge]\nbarge_draught = '0.5 m'", "block coefficient"),
        ("[environment]\nwater_depth = '1.2 m'", "aground in every case"),
        ("[environment]\nwater_depth = '2.5 m'", "the tug aground in every case"),
        ("[limits]\npeak_heal = '5 deg'", "nearest name is peak_heel"),
        ("[limits]\novershoot = '0 deg'", "no case could pass"),
        ("[limits]\ntime_to_steady = 12", "no unit"),
        ("a = [", "not valid TOML"),
        ("[tug]\nspool_time = 3 s", "in quotes"),
        ("a = " + "[" * 5000, "not valid TOML"),
        ("[tug]\nspool_time = 1" + "0" * 5000, "not valid TOML"),
        ("[tug]\nspool_time = 1979-05-27", "not a value"),
    ],
)
def test_one_mistake_is_one_problem_that_says_what_to_do(text: str, said: str) -> None:
    problem = the_problem(text)
    assert problem.startswith("basin.toml")
    assert said.lower() in problem.lower()


def test_too_many_cases_are_refused_before_anything_is_laid_out() -> None:
    ranges = "\n".join(
        f"{name} = {{ from = '5 s', to = '50 s', count = 100000 }}" for name in ("spool_time", "slew_time")
    )
    assert "10000000000 cases are more than 100000000" in the_problem("[tug]\n" + ranges)


def test_all_problems_come_at_once_in_the_order_of_the_file() -> None:
    found = problems(
        """
        [tug]
        bollard_pull = "900 t"
        spool_time = ["3", "5 kn", "8 s"]
        [barge]
        displacment = "454 t"
        [limits]
        overshoot = "-3 deg"
        """
    )
    assert [line.split(": ")[1] for line in found] == [
        "tug.bollard_pull",
        "tug.spool_time[0]",
        "tug.spool_time[1]",
        "barge.displacment",
        "limits.overshoot",
    ]


def test_file_that_cannot_be_read(tmp_path: Path) -> None:
    latin, large = tmp_path / "latin.toml", tmp_path / "large.toml"
    latin.write_bytes(b'title = "Qu\xe9"')
    large.write_bytes(b"#" * (2**20 + 1))
    for path, said in (
        (tmp_path / "none.toml", "does not exist"),
        (tmp_path, "is a folder"),
        (latin, "UTF-8"),
        (large, "larger than"),
        (tmp_path / "\0.toml", "cannot be read"),
    ):
        with pytest.raises(StudyError, match=said):
            load_study(path)


def test_file_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    path = tmp_path / "basin.toml"
    path.write_bytes(b"\xef\xbb\xbf" + BASIN.encode())
    assert load_study(path).hash() == parse_study(BASIN).hash()


@pytest.mark.parametrize(
    ("lever", "top", "vanishing", "said"),
    [
        ("0.5 m", "5 deg", "60 deg", "greatest_lever_angle = 5 degrees is not beyond"),
        ("0.5 m", "30 deg", "30 deg", "vanishing_angle = 30 degrees is not beyond 30"),
        ("0.5 m", "40 deg", "25 deg", "vanishing_angle = 25 degrees is not beyond 40"),
        ("0.5 m", "30 deg", None, "some are given and some are not"),
        (None, None, "60 deg", "some are given and some are not"),
        ("0.5 m", "30 deg", "60 deg", ""),
        (None, None, None, ""),
    ],
)
def test_a_righting_curve_rises_beyond_the_deck_edge_and_falls_again(
    lever: str | None, top: str | None, vanishing: str | None, said: str
) -> None:
    words = {"greatest_righting_lever": lever, "greatest_lever_angle": top, "vanishing_angle": vanishing}
    lines = "\n".join(f'{name} = "{value}"' for name, value in words.items() if value)
    text = f'[tug]\nbollard_pull = ["10 t", "30 t"]\n{lines}\n'
    if said:
        assert said in the_problem(text)
    else:
        parse_study(text)
