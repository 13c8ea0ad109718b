"""The one register of names, units, intervals and definitions (floor 0)."""

from toolkit.quantities.inputs import INPUTS
from toolkit.quantities.manoeuvres import FACTS, MANOEUVRES, facts_of, idle_inputs, silent_inputs
from toolkit.quantities.outcomes import DERIVED, OUTCOMES, Outcome, RangeFlag
from toolkit.quantities.quantity import NOT_GIVEN, Quantity

__all__ = [
    "DERIVED", "FACTS", "INPUTS", "MANOEUVRES", "NOT_GIVEN", "OUTCOMES", "REGISTER", "Outcome", "Quantity", "RangeFlag",
    "facts_of", "idle_inputs", "silent_inputs",
]  # fmt: skip

REGISTER: dict[str, Quantity] = {**INPUTS, **DERIVED, **OUTCOMES}
"""Every quantity by name."""
