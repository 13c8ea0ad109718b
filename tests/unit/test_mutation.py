"""The tool that changes one thing at a time: it changes what it says, where it says it."""

from __future__ import annotations

import ast

from tests.mutation import mutants

TWICE = """
class First:
    def same(self, x):
        return x + 1

class Second:
    def same(self, x):
        return abs(x) - 2
"""


def test_every_mutant_differs_from_the_module_in_the_line_it_names() -> None:
    whole = ast.unparse(ast.parse(TWICE)).splitlines()
    found = mutants(TWICE)
    assert {words for _, words, _ in found} == {
        "Add for Sub", "1 made larger", "Sub for Add", "2 made larger", "abs left out"
    }  # fmt: skip
    for line, words, tree in found:
        text = ast.unparse(tree).splitlines()
        changed = [number for number, (old, new) in enumerate(zip(whole, text, strict=True)) if old != new]
        assert len(changed) == 1, words
        assert whole[changed[0]].strip() == TWICE.splitlines()[line - 1].strip(), words


def test_annotations_and_defaults_are_left_alone() -> None:
    assert mutants("def f(x: int = 3, *, y: float = -1.0) -> tuple[int, ...]:\n    return x, y\n") == []
