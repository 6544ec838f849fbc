"""Every call by which publishing changes or reads a disk."""

from __future__ import annotations

import errno
import hashlib
import os
import stat
from pathlib import Path

__all__ = ["Disk", "checksum", "hidden", "make_folders", "plain_bytes", "put", "sum_on_disk"]

#: A link that somebody laid where the program writes is not followed.
_NO_LINKS = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)


class Disk:
    """The calls that change a disk, each of which a test can let fail."""

    def make_folder(self, path: Path) -> None:
        path.mkdir(exist_ok=True)

    def remove_folder(self, path: Path) -> None:
        path.rmdir()

    def write(self, path: Path, content: bytes) -> None:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | _NO_LINKS, 0o666)
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)

    def sync(self, path: Path) -> None:
        """Wait until a file, or a folder's list of names, is safe from a power cut."""
        if path.is_dir():
            if os.name == "nt":  # has no such call for folders
                return
            descriptor = os.open(path, os.O_RDONLY)
        else:
            descriptor = os.open(path, os.O_RDWR | _NO_LINKS)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)

    def rename(self, source: Path, target: Path) -> None:
        source.replace(target)

    def unlink(self, path: Path) -> None:
        path.unlink()

    def open(self, path: Path) -> int:
        """The descriptor of a file that is made if it is not there."""
        return os.open(path, os.O_RDWR | os.O_CREAT | _NO_LINKS, 0o666)

    def put_into(self, descriptor: int, content: bytes) -> None:
        """Let an open file hold this and nothing else."""
        os.lseek(descriptor, 0, os.SEEK_SET)
        os.ftruncate(descriptor, 0)
        os.write(descriptor, content)


def hidden(place: Path, ending: str = "new") -> Path:
    """The path beside a file where its new content waits, or with the ending 'old' its old one is kept meanwhile."""
    return place.with_name(f".{place.name}.grading-{ending}")


def make_folders(folder: Path, disk: Disk, made: list[Path]) -> None:
    """Make a folder and those above it; each that was not there is added to ``made`` first."""
    for missing in reversed([path for path in (folder, *folder.parents) if not path.exists()]):
        made.append(missing)
        disk.make_folder(missing)


def put(path: Path, content: bytes, disk: Disk) -> None:
    """Write a file, wait until it is safe, and see that it reads back. Raises OSError if not."""
    disk.write(path, content)
    disk.sync(path)
    if path.read_bytes() != content:
        raise OSError(errno.EIO, "what was written does not read back")


def checksum(content: bytes) -> str:
    """The SHA-256 sum of some bytes."""
    return hashlib.sha256(content).hexdigest()


def sum_on_disk(path: Path) -> str | None:
    """The SHA-256 sum of a file, ``None`` where there is no such file. Raises OSError for what is no plain file."""
    try:
        _see_plain(path)
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return None


def plain_bytes(path: Path, most: int) -> bytes:
    """The bytes of a plain file, but no more than ``most`` and one.

    Raises OSError for what is no plain file, and what cannot be read.
    """
    _see_plain(path)
    with path.open("rb") as file:
        return file.read(most + 1)


def _see_plain(path: Path) -> None:
    """Raises OSError for what is no plain file: reading a pipe may wait for ever, and a device may never end."""
    kind = path.stat().st_mode
    if stat.S_ISDIR(kind):
        raise OSError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    if not stat.S_ISREG(kind):
        raise OSError(errno.EINVAL, "this is no file, but a pipe or a device", str(path))
