"""The spec cards: the sheet of every size as a page of a PDF file, for printing without a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import sqrt

from grading.engine.run import SizeRun
from grading.outputs.drawing import Align, Box, Drawing, Mark, Role, Text, line, paragraph, rectangle
from grading.outputs.fonts import ASCENT, DESCENT, LINE_SPACING, wrapped
from grading.outputs.paper import PAPERS, Printing, Sheet
from grading.outputs.pdf import About, pdf_bytes
from grading.outputs.sheets import Bookmark, Page
from grading.outputs.size_sheet import PICTURE, Part, Row, SizeSheet, size_sheets
from grading.outputs.styles import Styles
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
    rows = _table(content.parts, area, height, unit)
    while rows.box.bottom < area.bottom:
        # Both the lines' height and their number shrink with the type, the latter in steps.
        height *= min(0.98, sqrt(area.height / rows.box.height))
        rows = _table(content.parts, area, height, unit)
    return Drawing((title,)) + facts + picture + rows + footer


def _table(parts: Iterable[Part], area: Box, height: float, unit: str) -> Drawing:
    """Headings and rows, hung from the top of the area, with capitals of that height."""
    widths = [width * height for width in _COLUMNS]
    lefts = [area.left + sum(widths[:column]) for column in range(len(widths) + 1)]
    shades: list[Mark] = []
    marks: list[Mark] = []
    y = area.top
    for part in parts:
        if not part.rows:
            continue
        mark, name, *figures, words = part.headings
        y, cells = _row([mark, name, *figures, words], lefts, area.right, y, height, bold=True)
        top = max(text.box.top for text in cells)
        shades.append(rectangle(Box(area.left, y, area.right, top + _PADDING * height), Role.SHADE))
        marks += cells
        for row in part.rows:
            shown = [row.mark, row.name, *_figures(row, unit), row.text]
            y, cells = _row(shown, lefts, area.right, y, height, bold=False)
            marks += [*cells, line([(area.left, y), (area.right, y)], Role.REFERENCE_LINE)]
    return Drawing((*shades, *marks))


def _figures(row: Row, unit: str) -> list[str]:
    shown = ["" if value is None else _shown(value, unit) for value in row.figures]
    return [*shown, *[""] * (3 - len(shown))]


def _shown(value: float, unit: str) -> str:
    return str(value) if isinstance(value, int) else f"{value:.{DECIMALS[unit]}f}"


def _row(
    cells: Sequence[str], lefts: Sequence[float], right: float, top: float, height: float, *, bold: bool
) -> tuple[float, list[Text]]:
    """The texts of a row that begins at ``top``, words wrapped in their columns, and where the row ends."""
    style = Text("", 0, 0, height, bold=bold)
    ends = [*lefts[1:], right]
    first = top - (_PADDING + ASCENT) * height
    texts: list[Text] = []
    most = 1
    for column, cell in enumerate(cells):
        left, end = lefts[column], ends[column]
        if 2 <= column < len(cells) - 1:
            texts.append(replace(style, text=cell, x=end - height, y=first, align=Align.RIGHT))
            continue
        lines = wrapped(cell, end - left - height / 2, height, bold)
        most = max(most, len(lines))
        texts += [
            replace(style, text=part, x=left, y=first - i * LINE_SPACING * height) for i, part in enumerate(lines)
        ]
    bottom = first - ((most - 1) * LINE_SPACING + DESCENT + _PADDING) * height
    return bottom, [text for text in texts if text.text]
