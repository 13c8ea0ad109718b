"""How this package says that something is wrong.

A problem is a line that names the place, the value, the allowed interval, the
reason and the remedy. Problems are gathered and reported together.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Problem", "StoreError", "StudyError", "TowageError"]


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One thing that is wrong, in words a user can act on.

    Attributes
    ----------
    where : str
        File and key, such as ``basin.toml: tug.bollard_pull``.
    what : str
        The statement, such as ``bollard_pull = 900 t is outside [2 t, 150 t]``.
    why : str
        The reason; may be empty.
    remedy : str
        What to do.
    """

    where: str
    what: str
    why: str = ""
    remedy: str = ""

    def __str__(self) -> str:
        statement = f"{self.where}: {self.what}"
        if self.why:
            statement = f"{statement.rstrip('.')}: {self.why}"
        return " ".join(_closed(text) for text in (statement, self.remedy) if text)


def _closed(sentence: str) -> str:
    """Sentence with its stop, unless it closes with one of its own."""
    return sentence if sentence.endswith((".", "!", "?")) else f"{sentence}."


class TowageError(Exception):
    """Base of every error that this package raises on purpose."""


class StudyError(TowageError):
    """A study or a table of cases that cannot be run as it stands.

    Attributes
    ----------
    problems : tuple of Problem
        Every problem found, in the order of the file.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        count = len(self.problems)
        head = "1 problem" if count == 1 else f"{count} problems"
        super().__init__("\n".join([f"{head} found:", *(f"  - {p}" for p in self.problems)]))


class StoreError(TowageError):
    """A store that cannot be read, or that belongs to another study."""
