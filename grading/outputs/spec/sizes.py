"""The sheets of sizes: what an outworker needs to make and measure one size, with the same pictures as its card."""

from __future__ import annotations

from functools import lru_cache

from grading.drawing.marks import Box, Drawing, Text
from grading.drawing.picture import png
from grading.drawing.styles import Styles
from grading.drawing.system import LARGE
from grading.model.block import Step
from grading.outputs.size_sheet import PICTURE, SizeSheet
from grading.outputs.steps import STEP
from grading.outputs.wording import CAUTIONS_IN_SHORT
from grading.workbooks.book import Book, Column, Content, Look, Sheet, Styled

__all__ = ["size_page"]

#: Characters: of the mark, the name, three figures and the words. Together no wider than A4 between its margins, so
#: that type is printed as large as it is.
_WIDTHS = (7.0, 22.0, 8.0, 8.0, 8.0, 39.0)
_ACROSS = 1.85  # mm a character of those, the narrowest that a program draws them
_BELOW = 2.0  # mm: programs round a row's height, and a picture must not cover the next
_DOTS_PER_MM = 9.0
#: Steps beside one another, and how far apart, mm.
_BESIDE, _APART = 3, 6.0


def size_page(book: Book, content: SizeSheet, unit: str) -> str:
    """The page of one size; the name of its sheet."""
    sheet = book.sheet(f"Size {content.size}")
    sheet.title(content.title)
    sheet.note(content.facts)
    picture = png(content.picture(PICTURE[1]), Box(0, 0, *PICTURE), Styles(), dots_per_mm=_DOTS_PER_MM)
    _put(sheet, picture, PICTURE, content.in_words)
    figure = Look.SIXTEENTHS if unit == "in" else Look.NUMBER
    for part in content.parts:
        if part is content.making and (drawn := _steps(content.steps)) is not None:
            _put(sheet, *drawn, "What each step sews is bold; its arrow runs from the dot the way it is sewn.")
        looks = (Look.TEXT, Look.TEXT, figure, figure, figure, Look.TEXT)
        columns = [
            Column(heading, look, width) for heading, look, width in zip(part.headings, looks, _WIDTHS, strict=True)
        ]
        name = f"{part.name} {content.size}" if part.name else ""
        sheet.table(columns, [_cells(row.mark, row.name, row.figures, row.text) for row in part.rows], name=name)
    sheet.note(CAUTIONS_IN_SHORT)
    return sheet.name


def _put(sheet: Sheet, picture: bytes, sides: tuple[float, float], told: str) -> None:
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
    across, up = STEP[0] + _APART, STEP[1] + _APART
    every = Drawing()
    for number, (step, drawing) in enumerate(drawn):
        row, column = divmod(number, _BESIDE)
        cell = drawing + Drawing((Text(step.name, 0, STEP[1] - LARGE, LARGE, bold=True),))
        every += cell.moved(column * across, -(row + 1) * up)
    rows = -(-len(drawn) // _BESIDE)
    frame = Box(-1, -rows * up - 1, _BESIDE * across, 0)
    return png(every, frame, Styles(), dots_per_mm=_DOTS_PER_MM), (frame.width, frame.height)


def _cells(mark: str, name: str, figures: tuple[float | int | None, ...], text: str) -> list[Content]:
    shown = [Styled(value, Look.COUNT) if isinstance(value, int) else value for value in figures]
    return [mark, name, *shown, *[None] * (3 - len(shown)), text]
