"""Names of files and folders that every system can hold, made from the names of groups and sizes."""

from __future__ import annotations

import re
from collections.abc import Iterable

__all__ = ["file_name"]

#: What some system forbids in a name: separators, wildcards, quotes, control characters.
_FORBIDDEN = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f\ud800-\udfff]')
#: Device names of Windows, with or without an ending.
_RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)
#: Bytes of UTF-8: endings and '(2)' still fit into the 255 that file systems allow.
_LONGEST = 120


def file_name(wanted: str, taken: Iterable[str], otherwise: str) -> str:
    """The nearest name to ``wanted`` that is none of those taken, whatever the case; ``otherwise`` if none is left.

    >>> file_name("8/9", [], "size"), file_name("..", [], "size"), file_name("a", ["A"], "size")
    ('8-9', 'size', 'a (2)')
    """
    kept = " ".join(_FORBIDDEN.sub("-", wanted).split()).strip(". ")
    stem = kept.encode()[:_LONGEST].decode(errors="ignore").rstrip(". ") or otherwise
    if _RESERVED.fullmatch(stem):
        stem = f"{stem}_"
    used = {name.casefold() for name in taken}
    name, number = stem, 2
    while name.casefold() in used:
        name, number = f"{stem} ({number})", number + 1
    return name
