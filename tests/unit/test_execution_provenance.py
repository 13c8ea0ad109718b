from __future__ import annotations

import json
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from toolkit.execution import provenance as module
from toolkit.execution.rates import FILE, BlockTime, last_rate, record_rate
from toolkit.kernels import cache_root


def made() -> dict[str, object]:
    return module.provenance(title="Marrowby Basin", model_hash="0" * 16, step_rule="none")


def test_time_is_frozen_by_source_date_epoch(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    assert module.timestamp() == "1970-01-02T00:00:00Z"
    assert made() == made()


@pytest.mark.parametrize("frozen", ["", "soon", "99999999999999999999"])
def test_time_is_now_where_it_is_not_frozen(frozen: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", frozen)
    age = datetime.now(tz=UTC) - datetime.fromisoformat(module.timestamp())
    assert timedelta(seconds=-1) <= age < timedelta(minutes=1)


def test_attributes_are_texts_that_name_versions_cautions_and_directions() -> None:
    found = made()
    assert all(isinstance(value, str) and value for value in found.values())
    assert {"numpy", "xarray", "zarr", "dask"} <= json.loads(str(found["package_versions"])).keys()
    for word in ("Girting", "Snap-back", "Screening aid", "pilots", "class"):
        assert word in str(found["cautions"])
    assert "FROM" in str(found["directions"]) and "runs TO" in str(found["directions"])


def test_commit_never_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_git(*args: object, **kwargs: object) -> None:
        raise FileNotFoundError("git")

    monkeypatch.setattr(subprocess, "run", no_git)
    module.commit.cache_clear()
    try:
        assert module.commit() == "unknown"
    finally:
        module.commit.cache_clear()


def test_rate_is_kept_and_not_spoilt_by_blocks_that_waited_for_the_compiler(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("TOWAGE_CACHE_DIR", str(tmp_path / "new"))
    assert last_rate() is None
    waited = [BlockTime(0.0, 40.0, 100, 3e4), BlockTime(0.1, 40.0, 100, 3e4)]
    steady = [BlockTime(40.0 + place, 2.0, 200, 8e4) for place in range(6)]
    record_rate([*steady, *waited], workers=2, model_hash="abc")
    rate = last_rate()
    assert rate is not None and rate.cases == 1200 and rate.model_hash == "abc"
    assert rate.cases_per_second == pytest.approx(200.0)
    assert rate.simulated_per_second == pytest.approx(8e4)


@pytest.mark.parametrize(
    "blocks", [[], [BlockTime(0.0, 60.0, 9, 9e3)], [BlockTime(float(n), 1.0, 9, 9e3) for n in range(10)]]
)
def test_a_short_run_tells_no_rate(blocks: list[BlockTime]) -> None:
    record_rate(blocks, workers=2, model_hash="abc")
    assert last_rate() is None


def test_a_spoilt_rate_is_no_rate() -> None:
    (cache_root() / FILE).write_text('{"cases_per_sec')
    assert last_rate() is None
    (cache_root() / FILE).write_text('{"cases_per_second": 9.0}')  # of an older version
    assert last_rate() is None


def test_nothing_of_the_users_is_where_tests_write(tmp_path_factory: pytest.TempPathFactory) -> None:
    assert cache_root().is_relative_to(tmp_path_factory.getbasetemp())
