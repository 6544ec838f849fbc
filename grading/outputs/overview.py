"""The overview: one sheet a size group, to be opened first: the finished mitten, the sizes, what was made for whom."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from grading.drawing.fonts import ASCENT, DESCENT, text_width
from grading.drawing.marks import Align, Box, Curve, Drawing, Mark, Role, Text, line, paragraph, rectangle
from grading.drawing.pages import Bookmark, Frame, Page, PageContent, TitleBlock, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes, sheet_count
from grading.drawing.system import LARGE, PLAIN, SMALL
from grading.engine.graded import GradedGroup
from grading.engine.run import SizeRun
from grading.findings import Finding, worst_first
from grading.outputs.finished import both_sides, pictured
from grading.outputs.wording import CAUTIONS_IN_SHORT, hands_told, sizes_told
from grading.readings.finished import finished
from grading.readings.measures import Measured, measured
from grading.units import UNIT_WORDS, show_row, with_decimal

__all__ = ["overview", "overview_page"]

#: The scale of the finished piece, and the widest that both its sides may be, mm; larger ones are drawn smaller.
SCALE, WIDEST = 1 / 3, 128.0
#: Mm: between parts, the column of names, the narrowest column of a size, how high a bar is at the most, and wide.
_GAP, _BAR, _BAR_WIDTH = 4.0, 5.0, 2.0
#: The narrowest column of figures in a unit, mm.
_NARROWEST = {"mm": 14.5, "cm": 14.5, "in": 26.0}
#: A row of the sizes, one of what was made with its outline, and at the least: height, and the outline's sides, mm.
_ROW, _MADE, _LEAST_MADE, _OUTLINE = 7.0, 12.5, 9.0, (20.0, 10.5)
#: The columns of what was made, mm: outline, name, how many sheets, for whom.
_COLUMNS = (22.0, 37.0, 29.0, 30.0)
#: The most measures that are key ones.
_KEY = 8
_TEXT = Text("", 0, 0, SMALL)


def overview(graded: GradedGroup, made: Mapping[str, bytes], printing: Printing, unit: str) -> bytes:
    """The sheet as a PDF file; ``made`` are the files that were made beside it, by their names."""
    run = graded.run
    title = f"{run.block.name} · {run.group} · overview"
    about = About(title, subject=f"Overview, run {graded.run_id}", keywords=("mitten", run.group, graded.run_id))
    return pdf_bytes([overview_page(graded, made, printing, unit)], about)


def overview_page(graded: GradedGroup, made: Mapping[str, bytes], printing: Printing, unit: str) -> Page:
    """The sheet: on A4 where the patterns' paper is cut to fit, else on the same paper."""
    run = graded.run
    title = TitleBlock(
        "overview",
        run.block.name,
        run.group,
        size=sizes_told(run),
        hand=hands_told(run.block).removeprefix("the "),
        scale="",
        date=run.block.date,
        run=graded.run_id,
    )
    frame = Frame(printing.not_cut_to_fit().upright(), title, printing.told or Frame.told)
    drawing = Drawing(tuple(_sheet(graded, made, frame.area, unit)))
    return numbered([PageContent(frame, drawing=drawing, bookmarks=(Bookmark(f"{run.group}, overview"),))])[0]


