"""Writing many arrays of a store side by side, through the asynchronous interface of Zarr."""

from __future__ import annotations

import asyncio
import os
import threading
from collections.abc import Coroutine, Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from numpy.typing import NDArray

if TYPE_CHECKING:
    from zarr import AsyncArray

__all__ = ["open_arrays", "write_arrays"]

T = TypeVar("T")


def open_arrays(path: Path, names: tuple[str, ...]) -> dict[str, AsyncArray[Any]]:
    """Open arrays of a group for writing."""

    async def opened() -> dict[str, AsyncArray[Any]]:
        from zarr.api.asynchronous import open_group

        group = await open_group(path, mode="r+", use_consolidated=False)
        arrays: Any = await asyncio.gather(*(group.getitem(name) for name in names))
        return dict(zip(names, arrays, strict=True))

    return _done(opened())


def write_arrays(
    arrays: Mapping[str, AsyncArray[Any]], region: tuple[slice, ...], values: Mapping[str, NDArray[Any]]
) -> None:
    """Write the same region of several arrays; most of the time each takes is spent waiting for the disk.

    Raises
    ------
    Exception
        The first that came of any of them, when no one is writing any more.
    """

    async def written() -> None:
        writes = (arrays[name].setitem(region, value) for name, value in values.items())
        for outcome in await asyncio.gather(*writes, return_exceptions=True):
            if isinstance(outcome, BaseException):
                raise outcome

    _done(written())


def _done(work: Coroutine[Any, Any, T]) -> T:
    return asyncio.run_coroutine_threadsafe(work, _loop()).result()


@cache
def _loop() -> asyncio.AbstractEventLoop:
    """Event loop of this process, in a thread of its own: whoever calls may have one that is running."""
    loop = asyncio.new_event_loop()
    threading.Thread(target=loop.run_forever, name="store", daemon=True).start()
    return loop


os.register_at_fork(after_in_child=_loop.cache_clear)
