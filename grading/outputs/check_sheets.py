"""The check sheets of a run: a workbook for each size, in which whoever sews fills in what they measured.

One file a size, since work goes out in bundles of one size: only what was handed out comes back, and a file that
gets lost or spoiled takes no other size with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from grading.drawing.marks import Box
from grading.drawing.picture import png
from grading.engine.run import SizeRun
from grading.model.returns import HANDS, PAIRS, pair_heading
from grading.outputs.size_sheet import letters
from grading.outputs.sketch import sketch
from grading.outputs.wording import CAUTIONS_AT_WORK
from grading.publish.names import file_name
from grading.readings.returns import FURTHEST, Verdict
from grading.readings.targets import Target, targets
from grading.sheets.check_sheet import ASKED, CHECK
from grading.units import DECIMALS, UNIT_WORDS
from grading.workbooks.book import Area, Book, BookSheet, Content, Formula, Heading, Look, Styled

__all__ = ["check_sheets"]

_FIRST = len(CHECK.columns)  # the column of the first reading
_FIGURE = CHECK.columns.index(ASKED[1])  # the column of what it is to come to, between least and most
_MITTENS = [pair_heading(pair, hand) for pair in range(1, PAIRS + 1) for hand in HANDS]
#: Characters: the widths of the letter, the name, each figure, each box and how far hands may differ. Together they are
#: no wider than lying A4 between its margins, so that type is printed as large as it is.
_WIDTHS = (9.0, 15.5, 8.2, 8.3, 9.0)
#: How tall rows to write in are, mm: those of the boxes, and those of a name or a date.
_BOX, _LINE = 9.2, 9.4
#: The picture beside the name, mm, and the cell at its corner; letters alone, in a size from the middle of the run.
_PICTURE, _CORNER = (150.0, 3 * _LINE + 9), "D{row}"
_ON_ONE_PAGE = 13
_DOTS_PER_MM = 8.0
_COUNTED = (Verdict.PASS, Verdict.SHORT, Verdict.LONG)
_UNEVEN = "apart"


def check_sheets(run: SizeRun, *, run_id: str, unit: str) -> Iterator[tuple[str, bytes]]:
    """For each size a file's name, without its ending, and its bytes; figures in ``unit``."""
    names: list[str] = []
    of_sizes = targets(run, unit)
    middle = len(run.sizes) // 2
    named = letters(run.block, [target.measure for target in of_sizes[middle]])
    lettered = [(letter, target.measure) for letter, target in zip(named, of_sizes[middle], strict=True)]
    drawn = png(sketch(run, middle, lettered, *_PICTURE), Box(0, 0, *_PICTURE), dots_per_mm=_DOTS_PER_MM)
    for size, asked in zip(run.sizes, of_sizes, strict=True):
        names.append(file_name(size, names, "size"))
        yield names[-1], _workbook(run, size, asked, named, drawn, run_id, unit)


def _workbook(
    run: SizeRun, size: str, asked: Sequence[Target], named: Sequence[str], drawn: bytes, run_id: str, unit: str
) -> bytes:
    title = f"{run.block.name} · {run.group} · check sheet, size {size}, figures in {UNIT_WORDS[unit]}"
    book = Book(title, subject=run.group, run_id=run_id, decimals=DECIMALS[unit])
    # More measures than one page holds go on to a second: made to fit, letters would be too small.
    sheet = book.sheet(f"Check {size}", landscape=True, one_page=len(asked) <= _ON_ONE_PAGE)
    sheet.title(title)
    sheet.note(
        f"Fill in the boxes, figures in {UNIT_WORDS[unit]}, and send the file back. Measure as the sheet of this size "
        f"says; a measure passes from least to most, both included. '{Verdict.CHECK}': measure again, or look at what "
        f"was typed. '{_UNEVEN}': left and right of a pair differ by more than 'left less right' may be."
    )
    blank = Styled(None, Look.INPUT)
    said = {"Style": run.block.name, "Group": run.group, "Size": size, "Run": run_id, "Unit": unit}
    fields: dict[str, Content] = {field.name: said.get(field.name, blank) for field in CHECK.fields}
    top = sheet.next_row
    first_printed = top + list(fields).index("Name")
    filled = Area(sheet.name, top + len(fields) + 3, 1, len(asked), _FIRST + len(_MITTENS))
    judged = Area(sheet.name, filled.top + len(asked) + 3, 1, len(asked), filled.columns)
    verdicts = f"{judged.cell(0, _FIRST)}:{judged.cell(len(asked) - 1, judged.columns - 1)}"
    counted = dict(zip(fields, _counts(verdicts), strict=False))
    for field, content in fields.items():
        sheet.line([field, content, *counted.get(field, ())])
    sheet.line(["Needles out and in", blank])
    sheet.tall(Area(sheet.name, first_printed, 1, sheet.next_row - first_printed, 2), _LINE)
    width, _ = _PICTURE
    told = "Outlines of the pieces with the letters of the measures below."
    sheet.picture(drawn, _CORNER.format(row=first_printed), width_mm=width, instead=told)
    sheet.gap()
    _table(sheet, filled, judged, asked, named)
    # What stands above the name is in the page's own head and foot; the verdicts are for whoever types them in.
    sheet.print_rows(first_printed, judged.top - 3)
    for row, field in enumerate(fields):
        book.define(field, Area(sheet.name, top + row, 2, 1, 1).whole)
    book.define("Failures", Area(sheet.name, top, 4, 1, 1).whole)
    sheet.protect()
    return book.to_bytes()


