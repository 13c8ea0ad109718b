"""Draft rules and lines on standby tugs: which steps are said together, which apart, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from tests.unit.test_findings_requirement import DONE, LOST, MASSES, NOT_RUN, PULLS, WINDS, by_hand, judged
from toolkit.findings import requirement, standby_need
from toolkit.findings.rule_tables import standby_lines
from toolkit.findings.rule_words import rule_lines

REFUSED = "not permitted with one such tug, no bollard pull run passes (best fails: lost station)."
ANY = "bollard pull 10* to 20+ t (nearest: none)"
AXES = {"bollard_pull": PULLS[:2], "displacement": MASSES[:1], "wind_speed": WINDS}


def test_winds_that_ask_for_the_same_are_one_step_named_by_the_last() -> None:
    lines = rule_lines(requirement(by_hand()))
    assert lines == (
        "- Barge displacement, laden 300 to 600 t:",
        "  - wind speed up to 9.719 kn: bollard pull 10* to 30 t (nearest: none; more fails: deck edge).",
        "  - wind speed up to 19.44 kn: bollard pull 20 to 30 t (less fails: lost station; more fails: deck edge).",
        "- Barge displacement, laden 600 to 900 t:",
        "  - wind speed up to 9.719 kn: bollard pull 20 to 40+ t (less fails: lost station).",
        "  - wind speed up to 19.44 kn: bollard pull 30 to 40+ t (less fails: lost station).",
        "",
    )


@pytest.mark.parametrize(
    ("from_wind", "steps"),
    [
        (3, [f"wind speed up to 19.44 kn: {ANY}."]),
        (2, [f"wind speed up to 9.719 kn: {ANY}.", f"wind speed above 9.719 kn: {REFUSED}"]),
        (1, [f"wind speed 0 kn: {ANY}.", f"wind speed above 0 kn: {REFUSED}"]),
        (0, [f"any wind speed run: {REFUSED}"]),
    ],
)
def test_what_is_refused_is_said_once_from_the_wind_on_that_it_begins_at(from_wind: int, steps: list[str]) -> None:
    codes = np.full((2, 1, 3), DONE)
    codes[:, :, from_wind:] = LOST
    assert rule_lines(requirement(judged(codes, AXES)))[1:-1] == tuple(f"  - {step}" for step in steps)


def test_one_band_is_named_and_none_is_any() -> None:
    still = judged(np.full((2, 1, 1), LOST), {**AXES, "wind_speed": WINDS[:1]})
    assert rule_lines(requirement(still))[1] == f"  - wind speed 0 kn: {REFUSED}"
    plain = judged(np.ones(2), {"bollard_pull": PULLS[:2]})
    assert rule_lines(requirement(plain, bands={})) == ("- All barges run:", f"  - {ANY}", "")


def test_barges_of_which_none_holds_the_other_are_each_named() -> None:
    axes = {"bollard_pull": PULLS[:2], "wind_speed": WINDS[:1], "displacement": MASSES}
    for first, words in ((DONE, f"{ANY}."), (LOST, REFUSED)):
        codes = np.full((2, 1, 3), LOST)
        codes[:, :, :2] = first
        lines = rule_lines(requirement(judged(codes, axes), bands={"wind_speed": None, "displacement": None}))
        assert lines[1:-1] == (
            f"  - barge displacement, laden 300 to 600 t: {words}",
            f"  - barge displacement, laden 600 to 900 t: {REFUSED}",
        )


def failures(*least: list[list[int]]) -> xr.Dataset:
    """All well everywhere; with each failure the pulls from the least on pass, by mass and wind [t]."""
    pulls = np.array([10, 20, 30, 40]).reshape(4, 1, 1)
    codes = np.full((1 + len(least), 4, 3, 3), DONE)
    for number, threshold in enumerate(least, start=1):
        codes[number] = np.where(pulls >= np.array(threshold), DONE, LOST)
    words = ["none", "black_out", "port_drive_lost"][: len(codes)]
    return judged(codes, {"failure": words, "bollard_pull": PULLS, "displacement": MASSES, "wind_speed": WINDS})


SOME = "a standby tug needed unless bollard pull is at least 20 t"
EVERY = "a standby tug needed with every tug that may do the job"


def test_bands_with_the_same_answer_on_a_standby_tug_are_named_together() -> None:
    need = standby_need(
        failures([[10, 10, 20], [10, 10, 20], [20, 20, 20]], [[10, 10, 10], [10, 10, 10], [20, 20, 20]])
    )
    small, large = "barge displacement, laden 300 to 600 t", "barge displacement, laden 600 to 900 t"
    assert standby_lines(need) == (
        f"black out, {small}: wind speed 0 kn, up to 9.719 kn: no standby tug needed; "
        f"wind speed up to 19.44 kn: {SOME}.",
        f"black out, {large}: any wind speed run: {SOME}.",
        f"port drive lost, {small}: any wind speed run: no standby tug needed.",
        f"port drive lost, {large}: any wind speed run: {SOME}.",
    )


def test_one_answer_for_all_is_said_of_everywhere() -> None:
    field = failures([[20] * 3] * 3, [[99] * 3] * 3)
    lines = (f"black out, everywhere: {SOME}.", f"port drive lost, everywhere: {EVERY}.")
    assert standby_lines(standby_need(field)) == lines
    ways = xr.concat([field, field], dim="manoeuvre").assign_coords(manoeuvre=["swing_pull", "swing_push"])
    assert standby_lines(standby_need(ways.transpose(..., "manoeuvre"), keep=["manoeuvre"])) == lines
    bare = field.isel(displacement=0, wind_speed=0, drop=True)
    assert standby_lines(standby_need(bare, bands={})) == lines
    # not where the answer changes along the winds
    turns = standby_lines(standby_need(failures([[10, 20, 20]] * 3)))
    assert len(turns) == 2 and all(
        "no standby tug needed; wind speed up to 9.719 kn, up to 19.44 kn:" in one for one in turns
    )


def test_kept_dimensions_are_named_beside_the_bands() -> None:
    two = failures([[10, 20, 20]] * 3), failures([[10, 20, 20]] * 3)
    ways = xr.concat(two, dim="manoeuvre").assign_coords(manoeuvre=["swing_pull", "swing_push"])
    lines = standby_lines(standby_need(ways.transpose(..., "manoeuvre"), keep=["manoeuvre"]))
    assert len(lines) == 2 * 3
    assert lines[0] == (
        "black out, barge displacement, laden 300 to 600 t, wind speed 0 kn: any manoeuvre run: no standby tug needed."
    )


def test_what_was_not_run_is_not_decided_and_never_takes_a_standby_tug_away() -> None:
    codes = np.full((2, 4, 1, 1), NOT_RUN)
    codes[0] = DONE
    axes = {
        "failure": ["none", "black_out"],
        "bollard_pull": PULLS,
        "displacement": MASSES[:1],
        "wind_speed": WINDS[:1],
    }
    assert standby_lines(standby_need(judged(codes, axes))) == (
        "black out, everywhere: not decided, cases were not run.",
    )
    codes[1, 0] = LOST
    so_far = f"black out, everywhere: {EVERY} as far as cases were run."
    assert standby_lines(standby_need(judged(codes, axes))) == (so_far,)
    codes[:] = LOST
    assert standby_lines(standby_need(judged(codes, axes))) == (
        "black out, everywhere: not permitted even with all well.",
    )
