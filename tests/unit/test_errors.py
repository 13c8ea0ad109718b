"""What is wrong, said in whole sentences."""

from __future__ import annotations

import pytest

from toolkit.errors import Problem, StudyError


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ({}, "a.toml: x = 1 is wrong."),
        ({"why": "it is"}, "a.toml: x = 1 is wrong: it is."),
        ({"why": "it is."}, "a.toml: x = 1 is wrong: it is."),
        ({"remedy": "Write 2"}, "a.toml: x = 1 is wrong. Write 2."),
        ({"remedy": "Did you mean y?"}, "a.toml: x = 1 is wrong. Did you mean y?"),
        ({"why": "it is", "remedy": "Write 2."}, "a.toml: x = 1 is wrong: it is. Write 2."),
    ],
)
def test_a_problem_is_said_in_sentences_with_one_stop_each(parts: dict[str, str], said: str) -> None:
    assert str(Problem(where="a.toml", what="x = 1 is wrong", **parts)) == said
    assert str(Problem(where="a.toml", what="x = 1 is wrong.", **parts)) == said


def test_all_problems_are_counted_and_listed() -> None:
    problem = Problem(where="a.toml", what="x = 1 is wrong")
    assert str(StudyError([problem])).startswith("1 problem found:\n  - a.toml")
    assert str(StudyError([problem, problem])).startswith("2 problems found:")
