"""Loading what reads units quickly."""

from __future__ import annotations

import sys

__all__ = ["load_units_alone"]


def load_units_alone() -> None:
    """Load pint without dask, which it would load to put units on dask's arrays: a quarter of the time of `check`.

    For a process of ours alone: in one of a user's his pint must know his dask.
    """
    if "pint" in sys.modules or "dask" in sys.modules:
        return
    sys.modules["dask"] = None  # type: ignore[assignment]  # which makes an import of it fail
    try:
        import pint  # noqa: F401
    finally:
        del sys.modules["dask"]
