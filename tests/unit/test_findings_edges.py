"""Edges of findings by hand: one value on an axis, inputs fixed, names unknown, numbers where words may stand."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from tests.unit.test_findings_stability import ONE
from toolkit.findings import apply_limits, failure_consequences, passing_band, standby_need
from toolkit.findings.limit_search import _coordinate
from toolkit.findings.limits import BINDING_MEANINGS
from toolkit.findings.righting_file import read_righting_levers
from toolkit.findings.stability import stability_table
from toolkit.findings.stability_criteria import criteria_table
from toolkit.findings.static_rule import count_back_test, set_against
from toolkit.findings.study_tugs import tugs_of
from toolkit.study import parse_study

T = synthetic.TONNE_FORCE
DONE, EDGE, LOST = 1, 4, 7


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
