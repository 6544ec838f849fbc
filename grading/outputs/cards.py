"""The spec cards: the sheet of every size as a page of a PDF file, for printing without a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import sqrt

from grading.drawing.fonts import ASCENT, DESCENT, LINE_SPACING, wrapped
from grading.drawing.marks import Align, Box, Drawing, Mark, Role, Text, line, paragraph, rectangle
from grading.drawing.pages import Bookmark, Page
from grading.drawing.paper import PAPERS, Printing, Sheet
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.styles import Styles
from grading.engine.run import SizeRun
from grading.outputs.size_sheet import PICTURE, Part, Row, SizeSheet, size_sheets
from grading.outputs.wording import CAUTIONS_IN_SHORT
from grading.units import DECIMALS

__all__ = ["card", "cards"]

_TITLE = Text("", 0, 0, 3.2, bold=True)
_FACTS = Text("", 0, 0, 1.8)
_FOOTER = Text("", 0, 0, 1.6)
_GAP = 2.0
#: Height of capitals in the rows: as large as the page allows up to the first.
_TALLEST = 2.1
#: Width of the columns before the words, in heights of capitals.
_COLUMNS = (5.6, 17.5, 6.0, 4.8, 4.8)
_PADDING = 0.35  # of the height of capitals, above and below each row


def cards(run: SizeRun, printing: Printing, *, run_id: str, unit: str) -> bytes:
    """The cards of all sizes as a PDF file, one page each."""
    # A sheet cut to fit is for patterns; a card goes with the work.
    paper = replace(printing, paper=PAPERS["a4"]) if printing.paper.to_fit else printing
    sheet = paper.upright()
    pages = [
        Page(sheet, card(content, sheet, unit), bookmarks=(Bookmark(content.title),))
        for content in size_sheets(run, run_id=run_id, unit=unit, date=run.block.date)
    ]
    title = f"{run.block.name} · {run.group} · spec cards"
    about = About(title, subject=f"Spec cards, run {run_id}", keywords=("mitten", "spec sheet", run.group, run_id))
    return pdf_bytes(pages, Styles(), about)


def card(content: SizeSheet, sheet: Sheet, unit: str) -> Drawing:
    """One size on one sheet, its rows in the largest type that leaves room for all of them."""
    inside = sheet.printable
    title = replace(_TITLE, text=content.title, x=inside.left, y=inside.top - ASCENT * _TITLE.height)
    facts = paragraph([content.facts], inside.left, title.box.bottom, inside.width, _FACTS)
    drawn = content.drawing
    top = facts.box.bottom - _GAP
    picture = drawn.moved(inside.left + (inside.width - PICTURE[0]) / 2, top - drawn.box.top)
    footer = paragraph([CAUTIONS_IN_SHORT], inside.left, 0, inside.width, _FOOTER)
    footer = footer.moved(0, inside.bottom - footer.box.bottom)
    area = Box(inside.left, footer.box.top + _GAP, inside.right, picture.box.bottom - _GAP)
    height = _TALLEST
    rows = _rows(content.parts, area.width, height, unit)
    while (depth := sum(row.depth for row in rows)) > area.height:
        # Both the lines' height and their number shrink with the type, the latter in steps.
        height *= min(0.98, sqrt(area.height / depth))
        rows = _rows(content.parts, area.width, height, unit)
    return Drawing((title,)) + facts + picture + _table(rows, area) + footer


@dataclass(frozen=True, slots=True)
class _Row:
    """The cells of a row, each in the lines it takes, and their height of capitals."""

    cells: tuple[list[str], ...]
    height: float
    heading: bool

    @property
    def depth(self) -> float:
        """From the top of the row to that of the next."""
        lines = max(len(cell) for cell in self.cells)
        return (2 * _PADDING + ASCENT + DESCENT + (lines - 1) * LINE_SPACING) * self.height


def _rows(parts: Iterable[Part], width: float, height: float, unit: str) -> list[_Row]:
    """Headings and rows with capitals of that height, names and words wrapped in their columns."""
    rows = []
    for part in parts:
        if part.rows:
            rows.append(_row(part.headings, width, height, heading=True))
        for row in part.rows:
            rows.append(_row([row.mark, row.name, *_figures(row, unit), row.text], width, height, heading=False))
    return rows


def _row(cells: Sequence[str], width: float, height: float, *, heading: bool) -> _Row:
    mark, name, *figures, words = cells
    first, second = (_COLUMNS[column] * height for column in (0, 1))
    rest = width - sum(_COLUMNS) * height

    def lines(cell: str, room: float) -> list[str]:
        return wrapped(cell, room - height / 2, height, heading)

    wide = (lines(mark, first), lines(name, second), *([figure] for figure in figures), lines(words, rest))
    return _Row(wide, height, heading)


def _table(rows: Iterable[_Row], area: Box) -> Drawing:
    """The rows, hung from the top of the area."""
    shades: list[Mark] = []
    marks: list[Mark] = []
    top = area.top
    for row in rows:
        bottom = top - row.depth
        if row.heading:
            shades.append(rectangle(Box(area.left, bottom, area.right, top), Role.SHADE))
        marks += _texts(row, area.left, top)
        if not row.heading:
            marks.append(line([(area.left, bottom), (area.right, bottom)], Role.REFERENCE_LINE))
        top = bottom
    return Drawing((*shades, *marks))


def _texts(row: _Row, left: float, top: float) -> Iterator[Text]:
    """Words begin at the left edge of their column, figures end near its right one."""
    height = row.height
    first = top - (_PADDING + ASCENT) * height
    for column, cell in enumerate(row.cells):
        figure = 2 <= column < len(row.cells) - 1
        x = left + sum(_COLUMNS[: column + figure]) * height - figure * height
        for number, text in enumerate(cell):
            if text:
                y = first - number * LINE_SPACING * height
                yield Text(text, x, y, height, align=Align.RIGHT if figure else Align.LEFT, bold=row.heading)


def _figures(row: Row, unit: str) -> list[str]:
    shown = ["" if value is None else _shown(value, unit) for value in row.figures]
    return [*shown, *[""] * (3 - len(shown))]


def _shown(value: float, unit: str) -> str:
    return str(value) if isinstance(value, int) else f"{value:.{DECIMALS[unit]}f}"
