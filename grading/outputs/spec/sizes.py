"""The sheets of sizes, one page each: what an outworker needs to make and measure one size."""

from __future__ import annotations

from grading.drawing.marks import Box
from grading.drawing.picture import png
from grading.drawing.styles import Styles
from grading.outputs.size_sheet import PICTURE, Part, SizeSheet
from grading.outputs.wording import CAUTIONS_IN_SHORT
from grading.workbooks.book import Book, Column, Content, Look, Styled

__all__ = ["size_page"]

_WIDTHS = (7.0, 25.0, 9.0, 7.0, 7.0, 84.0)  # characters: of the mark, the name, three figures and the words
_ACROSS = 1.95  # mm a character of those, the narrowest that a program draws them
_BELOW = 2.0  # mm: programs round a row's height, and a picture must not cover the next
_DOTS_PER_MM = 9.0


def size_page(book: Book, content: SizeSheet) -> str:
    """The page of one size; the name of its sheet."""
    sheet = book.sheet(f"Size {content.size}", one_page=True)
    sheet.title(content.title)
    sheet.note(content.facts)
    width, height = PICTURE
    shown = sum(_WIDTHS) * _ACROSS
    picture = png(content.drawing, Box(0, 0, width, height), Styles(), dots_per_mm=_DOTS_PER_MM)
    sheet.picture(picture, sheet.room_for(shown * height / width + _BELOW), width_mm=shown, instead=content.in_words)
    for part in content.parts:
        looks = (Look.TEXT, Look.TEXT, Look.NUMBER, Look.NUMBER, Look.NUMBER, Look.TEXT)
        columns = [
            Column(heading, look, width) for heading, look, width in zip(part.headings, looks, _WIDTHS, strict=True)
        ]
        name = f"{part.name} {content.size}" if part.name else ""
        sheet.table(columns, _rows(part), name=name)
    sheet.note(CAUTIONS_IN_SHORT)
    return sheet.name


def _rows(part: Part) -> list[list[Content]]:
    rows: list[list[Content]] = []
    for row in part.rows:
        figures = [Styled(value, Look.COUNT) if isinstance(value, int) else value for value in row.figures]
        rows.append([row.mark, row.name, *figures, *[None] * (3 - len(figures)), row.text])
    return rows
