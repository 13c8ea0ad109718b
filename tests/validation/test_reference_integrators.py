"""The engine against SciPy's integrators over the same right-hand side: another step, another order, error control.

Orders of the engine's own runs are played back, and both vessels put back to where the engine has them every 30 s:
a tug left to old orders for minutes wanders off from any small difference, which says nothing about the integrator.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.many_cases import WAYS_OF_LYING, many_cases
from tests.one_case import columns_of
from toolkit.motion.convergence import SPAN, TOLERANCE
from toolkit.motion.engine import evaluate_columns, outcomes_of
from toolkit.motion.lanes import OrderRecord, record_orders, replay
from toolkit.motion.prepare import Prepared, prepare
from toolkit.motion.reference import reference_run

pytestmark = pytest.mark.whole

CASES = 2 * WAYS_OF_LYING
NAMES = ("time_to_turn", "peak_heel", "peak_tension", "peak_tension_3s", "peak_contact_force")
COLUMNS = many_cases(
    CASES, seed=4, bollard_pull=30 * 9806.65, displacement=6e5, power_setting=0.5, swing_rate_limit=0.75,
    wind_speed=5.0, current_speed=0.2, target_angle=20.0, time_limit=180.0,
)  # fmt: skip


@pytest.fixture(scope="module")
def prepared() -> Prepared:
    return prepare(COLUMNS)


@pytest.fixture(scope="module")
def record(prepared: Prepared) -> OrderRecord:
    return record_orders(prepared)


def only(prepared: Prepared, case: int) -> tuple[dict[str, Any], Prepared]:
    columns = {name: values[case : case + 1] for name, values in COLUMNS.items()}
    return columns, prepare(columns)


def outcomes_with(prepared: Prepared, record: OrderRecord, case: int, span: int, **options: Any) -> dict[str, Any]:
    """Outcomes of one case under an integrator of SciPy, on the engine's orders."""
    columns, alone = only(prepared, case)
    part = OrderRecord(
        orders=(record.orders[case],), states=(record.states[case],),
        memories=record.memories[:, case : case + 1], finals=record.finals[:, case : case + 1],
    )  # fmt: skip
    found = outcomes_of(columns, alone, *reference_run(alone, part, span, **options))
    return {name: float(found[name][0]) for name in NAMES}


@pytest.mark.parametrize("case", range(CASES))
def test_times_and_peaks_of_every_way_of_lying(prepared: Prepared, record: OrderRecord, case: int) -> None:
    mine = outcomes_of(COLUMNS, prepared, *replay(prepared, record, 1, SPAN))
    fine = outcomes_of(COLUMNS, prepared, *replay(prepared, record, 16, SPAN))
    reference = outcomes_with(prepared, record, case, SPAN)
    assert np.isfinite(reference["peak_tension" if case % 2 == 0 else "peak_contact_force"])
    assert reference["peak_heel"] > 0.1
    for name, wanted in reference.items():
        # as shipped most cases are within TOLERANCE (see the tables of convergence); in fine steps all are, far inside
        assert mine[name][case] == pytest.approx(wanted, rel=4.0 * TOLERANCE, nan_ok=True), name
        # the 3 s mean is added up over steps, however fine, which is what it is short of
        finely = 0.4 if name == "peak_tension_3s" else 0.2
        assert fine[name][case] == pytest.approx(wanted, rel=finely * TOLERANCE, nan_ok=True), name


@pytest.mark.parametrize("method", ["LSODA", "Radau"])
@pytest.mark.parametrize("case", [0, 1])
def test_implicit_methods_agree_with_the_explicit_one(
    prepared: Prepared, record: OrderRecord, method: str, case: int
) -> None:
    short = OrderRecord(
        orders=tuple(orders[:60] for orders in record.orders), states=record.states,
        memories=record.memories, finals=record.finals,
    )  # fmt: skip
    explicit = outcomes_with(prepared, short, case, SPAN, max_step=0.05)
    implicit = outcomes_with(prepared, short, case, SPAN, method=method, rtol=1e-7, atol=1e-7)
    for name, wanted in explicit.items():
        assert implicit[name] == pytest.approx(wanted, rel=2e-4, nan_ok=True), name


@pytest.mark.parametrize("manoeuvre", ["swing_pull", "swing_push"])
def test_whole_runs_with_master_and_helm(manoeuvre: str) -> None:
    """Steered by the same master, another integrator comes to the same swing within what one order can make of it.

    Along the force only: a tug across it magnifies a difference of rounding to one of percents within the swing, so
    that whole runs say nothing there (the replays above do).
    """
    columns = columns_of(manoeuvre=manoeuvre, target_angle=30.0, time_limit=400.0)
    prepared = prepare(columns)
    found = outcomes_of(columns, prepared, *reference_run(prepared, rtol=1e-8, atol=1e-8, samples=4))
    mine = evaluate_columns(columns)
    name = "time_to_turn" if np.isfinite(found["time_to_turn"][0]) else "time_to_steady"  # steady short of the target
    assert found[name][0] > 20.0
    assert mine[name][0] == pytest.approx(found[name][0], rel=0.05)
    assert mine["peak_swing_rate"][0] == pytest.approx(found["peak_swing_rate"][0], rel=0.05)


OTHERS: dict[str, dict[str, Any]] = {
    "tow_ahead": {"line_length": 30.0, "power_setting": 0.3, "tow_distance": 60.0},
    "check_way": {"line_length": 30.0, "start_speed": 1.0},
    "side_push": {"berth_gap": 10.0},
    "hold": {"hold_time": 60.0},
    "walk": {"walk_distance": 20.0},
    "shift": {"station_from": "stern_line", "station_to": "port_quarter"},
}
"""A case of every other manoeuvre."""


@pytest.mark.parametrize("manoeuvre", OTHERS)
def test_every_other_manoeuvre(manoeuvre: str) -> None:
    columns = columns_of(
        manoeuvre=manoeuvre, displacement=6e5, wind_speed=5.0, wind_from=60.0, current_speed=0.2, current_to=100.0,
        time_limit=120.0, **OTHERS[manoeuvre],
    )  # fmt: skip
    prepared = prepare(columns)
    record = record_orders(prepared)
    mine = outcomes_of(columns, prepared, *replay(prepared, record, 1, SPAN))
    fine = outcomes_of(columns, prepared, *replay(prepared, record, 16, SPAN))
    reference = outcomes_of(columns, prepared, *reference_run(prepared, record, SPAN))
    compared = [
        name
        for name in ("peak_heel", "peak_tension", "peak_contact_force", "drift_distance", "swept_radius_all",
                     "residual_speed", "drive_energy", "stopping_time", "time_to_berth", "contact_speed",
                     "walking_speed", "swept_radius_tug")
        if np.isfinite(reference[name][0]) and reference[name][0] > 0.0
    ]  # fmt: skip
    assert len(compared) >= 5
    for name in compared:
        assert mine[name][0] == pytest.approx(reference[name][0], rel=4.0 * TOLERANCE, abs=1e-3), name
        assert fine[name][0] == pytest.approx(reference[name][0], rel=0.4 * TOLERANCE, abs=1e-3), name
