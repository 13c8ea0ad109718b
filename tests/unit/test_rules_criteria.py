"""Criteria of stability: met, not met, and not assessable, each for its reason."""

from __future__ import annotations

import math

import numpy as np
import pytest

from toolkit.rules import FULL_CURVE_NEEDED, Verdict, iacs_towing, imo_criteria, imo_intact, us_towing
from toolkit.rules.righting import RightingCurve, curve_from_table, wall_sided_curve

DEGREE = math.pi / 180.0
HEELS = np.arange(0.0, 81.0, 5.0) * DEGREE
EDGE = 12.0 * DEGREE


def cosine(upright: float):  # type: ignore[no-untyped-def]
    return lambda heel: upright * np.cos(heel)


def full(top: float = 0.8, down_flooding: float = math.nan) -> RightingCurve:
    """A whole curve: greatest lever at 40 degrees, nothing left at 80."""
    return curve_from_table(
        HEELS, top * np.sin(np.pi * HEELS / HEELS[-1]), deck_edge=EDGE, down_flooding=down_flooding * DEGREE
    )


def upright_sides() -> RightingCurve:
    return wall_sided_curve(1.5, 2.2, EDGE)


def test_self_tripping_with_a_full_curve() -> None:
    found = imo_criteria.self_tripping_criterion(full(), cosine(0.3))
    assert found.verdict is Verdict.met
    assert found.value > found.limit > 0.0
    assert not found.at_least
    # down-flooding close behind equilibrium leaves no reserve
    near = imo_criteria.self_tripping_criterion(full(down_flooding=15.0), cosine(0.3))
    assert near.verdict is Verdict.not_met
    assert near.value < near.limit


def test_self_tripping_without_the_curve_beyond_the_deck_edge() -> None:
    small = imo_criteria.self_tripping_criterion(upright_sides(), cosine(0.05))
    assert (small.verdict, small.at_least) == (Verdict.met, True)  # reserve enough before the deck edge
    middling = imo_criteria.self_tripping_criterion(upright_sides(), cosine(0.25))
    assert middling.verdict is Verdict.not_assessable
    assert FULL_CURVE_NEEDED in middling.note
    beyond = imo_criteria.self_tripping_criterion(upright_sides(), cosine(0.6))
    assert beyond.verdict is Verdict.not_assessable
    assert "no equilibrium up to 12.0 degrees" in beyond.note


def test_a_full_curve_under_too_large_a_lever_is_not_met() -> None:
    for one in (
        imo_criteria.self_tripping_criterion(full(), cosine(1.5)),
        imo_criteria.tow_tripping_criterion(full(), cosine(1.5)),
        *iacs_towing.towing_criteria(full(), cosine(1.5)),
        us_towing.towline_pull_criterion(full(), cosine(1.5)),
    ):
        assert one.verdict is Verdict.not_met, one.criterion
        assert "no equilibrium" in one.note


def test_tow_tripping_needs_equilibrium_before_down_flooding() -> None:
    assert imo_criteria.tow_tripping_criterion(full(down_flooding=40.0), cosine(0.3)).verdict is Verdict.met
    assert imo_criteria.tow_tripping_criterion(full(down_flooding=5.0), cosine(0.3)).verdict is Verdict.not_met
    before_edge = imo_criteria.tow_tripping_criterion(upright_sides(), cosine(0.2))
    assert before_edge.verdict is Verdict.met
    assert "no down-flooding angle given" in before_edge.note


def test_escort_on_full_and_short_curves() -> None:
    # the arch is 0.8 m high: a lever of 0.2 m rests at 80/pi asin(0.25) degrees
    first, second, rest = imo_criteria.escort_criteria(full(), 0.2)
    assert rest.value / DEGREE == pytest.approx(80.0 / math.pi * math.asin(0.25), abs=0.05)
    assert {first.verdict, second.verdict, rest.verdict} == {Verdict.met}
    assert [one.verdict for one in imo_criteria.escort_criteria(full(), 0.6)] == [Verdict.not_met] * 3
    assert [one.verdict for one in imo_criteria.escort_criteria(full(), 5.0)] == [
        Verdict.not_met, Verdict.not_met, Verdict.not_met,
    ]  # fmt: skip
    short = imo_criteria.escort_criteria(upright_sides(), 0.1)
    assert [one.verdict for one in short] == [Verdict.not_assessable, Verdict.not_assessable, Verdict.met]


