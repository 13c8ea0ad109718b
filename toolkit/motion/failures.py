"""Kinds of failure, by the codes that the kernel knows them by."""

from __future__ import annotations

from toolkit.quantities import INPUTS

__all__ = [
    "BLACK_OUT",
    "DRIVE_STUCK",
    "FENDER_SLIPS",
    "LATE_ORDER",
    "LINE_PARTS",
    "NO_FAILURE",
    "PORT_DRIVE_LOST",
    "STARBOARD_DRIVE_LOST",
    "WRONG_ORDER",
]

(
    NO_FAILURE,
    STARBOARD_DRIVE_LOST,
    PORT_DRIVE_LOST,
    BLACK_OUT,
    DRIVE_STUCK,
    LINE_PARTS,
    FENDER_SLIPS,
    LATE_ORDER,
    WRONG_ORDER,
) = range(len(INPUTS["failure"].choices))
