from __future__ import annotations

import json
import warnings
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from zarr.storage import LocalStore

from tests.fake_engine import AXES, MODEL, evaluate, samples_of, study_of
from toolkit.errors import StoreError, StudyError
from toolkit.execution import creation
from toolkit.execution import store as store_module
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.export import export_netcdf
from toolkit.execution.layout import ALWAYS
from toolkit.execution.results import open_results
from toolkit.execution.runner import run_study, run_with
from toolkit.execution.store import prepare_store
from toolkit.quantities import INPUTS, REGISTER, Outcome
from toolkit.study import Design, RunOptions, Study, load_study

pytestmark = pytest.mark.whole


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "Marrowby – bassin d'évitage" / "été.zarr"


def serial(study: Study, path: Path, **options: Any) -> xr.Dataset:
    return run_with(MODEL, study, path, scheduler="serial", **options)


def expected(study: Study) -> dict[str, Any]:
    return evaluate(study.columns(np.arange(study.size)))


def assert_complete(dataset: xr.Dataset, study: Study) -> None:
    wanted = expected(study)
    for name in RESULT_NAMES:
        assert np.array_equal(dataset[name].values.reshape(-1), wanted[name], equal_nan=True), name


@pytest.mark.parametrize("study", [study_of(), samples_of(), study_of({})], ids=["grid", "samples", "one case"])
def test_what_is_run_is_what_is_read(study: Study, path: Path) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        dataset = serial(study, path)
        assert_complete(dataset, study)
    assert dataset["outcome"].dims == study.dims
    assert dataset["outcome"].dtype == np.int8 and dataset["range_flags"].dtype == np.int16
    for name, values in study.axis_coordinates().items():
        assert np.array_equal(dataset[name].values, values)
        assert dataset[name].dtype.kind in "fU"
    for name, value in study.fixed.items():
        if isinstance(value, str):
            assert dataset[name].values == value and dataset[name].dtype.kind == "U"
        elif np.isnan(value):
            assert name not in dataset.variables or (name in ALWAYS and np.isnan(dataset[name].values))
        else:
            assert dataset[name].values == value and dataset[name].dims == ()


def test_every_name_is_in_the_register_and_described(path: Path) -> None:
    dataset = serial(study_of(), path)
    assert set(dataset.data_vars) == set(RESULT_NAMES)
    assert set(dataset.coords) <= set(INPUTS)
    for name, variable in dataset.variables.items():
        assert variable.attrs["long_name"] == REGISTER[str(name)].long_name
        if variable.dtype.kind == "f":
            assert variable.attrs["units"] == REGISTER[str(name)].unit
        assert all(value is not None for value in variable.attrs.values())
    assert list(dataset.data_vars) == list(RESULT_NAMES)
    assert list(dataset.coords)[: len(AXES)] == list(dataset.outcome.dims)


def test_attributes_of_the_contract(path: Path) -> None:
    study = study_of()
    attributes = serial(study, path).attrs
    assert attributes["Conventions"] == "CF-1.11"
    assert attributes["study_hash"] == study.hash() and attributes["model_hash"] == MODEL.hash
    assert json.loads(attributes["study"]) == study.canonical()
    assert json.loads(attributes["limits"]) == study.limits.in_force()
    counts = json.loads(attributes["outcome_counts"])
    assert sum(counts.values()) == study.size and set(counts) == {"completed", "timed_out"}
    assert attributes["blocks_done"] == attributes["blocks"] > 1


def test_results_are_lazy_with_one_chunk_a_block(path: Path) -> None:
    study = study_of()
    dataset = serial(study, path)
    for name in RESULT_NAMES:
        assert dataset[name].chunks == dataset["outcome"].chunks is not None
    assert np.prod([len(sizes) for sizes in dataset["outcome"].chunks]) == dataset.attrs["blocks"]


@pytest.mark.slow
def test_bits_do_not_depend_on_how_it_is_run(tmp_path: Path) -> None:
    reference = serial(study_of(), tmp_path / "reference.zarr").drop_attrs().load()
    for number, (chunk, options) in enumerate(
        [(12, {"scheduler": "threads", "workers": 2}), (12, {"scheduler": "serial"}), (96, {"workers": 2})]
    ):
        other = run_with(MODEL, study_of(cases_per_chunk=chunk), tmp_path / f"{number}.zarr", **options)
        xr.testing.assert_identical(reference, other.drop_attrs())


