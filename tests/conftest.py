"""What every test stands on: no window, no chance, and nothing written into the repository."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

# Before anything imports matplotlib.
os.environ["MPLBACKEND"] = "Agg"

# Compiling takes longer than any deadline; on CI the same examples are drawn every time.
settings.register_profile("developer", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, database=None, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "developer")

REPOSITORY = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="session")
def repository() -> Path:
    """Top folder of the repository."""
    return REPOSITORY


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Work in a folder of the test's own, so that `results/` never means the repository's.

    Compiled kernels stay in the user's cache, or in TOWAGE_CACHE_DIR where it is set: they carry a hash of their
    sources, so a warm cache is right as well as quick.
    """
    monkeypatch.chdir(tmp_path)
