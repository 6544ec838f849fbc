"""How wide a cell's content is, and how many lines it takes: programs do not fit rows when they open a file."""

from __future__ import annotations

from functools import lru_cache
from typing import Any
from unicodedata import east_asian_width

from grading.workbooks.looks import Look

__all__ = ["lines", "width"]


#: Widths of Arial's letters, thousandths of its size (Adobe's metrics of Helvetica, which are the same, from memory);
#: 556 is a nought's, and that of whatever is not named.
_WIDTHS = {
    letter: width
    for width, letters in {
        191: "'", 222: "ijl", 278: "ftI .,:;/!|[]\\", 333: "r()-`\"", 500: "ckvsxyzJ", 584: "+=<>~\u2212", 611: "FTZ",
        667: "ABEKPSVXY&", 722: "wCDHNRU", 778: "GOQ", 833: "mM", 889: "%", 944: "W", 1015: "@",
    }.items()
    for letter in letters
}  # fmt: skip
_NOUGHT = 556
#: How wide mixed fractions are at most, as "15 15/16" and "+1 15/16".
_MIXED = {Look.SIXTEENTHS: 6.8, Look.SIGNED_SIXTEENTHS: 7.0}
_SPACE = _WIDTHS[" "] / _NOUGHT


def lines(text: str, width: float) -> int:
    """How many lines a text takes, broken between words, where a line has room for ``width`` noughts."""
    count = 0
    for line in text.split("\n"):
        used, count = 0.0, count + 1
        for word in line.split(" "):
            breadth = _breadth(word)
            if used and used + _SPACE + breadth > width:
                used, count = 0.0, count + 1
            used += breadth + (_SPACE if used else 0.0)
            if used > width:  # a long word is broken wherever the line ends
                used, count = used % width, count + int(used // width)
    return count


def width(content: Any, look: Look) -> float:
    """How many noughts wide a cell's content is; a heading may be broken between words."""
    if content is None:
        return 0.0
    if look is Look.HEADING:
        return 1.15 * max((_breadth(word) for word in str(content).split()), default=0.0)
    if isinstance(content, float) and look in _MIXED:
        return _MIXED[look]
    if isinstance(content, float):
        return float(len(f"{content:+.2f}"))
    return 1.06 * max((_breadth(line) for line in str(content).split("\n")), default=0.0)


@lru_cache(maxsize=1 << 14)
def _breadth(text: str) -> float:
    """In noughts."""
    return sum(
        2.0 if not letter.isascii() and east_asian_width(letter) in "WF" else _WIDTHS.get(letter, _NOUGHT) / _NOUGHT
        for letter in text
    )
