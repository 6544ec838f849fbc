"""Write files where nothing stands yet: all of them or none, and never over anything.

Each file is written under a hidden name first and gets its own when it is whole, so that a program that is ended
midway leaves no half or empty file, and can be run again: what stands there to the byte is as good as written.
"""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path

from grading.codes import Code
from grading.findings import Finding, Place
from grading.publish.disk import Disk, hidden, make_folders, put

__all__ = ["may_begin", "write_fresh"]

#: So many names are listed, then how many more.
_LISTED = 5


def may_begin(folder: Path, files: Mapping[Path, bytes]) -> list[Finding]:
    """An error if ``files`` may not be written into a folder, since something else is there; else nothing.

    Some of the files, to the byte, may be there: a program that was ended midway has left them. All of them may not.
    """
    try:
        there = set(_standing_in(folder, files))
        ours = {path for path in there if path in files and _holds(path, files[path])}
    except NotADirectoryError:
        return [_not_empty(f"{folder} is a file.", "Name another folder.")]
    except OSError as problem:
        return [_not_empty(f"The folder {folder} cannot be looked into ({problem.strerror}).", "Name another folder.")]
    begun = bool(ours) and len(ours) < len(files)
    if not there or (begun and there == ours):
        return []
    action = "Name another folder."
    if begun:
        action += (
            f" Or move away what is not the program's, and it goes on where it ended: {_first_names(there - ours)}."
        )
    return [_not_empty(f"There is something in the folder {folder} already.", action)]


def write_fresh(files: Mapping[Path, bytes]) -> list[Finding]:
    """Write each file at its path, with the folders it needs; if one cannot be, because something is there, none is.

    A file that holds those very bytes already is left as it is.

    >>> print(write_fresh({Path(__file__): b""})[0].code)
    file-exists
    """
    made: list[Path] = []
    try:
        there = {path for path in files if os.path.lexists(path)}
        if taken := [path for path in there if not _holds(path, files[path])]:
            return [_already_there(_first_names(taken))]
        for path in files:
            with contextlib.suppress(FileNotFoundError, NotADirectoryError):
                hidden(path).unlink()  # left by a program that was ended
        missing = [path for path in files if path not in there]
        for path in missing:
            make_folders(path.parent, Disk(), made)
            made.append(hidden(path))
            put(hidden(path), files[path], Disk())
        for path in missing:
            _give_name(hidden(path), path)
            made.append(path)
    except OSError as problem:
        for path in reversed(made):
            with contextlib.suppress(OSError):
                path.rmdir() if path.is_dir() else path.unlink()
        if isinstance(problem, FileExistsError):
            return [_already_there(str(problem.filename2 or problem.filename))]
        found = f"{problem.filename or 'A file'} cannot be written ({problem.strerror})."
        action = "Check the folder, its permissions and the room on the disk."
        return [Finding.error(Code.CANNOT_WRITE, Place(), found, "Nothing was written.", action)]
    return []


def _standing_in(folder: Path, files: Collection[Path]) -> Iterator[Path]:
    """What stands in the folder and in those of the files, without hidden files that are being written."""
    folders = {folder, *(path.parent for path in files)}
    for inner in folders:
        if inner.exists():
            yield from {*inner.iterdir()} - folders - {hidden(path) for path in files}


def _holds(path: Path, content: bytes) -> bool:
    return path.is_file() and path.stat().st_size == len(content) and path.read_bytes() == content


def _give_name(waiting: Path, path: Path) -> None:
    """Give a file that is written its name. Raises FileExistsError where another has it by now."""
    try:
        path.hardlink_to(waiting)
    except FileExistsError:
        raise
    except OSError:  # a disk that has no second names
        if os.path.lexists(path):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path)) from None
        waiting.rename(path)
    else:
        waiting.unlink()


def _first_names(paths: Collection[Path]) -> str:
    names = sorted(map(str, paths))
    more = f" and {len(names) - _LISTED} more" if len(names) > _LISTED else ""
    return ", ".join(names[:_LISTED]) + more


def _already_there(names: str) -> Finding:
    found, expected = f"Already there: {names}.", "A new name: what you may have tuned is never written over."
    return Finding.error(
        Code.FILE_EXISTS, Place(), found, expected, "Name another behind --out, or move away what is there."
    )


def _not_empty(found: str, action: str) -> Finding:
    expected = "An empty folder, or one that is not there yet: nothing is written over or between what you have."
    return Finding.error(Code.FOLDER_NOT_EMPTY, Place(), found, expected, action)
