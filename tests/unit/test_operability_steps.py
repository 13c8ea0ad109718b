"""Even steps of a record at their edges: which step it has, what is spliced, which gaps it has, by hand."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from toolkit.errors import Problem, StudyError
from toolkit.findings.operability.steps import even_steps, find_step, splice, splice_problems, spliced_years

START = pd.Timestamp("2001-01-01")


def after(*hours: float) -> pd.DatetimeIndex:
    """Times that follow one another by so many hours."""
    return pd.DatetimeIndex(START + pd.to_timedelta(np.cumsum([0.0, *hours]), unit="h"))


def step_of(times: pd.DatetimeIndex) -> tuple[float, list[Problem]]:
    problems: list[Problem] = []
    return find_step(times, where="here", problems=problems), problems


def rows(times: pd.DatetimeIndex, wind: float | list[float] = 5.0) -> pd.DataFrame:
    return pd.DataFrame({"wind_speed": wind}, index=times, dtype=np.float64)


def test_the_step_covers_most_of_the_record_and_is_no_single_gap() -> None:
    assert step_of(after(1, 1, 1, 10, 10)) == (10.0, [])  # twice 10 h is more than three times 1 h
    assert step_of(after(*[1] * 10, 100, *[1] * 10)) == (1.0, [])  # once is a gap, however long
    assert step_of(after(7)) == (7.0, [])  # unless there is no other


def test_half_a_minute_is_the_least_that_counts_as_one() -> None:
    assert step_of(after(*[33 / 3600] * 9)) == (1 / 60, [])
    step, problems = step_of(after(*[29 / 3600] * 9))
    assert step == 1.0
    assert [p.what for p in problems] == ["successive times are not a minute or more apart"]


def months_of_days(*of_month: tuple[int, int, int]) -> pd.DatetimeIndex:
    """Days from the first of (year, month) on, so many of each."""
    parts = [pd.date_range(f"{year}-{month:02d}-01", periods=days, freq="1D") for year, month, days in of_month]
    return pd.DatetimeIndex(np.concatenate(parts))


def test_a_spliced_year_has_ten_months_of_a_year_each_out_of_three() -> None:
    ten = [(1990 + month % 3, month, 20) for month in range(1, 11)]
    assert spliced_years(months_of_days(*ten)) == [1990, 1991, 1992]
    assert spliced_years(months_of_days(*ten[:9])) == []
    assert spliced_years(months_of_days(*[(1990 + month % 2, month, 20) for month in range(1, 13)])) == []
    whole = [(year, month, 20) for year in (1990, 1991, 1992) for month in range(1, 13)]
    assert spliced_years(months_of_days(*whole)) == []  # three years as they came


@pytest.mark.parametrize(("stray", "spliced"), [(1, True), (2, False)])
def test_a_twentieth_of_a_month_is_a_stray_and_more_is_a_month(stray: int, spliced: bool) -> None:
    ten = [pd.date_range(f"{1990 + m % 3}-{m:02d}-01", periods=100, freq="5h") for m in range(1, 11)]
    few = pd.date_range("1990-01-01", periods=5 + stray - 1, freq="1h")  # 5 or 6 of 100 rows; January is of 1991
    assert bool(spliced_years(pd.DatetimeIndex(np.concatenate([*ten, few])))) is spliced


def test_a_typical_year_may_have_one_month_of_two_years_and_no_more() -> None:
    def told(times: pd.DatetimeIndex) -> list[Problem]:
        return splice_problems(times, [], typical_year=True, where="here")

    assert told(months_of_days((1990, 1, 20), (1990, 2, 20), (1991, 1, 5))) == []
    assert len(told(months_of_days((1990, 1, 20), (1990, 2, 20), (1991, 1, 5), (1991, 2, 5)))) == 1


def test_two_rows_of_forty_steps_are_a_record_and_of_forty_one_are_none() -> None:
    even, counts = even_steps(rows(after(39)), 1.0)
    assert len(even) == counts["steps"] == 40
    assert counts["known_steps"] == 2
    with pytest.raises(StudyError, match="fewer than 5 % of the steps of 1 h"):
        even_steps(rows(after(40)), 1.0)
    with pytest.raises(StudyError, match="from 2001-01-01 00:00:00 to 2001-01-04 09:00:00 are there"):
        even_steps(rows(after(1, 80)), 1.0)


def test_gaps_are_counted_up_to_both_ends_and_told_in_hours() -> None:
    none = even_steps(rows(after(3, 3, 3)), 3.0)[1]
    assert (none["gaps"], none["longest_gap_hours"]) == (0, 0.0)
    ends = even_steps(rows(after(3, 3, 9, 3, 3), [np.nan, 5, 5, 5, np.nan, np.nan]), 3.0)[1]
    assert (ends["steps"], ends["known_steps"], ends["gaps"], ends["longest_gap_hours"]) == (8, 3, 3, 6.0)


def test_other_steps_are_those_of_a_hundredth_of_the_rows_or_more() -> None:
    assert even_steps(rows(after(*[1] * 9)), 1.0)[1]["other_steps"] == {}
    assert even_steps(rows(after(*[1] * 99, 2)), 1.0)[1]["other_steps"] == {"2 h": 0.01}
    assert even_steps(rows(after(*[1] * 100, 2)), 1.0)[1]["other_steps"] == {}
    assert even_steps(rows(after(1 / 6)), 1.0)[1]["other_steps"] == {"0.1667 h": 1.0}
    assert even_steps(rows(after(1, 1, 1, 1 / 60)), 1.0)[1]["other_steps"] == {"0.01667 h": 0.25}


def test_a_typical_year_with_a_leap_day_is_put_into_one_that_has_it() -> None:
    leap = splice(pd.DatetimeIndex(["1996-02-29 06:00", "1997-03-01", "1993-12-31 23:30"]))
    assert [str(time) for time in leap] == ["2000-02-29 06:00:00", "2000-03-01 00:00:00", "2000-12-31 23:30:00"]
    plain = splice(pd.DatetimeIndex(["1996-02-28", "1997-03-29 01:00"]))
    assert [str(time) for time in plain] == ["2001-02-28 00:00:00", "2001-03-29 01:00:00"]
