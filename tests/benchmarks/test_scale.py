"""The benchmark of scale runs; its figures are for `python -m tests.benchmarks.scale` on an idle machine."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.benchmarks.scale import SIZES, cost_of, draw, measured, table
from toolkit.execution.attributes import BYTES_PER_CASE


@pytest.mark.benchmark
def test_memory_hardly_grows_with_the_number_of_cases(tmp_path: Path) -> None:
    """From 500 to 100,000 cases: less than 100 MB more, where inputs and outcomes of all cases would take 130 MB."""
    few, many = measured(500, 2), measured(100_000, 2)
    assert many.peak_memory - few.peak_memory < 100e6
    assert many.store_bytes < (BYTES_PER_CASE + 100) * many.cases
    told = table([few, many])
    assert "| 500 | 2 |" in told and "| 100,000 | 2 |" in told
    draw([few, many], tmp_path / "scale.png")
    assert (tmp_path / "scale.png").stat().st_size > 1000


def test_the_largest_run_is_of_a_million_cases() -> None:
    assert SIZES[-1] == 1_000_000
    assert cost_of(64, 1).cases == 64
