"""What goes wrong around a command - disk, clock, stop, names, locale: nothing is lost, and words say what to do.

Runs that are killed, two runs on one store, and stores that vanish or fill up under a run are in
`test_store_interrupted.py`, `test_store_killed.py` and `tests/unit/test_execution_mending.py`.
"""

from __future__ import annotations

import contextlib
import json
import locale
import os
import resource
import signal
import time
from collections.abc import Iterator
from pathlib import Path
from types import FrameType

import numpy as np
import pytest
import xarray as xr

from tests.fake_engine import MODEL
from toolkit.cli import main
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.progress import Pace
from toolkit.execution.rates import FILE, last_rate
from toolkit.execution.results import open_results
from toolkit.execution.whole import whole, write_whole

STUDY = """
title = "Marrowby Basin, faults"
[tug]
bollard_pull = ["10 t", "30 t", "60 t"]
[environment]
wind_speed = ["0 kn", "7.5 kn", "20 kn"]
wind_from = ["from 60 deg", "from 240.5 deg"]
[manoeuvre]
manoeuvre = ["swing_pull", "swing_push"]
[limits]
time_to_turn = "5 min"
[run]
cases_per_chunk = 4
"""
FEW_FIGURES = """
title = "Marrowby Basin, faults, small"
[tug]
bollard_pull = ["10 t", "30 t"]
[environment]
wind_speed = ["0 kn", "20 kn"]
"""
WHERE = Path("results", "basin.zarr")


@pytest.fixture(autouse=True)
def study(monkeypatch: pytest.MonkeyPatch) -> Path:
    """A study in the working folder, run by formulas in place of the engine, with small figures."""
    for module in ("runner", "records"):
        monkeypatch.setattr(f"toolkit.execution.{module}.current_model", lambda: MODEL)
    monkeypatch.setattr("toolkit.figures.style.DOTS_PER_INCH", 30)
    path = Path("basin.toml")
    path.write_text(STUDY, encoding="utf-8")
    return path


def towage(*words: object) -> int:
    return main([str(word) for word in words])


def run(*words: object) -> int:
    return towage("run", "basin.toml", "--no-progress", *(words or ("--serial",)))


def assert_same(found: xr.Dataset, wanted: xr.Dataset) -> None:
    for name in RESULT_NAMES:
        assert np.array_equal(found[name].values, wanted[name].values, equal_nan=True), name


def left_behind(folder: Path) -> list[str]:
    """Files below a folder that are not whole, or were to be renamed."""
    found = []
    for file in folder.rglob("*"):
        ends = {".png": b"IEND\xaeB`\x82", ".svg": b"</svg>", ".html": b"</html>"}.get(file.suffix, b"")
        if file.is_file() and (".partial" in file.name or not file.read_bytes().rstrip().endswith(ends)):
            found.append(file.name)
    return found


