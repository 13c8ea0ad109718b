"""Manoeuvres, each in a module of its name: how the master steers, when it is over, what came of it.

A new manoeuvre is a new module here and its name in `toolkit.quantities.inputs.MANOEUVRES`.
"""

from __future__ import annotations

from importlib import import_module

from toolkit.motion.manoeuvres.manoeuvre import Manoeuvre
from toolkit.quantities.inputs import MANOEUVRES as NAMES

__all__ = ["MANOEUVRES", "manoeuvre_of"]

MANOEUVRES: dict[str, Manoeuvre] = {name: import_module(f"{__name__}.{name}").MANOEUVRE for name in NAMES}
"""Every manoeuvre by name, in the order of their codes."""


def manoeuvre_of(code: float) -> Manoeuvre:
    """Manoeuvre of a code, as it stands in the parameters."""
    return list(MANOEUVRES.values())[int(code)]
