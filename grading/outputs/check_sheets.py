"""The check sheets of a run: a workbook for each size, in which whoever sews fills in what they measured.

One file a size, since work goes out in bundles of one size: only what was handed out comes back, and a file that
gets lost or spoiled takes no other size with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from grading.engine.run import SizeRun
from grading.model.returns import HANDS, PAIRS, pair_heading
from grading.outputs.size_sheet import letters
from grading.outputs.wording import CAUTIONS_AT_WORK
from grading.publish.names import file_name
from grading.readings.returns import FURTHEST, Verdict
from grading.readings.targets import Target, targets
from grading.sheets.check_sheet import ASKED, CHECK
from grading.units import DECIMALS
from grading.workbooks.book import Area, Book, Column, Content, Formula, Look, Sheet, Styled

__all__ = ["check_sheets"]

_FIRST = len(CHECK.columns)  # the column of the first reading
_MITTENS = [pair_heading(pair, hand) for pair in range(1, PAIRS + 1) for hand in HANDS]
#: How tall a row to write in is on the screen, mm: 9 mm or more when the sheet is shrunk onto one page of A4.
TALL = 13.2
_COUNTED = (Verdict.PASS, Verdict.SHORT, Verdict.LONG)


def check_sheets(run: SizeRun, *, run_id: str, unit: str) -> Iterator[tuple[str, bytes]]:
    """For each size a file's name, without its ending, and its bytes; figures in ``unit``."""
    names: list[str] = []
    for size, asked in zip(run.sizes, targets(run, unit), strict=True):
        names.append(file_name(size, names, "size"))
        yield names[-1], _workbook(run, size, asked, run_id, unit)


def _workbook(run: SizeRun, size: str, asked: Sequence[Target], run_id: str, unit: str) -> bytes:
    title = f"{run.block.name} · {run.group} · check sheet, size {size}, figures in {unit}"
    book = Book(title, subject=run.group, run_id=run_id, decimals=DECIMALS[unit])
    sheet = book.sheet(f"Check {size}", landscape=True, one_page=True)
    sheet.title(title)
    sheet.note(
        f"Fill in the boxes, figures in {unit}, and send the file back. Measure as the sheet of this size says; a "
        f"measure passes from − to +, both included. '{Verdict.CHECK}': measure again, or look at what was typed."
    )
    blank = Styled(None, Look.INPUT)
    said = {"Style": run.block.name, "Group": run.group, "Size": size, "Run": run_id, "Unit": unit}
    fields: dict[str, Content] = {field.name: said.get(field.name, blank) for field in CHECK.fields}
    top = sheet.next_row
    for field, content in fields.items():
        sheet.line([field, content])
    named = {field: Area(sheet.name, top + row, 2, 1, 1).whole for row, field in enumerate(fields)}
    filled = Area(sheet.name, sheet.next_row + 7, 1, len(asked), _FIRST + len(_MITTENS))
    judged = Area(sheet.name, filled.top + len(asked) + 2, 1, len(asked), filled.columns)
    named["Failures"] = Area(sheet.name, sheet.next_row, 2, 1, 1).whole
    verdicts = f"{judged.cell(0, _FIRST)}:{judged.cell(len(asked) - 1, judged.columns - 1)}"
    for label, words in (("Failures", (Verdict.SHORT, Verdict.LONG)), ("To check", (Verdict.CHECK,))):
        counted = "+".join(f'COUNTIF({verdicts},"{word}")' for word in words)
        sheet.line([label, Styled(Formula(f"={counted}", 0), Look.COUNT)])
    for label in ("Needles out", "Needles in"):
        sheet.line([label, blank])
    sheet.note(CAUTIONS_AT_WORK)
    sheet.gap()
    _table(
        sheet,
        filled,
        judged,
        asked,
        letters(run.block, [target.measure for target in asked]),
        top + list(fields).index("Name"),
    )
    for name, reference in named.items():
        book.define(name, reference)
    sheet.protect()
    return book.to_bytes()


def _table(
    sheet: Sheet, filled: Area, judged: Area, asked: Sequence[Target], named: Sequence[str], first_printed: int
) -> None:
    """The boxes to fill in, and below them what each comes to."""
    boxes = [Styled(None, Look.INPUT)] * len(_MITTENS)
    asking = [Column("Letter", width=10), Column("Measure", width=26)]
    figures = [Column(column.name, Look.NUMBER, 9) for column in ASKED]
    mittens = [Column(heading, Look.INPUT, 8.5) for heading in _MITTENS]
    bounds = [Column("least", Look.NUMBER, 8), Column("most", Look.NUMBER, 8)]
    rows: list[list[Content]] = [
        [letter, target.measure.name, *target.shown, *boxes, *_bounds(target)]
        for letter, target in zip(named, asked, strict=True)
    ]
    readings = sheet.table([*asking, *figures, *mittens, *bounds], rows, name="Readings")
    sheet.tall(readings, TALL)
    # What stands above the name is in the page's own head and foot; the verdicts are for whoever types them in.
    sheet.print_rows(first_printed, readings.top + readings.rows - 1)
    sheet.gap()
    verdicts: list[list[Content]] = []
    for row, (letter, target) in enumerate(zip(named, asked, strict=True)):
        across = f"{judged.cell(row, _FIRST)}:{judged.cell(row, judged.columns - 1)}"
        counts = [Formula(f'=COUNTIF({across},"{word}")', 0) for word in _COUNTED]
        cells = [Formula(_judging(filled, row, column), "") for column in range(_FIRST, filled.columns)]
        verdicts.append([letter, target.measure.name, *counts, *cells])
    counted = [Column(str(word), Look.COUNT) for word in _COUNTED]
    sheet.table([*asking, *counted, *(Column(heading) for heading in _MITTENS)], verdicts, name="Judged")
    if not asked:
        return
    first, last = filled.cell(0, _FIRST), filled.cell(len(asked) - 1, filled.columns - 1)
    figure = f"${filled.cell(0, 2)}"
    reason = "Type the figure alone, in the unit of this sheet; it is far from what the measure should come to."
    sheet.choose_number(f"{first}:{last}", f"{figure}/{FURTHEST}", f"{figure}*{FURTHEST}", reason)
    cell = judged.cell(0, _FIRST)
    wrong = ",".join(f'{cell}="{word}"' for word in Verdict if word is not Verdict.PASS)
    sheet.flag(f"{cell}:{judged.cell(len(asked) - 1, judged.columns - 1)}", f"OR({wrong})")


def _bounds(target: Target) -> list[Content]:
    """The least and the most that pass."""
    figure, minus, plus = target.shown
    return [round(figure - minus, 6), round(figure + plus, 6)]


def _judging(filled: Area, row: int, column: int) -> str:
    """The formula for what a reading comes to: what `grading.readings.returns.judged` computes."""
    reading = filled.cell(row, column)
    figure, minus, plus = (f"${filled.cell(row, of)}" for of in (2, 3, 4))
    far = f"OR({reading}<{figure}/{FURTHEST},{reading}>{figure}*{FURTHEST})"
    short, long = f"ROUND({reading}-{figure}+{minus},6)<0", f"ROUND({reading}-{figure}-{plus},6)>0"
    within = f'IF({short},"{Verdict.SHORT}",IF({long},"{Verdict.LONG}","{Verdict.PASS}"))'
    sane = f'IF({far},"{Verdict.CHECK}",{within})'
    return f'=IF({reading}="","",IF(ISNUMBER({reading}),{sane},"{Verdict.CHECK}"))'
