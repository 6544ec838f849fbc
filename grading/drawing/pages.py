"""Sheets of paper round drawings: a title block at the lower right, check bars at the left, the rest for the work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import pi

from grading.drawing.fonts import ASCENT, DESCENT, text_width
from grading.drawing.marks import Align, Box, Drawing, Mark, Role, Text, line, paragraph, rectangle
from grading.drawing.paper import PaperSheet, Printing
from grading.drawing.system import LARGE, LARGEST, PLAIN, SMALL

__all__ = [
    "GAP",
    "Bookmark",
    "Frame",
    "Page",
    "PageContent",
    "Placed",
    "PlainFrame",
    "TitleBlock",
    "frame_around",
    "frames",
    "numbered",
]

#: What is kept free between things on a sheet, mm.
GAP = 2.5
_TEXT = Text("", 0, 0, SMALL)
_INCH = 25.4
_TICK = 1.25
#: The columns of the title block, mm: what the sheet is, and the size with the number of the sheet.
_WORDS, _SIZE = 64.5, 25.5
_INSIDE = 1.2
#: The bar up and the column that it stands in, with its label over it, mm.
_UP_COLUMN, _UP_LENGTH = 2 * _TICK + GAP, 118.0
#: A place to write on, where the block has no date.
_BLANK = "date __________"


@dataclass(frozen=True)
class Bookmark:
    """An entry in the list that a reader shows beside the pages; level 1 stands under the level 0 before it."""

    title: str
    level: int = 0


@dataclass(frozen=True, eq=False)
class Placed:
    """A drawing moved to its place on a page, and the window of the page (mm) in which it shows."""

    drawing: Drawing
    dx: float
    dy: float
    window: Box


@dataclass(frozen=True, eq=False)
class Page:
    """One sheet with marks in its own mm, over drawings that other pages may share."""

    sheet: PaperSheet
    drawing: Drawing
    placed: tuple[Placed, ...] = ()
    bookmarks: tuple[Bookmark, ...] = ()


@dataclass(frozen=True)
class TitleBlock:
    """What every sheet of a document states of itself: fields that ISO 7200 lists (from memory), where they apply.

    ``document`` is what kind of sheet it is. Whatever is blank is left out, but for the date, which is then a line to
    write on.
    """

    document: str
    style: str
    group: str = ""
    piece: str = ""
    size: str = ""
    hand: str = ""
    face: str = ""
    scale: str = "1 : 1"
    date: str = ""
    run: str = ""

    def rows(self) -> list[str]:
        """The lines of the block's wide column."""
        return [
            _in_one_line(self.style, self.group, self.document),
            _in_one_line(self.piece, self.hand, f"{self.face} up" if self.face else ""),
            _in_one_line(self.scale, self.date or _BLANK, f"run {self.run}" if self.run else ""),
        ]


def _in_one_line(*words: str) -> str:
    return " · ".join(word for word in words if word)