@contextlib.contextmanager
def room_for(size: int) -> Iterator[None]:
    """No file can grow beyond so many bytes: to whoever writes, a disk that is full."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.parametrize(
    "words",
    [
        pytest.param(("envelope", WHERE, "--output", "out"), marks=pytest.mark.slow),
        ("export", WHERE, "--netcdf", "out/all.nc"),
        ("export", WHERE, "--csv", "out/all.csv"),
        pytest.param(("requirement", WHERE, "--output", "out"), marks=pytest.mark.slow),
        pytest.param(("report", WHERE, "--user", "consultant", "--histories", 0, "--output", "out/report.html"),
                     marks=pytest.mark.slow),
    ],
)  # fmt: skip
def test_a_disk_that_is_full_leaves_with_three_and_nothing_half_written(
    words: tuple[object, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    Path("basin.toml").write_text(FEW_FIGURES, encoding="utf-8")
    assert run() == 0
    capsys.readouterr()
    with room_for(3000):
        assert towage(*words) == 3
    said = capsys.readouterr().err
    assert "cannot be written" in said and "File too large" in said and "folder" in said
    assert left_behind(Path("out")) == []
    assert towage(*words) == 0  # once there is room, the same command does it
    assert left_behind(Path("out")) == []


def test_what_was_there_stays_where_the_new_file_cannot_be_written(tmp_path: Path) -> None:
    place = tmp_path / "table.md"
    write_whole(place, "as it was")
    with room_for(100), pytest.raises(OSError, match="File too large"):
        write_whole(place, "x" * 1000)
    with pytest.raises(KeyboardInterrupt), whole(place) as partial:
        partial.write_text("half of", encoding="utf-8")
        raise KeyboardInterrupt
    assert place.read_text(encoding="utf-8") == "as it was"
    assert {file.name for file in tmp_path.iterdir()} == {"table.md", "basin.toml"}


def _ring(_: int, __: FrameType | None) -> None:
    raise KeyboardInterrupt


@contextlib.contextmanager
def stopped_after(seconds: float) -> Iterator[None]:
    """Ctrl-C after a while, wherever the program is then."""
    before = signal.signal(signal.SIGALRM, _ring)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)


@pytest.mark.slow
@pytest.mark.parametrize("scheduler", [("--serial",), ("--workers", 2)])
def test_a_stop_at_any_moment_of_a_run_loses_no_block(scheduler: tuple[object, ...]) -> None:
    began = time.perf_counter()
    assert run("--serial", "--store", "whole.zarr") == 0  # and everything is imported
    lasts = time.perf_counter() - began
    done, codes = 0, []
    for moment in np.linspace(0.02, 0.9, 6) * lasts:
        with contextlib.suppress(KeyboardInterrupt), stopped_after(float(moment)):  # at the very end it is not ours
            codes.append(run(*scheduler))
        if WHERE.exists():
            now = open_results(WHERE).attrs["blocks_done"]
            assert now >= done
            done = now
    assert set(codes) <= {0, 130} and 130 in codes
    assert run() == 0
    assert_same(open_results(WHERE), open_results("whole.zarr"))
    assert {file.name for file in WHERE.parent.iterdir()} == {WHERE.name}


@pytest.mark.slow
def test_a_stop_at_any_moment_of_drawing_leaves_whole_files(capsys: pytest.CaptureFixture[str]) -> None:
    Path("basin.toml").write_text(FEW_FIGURES, encoding="utf-8")
    assert run() == 0
    began = time.perf_counter()
    assert towage("envelope", WHERE, "--output", "all") == 0
    lasts = time.perf_counter() - began
    for moment in np.linspace(0.05, 0.95, 5) * lasts:
        with contextlib.suppress(KeyboardInterrupt), stopped_after(float(moment)):
            assert towage("envelope", WHERE, "--output", "out") in (0, 130)
        assert not Path("out").exists() or left_behind(Path("out")) == []
    assert "Stopped." in capsys.readouterr().err


def test_a_clock_that_jumps_back_breaks_neither_run_nor_rate_nor_provenance(monkeypatch: pytest.MonkeyPatch) -> None:
    import datetime

    days = iter(range(10_000))
    real = time.time

    class Back(datetime.datetime):
        """A day earlier at every look."""

        @classmethod
        def now(cls, tz: datetime.tzinfo | None = None) -> datetime.datetime:
            return datetime.datetime(2026, 3, 1, tzinfo=tz) - datetime.timedelta(days=next(days))

    monkeypatch.setattr("toolkit.execution.rates.SHORTEST", 0.0)
    monkeypatch.setattr(time, "time", lambda: real() - 86400.0 * next(days))
    monkeypatch.setattr("toolkit.execution.provenance.datetime", Back)
    assert run() == 0
    rate = last_rate()
    assert rate is not None and 0.0 < rate.cases_per_second < 1e9 and rate.recorded.startswith("202")
    found = open_results(WHERE)
    assert found.attrs["blocks_done"] == found.attrs["blocks"]
    assert towage("check", "basin.toml") == 0
    monkeypatch.undo()
    pace = Pace(1)
    for now in (100.0, 50.0, 40.0):
        pace.add(10, now)
    assert pace.rate is None  # nothing is told, rather than something below nothing


@pytest.mark.parametrize(
    "content",
    ["", "[]", "{", "null", '{"cases_per_second": 1}', *(
        json.dumps({"cases_per_second": rate, "simulated_per_second": rate, "cases": 1, "workers": 1,
                    "model_hash": MODEL.hash, "recorded": "2026"})
        for rate in (0.0, -1.0, float("nan"), float("inf"), "fast", None, [], True, 10**400)
    )],
)  # fmt: skip
def test_a_rate_that_cannot_be_one_is_not_told(content: str, capsys: pytest.CaptureFixture[str]) -> None:
    folder = Path(os.environ["TOWAGE_CACHE_DIR"])
    (folder / FILE).write_text(content, encoding="utf-8")
    assert towage("check", "basin.toml") == 0
    assert last_rate() is None
    assert "Time: unknown until a first run" in capsys.readouterr().out


@pytest.mark.slow
def test_names_that_are_not_ascii_and_paths_that_are_long(capsys: pytest.CaptureFixture[str]) -> None:
    folder = Path("Hafenbecken Süd – 港湾 ⚓", *["a" * 200] * 4)
    folder.mkdir(parents=True)
    store, study = folder / "schlepper é.zarr", folder / "Übung ü.toml"
    study.write_text(STUDY.replace("Marrowby", "Márrowby ⚓"), encoding="utf-8")
    assert towage("run", study, "--serial", "--no-progress", "--store", store) == 0
    assert towage("export", store, "--netcdf", folder / "é.nc", "--csv", folder / "é.csv") == 0
    assert open_results(folder / "é.nc").attrs["title"] == "Márrowby ⚓ Basin, faults"
    assert_same(open_results(folder / "é.nc"), open_results(store))
    capsys.readouterr()
    for too_long in ("b" * 300, "/".join(["c" * 250] * 20)):
        assert run("--serial", "--store", f"{too_long}.zarr") == 3
        assert "File name too long" in capsys.readouterr().err
        assert towage("check", f"{too_long}.toml") == 2
        assert towage("envelope", f"{too_long}.zarr") == 3
        assert towage("envelope", store, "--output", too_long) == 3


COMMA = ("de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "nl_NL.UTF-8", "nb_NO.UTF-8")


@pytest.fixture
def comma(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A locale with decimal commas; where none is installed, one that says it has them to whoever asks."""
    monkeypatch.setenv("LC_ALL", COMMA[0])
    before = locale.setlocale(locale.LC_ALL)
    for name in COMMA:
        with contextlib.suppress(locale.Error):
            locale.setlocale(locale.LC_ALL, name)
            break
    else:
        signs: dict[str, object] = {
            **locale.localeconv(),
            "decimal_point": ",",
            "thousands_sep": ".",
            "grouping": [3, 0],
        }
        monkeypatch.setattr(locale, "localeconv", signs.copy)
    yield
    locale.setlocale(locale.LC_ALL, before)


def test_decimal_commas_of_a_locale_change_nothing(comma: None, capsys: pytest.CaptureFixture[str]) -> None:
    assert run() == 0
    assert open_results(WHERE)["wind_speed"].values[1] == pytest.approx(7.5 * 1852.0 / 3600.0, rel=1e-12)
    assert open_results(WHERE)["wind_from"].values[1] == 240.5
    assert towage("export", WHERE, "--csv", "all.csv") == 0
    table = np.genfromtxt("all.csv", delimiter=",", skip_header=1, usecols=(0, 1))
    assert np.isfinite(table).all()
    assert towage("check", "basin.toml") == 0
    assert "7.5 kn" in capsys.readouterr().out


def test_a_worker_that_dies_in_a_thread_ends_the_run_in_words(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def without_memory(columns: object) -> dict[str, object]:
        raise MemoryError("Unable to allocate 9 GiB")

    monkeypatch.setattr("toolkit.execution.runner.current_model", lambda: MODEL._replace(evaluate=without_memory))
    assert run("--workers", 2) in (1, 3)
    said = capsys.readouterr().err
    assert "Traceback" not in said and "allocate" in said
    monkeypatch.setattr("toolkit.execution.runner.current_model", lambda: MODEL)
    assert run() == 0
