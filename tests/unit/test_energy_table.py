"""The balance of energy as a table: shares of the gross work, what is gained, and the verdict at its edge."""

from __future__ import annotations

import math

import numpy as np
import pytest

from toolkit.findings.energy_table import energy_table
from toolkit.findings.table import Table
from toolkit.motion.energy import STORES, TOLERANCE, WORKS, EnergyBalance

NOTHING_HELD = dict.fromkeys(STORES, 0.0)


def balance(gained: float, *, by: float = 1.0, gross: float = 1000.0) -> EnergyBalance:
    """Works of 800 and -300 J, and what was gained in the second store from 40 J on; all times a factor."""
    first, second, *_ = WORKS
    store = list(STORES)[1]
    return EnergyBalance(
        works={**dict.fromkeys(WORKS, 0.0), first: 800.0 * by, second: -300.0 * by},
        start={**NOTHING_HELD, store: 40.0 * by}, end={**NOTHING_HELD, store: (40.0 + gained) * by},
        gross=gross * by, duration=60.0, final=np.zeros(1),
    )  # fmt: skip


def rows(table: Table) -> list[tuple[object, ...]]:
    return [row[1:] for row in table.rows]


@pytest.mark.parametrize("by", [1.0, 5e-4])
def test_every_row_has_its_energy_and_its_share_of_the_gross_work(by: float) -> None:
    table = energy_table(balance(504.0, by=by))
    assert len(table.rows) == len(WORKS) + len(STORES) + 3
    works, stores, last = rows(table)[: len(WORKS)], rows(table)[len(WORKS) : -3], rows(table)[-3:]
    nothing = (0.0, 0.0)
    assert works == [
        pytest.approx((800.0 * by, 80.0)),
        pytest.approx((-300.0 * by, -30.0)),
        *[nothing] * (len(WORKS) - 2),
    ]
    assert stores == [nothing, pytest.approx((504.0 * by, 50.4)), *[nothing] * (len(STORES) - 2)]
    assert last == [pytest.approx((e * by, e / 10.0)) for e in (500.0, 504.0, 4.0)]
    assert "Imbalance 0.4 % of the gross work of the drives, within the 0.5 %" in table.notes[0]


@pytest.mark.parametrize(
    ("gained", "word"), [(505.0, "within"), (495.0, "within"), (506.0, "BEYOND"), (494.0, "BEYOND")]
)
def test_the_verdict_turns_beyond_the_tolerance_either_way(gained: float, word: str) -> None:
    assert TOLERANCE == 0.005
    assert f", {word} the 0.5 %" in energy_table(balance(gained)).notes[0]


def test_drives_that_did_nothing_leave_nothing_to_set_it_against() -> None:
    table = energy_table(balance(504.0, gross=0.0))
    assert all(math.isnan(share) for _, share in rows(table))  # type: ignore[arg-type]
    assert "there is nothing to set the imbalance against" in table.notes[0]
