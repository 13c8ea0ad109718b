"""The wheel that would be released: what is in it, and that it works where it alone is installed.

It is installed into an empty environment without what it depends on, which is borrowed from the environment of the
tests: what is tested is this package's wheel, not the download of others.
"""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((REPOSITORY / "pyproject.toml").read_text(encoding="utf-8"))["project"]
STUDY = """
title = "Marrowby Basin, from a wheel"
[tug]
bollard_pull = ["20 t", "45 t"]
[environment]
wind_speed = ["0 kn", "15 kn"]
[manoeuvre]
target_angle = "30 deg"
time_limit = "4 min"
"""

pytestmark = pytest.mark.slow


def called(*words: object, folder: Path, **more: str) -> str:
    """What a process says, which has to leave with 0 and knows nothing of this repository."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "VIRTUAL_ENV"))}
    done = subprocess.run(
        [str(word) for word in words],
        cwd=folder, env={**kept, **more}, capture_output=True, text=True, check=False, timeout=600,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built by the tools of this environment where they are there, else by downloaded ones."""
    folder = tmp_path_factory.mktemp("wheel")
    try:
        import hatchling  # noqa: F401

        how = ["--no-build-isolation"]
    except ImportError:
        how = []
    words = ["-m", "pip", "wheel", "--quiet", "--no-deps", *how, "--wheel-dir", folder, REPOSITORY]
    called(sys.executable, *words, folder=folder)
    (made,) = folder.glob("*.whl")
    return made


def test_the_wheel_holds_the_package_and_nothing_else(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    info = f"{PROJECT['name'].replace('-', '_')}-{PROJECT['version']}.dist-info/"
    assert wheel.name == f"{info.removesuffix('.dist-info/')}-py3-none-any.whl"
    assert {name.split("/")[0] + "/" for name in names} == {"toolkit/", info}
    kept = subprocess.run(
        ["git", "-C", str(REPOSITORY), "ls-files", "toolkit"], capture_output=True, text=True, check=False
    ).stdout.split()
    inside = {name for name in names if name.startswith("toolkit/")}
    assert not [name for name in inside if "__pycache__" in name or name.endswith((".nbc", ".nbi", ".pyc"))]
    if kept:  # without git there is no list to hold against
        assert set(kept) <= inside
    assert {"toolkit/report/report_page/page.html", "toolkit/py.typed"} <= inside
    about = zipfile.ZipFile(wheel).read(f"{info}METADATA").decode()
    assert "License-File: LICENSE" in about and "Requires-Python: >=3.11" in about
    assert "towage = toolkit.cli:main" in zipfile.ZipFile(wheel).read(f"{info}entry_points.txt").decode()


def test_the_wheel_works_where_it_alone_is_installed(wheel: Path, tmp_path: Path) -> None:
    home = tmp_path / "env"
    venv.create(home, with_pip=False)
    called(sys.executable, "-m", "pip", "--python", home, "install", "--quiet", "--no-deps", "--no-index", wheel,
           folder=tmp_path)  # fmt: skip
    python, towage = home / "bin" / "python", home / "bin" / "towage"
    (site,) = (home / "lib").glob("python*/site-packages")
    # a plain path: what is installed for editing there is not followed
    (site / "borrowed.pth").write_text(sysconfig.get_paths()["purelib"] + "\n", encoding="utf-8")
    (tmp_path / "basin.toml").write_text(STUDY, encoding="utf-8")
    place = called(python, "-c", "import toolkit; print(toolkit.__file__)", folder=tmp_path).strip()
    assert Path(place).is_relative_to(site)
    assert PROJECT["version"] in called(towage, "--version", folder=tmp_path)
    cache = {"TOWAGE_CACHE_DIR": str(tmp_path / "cache"), "MPLBACKEND": "Agg"}
    assert "Cases: 2 x 2 = 4" in called(towage, "check", "basin.toml", folder=tmp_path, **cache)
    assert "4 cases in" in called(towage, "run", "basin.toml", "--no-progress", folder=tmp_path, **cache)
    assert "Written:" in called(towage, "envelope", "results/basin.zarr", folder=tmp_path, **cache)
    page = called(towage, "report", "results/basin.zarr", "--user", "consultant", "--histories", "1", folder=tmp_path,
                  **cache)  # fmt: skip
    assert "report_consultant.html" in page
