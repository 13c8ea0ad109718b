"""Files that are there whole or not at all."""

from __future__ import annotations

import contextlib
import uuid
from collections.abc import Iterator
from pathlib import Path

__all__ = ["whole", "write_whole"]


@contextlib.contextmanager
def whole(path: Path) -> Iterator[Path]:
    """A name beside `path` to write to, which takes its place once all is written; else nothing is left.

    A full disk, a stop by Ctrl-C or an error while writing leaves at `path` what was there before.

    Raises
    ------
    OSError
        As the disk raises it; see `toolkit.execution.store.writing`.
    """
    partial = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.partial")
    try:
        yield partial
        partial.replace(path)
    finally:
        with contextlib.suppress(OSError):
            partial.unlink(missing_ok=True)


def write_whole(path: Path, content: str | bytes) -> None:
    """Write text in UTF-8, or bytes, into a file that is there whole or not at all; errors as for :func:`whole`."""
    with whole(path) as partial:
        partial.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
