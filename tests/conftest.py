"""What every test stands on: no window, no chance, and nothing written into the repository."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from toolkit.execution.rates import FILE
from toolkit.kernels import cache_folder

# Before anything imports matplotlib.
os.environ["MPLBACKEND"] = "Agg"

# Compiling takes longer than any deadline; on CI the same examples are drawn every time.
settings.register_profile("developer", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, database=None, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "developer")

REPOSITORY = Path(__file__).resolve().parents[1]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what runs whole commands, in processes of their own and in this one."""
    for item in items:
        if REPOSITORY / "tests" / "integration" in item.path.parents:
            item.add_marker("whole")


@pytest.fixture(scope="session")
def repository() -> Path:
    """Top folder of the repository."""
    return REPOSITORY


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A cache of the session's own, also for commands in processes of their own: the user's rate of runs is kept.

    Compiled kernels stay in the user's cache, or in TOWAGE_CACHE_DIR where it is set, and are linked from here: they
    carry a hash of their sources, so a warm cache is right as well as quick.
    """
    kernels, folder = cache_folder(), tmp_path_factory.mktemp("cache")
    (folder / kernels.name).symlink_to(kernels, target_is_directory=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TOWAGE_CACHE_DIR", str(folder))
        yield folder


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, _own_cache: Path) -> None:
    """Work in a folder of the test's own, so that `results/` never means the repository's, and on a new machine."""
    monkeypatch.chdir(tmp_path)
    (_own_cache / FILE).unlink(missing_ok=True)
