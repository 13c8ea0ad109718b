"""A little of `python -m tests.fuzz`, which at full size draws 10,000 studies and 1,000 mutated files."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

from tests.fuzz.commands import fuzz_commands
from tests.fuzz.studies import fuzz_studies
from tests.fuzz.watch import HUNG
from tests.many_cases import many_cases
from tests.sane import findings
from toolkit.motion.engine import evaluate_columns


def test_random_legal_studies_end_in_numbers_that_can_be_true() -> None:
    drawn = fuzz_studies(30, seed=5)
    assert drawn.studies == 30 and drawn.cases >= 30
    assert drawn.wrong == []


def test_mutated_studies_end_in_words() -> None:
    assert fuzz_commands(10, seed=5, kinds=("study",)).wrong == []


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["record", "store"])
def test_mutated_records_and_stores_end_in_words(kind: str) -> None:
    assert fuzz_commands(8, seed=5, kinds=(kind,)).wrong == []


def test_the_fuzz_sees_what_cannot_be_true() -> None:
    columns = many_cases(16)
    columns["draw_seed"] = np.ones(16)
    sound = evaluate_columns(columns)
    assert findings(columns, sound) == []
    ran = int(np.flatnonzero(np.isfinite(sound["peak_heel"]))[0])
    for name, value, words in (
        ("peak_heel", -1.0, "peak_heel is below nothing"), ("peak_heel", 181.0, "peak_heel is above 180"),
        ("drive_energy", np.inf, "drive_energy is infinite"), ("end_time", np.nan, "end_time is missing"),
        ("end_time", 1e9, "end_time is after the time limit"), ("saturated_share", 1.1, "saturated_share is above 1"),
        ("drive_energy", 1e15, "more than the drives can take"), ("outcome", 0, "outcome is no code"),
        ("depth_ratio", np.nan, "depth_ratio is not finite"), ("range_flags", 64, "unknown bit"),
    ):  # fmt: skip
        spoilt = {key: values.copy() for key, values in sound.items()}
        spoilt[name][ran] = value
        assert any(words in told for told in findings(columns, spoilt)), (name, value)


def test_what_hangs_is_told_and_ended() -> None:
    code = "import time\nfrom tests.fuzz.watch import watched\nwith watched(0.2, 'a nap'):\n    time.sleep(60)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, timeout=30)
    assert done.returncode == HUNG and "hangs for more than 0.2 s: a nap" in done.stderr
