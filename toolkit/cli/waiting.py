"""What a user is told before the compiler keeps him waiting."""

from __future__ import annotations

import sys
from collections.abc import Iterable

__all__ = ["tell_of_compiling"]


def tell_of_compiling(manoeuvres: Iterable[str]) -> None:
    """Say on standard error that the engine has to be compiled first, where it has not been on this machine.

    Parameters
    ----------
    manoeuvres : iterable of str
        Those that are to be run; a word that is no manoeuvre, as out of a damaged store, is passed over.
    """
    from toolkit.motion.building import engine_is_kept
    from toolkit.quantities import INPUTS

    words = INPUTS["manoeuvre"].choices
    codes = [words.index(word) for word in manoeuvres if word in words]
    if not engine_is_kept(codes):
        print("The engine is compiled for this machine first: some ten to twenty seconds, once for each manoeuvre and "
              "this version of the model.", file=sys.stderr, flush=True)  # fmt: skip
