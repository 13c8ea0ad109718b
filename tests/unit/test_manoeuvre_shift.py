"""The tug alone, from station to station: clear of the barge, on the right heading, and there for as long as asked."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.many_cases import many_cases
from tests.one_case import columns_of
from toolkit.motion.engine import evaluate_columns
from toolkit.motion.history import case_history
from toolkit.motion.job import evaluate_legs
from toolkit.motion.log import gaps
from toolkit.motion.setting import Setting
from toolkit.quantities import INPUTS, Outcome

SHIFT = INPUTS["manoeuvre"].choices.index("shift")
STATIONS = INPUTS["station_from"].choices
AZIMUTH = ("tractor", "azimuth_stern_drive")
OPPOSITE = {"port": "starboard", "starboard": "port"}


def history(**values: Any) -> tuple[dict[str, NDArray[np.float64]], dict[str, float]]:
    return case_history(columns_of(manoeuvre="shift", **values))


def in_barge_axes(channels: dict[str, NDArray[np.float64]], entry: int) -> tuple[float, float, float]:
    """Tug's midships ahead and to starboard of the barge's, and her heading off the barge's [m, m, degree]."""
    angle = np.deg2rad(channels["barge_heading"][entry])
    north = channels["tug_north"][entry] - channels["barge_north"][entry]
    east = channels["tug_east"][entry] - channels["barge_east"][entry]
    return (
        float(np.cos(angle) * north + np.sin(angle) * east),
        float(np.cos(angle) * east - np.sin(angle) * north),
        float((channels["tug_heading"][entry] - channels["barge_heading"][entry]) % 360.0),
    )


def test_every_way_between_two_stations() -> None:
    ways = list(itertools.product(range(8), range(8), range(2), range(2)))
    columns = {name: np.repeat(values, len(ways)) for name, values in columns_of(manoeuvre="shift").items()}
    columns["station_from"], to, columns["tug_type"], columns["tug_attitude"] = np.array(ways).T
    columns["station_to"] = np.array([INPUTS["station_to"].choices.index(STATIONS[code]) for code in to])
    end = evaluate_columns(columns)
    assert (end["outcome"] == Outcome.completed).all()
    stay = columns["station_from"] == to
    assert (end["end_time"][stay] < 10.0).all()
    # 2 to 5 minutes to shift and turn round: common practice, no source
    assert (end["end_time"][~stay] > 40.0).all()
    assert (end["end_time"][~stay] < 360.0).all()
    assert (end["peak_heel_fraction"] < 0.4).all()


@pytest.mark.parametrize(
    ("tug_type", "station", "heading"),
    [
        ("tractor", "bow_line", 0.0),
        ("tractor", "stern_line", 180.0),
        ("azimuth_stern_drive", "bow_line", 180.0),
        ("azimuth_stern_drive", "stern_line", 0.0),
        ("tractor", "port_quarter", 90.0),
        ("azimuth_stern_drive", "starboard_side", 270.0),
    ],
)
def test_where_and_how_she_lies_in_the_end(tug_type: str, station: str, heading: float) -> None:
    start = "port_side" if station != "port_side" else "bow_line"
    channels, facts = history(tug_type=tug_type, station_from=start, station_to=station, initial_heading=30.0)
    x, y, off = in_barge_axes(channels, -1)
    assert abs((off - heading + 180.0) % 360.0 - 180.0) < 5.0
    half_length, half_beam = 0.5 * facts["barge_length"], 0.5 * facts["barge_beam"]
    if station.endswith("_line"):
        end = 1.0 if station == "bow_line" else -1.0
        towing_point = x + facts["tug_towing_point"] * np.cos(np.deg2rad(heading))
        assert end * towing_point - half_length == pytest.approx(15.0 - 1.5, abs=1.0)
        assert y == pytest.approx(0.0, abs=1.0)
    else:
        side = 1.0 if station.startswith("starboard") else -1.0
        assert side * y - half_beam - 0.5 * facts["tug_length"] == pytest.approx(2.0, abs=1.0)
        along = {"quarter": -0.4, "side": 0.0}[station.split("_")[1]] * facts["barge_length"]
        assert x == pytest.approx(along, abs=1.0)


def test_she_never_comes_near_the_barge_on_her_way() -> None:
    channels, facts = history(station_from="bow_line", station_to="starboard_quarter", displacement=2e6)
    heading = np.deg2rad(channels["tug_heading"])
    apart = [
        max(gaps(
            float(channels["tug_north"][i]), float(channels["tug_east"][i]), 1.0, 0.0, float(np.cos(heading[i])),
            float(np.sin(heading[i])), 0.5 * facts["barge_length"], 0.5 * facts["barge_beam"],
            0.5 * facts["tug_length"], 0.5 * facts["tug_beam"],
        ))
        for i in range(heading.size)
    ]  # fmt: skip
    assert min(apart) > 0.9  # the last of it is her station, 2 m off give or take one


def test_shorter_way_round() -> None:
    # by the port side, and not round by the stern and the starboard side
    channels, _ = history(station_from="bow_line", station_to="port_quarter")
    assert channels["tug_east"].max() < 5.0


