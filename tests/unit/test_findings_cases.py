"""Which inputs are told, which one value of a sweep is taken, and which tugs a study has."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from tests.fake_engine import samples_of, study_of
from tests.unit.test_findings_compare import two
from toolkit.errors import StudyError
from toolkit.findings import apply_limits, worst_values
from toolkit.findings.alike import check_draws, differing_inputs, value_at
from toolkit.findings.base_case import base_case, spread_values
from toolkit.findings.compare import PAIRED_QUANTITIES, pair, paired_quantities, summarise_pairs
from toolkit.findings.conditions import fixed_text, manoeuvres_of
from toolkit.findings.reading import bare, outcome_of, provenance
from toolkit.findings.run_register import run_register
from toolkit.findings.study_tugs import MOST_TUGS, tugs_of
from toolkit.particulars.drives import ducted_thrust
from toolkit.study import Axis, Design, Study

T, KNOT = synthetic.TONNE_FORCE, synthetic.KNOT
FIXED = {
    "manoeuvre": "swing_pull", "target_angle": 90.0, "target_heading": np.nan, "bollard_pull": 30 * T,
    "wind_speed": 0.0, "wind_from": 90.0, "gust_factor": 1.0, "start_speed": 0.0, "current_speed": KNOT,
    "current_to": 90.0, "drag_multiplier": 1.0, "wind_load_multiplier": 1.2, "slow_speed": KNOT, "failure": "none",
}  # fmt: skip


def told(leave_out: tuple[str, ...] = (), **changes: Any) -> list[str]:
    return fixed_text(xr.Dataset(coords={**FIXED, **changes}), leave_out).split(", ")


def test_inputs_are_told_where_they_matter_and_no_others() -> None:
    ends = ["current speed 1 kn", "current to 090 deg", "multiplier on wind loads 1.2"]
    assert told() == ["swing pull", "angle to turn 90 deg", "bollard pull 30 t", "wind speed 0 kn", *ends]
    windy = ["bollard pull 30 t", "wind speed 10 kn", "wind from 090 deg", "gust factor 1.3"]
    assert told(wind_speed=10 * KNOT, gust_factor=1.3) == ["swing pull", "angle to turn 90 deg", *windy, *ends]
    assert told(leave_out=("bollard_pull", "wind_speed")) == [
        "swing pull",
        "angle to turn 90 deg",
        "wind from 090 deg",
        *ends,
    ]
    assert fixed_text(xr.Dataset()) == "none recorded"


def test_a_heading_stands_for_the_angle_and_a_failure_for_what_follows_it() -> None:
    turned = told(target_heading=180.0)
    assert "heading to turn to 180 deg" in turned and "angle to turn 90 deg" not in turned
    slow = "speed that counts as stopped 1 kn"
    assert slow not in told() and slow in told(failure="black_out") and slow in told(manoeuvre="check_way")
    assert slow in told(failure=("failure", ["none", "black_out"]))
    assert "barge's speed at the start 2 kn" in told(manoeuvre="check_way", start_speed=2 * KNOT)
    assert not [one for one in told(manoeuvre="check_way") if "at the start" in one]


def test_a_leg_that_names_no_manoeuvre_has_the_one_of_the_study() -> None:
    legs = '[{"target_angle": 30.0}, {"manoeuvre": "shift"}]'
    dataset = xr.Dataset(coords={"manoeuvre": "swing_push"}, attrs={"legs": legs})
    assert manoeuvres_of(dataset) == ("swing_push", "shift")
    assert manoeuvres_of(xr.Dataset(coords={"manoeuvre": ("manoeuvre", ["shift", "swing_push"])})) == (
        "shift",
        "swing_push",
    )


def test_of_speeds_the_lowest_of_directions_the_first_of_others_the_middle() -> None:
    study = study_of(
        {
            "wind_speed": np.array([9.0, 3.0]),
            "wind_from": np.array([90.0, 45.0]),
            "displacement": np.array([9e5, 3e5, 6e5]),
        }
    )
    found = base_case(study)
    assert [found.inputs[name] for name in ("wind_speed", "wind_from", "displacement")] == [3.0, 90.0, 6e5]
    said = (
        "barge displacement, laden 600 t (middle of 3)",
        "wind speed 5.832 kn (lowest)",
        "wind from 090 deg (first)",
    )
    assert found.notes == said
    ranged = base_case(samples_of())
    assert ranged.inputs["bollard_pull"] == pytest.approx(np.sqrt(600.0) * T)  # of a range in even ratios
    assert ranged.sets == ({"manoeuvre": "swing_pull"}, {"manoeuvre": "swing_push"})


def test_a_seed_of_the_draws_is_that_of_the_study_unless_given() -> None:
    axes = {"wind_speed": np.array([3.0, 9.0])}
    study = study_of(axes)
    assert base_case(study).inputs["draw_seed"] == float(study.seed)
    assert base_case(study_of(axes, draw_seed=5.0)).inputs["draw_seed"] == 5.0


def test_six_combinations_of_choices_are_searched_and_no_more() -> None:
    choices = {
        "manoeuvre": ("swing_pull", "swing_push"), "line_material": ("hmpe", "polyester", "nylon"),
        "turn": ("port", "starboard"),
    }  # fmt: skip
    assert len(base_case(study_of({n: choices[n] for n in ("manoeuvre", "line_material")})).sets) == 6
    with pytest.raises(StudyError, match="make 12 combinations"):
        base_case(study_of(choices))
    assert len(base_case(study_of(choices), {"line_material": "nylon"}).sets) == 4


def test_values_are_spread_from_end_to_end() -> None:
    study = study_of({"displacement": np.array([4e5, 1e5, 3e5, 2e5])})
    assert spread_values(study, "displacement", 3) == (1e5, 3e5, 4e5)
    assert spread_values(study, "displacement", 9) == (1e5, 2e5, 3e5, 4e5)
    assert spread_values(study, "water_depth", 3) == (float(study.fixed["water_depth"]),)
    np.testing.assert_allclose(spread_values(samples_of(), "wind_speed", 4), [0.0, 4.0, 8.0, 12.0])


def test_both_drives_together_give_the_pull() -> None:
    (tug,) = tugs_of(study_of({"bollard_pull": np.array([40.0 * T])}))
    assert 2.0 * float(ducted_thrust(tug.shaft_power, tug.propeller_diameter, tug.water_density)) == pytest.approx(
        40.0 * T
    )


def test_of_many_tugs_an_even_selection_is_listed() -> None:
    pulls = np.linspace(10.0, 80.0, 2 * MOST_TUGS - 1) * T
    tugs = tugs_of(study_of({"bollard_pull": pulls}))
    assert len(tugs) == MOST_TUGS
    np.testing.assert_allclose([tug.bollard_pull for tug in tugs], pulls[::2])


def test_samples_of_the_weather_alone_are_of_one_tug() -> None:
    plain = study_of({"wind_speed": np.array([0.0, 9.0])})
    wind = Axis(name="wind_speed", values=np.array([0.0, 9.0]), kind="range")
    study = Study(title="Weather", source="weather.toml", axes=(wind,), fixed=plain.fixed, run=plain.run,
                  design=Design(kind="latin_hypercube", samples=16))  # fmt: skip
    assert [tug.place for tug in tugs_of(study)] == [{"case": 0}]
    assert len(tugs_of(samples_of(16))) == 16


def test_provenance_shortens_the_commit_alone_and_keeps_what_stands_behind_it() -> None:
    commit = "0123456789abcdef0123456789abcdef01234567"
    attributes = {"toolkit_version": "0.1.0", "commit": f"{commit}, changed", "study_hash": "f" * 45}
    text = provenance(attributes)
    assert "0123456789, changed" in text and "abcdef" not in text and "f" * 45 in text
    assert "0123456789, changed" in provenance({"commit": f"{commit}, changed"})
    assert provenance({"commit": commit[:39]}).endswith(f" {commit[:39]}.")
    assert provenance({}) == "Provenance: not recorded in the dataset."


@pytest.mark.filterwarnings("error")
def test_outcomes_that_a_store_lacks_were_not_run() -> None:
    found = outcome_of(xr.Dataset({"outcome": ("case", [1.0, np.nan, 7.0])}))
    assert found.dtype == np.int8 and found.values.tolist() == [1, 0, 7]


def test_bare_results_keep_the_coordinates_of_their_axes_and_those_of_cases() -> None:
    dataset = xr.Dataset(
        {"outcome": ("case", [1, 1])}, coords={"case": [4, 5], "pull": ("case", [1.0, 2.0]), "depth": 9.0}
    )
    assert set(bare(dataset).coords) == {"case", "pull"}


def test_a_value_of_an_axis_is_found_among_words_and_numbers() -> None:
    axes = {"manoeuvre": ["swing_pull", "swing_push"], "wind_speed": [0.0, 10 * KNOT]}
    dataset = synthetic.results(axes)
    assert value_at(dataset, "manoeuvre", "swing_pull") == (0, "swing pull")
    assert value_at(dataset, "manoeuvre", "swing_push") == (1, "swing push")
    assert value_at(dataset, "wind_speed", "10 kn") == value_at(dataset, "wind_speed", 10 * KNOT) == (1, "10 kn")


def test_an_input_that_one_of_two_results_alone_records_differs() -> None:
    one = xr.Dataset(coords={"manoeuvre": "swing_pull", "wind_speed": 5.0, "water_depth": 7.0, "turn": "port"})
    other = xr.Dataset(coords={"wind_speed": 5.0 * (1.0 + 1e-12), "turn": "starboard"})
    assert set(differing_inputs(one, other)) == {"manoeuvre", "water_depth", "turn"}
    assert differing_inputs(one, one) == ()


def test_samples_beside_a_grid_are_held_against_nothing() -> None:
    samples = xr.Dataset({"outcome": ("case", [1, 1])}, coords={"case": [0, 1], "wind_speed": ("case", [1.0, 2.0])})
    check_draws(samples, synthetic.results({"wind_speed": [1.0, 2.0]}))


def test_what_is_compared_hangs_on_the_manoeuvre_and_on_what_both_have() -> None:
    assert paired_quantities(xr.Dataset(coords={"manoeuvre": "swing_push"})) == PAIRED_QUANTITIES
    assert paired_quantities(xr.Dataset(coords={"manoeuvre": "tow_ahead"}))[0] == "time_to_tow_speed"
    a, b = two([10, 20, 30], [10.5, 20, 29], ([1, 1, 1], [1, 1, 1]))
    pairs = pair(a.assign(overshoot=a["time_to_turn"]), b, names=("one", "other"))
    assert pairs.attrs["quantities"] == "time_to_turn"
    assert [str(pairs[f"time_to_turn_{end}"].attrs["long_name"]).split(", ")[1] for end in ("first", "second")] == [
        "one",
        "other",
    ]
    found = summarise_pairs(pairs).sel(quantity="time_to_turn")
    assert [float(found[f"share_{way}"]) for way in ("first_smaller", "second_smaller", "equal")] == [
        pytest.approx(1 / 3)
    ] * 3


def test_a_register_tells_many_values_by_their_ends_and_what_is_off_its_default_by_a_little() -> None:
    winds = np.array([7.0, *range(7), *range(8, 14)]) * KNOT
    dataset = synthetic.results(
        {"wind_speed": winds, "water_depth": [8.0]}, drag_multiplier=1.2, wind_load_multiplier=1.0
    )
    rows = {str(row[1]): row[2:] for row in run_register(dataset, apply_limits(dataset)).rows}
    assert rows["wind_speed"] == ("0 kn to 13 kn", "wind speed: 14 values")
    assert rows["water_depth"] == ("8 m", "water depth: 1 value")
    assert rows["drag_multiplier"][0] == "1.2" and "wind_load_multiplier" not in rows


def test_the_worst_drift_along_a_berth_is_the_largest_either_way() -> None:
    found = worst_of(drift_along_berth=[[-4.0, 3.0], [2.0, np.nan]])
    assert found["drift_along_berth"].values.tolist() == [-4.0, 3.0]
    assert found["drift_along_berth_missing"].values.tolist() == [0, 1]


def test_the_leg_that_governs_is_that_of_the_worst_case_and_a_number_of_its_own_without_one() -> None:
    legs = [[1.0, 2.0], [3.0, 1.0]]
    found = worst_of(governing_leg=legs, governing_share=[[0.9, 0.2], [0.5, 0.7]])
    assert found["governing_leg"].values.tolist() == [1.0, 1.0]
    assert found["governing_share"].values.tolist() == [0.9, 0.7]
    assert worst_of(governing_leg=legs)["governing_leg"].values.tolist() == [3.0, 2.0]
    assert worst_of(room_to_edge=[[5.0, 2.0], [3.0, 4.0]])["room_to_edge"].values.tolist() == [3.0, 2.0]


def worst_of(**outcomes: list[list[float]]) -> xr.Dataset:
    """Worst over displacements of completed cases, by wind."""
    dims = ("displacement", "wind_speed")
    data = {"outcome": np.ones((2, 2), dtype=np.int8), **{k: np.array(v) for k, v in outcomes.items()}}
    dataset = xr.Dataset(
        {k: (dims, v) for k, v in data.items()}, coords={"displacement": [3e5, 6e5], "wind_speed": [0.0, 5.0]}
    )
    return worst_values(dataset, apply_limits(dataset, {}), ["displacement"], list(outcomes))