def test_what_opens_results_is_loaded_when_a_worker_has_nothing_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    left: list[int] = []
    blocks = replace(samples_of(), run=RunOptions(cases_per_chunk=8))
    count = -(-blocks.size // 8)
    assert count > 3
    monkeypatch.setattr("toolkit.execution.runner.load_what_opens_results", lambda: left.append(1))
    serial(blocks, tmp_path / "serial.zarr")
    assert left == []  # nobody is idle before the end
    run_with(MODEL, blocks, tmp_path / "two.zarr", workers=2)
    assert len(left) == 1
    run_with(MODEL, blocks, tmp_path / "three.zarr", workers=3)
    assert len(left) == 1 + 2


def test_line_length_does_not_multiply_a_push_nor_calm_the_wind_directions(path: Path) -> None:
    rows: list[int] = []

    def counting(columns: dict[str, Any]) -> dict[str, Any]:
        rows.append(len(columns["bollard_pull"]))
        return evaluate(columns)

    study = study_of()
    run_with(MODEL._replace(evaluate=counting), study, path, scheduler="serial")
    pulls, masses, lines, winds, directions = 2, 2, 2, 1, 3
    assert sum(rows) == pulls * masses * (winds * directions + 1) * (lines + 1) < study.size


def run_partly(study: Study, path: Path, blocks: int) -> None:
    """A run that the user stops after some blocks."""
    calls = []

    def stopped(columns: dict[str, Any]) -> dict[str, Any]:
        calls.append(1)
        if len(calls) > blocks:
            raise KeyboardInterrupt
        return evaluate(columns)

    with pytest.raises(KeyboardInterrupt) as caught:
        run_with(MODEL._replace(evaluate=stopped), study, path, scheduler="serial")
    assert any(f"{blocks} of" in note for note in caught.value.__notes__)


def test_a_half_run_store_can_be_read_and_gone_on_with(path: Path) -> None:
    study = study_of()
    run_partly(study, path, 3)
    half = open_results(path)
    run = half["outcome"].values != Outcome.not_run
    assert 0 < run.sum() < study.size
    assert np.isnan(half["end_time"].values[~run]).all() and not np.isnan(half["end_time"].values[run]).any()
    assert half.attrs["blocks_done"] == 3

    calls: list[int] = []

    def counting(columns: dict[str, Any]) -> dict[str, Any]:
        calls.append(1)
        return evaluate(columns)

    whole = run_with(MODEL._replace(evaluate=counting), study, path, scheduler="threads")
    assert len(calls) == whole.attrs["blocks"] - 3
    assert_complete(whole, study)
    assert f"{len(calls)} of {whole.attrs['blocks']} blocks to run" in whole.attrs["history"]


def test_a_complete_store_is_not_run_again(path: Path) -> None:
    study = study_of()
    serial(study, path)

    def never(columns: dict[str, Any]) -> dict[str, Any]:
        raise AssertionError("run again")

    again = run_with(MODEL._replace(evaluate=never), study, path, scheduler="serial")
    assert again.attrs["history"].count("\n") == 0


def test_a_block_without_its_mark_is_run_again(path: Path) -> None:
    study = study_of()
    serial(study, path)
    (path / "block_done" / "c" / "3").unlink()
    grid = [len(sizes) for sizes in open_results(path)["peak_heel"].chunks or ()]
    key = [str(place) for place in np.unravel_index(3, grid)]
    Path(path, "peak_heel", "c", *key).unlink()  # as if only some variables of that block had reached the disk
    assert open_results(path).attrs["blocks_done"] == open_results(path).attrs["blocks"] - 1
    calls: list[int] = []

    def counting(columns: dict[str, Any]) -> dict[str, Any]:
        calls.append(1)
        return evaluate(columns)

    run_with(MODEL._replace(evaluate=counting), study, path, scheduler="serial")
    assert len(calls) == 1


def test_a_crash_between_variables_and_mark_leaves_the_block_to_be_run(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study = study_of()
    wanted = expected(study)
    store = prepare_store(path, study, MODEL)
    results = {name: wanted[name][store.blocks.flat_indices(0)] for name in RESULT_NAMES}
    whole = LocalStore.set

    async def crash(self: LocalStore, key: str, value: Any) -> None:
        if key.startswith("peak_heel/c/"):
            raise RuntimeError("power cut")
        await whole(self, key, value)

    monkeypatch.setattr(LocalStore, "set", crash)
    with pytest.raises(RuntimeError, match="power cut"):
        store_module.write_block(store, 0, results)
    monkeypatch.undo()
    assert 0 in prepare_store(path, study, MODEL).pending()
    assert_complete(serial(study, path), study)


def test_an_engine_that_fails_leaves_a_store_to_go_on_with(path: Path) -> None:
    def broken(columns: dict[str, Any]) -> dict[str, Any]:
        raise ZeroDivisionError

    study = study_of()
    with pytest.raises(ZeroDivisionError):
        run_with(MODEL._replace(evaluate=broken), study, path)
    assert_complete(serial(study, path), study)


def refusal(study: Study, path: Path, model: Any = MODEL) -> str:
    with pytest.raises(StoreError) as caught:
        run_with(model, study, path, scheduler="serial")
    return str(caught.value)


def test_another_study_is_refused_with_what_differs(path: Path) -> None:
    serial(study_of(), path)
    before = sorted(file for file in path.rglob("*"))
    message = refusal(study_of({**AXES, "line_length": np.array([15.0, 40.0])}, water_depth=9.0), path)
    assert "axis line_length: [15.0, 30.0] there, [15.0, 40.0] here [m]" in message
    assert "fixed water_depth: 15.0 there, 9.0 here [m]" in message
    assert "--fresh" in message and str(path) in message
    assert message.count(" there, ") == 2
    assert sorted(file for file in path.rglob("*")) == before


def test_another_axis_model_or_layout_is_refused(path: Path) -> None:
    study = study_of()
    serial(study, path)
    fewer = {name: values for name, values in AXES.items() if name != "line_length"}
    message = refusal(study_of(fewer), path)
    assert "axis line_length: [15.0, 30.0] there, nothing here [m]" in message
    assert "fixed line_length: nothing there, 15.0 here [m]" in message
    assert "model: fa4e000000000000" in refusal(study, path, MODEL._replace(hash="beef000000000000"))
    assert "step rule: closed form, no steps there, Heun here" in refusal(study, path, MODEL._replace(step_rule="Heun"))
    group = store_module.open_group(path, mode="r+")
    group.attrs.update({"schema_version": 0})
    assert "layout of the store: version 0 there" in refusal(study, path)
    with pytest.raises(StoreError, match="version 0"):
        open_results(path)


def test_title_limits_and_chunks_may_change(path: Path) -> None:
    study = study_of()
    run_partly(study, path, 2)
    other = replace(study_of(cases_per_chunk=5, title="Marrowby again"), limits=replace(study.limits, overshoot=20.0))
    dataset = serial(other, path)
    assert_complete(dataset, study)
    assert dataset.attrs["title"] == "Marrowby again"
    assert json.loads(dataset.attrs["limits"])["overshoot"] == 20.0


def test_fresh_throws_the_old_results_away(path: Path) -> None:
    serial(study_of(), path)
    other = study_of({"wind_speed": np.array([0.0, 5.0])})
    dataset = serial(other, path, fresh=True)
    assert_complete(dataset, other)
    assert [file.name for file in path.parent.iterdir()] == [path.name]


@pytest.mark.parametrize("fresh", [True, False])
def test_a_folder_of_something_else_is_left_alone(fresh: bool, tmp_path: Path) -> None:
    folder = tmp_path / "letters"
    folder.mkdir()
    (folder / "letter.txt").write_text("Dear harbour master")
    with pytest.raises(StoreError, match="not a store"):
        run_with(MODEL, study_of(), folder, scheduler="serial", fresh=fresh)
    assert (folder / "letter.txt").read_text() == "Dear harbour master"


def test_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match="cannot be written"):
        run_with(MODEL, study_of(), tmp_path / "file" / "a.zarr", scheduler="serial")


def test_creation_is_whole_or_not_at_all(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(*args: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(creation, "fixed_inputs", breaks)
    with pytest.raises(KeyboardInterrupt):
        prepare_store(path, study_of(), MODEL)
    assert list(path.parent.iterdir()) == []


def _truncate_root(path: Path) -> None:
    (path / "zarr.json").write_text((path / "zarr.json").read_text()[:100])


def _lose_variable(path: Path) -> None:
    (path / "peak_heel" / "zarr.json").unlink()


def _lose_root(path: Path) -> None:
    (path / "zarr.json").unlink()


def _spoil_variable(path: Path) -> None:
    (path / "peak_heel" / "zarr.json").write_text("{}")


def _foreign(path: Path) -> None:
    (path / "zarr.json").write_text('{"zarr_format": 3, "node_type": "group", "attributes": {}}')


@pytest.mark.parametrize("harm", [_truncate_root, _lose_variable, _lose_root, _spoil_variable, _foreign])
def test_a_harmed_store_is_refused_in_words(harm: Any, path: Path) -> None:
    study = study_of()
    serial(study, path)
    harm(path)
    with pytest.raises(StoreError, match="été"):
        open_results(path)
    with pytest.raises(StoreError, match="été"):
        serial(study, path)


def _spoil_block(path: Path, name: str) -> None:
    file = next(file for file in sorted((path / name / "c").rglob("*")) if file.is_file())
    file.write_bytes(b"not what was written")


def test_a_block_that_cannot_be_read_is_named(path: Path) -> None:
    study = study_of()
    serial(study, path)
    _spoil_block(path, "peak_tension")
    dataset = open_results(path)
    dataset["peak_heel"].load()
    with pytest.raises(StoreError, match=r"été\.zarr: cannot be read \(peak_tension: "):
        dataset["peak_tension"].load()
    _spoil_block(path, "outcome")
    (path / "block_done" / "c" / str(dataset.attrs["blocks"] - 1)).unlink()
    with pytest.raises(StoreError, match=r"été\.zarr: cannot be read \(outcome: "):
        serial(study, path)


def test_a_spoilt_block_of_a_netcdf_file_is_named(path: Path) -> None:
    file = export_netcdf(serial(study_of(), path), path.with_suffix(".nc"))
    dataset = open_results(file)
    lazy = dataset["peak_tension"]
    raw = file.read_bytes()
    bounds = len(raw) // 10, len(raw) * 19 // 20
    file.write_bytes(raw[: bounds[0]] + b"\xff" * (bounds[1] - bounds[0]) + raw[bounds[1] :])
    with pytest.raises(StoreError, match=r"été\.nc"):
        open_results(file)["peak_tension"].load()
    assert lazy.chunks is not None


@pytest.mark.parametrize("text", ["{", "[1]", None, "changed"])
def test_a_damaged_study_attribute_is_said(text: str | None, path: Path) -> None:
    study = study_of()
    serial(study, path)
    group = store_module.open_group(path, mode="r+")
    if text == "changed":
        text = str(group.attrs["study"]).replace("30.0", "31.0")
    if text is None:
        del group.attrs["study"]
    else:
        group.attrs["study"] = text
    with pytest.raises(StoreError, match=r"été\.zarr: cannot be read \(its attribute 'study'"):
        open_results(path)
    with pytest.raises(StoreError, match=r"été\.zarr: cannot be read \(its attribute 'study'"):
        serial(study, path)
    assert_complete(serial(study, path, fresh=True), study)


def test_another_number_of_samples_says_what_can_be_extended(path: Path) -> None:
    serial(samples_of(16), path)
    message = refusal(samples_of(32), path)
    assert "design samples: 16 there, 32 here; a Latin hypercube cannot be extended" in message
    sobol = Design(kind="sobol", samples=16)
    serial(replace(samples_of(16), design=sobol), path, fresh=True)
    message = refusal(replace(samples_of(16), design=replace(sobol, samples=32)), path)
    assert "design samples: 16 there, 32 here; the shorter Sobol' sequence is the beginning of the longer" in message
    assert "--reuse" in message


@pytest.mark.parametrize("wrong", [None, 5, b"a"])
def test_what_is_no_path_or_study_is_refused_in_words(wrong: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("toolkit.execution.runner.current_model", lambda: MODEL)
    with pytest.raises(StudyError, match="is not a study"):
        run_study(wrong)
    with pytest.raises(StudyError, match="is not the path of a study file"):
        load_study(wrong)
    with pytest.raises(StoreError, match="is not the path of results"):
        open_results(wrong)
    with pytest.raises(StudyError, match="scheduler"):
        run_study(study_of(), scheduler=wrong)
    if wrong is not None:
        with pytest.raises(StoreError, match="is not the path of a store"):
            run_study(study_of(), wrong)


def test_a_study_may_be_given_by_its_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("toolkit.execution.runner.current_model", lambda: MODEL)
    (tmp_path / "small.toml").write_text("[tug]\nbollard_pull = ['30 t', '45 t']\n", encoding="utf-8")
    assert run_study("small.toml", progress=False)["outcome"].sizes == {"bollard_pull": 2}
    assert (tmp_path / "results" / "small.zarr").is_dir()
    with pytest.raises(StudyError, match=r"none\.toml"):
        run_study(tmp_path / "none.toml")


def test_nothing_there_and_no_folder(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="no such store"):
        open_results(tmp_path / "none.zarr")
    (tmp_path / "some.zarr").write_text("text")
    with pytest.raises(StoreError, match="NetCDF"):
        open_results(tmp_path / "some.zarr")
    with pytest.raises(StoreError, match="is a file"):
        serial(study_of(), tmp_path / "some.zarr")


def test_options_that_make_no_sense_are_all_named(path: Path) -> None:
    with pytest.raises(StudyError) as caught:
        run_with(MODEL, study_of(), path, workers=0, scheduler="thread")
    assert len(caught.value.problems) == 2
    assert not path.exists()


def test_progress_counts_cases(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    study = study_of()
    run_partly(study, path, 3)
    done = int((open_results(path)["outcome"].values != 0).sum())
    run_with(MODEL, study, path, progress=True)
    shown = capsys.readouterr().err
    assert f"{done}/{study.size}" in shown and f"{study.size}/{study.size}" in shown
