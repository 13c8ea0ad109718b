"""Corners of a study: the ends of all that is swept."""

from __future__ import annotations

import numpy as np

from toolkit.study import parse_study
from toolkit.study.corners import corner_columns

GRID = """
seed = 3
[tug]
tug_type = ["tractor", "conventional", "azimuth_stern_drive"]
[barge]
displacement = ["300 t", "500 t", "2500 t"]
[environment]
wind_speed = { from = "0 kn", to = "20 kn", count = 5 }
"""
SAMPLED = """
[barge]
displacement = { from = "300 t", to = "2500 t" }
[environment]
wind_speed = { from = "0 m/s", to = "10 m/s" }
[design]
kind = "sobol"
samples = 8
"""


def test_every_word_and_the_ends_of_every_list() -> None:
    columns, corners = corner_columns(parse_study(GRID))
    assert corners == 3 * 2 * 2 == len(columns["tug_type"])
    found = set(zip(columns["tug_type"], columns["displacement"], np.round(columns["wind_speed"], 6), strict=True))
    assert found == {(t, d, round(w, 6)) for t in (0, 1, 2) for d in (3e5, 2.5e6) for w in (0.0, 20 * 1852 / 3600)}


def test_ranges_that_are_sampled_have_corners_too() -> None:
    columns, corners = corner_columns(parse_study(SAMPLED))
    assert corners == 4
    assert set(zip(columns["displacement"], columns["wind_speed"], strict=True)) == {
        (3e5, 0.0), (3e5, 10.0), (2.5e6, 0.0), (2.5e6, 10.0),
    }  # fmt: skip


def test_too_many_corners_are_drawn_evenly_and_alike_each_time() -> None:
    study = parse_study(GRID)
    some, corners = corner_columns(study, most=5)
    again, _ = corner_columns(study, most=5)
    assert corners == 12 and len(some["wind_speed"]) == 5
    for name, values in some.items():
        np.testing.assert_array_equal(values, again[name])
    assert len(set(some["tug_type"])) == 3


def test_a_study_that_sweeps_nothing_is_its_own_corner() -> None:
    columns, corners = corner_columns(parse_study(""))
    assert corners == 1 == len(columns["displacement"])
