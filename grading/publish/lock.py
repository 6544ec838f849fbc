"""One run at a time in a folder: a lock of the system's own, which ends with the process that holds it."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import sys
from collections.abc import Iterator
from pathlib import Path

from grading.codes import Code
from grading.findings import StoppedError
from grading.publish.disk import Disk, plain_bytes
from grading.publish.notices import notice

__all__ = ["locked"]

_LOCK = ".grading-lock"


@contextlib.contextmanager
def locked(folder: Path, disk: Disk) -> Iterator[None]:
    """Hold the folder's lock. Raises StoppedError where another run holds it."""
    path = folder / _LOCK
    descriptor = _taken(path, disk)
    try:
        disk.put_into(descriptor, f"{os.getpid()}\n".encode())
        yield
    finally:
        try:
            if os.name != "nt":  # there an open file cannot be removed
                _forget(path, disk)
        finally:
            os.close(descriptor)
        if os.name == "nt":
            _forget(path, disk)


def _forget(path: Path, disk: Disk) -> None:
    with contextlib.suppress(OSError):  # left lying about it does no harm: nobody holds it
        disk.unlink(path)


def _taken(path: Path, disk: Disk) -> int:
    while True:
        try:
            descriptor = disk.open(path)
        except OSError as problem:
            if problem.errno in (errno.ELOOP, errno.EMLINK):  # what systems say of a link that is not followed
                raise StoppedError(notice(Code.OUTPUT_OUTSIDE, path)) from None
            raise
        try:
            status = os.fstat(descriptor)
            if not stat.S_ISREG(status.st_mode) or status.st_nlink > 1:  # it may be somebody's file by another name
                raise StoppedError(notice(Code.OUTPUT_OUTSIDE, path))
            _lock(descriptor)
            # The run before may have removed the file between our opening and our locking it.
            if path.exists() and os.path.samestat(os.fstat(descriptor), path.stat()):
                return descriptor
        except BlockingIOError:
            os.close(descriptor)
            raise StoppedError(notice(Code.FOLDER_IN_USE, path, _holder(path))) from None
        except BaseException:
            os.close(descriptor)
            raise
        os.close(descriptor)


def _holder(path: Path) -> str:
    with contextlib.suppress(OSError):
        return plain_bytes(path, 100).decode(errors="replace").strip()
    return ""


if sys.platform == "win32":
    import msvcrt

    def _lock(descriptor: int) -> None:
        os.lseek(descriptor, 1 << 20, os.SEEK_SET)  # a byte past the text, which others may then still read
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError as problem:
            raise BlockingIOError(*problem.args) from None

else:
    import fcntl

    def _lock(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
