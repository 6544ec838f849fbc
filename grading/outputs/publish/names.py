"""Names of outputs: which of them any system can hold, and what a second file of one name is called."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path, PurePosixPath

__all__ = ["backup_name", "is_inside", "is_twin", "name_beside"]

_RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)  # Windows' devices


def is_inside(name: str) -> bool:
    """Whether a name stays in its folder and can be held by Linux, macOS and Windows alike.

    >>> is_inside("patterns/8.pdf"), is_inside("../8.pdf"), is_inside("con.pdf")
    (True, False, False)
    """
    return all(
        part == part.strip()
        and not part.endswith(".")
        and not part.startswith((".", "~$"))
        and not re.search(r'[\x00-\x1f<>:"|?*\\\ud800-\udfff]', part)
        and not _RESERVED.fullmatch(part)
        and 0 < len(part.encode("utf-8", "replace")) <= 200
        for part in name.split("/")
    )


def name_beside(name: str, free: Callable[[str], bool]) -> str:
    """The first of 'NAME (new)', 'NAME (new 2)' and so on that is ``free``."""
    return next(beside for beside in _variants(name, "new") if free(beside))


def backup_name(folder: Path, name: str, day: str) -> str:
    """The first of 'NAME (backup DAY)', 'NAME (backup DAY 2)' and so on that nothing in the folder has."""
    return next(free for free in _variants(name, f"backup {day}") if not os.path.lexists(folder / free))


def is_twin(folder: Path, name: str, others: Iterable[str]) -> bool:
    """Whether a name is another spelling of one of ``others``, on a disk to which case is the same."""
    twins = [folder / other for other in others if other.casefold() == name.casefold()]
    place = folder / name
    return any(place.exists() and twin.exists() and place.samefile(twin) for twin in twins)


def _variants(name: str, word: str) -> Iterator[str]:
    path, number = PurePosixPath(name), 1
    while True:
        counted = word if number == 1 else f"{word} {number}"
        yield str(path.with_name(f"{path.stem} ({counted}){path.suffix}"))
        number += 1