def _counts(verdicts: str) -> Iterator[tuple[Content, ...]]:
    """Labels and counts, for beside the fields that are not printed."""
    for label, words in (("Failures", (Verdict.SHORT, Verdict.LONG)), ("To check", (Verdict.CHECK,))):
        counted = "+".join(f'COUNTIF({verdicts},"{word}")' for word in words)
        yield label, Styled(Formula(f"={counted}", 0), Look.COUNT)


def _table(sheet: BookSheet, filled: Area, judged: Area, asked: Sequence[Target], named: Sequence[str]) -> None:
    """The boxes to fill in, and below them what each comes to."""
    letter, name, figure, box, apart = _WIDTHS
    shown = Look.SIXTEENTHS if asked and asked[0].unit == "in" else Look.NUMBER
    boxes = [Styled(None, Look.BOX)] * len(_MITTENS)
    asking = [Heading("Letter", width=letter), Heading("Measure", width=name)]
    figures = [Heading(column.name, shown, figure) for column in ASKED]
    mittens = [Heading(heading, Look.BOX, box) for heading in _MITTENS]
    rows: list[list[Content]] = [
        [mark, target.measure.name, *target.bounds, *boxes, target.apart]
        for mark, target in zip(named, asked, strict=True)
    ]
    columns = [*asking, *figures, *mittens, Heading("left less right", shown, apart)]
    readings = sheet.table(columns, rows, name="Readings")
    sheet.tall(readings, _BOX)
    sheet.repeat_headings(readings)
    sheet.note(CAUTIONS_AT_WORK)
    sheet.gap()
    verdicts: list[list[Content]] = []
    for row, (mark, target) in enumerate(zip(named, asked, strict=True)):
        across = f"{judged.cell(row, _FIRST)}:{judged.cell(row, judged.columns - 1)}"
        counts = [Formula(f'=COUNTIF({across},"{word}")', 0) for word in _COUNTED]
        cells = [Formula(_judging(filled, row, column), "") for column in range(_FIRST, filled.columns)]
        verdicts.append([mark, target.measure.name, *counts, *cells])
    counted = [Heading(str(word), Look.COUNT) for word in _COUNTED]
    sheet.table([*asking, *counted, *(Heading(heading) for heading in _MITTENS)], verdicts, name="Judged")
    if asked:
        _watched(sheet, filled, judged)


def _watched(sheet: BookSheet, filled: Area, judged: Area) -> None:
    """What the boxes take, and the word that stands behind a figure that does not pass."""
    last = filled.rows - 1
    boxes = f"{filled.cell(0, _FIRST)}:{filled.cell(last, filled.columns - 1)}"
    figure = f"${filled.cell(0, _FIGURE)}"
    reason = "Type the figure alone, in the unit of this sheet; it is far from what the measure should come to."
    sheet.choose_number(boxes, f"{figure}/{FURTHEST}", f"{figure}*{FURTHEST}", reason)
    for word in Verdict:
        if word is not Verdict.PASS:
            sheet.remark(boxes, f'{judged.cell(0, _FIRST)}="{word}"', word)
    most = f"${filled.cell(0, filled.columns)}"
    for column in range(_FIRST, filled.columns, len(HANDS)):
        left, right = (f"${filled.cell(0, column + hand)}" for hand in range(len(HANDS)))
        uneven = f"IF(COUNT({left}:{right})={len(HANDS)},ROUND(ABS({left}-{right})-{most},6)>0,FALSE)"
        sheet.remark(f"{filled.cell(0, column)}:{filled.cell(last, column + 1)}", uneven, _UNEVEN)


def _judging(filled: Area, row: int, column: int) -> str:
    """The formula for what a reading comes to: what `grading.readings.returns.judged` computes."""
    reading = filled.cell(row, column)
    least, figure, most = (f"${filled.cell(row, of)}" for of in (_FIGURE - 1, _FIGURE, _FIGURE + 1))
    far = f"OR({reading}<{figure}/{FURTHEST},{reading}>{figure}*{FURTHEST})"
    short, long = f"ROUND({reading}-{least},6)<0", f"ROUND({reading}-{most},6)>0"
    within = f'IF({short},"{Verdict.SHORT}",IF({long},"{Verdict.LONG}","{Verdict.PASS}"))'
    sane = f'IF({far},"{Verdict.CHECK}",{within})'
    return f'=IF({reading}="","",IF(ISNUMBER({reading}),{sane},"{Verdict.CHECK}"))'
