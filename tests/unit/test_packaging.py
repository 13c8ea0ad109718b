"""Set-up as the README promises it: commands, pins, bounds, and what CI runs."""

from __future__ import annotations

import os
import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

REPOSITORY = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((REPOSITORY / "pyproject.toml").read_text(encoding="utf-8"))["project"]
README = REPOSITORY / "README.md"
CI_RUN = REPOSITORY / ".ci" / "run"

PIN_FILES = ("constraints.txt", "lower-bounds.txt")


def requirements() -> list[Requirement]:
    """Requirements of the project and its extras on others."""
    lines = [*PROJECT["dependencies"], *(r for extra in PROJECT["optional-dependencies"].values() for r in extra)]
    parsed = [Requirement(line) for line in lines]
    return [requirement for requirement in parsed if requirement.name != PROJECT["name"]]


def pins(file_name: str) -> dict[str, Version]:
    """Versions by name; fails on a line that is not `name==version`."""
    found: dict[str, Version] = {}
    for line in (REPOSITORY / "tests" / file_name).read_text(encoding="utf-8").splitlines():
        match = re.fullmatch(r"([A-Za-z0-9._-]+)==([A-Za-z0-9.+!]+)", line)
        assert match, f"{file_name}: {line!r} is not name==version"
        found[canonicalize_name(match[1])] = Version(match[2])
    return found


def readme_command(name: str) -> str:
    """Fenced block of the README under the marker of a command."""
    block = re.search(
        rf"<!-- command: {name} -->\s*```[a-z]*\n(.*?)^```",
        README.read_text(encoding="utf-8"),
        re.DOTALL | re.MULTILINE,
    )
    assert block, f"README.md has no fenced block under the marker of the command {name!r}"
    return block[1]


@pytest.mark.parametrize("file_name", PIN_FILES)
def test_every_requirement_is_pinned_to_a_version_it_admits(file_name: str) -> None:
    pinned = pins(file_name)
    unmet = [
        str(requirement)
        for requirement in requirements()
        if (version := pinned.get(canonicalize_name(requirement.name))) is None or version not in requirement.specifier
    ]
    assert unmet == []


@pytest.mark.parametrize("file_name", PIN_FILES)
def test_pins_leave_out_the_project_itself(file_name: str) -> None:
    assert canonicalize_name(PROJECT["name"]) not in pins(file_name)


def test_lower_bounds_are_the_versions_tested() -> None:
    pinned = pins("lower-bounds.txt")
    for requirement in requirements():
        (specifier,) = requirement.specifier
        assert specifier.operator == ">="
        assert Version(specifier.version) == pinned[canonicalize_name(requirement.name)], requirement.name


def test_the_readme_sets_up_and_runs_the_demo() -> None:
    command = readme_command("demo")
    assert "-m venv" in command
    assert "-c tests/constraints.txt" in command
    study = re.search(r"towage run (\S+\.toml)", command)
    assert study
    assert (REPOSITORY / study[1]).is_file()
    assert "towage envelope" in command


def test_the_readme_sets_up_and_runs_the_tests() -> None:
    command = readme_command("test")
    assert "-m venv" in command
    assert '-c tests/constraints.txt -e ".[test]"' in command
    assert command.rstrip().endswith("-m pytest"), "pytest's closing line is to be the last thing printed"


def test_ci_runs_the_test_command_of_the_readme() -> None:
    assert os.access(CI_RUN, os.X_OK)
    text = CI_RUN.read_text(encoding="utf-8")
    assert text.startswith("#!/usr/bin/env bash\n")
    assert "set -euo pipefail" in text
    assert "readme_command test" in text
    assert "<!-- command: $1 -->" in text
