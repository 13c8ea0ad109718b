"""Edges of records and of the limits they are held against: what a file lacks, what stands in, what a choice takes."""

from __future__ import annotations

import datetime
from typing import Any

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from tests.unit.test_operability_limit import AXES
from tests.unit.test_operability_reading import netcdf
from toolkit.errors import Problem, StudyError
from toolkit.findings.operability import invented_record, limit_of_results, operability, read_record
from toolkit.findings.operability.headings import factor_of, missing_columns, time_pattern
from toolkit.findings.operability.options import hours_of, zone_of
from toolkit.findings.operability.results_limit import _as_written, _place, _ran_current

WIND = {"wind_speed": AXES["wind_speed"], "wind_from": AXES["wind_from"]}


def test_runs_that_say_nothing_of_gusts_had_none() -> None:
    results = synthetic.results(WIND)
    limit = limit_of_results(results.drop_vars(["gust_factor", "gust_intensity"]))
    assert (limit.attrs["gust_factor"], limit.attrs["gusts_in_runs"]) == (1.0, "False")
    assert limit_of_results(synthetic.results(WIND, gust_intensity=0.5)).attrs["gusts_in_runs"] == "True"


def test_the_current_of_the_runs_has_a_direction_where_it_runs() -> None:
    def told(speed: Any, to: Any) -> str:
        return _ran_current(xr.Dataset(coords={"current_speed": speed, "current_to": to}))

    assert told(0.0, 90.0) == "0 kn"
    assert told(synthetic.KNOT, 90.0) == "1 kn to 090 deg"
    assert told(synthetic.KNOT, ("current_to", [0.0, 90.0])) == "1 kn"
    assert told(("current_speed", [0.0, 1.0]), 90.0) == _ran_current(xr.Dataset()) == ""


def test_an_axis_of_one_value_needs_no_choice() -> None:
    results = synthetic.results({**WIND, "line_length": [40.0]})
    limit = limit_of_results(results)
    np.testing.assert_array_equal(limit["limit"], limit_of_results(results, {"line_length": "40 m"})["limit"])


def test_a_number_is_not_looked_for_among_words_nor_a_word_among_numbers() -> None:
    results = xr.Dataset(coords={"words": ["a", "b"], "numbers": [1.0, 2.0]})
    problems: list[Problem] = []
    assert _place(results, "words", "b", problems) == 1 and _place(results, "numbers", 2, problems) == 1
    assert not problems
    assert _place(results, "words", 2, problems) is None and _place(results, "numbers", "b", problems) is None
    assert len(problems) == 2


def test_a_dozen_values_are_written_and_of_more_the_first() -> None:
    words = [f"w{n}" for n in range(13)]
    assert _as_written("words", words[:12]) == ", ".join(words[:12])
    assert _as_written("words", words) == ", ".join([*words[:12], "..."])


def test_a_record_lacks_wind_as_a_whole_or_the_other_component_and_current_only_in_part() -> None:
    def lacks(*found: str) -> list[str]:
        told = missing_columns(dict.fromkeys(found), where="here", headings=["a"])
        return [one.what.removeprefix("no column of ").removesuffix(" was recognised") for one in told]

    wind = ("time", "wind_speed", "wind_from")
    assert lacks(*wind) == []
    assert lacks("time") == ["wind_speed"]
    assert lacks("time", "wind_speed") == ["wind_from"]
    assert lacks("time", "wind_east") == ["wind_north"]
    assert lacks("time", "wind_north") == ["wind_east"]
    assert lacks(*wind, "current_speed") == ["current_to"]
    assert lacks(*wind, "current_north") == ["current_east"]


def test_what_cannot_be_read_is_a_problem_and_stands_as_one() -> None:
    for role, unit, remedy in (
        ("wind_speed", "", "Say it: units wind_speed=kn (or m/s, km/h)"),
        ("wind_speed", "stone", "Say it: units wind_speed=kn (or m/s, km/h)"),
        ("wind_from", "stone", "Say it: units wind_from=deg"),
    ):
        problems: list[Problem] = []
        assert factor_of(role, unit, where="here", problems=problems) == 1.0
        assert [one.remedy for one in problems] == [remedy]
    problems = []
    assert factor_of("wind_from", "", where="here", problems=problems) == 1.0 and not problems
    assert hours_of("soon", where="here", problems=problems) == 1.0 and len(problems) == 1
    assert hours_of("90 min", where="here", problems=[]) == 1.5


def test_a_pattern_of_times_has_a_year_and_a_day() -> None:
    assert time_pattern("DD/MM/YYYY") == "%d/%m/%Y"
    assert time_pattern("YYYY") == time_pattern("DD/MM") == time_pattern("DD of YYYY") == ""


def test_clocks_differ_from_utc_by_fourteen_hours_at_most() -> None:
    problems: list[Problem] = []
    for text, hours in (("UTC+14", 14), ("-14:00", -14), ("UTC", 0)):
        zone = zone_of(text, where="here", problems=problems)
        assert zone is not None and zone.utcoffset(None) == datetime.timedelta(hours=hours)
    assert not problems
    assert zone_of("UTC+15", where="here", problems=problems) is None and len(problems) == 1


def test_a_height_that_the_file_names_is_held_to_the_same_bounds() -> None:
    netcdf().assign_coords(height=((), 300.0, {"standard_name": "height", "units": "m"})).to_netcdf("high.nc")
    with pytest.raises(StudyError, match=r"height = 300 m of the wind is outside \[\d+ m, \d+ m\]"):
        read_record("high.nc")


def test_notes_tell_of_an_allowance_and_of_currents_below_those_run_only_where_there_are_any() -> None:
    record = invented_record(1, current=True)

    def notes(currents: list[float], **more: Any) -> str:
        limit = limit_of_results(synthetic.results({**WIND, "current_speed": currents}), with_current=True)
        return "\n".join(operability(record, limit, **more).notes)

    assert "currents below the lowest run" in notes([0.1, 0.5])
    plain = notes([0.0, 0.5])
    assert "currents below the lowest run" not in plain and "times 0.9" not in plain and "limit times" not in plain
    assert "operational limit = limit times 0.9" in notes([0.0, 0.5], forecast_factor=0.9)
