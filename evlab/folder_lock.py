"""One writer at a time in a folder, over all processes of this computer.

The system gives the lock back when its holder ends, however it ends, and no file is left in the folder.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from evlab.units import InputError

__all__ = ["held"]

PATIENCE = 20.0  # s: a save takes some milliseconds


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold the lock of a folder that is there.  Raises InputError when another program keeps it too long."""
    handle = _opened(folder)
    try:
        _wait(handle, folder)
        yield
    finally:
        os.close(handle)  # which gives the lock back


def _opened(folder: Path) -> int:
    """Something that can be locked: the folder itself, or on Windows a file of the user's own for it."""
    try:
        if os.name != "nt":
            return os.open(folder, os.O_RDONLY)
        mark = hashlib.sha256(str(folder.resolve()).lower().encode()).hexdigest()[:24]
        return os.open(Path(tempfile.gettempdir()) / f"evlab-{mark}.lock", os.O_RDWR | os.O_CREAT)
    except OSError as wrong:
        raise InputError(f"The folder {folder} cannot be opened: {wrong.strerror or wrong}. Nothing was written.") from None


def _wait(handle: int, folder: Path) -> None:
    until = time.monotonic() + PATIENCE
    while not _locked(handle):
        if time.monotonic() > until:
            raise InputError(f"Another program has been writing in the folder {folder} for {PATIENCE:g} s. Nothing was "
                             "written. Close that program, then keep again.")
        time.sleep(0.005)


if os.name == "nt":
    def _locked(handle: int) -> bool:
        import msvcrt

        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined, unused-ignore]
        except OSError:
            return False
        return True
else:
    def _locked(handle: int) -> bool:
        import fcntl

        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError:  # a file system without locks: go on without one, the write itself stays whole or not at all
            return True
        return True
