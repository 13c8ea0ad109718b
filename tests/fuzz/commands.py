"""The command on mutated studies, weather records and stores: it ends in words, and leaves nothing half-written."""

from __future__ import annotations

import contextlib
import io
import json
import os
import shutil
import sys
import tempfile
import traceback
import warnings
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np
import pandas as pd
import xarray as xr

from tests.fake_engine import MODEL, evaluate
from tests.fuzz.texts import mutate_bytes, mutate_json, mutate_record, mutate_study
from tests.fuzz.watch import watched
from toolkit.cli import main
from toolkit.errors import StudyError
from toolkit.execution.attributes import RESULT_NAMES
from toolkit.execution.results import open_results
from toolkit.study import load_study

__all__ = ["Tally", "fuzz_commands"]


def _by_formulas(columns: dict[str, Any], setting: object = None) -> dict[str, Any]:
    """Outcomes by formulas, whatever edges and legs there are."""
    return evaluate(columns)


FORMULAS = MODEL._replace(evaluate=_by_formulas)
DOCUMENTED = (0, 2, 3)
"""Exit codes that may follow on bad input; 1 is for what nobody foresaw."""
SECONDS_PER_COMMAND = 120.0
MOST_CASES = 400
"""Cases up to which a mutated study that is still legal is run."""
VERBS = {"export": 0.5, "envelope": 0.1, "report": 0.1, "requirement": 0.1, "compare": 0.1, "operability": 0.1}
"""Verbs that read a mutated store, each with its share; those that draw take seconds."""
HALF = (".tmp", ".part", ".partial", ".old")

STUDY = """\
title = "Marrowby Basin, small"
seed = 3
[tug]
bollard_pull = ["10 t", "30 t", "60 t"]
power_setting = "50 percent"
[barge]
displacement = "454 t"
loading = "80 percent"
[towline]
line_length = "20 m"
[environment]
wind_speed = ["0 kn", "20 kn"]
wind_from = { from = "0 deg", to = "180 deg", count = 2 }
current_to = "to 90 deg"
basin_radius = "110 m"
[manoeuvre]
manoeuvre = ["swing_pull", "swing_push"]
target_angle = "180 deg"
time_limit = "10 min"
[limits]
peak_heel_fraction = "67 percent"
time_to_turn = "5 min"
overshoot = "off"
[run]
cases_per_chunk = 8
"""

JOB = """\
title = "Marrowby Basin, a job"
[tug]
bollard_pull = { from = "10 t", to = "60 t" }
[environment]
wind_speed = { from = "0 kn", to = "20 kn" }
[basin]
edge = [["200 m", "200 m"], ["200 m", "-200 m"], ["-200 m", "-200 m"], ["-200 m", "200 m"]]
shoals = [[["150 m", "150 m"], ["150 m", "180 m"], ["180 m", "150 m"]]]
berth = [["-100 m", "150 m"], ["100 m", "150 m"]]
[[leg]]
manoeuvre = "tow_ahead"
tow_distance = "60 m"
[[leg]]
manoeuvre = "swing_push"
target_angle = "90 deg"
[design]
kind = "sobol"
samples = 16
"""


@dataclass
class Tally:
    """What was mutated and how it ended."""

    ended: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)


def fuzz_commands(
    count: int, seed: int, kinds: tuple[str, ...] = ("study", "record", "store"), first: int = 0
) -> Tally:
    """Hand the command so many mutated files.

    Parameters
    ----------
    count : int
        Mutations, shared out evenly over `kinds`; formulas stand in for the engine.
    seed : int
    kinds : tuple of str
        Out of ``study``, ``record``, ``store``.
    first : int
        Number of the first mutation, to see one again.

    Returns
    -------
    Tally
        Counts by kind and exit code; `wrong` says which seeds broke what.
    """
    tally = Tally()
    with tempfile.TemporaryDirectory(prefix="towage-fuzz-") as folder, _at_work(Path(folder)):
        _make_ground(Path(folder))
        for number in range(first, first + count):
            kind = kinds[number % len(kinds)]
            draw = np.random.default_rng([seed, number])
            tally.wrong += [f"{kind} {seed}/{number}: {words}" for words in MUTATIONS[kind](draw, tally.ended)]
            if (number - first) % 50 == 49:
                print(f"{number - first + 1} of {count} mutations, {len(tally.wrong)} wrong", file=sys.__stderr__)
    return tally


@contextlib.contextmanager
def _at_work(folder: Path) -> Iterator[None]:
    """In a folder of our own, with formulas in place of the engine, small figures and tracebacks kept."""
    before = Path.cwd()
    with contextlib.ExitStack() as stack:
        for module in ("runner", "records"):
            stack.enter_context(mock.patch(f"toolkit.execution.{module}.current_model", lambda: FORMULAS))
        for module in ("style", "card"):
            stack.enter_context(mock.patch(f"toolkit.figures.{module}.DOTS_PER_INCH", 30))
        settings = {"TOWAGE_DEBUG": "1", "TOWAGE_CACHE_DIR": str(folder / "cache"), "MPLBACKEND": "Agg"}
        stack.enter_context(mock.patch.dict(os.environ, settings))
        os.chdir(folder)
        stack.callback(os.chdir, before)
        yield


