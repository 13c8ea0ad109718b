"""The invented record: its memory, its bearings, its tide by hand, and what it refuses."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from toolkit.errors import StudyError
from toolkit.findings.operability import invented_record
from toolkit.findings.operability.invented import (
    EFOLD_HOURS,
    FLOOD_TO,
    MAIN_SECTOR,
    _bearing,
    _correlated,
    _tide,
)
from toolkit.findings.operability.report import reading_counts

KNOT = 1852.0 / 3600.0


def test_the_memory_falls_by_e_in_eight_hours_and_from_hour_to_hour_alike() -> None:
    drawn = _correlated(np.random.default_rng(1), 200_000)
    assert drawn.std() == pytest.approx(1.0, abs=0.02)
    for hours in (1, 3, 8):
        found = np.corrcoef(drawn[:-hours], drawn[hours:])[0, 1]
        assert found == pytest.approx(np.exp(-hours / EFOLD_HOURS), abs=0.02)


def test_bearings_by_their_share_by_hand() -> None:
    # 35 % within 210 to 270 degrees; half of the rest on either side, from 60 degrees round to 60 degrees
    share = np.array([0.0, 0.1625, 0.325, 0.5, 0.675, 0.8375, 1.0])
    np.testing.assert_allclose(_bearing(share), [60.0, 135.0, 210.0, 240.0, 270.0, 345.0, 60.0], atol=1e-9)
    assert _bearing(np.array([0.9]))[0] == pytest.approx(270.0 + 150.0 * 0.225 / 0.325 - 360.0)
    bearings = invented_record(1)["wind_from"].values
    assert ((bearings >= 0.0) & (bearings < 360.0)).all()
    within = (bearings >= MAIN_SECTOR[0]) & (bearings <= MAIN_SECTOR[1])
    assert within.mean() == pytest.approx(MAIN_SECTOR[2], abs=0.03)


def test_the_tide_by_hand() -> None:
    # waves of 0.5 and 0.3 kn with periods of 12.4206 and 12 h: 0.79929 kn after 3 h, -0.10558 kn after 12
    np.testing.assert_allclose(_tide(13)[[0, 3, 12]], np.array([0.0, 0.79929, -0.10558]) * KNOT, atol=1e-5)
    record = invented_record(1, current=True)
    assert record["current_to"].values[[3, 12]].tolist() == [FLOOD_TO, FLOOD_TO + 180.0]
    np.testing.assert_allclose(record["current_speed"].values[[3, 12]], np.array([0.79929, 0.10558]) * KNOT, atol=1e-5)


def test_a_record_is_whole_and_says_its_shares() -> None:
    one, two = invented_record(1, current=True), invented_record(2)
    assert (one.sizes["time"], two.sizes["time"]) == (8760, 17520)
    assert (one.attrs["title"], two.attrs["title"]) == ("Marrowby Basin, 1 year", "Marrowby Basin, 2 years")
    told = reading_counts(one)
    assert (told["gaps"], told["longest_gap_hours"], told["known_steps"]) == (0, 0.0, 8760)
    assert "35 % of the time from 210 to 270 degrees" in told["told"]


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"years": 0}, "years = 0"), ({"years": 101}, "years = 101"), ({"years": True}, "years = True"),
        ({"years": 1.5}, "years = 1.5"), ({"seed": -1}, "seed = -1"), ({"seed": 2**63}, "seed = 9223372036854775808"),
    ],
)  # fmt: skip
def test_numbers_of_years_and_seeds_have_bounds(given: dict[str, Any], words: str) -> None:
    with pytest.raises(StudyError, match=f"{words} is no whole number"):
        invented_record(**{"years": 1, **given})


def test_seeds_at_their_bounds_are_seeds() -> None:
    first, last = invented_record(1, seed=0), invented_record(1, seed=2**63 - 1)
    assert not np.array_equal(first["wind_speed"], last["wind_speed"])
