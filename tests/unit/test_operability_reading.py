"""Records of wind and current: every fault of a file is handled and reported, and nothing is guessed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from toolkit.errors import StoreError, StudyError
from toolkit.findings.operability import ReadingOptions, read_record, reading_lines, reading_table
from toolkit.findings.operability.headings import factor_of, in_brackets, time_pattern
from toolkit.findings.operability.record import to_reference_height
from toolkit.findings.operability.report import reading_counts
from toolkit.particulars.wind import height_factor

KNOT = 1852.0 / 3600.0
HEAD = "time,wind_speed [m/s],wind_from [deg]"


def hours(count: int, start: str = "2001-01-01 00:00", step: str = "1h") -> list[str]:
    return [str(t) for t in pd.date_range(start, periods=count, freq=step)]


def write(text: str, name: str = "record.csv", encoding: str = "utf-8") -> Path:
    path = Path(name)
    path.write_text(text, encoding=encoding)
    return path


def record(rows: Sequence[str], head: str = HEAD, **options: object) -> xr.Dataset:
    return read_record(write("\n".join([head, *rows, ""])), ReadingOptions(**options))  # type: ignore[arg-type]


def refused(rows: Sequence[str], head: str = HEAD, **options: object) -> str:
    with pytest.raises(StudyError) as caught:
        record(rows, head, **options)
    return str(caught.value)


def counts(found: xr.Dataset) -> dict[str, object]:
    return {k: v for k, v in reading_counts(found).items() if isinstance(v, int | float) and v}


def test_a_plain_record_is_read_as_it_stands() -> None:
    found = record([f"{t},{5 + n},{10 * n}" for n, t in enumerate(hours(4))])
    np.testing.assert_array_equal(found["wind_speed"], [5.0, 6.0, 7.0, 8.0])
    np.testing.assert_array_equal(found["wind_from"], [0.0, 10.0, 20.0, 30.0])
    assert found.attrs["kind"] == "measured"
    assert found.attrs["step_hours"] == 1.0
    told = "\n".join(reading_lines(found))
    assert "4 rows, 4 with a wind speed" in told
    assert "Height of the wind not said: taken as 10 m" in told
    assert "Averaging time not said" in told
    assert "Time zone not said" in told


@pytest.mark.parametrize(
    ("head", "factor"),
    [
        ("time,wind_speed [kn],wind_from [deg]", KNOT),
        ("Time;Wind Speed (knots);Wind Direction (degrees)", KNOT),
        ("timestamp\tWSPD_kts\tWDIR", KNOT),
        ("# a note\nanother line\n\nDate time,wspd [km/h],wdir [°]", 1 / 3.6),
        ("datetime,Mean wind [m s-1],wind dir [deg true]", 1.0),
    ],
)
def test_columns_and_units_are_known_by_their_headings(head: str, factor: float) -> None:
    separator = ";" if ";" in head else "\t" if "\t" in head else ","
    found = record([separator.join([t, "12", "350"]) for t in hours(3)], head)
    np.testing.assert_allclose(found["wind_speed"], 12 * factor, rtol=1e-12)
    np.testing.assert_array_equal(found["wind_from"], 350.0)


def test_columns_and_units_can_be_named() -> None:
    rows = [f"{t},{90},{20},{7}" for t in hours(3)]
    found = record(
        rows,
        "when,a,b,c",
        columns={"time": "when", "wind_speed": "b", "wind_from": "a", "current_speed": "c", "current_from": "a"},
        units={"wind_speed": "kn", "current_speed": "kn"},
    )
    np.testing.assert_allclose(found["wind_speed"], 20 * KNOT)
    np.testing.assert_allclose(found["current_speed"], 7 * KNOT)
    np.testing.assert_array_equal(found["current_to"], 270.0)
    assert "current_to is current_from turned by 180 degrees" in "\n".join(reading_lines(found))


def test_a_decimal_comma_is_read_between_semicolons() -> None:
    found = record([f"{t};7,5;180" for t in hours(3)], HEAD.replace(",", ";"))
    np.testing.assert_array_equal(found["wind_speed"], 7.5)


def test_a_decimal_comma_between_commas_is_no_number() -> None:
    found = record([*(f"{t},7.5,180" for t in hours(9)), "2001-01-01 09:00,7,5,180"])
    assert counts(found)["row_unreadable"] == 1
    assert found.sizes["time"] == 9


def test_every_problem_of_a_file_is_told_at_once() -> None:
    told = refused(
        [f"{t},1,2" for t in hours(3)],
        "time,wind_speed,angle",
        columns={"current_speed": "nowhere"},
        units={"current_speed": "kn"},
    )
    assert told.startswith("3 problems")
    assert "no column 'nowhere' for current_speed" in told
    assert "no column of wind_from was recognised" in told
    assert "wind_speed has no unit" in told


def test_every_problem_of_the_options_is_told_before_the_file_is_opened() -> None:
    with pytest.raises(StudyError) as caught:
        read_record(
            "not-there.csv",
            ReadingOptions(
                columns={"speed": "a"}, times_in="Nowhere", hours_in="UTC+99", height=300.0, averaging_factor=9.0,
                step="3", averaging="10", times_at="middle",  # type: ignore[arg-type]
            ),
        )  # fmt: skip
    told = str(caught.value)
    assert told.startswith("8 problems")
    for words in ("speed is nothing that a record holds", "'Nowhere' is no time zone", "'UTC+99'", "height = 300 m",
                  "averaging_factor = 9", "'3' is no length", "'10' is no length of time", "times_at"):  # fmt: skip
        assert words in told


def test_two_columns_alike_are_not_chosen_between() -> None:
    told = refused([f"{t},1,2,3" for t in hours(3)], "time,wind speed [m/s],wspd [kn],wind_from")
    assert "both look like wind_speed" in told
    found = record(
        [f"{t},1,2,3" for t in hours(3)], "time,wind speed [m/s],wspd [kn],wind_from", columns={"wind_speed": "wspd"}
    )
    np.testing.assert_allclose(found["wind_speed"], 2 * KNOT)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no line of headings was found"),
        ("just words\nand more\n", "no line of headings was found"),
        (HEAD + "\n", "no rows below the headings"),
        (f"{HEAD}\nyesterday,1,2\ntoday,1,2\n", "times such as 'yesterday' cannot be read"),
        (f"{HEAD}\n01/02/2001 10:00,1,2\n01/02/2001 11:00,1,2\n", "not ISO 8601"),
        (f"{HEAD}\n2001-01-01 00:00,calm,x\n2001-01-01 01:00,-3,2\n", "only 0 of 2 rows give a wind speed"),
        (f"{HEAD}\n2001-01-01 00:00,1,2\n2001-01-01 00:00,1,2\n", "not a minute or more apart"),
        (f"{HEAD}\n" + "".join(f"{t},1,2\n" for t in hours(50, step="1s")), "not a minute or more apart"),
        (f"{HEAD}\n" + "".join(f"{t},1,2\n" for t in [*hours(50), "2051-01-01 00:00"]), "fewer than 5 % of the steps"),
        (HEAD.replace("m/s", "stone") + "\n2001-01-01 00:00,1,2\n", "unit 'stone', which is no unit of its kind"),
        (HEAD.replace("m/s", "deg") + "\n2001-01-01 00:00,1,2\n", "unit 'deg', which is no unit of its kind"),
    ],
)
def test_a_file_that_cannot_be_a_record_is_refused(text: str, words: str) -> None:
    with pytest.raises(StudyError, match="problem"):
        read_record(write(text))
    with pytest.raises(StudyError) as caught:
        read_record(write(text))
    assert words in str(caught.value)


def test_a_file_that_is_not_there_or_no_netcdf_is_no_traceback() -> None:
    with pytest.raises(StoreError, match="there is no such file"):
        read_record("nothing.csv")
    Path("cut.nc").write_bytes(b"\x89HDF\r\n\x1a\n" + b"\0" * 40)
    with pytest.raises(StoreError, match="cannot be read as NetCDF"):
        read_record("cut.nc")


def test_bad_rows_calms_and_missing_values_are_counted_with_their_lines() -> None:
    t = hours(14)
    rows = [
        f"{t[0]},5,90", f"{t[1]},0,", f"{t[2]},0,0", f"{t[3]},6,", f"{t[4]},6,990", f"{t[5]},,90", f"{t[6]},M,90",
        f"{t[7]},-9900,90", f"{t[8]},99,90", f"{t[9]},five,90", "not a time,5,90", f"{t[10]},5,360", f"{t[11]},5",
        "", "# a comment", f"{t[12]},5,-10", f"{t[13]},5,90", *(f"{x},5,90" for x in hours(10, "2001-01-01 14:00")),
    ]  # fmt: skip
    found = record(rows)
    told = reading_counts(found)
    assert told["rows"] == 25
    assert told["calms"] == 2
    assert told["direction_missing"] == 1
    assert told["direction_out_of_range"] == 2
    assert told["speed_missing"] == 2
    assert told["speed_out_of_range"] == 2
    assert told["row_unreadable"] == 2
    assert told["time_unreadable"] == 1
    assert told["first_rows"]["speed_out_of_range"] == [9, 10]
    assert told["first_rows"]["time_unreadable"] == [12]
    assert told["first_rows"]["direction_out_of_range"] == [6, 17]
    speed, bearing = found["wind_speed"].values, found["wind_from"].values
    assert np.isnan(bearing[1:5]).all() and not np.isnan(speed[1:5]).any()
    assert np.isnan(speed[5:10]).all()
    assert bearing[10] == 0.0
    assert np.isnan(speed[11])
    assert told["gaps"] == 2 and told["longest_gap_hours"] == 5.0
    lines = "\n".join(reading_lines(found))
    assert "2 rows: wind speed below 0 or above 75 m/s: no wind speed known, first in lines 9, 10" in lines
    table = reading_table(found).to_markdown()
    assert "| calm: wind speed 0 | 2 | kept, without a direction |" in table
    assert "Screening aid only" in table


def test_gaps_stay_open() -> None:
    t = hours(10)
    found = record([f"{x},5,90" for x in [*t[:3], *t[6:]]])
    np.testing.assert_array_equal(np.isnan(found["wind_speed"]), [False] * 3 + [True] * 3 + [False] * 4)
    assert counts(found)["gaps"] == 1
    assert counts(found)["longest_gap_hours"] == 3.0


def test_times_are_sorted_and_of_duplicates_the_one_with_the_most_wind_is_kept() -> None:
    t = hours(6)
    rows = [f"{t[3]},4,10", f"{t[0]},1,20", f"{t[1]},2,30", f"{t[1]},2,30", f"{t[2]},3,40", f"{t[2]},9,50",
            f"{t[4]},5,60", f"{t[5]},6,70"]  # fmt: skip
    found = record(rows)
    np.testing.assert_array_equal(found["wind_speed"], [1.0, 2.0, 9.0, 4.0, 5.0, 6.0])
    assert found["wind_from"].values[2] == 50.0
    told = counts(found)
    assert (told["unsorted"], told["duplicates_alike"], told["duplicates_that_differ"]) == (1, 1, 1)
    assert "merged_within_step" not in told


def test_rows_within_a_step_give_way_to_the_one_with_the_most_wind() -> None:
    t = hours(24, "2001-01-01 00:53")
    found = record([*(f"{x},5,90" for x in t), "2001-01-01 02:10,8,100", "2001-01-01 02:20,6,110"])
    assert found["wind_speed"].values[1] == 8.0
    assert found["wind_from"].values[1] == 100.0
    assert counts(found)["merged_within_step"] == 2
    assert str(found["time"].values[0])[:16] == "2001-01-01T00:53"


def test_clocks_that_waver_do_not_open_gaps() -> None:
    wavering = pd.date_range("2001-01-01", periods=48, freq="1h") + pd.to_timedelta([-20, 30] * 24, unit="s")
    found = record([f"{x},5,90" for x in wavering])
    assert found.sizes["time"] == 48
    assert not np.isnan(found["wind_speed"]).any()


def test_mixed_steps_are_told_and_the_step_is_the_one_that_covers_most() -> None:
    hourly, fine = hours(300), hours(60, "2001-01-13 12:00", "10min")
    found = record([f"{x},5,90" for x in [*hourly, *fine]])
    assert found.attrs["step_hours"] == 1.0
    assert "Times also differ by 0.1667 h (16 % of rows)" in "\n".join(reading_lines(found))
    coarse = record([f"{x},5,90" for x in hours(40, step="3h")], step="1 h")
    assert coarse.attrs["step_hours"] == 1.0
    assert np.isnan(coarse["wind_speed"]).sum() == 2 * 39


def test_times_with_offsets_are_brought_to_utc_and_hours_counted_where_wanted() -> None:
    rows = [f"2001-07-01T{h:02d}:00+02:00,5,90" for h in range(24)]
    found = record([*rows, "2001-07-02T00:00,5,90"], hours_in="UTC+2")
    assert str(found["time"].values[0])[:16] == "2001-06-30T22:00"
    assert str(found["local_time"].values[0])[:16] == "2001-07-01T00:00"
    assert counts(found)["time_unreadable"] == 1  # no offset where the others have one
    assert "Times in UTC, or with the offsets that they name; hours and months counted in UTC+2" in reading_lines(found)


def test_times_of_a_zone_with_summer_time_have_neither_gap_nor_duplicate() -> None:
    zone = "Europe/Berlin"
    utc = pd.date_range("2001-03-24", "2001-10-30", freq="1h", tz="UTC")
    local = utc.tz_convert(zone).tz_localize(None)
    found = record([f"{t},{n % 20},90" for n, t in enumerate(local)], times_in=zone)
    np.testing.assert_array_equal(found["time"].values, utc.tz_localize(None).values)
    np.testing.assert_array_equal(found["local_time"].values, local.values)
    np.testing.assert_array_equal(found["wind_speed"], np.arange(len(utc)) % 20)


def test_hours_in_another_zone_need_the_zone_of_the_times() -> None:
    assert "the times name no zone" in refused([f"{t},5,90" for t in hours(3)], hours_in="UTC+2")
    found = record([f"{t},5,90" for t in hours(3)], times_in="UTC-9", hours_in="UTC")
    assert str(found["local_time"].values[0])[:13] == "2001-01-01T09"
    utc = record([f"{t},5,90" for t in hours(3)], HEAD.replace("time,", "time [UTC],"))
    assert utc.attrs["hours_zone"] == "UTC"


def test_patterns_of_times() -> None:
    found = record(
        [f"{d:02d}.02.2001 24:00,5,90" for d in range(1, 11)],
        "date and time (DD.MM.YYYY HH:MM),wind_speed [kn],wind_from",
    )
    assert str(found["time"].values[0])[:16] == "2001-02-02T00:00"
    split = record(
        [f"02/{d:02d}/2001,{h:02d}:00,5,90" for d in (1, 2) for h in range(1, 25)],
        "Date (MM/DD/YYYY),Time (HH:MM),wind_speed [kn],wind_from",
        times_at="end",
    )
    assert str(split["time"].values[0])[:16] == "2001-02-01T00:00"
    assert split.sizes["time"] == 48 and not np.isnan(split["wind_speed"]).any()
    given = record([f"1/2/2001 {h}h,5,90" for h in range(24)], time_format="%d/%m/%Y %Hh")
    assert str(given["time"].values[0])[:10] == "2001-02-01"
    assert time_pattern("UTC") == "" and time_pattern("DD/MM/YYYY", "HH:MM:SS") == "%d/%m/%Y %H:%M:%S"


def test_height_goes_to_ten_metres_by_the_one_seventh_power() -> None:
    rows = [f"{t},10,90" for t in hours(3)]
    found = record(rows, height=40.0, averaging="1 h", averaging_factor=1.05)
    np.testing.assert_allclose(found["wind_speed"], 10.5 * (10 / 40) ** (1 / 7), rtol=1e-12)
    told = "\n".join(reading_lines(found))
    assert (
        "Wind at 40 m brought to 10 m by the one-seventh power law (common practice, no source), times 0.8203" in told
    )
    assert "Averaging time 1 h; limits are for ten-minute means, and winds were multiplied by 1.05" in told
    # the same profile as that of the wind loads: the mean of its square up to z is 7/9 of the square at z
    z = 25.0
    ratio = 1.0 / to_reference_height(np.ones(1), z)[0]
    assert float(height_factor(z)) == pytest.approx(7.0 / 9.0 * ratio**2, rel=1e-12)


def test_a_typical_year_must_be_called_one_and_nothing_else_may_be() -> None:
    parts = [pd.date_range(f"{1990 + 2 * (m % 5)}-{m:02d}-01", periods=24 * 28, freq="1h") for m in range(1, 13)]
    rows = [f"{t},5,90" for part in parts for t in part]
    told = refused(rows)
    assert "spliced" in told and "1990, 1992, 1994, 1996, 1998" in told
    found = record(rows, typical_year=True)
    assert found.attrs["kind"] == "typical_year"
    assert int((~np.isnan(found["wind_speed"])).sum()) == 12 * 24 * 28
    assert set(pd.DatetimeIndex(found["time"].values).year) == {2001}
    months = pd.DatetimeIndex(found["local_time"].values[~np.isnan(found["wind_speed"])]).month
    assert (months.value_counts() == 24 * 28).all()
    two_years = [f"{t},5,90" for t in hours(2 * 8760)]
    assert "months of several years" in refused(two_years, typical_year=True)


def test_latin_one_and_a_byte_order_mark_are_read() -> None:
    rows = "\n".join(f"{t},5,90" for t in hours(3))
    for encoding in ("latin-1", "utf-8-sig"):
        found = read_record(write(f"time,wind_speed [kn],wind_from [°]\n{rows}\n", encoding=encoding))
        np.testing.assert_array_equal(found["wind_from"], 90.0)


def netcdf(**changes: object) -> xr.Dataset:
    time = pd.date_range("2001-01-01", periods=48, freq="1h")
    data = xr.Dataset(
        {
            "ws": (("time", "station"), np.full((48, 1), 20.0), {"standard_name": "wind_speed", "units": "knots"}),
            "dd": ("time", np.full(48, 90.0), {"standard_name": "wind_to_direction", "units": "degree"}),
            "u": ("time", np.full(48, 0.3), {"standard_name": "eastward_sea_water_velocity", "units": "m s-1"}),
            "v": ("time", np.full(48, -0.4), {"standard_name": "northward_sea_water_velocity", "units": "m s-1"}),
        },
        coords={"time": time, "height": ((), 20.0, {"standard_name": "height", "units": "m"})},
    )
    data["ws"].attrs["cell_methods"] = "time: mean (interval: 10 minutes)"
    return data.assign(changes)


def test_netcdf_is_read_by_its_standard_names() -> None:
    netcdf().to_netcdf("record.nc")
    found = read_record("record.nc", ReadingOptions(hours_in="UTC+3"))
    np.testing.assert_allclose(found["wind_speed"], 20 * KNOT * 0.5 ** (1 / 7), rtol=1e-12)
    np.testing.assert_array_equal(found["wind_from"], 270.0)
    np.testing.assert_allclose(found["current_speed"], 0.5)
    np.testing.assert_allclose(found["current_to"], 180.0 - np.rad2deg(np.arctan(0.75)))
    assert str(found["local_time"].values[0])[:13] == "2001-01-01T03"
    told = "\n".join(reading_lines(found))
    assert "the file says of wind_speed: time: mean (interval: 10 minutes)" in told
    assert "Wind at 20 m brought to 10 m" in told
    assert "current_speed and current_to are from the components" in told


def test_netcdf_with_components_gaps_and_a_told_height() -> None:
    data = netcdf().drop_vars(["ws", "dd"])
    east = np.full(48, 3.0)
    east[5] = np.nan
    data["e"] = ("time", east, {"standard_name": "eastward_wind", "units": "m s-1"})
    data["n"] = ("time", np.full(48, 4.0), {"standard_name": "northward_wind", "units": "m s-1"})
    data.to_netcdf("record.nc")
    found = read_record("record.nc", ReadingOptions(height=10.0))
    assert np.isnan(found["wind_speed"].values[5])
    np.testing.assert_allclose(np.delete(found["wind_speed"].values, 5), 5.0)
    np.testing.assert_allclose(np.delete(found["wind_from"].values, 5), 180.0 + np.rad2deg(np.arctan(0.75)))


def test_netcdf_that_does_not_fit_is_refused_with_every_reason() -> None:
    data = netcdf()
    data["ws"] = (("time", "station"), np.ones((48, 3)), {"standard_name": "wind_speed"})
    data["other"] = ("time", np.ones(48), {"standard_name": "wind_to_direction", "units": "degree"})
    data.to_netcdf("record.nc")
    with pytest.raises(StudyError) as caught:
        read_record("record.nc", ReadingOptions(columns={"current_speed": "nowhere"}))
    told = str(caught.value)
    for words in ("there is no variable 'nowhere'", "wind_speed has no unit", "ws is no plain series in time",
                  "'dd' and 'other' are both wind_to"):  # fmt: skip
        assert words in told
    strange = netcdf().assign_coords(
        time=("time", np.arange(48.0), {"units": "hours since 2001-01-01", "calendar": "360_day"})
    )
    strange.to_netcdf("strange.nc")
    with pytest.raises(StudyError, match="360_day"):
        read_record("strange.nc")
    netcdf().drop_vars("time").to_netcdf("timeless.nc")
    with pytest.raises(StudyError, match="no column of times"):
        read_record("timeless.nc")


def test_units_and_brackets() -> None:
    assert in_brackets("Wdir (degrees)") == ("Wdir", "degrees")
    assert in_brackets("plain") == ("plain", "")
    problems: list = []
    assert factor_of("wind_speed", "kt", where="x", problems=problems) == pytest.approx(KNOT)
    assert factor_of("wind_from", "rad", where="x", problems=problems) == pytest.approx(180 / np.pi)
    assert problems == []
