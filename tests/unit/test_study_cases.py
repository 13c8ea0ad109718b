"""The table of cases, designs, canonical content, selection and warnings of a study."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from toolkit.errors import StudyError
from toolkit.quantities import INPUTS
from toolkit.study import Limits, Study, designs, locate, parse_study, study_from_canonical
from toolkit.study.checks import study_warnings
from toolkit.study.keys import key_rows, keys_markdown, keys_text
from toolkit.study.selection import describe_case
from toolkit.study.summary import summary

GRID = """
[tug]
bollard_pull = ["10 t", "30 t"]
[environment]
wind_speed = ["0 kn", "10 kn", "20 kn"]
water_depth = "15 m"
[manoeuvre]
manoeuvre = ["swing_push", "swing_pull"]
"""

FACTORS = """
[tug]
bollard_pull = { from = "5 t", to = "80 t", spacing = "log" }
tug_type = ["tractor", "azimuth_stern_drive"]
[environment]
wind_from = { from = "0 deg", to = "360 deg" }
wind_speed = ["0 kn", "10 kn", "20 kn", "30 kn"]
"""


def sampled(kind: str, samples: int, seed: int = 1) -> Study:
    return parse_study(f"seed = {seed}\n{FACTORS}\n[design]\nkind = '{kind}'\nsamples = {samples}")


def test_columns_follow_c_order_and_hold_every_input() -> None:
    study = parse_study(GRID)
    columns = study.columns(np.arange(study.size))
    assert set(columns) == set(INPUTS)
    assert {len(values) for values in columns.values()} == {12}
    order = np.array(
        [(b, w, m) for b in (10, 30) for w in (0, 10, 20) for m in (1, 0)]
    )  # words in the order of the file, codes of the register
    assert np.allclose(columns["bollard_pull"] / 9806.65, order[:, 0])
    assert np.allclose(columns["wind_speed"] * 3600 / 1852, order[:, 1])
    assert columns["manoeuvre"].tolist() == order[:, 2].tolist()
    assert columns["manoeuvre"].dtype == np.int64
    assert np.isnan(columns["tug_length"]).all()


def test_columns_do_not_depend_on_what_else_is_asked_for() -> None:
    for study in (parse_study(GRID), sampled("sobol", 12)):
        whole = study.columns(np.arange(12))
        some = study.columns([7, 2])
        for name, values in some.items():
            np.testing.assert_array_equal(values, whole[name][[7, 2]])


@pytest.mark.parametrize("number", [-1, 12])
def test_position_outside_the_study_is_refused(number: int) -> None:
    with pytest.raises(IndexError, match="0 to 11"):
        parse_study(GRID).columns([number])


def test_coordinates_of_a_grid_are_its_levels() -> None:
    coordinates = parse_study(GRID).axis_coordinates()
    assert list(coordinates) == ["bollard_pull", "wind_speed", "manoeuvre"]
    assert coordinates["manoeuvre"].tolist() == ["swing_push", "swing_pull"]


@pytest.mark.parametrize("kind", ["sobol", "latin_hypercube"])
def test_samples_fill_their_ranges_evenly(kind: str) -> None:
    study = sampled(kind, 64)
    assert (study.dims, study.shape) == (("case",), (64,))
    found = study.axis_coordinates()
    pulls = np.log(found["bollard_pull"] / (5 * 9806.65)) / np.log(16.0)
    # one case in each of 64 equal slices of every factor: of a Latin hypercube by construction, of a scrambled
    # Sobol' sequence because it is a digital net in base 2
    assert sorted(np.floor(pulls * 64)) == list(range(64))
    assert sorted(np.floor(found["wind_from"] / 360.0 * 64)) == list(range(64))
    # levels by equal slices
    assert sorted(np.unique(found["wind_speed"], return_counts=True)[1]) == [16] * 4
    assert sorted(np.unique(found["tug_type"], return_counts=True)[1]) == [32] * 2


def test_first_cases_of_a_longer_sobol_sequence_are_those_of_a_shorter() -> None:
    short, long = sampled("sobol", 16), sampled("sobol", 50)
    for name, values in short.columns(np.arange(16)).items():
        np.testing.assert_array_equal(values, long.columns(np.arange(16))[name])


@pytest.mark.parametrize("page", [1, 8, 64])
def test_a_sobol_sequence_is_the_same_in_pages_of_any_length(page: int, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = designs.unit_samples("sobol", 64, 3, 5)  # in one draw
    monkeypatch.setattr(designs, "PAGE", page)
    positions = np.random.default_rng(1).permutation(64)
    assert np.array_equal(designs.unit_samples("sobol", 64, 3, 5, positions), whole[positions])
    assert np.array_equal(designs.unit_samples("sobol", 50, 3, 5), whole[:50])


def test_seed_changes_samples_and_hash() -> None:
    one, other = sampled("sobol", 8), sampled("sobol", 8, seed=2)
    assert one.hash() != other.hash()
    assert not np.array_equal(one.columns([3])["bollard_pull"], other.columns([3])["bollard_pull"])


def test_hash_is_of_content_not_of_wording() -> None:
    study = parse_study(GRID)
    reworded = parse_study(
        """
        title = "another title"
        [manoeuvre]        # another order of tables and keys, other units
        manoeuvre = ["swing_push", "swing_pull"]
        [environment]
        water_depth = "1500 cm"
        wind_speed = ["0 m/s", "5.144444444444444 m/s", "20 knots"]
        [tug]
        bollard_pull = ["98.0665 kN", "30 t"]
        [limits]
        overshoot = "20 deg"
        [run]
        cases_per_chunk = 7
        """,
        name="other.toml",
    )
    assert reworded.hash() == study.hash()
    assert reworded.dims == study.dims
    assert parse_study(GRID.replace("30 t", "31 t")).hash() != study.hash()
    assert parse_study(GRID.replace('"swing_push", "swing_pull"', '"swing_pull", "swing_push"')).hash() != study.hash()


@pytest.mark.parametrize("study", [parse_study(GRID), parse_study(""), sampled("sobol", 8)])
def test_store_gives_its_study_back(study: Study) -> None:
    back = study_from_canonical(json.loads(json.dumps(study.canonical(), allow_nan=False)), title=study.title)
    assert back.hash() == study.hash()
    for name, values in study.columns(np.arange(study.size)).items():
        np.testing.assert_array_equal(values, back.columns(np.arange(study.size))[name])


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda content: content.pop("axes"), "does not hold a study"),
        (lambda content: content.update(schema=2), "schema = 2"),
        (lambda content: content["fixed"].pop("loading"), "loading"),
        (lambda content: content["fixed"].update(mystery=1.0), "mystery"),
        (lambda content: content["fixed"].update(loading=7.0), "outside [0 %, 100 %]"),
        (lambda content: content["fixed"].update(loading=None), "loading"),
        (lambda content: content["fixed"].update(turn="sideways"), "turn"),
        (lambda content: content["design"].update(kind="spiral"), "spiral"),
        (lambda content: content["axes"].append(content["axes"][0]), "bollard_pull"),
        (lambda content: content["axes"][0].update(values=["x"]), "does not hold a study"),
    ],
)
def test_foreign_content_is_refused(change: object, said: str) -> None:
    content = parse_study(GRID).canonical()
    change(content)  # type: ignore[operator]
    with pytest.raises(StudyError) as refusal:
        study_from_canonical(content)
    assert said in str(refusal.value)


def test_limits_come_back_from_json() -> None:
    limits = parse_study("[limits]\ntension_over_mbl = 'off'\novershoot = '20 deg'").limits
    assert Limits.from_dict(json.loads(json.dumps(limits.in_force()))) == limits
    assert Limits.from_dict(limits.to_dict()) == limits
    with pytest.raises(StudyError, match="peak_heal is not a limit"):
        Limits.from_dict({"peak_heal": 3.0})


def test_case_is_found_by_its_values() -> None:
    study = parse_study(GRID)
    at = {"bollard_pull": "30 t", "wind_speed": "5.144444444444 m/s", "manoeuvre": "swing_pull", "water_depth": "15 m"}
    number = locate(study, at)
    assert number == np.ravel_multi_index((1, 1, 1), study.shape)
    assert describe_case(study, number) == "bollard_pull 30 t, wind_speed 10 kn, manoeuvre swing_pull"
    assert locate(parse_study(""), {}) == 0


def test_case_that_is_not_there_names_the_nearest() -> None:
    with pytest.raises(StudyError) as refusal:
        locate(parse_study(GRID), {"bollard_pull": "27 t", "wind_sped": "3 kn", "water_depth": "9 m"})
    said = [str(problem) for problem in refusal.value.problems]
    assert len(said) == 5
    assert "The nearest is 30 t" in said[0]
    assert "wind_speed" in said[1]
    assert "fixed at 15 m" in said[2]
    assert "wind_speed is swept and not named" in said[3]
    assert "manoeuvre='swing_push'" in said[4]
    with pytest.raises(StudyError, match="by its number, 0 to 7"):
        locate(sampled("sobol", 8), {})


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[towline]\nline_length = ['15 m', '30 m']\n[manoeuvre]\nmanoeuvre = 'swing_push'", "line_length is swept"),
        ("[manoeuvre]\npush_station = [0.3, 0.4]", "push_station is swept and has no effect: every case is swing_pull"),
        (GRID + "push_station = [0.3, 0.4]", "where manoeuvre is swing_pull: those cases repeat"),
        ("[environment]\nwind_from = ['0 deg', '90 deg']", "wind_speed is 0 in every case"),
        ("[environment]\ncurrent_to = ['0 deg', '90 deg']", "current_speed is 0 in every case"),
        ("[tug]\nathwart_band = ['30 deg', '40 deg']", "athwart_band is swept and has no effect"),
        ("[limits]\nroom_to_edge = '5 m'", "basin_radius is not given"),
        ("[environment]\nwater_depth = ['1.2 m', '9 m']", "In 50 percent of the cases the barge is aground"),
        ("[tug]\nbollard_pull = ['5 t', '30 t']", "In 50 percent of the cases the tug is outside the sizes"),
        (
            "[towline]\nline_length = ['3 m', '30 m']",
            "In 50 percent of the cases tug and barge overlap where they start",
        ),
        ("[tug]\nfender_friction = [0.2, 0.3]", "fender_friction is swept and has no effect: every case is swing_pull"),
        ("[manoeuvre]\nstart = ['over_ground', 'with_water']", "current_speed is 0 in every case"),
        ("[environment]\nstart_north = ['0 m', '9 m']", "start_north is swept and has no effect"),
        ("[barge]\ndisplacement = '150 t'", "In all of the cases the barge is outside the sizes"),
        (FACTORS + "[design]\nkind = 'sobol'\nsamples = 100", "64 or 128 would be"),
        (FACTORS + "[design]\nkind = 'latin_hypercube'\nsamples = 64", "cannot be extended"),
    ],
)
def test_what_can_run_and_should_be_known_is_a_warning(text: str, said: str) -> None:
    assert any(said in warning for warning in study_warnings(parse_study(text)))


def test_plain_study_has_no_warnings() -> None:
    assert study_warnings(parse_study(GRID.replace('"10 t", "30 t"', '"30 t", "40 t"'))) == []


def test_order_delay_is_compared_case_by_case() -> None:
    parse_study("[crew]\norder_delay = ['0.5 s', '1 s']\norder_interval = ['1 s', '2 s']")


def test_summary_tells_what_will_run() -> None:
    text = summary(parse_study(GRID, name="basin.toml"), cases_per_second=0.05, cautions="Girting can capsize a tug.")
    for said in (
        "2 x 3 x 2 = 12",
        "2 values: 10 t, 30 t",
        "at most 0.67",
        "kB before compression",
        "about 4 min",
        "Girting",
    ):
        assert said in text
    assert "for 9 distinct cases at the 0.05 cases (12 simulated seconds) a second" in summary(
        parse_study(GRID), cases_per_second=0.05, simulated_per_second=12.0, distinct=9
    )
    assert "unknown until a first run" in summary(parse_study(GRID))
    assert "unknown until a first run" in summary(parse_study(GRID), cases_per_second=math.nan)
    assert "of another version of the model" in summary(parse_study(GRID), cases_per_second=9.0, rate_holds=False)


def test_list_of_keys_is_complete() -> None:
    rows = key_rows()
    assert [key for table in rows.values() for key, *_ in table if key in INPUTS] == list(INPUTS)
    assert {"title", "seed"} == {key for key, *_ in rows[""]}
    assert all(all(cell for cell in row) for table in rows.values() for row in table)
    for text in (keys_text(), keys_markdown()):
        assert all(name in text for name in (*INPUTS, "room_to_edge", "samples", "cases_per_chunk"))
