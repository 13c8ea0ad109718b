"""Making and writing many arrays of a store side by side, through the asynchronous interface of Zarr."""

from __future__ import annotations

import asyncio
import os
import threading
from collections.abc import Coroutine, Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from numpy.typing import NDArray

if TYPE_CHECKING:
    from types import EllipsisType

    from zarr import AsyncArray, AsyncGroup

__all__ = ["make_arrays", "open_arrays", "write_arrays"]

T = TypeVar("T")


def open_arrays(path: Path, names: tuple[str, ...]) -> dict[str, AsyncArray[Any]]:
    """Open arrays of a group for writing."""

    async def opened() -> dict[str, AsyncArray[Any]]:
        group = await _group(path)
        return dict(zip(names, await _all(group.getitem(name) for name in names), strict=True))

    return _done(opened())


def make_arrays(path: Path, wanted: Mapping[str, Mapping[str, Any]]) -> dict[str, AsyncArray[Any]]:
    """Make arrays in a group that is there, each with the options of Zarr's ``create_array``.

    Raises
    ------
    Exception
        The first that came of any of them, when no one is being made any more.
    """

    async def made() -> dict[str, AsyncArray[Any]]:
        group = await _group(path)
        return dict(zip(wanted, await _all(group.create_array(n, **o) for n, o in wanted.items()), strict=True))

    return _done(made())


def write_arrays(
    arrays: Mapping[str, AsyncArray[Any]], region: tuple[slice, ...] | EllipsisType,
    values: Mapping[str, NDArray[Any]],
) -> None:  # fmt: skip
    """Write the same region of several arrays; most of the time each takes is spent waiting for the disk.

    Raises
    ------
    Exception
        The first that came of any of them, when no one is writing any more.
    """

    async def written() -> None:
        await _all(arrays[name].setitem(region, value) for name, value in values.items())

    _done(written())


async def _group(path: Path) -> AsyncGroup:
    from zarr.api.asynchronous import open_group

    return await open_group(path, mode="r+", use_consolidated=False)


async def _all(works: Iterable[Coroutine[Any, Any, Any]]) -> list[Any]:
    """What came of each work, all side by side; the first error once all have ended."""
    outcomes = await asyncio.gather(*works, return_exceptions=True)
    for outcome in outcomes:
        if isinstance(outcome, BaseException):
            raise outcome
    return outcomes


def _done(work: Coroutine[Any, Any, T]) -> T:
    return asyncio.run_coroutine_threadsafe(work, _loop()).result()


@cache
def _loop() -> asyncio.AbstractEventLoop:
    """Event loop of this process, in a thread of its own: whoever calls may have one that is running."""
    loop = asyncio.new_event_loop()
    threading.Thread(target=loop.run_forever, name="store", daemon=True).start()
    return loop


os.register_at_fork(after_in_child=_loop.cache_clear)
