"""Mutation testing of plain functions: change one sign, number or comparison at a time, and see whether a test fails.

``python -m tests.mutation toolkit/loads/spring.py tests/unit/test_loads_springs.py`` tries every mutant of a module
against the tests that are named, and lists those that survive; ``--sample 50`` tries so many of them. The well-kept
tools leave decorated functions alone, which is what every load is, or start an interpreter for each mutant; this one
forks, and runs the functions as plain Python.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import copy
import importlib.abc
import importlib.machinery
import importlib.util
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from random import Random
from types import ModuleType
from typing import Any

__all__ = ["main", "mutants"]

SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult, ast.Lt: ast.GtE,
    ast.GtE: ast.Lt, ast.Gt: ast.LtE, ast.LtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.And: ast.Or,
    ast.Or: ast.And,
}  # fmt: skip
NAMES = {"sin": "cos", "cos": "sin", "min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum"}
SECONDS_PER_MUTANT = 300
KILLED, SURVIVED = 1, 0


def _changes(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    """What may stand in the place of a node."""
    if isinstance(node, ast.BinOp | ast.BoolOp) and type(node.op) in SWAPS:
        other = copy.deepcopy(node)
        other.op = SWAPS[type(node.op)]()  # type: ignore[assignment]
        yield f"{type(node.op).__name__} for {type(other.op).__name__}", other
    elif isinstance(node, ast.Compare) and type(node.ops[0]) in SWAPS:
        other = copy.deepcopy(node)
        other.ops[0] = SWAPS[type(node.ops[0])]()  # type: ignore[call-overload]
        yield f"{type(node.ops[0]).__name__} turned", other
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        yield "minus left out", node.operand
    elif isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not isinstance(node.value, bool):
        yield f"{node.value} made larger", ast.Constant(value=node.value * 1.25 + (node.value == 0))
    elif isinstance(node, ast.Name) and node.id in NAMES:
        yield f"{node.id} for {NAMES[node.id]}", ast.Name(id=NAMES[node.id], ctx=ast.Load())
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "abs":
        yield "abs left out", node.args[0]


def mutants(text: str) -> list[tuple[int, str, ast.Module]]:
    """Every mutant of a module: line, what was changed, and the module as a tree.

    Left alone are annotations, and numbers of the module that are no part of a function.
    """
    found = []
    for function in (node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.FunctionDef)):
        hidden = {id(each) for each in ast.walk(function.args)} | (
            {id(function.returns)} if function.returns else set()
        )
        for place, node in enumerate(ast.walk(function)):
            if id(node) in hidden or any(isinstance(node, kind) for kind in (ast.FunctionDef, ast.arguments)):
                continue
            for words, other in _changes(node):
                found.append((getattr(node, "lineno", 0), words, _replaced(text, function.lineno, place, other)))
    return found


def _replaced(text: str, line: int, place: int, other: ast.AST) -> ast.Module:
    """Tree of a module in which one node, by its place in the walk of the function at a line, is another."""
    tree = ast.parse(text)
    home = next(node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef) and node.lineno == line)
    target = list(ast.walk(home))[place]

    class Replace(ast.NodeTransformer):
        def visit(self, node: ast.AST) -> Any:
            return ast.copy_location(other, node) if node is target else self.generic_visit(node)

    Replace().visit(home)
    return ast.fix_missing_locations(tree)


class _Loader(importlib.abc.Loader):
    """Gives a mutant in the place of a module."""

    def __init__(self, tree: ast.Module, path: str) -> None:
        self.tree, self.path = tree, path

    def exec_module(self, module: ModuleType) -> None:
        exec(compile(self.tree, self.path, "exec"), module.__dict__)


class _Finder(importlib.abc.MetaPathFinder):
    """Finds it before anything else does."""

    def __init__(self, name: str, tree: ast.Module, path: str) -> None:
        self.name, self.loader = name, _Loader(tree, path)

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> importlib.machinery.ModuleSpec | None:
        if fullname != self.name:
            return None
        return importlib.util.spec_from_loader(fullname, self.loader, origin=self.loader.path)


def _tried(name: str, path: Path, tree: ast.Module, tests: list[str]) -> int:
    """Start a process that runs the tests against a mutant; its number."""
    import pytest

    child = os.fork()
    if child:
        return child
    with open(os.devnull, "w") as nothing:
        os.dup2(nothing.fileno(), 1)
        os.dup2(nothing.fileno(), 2)
    sys.meta_path.insert(0, _Finder(name, tree, str(path)))
    code = KILLED
    with contextlib.suppress(BaseException):
        import signal

        signal.alarm(SECONDS_PER_MUTANT)  # one that hangs is killed, and counts so
        words = ["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "-p", "no:randomly", "--hypothesis-seed=0", *tests]
        code = SURVIVED if pytest.main(words) == 0 else KILLED
    os._exit(code)


def main() -> int:
    """Try the mutants of a module and list those that survive."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("module", type=Path, help="file below toolkit")
    parser.add_argument("tests", nargs="+", help="files of tests")
    parser.add_argument("--sample", type=int, help="so many mutants, drawn at random [all]")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1, help="side by side [processors]")
    options = parser.parse_args()
    import hypothesis  # noqa: F401 - once, before any fork
    import numpy as np  # noqa: F401
    import xarray  # noqa: F401

    os.environ["CI"] = "1"  # the same examples every time
    os.environ["NUMBA_DISABLE_JIT"] = "1"  # no machine code of a mutant, least of all in the cache
    name = ".".join(options.module.with_suffix("").parts)
    text = options.module.read_text(encoding="utf-8")
    made = mutants(text)
    picked = Random(1).sample(made, min(options.sample or len(made), len(made)))
    began, killed, running, survived = time.monotonic(), 0, {}, []
    waiting = [(0, "nothing changed", ast.parse(text)), *picked]
    while waiting or running:
        while waiting and len(running) < options.workers:
            line, words, tree = waiting.pop(0)
            running[_tried(name, options.module, tree, options.tests)] = (line, words)
        child, status = os.wait()
        line, words = running.pop(child)
        dead = os.waitstatus_to_exitcode(status) != SURVIVED
        if not line:
            if dead:
                print("the tests fail as it is")
                return 2
        elif dead:
            killed += 1
        else:
            survived.append((line, words))
    sys.stdout.flush()
    print(f"{options.module}: {killed} of {len(picked)} mutants killed in {time.monotonic() - began:.0f} s")
    for line, words in sorted(survived):
        print(f"  line {line}: {words}: {text.splitlines()[line - 1].strip()}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
