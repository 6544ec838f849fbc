"""The spec cards: each size on sheets of its own, to work by: what it measures and what is cut, then how it is made."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import accumulate

from grading.drawing.flowing import APART, flowed
from grading.drawing.fonts import text_width
from grading.drawing.marks import Align, Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.pages import Bookmark, PageContent, Placed, PlainFrame, TitleBlock, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.system import LARGE, PLAIN, SMALL
from grading.engine.run import SizeRun
from grading.model.hands import EITHER
from grading.model.making import Step
from grading.outputs.size_sheet import LESS_HIGH, PICTURE, Section, SizeRow, SizeSheet, shown_figure, size_sheets
from grading.outputs.steps import STEP
from grading.outputs.wording import CAUTIONS_AT_WORK

__all__ = ["card", "cards"]

Steps = tuple[tuple[Step, Drawing | None], ...]

#: How many sheets a card is of where that is room enough.
_SHEETS = 2
#: Mm: between parts, above and below each row, and between columns.
_GAP, _PADDING, _GUTTER = APART, 0.35, 2.0
#: Widths of the columns of a letter, and at least of a figure, mm.
_LETTER, _FIGURE = 8.0, 18.0
#: A column of names is as wide as they are, but takes no more of a sheet than this.
_NAMES = 0.3
_SMALL = Text("", 0, 0, SMALL)
_READING = (
    "Bold: what the step sews. From the dot along the arrow; ticks and letters meet; at a cross the needle goes over."
)


def cards(run: SizeRun, printing: Printing, *, run_id: str, unit: str) -> bytes:
    """The cards of all sizes as a PDF file, each of two sheets where that is room enough."""
    paper = printing.not_cut_to_fit()
    shown = run.block.shown
    drawn = "" if shown.hand == EITHER else " drawn"
    hands = f"{shown.hand} hand" if len(run.block.hands) == 1 else f"one pair, {shown.hand} hand{drawn}"
    title = TitleBlock(
        "card", run.block.name, run.group, hand=hands, face=shown.face, scale="", date=run.block.date, run=run_id
    )
    pages = []
    for content in size_sheets(run, run_id=run_id, unit=unit):
        frame = PlainFrame(paper.upright(), replace(title, size=content.size))
        pages += numbered(card(content, frame, unit))
    words = f"{run.block.name} · {run.group} · spec cards"
    about = About(words, subject=f"Spec cards, run {run_id}", keywords=("mitten", "spec sheet", run.group, run_id))
    return pdf_bytes(pages, about)


def card(content: SizeSheet, frame: PlainFrame, unit: str) -> list[PageContent]:
    """One size: what it is, then how it is made, on as few sheets as that takes.

    What it is made with stands at the foot of the first sheet, the cautions at that of the last.
    """
    width = frame.area.width
    tools, more_tools = _foot([f"{row.name}: {row.text}" for row in content.materials.rows], frame)
    cautions, _ = _foot([CAUTIONS_AT_WORK], frame)
    below = [*_what(content, width, unit), *more_tools]
    what, first = _whole(content, below, frame)
    second = _how(content.steps, content.work, frame.entitled(TitleBlock("", "")), unit)
    if len(first) + len(second) > _SHEETS:
        together = tuple(flowed([*what, *_parts(content.steps, content.work, frame, unit, 2)], frame.area))
        first, second = min((first, second), (together, ()), key=lambda pages: sum(map(len, pages)))
    shared = [PageContent(frame, (Placed(drawing, 0, 0, frame.sheet.printable),)) for drawing in second]
    sheets = [*(PageContent(frame, drawing=drawing) for drawing in first), *shared]
    sheets[0] = replace(sheets[0], drawing=sheets[0].drawing + tools, bookmarks=(Bookmark(content.title),))
    sheets[-1] = replace(sheets[-1], drawing=sheets[-1].drawing + cautions)
    return sheets


def _whole(
    content: SizeSheet, below: Sequence[Sequence[Drawing]], frame: PlainFrame
) -> tuple[list[Sequence[Drawing]], tuple[Drawing, ...]]:
    """The picture and what stands below it, with their sheets: the picture is less high where that makes one of two."""

    def on_sheets(picture: Drawing) -> tuple[list[Sequence[Drawing]], tuple[Drawing, ...]]:
        what = [[picture], *below]
        return what, tuple(flowed(what, frame.area))

    full = _picture(content, frame.area.width, PICTURE[1])
    usual = on_sheets(full)
    for height in LESS_HIGH if len(usual[1]) > 1 else ():
        # It is drawn where one that ends so much higher goes on one sheet.
        if len(on_sheets(full.moved(0, PICTURE[1] - height))[1]) == 1:
            lower = on_sheets(_picture(content, frame.area.width, height))
            if len(lower[1]) == 1:
                return lower
    return usual


@lru_cache(maxsize=2)
def _how(steps: Steps, work: Section, frame: PlainFrame, unit: str) -> tuple[Drawing, ...]:
    """The sheets of how it is made, the same in every size, steps in two columns where that takes fewer."""
    ways = (tuple(flowed(_parts(steps, work, frame, unit, columns), frame.area)) for columns in (1, 2))
    one = next(ways)
    return one if len(one) <= 1 else min(one, next(ways), key=len)


def _parts(steps: Steps, work: Section, frame: PlainFrame, unit: str, columns: int) -> list[list[Drawing]]:
    """The steps, how to read their drawings, the rules of the house, and cautions that the foot has no room for."""
    width = frame.area.width
    parts = [_steps(steps, width, columns)]
    parts += [[paragraph([_READING], 0, 0.0, width, _SMALL)]] if any(drawing for _, drawing in steps) else []
    parts += [_table(work, width, unit, SMALL)] if work.rows else []
    return parts + _foot([CAUTIONS_AT_WORK], frame)[1]


def _picture(content: SizeSheet, width: float, height: float) -> Drawing:
    return content.picture(height).moved((width - PICTURE[0]) / 2, -height)


def _what(content: SizeSheet, width: float, unit: str) -> list[list[Drawing]]:
    """What is measured and what is cut."""
    parts = ((content.measures, PLAIN), (content.cut, SMALL), (content.allowances, SMALL))
    return [_table(part, width, unit, height) for part, height in parts if part.rows]


def _foot(texts: Sequence[str], frame: PlainFrame) -> tuple[Drawing, list[list[Drawing]]]:
    """Texts beside the title block, standing on the foot of the sheet, or as a part for above it if there are many."""
    if not texts:
        return Drawing(), []
    told = paragraph(texts, frame.foot.left, frame.foot.top, frame.foot.width, _SMALL)
    if told.box.height <= frame.foot.height:
        return told.moved(0, frame.foot.bottom - told.box.bottom), []
    return Drawing(), [[paragraph(texts, 0, 0, frame.area.width, _SMALL)]]


def _table(section: Section, width: float, unit: str, height: float) -> list[Drawing]:
    """The heading and the rows of a section, figures and names in letters of that height, words in small ones."""
    count = max(len(row.figures) for row in section.rows)
    _, heading, *headings, words = section.headings
    rows = [(row.mark, row.name, *_figures(row, count, unit), row.text) for row in section.rows]
    names = max(text_width(heading, SMALL, bold=True), *(text_width(row.name, height) for row in section.rows))
    figures = [text_width(cell, height, bold=True) for _, _, *cells, _ in rows for cell in cells]
    figures += [text_width(cell, SMALL) for row in section.rows for cell in row.below]
    letter = _LETTER if any(row.mark for row in section.rows) else 0.0
    figure = max(_FIGURE, max(figures, default=0.0) + _GUTTER)
    widths = [letter, min(names, _NAMES * width) + _GUTTER, *[figure] * count]
    head = _row(("", heading, *headings[:count], words), (), widths, width, Text("", 0, 0, SMALL, bold=True))
    below = [row.below for row in section.rows]
    plain = Text("", 0, 0, height)
    return [head, *(_row(*one, widths, width, plain) for one in zip(rows, below, strict=True))]


def _row(cells: Sequence[str], below: Sequence[str], widths: Sequence[float], width: float, style: Text) -> Drawing:
    """A row with a line below it, hung from (0, 0): letter, name, figures and words, whose column has no set width.

    ``below`` are small letters below the figures. The figures that have any are bold, and so is the middle of three.
    """
    count = len(widths) - 2
    lefts = [0.0, *accumulate(widths)]
    rights = [left + wide - _GUTTER for left, wide in zip(lefts, widths, strict=False)]
    aligned = [
        replace(style, align=Align.RIGHT, bold=style.bold or bool(below) or (count, place) == (3, 1))
        for place in range(count)
    ]
    styles = [replace(style, bold=True), style, *aligned, replace(style, height=SMALL)]
    small = ["", "", *(below or [""] * count), ""]
    drawn = [
        _cell(text, under, left, right - left, one)
        for text, under, left, right, one in zip(cells, small, lefts, (*rights, width), styles, strict=True)
        if text
    ]
    return _ruled(drawn, width, Role.RULE if style.bold else Role.REFERENCE_LINE)


def _cell(text: str, below: str, left: float, width: float, style: Text) -> Drawing:
    at = left + (width if style.align is Align.RIGHT else 0.0)
    told = paragraph([text], at, -_PADDING, width, style)
    small = replace(style, height=SMALL, bold=False)
    return told + paragraph([below], at, told.box.bottom, width, small)


def _ruled(drawings: Iterable[Drawing], width: float, role: Role) -> Drawing:
    marks: tuple[Mark, ...] = tuple(mark for drawing in drawings for mark in drawing.marks)
    bottom = min(mark.box.bottom for mark in marks) - _PADDING
    return Drawing((*marks, line([(0, bottom), (width, bottom)], role)))


def _steps(steps: Steps, width: float, columns: int) -> list[Drawing]:
    """The steps below one another, or in two columns."""
    if columns == 1:
        return [_ruled([_step(*one, width)], width, Role.REFERENCE_LINE) for one in steps]
    half = (width - _GAP) / 2
    cells = [_step_over(*one, half) for one in steps]
    rows = [[cells[i], *(cell.moved(half + _GAP, 0) for cell in cells[i + 1 : i + 2])] for i in range(0, len(cells), 2)]
    return [_ruled(row, width, Role.REFERENCE_LINE) for row in rows]


def _step(step: Step, drawing: Drawing | None, width: float) -> Drawing:
    """A step: its number, its drawing, and beside that what to do."""
    drawn, left = _number(step), _LETTER + _GUTTER
    if drawing is not None:
        drawn += drawing.moved(left, -_GAP - STEP[1])
        left += STEP[0] + _GAP
    return drawn + _said(step, left, -_GAP, width - left)


def _step_over(step: Step, drawing: Drawing | None, width: float) -> Drawing:
    """A step: its number, its drawing, and below that what to do."""
    drawn, left = _number(step), _LETTER + _GUTTER
    if drawing is None:
        return drawn + _said(step, left, -_GAP, width - left)
    return drawn + drawing.moved(left, -_GAP - STEP[1]) + _said(step, 0.0, -_GAP - STEP[1] - 1, width)


def _number(step: Step) -> Drawing:
    return Drawing((Text(step.name, 0, -_GAP - LARGE, LARGE, bold=True),))


def _said(step: Step, left: float, top: float, width: float) -> Drawing:
    said = paragraph([step.what_to_do], left, top, width, Text("", 0, 0, PLAIN))
    tools = " · ".join(text for text in (step.stitch, step.needle, step.thread) if text)
    texts = [text for text in (tools, step.note) if text]
    return said + paragraph(texts, left, said.box.bottom - 1, width, _SMALL) if texts else said


def _figures(row: SizeRow, count: int, unit: str) -> list[str]:
    """The ``count`` figures of a row as they are printed, blank where it has fewer."""
    shown = ["" if value is None else shown_figure(value, unit) for value in row.figures]
    return [*shown, *[""] * (count - len(shown))]