def test_no_lever_is_no_escort_and_no_heel() -> None:
    for lever in (0.0, -0.1, math.nan):
        with pytest.raises(ValueError, match="lever"):
            imo_criteria.escort_criteria(full(), lever)
    found = iacs_towing.towing_criteria(full(), cosine(0.0))
    assert [one.verdict for one in found] == [Verdict.met, Verdict.met]
    assert math.isinf(found[1].value)


def test_iacs_alternatives() -> None:
    residual, ratio = iacs_towing.towing_criteria(full(), cosine(0.3))
    assert residual.verdict is Verdict.met
    assert ratio.verdict is Verdict.met
    residual, ratio = iacs_towing.towing_criteria(upright_sides(), cosine(0.1))
    assert residual.verdict is Verdict.not_assessable  # 0.09 m rad is not found before 12 degrees
    assert ratio.verdict is Verdict.not_assessable
    assert residual.at_least


def test_intact_levers() -> None:
    # sine arch of 0.8 m to 80 degrees: area to 30 is 0.8 (80/pi)(1 - cos 67.5 degrees) degrees
    found = imo_intact.intact_criteria(full(), 0.6)
    assert found[0].value == pytest.approx(0.8 * HEELS[-1] / math.pi * (1 - math.cos(0.375 * math.pi)), rel=2e-3)
    assert {one.verdict for one in found} == {Verdict.met}
    poor = imo_intact.intact_criteria(full(0.1), 0.10)
    assert [one.verdict for one in poor] == [
        Verdict.not_met, Verdict.not_met, Verdict.not_met, Verdict.not_met, Verdict.met, Verdict.not_met,
    ]  # fmt: skip
    short = imo_intact.intact_criteria(upright_sides(), 1.5)
    assert [one.verdict for one in short] == [Verdict.not_assessable] * 5 + [Verdict.met]


def test_law_of_the_united_states() -> None:
    assert {one.verdict for one in us_towing.tug_intact_criteria(full())} == {Verdict.met}
    assert [one.verdict for one in us_towing.tug_intact_criteria(upright_sides())] == [Verdict.not_assessable] * 4
    assert us_towing.tug_intact_criteria(full(0.05))[0].verdict is Verdict.not_met
    assert math.degrees(us_towing.tug_intact_criteria(full())[3].value) == pytest.approx(80.0, abs=0.1)
    short = curve_from_table(0.5 * HEELS, np.sin(np.pi * HEELS / HEELS[-1]), deck_edge=EDGE)  # vanishes at 40 degrees
    assert us_towing.tug_intact_criteria(short)[3].verdict is Verdict.not_met
    assert us_towing.towline_pull_gm_criterion(1.5, 1.4).verdict is Verdict.met
    assert us_towing.towline_pull_gm_criterion(1.5, 1.6).verdict is Verdict.not_met
    assert us_towing.towline_pull_criterion(full(), cosine(0.3)).verdict is Verdict.met
    assert us_towing.towline_pull_criterion(upright_sides(), cosine(0.05)).verdict is Verdict.met
    assert us_towing.towline_pull_criterion(upright_sides(), cosine(0.25)).verdict is Verdict.not_assessable


def test_down_flooding_ends_the_areas() -> None:
    free, flooded = imo_intact.intact_criteria(full(), 0.6), imo_intact.intact_criteria(full(down_flooding=33.0), 0.6)
    assert flooded[1].value < free[1].value
    assert flooded[2].value < free[2].value
    assert us_towing.tug_intact_criteria(full(down_flooding=20.0))[0].value < 6.0


def test_a_curve_with_a_list_of_criteria_is_never_assessed_better_by_cutting_it() -> None:
    """What is met on a curve cut at the deck edge is met on the whole curve too."""
    whole = full()
    cut = RightingCurve(lever=whole.lever, known_to=EDGE, deck_edge=EDGE, breaks=whole.breaks)
    for lever in (0.02, 0.05, 0.1, 0.2, 0.3):
        heeling = cosine(lever)
        for part, all_of_it in zip(
            (imo_criteria.self_tripping_criterion(cut, heeling), *iacs_towing.towing_criteria(cut, heeling)),
            (imo_criteria.self_tripping_criterion(whole, heeling), *iacs_towing.towing_criteria(whole, heeling)),
            strict=True,
        ):
            assert part.verdict is not Verdict.not_met
            if part.verdict is Verdict.met:
                assert all_of_it.verdict is Verdict.met
