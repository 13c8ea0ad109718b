"""Where the text of a rule comes from and how certain it is, in a form that a program can read."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Any, TypeVar

from toolkit.particulars.common import COMMON, FROM_MEMORY

__all__ = ["Certainty", "Source", "rule_sources", "source_of", "stated"]

Function = TypeVar("Function", bound=Callable[..., Any])


class Certainty(StrEnum):
    """How certain it is that the code says what the source says."""

    verified = "verified"
    """The text, formula included, was read in the source or in a copy of it."""
    partly_verified = "partly verified"
    """Symbols, definitions and limits were read; the formula itself is from memory."""
    second_hand = "second hand"
    """Read in another text that quotes the source."""
    from_memory = FROM_MEMORY
    """Nothing of it was read again."""
    common_practice = COMMON
    """Used in the trade; no source is known."""
    derived = "derived"
    """Follows from mechanics; checked against an independent calculation."""


@dataclass(frozen=True, kw_only=True)
class Source:
    """Source of a rule.

    Attributes
    ----------
    name : str
        The document, as it is cited.
    section : str
        Section, paragraph or equation; may be empty.
    certainty : Certainty
        How certain the text is.
    note : str
        What was read and what was not; departures from the source.
    """

    name: str
    section: str = ""
    certainty: Certainty
    note: str = ""

    def __str__(self) -> str:
        return f"{self.cited} ({self.certainty})"

    @property
    def cited(self) -> str:
        """Document and section."""
        return f"{self.name}, {self.section}" if self.section else self.name


_SOURCES: dict[str, Source] = {}


def _key(function: Callable[..., Any]) -> str:
    return f"{function.__module__.rpartition('.')[2]}.{function.__name__}"


def stated(source: Source) -> Callable[[Function], Function]:
    """Mark a function with the source of its formula; the function itself stays as it is."""

    def mark(function: Function) -> Function:
        _SOURCES[_key(function)] = source
        return function

    return mark


def source_of(function: Callable[..., Any]) -> Source:
    """Source of a rule's function.

    Raises
    ------
    KeyError
        If the function states none.
    """
    return _SOURCES[_key(function)]


def rule_sources() -> Mapping[str, Source]:
    """Sources of all rules, by ``module.function``, as far as their modules are loaded."""
    return MappingProxyType(dict(sorted(_SOURCES.items())))
