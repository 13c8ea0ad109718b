"""Rows of a record at their edges: bearings, currents, headings and columns, each by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from tests.unit.test_operability_reading import HEAD, KNOT, counts, hours, netcdf, record, refused
from toolkit.errors import StudyError
from toolkit.findings.operability import ReadingOptions, read_record, reading_lines
from toolkit.findings.operability.csv_record import MOST_LINES_ABOVE
from toolkit.findings.operability.faults import judge_rows
from toolkit.findings.operability.raw import RawRecord, flows_of

NONE = np.nan


def judged(**values: list[float]) -> tuple[pd.DataFrame, dict[str, Any]]:
    """Rows judged, an hour apart."""
    size = len(values["wind_speed"])
    given = {
        name: np.array(column, dtype=np.float64) for name, column in {"wind_from": [90.0] * size, **values}.items()
    }
    times = pd.date_range("2001-01-01", periods=size, freq="1h")
    nothing = np.zeros(size, dtype=bool)
    return judge_rows(
        RawRecord(name="here", times=times, values=given, unreadable=nothing, rows=np.arange(1, size + 1)), times
    )


def test_bearings_from_nothing_to_a_whole_turn_are_kept_and_no_others() -> None:
    rows, told = judged(wind_speed=[5.0] * 6, wind_from=[0.0, 0.5, 360.0, -0.5, 360.5, NONE])
    np.testing.assert_array_equal(rows["wind_from"], [0.0, 0.5, 0.0, NONE, NONE, NONE])
    assert (told["direction_out_of_range"], told["direction_missing"]) == (2, 1)


def test_a_current_has_a_bearing_where_it_runs_and_one_is_told() -> None:
    rows, told = judged(
        wind_speed=[5.0] * 8,
        current_speed=[0.5, 0.5, 0.5, 0.5, 0.0, 0.5, NONE, 10.5],
        current_to=[0.0, 0.5, 360.0, 360.5, 90.0, NONE, 90.0, 90.0],
    )
    np.testing.assert_array_equal(rows["current_to"], [0.0, 0.5, 0.0, NONE, NONE, NONE, NONE, NONE])
    np.testing.assert_array_equal(rows["current_speed"], [0.5, 0.5, 0.5, 0.5, 0.0, 0.5, NONE, NONE])
    found = [told[f"current_{name}"] for name in ("direction_missing", "missing", "out_of_range")]
    assert found == [2, 1, 1]


def test_half_of_the_rows_have_to_give_a_wind() -> None:
    assert judged(wind_speed=[5.0] * 5 + [NONE] * 5)[1]["usable"] == 5
    with pytest.raises(StudyError, match="only 4 of 10 rows give a wind speed"):
        judged(wind_speed=[5.0] * 4 + [NONE] * 6)


def flows(**columns: float) -> dict[str, float]:
    return {
        name: float(values[0]) for name, values in flows_of({k: np.array([v]) for k, v in columns.items()})[0].items()
    }


def test_components_become_a_wind_from_and_a_current_to() -> None:
    for east, north, towards in ((3.0, 0.0, 90.0), (-3.0, 0.0, 270.0), (0.0, -3.0, 180.0), (0.0, 3.0, 0.0)):
        assert flows(current_east=east, current_north=north) == pytest.approx(
            {"current_speed": 3.0, "current_to": towards}
        )
        wind = flows(wind_east=east, wind_north=north)
        assert wind == pytest.approx({"wind_speed": 3.0, "wind_from": (towards + 180.0) % 360.0})


def test_a_bearing_of_the_other_way_is_turned_and_one_that_is_none_is_left_to_be_judged() -> None:
    for to, found in (
        (0.0, 180.0),
        (0.5, 180.5),
        (180.0, 0.0),
        (270.0, 90.0),
        (360.0, 180.0),
        (400.0, 400.0),
        (-1.0, -1.0),
    ):
        assert flows(wind_speed=3.0, wind_to=to) == {"wind_speed": 3.0, "wind_from": found}


def test_components_are_taken_where_speed_or_bearing_is_missing() -> None:
    both = {"wind_east": 0.0, "wind_north": -4.0}
    expected = pytest.approx({"wind_speed": 4.0, "wind_from": 0.0})
    assert flows(**both, wind_from=77.0) == expected
    assert flows(**both, wind_speed=9.0) == expected
    assert flows(**both, wind_speed=9.0, wind_from=77.0) == {"wind_speed": 9.0, "wind_from": 77.0}


def test_what_was_recognised_is_told_with_line_and_unit() -> None:
    rows = [f"{t},12,350,1,90" for t in hours(3)]
    found = record(rows, "# a note\nanother line\ntime,wspd [kn],wdir,current speed [kn],current direction")
    told = "\n".join(reading_lines(found))
    assert "headings on line 3; time is 'time'" in told and "headings on line 3; wind_speed" not in told
    assert f"wind_speed in kn, times {KNOT:.6g}" in told
    assert "wind_from in degrees (not said), times 1" in told
    assert "the direction of the current is taken as the bearing it runs TO" in told
    plain = record(rows, "time,wspd [kn],wdir,current speed [kn],current to")
    assert "is taken as the bearing" not in "\n".join(reading_lines(plain))


def test_headings_are_no_comment_and_lie_below_so_many_lines_at_most() -> None:
    rows = [f"{t},12,350" for t in hours(3)]
    found = record(rows, "# of,wspd [kn],wdir,current speed [kn],current to\n" + HEAD)
    assert set(found.data_vars) == {"wind_speed", "wind_from"}
    assert record(rows, "a line\n" * MOST_LINES_ABOVE + HEAD).sizes["time"] == 3
    assert "no line of headings was found" in refused(rows, "a line\n" * (MOST_LINES_ABOVE + 1) + HEAD)


def test_columns_headed_alike_are_refused_where_they_are_used() -> None:
    rows = [f"{t},1,2,3,4" for t in hours(3)]
    assert record(rows, HEAD + ",x,x").sizes["time"] == 3
    told = refused(rows, HEAD + ",x,wind_from [deg]")
    assert "two columns are headed 'wind_from [deg]'" in told
    assert "headed 'time'" not in told and "headed 'x'" not in told


def test_a_row_counts_among_the_unreadable_with_its_line() -> None:
    assert counts(record([*(f"{t},5,90" for t in hours(4)), "2001-01-01 04:00,5,90,1"]))["row_unreadable"] == 1


def test_a_height_is_read_of_nothing_else_that_has_one_value() -> None:
    netcdf().drop_vars("height").assign_coords(latitude=((), 54.0)).to_netcdf("place.nc")
    assert "Height of the wind not said" in "\n".join(reading_lines(read_record("place.nc", ReadingOptions())))


def test_a_date_beside_the_times_of_a_netcdf_file_is_not_needed() -> None:
    netcdf().assign(date=("time", np.arange(48.0))).to_netcdf("dated.nc")
    assert read_record("dated.nc").sizes["time"] == 48


def test_words_in_the_place_of_a_wind_are_refused() -> None:
    words = xr.DataArray(["calm"] * 48, dims="time", attrs={"standard_name": "wind_to_direction", "units": "degree"})
    netcdf(dd=words).to_netcdf("words.nc")
    with pytest.raises(StudyError, match="dd holds no numbers"):
        read_record("words.nc")