@dataclass(frozen=True)
class Frame:
    """A sheet with its title block and its check bars; ``area`` is what they leave.

    ``told`` stands over the check bars: how to print, or what the print has been corrected for.
    """

    sheet: PaperSheet
    title: TitleBlock
    told: str = "Print at 100 %; measure both bars."

    @cached_property
    def block(self) -> Box:
        """Where the title block stands."""
        inside = self.sheet.printable
        tallest = Box(0, 0, 0, (ASCENT + DESCENT) * LARGEST)
        size = self._size(0.0, 0.0).box if self.title.size else tallest
        number = (ASCENT + DESCENT) * SMALL
        height = max(self._words(0.0, 0.0).box.height, max(size.height, tallest.height) + number) + 0.8
        return Box(inside.right - _WORDS - _SIZE, inside.bottom, inside.right, inside.bottom + height)

    @cached_property
    def area(self) -> Box:
        """Where the drawing goes: over the title block and beside the upright check bar."""
        inside = self.sheet.printable
        return Box(inside.left + _UP_COLUMN, self.block.top + GAP / 2, inside.right, inside.top)

    def entitled(self, title: TitleBlock) -> Frame:
        """The same sheet and area with a title block that states other things, and takes no more room."""
        other = replace(self, title=title)
        vars(other)["area"], vars(other)["block"] = self.area, self.block
        return other

    def furniture(self, number: int, sheets: int) -> Drawing:
        """The title block and the check bars of sheet ``number``, counted from 1, of ``sheets``."""
        return self._title(number, sheets) + self._bars()

    def _words(self, left: float, top: float) -> Drawing:
        first, *others = self.title.rows()
        rows = [row for row in others if row]
        head = paragraph([first], left + _INSIDE, top, _WORDS - 2 * _INSIDE, replace(_TEXT, bold=True))
        return head + paragraph(rows, left + _INSIDE, head.box.bottom, _WORDS - 2 * _INSIDE, _TEXT)

    def _size(self, middle: float, top: float) -> Drawing:
        """The size in the largest letters that its column has room for, wrapped where it is no size but words."""
        size = self.title.size
        height = next((h for h in (LARGEST, LARGE, PLAIN) if text_width(size, h, True) < _SIZE - 2), SMALL)
        return paragraph([size], middle, top, _SIZE - 2, Text("", 0, 0, height, align=Align.CENTRE, bold=True))

    def _title(self, number: int, sheets: int) -> Drawing:
        box, title = self.block, self.title
        across = box.left + _WORDS
        middle = (across + box.right) / 2
        marks: list[Mark] = [rectangle(box, Role.FRAME), line([(across, box.bottom), (across, box.top)], Role.RULE)]
        marks += self._words(box.left, box.top - 0.4).marks
        below = box.bottom + 0.4 + DESCENT * SMALL
        marks.append(replace(_TEXT, text=f"sheet {number} of {sheets}", x=middle, y=below, align=Align.CENTRE))
        if title.size:
            marks += self._size(middle, box.top - 0.4).marks
        return Drawing(tuple(marks))

    def _bars(self) -> Drawing:
        """One bar of 100 mm across, 4 in on its other side, and one of 100 mm up, from a common corner."""
        inside = self.sheet.printable
        x, y = inside.left + _TICK, inside.bottom + 2 * _TICK + SMALL
        right = x + 100
        told = replace(_TEXT, text=self.told, x=x + 2, y=y + 2.2)
        marks: list[Mark] = [
            line([(x, y), (right, y)], Role.CHECK_BAR),
            line([(x, y), (x + 4 * _INCH, y)], Role.CHECK_BAR),
            line([(right, y), (right, y + _TICK)], Role.CHECK_BAR),
            line([(x + 4 * _INCH, y), (x + 4 * _INCH, y - _TICK)], Role.CHECK_BAR),
            line([(x, y - _TICK), (x, y + _TICK)], Role.CHECK_BAR),
            told,
            replace(_TEXT, text="100 mm above, 4 in below", x=right - 1, y=y - 1.2 - SMALL, align=Align.RIGHT),
        ]
        low = self.block.top + GAP / 2 + _TICK
        marks += [
            line([(x, low), (x, low + 100)], Role.CHECK_BAR),
            *(line([(x - _TICK, at), (x + _TICK, at)], Role.CHECK_BAR) for at in (low, low + 100)),
            replace(_TEXT, text="100 mm", x=inside.left + ASCENT * SMALL, y=low + 102, angle=pi / 2),
        ]
        return Drawing(tuple(marks))


class PlainFrame(Frame):
    """A sheet that is read, and nothing measured on it: without check bars."""

    @cached_property
    def area(self) -> Box:
        inside = self.sheet.printable
        return Box(inside.left, self.block.top + GAP, inside.right, inside.top)

    @property
    def foot(self) -> Box:
        """What is left beside the title block."""
        inside = self.sheet.printable
        return Box(inside.left, inside.bottom, self.block.left - GAP, self.block.top)

    def furniture(self, number: int, sheets: int) -> Drawing:
        return self._title(number, sheets)


@dataclass(frozen=True, eq=False)
class PageContent:
    """What goes on one sheet, before sheets are counted: its frame, what lies in its area, and its bookmarks."""

    frame: Frame
    placed: tuple[Placed, ...] = ()
    drawing: Drawing = field(default_factory=Drawing)
    bookmarks: tuple[Bookmark, ...] = ()


def frames(printing: Printing, title: TitleBlock) -> tuple[Frame, Frame]:
    """An upright sheet and a lying one, with check bars where there is a scale that they prove."""
    upright, lying = (_frame(sheet, printing, title) for sheet in (printing.upright(), printing.lying()))
    return upright, lying


def _frame(sheet: PaperSheet, printing: Printing, title: TitleBlock) -> Frame:
    return (Frame if title.scale else PlainFrame)(sheet, title, printing.told or Frame.told)


def frame_around(printing: Printing, title: TitleBlock, width: float, height: float) -> Frame:
    """A sheet cut to fit whose area holds ``width`` × ``height`` mm, as far as the paper goes."""
    strip = _frame(printing.around(_WORDS + _SIZE, _UP_LENGTH), printing, title)
    other = strip.sheet.printable.height - strip.area.height
    if not title.scale:
        return _frame(printing.around(max(width, _WORDS + _SIZE), other + height), printing, title)
    across = max(width + _UP_COLUMN, 4 * _INCH + 2 * GAP + _WORDS + _SIZE)
    return _frame(printing.around(across, other + max(height, _UP_LENGTH)), printing, title)


def numbered(contents: Sequence[PageContent]) -> list[Page]:
    """The sheets as pages, each with its number and how many there are."""
    furnished = ((one, one.frame.furniture(number, len(contents))) for number, one in enumerate(contents, 1))
    return [Page(one.frame.sheet, block + one.drawing, one.placed, one.bookmarks) for one, block in furnished]