def _sheet(graded: GradedGroup, made: Mapping[str, bytes], area: Box, unit: str) -> Iterator[Mark]:
    """The parts below one another; findings take what is left beside the mitten, above the cautions if both fit.

    Of sizes too many for one sheet as many are shown as there is room for above what was made.
    """
    run = graded.run
    head = Text(f"{run.block.name} · {run.group}", area.left, area.top - ASCENT * LARGE, LARGE, bold=True)
    yield head
    top = head.y - DESCENT * LARGE - _GAP
    size = run.base if run.base is not None else len(run.sizes) // 2
    mitten = _mitten(run, size).moved(area.left, top)
    yield from mitten.marks
    beside = Box(mitten.box.right + _GAP + 2, mitten.box.bottom, area.right, top)
    low = area.bottom
    cautions = _cautions(beside.width)
    if cautions.box.height <= beside.height / 2:
        yield from cautions.moved(beside.left, beside.bottom - cautions.box.bottom).marks
        beside = beside._replace(bottom=beside.bottom + cautions.box.height + _GAP)
    else:
        cautions = _cautions(area.width)
        yield from cautions.moved(area.left, low - cautions.box.bottom).marks
        low += cautions.box.height
    yield from _findings((*graded.of_tables, *graded.findings), beside)
    top = mitten.box.bottom - _GAP
    kinds = {kind: names for kind in _KINDS if (names := kind.of(made))}
    lowest = low + _LEAST_MADE * (len(kinds) + 2)  # with the heading, and how many sizes are not shown
    for sizes, table in _sizes(run, area.width, unit):
        if sizes.start and top - table.box.height < lowest:
            more = f"and {len(run.sizes) - sizes.start} more sizes: see the sheet Finished measures of spec.xlsx"
            yield (rest := replace(_TEXT, text=more, x=area.left, y=top - ASCENT * SMALL))
            top = rest.box.bottom - _GAP
            break
        placed = table.moved(area.left, top)
        yield from placed.marks
        top = placed.box.bottom - _GAP
    if kinds:
        yield from _files(run, size, made, kinds, Box(area.left, low, area.right, top))


def _cautions(width: float) -> Drawing:
    """Under their heading, hung from (0, 0)."""
    head = Text("Cautions", 0, -ASCENT * PLAIN, PLAIN, bold=True)
    return Drawing((head,)) + paragraph([CAUTIONS_IN_SHORT], 0, head.y - DESCENT * PLAIN - 1, width, _TEXT)


def _mitten(run: SizeRun, size: int) -> Drawing:
    """Both sides, hung from (0, 0), with what they are."""
    hand = run.block.shown.hand
    scale = SCALE
    drawn = both_sides(run, size, hand, scale)
    while drawn.box.width > WIDEST:
        scale *= 0.97 * WIDEST / drawn.box.width
        drawn = both_sides(run, size, hand, scale)
    which = f", size {run.sizes[size]}" if len(run.sizes) > 1 else ""
    words = f"finished{which}, at 1 : {1 / scale:.3g}"
    return drawn + Drawing((replace(_TEXT, text=words, x=0.0, y=drawn.box.bottom - 1.0 - ASCENT * SMALL),))


def _findings(findings: Sequence[Finding], area: Box) -> Iterator[Mark]:
    """What was noticed, the gravest first, as far as there is room; where the rest is."""
    head = Text("What was noticed", area.left, area.top - ASCENT * PLAIN, PLAIN, bold=True)
    yield head
    top = head.y - DESCENT * PLAIN - 1
    told = [one.found for one in worst_first(findings)]
    told = told or ["Nothing: the tables bear one another out, and every size is within its limits."]
    for number, text in enumerate(told):
        said = paragraph([text], area.left, top, area.width, _TEXT)
        rest = len(told) - number
        needed = said.box.height + (5.0 if rest > 1 else 0.0)
        if top - needed < area.bottom:
            more = f"and {rest} more: see the sheet Findings of spec.xlsx"
            yield from paragraph([more], area.left, top, area.width, _TEXT).marks
            return
        yield from said.marks
        top = said.box.bottom - 1.2


