"""How wide a cell's content is, and how many lines it takes: programs do not fit rows when they open a file."""

from __future__ import annotations

from functools import lru_cache
from typing import Any
from unicodedata import east_asian_width

from grading.workbooks.looks import Look

__all__ = ["lines", "width"]


def lines(text: str, width: float) -> int:
    """How many lines a text takes where so many characters fit on one, broken between words."""
    count = 0
    for line in text.split("\n"):
        used, count = 0, count + 1
        for word in line.split(" "):
            breadth = _breadth(word)
            if used and used + 1 + breadth > width:
                used, count = 0, count + 1
            used += breadth + (1 if used else 0)
            if used > width:  # a long word is broken wherever the line ends
                used, count = int(used % width), count + int(used // width)
    return count


def width(content: Any, look: Look) -> float:
    """How many characters wide a cell's content is; a heading may be broken between words."""
    if content is None:
        return 0.0
    if look is Look.HEADING:
        return 1.15 * max((_breadth(word) for word in str(content).split()), default=0)
    if isinstance(content, float):
        return len(f"{content:+.2f}") + 1
    return 1.05 * max((_breadth(line) for line in str(content).split("\n")), default=0)


@lru_cache(maxsize=1 << 14)
def _breadth(text: str) -> int:
    return len(text) if text.isascii() else sum(2 if east_asian_width(character) in "WF" else 1 for character in text)