def _make_ground(folder: Path) -> None:
    """A whole study, record and store to be mutated."""
    (folder / "whole.toml").write_text(STUDY, encoding="utf-8")
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    draw = np.random.default_rng(0)
    time = pd.date_range("2001-01-01", periods=200, freq="1h")
    record = {"wind_speed": draw.gamma(2.0, 4.0, 200).round(1), "wind_from": draw.uniform(0, 360, 200).round(0)}
    rows = [f"{t:%Y-%m-%dT%H:%MZ},{v},{d}" for t, v, d in zip(time, *record.values(), strict=True)]
    (folder / "whole.csv").write_text("\n".join(["time,wind_speed [kn],wind_from [deg]", *rows]), encoding="utf-8")
    dataset = xr.Dataset({name: ("time", values) for name, values in record.items()}, coords={"time": time})
    dataset["wind_speed"].attrs["units"], dataset["wind_from"].attrs["units"] = "m s-1", "degree"
    dataset.to_netcdf(folder / "whole.nc")
    for words in (["run", "whole.toml", "--serial", "--no-progress"],
                  ["export", "results/whole.zarr", "--netcdf", "results/whole.nc"]):  # fmt: skip
        code, said = _call(words)
        if code:
            raise AssertionError(said)


def _call(words: list[str]) -> tuple[int | str, str]:
    """Exit code of the command, or a traceback, and what it said."""
    out, err = io.StringIO(), io.StringIO()
    with (
        watched(SECONDS_PER_COMMAND, " ".join(words)),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        warnings.catch_warnings(),
    ):
        try:
            code: int | str = main(words)
        except SystemExit as leaving:
            code = leaving.code if isinstance(leaving.code, int) else 1
        except BaseException:
            code = traceback.format_exc(limit=-6)
    return code, err.getvalue()


def _judged(
    words: list[str], ended: Counter[str], kind: str, output: Path | None = None
) -> tuple[int | str, list[str]]:
    """Call the command and say what is wrong with how it ended."""
    code, said = _call(words)
    ended[f"{kind}: {words[0]} {code if isinstance(code, int) else 'broke'}"] += 1
    if isinstance(code, str):
        return code, [f"towage {' '.join(words)} broke:\n{code}"]
    told = []
    if code not in DOCUMENTED:
        told.append(f"towage {' '.join(words)} left with {code}: {said[:300]}")
    if code and len(said.strip()) < 20:
        told.append(f"towage {' '.join(words)} left with {code} and said only {said!r}")
    if output is not None:
        told += [f"towage {' '.join(words)} ({code}) left {name} half-written" for name in _half_written(output)]
    return code, told


def _half_written(folder: Path) -> list[str]:
    """Files below a folder that are not whole."""
    found = []
    for file in folder.rglob("*") if folder.is_dir() else []:
        if not file.is_file() or any(part.endswith(".zarr") for part in file.parts):
            continue
        content = file.read_bytes()
        whole = {
            ".png": content.endswith(b"IEND\xaeB`\x82"),
            ".html": content.rstrip().endswith(b"</html>"),
            ".svg": content.rstrip().endswith(b"</svg>"),
        }.get(file.suffix, bool(content))
        if not whole or file.suffix in HALF:
            found.append(str(file))
    return found


def _study(draw: np.random.Generator, ended: Counter[str]) -> list[str]:
    """A mutated study: checked, and run where it is still legal."""
    base = Path("whole.toml" if draw.random() < 0.6 else "job.toml")
    place = Path("mutated.toml")
    place.write_bytes(mutate_study(draw, base.read_bytes()))
    code, told = _judged(["check", str(place)], ended, "study")
    legal = _size(place)
    if (code == 0) != (legal is not None):
        told.append(f"check left with {code}, and the study is {'refused' if legal is None else 'legal'}")
    store = Path("out", "mutated.zarr")
    if legal is None or legal <= MOST_CASES:
        code, more = _judged(["run", str(place), "--serial", "--no-progress", "--store", str(store)], ended, "study")
        told += more
        if (code == 0) != store.exists() or (code == 0) != (legal is not None):
            told.append(f"run left with {code}, and the store is {'there' if store.exists() else 'not there'}")
        if code == 0 and open_results(store).attrs["blocks_done"] != open_results(store).attrs["blocks"]:
            told.append("run left with 0 before it was done")
    told += [f"{name} was left beside the store" for name in _beside(store)]
    shutil.rmtree("out", ignore_errors=True)
    return told


def _beside(store: Path) -> list[str]:
    return [each.name for each in store.parent.iterdir() if each != store] if store.parent.is_dir() else []


