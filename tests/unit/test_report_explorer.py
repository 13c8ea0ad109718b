"""What the envelope of a report is fed with: the cases themselves, thinned where they are many, and said so."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from toolkit.findings import apply_limits
from toolkit.findings.display import display_text
from toolkit.quantities import OUTCOMES
from toolkit.quantities.units import to_user_unit
from toolkit.report import explorer
from toolkit.report.explorer import explorer_data


def data_of(results: xr.Dataset, **options: Any) -> dict[str, Any]:
    return explorer_data(results, apply_limits(results), **options)


def number_of(data: dict[str, Any], places: tuple[int, ...]) -> int:
    """Number of a case, as the page finds it."""
    return data["first"] + sum(axis["offsets"][place] for axis, place in zip(data["axes"], places, strict=True))


def every_place(data: dict[str, Any]) -> list[tuple[int, ...]]:
    return list(product(*(range(len(axis["values"])) for axis in data["axes"])))


def test_entries_are_the_cases_in_order_in_users_units() -> None:
    results = synthetic.results(not_run=[5])
    judged = apply_limits(results)
    data = explorer_data(results, judged)
    assert data["binding"] == judged["binding_limit"].values.ravel().tolist()
    assert [number_of(data, places) for places in every_place(data)] == list(range(judged["passes"].size))
    time = next(one for one in data["outcomes"] if one["label"] == OUTCOMES["time_to_steady"].long_name)
    wanted = to_user_unit(OUTCOMES["time_to_steady"], results["time_to_steady"].values.ravel())
    got = np.array([np.nan if value is None else value for value in time["values"]])
    np.testing.assert_allclose(got, wanted, rtol=6e-4)
    assert time["values"][5] is None and time["unit"] == "min" and time["limit"] == "≤ 12 min"
    assert data["binding"][5] == data["notRun"]
    codes = {one["code"]: one for one in data["codes"]}
    assert set(codes) == set(data["binding"]) and codes[0]["short"] == "pass" and codes[data["notRun"]]["ended"]


def test_the_axes_asked_for_begin_the_grid_and_choices_begin_where_told() -> None:
    axes = {**synthetic.default_axes(3), "manoeuvre": np.array(["swing_pull", "swing_push"])}
    data = data_of(synthetic.results(axes), grid=("wind_speed", "wind_from"), begin={"manoeuvre": "swing_push"})
    by = {axis["name"]: axis for axis in data["axes"]}
    assert sorted(by, key=lambda name: by[name]["grid"])[:2] == ["wind_speed", "wind_from"]
    assert by["manoeuvre"]["start"] == 1 and by["wind_from"]["start"] == -1 and by["bollard_pull"]["start"] == 1
    assert by["wind_from"]["values"][1] == "from 045 deg" and by["manoeuvre"]["kind"] == "choice"


def test_what_is_too_much_is_thinned_and_said(monkeypatch: pytest.MonkeyPatch) -> None:
    results = synthetic.results()
    monkeypatch.setattr(explorer, "MOST_NUMBERS", 6000)
    judged = apply_limits(results)
    data = explorer_data(results, judged)
    assert len(data["binding"]) * (len(data["outcomes"]) + 2) <= 6000
    told = " ".join(data["notes"])
    assert "of the" in told and "values run are in this grid" in told
    by = {axis["name"]: axis for axis in data["axes"]}
    for name in ("displacement", "bollard_pull"):
        stride = judged["passes"].values.strides[judged["passes"].dims.index(name)]
        places = [offset // stride for offset in by[name]["offsets"]]
        assert places[0] == 0 and places[-1] == results.sizes[name] - 1, "the ends stay"
        assert by[name]["values"] == [display_text(name, results[name].values[place]) for place in places]
    flat = judged["binding_limit"].values.ravel()
    assert data["binding"] == [int(flat[number_of(data, places)]) for places in every_place(data)]


def test_more_axes_than_can_be_moved_along_are_cut_and_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(explorer, "MOST_AXES", 3)
    results = synthetic.results(synthetic.default_axes(3))
    judged = apply_limits(results)
    data = explorer_data(results, judged)
    assert [axis["name"] for axis in data["axes"]] == ["bollard_pull", "displacement", "wind_speed"]
    assert any("wind from is held at" in note for note in data["notes"])
    flat = judged["binding_limit"].values.ravel()
    assert data["binding"] == [int(flat[number_of(data, places)]) for places in every_place(data)]
