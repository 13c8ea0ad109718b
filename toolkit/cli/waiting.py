"""What a user is told before the compiler keeps him waiting."""

from __future__ import annotations

import sys

__all__ = ["tell_of_compiling"]


def tell_of_compiling() -> None:
    """Say on standard error that the engine has to be compiled first, where it has not been on this machine."""
    from toolkit.motion.building import engine_is_kept

    if not engine_is_kept():
        print("The engine is compiled for this machine first: some twenty seconds, once for this version of the model.",
              file=sys.stderr, flush=True)  # fmt: skip
