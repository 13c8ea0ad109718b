"""A process that is given blocks to run: whether it can run them, and its first start."""

from __future__ import annotations

import contextlib
import os
import socket
from collections.abc import Iterator
from functools import lru_cache

import numpy as np

from toolkit.errors import StoreError
from toolkit.execution.layout import Model, current_model
from toolkit.execution.store import Store
from toolkit.kernels import cache_root
from toolkit.quantities import INPUTS

__all__ = ["ready"]

LOCK = "compiling.lock"
"""File in the cache folder that is locked by the one process that compiles."""

_STARTED: set[str] = set()
"""Hashes of the models that this process has started."""


def ready(model: Model, store: Store) -> None:
    """See that this process can run blocks of a store, and compile or load the kernel; once for each run.

    Raises
    ------
    StoreError
        If the process sees another folder than the one that gave it the work,
        or has another version of the model.
    """
    _see_the_same(model.hash, model.evaluate is current_model().evaluate, store)
    _start(model)


@lru_cache(maxsize=4)
def _see_the_same(model_hash: str, our_own: bool, store: Store) -> None:
    here = f"worker {os.getpid()} on {socket.gethostname()}"
    if not (store.path / "zarr.json").exists() or (store.claim is not None and not store.claim.holds()):
        raise StoreError(
            f"{store.path}: {here} does not see the store that the run writes. The folder must lie on a file system "
            "that all workers share, under the same name everywhere: give such a one with --store."
        )
    if our_own and model_hash != current_model().hash:
        raise StoreError(
            f"{store.path}: {here} has another version of the model ({current_model().hash}) than the run "
            f"({model_hash}). Install the same version of the package for all workers, and start them again."
        )


def _start(model: Model) -> None:
    """Run the shortest of cases, so that the kernel is there: compiled by one process, loaded by all others."""
    if model.hash in _STARTED:
        return
    case = {
        name: np.array([quantity.choices.index(str(quantity.default)) if quantity.is_choice else quantity.default])
        for name, quantity in INPUTS.items()
    }
    case["time_limit"] = np.array([INPUTS["time_limit"].low])
    with _one_at_a_time():
        model.evaluate(case)
    _STARTED.add(model.hash)


@contextlib.contextmanager
def _one_at_a_time() -> Iterator[None]:
    """Wait for other processes that start with the same cache; where there are no locks, wait for none."""
    import fcntl

    with contextlib.ExitStack() as stack:
        with contextlib.suppress(OSError):
            root = cache_root()
            root.mkdir(parents=True, exist_ok=True)
            file = stack.enter_context((root / LOCK).open("a"))
            fcntl.flock(file, fcntl.LOCK_EX)
        yield