def _size(place: Path) -> int | None:
    try:
        return load_study(place).size
    except StudyError:
        return None


def _record(draw: np.random.Generator, ended: Counter[str]) -> list[str]:
    """A mutated weather record, held against the limit of a whole store."""
    csv = draw.random() < 0.6
    place = Path("mutated.csv" if csv else "mutated.nc")
    content = Path(f"whole{place.suffix}").read_bytes()
    place.write_bytes(mutate_record(draw, content) if csv else mutate_bytes(draw, content))
    at = ["--at", "bollard_pull=30 t", "manoeuvre=swing_pull"]
    words = ["operability", "results/whole.zarr", "--record", str(place), "--output", "out", *at]
    _, told = _judged([*words, "--times-in", "UTC"], ended, "record", Path("out"))
    shutil.rmtree("out", ignore_errors=True)
    return told


def _store(draw: np.random.Generator, ended: Counter[str]) -> list[str]:
    """A mutated store: read by a verb that draws, and gone on with by a run."""
    place = Path("mutated.zarr")
    shutil.copytree("results/whole.zarr", place)
    told: list[str] = []
    try:
        _spoil(draw, place)
        verb = str(draw.choice(list(VERBS), p=list(VERBS.values())))
        words = {
            "envelope": ["envelope", str(place), "--output", "out"],
            "report": ["report", str(place), "--user", str(draw.choice(["port_authority", "consultant", "researcher"])),
                       "--histories", "0", "--output", "out/report.html"],
            "export": ["export", str(place), "--csv", "out/all.csv", "--netcdf", "out/all.nc"],
            "requirement": ["requirement", str(place), "--output", "out"],
            "compare": ["compare", str(place), "--output", "out"],
            "operability": ["operability", str(place), "--record", "whole.csv", "--output", "out", "--at",
                            "bollard_pull=30 t", "manoeuvre=swing_pull"],
        }[verb]  # fmt: skip
        if verb == "export":
            Path("out").mkdir()
        told += _judged(words, ended, "store", Path("out"))[1]
        again = ["run", "whole.toml", "--serial", "--no-progress", "--store", str(place)]
        again += ["--verify"] if draw.random() < 0.5 else []
        code, more = _judged(again, ended, "store")
        told += more
        if code == 0:
            told += _other_numbers(place, verified="--verify" in again)
    finally:
        for left in (place, Path("out")):
            shutil.rmtree(left, ignore_errors=True)
            left.unlink(missing_ok=True)
    return told


def _other_numbers(place: Path, *, verified: bool) -> list[str]:
    """Results of a store that was gone on with which differ from those of the whole one."""
    whole = open_results("results/whole.zarr")
    try:
        found = open_results(place).load()
    except Exception as error:
        # without --verify a run trusts the marks of blocks; whoever reads them is told
        return [] if not verified and type(error).__name__ == "StoreError" else [f"run left with 0, then: {error!r}"]
    return [
        f"run left with 0, and {name} is another"
        for name in RESULT_NAMES
        if name not in found or not np.array_equal(found[name].values, whole[name].values, equal_nan=True)
    ]


def _spoil(draw: np.random.Generator, place: Path) -> None:
    """Change, cut, delete or replace some of the files of a store, or what its attributes say."""
    files = sorted(file for file in place.rglob("*") if file.is_file())
    documents = [file for file in files if file.name == "zarr.json"]
    for _ in range(1 + int(draw.exponential(0.7))):
        chance, file = draw.random(), files[int(draw.integers(len(files)))]
        document = documents[int(draw.integers(len(documents)))] if chance < 0.6 else file
        if not file.is_file() or not document.is_file():
            continue
        if chance < 0.2:
            _respell(draw, place / "zarr.json")
        elif chance < 0.4:
            document.write_bytes(mutate_json(draw, document.read_bytes()))
        elif chance < 0.8:
            document.write_bytes(mutate_bytes(draw, document.read_bytes()))
        elif chance < 0.9:
            file.unlink()
        elif chance < 0.95:
            shutil.rmtree(file.parent)
        else:
            file.unlink()
            file.mkdir()
        if not place.exists():
            return


def _respell(draw: np.random.Generator, document: Path) -> None:
    """Another value in one of the attributes of the whole store."""
    try:
        content = json.loads(document.read_bytes())
        attributes = content["attributes"]
        name = str(draw.choice(sorted(attributes)))
        if draw.random() < 0.3:
            del attributes[name]
        elif draw.random() < 0.5 and isinstance(attributes[name], str):
            attributes[name] = mutate_json(draw, attributes[name].encode()).decode("utf-8", "replace")
        else:
            odd = [None, 7, -1.5, "", "x" * 9999, [], {}, "{}", "[]", "null", "<script>alert(1)</script>", True]
            attributes[name] = odd[int(draw.integers(len(odd)))]
        document.write_text(json.dumps(content), encoding="utf-8")
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        document.unlink(missing_ok=True)


MUTATIONS = {"study": _study, "record": _record, "store": _store}
