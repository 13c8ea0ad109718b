"""Requirements, rules held against the cases, and standby tugs: numbers worked by hand on small grids."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from toolkit.errors import StudyError
from toolkit.findings import (
    RequirementStatus,
    Standby,
    apply_limits,
    back_test_rules,
    failure_consequences,
    permitted_by,
    permitted_by_requirement,
    requirement,
    rule_text,
    standby_need,
    static_permits,
    tighten,
)
from toolkit.findings.bands import bands_along
from toolkit.findings.draft_rule import load_draft_rule, parse_draft_rule
from toolkit.findings.limits import BINDING_MEANINGS
from toolkit.findings.requirement import runs_of
from toolkit.findings.requirement_tables import range_words, requirement_matrix, requirement_table, sections
from toolkit.findings.rule_tables import (
    back_test_lines,
    back_test_table,
    consequences_table,
    standby_lines,
    standby_table,
)
from toolkit.findings.rule_test import decisions
from toolkit.findings.standby import without_standby

T = synthetic.TONNE_FORCE
PULLS, MASSES, WINDS = [10 * T, 20 * T, 30 * T, 40 * T], [3e5, 6e5, 9e5], [0.0, 5.0, 10.0]
DONE, LOST, EDGE, NOT_RUN = 1, 7, 4, 0


def judged(codes: np.ndarray, axes: dict[str, list], limits: dict | None = None, **values: np.ndarray) -> xr.Dataset:
    """Judged grid of outcome codes, with outcomes by name."""
    data = {"outcome": (tuple(axes), np.asarray(codes, np.int8))}
    data |= {name: (tuple(axes), np.asarray(field, float)) for name, field in values.items()}
    dataset = xr.Dataset(data, coords={k: np.array(v) for k, v in axes.items()}, attrs={"title": "Marrowby, by hand"})
    return apply_limits(dataset, limits or {})


def by_hand() -> xr.Dataset:
    """Too little below, too much above; more wind and more barge need more."""
    pull, mass, wind = np.meshgrid([1, 2, 3, 4], [0, 1, 2], [0, 1, 2], indexing="ij")
    need = 1 + (mass > 1) + (wind > 1)
    most = 4 - (mass < 1)
    codes = np.where(pull < need, LOST, np.where(pull > most, EDGE, DONE))
    return judged(codes, {"bollard_pull": PULLS, "displacement": MASSES, "wind_speed": WINDS})


def words(codes: xr.DataArray) -> list:
    return np.vectorize(lambda code: BINDING_MEANINGS[int(code)])(codes.values).tolist()


def test_smallest_and_largest_by_band_with_what_binds() -> None:
    found = requirement(by_hand())
    assert found["displacement_band"].values.tolist() == ["300 to 600 t", "600 to 900 t"]
    assert found["wind_speed_band"].values.tolist() == ["0 kn", "up to 9.719 kn", "up to 19.44 kn"]
    np.testing.assert_allclose(found["smallest"] / T, [[10, 10, 20], [20, 20, 30]])
    np.testing.assert_allclose(found["largest"] / T, [[30, 30, 30], [40, 40, 40]])
    assert words(found["binds_above"])[0] == ["deck_edge_immersed"] * 3
    assert words(found["binds_above"])[1] == ["none"] * 3
    assert words(found["binds"]) == [["none", "none", "lost_station"], ["lost_station"] * 3]
    status = RequirementStatus
    assert found["status"].values.tolist() == [[2, 2, 1], [1, 1, 1]]
    assert int(status.found) == 1 and int(status.smallest_run_passes) == 2
    assert found["nothing_less"].values.tolist() == [[True, True, False], [False] * 3]
    assert not found["falls_along_displacement"].any() and not found["falls_along_wind_speed"].any()
    told = [range_words(found.isel(displacement_band=row, wind_speed_band=0), "bollard_pull") for row in (0, 1)]
    assert told == ["10* to 30 t", "20 to 40+ t"]


def test_names_that_a_grid_lacks_or_bands_change_nothing() -> None:
    field = by_hand().assign_coords(manoeuvre="swing_push")
    found = requirement(field, keep=["tug_type", "bollard_pull", "displacement"], free=["shifts", "wind_speed"])
    np.testing.assert_array_equal(found["smallest"], requirement(by_hand())["smallest"])
    assert (found.attrs["kept"], found.attrs["free"]) == ("", "")
    assert found["manoeuvre"].item() == "swing_push"  # says which inputs are not used


def test_nothing_binds_above_where_none_passes() -> None:
    axes = {"bollard_pull": PULLS, "displacement": MASSES[:1], "wind_speed": WINDS[:1]}
    found = requirement(judged(np.array([LOST, LOST, EDGE, EDGE]).reshape(4, 1, 1), axes))
    assert int(found["status"].item()) == RequirementStatus.none_passes and words(found["binds_above"]) == [["none"]]


def test_of_several_choices_the_least_used_says_what_is_nearest() -> None:
    # on a push no limit applies to the line: that is the easier of the two ways, and nothing is near
    axes = {"bollard_pull": PULLS[:1], "displacement": MASSES[:1], "wind_speed": WINDS[:1],
            "manoeuvre": ["swing_pull", "swing_push"]}  # fmt: skip
    load = np.array([0.4, np.nan]).reshape(1, 1, 1, 2)
    field = judged(np.ones((1, 1, 1, 2)), axes, {"tension_over_mbl": 0.5}, tension_over_mbl=load)
    assert words(requirement(field, free=["manoeuvre"])["binds"]) == [["none"]]
    assert words(requirement(field.isel(manoeuvre=[0]), free=["manoeuvre"])["binds"]) == [["tension_over_mbl"]]


def test_rows_of_a_requirement_table_by_hand() -> None:
    codes = np.full((2, 2, 1, 4), DONE)
    codes[0, 1, 0, 0] = LOST  # 10 t on the larger barge: three directions of four
    axes = {"bollard_pull": PULLS[:2], "displacement": MASSES[:2], "wind_speed": WINDS[:1], "wind_from": [0, 1, 2, 3]}
    field = judged(codes, axes, {"peak_heel_fraction": 0.8}, peak_heel_fraction=np.full((2, 2, 1, 4), 0.6))
    found = requirement(field, share=0.75, bands={"displacement": [3e5, 6e5], "wind_speed": None})
    table = requirement_table(found, field)
    row = dict(zip(table.header, table.rows[0], strict=True))
    assert row["smallest [t]"] == pytest.approx(10.0)
    assert (row["least share passing [%]"], row["passing there"], row["of cases"]) == (75.0, 3, 4)
    assert row["largest use of a limit [%]"] == pytest.approx(75.0)
    assert row["flags"] == ""


def test_three_bands_make_rows_of_the_first_and_columns_of_the_last() -> None:
    axes = {"bollard_pull": PULLS[:1], "displacement": MASSES[:2], "wind_speed": WINDS[:2], "current_speed": [0.0, 0.5]}
    found = requirement(
        judged(np.ones((1, 2, 2, 2)), axes), bands={"displacement": None, "wind_speed": None, "current_speed": None}
    )
    parts = list(sections(found))
    assert [part["smallest"].dims for _, part in parts] == [("displacement_band", "current_speed_band")] * len(parts)
    assert len(parts) == found.sizes["wind_speed_band"]


def test_a_band_takes_the_worst_of_what_brackets_it() -> None:
    found = requirement(by_hand(), bands={"displacement": [4e5, 7e5], "wind_speed": [6.0]})
    # 400 to 700 t lies within 300, 600 and 900 t; up to 6 m/s within 0, 5 and 10 m/s
    np.testing.assert_allclose(found["smallest"].values, [[30 * T]])
    np.testing.assert_allclose(found["largest"].values, [[30 * T]])
    assert range_words(found.isel(displacement_band=0, wind_speed_band=0), "bollard_pull") == "30 t"


def test_bands_are_checked_all_at_once() -> None:
    with pytest.raises(StudyError) as error:
        requirement(by_hand(), bands={"displacement": [1e5, 5e5], "water_depth": None, "wind_speed": [99.0]})
    assert len(error.value.problems) == 3
    with pytest.raises(StudyError, match="is not swept on a grid"):
        requirement(apply_limits(synthetic.samples(20)))
    with pytest.raises(StudyError, match=r"share = 0 is outside"):
        requirement(by_hand(), share=0)
    with pytest.raises(StudyError, match=r"margin = 0.5 is outside"):
        requirement(by_hand(), margin=0.5)
    with pytest.raises(StudyError, match=r"margin = 10.5 is outside"):
        requirement(by_hand(), margin=10.5)
    bands = bands_along(by_hand(), "displacement", [3e5, 9e5])
    assert bands.members == ((0, 1, 2),) and bands.labels == ("300 to 900 t",)


def test_ends_of_bands_hold_up_to_rounding_and_say_their_unit_once() -> None:
    for turn in (1e-12, -1e-12):
        bands = bands_along(by_hand(), "displacement", [3e5 * (1.0 - turn), 9e5 * (1.0 + turn)])
        assert bands.members == ((0, 1, 2),)
    with pytest.raises(StudyError):
        bands_along(by_hand(), "displacement", [3e5 * (1.0 - 1e-6), 9e5])
    axes = {"displacement": [0.0, 6e5, 9e5], "power_setting": [0.5, 1.0]}
    field = judged(np.ones((3, 2)), axes)
    assert bands_along(field, "displacement", [0.0, 6e5, 9e5]).labels == ("0 to 600 t", "600 to 900 t")


def test_a_margin_has_to_stay_within_what_passes() -> None:
    found = requirement(by_hand(), margin=1.5)
    np.testing.assert_allclose(found["asked"] / T, [[15, 15, 30], [30, 30, np.nan]])
    assert int(found["status"][1, 2]) == RequirementStatus.margin_too_large
    assert "none holds the margin" in range_words(found.isel(displacement_band=1, wind_speed_band=2), "bollard_pull")


def test_a_gap_is_flagged_and_not_bridged() -> None:
    axes = {"bollard_pull": PULLS, "displacement": MASSES[:1], "wind_speed": WINDS[:1]}
    found = requirement(judged(np.array([DONE, LOST, DONE, DONE]).reshape(4, 1, 1), axes))
    assert float(found["largest"].item()) == 10 * T and bool(found["passes_again"])
    longer = requirement(judged(np.array([DONE, LOST, DONE, DONE]).reshape(4, 1, 1), axes), margin=1.2)
    np.testing.assert_allclose([longer["smallest"].item(), longer["asked"].item()], [30 * T, 36 * T])
    assert runs_of(np.array([True, False, True, True])) == [(0, 0), (2, 3)]
    assert runs_of(np.zeros(3, dtype=bool)) == []


def test_cases_not_run_never_help_and_are_said() -> None:
    axes = {"bollard_pull": PULLS, "displacement": MASSES[:1], "wind_speed": WINDS[:1]}
    found = requirement(judged(np.array([NOT_RUN, DONE, DONE, EDGE]).reshape(4, 1, 1), axes))
    assert float(found["smallest"].item()) == 20 * T and bool(found["not_all_run"])
    assert BINDING_MEANINGS[int(found["binds"].item())] == "not_run"
    nothing = requirement(judged(np.zeros((4, 1, 1)), axes))
    assert int(nothing["status"].item()) == RequirementStatus.not_run
    assert np.isnan(nothing["asked"].item())


def test_share_of_cases_over_what_is_not_shown() -> None:
    codes = np.full((4, 1, 1, 10), DONE)
    codes[0, 0, 0, :3] = LOST
    codes[1, 0, 0, 0] = LOST
    axes = {"bollard_pull": PULLS, "displacement": MASSES[:1], "wind_speed": WINDS[:1], "wind_from": list(range(10))}
    field = judged(codes, axes)
    for share, smallest, passing in ((1.0, 30, 10), (0.9, 20, 9), (0.7, 10, 7)):
        found = requirement(field, share=share)
        assert float(found["smallest"].item()) == smallest * T
        assert int(found["passing_count"].item()) == passing and int(found["case_count"].item()) == 10
    assert requirement(field).attrs["pooled"] == "wind_from"


def test_shares_of_a_requirement_have_bounds_and_wait_for_what_was_not_run() -> None:
    assert np.isfinite(requirement(by_hand(), share=1e-6)["smallest"]).all()
    with pytest.raises(StudyError, match=r"share = 1\.01"):
        requirement(by_hand(), share=1.01)
    axes = {"bollard_pull": PULLS[:1], "displacement": MASSES[:1], "wind_speed": WINDS[:1], "wind_from": [0, 1, 2, 3]}
    for codes, status in (
        ([DONE, DONE, NOT_RUN, LOST], RequirementStatus.not_run),  # three of four may yet pass
        ([DONE, NOT_RUN, LOST, LOST], RequirementStatus.none_passes),  # two of four at most
    ):
        found = requirement(judged(np.array(codes).reshape(1, 1, 1, 4), axes), share=0.75)
        assert int(found["status"].item()) == status


def test_utilisation_of_a_requirement_is_that_of_cases_that_pass() -> None:
    axes = {"bollard_pull": PULLS[:1], "displacement": MASSES[:1], "wind_speed": WINDS[:1], "wind_from": [0, 1]}
    heel = np.array([0.2, 0.9]).reshape(1, 1, 1, 2)
    field = judged(np.ones((1, 1, 1, 2)), axes, {"peak_heel_fraction": 0.8}, peak_heel_fraction=heel)
    assert requirement(field, share=0.5)["utilisation"].item() == pytest.approx(0.25)


def test_what_the_master_may_choose_takes_the_best_and_names_it() -> None:
    codes = np.full((4, 1, 1, 2, 2), LOST)
    codes[1:, 0, 0, 1, 0] = DONE  # 20 t and more pass at full power, on the short line
    codes[2:, 0, 0, 0, 1] = DONE  # 30 t and more at half power, on the long one
    axes = {
        "bollard_pull": PULLS, "displacement": MASSES[:1], "wind_speed": WINDS[:1], "power_setting": [0.5, 1.0],
        "line_material": ["hmpe", "polyester"],
    }  # fmt: skip
    field = judged(codes, axes)
    found = requirement(field, free=["power_setting", "line_material"])
    assert float(found["smallest"].item()) == 20 * T
    assert float(found["power_setting_from"].item()) == float(found["power_setting_to"].item()) == 1.0
    assert found["line_material_words"].item() == "HMPE"
    assert np.isnan(requirement(field)["smallest"].item())  # nothing passes whatever the master does
    cap = requirement(field, axis="power_setting", keep=["bollard_pull"], free=["line_material"])
    smallest = cap["smallest"].transpose("bollard_pull", ...).values.ravel()
    np.testing.assert_allclose(smallest, [np.nan, 1.0, 0.5, 0.5])


def test_falling_requirements_are_flagged() -> None:
    codes = np.full((4, 3, 1), DONE)
    codes[:3, 0] = EDGE  # the small barge passes with 40 t alone
    axes = {"bollard_pull": PULLS, "displacement": MASSES, "wind_speed": WINDS[:1]}
    found = requirement(judged(codes, axes))
    assert found["falls_along_displacement"].values.ravel().tolist() == [False, True]
    flags = [row[-1] for row in requirement_table(found, judged(codes, axes)).rows]
    assert flags == ["", "asks for less than in a lower band of barge displacement, laden"]
    codes[:, 0] = EDGE
    found = requirement(judged(codes, axes))
    assert found["falls_along_displacement"].values.ravel().tolist() == [False, True]


def test_nearest_limit_is_named_where_the_grid_begins() -> None:
    axes = {"bollard_pull": PULLS[:2], "displacement": MASSES[:1], "wind_speed": WINDS[:1], "wind_from": [0.0, 90.0]}
    heel = np.array([0.1, 0.6, 0.2, 0.3]).reshape(2, 1, 1, 2)
    time = np.array([300, 500, 400, 400]).reshape(2, 1, 1, 2)
    limits = {"peak_heel_fraction": 0.67, "time_to_steady": 600.0}
    found = requirement(judged(np.ones((2, 1, 1, 2)), axes, limits, peak_heel_fraction=heel, time_to_steady=time))
    assert words(found["binds"]) == [["peak_heel_fraction"]]
    assert float(found["utilisation"].item()) == pytest.approx(0.6 / 0.67)


def test_tightened_limits_ask_for_more_and_name_the_limit() -> None:
    axes = {"bollard_pull": PULLS, "displacement": MASSES[:1], "wind_speed": WINDS[:1]}
    time = np.array([620, 580, 450, 300]).reshape(4, 1, 1)
    field = judged(np.ones((4, 1, 1)), axes, {"time_to_steady": 600.0}, time_to_steady=time)
    assert float(requirement(field)["smallest"].item()) == 20 * T
    tighter = requirement(field, limit_margin=1.25)
    assert float(tighter["smallest"].item()) == 30 * T and words(tighter["binds"]) == [["time_to_steady"]]
    assert tighten(field, 1.25)["passes"].values.ravel().tolist() == [False, False, True, True]
    assert "factor of 1.25" in tighten(field, 1.25).attrs["limits_applied"]
    with pytest.raises(StudyError, match="limit margin"):
        tighten(field, 0.9)


def test_rule_and_tables_say_what_they_rest_on() -> None:
    dataset = synthetic.results({**synthetic.default_axes(4), "manoeuvre": ["swing_pull", "swing_push"]})
    field = apply_limits(dataset)
    found = requirement(field, keep=["manoeuvre"], share=0.8, margin=1.1, limit_margin=1.05)
    assert [w for w, _ in sections(found)] == ["swing pull", "swing push"]
    text = rule_text(found, field)
    for told in ("Review date: ___", "80 %", "Margin: 1.1 times", "factor of 1.05", "study 0123456789abcdef",
                 "toolkit 0.1.0", "Limits: peak heel", "Screening aid only", "wind from: 000 deg to 315 deg (8 values)",
                 "Swing push", "cases run"):  # fmt: skip
        assert told in text, told
    table = requirement_table(found, field)
    assert {len(row) for row in table.rows} == {len(table.header)} and len(table.rows) == found["smallest"].size
    for label, part in sections(found):
        made = requirement_matrix(part, field, words=label)
        assert label in made.title and len(made.rows) == 3 and len(made.header) == 5


def test_draft_rules_from_csv_and_toml_are_the_same() -> None:
    csv = parse_draft_rule('# draft\nup to,5 kn,10 kn\n500 t,10 t,not permitted\n900 t,"20 t",30 t\n', name="a.csv")
    toml = parse_draft_rule(
        'title = "a"\ndisplacement_up_to = ["500 t", "900 t"]\nwind_up_to = ["5 kn", "10 kn"]\n'
        'bollard_pull = [["10 t", "-"], ["20 t", "30 t"]]\n', name="b.toml"
    )  # fmt: skip
    assert csv == toml
    assert "not permitted" in csv.lines()[0]
    cases = xr.Dataset(
        coords={
            "displacement": ("case", [5e5, 5.01e5, 9e5, 9.1e5, 5e5]),
            "wind_speed": ("case", np.array([5.0, 5.0, 10.0, 0.0, 6.0]) * synthetic.KNOT),
            "bollard_pull": ("case", np.array([10.0, 10.0, 30.0, 90.0, 90.0]) * T),
        }
    )
    assert permitted_by(csv, cases).values.tolist() == [True, False, True, False, False]


def test_a_draft_rule_is_read_from_its_file(tmp_path) -> None:
    text = "up to,10 kn\n500 t,20 t\n"
    file = tmp_path / "draft.csv"
    file.write_text(text)
    assert load_draft_rule(file) == parse_draft_rule(text, name="draft.csv")
    file.write_text(text + "#" * 2**20)
    with pytest.raises(StudyError, match="larger than 1 MiB"):
        load_draft_rule(file)
    with pytest.raises(StudyError, match="does not exist"):
        load_draft_rule(tmp_path / "none.csv")


@pytest.mark.parametrize(
    ("text", "name", "said"),
    [
        (
            "up to,10 kn,5 kn\n500 t,1 t,bad\n",
            "a.csv",
            ["does not lie above", "bollard_pull = '1 t' is outside", "bollard_pull = 'bad'"],
        ),
        ("up to,10 kn\n500,10 t\n700 t,1 t,2 t\n", "a.csv", ["has no unit", "2 pulls for 1 bands"]),
        ("nothing", "a.csv", ["has no row"]),
        ("up to,10 kn\n", "a.csv", ["has no row"]),
        ("up to\n500 t\n", "a.csv", ["has no row"]),
        (
            'displacement_up_to = ["500 t"]\nwind_up_to = ["5 kn"]\nbollard_pull = ["10 t"]',
            "a.toml",
            ["no pulls for 1 bands"],
        ),
        ("title = 1\nspeed = 3", "a.toml", ["speed is not a key", "displacement_up_to is not a list"]),
        ("x = [", "a.toml", ["is not valid TOML"]),
    ],
)
def test_bad_draft_rules_name_every_problem(text: str, name: str, said: list[str]) -> None:
    with pytest.raises(StudyError) as error:
        parse_draft_rule(text, name=name)
    for words_of in said:
        assert words_of in str(error.value)


def test_rules_are_counted_lax_and_strict_by_decision() -> None:
    codes = np.full((2, 2, 1, 4), DONE)
    codes[0, 0, 0, 0] = EDGE  # one direction in four fails: 10 t and 300 t do not pass
    codes[1, 1] = NOT_RUN
    axes = {
        "bollard_pull": PULLS[:2],
        "displacement": MASSES[:2],
        "wind_speed": WINDS[:1],
        "wind_from": [0.0, 1.0, 2.0, 3.0],
    }
    field = judged(codes, axes)
    everything, nothing = xr.ones_like(field["passes"]), xr.zeros_like(field["passes"])
    tested = back_test_rules(field, {"all": everything, "none": nothing})
    total = tested.sum("displacement")
    assert total["decision_count"].values.tolist() == [3, 3] and total["open_count"].values.tolist() == [1, 1]
    assert total["too_lax"].values.tolist() == [1, 0] and total["too_strict"].values.tolist() == [0, 2]
    assert int(total["lax_reason_count"].sel(rule="all", binding="deck_edge_immersed")) == 1
    assert int(tested["case_count"].max()) == 4
    relaxed = back_test_rules(field, {"all": everything}, share=0.75).sum(["displacement", "rule"])
    assert int(relaxed["too_lax"]) == 0 and int(relaxed["right_permitted"]) == 3
    lines = back_test_lines(tested)
    assert "too lax in 1 (33 % of what it permits), most often for deck edge immersed" in lines[0]
    table = back_test_table(tested, field)
    assert {len(row) for row in table.rows} == {len(table.header)} and len(table.rows) == 6


def test_a_requirement_is_never_too_lax_in_its_own_cases() -> None:
    dataset = synthetic.results(synthetic.default_axes(5))
    field = apply_limits(dataset)
    for share in (1.0, 0.8):
        found = requirement(field, share=share)
        rules = {"this": permitted_by_requirement(found, dataset), "static": static_permits(dataset)}
        tested = back_test_rules(field, rules, share=share).sum("displacement")
        assert int(tested["too_lax"].sel(rule="this")) == 0 < int(tested["right_permitted"].sel(rule="this"))
        assert int(tested["too_lax"].sel(rule="static")) > 0
    stricter = static_permits(dataset, 5.0)
    assert int(stricter.sum()) < int(static_permits(dataset).sum())
    assert (static_permits(dataset) == (dataset["static_wind_demand"] <= 1.0)).all()


def test_what_a_requirement_permits_by_hand() -> None:
    found = requirement(by_hand())  # 10 to 30 t up to 600 t in little wind, 20 to 40 t above; 10 t more in 10 m/s
    cases = [
        (3e5, 0.0, 10.0, True), (6e5, 0.0, 10.0, True), (6e5, 0.0, 30.0, True), (6e5, 0.0, 30.1, False),
        (6.1e5, 0.0, 10.0, False), (6.1e5, 0.0, 20.0, True), (6.1e5, 0.0, 40.0, True), (6.1e5, 0.0, 40.1, False),
        (6e5, 5.0, 10.0, True), (6e5, 5.1, 10.0, False), (6e5, 5.1, 20.0, True), (6e5, 10.0, 19.9, False),
        (9e5, 10.0, 29.9, False), (9e5, 10.0, 30.0, True), (9e5, 10.0, 40.0, True), (9e5, 10.0, 40.1, False),
        (2.9e5, 0.0, 20.0, False), (9.1e5, 0.0, 30.0, False), (6e5, 10.1, 25.0, False), (9.1e5, 10.1, 35.0, False),
    ]  # fmt: skip
    mass, wind, pull, permitted = (list(each) for each in zip(*cases, strict=True))
    columns = {"displacement": mass, "wind_speed": wind, "bollard_pull": np.array(pull) * T}
    dataset = xr.Dataset(coords={name: ("case", column) for name, column in columns.items()})
    assert permitted_by_requirement(found, dataset).values.tolist() == permitted


def test_the_static_rule_at_its_own_edge_and_within_its_margins() -> None:
    dataset = xr.Dataset({"static_wind_demand": ("case", [0.99, 1.0, 1.01, np.nan])})
    assert static_permits(dataset).values.tolist() == [True, True, False, False]
    # the demand holds a margin of 1.25: a tenth of the force is a twelfth and a half of it
    assert static_permits(dataset * 12.5, 0.1).values.tolist() == [True, True, False, False]
    assert static_permits(dataset / 80.0, 100.0).values.tolist() == [True, True, False, False]
    for margin in (0.09, 100.1):
        with pytest.raises(StudyError, match="margin of the static rule"):
            static_permits(dataset, margin)


def test_decisions_name_what_most_of_their_cases_fail_for() -> None:
    codes = np.full((3, 1, 1, 4), DONE)
    codes[0, 0, 0, :3] = [EDGE, LOST, LOST]
    codes[1, 0, 0, :1] = EDGE
    axes = {"bollard_pull": PULLS[:3], "displacement": MASSES[:1], "wind_speed": WINDS[:1], "wind_from": [0, 1, 2, 3]}
    made = decisions(judged(codes, axes), ["bollard_pull"], 0.75)
    assert made["passes"].values.tolist() == [False, True, True]
    assert words(made["binding_limit"]) == ["lost_station", "none", "none"]
    assert decisions(judged(codes, axes), ["bollard_pull"], 1e-6)["passes"].all()
    for share in (0.0, 1.01):
        with pytest.raises(StudyError, match="share = "):
            decisions(judged(codes, axes), ["bollard_pull"], share)


def with_failures() -> xr.Dataset:
    """20 t and more pass with all well; with a drive lost 40 t passes, with a black-out none does."""
    codes = np.full((3, 4, 1, 1), LOST)
    codes[0, 1:], codes[1, 3:] = DONE, DONE
    axes = {"failure": ["none", "port_drive_lost", "black_out"], "bollard_pull": PULLS, "displacement": MASSES[:1],
            "wind_speed": WINDS[:1]}  # fmt: skip
    drift = np.arange(12.0).reshape(3, 4, 1, 1)
    return judged(codes, axes, drift_distance=drift).assign(drift_distance=(tuple(axes), drift))


def test_standby_is_needed_where_the_failure_alone_fails() -> None:
    field = with_failures()
    need = standby_need(field)
    names = [[Standby(int(k)).name for k in need["need"].sel(failure=f).values.ravel()] for f in need["failure"].values]
    assert names == [
        ["not_permitted", "needed", "needed", "not_needed"], ["not_permitted", "needed", "needed", "needed"],
    ]  # fmt: skip
    np.testing.assert_allclose(need["smallest_without"].values.ravel() / T, [40, np.nan])
    assert words(need["binds"].squeeze()) == [["lost_station"] * 3 + ["none"], ["lost_station"] * 4]
    told = standby_lines(need)
    assert told == (
        "port drive lost, everywhere: a standby tug needed unless bollard pull is at least 40 t.",
        "black out, everywhere: a standby tug needed with every tug that may do the job.",
    )
    table = standby_table(need, field)
    assert {len(row) for row in table.rows} == {len(table.header)} and len(table.rows) == 8
    with pytest.raises(StudyError, match="is not swept with 'none'"):
        standby_need(field.isel(failure=slice(1, None)))
    with pytest.raises(StudyError, match="is not swept with 'none'"):
        standby_need(field.isel(failure=[0]))
    assert standby_need(field.isel(failure=[0, 2]))["need"].sizes["failure"] == 1


def test_without_a_standby_tug_from_where_none_is_needed_any_more() -> None:
    # with a drive lost 20 t goes well and 30 t does not: only from 40 t on is it sure
    codes = np.full((2, 4, 1, 1), DONE)
    codes[1, :, 0, 0] = [LOST, DONE, LOST, DONE]
    axes = {"failure": ["none", "port_drive_lost"], "bollard_pull": PULLS, "displacement": MASSES[:1],
            "wind_speed": WINDS[:1]}  # fmt: skip
    assert standby_need(judged(codes, axes))["smallest_without"].item() == 40 * T
    codes[1, 3] = LOST
    need = standby_need(judged(codes, axes))
    assert np.isnan(need["smallest_without"].item())
    assert without_standby(need.isel(failure=0, displacement_band=0, wind_speed_band=0)) == [20 * T]
    assert standby_lines(need) == ("port drive lost, everywhere: a standby tug needed, save with bollard pull 20 t.",)
    codes[1, 2:] = NOT_RUN
    assert standby_lines(standby_need(judged(codes, axes))) == (
        "port drive lost, everywhere: a standby tug needed as far as cases were run, save with bollard pull 20 t.",
    )
    codes[:, 0] = LOST
    assert standby_lines(standby_need(judged(codes, axes))) == (
        "port drive lost, everywhere: no standby tug needed with bollard pull 20 t, not decided with larger ones.",
    )
    codes[1, 1] = LOST
    (line,) = standby_lines(standby_need(judged(codes, axes)))
    assert line.endswith("a standby tug needed with every tug that may do the job as far as cases were run.")


def test_consequences_are_of_cases_that_pass_while_all_is_well() -> None:
    field = with_failures()
    dataset = field.drop_vars([n for n in field.data_vars if n not in ("outcome", "drift_distance")])
    found = failure_consequences(dataset, field)
    assert found["intact_passing_count"].values.tolist() == [3, 3]
    assert found["still_passing_count"].values.tolist() == [1, 0]
    np.testing.assert_allclose(found["drift_distance_median"], [6.0, 10.0])
    np.testing.assert_allclose(found["drift_distance_worst"], [7.0, 11.0])
    table = consequences_table(found, field)
    assert {len(row) for row in table.rows} == {len(table.header)}
    assert table.rows[0][4] == "lost station 2, completed 1"