def test_speed_is_held() -> None:
    channels, _ = history(station_from="bow_line", station_to="stern_line", displacement=8e6, bollard_pull=6e5)
    speed = np.hypot(np.gradient(channels["tug_north"], 0.5), np.gradient(channels["tug_east"], 0.5))
    assert 0.2 < (speed > 1.4).mean() < 0.8
    assert np.percentile(speed, 90.0) < 1.52  # the speed named; a little more while her drives turn to take the way off
    assert speed.max() < 1.8


def test_time_to_make_fast_comes_on_top() -> None:
    end = [history(station_from="bow_line", station_to="port_shoulder", make_fast_time=time)[1] for time in (0.0, 90.0)]
    assert end[1]["end_time"] - end[0]["end_time"] == pytest.approx(90.0, abs=1e-9)


def test_barge_adrift_is_followed() -> None:
    weather = {"wind_speed": 10.0, "wind_from": 300.0, "current_speed": 0.3, "current_to": 40.0}
    channels, facts = history(station_from="stern_line", station_to="port_side", make_fast_time=60.0, **weather)
    assert facts["outcome"] == Outcome.completed
    assert facts["drift_distance"] > 20.0
    x, _, _ = in_barge_axes(channels, -1)
    assert x == pytest.approx(0.0, abs=1.0)


def test_she_lets_a_barge_under_way_come_past_her() -> None:
    legs = Setting(legs=(
        {"manoeuvre": INPUTS["manoeuvre"].choices.index("tow_ahead"), "tow_distance": 150.0, "line_length": 25.0,
         "power_setting": 0.2, "tow_speed_limit": 0.8},
        {"manoeuvre": SHIFT, "station_to": INPUTS["station_to"].choices.index("port_shoulder")},
    ))  # fmt: skip
    count = 6
    columns = {name: np.repeat(values, count) for name, values in columns_of().items()}
    columns["tug_type"] = np.arange(count) % 2
    columns["displacement"] = np.array([4e5, 4e5, 1e6, 1e6, 3e6, 3e6])
    found = evaluate_legs(columns, legs)
    assert (found["outcome"] == Outcome.completed).all()
    assert (found["residual_speed"][0] > 0.7).all()  # she makes way as the shift begins
    channels, _ = case_history({name: values[:1] for name, values in columns.items()}, legs)
    last = int(np.flatnonzero(channels["leg"] == 2.0)[-1])
    ahead, side, heading = in_barge_axes(channels, last)
    assert ahead > 10.0 and side < -10.0 and abs(heading - 90.0) < 10.0


def test_shares_of_outcomes_over_wide_ranges() -> None:
    count = 400
    cases = many_cases(count, seed=9, manoeuvre=SHIFT)
    draw = np.random.default_rng(9)
    cases["station_from"], cases["station_to"] = draw.integers(0, 8, count), draw.integers(0, 8, count)
    end = evaluate_columns(cases)
    assert (end["outcome"] == Outcome.completed).mean() > 0.98
    conventional = evaluate_columns(cases | {"tug_type": np.full(count, 2), "tug_attitude": np.zeros(count, np.int64)})
    share = (conventional["outcome"] == Outcome.completed).mean()
    assert 0.3 < share < 0.8  # she cannot keep her track in wind and current
    ended = set(conventional["outcome"].tolist())
    assert ended <= {Outcome.completed, Outcome.lost_station, Outcome.timed_out, Outcome.collided}


@pytest.mark.parametrize("tug_type", INPUTS["tug_type"].choices)
@pytest.mark.parametrize(("start", "to"), [("bow_line", "port_quarter"), ("port_side", "stern_line")])
def test_mirror(tug_type: str, start: str, to: str) -> None:
    def mirrored(word: str) -> str:
        side, _, rest = word.partition("_")
        return f"{OPPOSITE.get(side, side)}_{rest}"

    wind = {"tug_type": tug_type, "wind_speed": 6.0, "current_speed": 0.2}
    one, _ = history(station_from=start, station_to=to, turn="starboard", wind_from=70.0, current_to=200.0, **wind)
    other, _ = history(
        station_from=mirrored(start), station_to=mirrored(to), turn="port", wind_from=290.0, current_to=160.0, **wind
    )
    n = min(300, len(one["time"]), len(other["time"]))
    np.testing.assert_allclose(other["tug_east"][:n], -one["tug_east"][:n], atol=1e-5)
    np.testing.assert_allclose(other["tug_heel"][:n], -one["tug_heel"][:n], atol=1e-5)


@pytest.mark.parametrize("failure", ["starboard_drive_lost", "port_drive_lost", "black_out", "drive_stuck"])
def test_failure_on_the_way_is_an_outcome(failure: str) -> None:
    _, facts = history(station_from="bow_line", station_to="port_quarter", failure=failure, failure_time=40.0)
    assert facts["failed_at"] == 40.0
    assert np.isfinite(facts["swept_radius_tug"])
    assert facts["outcome"] in (Outcome.completed, Outcome.lost_station, Outcome.collided, Outcome.timed_out)
