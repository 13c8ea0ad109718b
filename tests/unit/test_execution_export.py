from __future__ import annotations

import warnings
from pathlib import Path

import netCDF4
import numpy as np
import pandas as pd
import pytest
import xarray as xr

from tests.fake_engine import MODEL, study_of
from toolkit.errors import StoreError
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.export import export_csv, export_netcdf, notes_beside
from toolkit.execution.records import evaluate_with
from toolkit.execution.results import open_results
from toolkit.execution.runner import run_with
from toolkit.quantities import REGISTER
from toolkit.quantities.units import format_value


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> xr.Dataset:
    path = tmp_path_factory.mktemp("bassin d'évitage") / "été.zarr"
    return run_with(MODEL, study_of(), path, scheduler="serial")


@pytest.fixture
def table() -> xr.Dataset:
    return evaluate_with(MODEL, {"bollard_pull": [1e5, 2e5], "line_material": ["hmpe", "nylon"], "turn": "port"})


def test_netcdf_comes_back_as_it_went(results: xr.Dataset, tmp_path: Path) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        file = export_netcdf(results, tmp_path / "été" / "résultats.nc")
        with xr.open_dataset(file) as plain:
            xr.testing.assert_equal(plain.load(), results.compute())
        again = open_results(file)
        xr.testing.assert_identical(again.drop_attrs(), results.drop_attrs())
    assert again.attrs == results.attrs
    assert again["outcome"].chunks is not None
    again.close()


def test_netcdf_of_a_table_keeps_words_and_order(table: xr.Dataset, tmp_path: Path) -> None:
    with open_results(export_netcdf(table, tmp_path / "table.nc")) as again:
        xr.testing.assert_identical(again.drop_attrs().compute(), table.drop_attrs())


def test_netcdf_keeps_the_conventions(results: xr.Dataset, tmp_path: Path) -> None:
    file = export_netcdf(results, tmp_path / "a.nc")
    with netCDF4.Dataset(file) as raw:
        assert raw.Conventions == "CF-1.11"
        for name, variable in raw.variables.items():
            attributes = {key: variable.getncattr(key) for key in variable.ncattrs()}
            assert all(value is not None and not isinstance(value, bool) for value in attributes.values())
            assert attributes["long_name"]
            if "units" in attributes:
                format_value(REGISTER[name], 1.0)  # reads the unit
                assert attributes["units"] == (REGISTER[name].unit or "1")
            assert ("units" in attributes) == (variable.dtype is not str)
            for key in ("flag_values", "flag_masks"):
                if key in attributes:
                    assert attributes[key].dtype == variable.dtype
                    assert len(attributes[key]) == len(attributes["flag_meanings"].split())
            if name in RESULT_NAMES and variable.dtype.kind == "f":
                assert variable.filters()["zlib"] and np.isnan(attributes["_FillValue"])
                assert set(attributes["coordinates"].split()) <= set(raw.variables)
            else:
                assert "_FillValue" not in attributes
        for name in raw.dimensions:
            assert not name.startswith("string")


def test_csv_is_one_row_a_case(results: xr.Dataset, tmp_path: Path) -> None:
    frame = pd.read_csv(export_csv(results, tmp_path / "a.csv"))
    assert len(frame) == results["outcome"].size
    assert len(frame.columns) == len(results.variables)
    order = results["outcome"].dims
    flat = results.compute().stack(row=order)
    assert np.array_equal(frame["bollard_pull [N]"], flat["bollard_pull"])
    # pandas' quick reader may miss the last digit; the text has all of them
    assert frame["peak_tension [N]"].to_numpy() == pytest.approx(flat["peak_tension"].values, rel=1e-15, nan_ok=True)
    assert np.array_equal(frame["power_setting [1]"], np.full(len(frame), results.power_setting))
    assert frame["manoeuvre"].tolist() == flat["manoeuvre"].values.tolist()
    assert set(frame["outcome"]) == {"completed", "timed_out"}
    assert np.array_equal(frame["outcome"] == "timed_out", flat["outcome"] == 3)
    assert set(frame["range_flags"].dropna()) <= {"drag_speed line_sag"}


def test_csv_of_many_pieces_is_that_of_one(
    results: xr.Dataset, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = export_csv(results, tmp_path / "whole.csv").read_bytes()
    monkeypatch.setattr("toolkit.execution.export.ROWS_AT_ONCE", 10)
    assert export_csv(results, tmp_path / "pieces.csv").read_bytes() == whole


def test_csv_of_one_case_without_dimensions(results: xr.Dataset, tmp_path: Path) -> None:
    one = results.isel(dict.fromkeys(results.sizes, 0))
    assert len(pd.read_csv(export_csv(one, tmp_path / "one.csv"))) == 1


@pytest.mark.parametrize("export", [export_netcdf, export_csv])
def test_a_file_is_not_overwritten_unasked(export: object, table: xr.Dataset, tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("mine")
    with pytest.raises(StoreError, match="is there already"):
        export(table, file)  # type: ignore[operator]
    assert file.read_text() == "mine"
    export(table, file, overwrite=True)  # type: ignore[operator]
    assert file.read_bytes()[:4] != b"mine"
    beside = {"file.md"} if export is export_csv else set()
    assert {entry.name for entry in tmp_path.iterdir()} == {"file", *beside}


def test_cautions_go_with_a_csv_file(table: xr.Dataset, tmp_path: Path) -> None:
    notes = notes_beside(export_csv(table, tmp_path / "basin.csv"))
    told = notes.read_text(encoding="utf-8")
    for words in ("Girting", "Snap-back", "Screening aid", "FROM", "model hash: fa4e000000000000", "`basin.csv`"):
        assert words in told
    assert "Girting" not in (tmp_path / "basin.csv").read_text(encoding="utf-8")
    (tmp_path / "basin.csv").unlink()
    notes.write_text("mine")
    with pytest.raises(StoreError, match=r"basin\.csv\.md: is there already"):
        export_csv(table, tmp_path / "basin.csv")
    assert [entry.name for entry in tmp_path.iterdir()] == ["basin.csv.md"] and notes.read_text() == "mine"


@pytest.mark.parametrize("export", [export_netcdf, export_csv])
def test_what_cannot_be_written_is_said_and_leaves_nothing(export: object, table: xr.Dataset, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match="cannot be written"):
        export(table, tmp_path / "file" / "a")  # type: ignore[operator]
    with pytest.raises(StoreError, match="is a folder"):
        export(table, tmp_path)  # type: ignore[operator]
    assert [entry.name for entry in tmp_path.iterdir()] == ["file"]


def test_a_foreign_netcdf_file_is_refused(tmp_path: Path) -> None:
    xr.Dataset({"a": 1.0}).to_netcdf(tmp_path / "foreign.nc")
    with pytest.raises(StoreError, match="did not make"):
        open_results(tmp_path / "foreign.nc")
