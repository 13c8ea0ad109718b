"""The run register tells every fact of a run set, once and in users' units."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from tests import synthetic
from tests.fake_engine import MODEL, TONNE_FORCE, study_of
from toolkit.execution.runner import run_study
from toolkit.figures import draw_envelope
from toolkit.figures.folder import Folder
from toolkit.findings import apply_limits
from toolkit.findings.run_register import run_register
from toolkit.findings.table import Table, write_table
from toolkit.study import parse_study

WALLED = """
title = "Marrowby Basin, walled"
[basin]
edge = [["75 m", "-75 m"], ["75 m", "95 m"], ["-80 m", "0 m"]]
[environment]
wind_speed = { from = "0 kn", to = "20 kn" }
[design]
kind = "sobol"
samples = 16
[[leg]]
manoeuvre = "swing_pull"
target_angle = "30 deg"
[[leg]]
manoeuvre = "shift"
station_to = "port_side"
"""


def told(table: Table, group: str) -> dict[str, tuple[object, object]]:
    return {str(row[1]): (row[2], row[3]) for row in table.rows if row[0] == group}


def test_register_of_a_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("toolkit.execution.runner.current_model", lambda: MODEL)
    axes = {"bollard_pull": np.array([8.0, 12.0, 45.0]) * TONNE_FORCE, "manoeuvre": ("swing_pull", "swing_push")}
    study = study_of(axes, displacement=9e5, water_depth=7.5)
    dataset = run_study(study, tmp_path / "basin.zarr", scheduler="serial", progress=False).load()
    judged = apply_limits(dataset, {"time_to_steady": 900.0})
    table = run_register(dataset, judged, made=["outcomes.md", "time_to_turn.png"])
    identity = told(table, "identity")
    assert identity["study"][0] == study.hash() and identity["seed"][0] == str(study.seed)
    assert identity["model"][0] == MODEL.hash and identity["step rule"][0] == MODEL.step_rule
    assert identity["version"][0] == dataset.attrs["toolkit_version"]
    assert identity["commit"][0] == dataset.attrs["commit"] and identity["created"][0] == dataset.attrs["created"]
    assert told(table, "cases")["in the study"] == (6, "grid; 1 of 1 blocks done")
    assert told(table, "cases")["of these run"] == (6, "")
    ends = told(table, "outcome")
    assert sum(int(str(count)) for item, (count, _) in ends.items() if not item.startswith("completed and")) == 6
    completed = int((dataset["outcome"] == 1).sum())
    assert ends["completed"] == (completed, f"{100 * completed / 6:.1f} % of the cases run")
    assert told(table, "swept") == {
        "bollard_pull": ("8 t, 12 t, 45 t", "bollard pull: 3 values"),
        "manoeuvre": ("swing pull, swing push", "manoeuvre: 2 values"),
    }
    assert told(table, "fixed, off default") == {
        "displacement": ("900 t", "barge displacement, laden: default 454 t"),
        "water_depth": ("7.5 m", "water depth: default 15 m"),
    }
    assert told(table, "limit") == {"time_to_steady": ("≤ 15 min", "time to steady")}
    assert told(table, "file") == {"outcomes.md": ("", "also as CSV"), "time_to_turn.png": ("", "also as SVG")}
    part = dataset.isel(bollard_pull=1)
    cut = run_register(part, apply_limits(part))
    assert told(cut, "cases")["in the study"][0] == 6 and told(cut, "cases")["in this register"][0] == 2
    assert told(cut, "fixed, off default")["bollard_pull"] == ("12 t", "bollard pull: default 30 t")
    written, _ = write_table(table, tmp_path, "run_register")
    lines = [line for line in written.read_text(encoding="utf-8").splitlines() if not line.startswith("# ")]
    assert {tuple(row) for row in csv.reader(lines)} >= {("identity", "study", study.hash(), "")}


def test_register_of_samples_of_a_job_in_a_walled_basin(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("toolkit.execution.runner.current_model", lambda: MODEL._replace(evaluate=_in_a_setting))
    dataset = run_study(parse_study(WALLED), tmp_path / "job.zarr", scheduler="serial", progress=False).load()
    table = run_register(dataset, apply_limits(dataset))
    assert str(told(table, "legs")["in order"][0]).startswith("1 swing pull, angle to turn 30 deg; 2 shift")
    assert told(table, "basin")["edge"][0] == "[[75.0, -75.0], [75.0, 95.0], [-80.0, 0.0]]"
    value, note = told(table, "swept")["wind_speed"]
    assert " to " in str(value) and note == "wind speed: 16 values drawn"
    assert told(table, "cases")["in the study"][0] == 16


def _in_a_setting(columns: dict, setting: object) -> dict:
    return MODEL.evaluate(columns)


def test_results_that_record_little_and_of_which_none_was_run() -> None:
    dataset = synthetic.results({"wind_speed": [0.0, 5.0]}, outcome=0)
    dataset.attrs = {"limits": "{}"}
    table = run_register(dataset, apply_limits(dataset))
    assert {value for value, _ in told(table, "identity").values()} == {"not recorded"}
    assert told(table, "outcome")["not run"] == (2, "left out of the shares")
    assert told(table, "limit") == {} and "in the study" not in told(table, "cases")


def test_envelope_writes_it_and_names_it_in_the_index(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Folder, "sheet", lambda self, made, name, words: self.entries.append((f"{name}.png", words)))
    dataset: xr.Dataset = synthetic.results({"wind_speed": [0.0, 5.0, 10.0]})
    names = {path.name for path in draw_envelope(dataset, tmp_path)}
    assert {"run_register.md", "run_register.csv"} <= names
    assert "[run_register.md](run_register.md)" in (tmp_path / "index.md").read_text(encoding="utf-8")
    text = (tmp_path / "run_register.md").read_text(encoding="utf-8")
    assert "| file | time_to_steady.png |" in text and "Screening aid only" in text
