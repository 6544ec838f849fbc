"""The sheets of sizes: what an outworker needs to make and measure one size, with the same pictures as its card."""

from __future__ import annotations

from functools import lru_cache

from grading.drawing.marks import Box, Drawing, Text
from grading.drawing.picture import png
from grading.drawing.system import LARGE
from grading.model.making import Step
from grading.outputs.size_sheet import LOWER, PICTURE, Section, SizeRow, SizeSheet
from grading.outputs.steps import STEP
from grading.outputs.wording import CAUTIONS_IN_SHORT
from grading.workbooks.book import Book, BookSheet, Content, Heading, Look, Styled

__all__ = ["size_page"]

#: Characters: of the mark, the name, three figures and the words. Together no wider than A4 between its margins, so
#: that type is printed as large as it is.
_WIDTHS = (6.5, 20.0, 8.6, 8.6, 8.6, 46.7)
_ACROSS = 1.8  # mm a character of those, the narrowest that a program draws them
_BELOW = 2.0  # mm: programs round a row's height, and a picture must not cover the next
_DOTS_PER_MM = 9.0
#: Steps stand beside one another as far as this goes, and so far apart, mm.
_ACROSS_STEPS, _APART = 198.0, 4.0


def size_page(book: Book, content: SizeSheet, unit: str) -> str:
    """The page of one size; the name of its sheet."""
    sheet = book.sheet(f"Size {content.size}")
    sheet.title(content.title)
    sheet.note(content.facts)
    width, height = PICTURE[0], LOWER if unit == "in" else PICTURE[1]  # words in inches take more room
    picture = png(content.picture(height), Box(0, 0, width, height), dots_per_mm=_DOTS_PER_MM)
    _put(sheet, picture, (width, height), content.in_words)
    figure = Look.SIXTEENTHS if unit == "in" else Look.NUMBER
    for part in content.parts:
        if part is content.allowances:
            sheet.note(CAUTIONS_IN_SHORT)
            sheet.new_page()  # what is cut and measured on one, how it is made on the other
        if part is content.making and (drawn := _steps(content.steps)) is not None:
            _put(sheet, *drawn, "What each step sews is bold; its arrow runs from the dot the way it is sewn.")
        name = f"{part.name} {content.size}" if part.name else ""
        sheet.table(_columns(part, figure), [_cells(part, row) for row in part.rows], name=name)
    return sheet.name


def _put(sheet: BookSheet, picture: bytes, sides: tuple[float, float], told: str) -> None:
    """A picture over the sheet's whole width."""
    width, height = sides
    shown = sum(_WIDTHS) * _ACROSS
    sheet.picture(picture, sheet.room_for(shown * height / width + _BELOW), width_mm=shown, instead=told)


@lru_cache(maxsize=1)
def _steps(steps: tuple[tuple[Step, Drawing | None], ...]) -> tuple[bytes, tuple[float, float]] | None:
    """The drawings of the steps in rows, each with its number, as one picture, and its sides in mm; it is the same in
    every size.
    """
    drawn = [(step, drawing) for step, drawing in steps if drawing is not None]
    if not drawn:
        return None
    every, left, top = Drawing(), 0.0, 0.0
    for step, drawing in drawn:
        number = Text(step.name, 0, STEP[1] - LARGE, LARGE, bold=True)
        cell = Drawing((number,)) + drawing.moved(number.box.right + 1 - drawing.box.left, 0)
        if left + cell.box.width > _ACROSS_STEPS:
            left, top = 0.0, top - STEP[1] - _APART
        every += cell.moved(left - cell.box.left, top - STEP[1])
        left += cell.box.width + _APART
    frame = Box(-1, every.box.bottom - 1, _ACROSS_STEPS + 1, 1)
    return png(every, frame, dots_per_mm=_DOTS_PER_MM), (frame.width, frame.height)


def _columns(part: Section, figure: Look) -> list[Heading]:
    """Those of a part; where it has fewer figures its words take their room too."""
    mark, name, *figures, words = part.headings
    letter, wide, *others, last = _WIDTHS
    count = _figures(part)
    shown = [Heading(heading, figure, width) for heading, width in zip(figures[:count], others, strict=False)]
    free = len(others) - count
    told = Heading(words, span=1 + free) if free else Heading(words, width=last)
    return [Heading(mark, width=letter), Heading(name, width=wide), *shown, told]


def _figures(part: Section) -> int:
    return max(len(row.figures) for row in part.rows)


def _cells(part: Section, row: SizeRow) -> list[Content]:
    shown: list[Content] = [Styled(value, Look.COUNT) if isinstance(value, int) else value for value in row.figures]
    return [row.mark, row.name, *shown, *[None] * (_figures(part) - len(shown)), row.text]
