"""Write files where nothing stands yet: all of them or none, and never over anything."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from pathlib import Path

from grading.findings import Finding, Place, Severity

__all__ = ["is_empty", "write_fresh"]


def is_empty(folder: Path) -> list[Finding]:
    """A finding if a folder holds anything, or is no folder; none if it is empty or not there yet."""
    try:
        if not folder.exists() or not any(folder.iterdir()):
            return []
        found = f"There is something in the folder {folder} already."
    except NotADirectoryError:
        found = f"{folder} is a file."
    except OSError as problem:
        found = f"The folder {folder} cannot be looked into ({problem.strerror})."
    expected = "An empty folder, or one that is not there yet: nothing is written over or between what you have."
    return [Finding("folder-not-empty", Severity.ERROR, Place(), found, expected, "Name another folder.")]


def write_fresh(files: Mapping[Path, bytes]) -> list[Finding]:
    """Write each file at its path, with the folders it needs; if one is there or cannot be written, none is.

    >>> write_fresh({Path(__file__): b""})[0].code
    'file-exists'
    """
    there = [path for path in files if path.exists()]
    if there:
        names = ", ".join(str(path) for path in there)
        found, expected = (
            f"There is a file {names} already.",
            "A new name: what you may have tuned is never written over.",
        )
        return [Finding("file-exists", Severity.ERROR, Place(), found, expected, "Name another, or move it away.")]
    made: list[Path] = []
    try:
        for path, content in files.items():
            for folder in reversed(path.parents):
                if not folder.exists():
                    folder.mkdir()
                    made.append(folder)
            with path.open("xb") as file:
                made.append(path)
                file.write(content)
    except OSError as problem:
        for path in reversed(made):
            with contextlib.suppress(OSError):
                path.rmdir() if path.is_dir() else path.unlink()
        found = f"{problem.filename or 'A file'} cannot be written ({problem.strerror})."
        action = "Check the folder, its permissions and the room on the disk."
        return [Finding("cannot-write", Severity.ERROR, Place(), found, "Nothing was written.", action)]
    return []
