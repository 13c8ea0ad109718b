"""Limits that make a case pass or fail: part of a study file, never of its hash."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass

from toolkit.errors import Problem, StudyError

__all__ = ["AT_LEAST", "Limits"]

AT_LEAST: frozenset[str] = frozenset({"room_to_edge", "clearance_to_edge", "overrun_margin"})
"""Limits that are a least value; every other one is a greatest value."""


@dataclass(frozen=True, kw_only=True)
class Limits:
    """Limits on outcomes, each a number in the unit of the outcome, or None.

    A case passes a limit at the limit. `room_to_edge`, `clearance_to_edge` and
    `overrun_margin` are least values, all others are greatest values. The defaults are judgements of the authors:
    heel to two thirds of the deck-edge angle, a peak tension of half the
    breaking load (a common factor of safety of two), and a tension within the
    fitting's safe working load.
    """

    peak_heel_fraction: float | None = 0.67
    peak_heel: float | None = None
    tension_over_mbl: float | None = 0.5
    tension_over_swl: float | None = 1.0
    peak_contact_force: float | None = None
    time_to_turn: float | None = None
    time_to_steady: float | None = None
    overshoot: float | None = None
    drift_distance: float | None = None
    swept_radius_barge: float | None = None
    swept_radius_all: float | None = None
    room_to_edge: float | None = None
    peak_swing_rate: float | None = None
    clearance_to_edge: float | None = None
    contact_speed: float | None = None
    berthing_energy: float | None = None
    stopping_distance: float | None = None
    overrun_margin: float | None = None
    end_time: float | None = None
    drift_after_failure: float | None = None

    def in_force(self) -> dict[str, float]:
        """Limits that are set, by outcome."""
        return {name: value for name, value in dataclasses.asdict(self).items() if value is not None}

    def to_dict(self) -> dict[str, float | None]:
        """All limits, ready for JSON."""
        return dataclasses.asdict(self)

    @classmethod
    def from_dict(cls, content: Mapping[str, float | None]) -> Limits:
        """Inverse of `to_dict` and of `in_force`: a limit that is left out is not set.

        Raises
        ------
        StudyError
            If a name is no limit.
        """
        unknown = sorted(set(content) - {item.name for item in dataclasses.fields(cls)})
        if unknown:
            raise StudyError(Problem(where="limits", what=f"{name} is not a limit") for name in unknown)
        return cls(**{item.name: content.get(item.name) for item in dataclasses.fields(cls)})
