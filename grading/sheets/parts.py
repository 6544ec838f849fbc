"""The parts of an archive, each read once, in a stream, and only as far as tables can need.

What is counted is what comes out of the archive, whatever it says of itself.
"""

from __future__ import annotations

import zipfile
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, field
from xml.parsers.expat import ParserCreate

from grading.findings import StoppedError
from grading.sheets.grids import Grid
from grading.sheets.refusals import (
    LONGEST_TEXT,
    MOST_COLUMNS,
    MOST_ROWS,
    MOST_UNPACKED_BYTES,
    TEXT_TOO_LONG,
    TOO_MANY_CELLS,
    UNPACKS_TOO_LARGE,
    too_large,
)

__all__ = ["MOST_CELLS", "MOST_SHEETS", "BrokenError", "Parts", "Walker", "hide", "merge", "see_room"]

#: What a hand's tables stay far below, as `refusals` has it.
MOST_SHEETS, _MOST_MERGES = 500, 1_000
#: Elements in all, the reader's work: a filled cell has two or three, a blank but formatted row or cell one.
_MOST_ELEMENTS, MOST_CELLS = 800_000, 250_000
#: Characters of all cells as they are shown.
_MOST_TEXT = 10_000_000
#: Bytes of one tag or remark, and what is taken from the archive at a time.
_LONGEST_TAG, _CHUNK = 1_000_000, 1 << 16


class BrokenError(Exception):
    """A part that is missing or does not say what it must."""


@dataclass(eq=False)
class Walker(ABC):
    """Receives the elements of a part. Characters are collected in ``texts`` while it is a list."""

    texts: list[str] | None = field(default=None, init=False)
    length: int = field(default=0, init=False)

    @abstractmethod
    def start(self, tag: str, has: Mapping[str, str]) -> None:
        """Called where an element begins, with its attributes."""

    def end(self, tag: str) -> None:  # noqa: B027
        """Called where an element ends: most need nothing of it."""

    def begin_text(self) -> None:
        self.texts, self.length = [], 0

    def taken_text(self) -> str:
        text, self.texts = "".join(self.texts or ()), None
        return text


class Parts:
    """The archive's parts, and counts of what was read of all of them."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self.archive = archive
        self.inflated = self.elements = self.cells = self.characters = 0

    def count(self, value: object) -> None:
        """Count a cell and its text. Raises StoppedError for one too many."""
        self.cells += 1
        if self.cells > MOST_CELLS:
            raise StoppedError(TOO_MANY_CELLS)
        self.characters += len(value) if isinstance(value, str) else 0
        if self.characters > _MOST_TEXT:
            raise StoppedError(TEXT_TOO_LONG)

    def walk(self, part: str, walker: Walker) -> None:
        """Read a part once from end to end."""
        parser = ParserCreate()
        parser.buffer_text = True
        begun, heard = 0, 0

        def root(tag: str, has: dict[str, str]) -> None:
            if prefix := tag[: tag.rfind(":") + 1]:
                parser.StartElementHandler = lambda tag, has: start(tag.removeprefix(prefix), has)
                parser.EndElementHandler = lambda tag: walker.end(tag.removeprefix(prefix))
            else:
                parser.StartElementHandler, parser.EndElementHandler = start, walker.end
            start(tag.removeprefix(prefix), has)

        def start(tag: str, has: dict[str, str]) -> None:
            nonlocal begun
            begun += 1
            walker.start(tag, has)

        def characters(text: str) -> None:
            nonlocal heard
            heard += 1
            if walker.texts is not None:
                walker.texts.append(text)
                walker.length += len(text)
                if walker.length > LONGEST_TEXT:
                    raise StoppedError(TEXT_TOO_LONG)

        parser.StartElementHandler = root
        parser.CharacterDataHandler = characters
        parser.StartDoctypeDeclHandler = _no_types  # and so no entities of its own
        waiting = 0
        with self.archive.open(part) as stream:
            while chunk := stream.read(_CHUNK):
                self.inflated += len(chunk)
                if self.inflated > MOST_UNPACKED_BYTES:
                    raise StoppedError(UNPACKS_TOO_LARGE)
                before = heard + begun
                parser.Parse(chunk)
                if self.elements + begun > _MOST_ELEMENTS:
                    raise StoppedError(TOO_MANY_CELLS)
                waiting = 0 if heard + begun > before else waiting + len(chunk)
                if waiting > _LONGEST_TAG:
                    raise StoppedError(TEXT_TOO_LONG)
        parser.Parse(b"", True)
        self.elements += begun


def hide(hidden: set[int], first: int, last: int, most: int) -> None:
    """Add hidden rows or columns, as far as tables need any."""
    hidden.update(range(max(first, 1), min(last, most) + 1))


def merge(grid: Grid, left: int, top: int, right: int, bottom: int) -> None:
    """Add a merged range. Raises StoppedError for too many."""
    grid.merges.append((left, top, right, bottom))
    if len(grid.merges) > _MOST_MERGES:
        raise StoppedError(too_large(grid.sheet))


def see_room(grid: Grid, row: int, column: int) -> None:
    """Raises StoppedError for a cell that lies outside of what tables need."""
    if row > MOST_ROWS or column > MOST_COLUMNS:
        raise StoppedError(too_large(grid.sheet))


def _no_types(*_: object) -> None:
    raise BrokenError("a document type")
