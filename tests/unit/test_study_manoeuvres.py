"""What `towage check` says of the times, the way and the berth of single manoeuvres."""

from __future__ import annotations

import pytest

from toolkit.errors import StudyError
from toolkit.study import Study, parse_study
from toolkit.study.checks import study_warnings

HOLD = "[manoeuvre]\nmanoeuvre = 'hold'\n"


def said(text: str) -> str:
    """Everything that is wrong with a study file."""
    with pytest.raises(StudyError) as error:
        parse_study(text, name="basin.toml")
    return str(error.value)


def warned(study: Study, part: str) -> list[str]:
    """Warnings with a part in them."""
    return [warning for warning in study_warnings(study) if part in warning]


@pytest.mark.parametrize(
    ("text", "where", "what"),
    [
        ("manoeuvre = 'hold'\nhold_time = '30 min'", "hold_time", "time_limit = '31 min'"),
        ("manoeuvre = 'hold'\nhold_time = '5 min'\ntime_limit = '2 min'", "hold_time", "time_limit = '6 min'"),
        ("manoeuvre = 'shift'\nmake_fast_time = '10 min'\ntime_limit = '9 min'", "make_fast_time", "a shorter make"),
    ],
)
def test_a_time_that_no_case_has_is_refused(text: str, where: str, what: str) -> None:
    message = said(f"[manoeuvre]\n{text}")
    assert f"basin.toml: manoeuvre.{where}: {where} = " in message
    assert "is longer than time_limit = " in message and "timed_out" in message and what in message


def test_a_time_that_some_cases_have_is_warned_of() -> None:
    some = parse_study(f"{HOLD}hold_time = ['1 min', '10 min', '40 min', '50 min']")
    assert warned(some, "hold_time") == [
        "In 50 percent of the cases hold_time and 60 s to take the weight is longer than time_limit: they end "
        "`timed_out`."
    ]
    assert not warned(parse_study(f"{HOLD}hold_time = '29 min'"), "hold_time")  # to the minute
    other = parse_study("[manoeuvre]\nmanoeuvre = ['swing_pull', 'shift']\nhold_time = '2 h'")
    assert not warned(other, "hold_time")


def test_in_a_job_each_leg_has_a_time_limit_of_its_own() -> None:
    legs = "[manoeuvre]\nmanoeuvre = 'hold'\nhold_time = '50 min'\n[[leg]]\n{}\n[[leg]]\nmanoeuvre = 'swing_pull'\n"
    assert "basin.toml: leg 1: manoeuvre.hold_time" in said(legs.format(""))
    assert not study_warnings(parse_study(legs.format("time_limit = '1 h'")))


def test_way_at_the_start_that_is_not_used() -> None:
    way = "[manoeuvre]\nmanoeuvre = {}\nstart_speed = '1 kn'\n[towline]\nline_length = '40 m'"
    found = warned(parse_study(way.format("['tow_ahead', 'hold', 'side_push', 'check_way']")), "start_speed")
    assert len(found) == 1 and "where manoeuvre is side_push and hold: only tow_ahead and check_way" in found[0]
    assert not warned(parse_study(way.format("'check_way'")), "start_speed")
    assert not warned(parse_study(way.format("'hold'").replace("1 kn", "0 kn")), "start_speed")


BERTH = """
[barge]
barge_beam = "10 m"
[manoeuvre]
manoeuvre = "{manoeuvre}"
side_way = "{way}"
berth_gap = "{gap}"
[basin]
berth = [["-60 m", "25 m"], ["60 m", "{east}"]]
"""


def drawn(manoeuvre: str = "side_push", way: str = "onto", gap: str = "20 m", east: str = "25 m") -> list[str]:
    """What is said of a berth 25 m east of a barge 10 m broad that heads north."""
    return warned(parse_study(BERTH.format(manoeuvre=manoeuvre, way=way, gap=gap, east=east)), "drawn in [basin]")


def test_a_berth_drawn_where_the_barge_does_not_come_to_one() -> None:
    assert not drawn()  # 20 m and half a beam
    assert not drawn(gap="20.9 m")
    (far,) = drawn(gap="15 m")
    assert "In 100 percent" in far and "by up to 5 m" in far and "berth_gap = '20 m' would bring" in far
    (slanting,) = drawn(east="45 m")
    assert "by up to 20 m" in slanting and "would bring" not in slanting
    (alongside,) = drawn(manoeuvre="hold")
    assert "by up to 20 m" in alongside
    assert not drawn(manoeuvre="hold", way="off")  # open water
    assert not drawn(manoeuvre="swing_push")


def test_an_angle_to_turn_put_aside_by_a_heading_is_warned_of() -> None:
    swing = "[manoeuvre]\nmanoeuvre = 'swing_pull'\n"
    both = parse_study(f"{swing}target_angle = ['90 deg', '180 deg']\ntarget_heading = '200 deg'")
    assert warned(both, "target_angle") == [
        "target_angle is not used where target_heading is given, which is in 100 percent of the cases."
    ]
    for fine in ("target_angle = ['90 deg', '180 deg']", "target_heading = '200 deg'"):
        assert warned(parse_study(swing + fine), "target_angle") == []
    # a tow turns to nothing: neither is used, and there is nothing to choose between
    tow = "[manoeuvre]\nmanoeuvre = 'tow_ahead'\ntarget_angle = '90 deg'\ntarget_heading = '200 deg'"
    assert warned(parse_study(tow), "is not used where") == []


def test_a_leg_whose_angle_is_put_aside_is_named() -> None:
    job = parse_study("[manoeuvre]\ntarget_heading = '200 deg'\n[[leg]]\nmanoeuvre = 'tow_ahead'\n"
                      "[[leg]]\nmanoeuvre = 'swing_push'\ntarget_angle = '90 deg'\n")  # fmt: skip
    assert warned(job, "not used where") == [
        "Leg 2: target_angle is not used where target_heading is given, which is in 100 percent of the cases."
    ]
