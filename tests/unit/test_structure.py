"""The building's rules: who may import whom, what is kept out, how large a room may be."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parents[2]
TOOLKIT = REPOSITORY / "toolkit"

FLOORS = {
    "quantities": 0,
    "errors": 0,
    "kernels": 0,
    "particulars": 1,
    "loads": 1,
    "rules": 1,
    "motion": 2,
    "study": 3,
    "execution": 4,
    "findings": 5,
    "figures": 6,
    "report": 6,
    "cli": 7,
}
"""Floor of each package; one imports from its own floor or below."""

BY_REGISTER = {"toolkit.motion.manoeuvres"}
"""Imports modules by name: the names are words of the register, never text from a file."""
FACADE = {"toolkit", "toolkit.__main__"}
"""Modules above all floors, which look down on everything."""

HEAVY = ("dask", "distributed", "matplotlib", "netCDF4", "numba", "pandas", "scipy", "sympy", "xarray", "zarr")
"""Packages that help and a refused study must not wait for."""

UNSAFE_MODULES = {"pickle", "cloudpickle", "dill", "joblib", "marshal", "shelve"}
UNSAFE_CALLS = {"eval", "exec", "compile", "__import__", "import_module"}
LONGEST_MODULE = 350


def module_name(path: Path) -> str:
    parts = path.relative_to(REPOSITORY).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {module_name(path): path for path in sorted(TOOLKIT.rglob("*.py"))}
TREES = {name: ast.parse(path.read_text(encoding="utf-8"), str(path)) for name, path in MODULES.items()}

each_module = pytest.mark.parametrize("name", sorted(MODULES))
each_inner_module = pytest.mark.parametrize("name", sorted(set(MODULES) - FACADE))


def package_of(dotted: str) -> str:
    """Package of a dotted name under toolkit; empty for toolkit itself."""
    parts = dotted.split(".")
    return parts[1] if len(parts) > 1 else ""


def imports_of(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Line and dotted name of every import, those inside functions included."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            origin = "." * node.level + (node.module or "")
            for alias in node.names:
                yield node.lineno, f"{origin}.{alias.name}" if origin == "toolkit" else origin


def upward_imports(name: str, tree: ast.Module) -> list[str]:
    """Imports of a module that climb; a name that is on no floor counts as the top."""
    own = FLOORS[package_of(name)]
    return [
        f"{name}:{line} (floor {own}) imports {target}"
        for line, target in imports_of(tree)
        if target.split(".")[0] == "toolkit" and FLOORS.get(package_of(target), len(FLOORS)) > own
    ]


def test_every_package_has_a_floor() -> None:
    assert {package_of(name) for name in set(MODULES) - FACADE} <= set(FLOORS)


@each_inner_module
def test_imports_only_downwards(name: str) -> None:
    assert upward_imports(name, TREES[name]) == []


@pytest.mark.parametrize(
    ("name", "text", "climbs"),
    [
        ("toolkit.motion.engine", "from toolkit.loads.wind import force", False),
        ("toolkit.motion.engine", "from toolkit.motion.phases import Phase", False),
        ("toolkit.motion.engine", "def f():\n    from toolkit.study import load_study", True),
        ("toolkit.motion.engine", "import toolkit", True),
        ("toolkit.motion.engine", "from toolkit import loads, figures", True),
        ("toolkit.motion.engine", "from toolkit import __version__", True),
    ],
)
def test_the_import_check_sees_a_climb(name: str, text: str, climbs: bool) -> None:
    assert bool(upward_imports(name, ast.parse(text))) is climbs


def test_packages_import_each_other_without_a_circle() -> None:
    needs: dict[str, set[str]] = {package: set() for package in FLOORS}
    for name in set(MODULES) - FACADE:
        own = package_of(name)
        for _, target in imports_of(TREES[name]):
            if target.split(".")[0] == "toolkit" and package_of(target) in FLOORS.keys() - {own}:
                needs[own].add(package_of(target))
    try:
        TopologicalSorter(needs).prepare()
    except CycleError as error:
        pytest.fail(f"packages that import each other in a circle: {' -> '.join(error.args[1])}")


@each_module
def test_imports_are_absolute(name: str) -> None:
    assert [line for line, target in imports_of(TREES[name]) if target.startswith(".")] == []


@each_module
def test_numba_is_imported_in_the_registry_of_kernels_alone(name: str) -> None:
    lines = [line for line, target in imports_of(TREES[name]) if target.split(".")[0] in {"numba", "llvmlite"}]
    assert name == "toolkit.kernels" or lines == []


def private_names_taken(tree: ast.Module) -> list[str]:
    """Names with a leading underscore that a module takes from another, by import or as an attribute of one."""
    found, modules = [], set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "toolkit":
            found += [f"line {node.lineno}: {a.name}" for a in node.names if a.name.startswith("_")]
            modules |= {a.asname or a.name for a in node.names if f"{node.module}.{a.name}" in MODULES}
    for node in ast.walk(tree):
        taken = isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in modules
        if taken and node.attr.startswith("_") and not node.attr.startswith("__"):
            found.append(f"line {node.lineno}: {node.value.id}.{node.attr}")
    return found


@pytest.mark.parametrize(
    "text", ["from toolkit.findings.table import _x", "from toolkit.findings import table\nprint(table._x)"]
)
def test_the_check_for_private_names_sees_one(text: str) -> None:
    assert len(private_names_taken(ast.parse(text))) == 1


@each_module
def test_module_takes_no_private_name_of_another(name: str) -> None:
    assert private_names_taken(TREES[name]) == []


@each_module
def test_no_text_or_stored_bytes_become_code(name: str) -> None:
    found = [
        f"line {line}: {target}" for line, target in imports_of(TREES[name]) if target.split(".")[0] in UNSAFE_MODULES
    ]
    for node in ast.walk(TREES[name]):
        if not isinstance(node, ast.Call):
            continue
        if isinstance(node.func, ast.Name):
            called = node.func.id
        elif isinstance(node.func, ast.Attribute):
            receiver = node.func.value
            # a pattern, and a kernel: neither is made of text from outside
            harmless = isinstance(receiver, ast.Name) and receiver.id in ("re", "dispatcher")
            called = "" if harmless else node.func.attr
        else:
            called = ""
        if called in UNSAFE_CALLS and not (called == "import_module" and name in {*FACADE, *BY_REGISTER}):
            found.append(f"line {node.lineno}: {called}()")
        found += [
            f"line {node.lineno}: allow_pickle"
            for keyword in node.keywords
            if keyword.arg == "allow_pickle"
            and not (isinstance(keyword.value, ast.Constant) and not keyword.value.value)
        ]
    assert found == []


@each_module
def test_module_can_be_taken_in_at_one_look(name: str) -> None:
    length = len(MODULES[name].read_text(encoding="utf-8").splitlines())
    assert length <= LONGEST_MODULE, "split it where its one idea ends"


@each_module
def test_module_says_what_it_is(name: str) -> None:
    assert (ast.get_docstring(TREES[name]) or "").strip()


@pytest.mark.parametrize(
    "name", sorted(name for name in set(MODULES) - FACADE if FLOORS.get(package_of(name), 0) <= FLOORS["study"])
)
def test_heavy_packages_are_imported_inside_functions_up_to_the_study(name: str) -> None:
    """Up to the study, everything is read by `towage check`; above it, nothing is imported before it is needed."""
    heavy = [
        f"line {node.lineno}"
        for node in TREES[name].body
        if isinstance(node, ast.Import | ast.ImportFrom)
        for target in ([a.name for a in node.names] if isinstance(node, ast.Import) else [node.module or ""])
        if target.split(".")[0] in HEAVY
    ]
    assert heavy == []


def words_of_python(code: str, folder: Path) -> list[str]:
    """Last line that a fresh interpreter prints, in words."""
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(REPOSITORY)},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert run.returncode == 0, run.stderr
    return run.stdout.splitlines()[-1].split()


def test_help_loads_nothing_heavy(tmp_path: Path) -> None:
    code = (
        "import sys\n"
        "from toolkit.cli import main\n"
        "try:\n"
        "    main(['--help'])\n"
        "except SystemExit:\n"
        "    pass\n"
        f"print('heavy:', *sorted(set(sys.modules) & set({HEAVY!r})))\n"
    )
    assert words_of_python(code, tmp_path) == ["heavy:"]


@pytest.mark.parametrize("ours", [True, False])
def test_check_loads_nothing_heavy_in_a_process_of_its_own(tmp_path: Path, ours: bool) -> None:
    study = str(REPOSITORY / "experiments" / "marrowby_basin.toml")
    code = (
        "import gc, sys\n"
        "from toolkit.cli import main\n"
        f"sys.argv = ['towage', 'check', {study!r}]\n"
        f"assert main({'' if ours else 'sys.argv[1:]'}) == 0\n"
        f"found = sorted(set(sys.modules) & set({(*HEAVY, 'pint', 'scipy.stats')!r}))\n"
        "import dask\n"
        "print('heavy:', *found, sys.modules['dask'] is dask, gc.isenabled())\n"
    )
    head, *found, same, collects = words_of_python(code, tmp_path)
    assert (head, same, collects) == ("heavy:", "True", str(not ours)) and "pint" in found
    # pint loads the head of scipy, some versions of it dask: in a process of a user's it may
    assert set(found) <= ({"pint", "scipy"} if ours else {"dask", "pint", "scipy"})


def test_where_dask_is_at_hand_pint_learns_of_it(tmp_path: Path) -> None:
    code = (
        "import sys, dask.array\n"
        "from toolkit.cli.quick_answer import load_pint_alone\n"
        "load_pint_alone()\n"
        "import pint\n"
        "made = pint.UnitRegistry().Quantity(dask.array.ones(3), 'm')\n"
        "print(type(made.compute().magnitude).__name__, sys.modules['dask'] is dask)\n"
    )
    assert words_of_python(code, tmp_path) == ["ndarray", "True"]


def kept_files() -> list[Path]:
    """Files that git keeps or would keep; without git, all but caches and output."""
    listing = subprocess.run(
        ["git", "-C", str(REPOSITORY), "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        capture_output=True,
        check=False,
    )
    if listing.returncode == 0:
        names = listing.stdout.decode().split("\0")
        return [REPOSITORY / name for name in names if name and (REPOSITORY / name).is_file()]
    skipped = {".git", ".venv", "__pycache__", "build", "dist", ".hypothesis"}
    return [
        path
        for path in REPOSITORY.rglob("*")
        if path.is_file() and not any(part in skipped or part.endswith("_cache") for part in path.parts)
    ]


FORBIDDEN = {
    "a path of somebody's machine": re.compile(r"(?<![\w.~$}/:-])/(?:work|farm|root|home|Users|tmp|opt|mnt)/[\w.]"),
    "the host or the listing of a package registry": re.compile(
        r"pypi\.(?:org|python)|python[h]osted|(?:extra-)?index-[u]rl|find-[l]inks|registry\.npmjs|deb\.debian",
        re.IGNORECASE,
    ),
}


@pytest.mark.parametrize(
    "text", ["see /" + "work/main", "open('/" + "tmp/x')", "--extra-index" + "-url x", "https://pypi" + ".org/simple"]
)
def test_the_check_for_foreign_places_sees_one(text: str) -> None:
    assert any(pattern.search(text) for pattern in FORBIDDEN.values())


@pytest.mark.parametrize("text", ["tug/work/line", "results/home/x", "https://doi.org/10.1/root/x", "degree/minute"])
def test_the_check_for_foreign_places_lets_others_pass(text: str) -> None:
    assert not any(pattern.search(text) for pattern in FORBIDDEN.values())


def test_no_file_names_a_machine_or_a_registry() -> None:
    found = []
    for path in kept_files():
        try:
            lines = path.read_text(encoding="utf-8").splitlines()
        except UnicodeDecodeError:
            continue
        for number, line in enumerate(lines, start=1):
            found += [
                f"{path.relative_to(REPOSITORY)}:{number}: {what}"
                for what, pattern in FORBIDDEN.items()
                if pattern.search(line)
            ]
    assert found == []
