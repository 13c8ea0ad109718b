"""Manoeuvres, each in a module of its name: how the master steers, when it is over, what came of it.

A new manoeuvre is a new module here and its name in `toolkit.quantities.inputs.MANOEUVRES`.
"""

from __future__ import annotations

from importlib import import_module

from toolkit.kernels import by_code
from toolkit.motion.manoeuvres.manoeuvre import Manoeuvre
from toolkit.quantities.inputs import MANOEUVRES as NAMES

__all__ = ["MANOEUVRES", "judge_of_manoeuvre", "look_of_manoeuvre"]

MANOEUVRES: dict[str, Manoeuvre] = {name: import_module(f"{__name__}.{name}").MANOEUVRE for name in NAMES}
"""Every manoeuvre by name, in the order of their codes."""

look_of_manoeuvre = by_code([manoeuvre.look for manoeuvre in MANOEUVRES.values()], "look_of_manoeuvre")
"""Kernel: one look of the master of a manoeuvre, by its code."""

judge_of_manoeuvre = by_code([manoeuvre.judge for manoeuvre in MANOEUVRES.values()], "judge_of_manoeuvre")
"""Kernel: whether a manoeuvre is over, by its code."""
