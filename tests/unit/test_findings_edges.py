"""Edges of findings by hand: one value on an axis, inputs fixed, names unknown, numbers where words may stand."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from tests.fake_engine import samples_of, study_of
from tests.unit.test_findings_paired import drawn
from tests.unit.test_findings_stability import ONE
from toolkit.errors import StudyError
from toolkit.findings import apply_limits, failure_consequences, pair, passing_band, standby_need
from toolkit.findings.bands import bands_along
from toolkit.findings.display import long_name
from toolkit.findings.go_card import _chance
from toolkit.findings.interaction import interaction
from toolkit.findings.limit_search import _coordinate
from toolkit.findings.limits import BINDING_MEANINGS
from toolkit.findings.paired import compare_results
from toolkit.findings.righting_file import read_righting_levers
from toolkit.findings.sensitivity import factors_of, sobol
from toolkit.findings.shares import share_of_runs, shares_text
from toolkit.findings.stability import stability_table
from toolkit.findings.stability_criteria import criteria_table
from toolkit.findings.static_rule import count_back_test, set_against
from toolkit.findings.study_tugs import tugs_of
from toolkit.findings.win_map import win_map
from toolkit.study import parse_study

T = synthetic.TONNE_FORCE
NOT_RUN, DONE, LOST = 0, 1, 7


def judged(codes: object, axes: dict[str, list], **fixed: object) -> xr.Dataset:
    """Judged grid of outcome codes without limits, with inputs that are fixed."""
    data = {"outcome": (tuple(axes), np.array(codes, dtype=np.int8))}
    return apply_limits(xr.Dataset(data, coords={**{k: np.array(v) for k, v in axes.items()}, **fixed}))


def test_a_band_of_one_value_that_fails_is_limited_by_it_at_both_ends() -> None:
    band = passing_band(judged([LOST], {"bollard_pull": [10 * T]}), "bollard_pull")
    assert BINDING_MEANINGS[int(band["limited_below"])] == "lost_station"
    assert BINDING_MEANINGS[int(band["limited_above"])] == "lost_station"


def test_a_coordinate_of_a_search_has_units_only_where_it_is_a_quantity() -> None:
    assert _coordinate("manoeuvre", ["swing_pull"]) == ("manoeuvre", ["swing_pull"])
    assert _coordinate("no_input", [1, 2]) == ("no_input", [1, 2])
    name, values, attributes = _coordinate("wind_speed", ["10 kn", 3])
    assert (name, values, attributes["units"]) == ("wind_speed", [10 * synthetic.KNOT, 3.0], "m s-1")


def test_no_calm_is_looked_at_where_the_wind_is_fixed() -> None:
    field = judged([DONE, LOST], {"bollard_pull": [10 * T, 20 * T]}, wind_speed=0.0)
    counts = count_back_test(set_against(field, xr.ones_like(field["passes"]), words="all"))
    assert int(counts["rule_passes_swing_fails"]) == 1
    assert not [name for name in counts.data_vars if "calm" in str(name)]


def test_a_standby_tug_is_told_by_bands_of_an_input_that_is_fixed() -> None:
    axes = {"failure": ["none", "black_out"], "bollard_pull": [10 * T, 20 * T]}
    need = standby_need(judged([[DONE, DONE], [LOST, DONE]], axes, current_speed=0.5), bands={"current_speed": None})
    assert need["current_speed_band"].size == 1
    assert need["smallest_without"].values.ravel().tolist() == [20 * T]


def test_consequences_have_the_units_of_their_outcomes() -> None:
    axes = {"failure": ["none", "black_out"], "bollard_pull": [10 * T]}
    field = judged([[DONE], [DONE]], axes)
    drift = xr.zeros_like(field["passes"], dtype=np.float64)
    found = failure_consequences(field.assign(drift_distance=drift, standby_holds=drift + 1.0), field)
    assert found["drift_distance_median"].attrs["units"] == "m"
    assert found["standby_holds_share"].attrs["units"] == "1"


def test_what_a_tug_has_is_a_number_unless_it_is_only_a_least_value() -> None:
    table = criteria_table(parse_study(ONE, name="one.toml"))
    has = {str(row[3]): row[4] for row in table.rows}
    assert has["metacentric height"] == pytest.approx(1.5)
    assert has["heel of the greatest lever"] == "at least 12"


def test_the_slope_upright_is_read_at_two_degrees(tmp_path: Path) -> None:
    # 1.5 m at 2 degrees, and much more beyond
    path = tmp_path / "levers.csv"
    levers = [(0.0, 0.0), (2.0, 1.5 * np.sin(np.radians(2.0))), (4.0, 0.4), (20.0, 1.2), (40.0, 0.6)]
    path.write_text("heel [deg],lever [m]\n" + "\n".join(f"{a},{b:.8f}" for a, b in levers), encoding="utf-8")
    study = parse_study(ONE, name="one.toml")
    notes = "\n".join(stability_table(study, curves=read_righting_levers(path, tugs_of(study))).notes)
    assert "they give GM" not in notes


def test_a_band_says_its_unit_once_where_both_ends_have_the_same_and_one_word_has_none() -> None:
    field = judged([[DONE, DONE]] * 2, {"shifts": [1.0, 2.0], "power_setting": [0.5, 1.0]})
    assert bands_along(field, "power_setting", [0.5, 1.0]).labels == ("50 to 100 %",)
    assert bands_along(field, "shifts", [1.0, 2.0]).labels == ("1 to 2",)


def test_a_draw_in_which_both_do_alike_has_no_vote() -> None:
    # three draws for the second, one even: p of 3 to 0
    found = compare_results(drawn([[9.0, 9.0, 9.0, 9.0]]), drawn([[8.0, 8.0, 8.0, 9.0]]), resamples=9)
    assert float(found["sign_test_p"].sel(quantity="time_to_steady")) == 0.25


def test_a_small_difference_one_way_does_not_flip() -> None:
    found = compare_results(drawn([[9.0, 9.0]]), drawn([[9.5, 12.0]]), resamples=9).sel(quantity="time_to_steady")
    assert (float(found["conditions_count"]), float(found["share_conditions_flipping"])) == (1.0, 0.0)


def test_a_map_of_what_was_not_run_has_no_votes() -> None:
    found = win_map(pair(drawn([[1.0] * 6], NOT_RUN), drawn([[1.0] * 6], NOT_RUN)), ("wind_speed",))
    assert found.attrs["votes"] == 0 and int(found["run_count"][0]) == 0


def test_an_interaction_is_over_axes_of_a_grid_alone() -> None:
    with pytest.raises(StudyError, match="displacement is not swept on a grid"):
        interaction(drawn([[1.0, 2.0]]), "wind_speed", "displacement")
    with pytest.raises(StudyError, match="case is not swept on a grid"):
        interaction(drawn([[1.0, 2.0]], dims=("wind_speed", "case")), "wind_speed", "case")


def test_the_line_on_shares_names_the_limits_that_never_applied_and_no_other() -> None:
    axes = ("bollard_pull",)
    data = {
        "outcome": (axes, np.array([DONE, DONE, LOST, 0], np.int8)),
        "peak_heel_fraction": (axes, [0.5, 0.9, 0.1, 0.0]),
    }
    dataset = xr.Dataset({**data, "tension_over_mbl": (axes, [np.nan] * 4)}, coords={"bollard_pull": np.arange(4.0)})
    heel = apply_limits(dataset, {"peak_heel_fraction": 0.8})
    told = "3 of 4 cases run (1 not run, left out); 66.7 % completed, 33.3 % pass. Most often not passed for: "
    told += "peak heel over deck-edge angle 1, lost station 1."
    assert shares_text(share_of_runs(heel)) == told
    both = apply_limits(dataset, {"peak_heel_fraction": 0.8, "tension_over_mbl": 0.5})
    name = long_name("tension_over_mbl")
    assert shares_text(share_of_runs(both)) == f"{told} No case gave a value for the limit on: {name}."


def test_every_sample_may_be_drawn_again_for_the_interval_of_an_index() -> None:
    # the first sample alone differs: without it no resample has a variance to share
    def run(table: Mapping[str, Any]) -> xr.Dataset:
        value = np.zeros((4, 16))
        value[:, 0] = [1.0, 2.0, 1.5, 3.0]
        return xr.Dataset({"outcome": ("case", np.ones(64, np.int8)), "drift_distance": ("case", value.ravel())})

    two = factors_of(samples_of()).keep(["wind_speed", "bollard_pull"], "by hand")
    found = sobol(run, two, samples=16, names=["drift_distance"], resamples=40)
    assert (found["total_order_high"] > 0.0).all() and (found["first_order_high"] > 0.4).all()


def test_a_seed_of_the_draws_that_is_given_is_kept() -> None:
    study = study_of({"wind_speed": np.array([0.0, 5.0])}, draw_seed=5.0)
    assert factors_of(study).base["draw_seed"] == 5.0
    assert factors_of(study_of({"wind_speed": np.array([0.0, 5.0])})).base["draw_seed"] == float(study.seed)


def test_a_limit_in_draws_says_how_many_and_that_it_is_all_unless_told() -> None:
    assert _chance(xr.Dataset()) == ()
    (told,) = _chance(xr.Dataset(attrs={"draw_count": 4}))
    assert "at least 100 % of 4 draws" in told
    (told,) = _chance(xr.Dataset(attrs={"draw_count": 8, "share": 0.875}))
    assert "at least 87.5 % of 8 draws" in told


def test_times_are_watched_up_to_the_shorter_of_two_time_limits() -> None:
    long, short = drawn([[9.0, 9.0]]), drawn([[8.0, 8.0]]).assign_coords(time_limit=500.0)
    assert compare_results(long, short, resamples=9).attrs["horizon"] == 500.0
    assert compare_results(short, long, resamples=9).attrs["horizon"] == 500.0


def test_of_differences_that_even_out_none_has_the_other_sign() -> None:
    found = compare_results(drawn([[9.0, 9.0]]), drawn([[8.0, 10.0]]), resamples=9).sel(quantity="time_to_steady")
    assert (float(found["mean_difference"]), float(found["share_sign_flips"])) == (0.0, 0.0)