def _sizes(run: SizeRun, width: float, unit: str) -> Iterator[tuple[range, Drawing]]:
    """Key measures by size with a bar for each step, hung from (0, 0); several tables where sizes are many."""
    taken = measured(run)
    key = [i for i, one in enumerate(taken.measures) if one.tells_size or one.follows][:_KEY]
    heading = f"finished, {UNIT_WORDS[unit]}"
    names = max(text_width(heading, SMALL, True), *(text_width(taken.measures[i].name, SMALL, False) for i in key)) + 2
    room = int((width - names) / _NARROWEST[unit])
    tables = -(-len(run.sizes) // room)
    count = -(-len(run.sizes) // tables)
    for first in range(0, len(run.sizes), count):
        sizes = range(first, min(first + count, len(run.sizes)))
        column = min((width - names) / len(sizes), 30.0)
        title = replace(_TEXT, text=heading, x=0.0, y=-ASCENT * SMALL, bold=True)
        yield sizes, Drawing((title, *_size_table(taken, key, sizes, (names, column), unit)))


def _size_table(
    taken: Measured, key: Sequence[int], sizes: range, widths: tuple[float, float], unit: str
) -> Iterator[Mark]:
    """The rows of a table; ``widths`` (mm) are those of the column of names and of each column of a size."""
    names, column = widths
    right = [names + column * (number + 1) for number in range(len(sizes))]
    across = right[-1]
    y = -ASCENT * SMALL
    for x, size in zip(right, sizes, strict=True):
        yield replace(_TEXT, text=taken.sizes[size], x=x, y=y, align=Align.RIGHT, bold=True)
    y -= DESCENT * SMALL + 0.6
    yield line([(0, y), (across, y)], Role.RULE)
    steps = np.diff(taken.values[key], axis=1)
    tallest = float(np.abs(steps).max()) if steps.size else 0.0
    for row, measure in enumerate(key):
        y -= _ROW
        yield replace(_TEXT, text=taken.measures[measure].name, x=0.0, y=y + 1.6)
        lengths = taken.values[measure, sizes].tolist()
        told = [with_decimal(mm, unit) for mm in lengths] if unit == "in" else show_row(lengths, unit)
        for number, (size, figure) in enumerate(zip(sizes, told, strict=True)):
            yield replace(_TEXT, text=figure, x=right[number], y=y + 1.6, align=Align.RIGHT)
            if size and tallest > 0:
                high = _BAR * abs(float(steps[row, size - 1])) / tallest
                x = right[number] - column + 1.2
                if high > 0.05:
                    yield rectangle(Box(x, y + 0.8, x + _BAR_WIDTH, y + 0.8 + high), Role.BAR)
        yield line([(0, y), (across, y)], Role.REFERENCE_LINE)
    if tallest > 0:
        words = f"Bars: the step to the next size; the tallest is {with_decimal(tallest, unit)} {UNIT_WORDS[unit]}."
        yield replace(_TEXT, text=words, x=0.0, y=y - 0.8 - ASCENT * SMALL)


@dataclass(frozen=True)
class _File:
    """A kind of file: how its names begin and end, for whom it is, what to do with it, and its small outline."""

    begins: str
    ends: str
    who: str
    what: str
    outline: Callable[[SizeRun, int], Drawing]

    def of(self, names: Iterable[str]) -> list[str]:
        """Those of the names that are files of this kind."""
        return [name for name in names if name.startswith(self.begins) and name.endswith(self.ends)]


def _nest_outline(run: SizeRun, size: int) -> Drawing:
    """Every size of the largest piece, as its nest lies."""
    piece = max(run.pieces.values(), key=lambda piece: float(np.ptp(piece.boundary[size][..., 1])))
    at = piece.stacking_point
    sizes = sorted({0, len(run.sizes) // 2, len(run.sizes) - 1})
    curves = (
        Curve(handles[one] - at[one], Role.RULE, closed=True) for handles in piece.beziers.values() for one in sizes
    )
    return Drawing(tuple(curves))


def _pieces_outline(run: SizeRun, size: int) -> Drawing:
    drawn = Drawing()
    for piece in run.pieces.values():
        curves = Drawing(tuple(Curve(handles[size], Role.RULE, closed=True) for handles in piece.beziers.values()))
        left = drawn.box.right + 15 if drawn.marks else 0.0
        drawn += curves.moved(left - curves.box.left, -curves.box.top)
    return drawn


def _mitten_outline(run: SizeRun, size: int) -> Drawing:
    marks = pictured(finished(run, size, run.block.shown.hand).palm, 1.0, ())
    return Drawing(tuple(replace(mark, role=Role.RULE) for mark in marks))


def _grid_outline(run: SizeRun, size: int) -> Drawing:
    """A workbook: rows and columns."""
    lines = [line([(0, y), (60, y)], Role.RULE) for y in range(0, 50, 8)]
    return Drawing((*lines, *(line([(x, 0), (x, 48)], Role.RULE) for x in (0, 20, 40, 60))))


_KINDS = (
    _File("patterns/", ".pdf", "whoever cuts", "print the sizes you cut, on card; measure both bars", _pieces_outline),
    _File("templates/", ".pdf", "whoever cuts", "net pieces, to draw round", _pieces_outline),
    _File("spec-cards.pdf", "", "whoever sews", "print two sheets for every size you give out", _mitten_outline),
    _File("check-sheets/", ".xlsx", "whoever measures", "one a bundle, to fill in and send back", _grid_outline),
    _File("nest.pdf", "", "pattern maker", "print to look the grade over", _nest_outline),
    _File("spec.xlsx", "", "your own desk", "all figures; nothing in it has to be printed", _grid_outline),
    _File("cutting/", ".svg", "a cutting machine", "one drawing a size and hand", _pieces_outline),
    _File("cutting/", ".dxf", "a cutting machine", "the same, and pattern data", _pieces_outline),
)  # fmt: skip


def _files(
    run: SizeRun, size: int, made: Mapping[str, bytes], kinds: Mapping[_File, Sequence[str]], area: Box
) -> Iterator[Mark]:
    """A row for each kind of file that was made, as far as there is room."""
    y = area.top - ASCENT * PLAIN
    yield Text("What was made", area.left, y, PLAIN, bold=True)
    y -= DESCENT * PLAIN + 0.6
    yield line([(area.left, y), (area.right, y)], Role.RULE)
    lefts = area.left + np.cumsum([0.0, *_COLUMNS])
    pitch = min(_MADE, (y - area.bottom) / len(kinds))
    outlines: dict[Callable[[SizeRun, int], Drawing], Drawing] = {}
    for kind, names in kinds.items():
        y -= pitch
        sides = (_OUTLINE[0], min(_OUTLINE[1], pitch - 2))
        if kind.outline not in outlines:
            outlines[kind.outline] = _shrunk(kind.outline(run, size), *sides)
        yield from outlines[kind.outline].moved(area.left, y + 1).marks
        name = kind.begins if kind.begins in made else f"{kind.begins}*{kind.ends}"
        for number, text in enumerate((name, _sheets(made, names), kind.who, kind.what)):
            left = float(lefts[number + 1])
            width = (float(lefts[number + 2]) if number + 2 < len(lefts) else area.right + 1.5) - left - 1.5
            cell = paragraph([text], left, 0, width, replace(_TEXT, bold=number == 0))
            yield from cell.moved(0, y + (pitch - cell.box.height) / 2 - cell.box.bottom).marks
        yield line([(area.left, y), (area.right, y)], Role.REFERENCE_LINE)


def _sheets(made: Mapping[str, bytes], names: Sequence[str]) -> str:
    """How many files, and of how many sheets where they are made for paper."""
    files = f"{len(names)} files" if len(names) > 1 else ""
    printed = [sheet_count(made[name]) for name in names if name.endswith(".pdf")]
    sheets = f"{sum(printed)} sheet{'s' if sum(printed) > 1 else ''}" if printed else ""
    return ", ".join(text for text in (files, sheets) if text) or "1 file"


def _shrunk(drawing: Drawing, width: float, height: float) -> Drawing:
    """The lines of a drawing as large as they go into a box, its lower left corner at (0, 0)."""
    box = drawing.box
    return drawing.moved(-box.left, -box.bottom).scaled(min(width / box.width, height / box.height))
