"""Numbers in the tables and lines of operability, by hand: hours, shares, and what is told only where it is so."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from tests.unit.test_operability_reading import hours, record
from tests.weather import made_record
from toolkit.errors import StudyError
from toolkit.findings.operability import (
    by_direction_table,
    invented_record,
    limit_table,
    operability,
    operability_table,
    reading_lines,
    reading_table,
)
from toolkit.findings.operability.limit import NEVER
from toolkit.findings.operability.report import reading_counts
from toolkit.findings.operability.spells import HOURS_A_YEAR
from toolkit.findings.operability.tables import basis_lines, limit_words
from toolkit.findings.sensitivity.words import failed_text

KNOT = 1852.0 / 3600.0
# ten days of twelve hours of calm, then eight of gale and four of calm from north, where the limit is lower
DAY = np.repeat([5.0, 15.0, 7.0], [12, 8, 4])
LIMIT = limit_table([0, 90, 180, 270], [6.0, 10.0, 10.0, 10.0])


def ten_days(**more: float) -> dict[str, tuple[object, ...]]:
    bearing = np.where(DAY == 7.0, 180.0, 90.0)
    whole = operability(made_record(np.tile(DAY, 10), np.tile(bearing, 10)), LIMIT, **more)
    return {str(row[0]): row[1:] for row in operability_table(whole).rows}


def test_availability_events_and_windows_are_told_for_box_and_joint_limit() -> None:
    # the box keeps winds to 6 m/s, twelve hours a day; the joint limit sixteen
    found = ten_days(job_hours=3.0, calm_hours=2.0)
    half, third = 50.0, pytest.approx(100.0 / 6.0)
    assert found["availability [% of time]"] == (half, pytest.approx(200.0 / 3.0), third)
    assert found["availability, January [% of time]"] == (half, pytest.approx(200.0 / 3.0), third)
    a_year = pytest.approx(HOURS_A_YEAR / 24.0)
    for words in ("exceedance events a year", "events a year, calms shorter than 2 h dropped"):
        assert found[words] == (a_year, a_year, 0.0)
    assert found["mean duration of an event [h]"] == found["longest event [h]"] == (12.0, 8.0, -4.0)
    assert found["mean duration of such an event [h]"] == (12.0, 8.0, -4.0)
    assert found["mean interval of events, start to start [h]"] == (24.0, 24.0, 0.0)
    shares = (half, pytest.approx(200.0 / 3.0), third)
    assert found["conditional availability, such calms dropped [% of time]"] == shares
    assert found["time in such windows [% of time]"] == shares
    # of box windows of 12 h ten hours can begin the job; of joint ones of 16 h fourteen, of the first 12 h ten
    starts = found["times from which a job of 3 h can be done [% of time]"]
    assert starts[0] == pytest.approx(100.0 * 100 / 240)
    assert starts[1] == pytest.approx(100.0 * (10 + 9 * 14 + 2) / (240 - 2))


def test_good_and_bad_years_are_told_in_percent_once_there_are_enough() -> None:
    def table(years: int):  # type: ignore[no-untyped-def]
        # every year another share of calm hours: 50, 60, 70, ... percent
        size = [8784 if year % 4 == 0 else 8760 for year in range(2001, 2001 + years)]
        wind = [np.where(np.arange(n) < (0.5 + 0.1 * k) * n, 5.0, 15.0) for k, n in enumerate(size)]
        return operability_table(operability(made_record(np.concatenate(wind), 90.0), LIMIT))

    five = table(5)
    rows = {str(row[0]): row[1:] for row in five.rows}
    assert rows["P50 year: half of the years reach [% of time]"][:2] == pytest.approx((70.0, 70.0), abs=0.02)
    assert rows["P90 year: nine in ten years reach [% of time]"][:2] == pytest.approx((54.0, 54.0), abs=0.02)
    assert "Whole years of record: 5." in five.notes
    assert "Whole years of record: 2; a P50 and a P90 year need 5." in table(2).notes


def test_the_time_from_each_direction_and_of_none_is_told() -> None:
    wind = made_record([10 * KNOT] * 3 + [20 * KNOT, 0.0], [0.0, 0.0, 90.0, 90.0, np.nan])
    limit = limit_table([0, 90, 180, 270], [4.0 * KNOT, 12.0 * KNOT, 12.0 * KNOT, NEVER])
    table = by_direction_table(operability(wind, limit))
    assert table.rows[0] == ("000", 40.0, pytest.approx(10.0), pytest.approx(4.0), 0.0, 0.0, 0.0)
    assert table.rows[1] == ("090", 40.0, pytest.approx(15.0), pytest.approx(12.0), 0.0, 50.0, 50.0)
    assert table.rows[3][3] == "no wind, calm included"
    both = by_direction_table(operability(made_record([5.0, 7.0, 15.0, 5.0], 90.0), LIMIT)).rows[1]
    assert both[4:] == (50.0, 75.0, 25.0)
    assert "Calms and winds without a bearing, 20.0 % of the time" in table.notes[0]


def test_a_limit_in_words() -> None:
    assert [limit_words(value) for value in (12 * KNOT, NEVER, np.nan)] == [
        "12 kn",
        "no wind, calm included",
        "not known",
    ]


def test_time_that_was_not_run_is_told_where_there_is_any() -> None:
    wind = made_record([5.0] * 8, [0.0] * 7 + [200.0])
    lines = "\n".join(basis_lines(operability(wind, limit_table([0.0, 30.0], [10.0, 10.0]))))
    assert "12.50 % of the time counts as not workable only because nothing more was run" in lines
    assert "nothing more was run" not in "\n".join(basis_lines(operability(wind, LIMIT)))


def test_what_was_read_is_told_in_percent_lines_and_factors() -> None:
    t = hours(8)
    found = record([f"{x},5,90" for x in t[:5]] + [f"{t[7]},5,400"])
    told = "\n".join(reading_lines(found))
    assert (
        "wind known in 6 (75.00 %)" in told and "2 gaps" not in told and "\n1 gap, of 2 h; nothing is filled in" in told
    )
    assert "1 row: direction outside 0 to 360 degrees (codes for variable wind)" in told and "first in line 7" in told
    assert "taken as the ten-minute mean that limits are for\n" in told
    assert {str(row[0]): row[1] for row in reading_table(found).rows}["rows of the file"] == 6
    scaled = "\n".join(reading_lines(record([f"{x},5,90" for x in t], averaging_factor=1.1)))
    assert "\nno gaps\n" in scaled
    twice = "\n".join(reading_lines(record([f"{t[place]},5,90" for place in (0, 1, 3, 4, 7)], step="1 h")))
    assert "\n2 gaps, the longest 2 h; nothing is filled in" in twice
    assert "that limits are for once multiplied by 1.1" in scaled
    for factor, words in ((1.0, "no factor was applied"), (1.1, "winds were multiplied by 1.1")):
        named = record([f"{x},5,90" for x in t], averaging="1 h", averaging_factor=factor)
        assert f"limits are for ten-minute means, and {words}" in "\n".join(reading_lines(named))


def test_an_invented_record_has_no_rows_of_a_file() -> None:
    rows = {str(row[0]): row[1] for row in reading_table(invented_record(1)).rows}
    assert (rows["rows of the file"], rows["steps"], rows["gaps"]) == (0, 8760, 0)


def test_counts_are_only_of_a_record() -> None:
    wind = made_record([5.0])
    assert reading_counts(wind)["rows"] == 1
    steps = dict(wind.attrs)
    del steps["step_hours"]
    for other in (
        wind.drop_vars("wind_speed"),
        xr.Dataset(wind.data_vars, wind.coords, steps),
        wind.assign_attrs(reading="[]"),
    ):
        with pytest.raises(StudyError, match="no record of this package"):
            reading_counts(other)


def test_failed_cases_are_told_in_percent_and_by_how_they_ended() -> None:
    found = xr.Dataset({"failed_share": ("count", [0.25, 0.5]), "out_of_time_count": 2, "failed_count": 1})
    assert failed_text(found) == (
        "37.5 % of the cases did not complete (2 out of time, 1 by another failure) and none is dropped"
    )
    assert failed_text(found.assign(failed_share=0.0)) == "0.0 % of the cases did not complete and none is dropped"
    assert failed_text(xr.Dataset({"failed_share": 1.0})) == "100.0 % of the cases did not complete and none is dropped"
