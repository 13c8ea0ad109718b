"""Time under a limit: availability, events, windows and years, against counts made by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from tests.weather import made_record
from toolkit.errors import StudyError
from toolkit.findings.operability import (
    availability,
    availability_by_direction,
    by_direction_table,
    events,
    exceedance,
    invented_record,
    limit_table,
    operability,
    operability_table,
    windows,
    workable_time,
    yearly,
)
from toolkit.findings.operability.spells import HOURS_A_YEAR, LADDER, drop_short_calms, spells

LIMIT = limit_table([0, 90, 180, 270], [10.0] * 4)
CALM, GALE, GAP = 5.0, 15.0, np.nan


def held(pattern: Any, limit: xr.Dataset = LIMIT, **more: Any) -> xr.Dataset:
    return workable_time(made_record(pattern, **more), limit)


def joint(found: xr.Dataset, name: str) -> float:
    return float(found[name].sel(rule="joint"))


def square_wave(calm: int, gale: int, periods: int) -> np.ndarray:
    return np.tile(np.repeat([CALM, GALE], [calm, gale]), periods)


@pytest.mark.parametrize(("calm", "gale", "step"), [(9, 3, 1.0), (2, 10, 1.0), (12, 12, 0.5), (5, 1, 3.0)])
def test_a_square_wave_gives_its_own_events_and_windows(calm: int, gale: int, step: float) -> None:
    periods = 40
    found = held(square_wave(calm, gale, periods), step_hours=step)
    period = (calm + gale) * step
    assert joint(availability(found), "share") == pytest.approx(calm / (calm + gale))
    told = events(found)
    assert joint(told, "count") == periods
    assert joint(told, "count_a_year") == pytest.approx(HOURS_A_YEAR / period)
    for name in ("mean_duration", "median_duration", "longest_duration"):
        assert joint(told, name) == pytest.approx(gale * step)
    assert joint(told, "mean_interval") == pytest.approx(period)
    assert joint(told, "cut_count") == 1  # the last one
    assert joint(told, "conditional_availability") == pytest.approx(calm / (calm + gale))
    job = 2 * step
    in_windows = windows(found, job_hours=job)
    assert joint(in_windows, "count_a_year") == pytest.approx(HOURS_A_YEAR / period)
    assert joint(in_windows, "share_in_windows") == pytest.approx(calm / (calm + gale))
    # of every period, all calm steps but the last can begin a job of two
    assert joint(in_windows, "share_of_starts") == pytest.approx((calm - 1) / (calm + gale))
    # waits of 1, 2, ... steps from the last calm step and from every step of the gale
    wait = step * np.concatenate([np.zeros(calm - 1), np.arange(gale + 1, 0, -1)])
    whole = np.concatenate([np.tile(wait, periods - 1), np.zeros(calm - 1)])
    assert joint(in_windows, "mean_wait") == pytest.approx(whole.mean())
    assert joint(in_windows, "wait_90") == pytest.approx(np.quantile(whole, 0.9))


def test_a_job_longer_than_every_calm_cannot_be_done() -> None:
    found = windows(held(square_wave(4, 2, 30)), job_hours=4.5)
    assert joint(found, "count_a_year") == 0.0
    assert joint(found, "share_of_starts") == 0.0
    assert np.isnan(joint(found, "mean_wait"))


def test_short_calms_do_not_end_an_event() -> None:
    pattern = np.array([CALM] * 9 + [GALE] * 2 + [CALM] * 3 + [GALE] * 2 + [CALM] * 4 + [GALE] + [CALM] * 9)
    found = held(pattern)
    assert joint(events(found), "count") == 3
    assert joint(events(found, calm_hours=3.0), "count") == 3  # a calm of that length counts
    merged = events(found, calm_hours=4.0)
    assert joint(merged, "count") == 2
    assert joint(merged, "mean_duration") == pytest.approx((7 + 1) / 2)
    assert joint(merged, "conditional_availability") == pytest.approx(22 / 30)
    assert joint(events(found, calm_hours=5.0), "longest_duration") == 12.0


def test_gaps_cut_events_and_windows_and_are_never_counted() -> None:
    pattern = np.array([GALE, GALE, GAP, GAP, GALE, CALM, CALM, CALM, GAP, CALM, GALE, CALM])
    found = held(pattern)
    assert joint(availability(found), "share") == pytest.approx(5 / 9)
    told = events(found)
    assert joint(told, "count") == 3
    assert joint(told, "cut_count") == 2
    assert joint(told, "mean_duration") == pytest.approx(4 / 3)
    assert joint(told, "mean_interval") != joint(told, "mean_interval")  # none without a gap between
    assert joint(told, "count_a_year") == pytest.approx(3 / 9 * HOURS_A_YEAR)
    two = windows(found, job_hours=2.0)
    # decided: 4 steps of gale, calms at 5 and 6 that begin a job, calm at 9 that does not; not those at 7 and 11
    assert joint(two, "undecided_count") == 2
    assert joint(two, "share_of_starts") == pytest.approx(2 / 7)
    assert joint(two, "mean_wait") == pytest.approx((1 + 0 + 0) / 3)
    assert joint(two, "share_in_windows") == pytest.approx(3 / 9)


def test_a_record_that_is_all_gap_all_calm_or_all_gale_says_so() -> None:
    gap = held(np.full(48, GAP))
    assert np.isnan(joint(availability(gap), "share"))
    assert joint(events(gap), "count") == 0 and np.isnan(joint(events(gap), "count_a_year"))
    assert np.isnan(joint(windows(gap, job_hours=3.0), "share_of_starts"))
    calm = held(np.full(48, CALM))
    assert joint(availability(calm), "share") == 1.0
    assert joint(events(calm), "count") == 0 and np.isnan(joint(events(calm), "mean_duration"))
    assert joint(windows(calm, job_hours=3.0), "share_of_starts") == 1.0
    assert joint(windows(calm, job_hours=3.0), "undecided_count") == 2
    gale = held(np.full(48, GALE))
    assert joint(availability(gale), "share") == 0.0
    assert joint(events(gale), "mean_duration") == 48.0
    assert joint(windows(gale, job_hours=3.0), "share_of_starts") == 0.0


def test_spells_of_nothing_and_of_one_step() -> None:
    assert spells(np.array([], dtype=np.int8)).empty
    one = spells(np.array([1], dtype=np.int8))
    assert one.to_dict("list") == {"state": [1], "start": [0], "steps": [1], "cut": [True]}
    np.testing.assert_array_equal(
        drop_short_calms(np.array([0, 1, 0, -1, 1, 1], dtype=np.int8), 2), [0, 0, 0, -1, 1, 1]
    )


def test_shares_by_month_and_hour_are_those_of_a_loop() -> None:
    generator = np.random.default_rng(11)
    speed = generator.uniform(0, 20, 24 * 200)
    speed[generator.uniform(size=speed.size) < 0.1] = np.nan
    found = availability(held(speed, start="2001-03-05 07:00"))
    local = pd.date_range("2001-03-05 07:00", periods=speed.size, freq="h")
    known, works = ~np.isnan(speed), speed <= 10.0
    for month in range(1, 13):
        here = known & (local.month == month)
        expected = works[here].mean() if here.any() else np.nan
        np.testing.assert_allclose(found["share_by_month"].sel(rule="joint", month=month), expected)
        assert int(found["known_by_month"].sel(month=month)) == here.sum()
        for hour in (0, 7, 23):
            both = here & (local.hour == hour)
            expected = works[both].mean() if both.any() else np.nan
            got = found["share_by_month_and_hour"].sel(rule="joint", month=month, hour=hour)
            np.testing.assert_allclose(got, expected)
    np.testing.assert_allclose(
        found["share_by_hour"].sel(rule="joint"), [works[known & (local.hour == h)].mean() for h in range(24)]
    )
    assert int(found["known_steps"]) == known.sum()


def test_hours_are_counted_in_local_time() -> None:
    pattern = np.where(np.arange(24 * 30) % 24 == 3, GALE, CALM)
    record = made_record(pattern)
    shifted = record.assign_coords(local_time=record["local_time"] + np.timedelta64(2, "h"))
    share = availability(workable_time(shifted, LIMIT))["share_by_hour"].sel(rule="joint").values
    np.testing.assert_array_equal(np.flatnonzero(share == 0.0), [5])


def test_exceedance_is_the_share_above_and_availability_what_is_left() -> None:
    record = made_record([0.0, 2.0, 2.0, 7.0, GAP, 10.0, 11.0])
    np.testing.assert_allclose(exceedance(record, [0.0, 2.0, 6.9, 7.0, 11.0]), np.array([5, 3, 3, 2, 0]) / 6)
    for limit in (2.0, 7.0, 10.0):
        found = availability(workable_time(record, limit_table([0, 90, 180, 270], [limit] * 4)))
        assert joint(found, "share") == pytest.approx(1.0 - float(exceedance(record, limit)[0]))


def test_directions_share_the_time_and_say_what_the_box_gives_away() -> None:
    limit = limit_table([0, 90, 180, 270], [4.0, 12.0, 12.0, 12.0])
    record = made_record([5, 5, 3, 5, 5, 0, 5], [0.0, 350.0, 10.0, 100.0, 180.0, np.nan, np.nan])
    found = availability_by_direction(workable_time(record, limit), [0, 90, 180, 270])
    np.testing.assert_allclose(found["share_of_time"], np.array([3, 1, 1, 0]) / 7)
    assert float(found["share_without_direction"]) == pytest.approx(2 / 7)
    np.testing.assert_allclose(found["share"].sel(rule="joint"), [1 / 3, 1.0, 1.0, np.nan])
    np.testing.assert_allclose(found["share"].sel(rule="box"), [1 / 3, 0.0, 0.0, np.nan])
    np.testing.assert_allclose(found["mean_wind"], [13 / 3, 5.0, 5.0, np.nan])
    table = by_direction_table(operability(record, limit))
    assert table.rows[1][4:] == (0.0, 100.0, 100.0)


def years_of(shares: list[float], coverage: list[float]) -> xr.Dataset:
    parts = []
    for place, (share, known) in enumerate(zip(shares, coverage, strict=True)):
        size = 8784 if (2001 + place) % 4 == 0 else 8760
        part = np.full(size, GAP)
        part[: round(known * size)] = GALE
        part[: round(share * known * size)] = CALM
        parts.append(part)
    return held(np.concatenate(parts))


def test_good_and_bad_years_are_quantiles_of_whole_years() -> None:
    shares = [0.5, 0.9, 0.7, 0.6, 0.8, 0.1]
    found = yearly(years_of(shares, [1.0, 1.0, 0.95, 1.0, 1.0, 0.5]))
    np.testing.assert_array_equal(found["whole"], [True] * 5 + [False])
    np.testing.assert_allclose(found["share"].sel(rule="joint"), shares, atol=2e-4)
    assert joint(found, "p50") == pytest.approx(0.7, abs=2e-4)
    assert joint(found, "p90") == pytest.approx(0.54, abs=2e-4)  # linear between 0.5 and 0.6
    few = yearly(years_of(shares[:4], [1.0] * 4))
    assert int(few["whole_years"]) == 4
    assert np.isnan(joint(few, "p50")) and np.isnan(joint(few, "p90"))


@pytest.mark.parametrize("step", [0.5, 3.0])
def test_a_year_is_covered_by_its_hours_whatever_the_step(step: float) -> None:
    size = round(8760 / step)
    found = yearly(held(np.full(size, CALM), step_hours=step))
    assert float(found["coverage"][0]) == pytest.approx(1.0) and bool(found["whole"][0])
    half = np.where(np.arange(size) < size // 2, CALM, GAP)
    assert float(yearly(held(half, step_hours=step))["coverage"][0]) == pytest.approx(0.5, abs=1e-3)


def test_a_year_of_which_one_hour_is_known_has_the_share_of_that_hour() -> None:
    # 2001 all known; of 2002 its first hour alone
    pattern = np.concatenate([np.full(8760, GALE), [CALM], np.full(99, GAP)])
    found = yearly(held(pattern))["share"].sel(rule="joint")
    assert found.values.tolist() == [0.0, 1.0]
    none = yearly(held(np.concatenate([np.full(8760, GALE), np.full(99, GAP)])))["share"].sel(rule="joint")
    assert np.isnan(none.values[1])


def test_a_typical_year_gives_exceedance_alone_and_says_why() -> None:
    record = made_record(square_wave(9, 3, 730)).assign_attrs(kind="typical_year")
    found = workable_time(record, LIMIT)
    assert joint(availability(found), "share") == 0.75
    for refused in (lambda: events(found), lambda: windows(found, job_hours=3.0), lambda: yearly(found)):
        with pytest.raises(StudyError, match="cannot be found in a typical year: it is spliced of months"):
            refused()
    whole = operability(record, LIMIT)
    assert whole.events is None and whole.windows is None and whole.years is None
    table = operability_table(whole).to_markdown()
    assert "are left out: a typical year is spliced" in table
    assert "events a year" not in table.split("\n- ")[0]


@pytest.mark.parametrize("hours", [0.0, -1.0, np.nan])
def test_a_job_without_length_is_refused(hours: float) -> None:
    with pytest.raises(StudyError, match="no length of time above zero"):
        windows(held([CALM] * 9), job_hours=hours)
    if hours != 0.0:
        with pytest.raises(StudyError, match="no length of time"):
            events(held([CALM] * 9), calm_hours=hours)


def test_the_table_tells_what_the_box_gives_away_and_what_it_rests_on() -> None:
    record = invented_record(6, seed=4)
    found = operability(
        record, limit_table([0, 90, 180, 270], [6.0, 9.0, 8.0, 7.0]), job_hours=2.0, forecast_factor=0.9
    )
    table = operability_table(found)
    first = table.rows[0]
    box, both = (float(100 * found.availability["share"].sel(rule=r)) for r in ("box", "joint"))
    assert first == ("availability [% of time]", box, both, both - box)
    assert both > box
    words = [str(row[0]) for row in table.rows]
    assert sum(w.startswith("availability, ") for w in words) == 12
    for wanted in ("exceedance events a year", "P90 year: nine in ten years reach [% of time]",
                   "windows of 2 h or more a year", "events a year, calms shorter than 4 h dropped"):  # fmt: skip
        assert wanted in words
    notes = "\n".join(table.notes)
    for wanted in ("INVENTED record", "seed 4", "operational limit = limit times 0.9", "Whole years of record: 6",
                   "Wind comes FROM", "Screening aid only", "Provenance"):  # fmt: skip
        assert wanted in notes


def test_starts_by_length_fall_and_begin_at_the_availability() -> None:
    found = operability(invented_record(2), limit_table([0, 90, 180, 270], [7.0] * 4))
    assert found.windows is not None
    shares = found.windows["share_of_starts_by_length"].sel(rule="joint").values
    assert shares[0] == pytest.approx(joint(found.availability, "share"))
    assert (np.diff(shares) <= 0).all() and len(shares) == len(LADDER)


def test_what_is_no_record_is_refused() -> None:
    with pytest.raises(StudyError, match="no record of this package"):
        workable_time(xr.Dataset(), LIMIT)


def test_steps_of_half_an_hour_are_no_hours() -> None:
    # calms of 3 and 6 steps, 1.5 h and 3 h
    found = held(np.array([GALE] * 2 + [CALM] * 3 + [GALE] + [CALM] * 6 + [GALE] * 2), step_hours=0.5)
    assert joint(events(found, calm_hours=1.5), "count") == 3
    assert joint(events(found, calm_hours=2.0), "count") == 2
    assert joint(events(found, calm_hours=3.5), "count") == 1
    # jobs of 2, 4 and 6 steps: 2 + 5, 3, and 1 of 14 steps can begin them
    lengths = windows(found, job_hours=1.0)["share_of_starts_by_length"].sel(rule="joint")
    np.testing.assert_allclose(lengths.sel(length=[1.0, 2.0, 3.0, 4.0]), np.array([7, 3, 1, 0]) / 14)


def test_starts_and_events_are_of_the_months_they_lie_in() -> None:
    # January: calm but for its last six hours; February from gale to calm and back, twelve hours each
    february = np.tile(np.repeat([GALE, CALM], 12), 28)
    found = held(np.concatenate([np.full(31 * 24 - 6, CALM), np.full(6, GALE), february]))
    starts = windows(found, job_hours=3.0)["share_of_starts_by_month"].sel(rule="joint")
    assert starts["month"].values.tolist() == list(range(1, 13))
    # the last calm but for 2 steps of each; the last two of the record are not decided
    assert float(starts.sel(month=1)) == pytest.approx((31 * 24 - 8) / (31 * 24))
    assert float(starts.sel(month=2)) == pytest.approx(28 * 10 / (28 * 24 - 2))
    assert starts.sel(month=slice(3, None)).isnull().all()
    begun = events(found)["count_by_month"].sel(rule="joint")
    assert begun.sel(month=[1, 2, 3]).values.tolist() == [1, 27, 0]  # the first runs on into February


def test_one_known_step_is_a_share_of_one() -> None:
    found = held([GAP, CALM, GAP], wind_from=[0.0, 90.0, 0.0], start="2001-05-01 06:00")
    share = availability(found)
    assert float(share["share_by_month_and_hour"].sel(rule="joint", month=5, hour=7)) == 1.0
    assert share["known_by_hour"].sum() == 1
    by_bearing = availability_by_direction(found, [0.0, 90.0, 180.0, 270.0])
    assert by_bearing["share_of_time"].values.tolist() == [0.0, 1.0, 0.0, 0.0]
    assert float(by_bearing["share_without_direction"]) == 0.0


def test_a_wind_belongs_to_the_nearest_bearing_whatever_turn_it_is_written_in() -> None:
    found = held([CALM] * 4, wind_from=[44.0, 46.0, 316.0, 224.0])
    by_bearing = availability_by_direction(found, [360.0, 450.0, 180.0, 270.0])
    assert by_bearing["wind_from"].values.tolist() == [0.0, 90.0, 180.0, 270.0]
    assert by_bearing["share_of_time"].values.tolist() == [0.5, 0.25, 0.25, 0.0]
    alone = availability_by_direction(found, [90.0])
    assert alone["share_of_time"].values.tolist() == [1.0]


def test_time_lost_because_nothing_more_was_run_is_a_share_of_the_known() -> None:
    narrow = limit_table([0.0, 30.0], [10.0, 10.0])  # nothing is known of winds from beyond
    found = held([CALM, CALM, CALM, CALM, GAP], narrow, wind_from=[0.0, 200.0, 200.0, 15.0, 200.0])
    assert float(availability(found)["share_beyond"]) == pytest.approx(0.5)
