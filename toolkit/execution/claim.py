"""One run at a time in a store: a claim on it that the system drops when the run dies, however it dies.

The claim is a lock (``flock``) on a small file beside the store. A lock belongs to the process that holds it, so one
that was killed leaves a file behind and no lock, and the next run takes it at once. The file also holds a word drawn
for the run: whoever writes a block looks first whether it still stands there, so that a worker of a run that is over,
or one that sees another folder of the same name, writes nothing.
"""

from __future__ import annotations

import json
import os
import socket
import uuid
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from toolkit.errors import StoreError
from toolkit.execution.provenance import timestamp

__all__ = ["Claim", "claimed"]


@dataclass(frozen=True, kw_only=True)
class Claim:
    """The right of one run to write a store.

    Attributes
    ----------
    file : Path
        The file that is locked, beside the store.
    word : str
        Drawn for this run, and written into the file.
    """

    file: Path
    word: str

    def holds(self) -> bool:
        """Whether the file still is this run's, seen from this machine."""
        return _holder(self.file).get("word") == self.word


@contextmanager
def claimed(store: Path) -> Iterator[Claim]:
    """Hold the claim on a store; the folder that it stands in is made if it is missing.

    Raises
    ------
    StoreError
        If another run holds it; the message says which.
    OSError
        If the disk refuses.
    """
    store = store.absolute()
    store.parent.mkdir(parents=True, exist_ok=True)
    claim = Claim(file=store.with_name(f".{store.name}.lock"), word=uuid.uuid4().hex)
    descriptor = _locked(claim.file, store)
    try:
        os.ftruncate(descriptor, 0)
        about = {"word": claim.word, "process": os.getpid(), "host": socket.gethostname(), "begun": timestamp()}
        os.pwrite(descriptor, json.dumps(about).encode(), 0)
        os.fsync(descriptor)  # workers on other machines are to read it
        yield claim
    finally:
        # taken away while the lock is held, so that nobody can take a lock on a file that then goes
        with suppress(OSError):
            if claim.holds():
                claim.file.unlink()
        os.close(descriptor)


def _locked(file: Path, store: Path) -> int:
    """Descriptor of the file, with the lock on it."""
    import fcntl

    while True:
        descriptor = os.open(file, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(descriptor)
            raise StoreError(_taken(store, file)) from None
        except OSError as error:
            warnings.warn(
                f"{store}: its file system knows no locks ({error.strerror}), so nothing keeps a second run out. "
                "Take care that there is none.",
                stacklevel=2,
            )
            return descriptor
        with suppress(FileNotFoundError):
            if os.path.samestat(os.fstat(descriptor), file.stat()):
                return descriptor
        os.close(descriptor)  # its holder took it away between our two looks


def _taken(store: Path, file: Path) -> str:
    about = _holder(file)
    who = f"process {about['process']} on {about['host']}, since {about['begun']}" if about else "just begun"
    return f"{store}: another run is writing into it ({who}). Wait for it, or stop it first; or give another store."


def _holder(file: Path) -> dict[str, object]:
    """What the file says of the run that holds it; nothing if there is none."""
    try:
        about = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return about if isinstance(about, dict) and {"process", "host", "begun"} <= about.keys() else {}
