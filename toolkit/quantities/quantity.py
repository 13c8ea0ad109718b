"""What one entry of the register of quantities holds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

__all__ = ["NOT_GIVEN", "Quantity"]

NOT_GIVEN = math.nan
"""Default of an input that is derived from others unless a user gives it."""


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A named quantity: input, derived coordinate or outcome.

    Attributes
    ----------
    name : str
        The one name, in studies, datasets, tables and code.
    long_name : str
        Words for an axis label.
    unit : str
        Unit in datasets, in UDUNITS spelling: SI, angles in degrees,
        ``"1"`` for a ratio, ``""`` for a choice.
    user_unit : str
        Unit in which people read and write it, in pint's spelling;
        ``tonne_force`` where a bare ``t`` means a pull.
    role : {"input", "derived", "outcome"}
    section : str
        Table of the study file, for inputs.
    low, high : float
        Closed interval in `unit`, outside which a value is refused.
    default : float or str
        In `unit`; `NOT_GIVEN` for "derived unless given".
    choices : tuple of str
        Allowed words; empty for numbers.
    help : str
        One line: the definition, with direction convention where one applies.
    why : str
        Reason for the interval.
    source : str
        Where the default or the definition comes from.
    spread : tuple of float, optional
        Lowest and highest value, in `unit`, between which a coefficient that is
        not known well is held to lie; a judgement, values between held to be
        equally likely. None where nothing is stated.
    """

    name: str
    long_name: str
    unit: str = "1"
    user_unit: str = ""
    role: Literal["input", "derived", "outcome"] = "outcome"
    section: str = ""
    low: float = -math.inf
    high: float = math.inf
    default: float | str = NOT_GIVEN
    choices: tuple[str, ...] = ()
    help: str = ""
    why: str = ""
    source: str = ""
    spread: tuple[float, float] | None = None

    @property
    def is_choice(self) -> bool:
        """Whether the quantity is a word out of a list."""
        return bool(self.choices)

    @property
    def derived_unless_given(self) -> bool:
        """Whether leaving it out means that the toolkit derives it."""
        return isinstance(self.default, float) and math.isnan(self.default)
