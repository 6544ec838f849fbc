"""Names of files and folders that every system can hold, and what a second file of one name is called."""

from __future__ import annotations

import datetime as dt
import os
import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path, PurePosixPath

__all__ = ["any_case", "backup_name", "file_name", "has_link", "is_inside", "is_twin", "name_beside"]

#: What some system forbids in a name: separators, wildcards, quotes, control characters.
_FORBIDDEN = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f\ud800-\udfff]')
#: Device names of Windows, with or without an ending.
_RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)
#: Bytes of UTF-8: endings and '(2)' still fit into the 255 that file systems allow.
_LONGEST = 120


def any_case(name: str) -> str:
    """A key that is the same for names which differ by case only, and so are one name on some disks."""
    return name.casefold()


def file_name(wanted: str, taken: Iterable[str], otherwise: str) -> str:
    """A name as near to ``wanted`` as systems allow, that is not taken in any case; ``otherwise`` if nothing is left.

    >>> file_name("8/9", [], "size"), file_name("..", [], "size"), file_name("a", ["A"], "size")
    ('8-9', 'size', 'a (2)')
    """
    kept = " ".join(_FORBIDDEN.sub("-", wanted).split()).strip(". ")
    stem = kept.encode()[:_LONGEST].decode(errors="ignore").rstrip(". ") or otherwise
    if _RESERVED.fullmatch(stem):
        stem = f"{stem}_"
    used = set(map(any_case, taken))
    name, number = stem, 2
    while any_case(name) in used:
        name, number = f"{stem} ({number})", number + 1
    return name


def is_inside(name: str) -> bool:
    """Whether a name stays in its folder and can be held by Linux, macOS and Windows alike.

    >>> is_inside("patterns/8.pdf"), is_inside("../8.pdf"), is_inside("con.pdf")
    (True, False, False)
    """
    return all(
        part == part.strip()
        and not part.endswith(".")
        and not part.startswith((".", "~$"))
        and not _FORBIDDEN.search(part)
        and not _RESERVED.fullmatch(part)
        and 0 < len(part.encode("utf-8", "replace")) <= 200
        for part in name.split("/")
    )


def has_link(folder: Path, name: str) -> bool:
    """Whether one of the folders on the way from ``folder`` to the file of that name is a link."""
    *inner, _ = name.split("/")
    place = folder.resolve().joinpath(*inner)
    return os.path.normcase(place) != os.path.normcase(place.resolve())


def name_beside(name: str, free: Callable[[str], bool]) -> str:
    """The first of 'NAME (new)', 'NAME (new 2)' and so on that is ``free``."""
    return next(beside for beside in _variants(name, "new") if free(beside))


def backup_name(folder: Path, name: str) -> str:
    """The first of 'NAME (backup DAY)', 'NAME (backup DAY 2)' and so on that is free, by the day of its last change."""
    day = dt.datetime.fromtimestamp((folder / name).stat().st_mtime, dt.UTC).date()
    return next(free for free in _variants(name, f"backup {day}") if not os.path.lexists(folder / free))


def is_twin(folder: Path, name: str, others: Iterable[str]) -> bool:
    """Whether a name and one of ``others`` are the same file, on a disk that ignores case."""
    twins = [folder / other for other in others if any_case(other) == any_case(name)]
    place = folder / name
    return any(place.exists() and twin.exists() and place.samefile(twin) for twin in twins)


def _variants(name: str, word: str) -> Iterator[str]:
    path, number = PurePosixPath(name), 1
    while True:
        counted = word if number == 1 else f"{word} {number}"
        yield str(path.with_name(f"{path.stem} ({counted}){path.suffix}"))
        number += 1
