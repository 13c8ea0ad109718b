"""The compiled kernel: the plain functions' numbers, the same bits wherever a case runs, wide instructions."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.many_cases import many_cases
from toolkit.kernels import cache_folder, compiled
from toolkit.motion.batch import rates_of_lanes
from toolkit.motion.engine import evaluate_columns, queues, run_prepared
from toolkit.motion.lanes import Lanes, OrderRecord, record_orders
from toolkit.motion.layout import LANES, MEMORY_ROW, PARAMETER_ROW, STATE_ROW
from toolkit.motion.prepare import Prepared, prepare

TOLERANCE = 1e-12
"""Of compiled against plain numbers, over the largest of a row: both do the same operations in the same order."""

Array = NDArray[np.float64]


@pytest.fixture(scope="module")
def prepared() -> Prepared:
    return prepare(many_cases(LANES, seed=5, time_limit=240.0))


@pytest.fixture(scope="module")
def record(prepared: Prepared) -> OrderRecord:
    return record_orders(prepared)


def ticks_under_load(prepared: Prepared, record: OrderRecord) -> list[list[int]]:
    """Ticks of each case at which line or fender bears a load."""
    lanes = Lanes(prepared, range(LANES), 10)
    ticks: list[list[int]] = [[] for _ in range(LANES)]
    for tick in range(max(len(orders) for orders in record.orders)):
        running = [k for k in range(LANES) if tick < len(record.orders[k])]
        for k in running:
            lanes.state[:, k] = record.states[k][tick]
        lanes.weigh()
        for k in running:
            if lanes.report[:2, k].max() > 0.0:
                ticks[k].append(tick)
    return ticks


def pair_of_lanes(prepared: Prepared, record: OrderRecord, seed: int) -> tuple[Lanes, Lanes]:
    """Compiled and plain lanes in one and the same state: somewhere along a run, then shaken."""
    draw = np.random.default_rng(seed)
    fast, plain = (Lanes(prepared, range(LANES), 10, plain=plain) for plain in (False, True))
    shake = np.zeros(len(STATE_ROW))
    shake[[STATE_ROW.barge_surge, STATE_ROW.barge_sway, STATE_ROW.tug_surge, STATE_ROW.tug_sway]] = 0.3
    shake[[STATE_ROW.barge_yaw, STATE_ROW.tug_yaw, STATE_ROW.heel, STATE_ROW.heel_rate]] = 0.02
    shake[[STATE_ROW.tug_north, STATE_ROW.tug_east]] = 0.01
    loaded = ticks_under_load(prepared, record)
    for k in range(LANES):
        tick = int(draw.choice(loaded[k] if k % 3 and loaded[k] else range(len(record.orders[k]))))
        state = record.states[k][tick] + shake * draw.standard_normal(len(STATE_ROW))
        for lanes in (fast, plain):
            lanes.state[:, k] = state
            lanes.orders[:, k] = record.orders[k][tick]
            lanes.memory[MEMORY_ROW.time, k] = 0.5 * tick
            lanes.memory[MEMORY_ROW.phase, k] = k // 4 % 5  # `k % 4` is the way of lying
            lanes.memory[MEMORY_ROW.hand, k] = 1.0 if k < LANES // 2 else -1.0
            lanes.memory[MEMORY_ROW.first_taut, k] = 0.0
    return fast, plain


def assert_alike(found: Array, wanted: Array) -> None:
    assert np.isfinite(wanted).all()
    apart, size = np.abs(found - wanted).max(axis=1), np.abs(wanted).max(axis=1)
    assert (apart <= TOLERANCE * size).all(), np.flatnonzero(apart > TOLERANCE * size)


@pytest.mark.parametrize("seed", range(4))
def test_right_hand_side_looks_and_log_are_those_of_the_plain_functions(
    prepared: Prepared, record: OrderRecord, seed: int
) -> None:
    fast, plain = pair_of_lanes(prepared, record, seed)
    for lanes in (fast, plain):
        lanes.weigh()
    assert_alike(fast.rates, plain.rates)
    assert_alike(fast.report, plain.report)
    assert (plain.report[:2] > 0.0).any(axis=1).all(), "some lines are taut and some fenders pressed"

    before = plain.memory.copy()
    for lanes in (fast, plain):
        for k in range(LANES):
            lanes.look(k)
    assert_alike(fast.memory, plain.memory)
    assert_alike(fast.orders, plain.orders)
    pending = slice(MEMORY_ROW.pending_thrust_starboard, MEMORY_ROW.pending_port_sine + 1)
    assert (plain.memory[pending] != before[pending]).any(axis=0).all(), "every lane looked"

    for lanes in (fast, plain):
        for k in range(LANES):
            lanes.note(k)
    assert_alike(fast.memory, plain.memory)
    assert (plain.memory[MEMORY_ROW.ticks] == 1.0).all()


def test_steps_and_looks_in_turn_are_those_of_the_plain_functions(prepared: Prepared) -> None:
    fast, plain = (Lanes(prepared, range(LANES), 5, plain=plain) for plain in (False, True))
    for lanes in (fast, plain):
        lanes.weigh()
        for _ in range(6):
            for k in range(LANES):
                lanes.look(k)
            lanes.integrate()
            for k in range(LANES):
                lanes.note(k)
    assert_alike(fast.state, plain.state)
    assert_alike(fast.memory, plain.memory)
    assert (plain.state[STATE_ROW.thrust_port] > 0.0).sum() >= LANES // 2


def test_lanes_driven_from_python_do_what_the_batch_does_to_the_last_bit(
    prepared: Prepared, record: OrderRecord
) -> None:
    memories, finals = run_prepared(prepared)
    assert np.array_equal(memories, record.memories)
    assert np.array_equal(finals, record.finals)


@pytest.fixture(scope="module")
def forty() -> dict[str, NDArray[Any]]:
    """Cases of several steps and lengths, more than one set of lanes of each way of lying."""
    columns = many_cases(40, seed=9, time_limit=90.0)
    columns["time_limit"] = np.random.default_rng(2).uniform(20.0, 120.0, 40)
    assert len(np.unique(prepare(columns).parameters[PARAMETER_ROW.steps_per_tick])) > 1
    return columns


@pytest.fixture(scope="module")
def outcomes_of_forty(forty: dict[str, NDArray[Any]]) -> dict[str, NDArray[Any]]:
    return evaluate_columns(forty)


def test_cases_of_the_most_steps_come_first_and_those_aground_not_at_all(forty: dict[str, NDArray[Any]]) -> None:
    columns = forty | {"water_depth": np.where(np.arange(40) % 7 == 0, 0.5, forty["water_depth"])}
    prepared = prepare(columns)
    assert prepared.aground.any()
    steps, codes = prepared.parameters[PARAMETER_ROW.steps_per_tick], columns["manoeuvre"]
    waiting = queues(prepared)
    assert set(waiting) == set(codes[~prepared.aground].tolist())
    assert sorted(np.concatenate(list(waiting.values()))) == np.flatnonzero(~prepared.aground).tolist()
    for code, cases in waiting.items():
        assert (codes[cases] == code).all()
        assert (np.diff(steps[cases]) <= 0.0).all()
    for cases in queues(prepared, as_they_are=True).values():
        assert (np.diff(cases) > 0).all()


def assert_same_bits(forty: dict[str, NDArray[Any]], whole: dict[str, NDArray[Any]], cases: NDArray[np.int64]) -> None:
    part = evaluate_columns({name: values[cases] for name, values in forty.items()})
    for name, values in whole.items():
        assert np.array_equal(part[name], values[cases], equal_nan=values.dtype.kind == "f"), name


@pytest.mark.parametrize("first", range(5))
def test_same_bits_in_any_order(
    forty: dict[str, NDArray[Any]], outcomes_of_forty: dict[str, NDArray[Any]], first: int
) -> None:
    assert_same_bits(forty, outcomes_of_forty, np.random.default_rng(first).permutation(40))


@pytest.mark.parametrize("size", [1, 2, LANES - 1, LANES, LANES + 1])
def test_same_bits_in_a_batch_of_any_size(
    forty: dict[str, NDArray[Any]], outcomes_of_forty: dict[str, NDArray[Any]], size: int
) -> None:
    for first in range(0, 40, max(size, 8)):
        assert_same_bits(forty, outcomes_of_forty, np.arange(first, min(first + size, 40)))


@pytest.mark.parametrize("case", range(4))
def test_same_bits_in_every_lane_and_beside_any_neighbour(
    forty: dict[str, NDArray[Any]], outcomes_of_forty: dict[str, NDArray[Any]], case: int
) -> None:
    """A case among copies of another one, in each lane in turn."""
    crowd = np.full(2 * LANES + 1, 39 - case)
    crowd[::2] = case
    assert_same_bits(forty, outcomes_of_forty, crowd)
    assert_same_bits(forty, outcomes_of_forty, crowd[1:])


def test_a_case_that_goes_astray_leaves_its_neighbours_alone(
    forty: dict[str, NDArray[Any]], outcomes_of_forty: dict[str, NDArray[Any]]
) -> None:
    broken = {name: np.repeat(values, 2) for name, values in forty.items()}
    broken["wind_speed"][::2] = np.inf
    with np.errstate(invalid="ignore"):
        found = evaluate_columns(broken)
    assert (found["outcome"][::2] != outcomes_of_forty["outcome"]).all()
    for name, values in outcomes_of_forty.items():
        assert np.array_equal(found[name][1::2], values, equal_nan=values.dtype.kind == "f"), name


def test_cache_folder_is_its_owners_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TOWAGE_CACHE_DIR", str(tmp_path / "kernels"))
    folder = cache_folder()
    assert folder.parent == tmp_path / "kernels"
    assert folder.stat().st_mode & 0o777 == 0o700
    folder.chmod(0o755)
    assert cache_folder() == folder
    assert folder.stat().st_mode & 0o777 == 0o700, "one that stood open is shut"


HASHES = """
import sys
from pathlib import Path

