"""What a user is told before the compiler keeps him waiting."""

from __future__ import annotations

import sys

__all__ = ["tell_of_compiling"]

ENGINE = "batch.run_batch-*.nbi"
"""How the compiler names the index of the engine's machine code in the cache."""


def tell_of_compiling() -> None:
    """Say on standard error that the engine has to be compiled first, where it has not been on this machine."""
    from toolkit.kernels import cache_folder

    if not any(cache_folder().rglob(ENGINE)):
        print("The engine is compiled for this machine first: half a minute or so, once for this version of the model.",
              file=sys.stderr, flush=True)  # fmt: skip
