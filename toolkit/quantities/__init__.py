"""The one register of names, units, intervals and definitions (floor 0)."""

from toolkit.quantities.inputs import INPUTS
from toolkit.quantities.outcomes import DERIVED, OUTCOMES, Outcome, RangeFlag
from toolkit.quantities.quantity import NOT_GIVEN, Quantity

__all__ = ["DERIVED", "INPUTS", "NOT_GIVEN", "OUTCOMES", "REGISTER", "Outcome", "Quantity", "RangeFlag"]

REGISTER: dict[str, Quantity] = {**INPUTS, **DERIVED, **OUTCOMES}
"""Every quantity by name."""
