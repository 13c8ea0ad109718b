"""Sparing a command that answers at once what it does not need."""

from __future__ import annotations

import gc
import sys

__all__ = ["load_pint_alone", "spare_what_a_quick_answer_needs_not"]


def spare_what_a_quick_answer_needs_not() -> None:
    """Leave away dask and the search for garbage: together a quarter of the time of `check`.

    For a process of ours alone, which ends with the answer.
    """
    gc.disable()
    load_pint_alone()


def load_pint_alone() -> None:
    """Load pint without dask, which it would load only to put units on dask's arrays.

    Where dask is loaded already pint learns of it.
    """
    if "pint" in sys.modules or "dask" in sys.modules:
        return
    sys.modules["dask"] = None  # type: ignore[assignment]  # which makes an import of it fail
    try:
        import pint  # noqa: F401
    finally:
        del sys.modules["dask"]