def name_of_the_folder():
    for name in [name for name in sys.modules if name.split(".")[0] == "toolkit"]:
        del sys.modules[name]
    import linecache
    linecache.clearcache()
    import toolkit.motion.batch
    from toolkit.kernels import _REGISTRY, cache_folder
    return cache_folder().name, sorted({function.__module__ for function in _REGISTRY} | {"toolkit.kernels"})

sys.dont_write_bytecode = True
first, modules = name_of_the_folder()
print("modules", len(modules))
for module in modules:
    path = Path(*module.split(".")).with_suffix(".py")
    text = path.read_text()
    path.write_text(text + "\\nADDED_AT_THE_END = 1.0\\n")
    print(module, name_of_the_folder()[0] != first)
    path.write_text(text)
print("back", name_of_the_folder()[0] == first)
"""


@pytest.mark.slow
def test_cache_folder_has_another_name_when_any_kernel_is_edited(tmp_path: Path, repository: Path) -> None:
    """numba's own cache looks at the file of the outermost function alone."""
    shutil.copytree(repository / "toolkit", tmp_path / "toolkit", ignore=shutil.ignore_patterns("__pycache__"))
    run = subprocess.run(
        [sys.executable, "-c", HASHES],
        cwd=tmp_path,
        env={"TOWAGE_CACHE_DIR": str(tmp_path / "kernels"), "PYTHONPATH": str(tmp_path), "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    lines = run.stdout.splitlines()
    count = int(lines[0].split()[1])
    assert count >= 12
    assert [line for line in lines[1:] if not line.endswith("True")] == []
    assert len(lines) == count + 2


def test_what_is_not_registered_is_not_compiled() -> None:
    with pytest.raises(KeyError, match="not marked as a kernel"):
        compiled(many_cases)


def wide_registers() -> set[str]:
    """By which of its instructions this processor works on four or eight numbers of double precision at once."""
    from llvmlite import binding

    features = binding.get_host_cpu_features()
    return {name for name in ("avx2", "avx512f") if features.get(name, False)}


def test_right_hand_side_of_all_lanes_is_vector_code(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if not wide_registers():
        pytest.skip("this processor has neither AVX2 nor AVX-512: there are no wide registers to use")
    import numba

    if tuple(int(part) for part in numba.__version__.split(".")[:2]) < (0, 68):
        pytest.skip("numba older than 0.68 gives the same numbers, but was seen (0.60) not to make vector code of this")
    # numba shows the assembly of what it has compiled itself, not of what it has loaded
    monkeypatch.setenv("TOWAGE_CACHE_DIR", str(tmp_path / "kernels"))
    fast = compiled.__wrapped__(rates_of_lanes)
    lanes = Lanes(prepare(many_cases(1)), [0], 5)
    fast(*lanes.arguments)
    assembly = "\n".join(fast.inspect_asm().values())
    widest = "z" if "avx512f" in wide_registers() else "y"
    for what, least in (("mul|fmadd\\d*|fnmadd\\d*", 400), ("div", 20), ("sqrt", 10)):
        counted = {size: len(re.findall(rf"\bv(?:{what})pd\b.*%{size}mm", assembly)) for size in "xyz"}
        single = len(re.findall(rf"\bv(?:{what})sd\b", assembly))
        assert counted.pop(widest) > least, what
        assert single + sum(counted.values()) == 0, (
            "some lanes, or a part of the right-hand side, are worked one by one"
        )
