"""Tugs of a study against the rules: their levers, verdicts, the simulated heel beside them, and curves from a file."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.synthetic import results
from toolkit.errors import StudyError
from toolkit.findings.righting_file import MOST_ROWS, read_righting_levers
from toolkit.findings.rule_levers import either_of, levers_of
from toolkit.findings.rule_sources import rule_sources_table
from toolkit.findings.stability import HEADER, stability_table
from toolkit.findings.stability_criteria import criteria_table
from toolkit.findings.study_tugs import MOST_TUGS, tugs_of
from toolkit.findings.table import Table
from toolkit.quantities.wording import CAUTIONS
from toolkit.rules import FULL_CURVE_NEEDED, Verdict, imo_towing
from toolkit.rules.righting import wall_sided_curve
from toolkit.study import Study, parse_study

TONNE_FORCE = 9806.65
STUDY = """
title = "Marrowby Basin, two tugs"
[tug]
bollard_pull = ["30 t", "60 t"]
[environment]
wind_speed = ["0 kn", "10 kn"]
[manoeuvre]
manoeuvre = "swing_pull"
tug_attitude = ["fore_and_aft", "athwartships"]
"""
ONE = """
title = "Marrowby Basin, one tug"
[tug]
bollard_pull = "30 t"
"""


@pytest.fixture
def study() -> Study:
    return parse_study(STUDY, name="basin.toml")


def column(table: Table, name: str) -> list[object]:
    return [row[table.header.index(name)] for row in table.rows]


def write(folder: Path, text: str) -> Path:
    path = folder / "levers.csv"
    path.write_text(text, encoding="utf-8")
    return path


def full_curve(rows: int = 10) -> str:
    """Greatest lever of 0.6 m at 40 degrees, nothing at 80: with the GM of 1.5 m near upright."""
    heel = np.linspace(0.0, 80.0, rows)
    return "heel [deg],lever [m]\n" + "\n".join(f"{a:.4f},{0.6 * math.sin(math.pi * a / 80.0):.6f}" for a in heel)


def test_tugs_are_those_that_differ_in_the_eyes_of_a_rule(study: Study) -> None:
    tugs = tugs_of(study)
    assert [tug.number for tug in tugs] == [1, 2, 3, 4]  # the wind makes no other tug
    assert [tug.label for tug in tugs] == [
        "30 t, fore and aft", "30 t, athwartships", "60 t, fore and aft", "60 t, athwartships",
    ]  # fmt: skip
    assert [round(tug.bollard_pull / TONNE_FORCE) for tug in tugs] == [30, 30, 60, 60]
    assert tugs[0].place == {"bollard_pull": 0, "tug_attitude": 0}
    assert not tugs[0].curve.is_full
    assert tugs_of(parse_study(ONE, name="one.toml"))[0].label == "the study's tug"


def test_levers_by_hand(study: Study) -> None:
    """A tractor of 30 t: C_T 0.90/(1 + 13.92/24), h 4.6577 m, 320 t; towing point 7.2 m abaft midships."""
    self_tripping, tow_tripping, iacs, law = levers_of(tugs_of(study)[0])
    height = 0.5 * 9.5 * math.tan(math.radians(12.0)) + 0.084 * 9.5
    share = 0.90 / (1.0 + 0.58)
    assert self_tripping.lever(0.0) == pytest.approx(share * 30 * 9.80665 * (height + 2.85) / (9.81 * 320.0), rel=1e-6)
    assert iacs.lever(0.0) == pytest.approx(self_tripping.lever(0.0) * 0.7 / share, rel=1e-6)
    # C1 = 2.8 (0.2 - 0.1) with the towing point a fifth of the length forward of the aft perpendicular
    drag = 0.28 * 0.5 * 1.025 * 2.57**2 * 24.0 * 3.8
    assert tow_tripping.lever(0.0) == pytest.approx(drag * (height + 0.5 * 3.8) / (9.81 * 320.0), rel=1e-6)
    half = levers_of(tugs_of(study)[0], intercepted=0.5)[3]
    assert half.lever(0.1) == pytest.approx(0.5 * law.lever(0.1), rel=1e-12)


def test_the_law_of_the_united_states_by_hand(study: Study) -> None:
    tug = tugs_of(study)[0]
    # HA = 2 N (P D)^(2/3) s h / (K displacement), N 2, K 13.93, in kW, m and t
    power = (tug.shaft_power / 1e3 * tug.propeller_diameter) ** (2.0 / 3.0)
    expected = 2.0 * 2.0 * power * tug.thrust_height / (13.93 * tug.displacement / 1e3)
    assert levers_of(tug)[3].lever(0.0) == pytest.approx(expected, rel=1e-9)
    # the share up to which the metacentric height is enough does not hang on the share that was asked about
    needed = 2.0 * power * tug.thrust_height / (13.93 * tug.displacement / 1e3 * tug.freeboard / tug.beam)
    for share in (0.5, 1.0):
        told = levers_of(tug, intercepted=share)[3].criteria(tug.curve)[0].note
        assert told == f"for s = {share:g}; met up to s = {tug.metacentric_height / needed:.2f}"


def test_a_point_just_before_midships_is_towed_from_over_the_bow(study: Study) -> None:
    tug = replace(tugs_of(study)[0], drive="azimuth_stern_drive", drive_x=-10.0, length=10.0)
    over_bow, over_stern = (levers_of(replace(tug, towing_x=x))[0].lever(0.0) for x in (0.5, -0.5))
    bow, stern = (imo_towing.LEAST_THRUST_COEFFICIENT["azimuth_stern_drive", end] for end in ("bow", "stern"))
    assert over_bow / over_stern == pytest.approx(max(0.90 / 2.05, bow) / max(0.90 / 1.95, stern))


def test_columns_are_in_the_units_they_say(study: Study) -> None:
    tug, table = tugs_of(study)[0], stability_table(study)
    assert column(table, "bollard pull [t]")[0] == pytest.approx(30.0)
    assert column(table, "displacement [t]")[0] == pytest.approx(tug.displacement / 1e3)
    assert column(table, "deck edge [deg]")[0] == pytest.approx(math.degrees(tug.deck_edge))
    assert column(table, "lever upright [m]")[:4] == [pytest.approx(rule.lever(0.0)) for rule in levers_of(tug)]


def test_the_severest_reading_is_called_so_and_another_is_not(study: Study) -> None:
    for share, said in ((1.0, True), (0.8, False)):
        (note,) = [one for one in stability_table(study, intercepted=share).notes if f"here s = {share:g}" in one]
        assert ("the severest reading" in note) is said


@pytest.mark.parametrize(("ratio", "told"), [(0.84, True), (0.87, False), (1.0, False), (1.13, False), (1.2, True)])
def test_a_slope_upright_of_another_metacentric_height_is_told(study: Study, ratio: float, told: bool) -> None:
    tug = tugs_of(study)[0]
    curve = wall_sided_curve(ratio * tug.metacentric_height, 0.0, tug.deck_edge)
    note = "\n".join(stability_table(study, curves={1: curve}).notes)
    assert (f"they give GM {ratio * tug.metacentric_height:.2f} m" in note) is told


def test_the_law_on_two_propellers_by_hand_and_the_share_up_to_which_it_is_met(study: Study) -> None:
    """46 CFR 173.095 in metric units: N (P D)^(2/3) s h / (13.93 displacement f/B), for the pair of drives."""
    tug = tugs_of(study)[0]
    pair = 2.0 * (tug.shaft_power / 1e3 * tug.propeller_diameter) ** (2.0 / 3.0) * (tug.towing_height + tug.drive_depth)
    required = pair / (13.93 * tug.displacement / 1e3 * tug.freeboard / tug.beam)
    for share in (1.0, 0.5, 0.25):
        height = levers_of(tug, intercepted=share)[3].criteria(tug.curve)[0]
        assert height.limit == pytest.approx(share * required, rel=1e-6)
        assert f"for s = {share:g}; met up to s = {tug.metacentric_height / required:.2f}" in height.note
    # and so it is: just below that share it is met, just above it is not
    most = tug.metacentric_height / required
    verdicts = [levers_of(tug, intercepted=by * most)[3].criteria(tug.curve)[0].verdict for by in (0.99, 1.01)]
    assert verdicts == [Verdict.met, Verdict.not_met]


def test_made_fast_athwartships_another_point_is_towed_from(study: Study) -> None:
    fore_and_aft, athwart = tugs_of(study)[:2]
    assert athwart.towing_x > 0.0 > fore_and_aft.towing_x
    assert levers_of(athwart)[0].lever(0.0) > levers_of(fore_and_aft)[0].lever(0.0)
    assert levers_of(athwart)[2].lever(0.0) == levers_of(fore_and_aft)[2].lever(0.0)


def test_table_without_results(study: Study) -> None:
    table = stability_table(study)
    assert table.header == HEADER
    assert len(table.rows) == 4 * 4
    assert all(math.isnan(float(value)) for value in column(table, "simulated peak heel on a line [deg]"))  # type: ignore[arg-type]
    assert "No results at hand: no simulated heel." in table.notes
    assert table.notes[-1] == CAUTIONS
    verdicts = set(column(table, "verdict"))
    assert verdicts <= {str(one) for one in Verdict}
    assert str(Verdict.not_assessable) in verdicts
    assert any(str(cell).startswith("> ") for cell in column(table, "thrown to [deg]"))


def test_simulated_heel_of_each_tug(study: Study) -> None:
    axes = {name: np.asarray(values) for name, values in study.axis_coordinates().items()}
    found = results(axes, manoeuvre="swing_pull", not_run=(0,))
    table = stability_table(study, found)
    peaks = found["peak_heel"].where(found["outcome"] != 0).max("wind_speed").values.ravel()
    np.testing.assert_allclose(column(table, "simulated peak heel on a line [deg]")[::4], peaks)
    assert column(table, "cases run")[::4] == [1, 2, 2, 2]
    immersed = (found["outcome"] == 4).sum("wind_speed").values.ravel()
    np.testing.assert_array_equal(column(table, "cases with the deck edge under or capsized")[::4], immersed)
    assert any("7 of 8 cases" in note for note in table.notes)
    # the righting lever at the simulated heel is that of upright sides, as far as they go
    tug = tugs_of(study)[0]
    heel = math.radians(float(peaks[0]))
    held = column(table, "righting lever at simulated heel [m]")[0]
    if heel <= tug.deck_edge:
        assert held == pytest.approx(float(tug.curve.lever(heel)), rel=1e-9)
    else:
        assert math.isnan(float(held))  # type: ignore[arg-type]


def test_heel_over_that_at_rest_and_cases_of_which_nothing_is_known(study: Study) -> None:
    axes = {name: np.asarray(values) for name, values in study.axis_coordinates().items()}
    found = results(axes, manoeuvre="swing_pull")
    codes = found["outcome"].astype(float)
    found["outcome"] = codes.where(found["wind_speed"] == found["wind_speed"][0])  # a result cut short
    table = stability_table(study, found)
    assert column(table, "cases run")[::4] == [1, 1, 1, 1]
    for name, rest, over in zip(
        column(table, "simulated peak heel on a line [deg]"), column(table, "at rest [deg]"),
        column(table, "simulated over at rest"), strict=True,
    ):  # fmt: skip
        if not str(rest).startswith(">"):
            assert over == pytest.approx(float(name) / float(rest))  # type: ignore[arg-type]


def test_a_push_has_no_heel_on_a_line(study: Study) -> None:
    axes = {name: np.asarray(values) for name, values in study.axis_coordinates().items()}
    table = stability_table(study, results(axes, manoeuvre="swing_push"))
    assert all(math.isnan(float(value)) for value in column(table, "simulated peak heel on a line [deg]"))  # type: ignore[arg-type]
    assert not any(math.isnan(float(value)) for value in column(table, "simulated peak heel, all cases [deg]"))  # type: ignore[arg-type]


def test_criteria_say_what_cannot_be_assessed_until_a_curve_is_given(tmp_path: Path) -> None:
    study = parse_study(ONE, name="one.toml")
    short = criteria_table(study)
    said = {str(row[3]): (str(row[8]), str(row[10])) for row in short.rows}
    assert said["lever at 30 degrees or more"][0] == "not assessable"
    assert FULL_CURVE_NEEDED in said["lever at 30 degrees or more"][1]
    assert said["metacentric height"][0] == "met"
    assert "met up to s = " in said["metacentric height (either this or the residual area)"][1]
    curves = read_righting_levers(write(tmp_path, full_curve()), tugs_of(study))
    table = criteria_table(study, curves)
    verdicts = {str(row[3]): str(row[8]) for row in table.rows}
    assert [name for name, verdict in verdicts.items() if verdict == "not assessable"] == [
        "areas and equilibrium (escort)"
    ]
    assert any("righting levers of levers.csv, to 80 degrees" in note for note in table.notes)
    angles = [str(row[7]) for row in table.rows]
    assert "rad" not in angles  # people read degrees
    levers = stability_table(study, curves=curves)
    assert not any(str(cell).startswith("> ") for cell in column(levers, "at rest [deg]"))


def test_a_table_of_another_condition_is_told(tmp_path: Path) -> None:
    study = parse_study(ONE, name="one.toml")
    text = "heel,lever\n" + "\n".join(f"{a},{0.2 * math.sin(math.radians(a) * 2.25)}" for a in range(0, 81, 5))
    curves = read_righting_levers(write(tmp_path, text), tugs_of(study))
    assert any("not of one condition" in note for note in stability_table(study, curves=curves).notes)


def test_curves_of_several_tugs_and_down_flooding(tmp_path: Path, study: Study) -> None:
    rows = "".join(f"{tug},{heel},{0.01 * tug * heel},{50 + tug}\n" for tug in (2, 4) for heel in range(0, 61, 10))
    curves = read_righting_levers(write(tmp_path, "# of the book\n Tug ,Heel (deg),lever,down-flooding\n" + rows),
                                  tugs_of(study))  # fmt: skip
    assert set(curves) == {2, 4}
    assert curves[4].lever(math.radians(30.0)) == pytest.approx(1.2)
    assert math.degrees(curves[2].down_flooding) == pytest.approx(52.0)
    assert curves[2].deck_edge == tugs_of(study)[1].deck_edge


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "there are no righting levers in it"),
        ("heel,lever\n", "there are no righting levers in it"),
        ("heel,gz\n0,0\n", "there is no column 'lever'"),
        ("heel,lever,gz\n0,0,0\n", "column 'gz' is not known"),
        ("heel,heel,lever\n0,0,0\n", "column 'heel' stands twice"),
        ("heel,lever\n0,0\n10,0.1\n20,0.2\n", "3 points of the curve"),
        ("heel,lever\n5,0\n10,0.1\n20,0.2\n30,0.3\n", "the curve starts at 5 deg"),
        ("heel,lever\n0,0.1\n10,0.1\n20,0.2\n30,0.3\n", "the lever upright is 0.1 m"),
        ("heel,lever\n0,-0.022\n10,0.1\n20,0.2\n30,0.3\n", "the lever upright is -0.022 m"),
        ("heel,lever,down_flooding\n0,0,0.9\n", "down_flooding = 0.9 deg is outside [1, 90] deg"),
        ("heel,lever,down_flooding\n0,0,90.1\n", "down_flooding = 90.1 deg is outside [1, 90] deg"),
        ("heel,lever\n0,0\n20,0.1\n10,0.2\n30,0.3\n", "does not rise over 20 deg"),
        ("heel,lever\n0,0\n10,x\n20,0.2\n30,0.3\n", "lever = 'x' is not a number"),
        ("heel,lever\n0,0\n10,nan\n20,0.2\n30,0.3\n", "lever = 'nan' is not a number"),
        ("heel,lever\n0,0\n10,0,1\n20,0.2\n30,0.3\n", "3 values stand under 2 names"),
        ("heel,lever\n0,0\n10,99\n20,0.2\n30,0.3\n", "lever = 99 m is outside [-10, 10] m"),
        ("heel,lever\n0,0\n10,0.1\n20,0.2\n300,0.3\n", "heel = 300 deg is outside [0, 180] deg"),
        ("tug,heel,lever\n7,0,0\n", "tug = 7 is not a number from 1 to 1"),
        ("tug,heel,lever\n1.5,0,0\n", "tug = 1.5 is not a number from 1 to 1"),
        ("heel,lever,down_flooding\n0,0,40\n10,.1,40\n20,.2,41\n30,.3,40\n", "down_flooding differs between rows"),
        ("heel,lever,down_flooding\n0,0,40\n10,.1,\n20,.2,40\n30,.3,40\n", "down_flooding differs between rows"),
    ],
)
def test_a_file_that_makes_no_curve_is_refused_in_words(tmp_path: Path, text: str, told: str) -> None:
    with pytest.raises(StudyError) as raised:
        read_righting_levers(write(tmp_path, text), tugs_of(parse_study(ONE, name="one.toml")))
    assert told in str(raised.value)
    assert "levers.csv" in str(raised.value)


@pytest.mark.parametrize(
    "rows",
    [
        "0,0,1\n10,.1,1\n20,.2,1\n30,.3,1\n",  # down-flooding from 1 to 90 degrees, four points
        "0,0,90\n10,.1,90\n20,.2,90\n30,.3,90\n",
        "0,.02,40\n10,.1,40\n20,.2,40\n30,.3,40\n",  # a list within what reading a curve off leaves
        "0,-.02,40\n10,.1,40\n20,.2,40\n30,.3,40\n",
    ],
)
def test_a_file_at_the_edge_of_what_is_taken(tmp_path: Path, rows: str) -> None:
    tugs = tugs_of(parse_study(ONE, name="one.toml"))
    assert set(read_righting_levers(write(tmp_path, "heel,lever,down_flooding\n" + rows), tugs)) == {1}


def test_a_file_of_too_many_rows_is_refused_by_their_number(tmp_path: Path, study: Study) -> None:
    rows = "".join(f"1,{heel / 100:g},0.1\n" for heel in range(MOST_ROWS + 5))
    with pytest.raises(StudyError, match=f"it has {MOST_ROWS + 5} rows"):
        read_righting_levers(write(tmp_path, "tug,heel,lever\n" + rows), tugs_of(study))
    assert set(read_righting_levers(write(tmp_path, "tug,heel,lever\n" + four_points(1)), tugs_of(study))) == {1}


def four_points(tug: int) -> str:
    return "".join(f"{tug},{heel},{0.01 * heel}\n" for heel in (0, 10, 20, 30))


def test_every_problem_of_a_file_is_told_at_once(tmp_path: Path, study: Study) -> None:
    path = write(tmp_path, "heel,lever\n0,0\n10,a\n20,b\n30,99\n")
    with pytest.raises(StudyError) as raised:
        read_righting_levers(path, tugs_of(study))
    told = str(raised.value)
    assert told.count("no tug is named, and the study has 4") == 1
    assert all(part in told for part in ("line 3", "line 4", "line 5"))


def test_unreadable_files_are_refused(tmp_path: Path, study: Study) -> None:
    binary = tmp_path / "levers.csv"
    binary.write_bytes(b"\xff\xfe\x00\x01")
    for path in (tmp_path / "none.csv", tmp_path, binary):
        with pytest.raises(StudyError, match="cannot be read"):
            read_righting_levers(path, tugs_of(study))


def test_a_sampled_study_lists_an_even_selection(study: Study) -> None:
    text = """
    title = "Marrowby Basin, sampled"
    seed = 3
    [tug]
    bollard_pull = { from = "10 t", to = "60 t" }
    [design]
    kind = "sobol"
    samples = 256
    """
    sampled = parse_study(text, name="sampled.toml")
    tugs = tugs_of(sampled)
    assert len(tugs) == MOST_TUGS
    assert tugs[0].place == {"case": 0}
    assert tugs[-1].place == {"case": 255}
    assert any("even selection" in note for note in stability_table(sampled).notes)


def test_three_numbers_of_a_study_make_a_full_curve() -> None:
    text = ONE + 'greatest_righting_lever = "0.6 m"\ngreatest_lever_angle = "35 deg"\nvanishing_angle = "70 deg"\n'
    full = parse_study(text, name="full.toml")
    tug = tugs_of(full)[0]
    assert tug.curve.is_full
    assert math.degrees(tug.curve.known_to) == pytest.approx(70.0)
    assert tug.curve.lever(math.radians(35.0)) == pytest.approx(0.6)
    assert {str(row[8]) for row in criteria_table(full).rows if "escort" not in str(row[3])} == {"met", "not met"}


def test_certainty_of_every_rule_is_a_table() -> None:
    table = rule_sources_table()
    certainties = [str(row[3]) for row in table.rows]
    assert certainties[0] == "from memory, not verified"
    assert certainties[-1] == "derived"
    assert ("imo_towing.tow_tripping_lever", "from memory, not verified") in {(r[0], r[3]) for r in table.rows}
    assert f"{len(table.rows)} functions" in table.notes[0]


def test_one_of_several_criteria_is_enough() -> None:
    met, no, unsure = Verdict.met, Verdict.not_met, Verdict.not_assessable

    class One:
        def __init__(self, verdict: Verdict) -> None:
            self.verdict = verdict

    for verdicts, expected in (((met, no), met), ((no, unsure), unsure), ((no, no), no), ((unsure, met), met)):
        assert either_of(One(verdict) for verdict in verdicts) is expected  # type: ignore[misc]


def test_tables_can_be_read_on_their_own(study: Study) -> None:
    for table in (stability_table(study), criteria_table(study)):
        text = table.to_markdown()
        assert "does not show compliance" in text
        assert "Girting" in text
        assert table.to_csv().count("\n") == len(table.rows) + len(table.notes) + 2
