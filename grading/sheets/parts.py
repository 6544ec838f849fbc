"""The parts of an archive, each read once, in a stream, and only as far as tables can need.

What is counted is what comes out of the archive, whatever it says of itself.
"""

from __future__ import annotations

import zipfile
from abc import ABC, abstractmethod
from collections.abc import Mapping
from xml.parsers.expat import ParserCreate

from grading.sheets.refusals import text_too_long, too_many_cells, unpacks_too_large

__all__ = ["MAX_COLUMNS", "MAX_ROWS", "BrokenError", "Parts", "Walker"]

#: What a hand's tables stay far below; anything over is refused before it can fill the memory.
MAX_UNPACKED_BYTES, MAX_SHEETS = 60_000_000, 500
MAX_ROWS, MAX_COLUMNS, MAX_MERGES = 5_000, 200, 1_000
#: Elements in all, the reader's work: a filled cell has two or three, a blank but formatted row or cell one.
MAX_ELEMENTS, MAX_CELLS = 800_000, 250_000
#: Characters: of one cell as in ISO/IEC 29500-1, 18.3.1.40 and by common practice; of all cells as they are shown.
MAX_TEXT, MAX_ALL_TEXT = 32_767, 10_000_000
#: Bytes of one tag or remark, and what is taken from the archive at a time.
_LONGEST_TAG, _CHUNK = 1_000_000, 1 << 16


class BrokenError(Exception):
    """A part that is missing or does not say what it must."""


class Walker(ABC):
    """What is called for each element of a part. ``texts`` collects characters while it is a list."""

    def __init__(self) -> None:
        self.texts: list[str] | None = None
        self.length = 0

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
    """The archive's parts, and what was read of them all together."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self.archive = archive
        self.inflated = self.elements = self.cells = self.characters = 0

    def count(self, value: object) -> None:
        """Count a cell and its text. Raises RefusedError for one too many."""
        self.cells += 1
        if self.cells > MAX_CELLS:
            raise too_many_cells()
        self.characters += len(value) if isinstance(value, str) else 0
        if self.characters > MAX_ALL_TEXT:
            raise text_too_long(MAX_TEXT)

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
                if walker.length > MAX_TEXT:
                    raise text_too_long(MAX_TEXT)

        parser.StartElementHandler = root
        parser.CharacterDataHandler = characters
        parser.StartDoctypeDeclHandler = _no_types  # and so no entities of its own
        waiting = 0
        with self.archive.open(part) as stream:
            while chunk := stream.read(_CHUNK):
                self.inflated += len(chunk)
                if self.inflated > MAX_UNPACKED_BYTES:
                    raise unpacks_too_large(MAX_UNPACKED_BYTES)
                before = heard + begun
                parser.Parse(chunk)
                if self.elements + begun > MAX_ELEMENTS:
                    raise too_many_cells()
                waiting = 0 if heard + begun > before else waiting + len(chunk)
                if waiting > _LONGEST_TAG:
                    raise text_too_long(MAX_TEXT)
        parser.Parse(b"", True)
        self.elements += begun


def _no_types(*_: object) -> None:
    raise BrokenError("a document type")
