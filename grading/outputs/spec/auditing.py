"""The sheets that judge a run: the grade audit with its chart, and the findings."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from grading.audit.tables import suspicions
from grading.engine.run import SizeRun
from grading.findings import Finding, Severity, worst_first
from grading.outputs.spec.figures import FigureTable, in_unit
from grading.units import DECIMALS, UNIT_WORDS, rounded
from grading.workbooks.book import Area, Bar, BarChart, Book, BookSheet, Content, Formula, Heading, Look, Styled

__all__ = ["findings_sheet", "grade_audit"]

_CHART_WIDTH, _CHART_HEIGHT = 172.0, 58.0  # mm: as wide as the sheet, and with a common block on its one page
_NOTICED = 0.75  # mm: what is less is the rounding of a size table
#: Sixteenths of an inch are too coarse to judge a grade by.
_TOLD = UNIT_WORDS | {"in": "decimals of an inch"}
_LEAST_SIZES = 3  # two sizes have one increment, and nothing to hold it against


def grade_audit(book: Book, run: SizeRun, finished: FigureTable, increments: FigureTable, unit: str) -> None:
    """How even the grade is, and whether the tolerances of neighbouring sizes meet, in live formulas."""
    sheet = book.sheet("Grade audit", frozen_columns=2)
    sheet.title(f"Grade audit, {_TOLD[unit]}")
    if len(run.sizes) < _LEAST_SIZES or not finished.names:
        sheet.note("There are too few sizes or measures here to hold increments against each other.")
        return
    sheet.note(
        "Holds the finished measures against each other from size to size. What stands out is bold, grey and boxed; "
        "a grade may be meant so: look at it and decide.\n"
        "Increment: how much larger this size is than the one before it. Marked: too far from the mean.\n"
        "Difference from regular: how far a figure is from half-way between the sizes beside it; at either end, from "
        "one more increment of the usual (median) size. One slip in a size table shows as a large difference between "
        "two of half its size that go the other way.\n"
        "Room between tolerances, for measures that tell the size: what is left of the increment between the "
        "tolerance + of the size before and the tolerance − of this one. Marked: none is left, so that a mitten may "
        "be either size; narrow the tolerances or widen the step."
    )
    places = DECIMALS[unit] + 1  # as many as small differences show
    noticed = f"$B${sheet.next_row}"
    sheet.line([f"Mark from, {UNIT_WORDS[unit]}", Styled(rounded(float(in_unit(_NOTICED, unit)), places), Look.INPUT)])
    sheet.gap()
    sizes = len(run.sizes)
    area = sheet.room(0, sizes + 3)
    grown = [_increment_row(area, row, increments) for row in range(len(finished.names))]
    irregular = [_regularity_row(area, finished, row, places) for row in range(len(finished.names))]
    room = _room_rows(area, finished, run)
    columns = [Heading("What", width=24), Heading("Measure"), *(Heading(size, Look.FINE) for size in run.sizes)]
    table = sheet.table([*columns, Heading("mean", Look.FINE)], [*grown, *irregular, *room], name="Grade audit")

    def flag(first: int, rows: int, formula: str) -> None:
        if rows:
            sheet.flag(f"{table.cell(first, 2)}:{table.cell(first + rows - 1, sizes + 1)}", formula)

    this = table.cell(0, 2)
    flag(0, len(grown), f"AND(ISNUMBER({this}),ABS({this}-${table.cell(0, sizes + 2)})>{noticed})")
    flag(len(grown), len(irregular), f"ABS({table.cell(len(grown), 2)})>{noticed}")
    start = len(grown) + len(irregular)
    flag(start, len(room), f"AND(ISNUMBER({table.cell(start, 2)}),ROUND({table.cell(start, 2)},4)<=0)")
    _suspected(sheet, run, unit)
    sheet.gap()
    cell = sheet.room_for(_CHART_HEIGHT + 2)
    chart = _chart(run, finished, table, unit)
    words = _described(run, finished, unit)
    sheet.chart(chart, cell, width_mm=_CHART_WIDTH, height_mm=_CHART_HEIGHT, instead=words)


def _suspected(sheet: BookSheet, run: SizeRun, unit: str) -> None:
    """The figures of the size table that are most likely slips, each beside what the rest of the table leads to."""
    rows: list[list[Content]] = [
        [
            "suspected in the size table",
            one.measurement,
            one.size,
            Styled(float(in_unit(one.figure, unit)), Look.FLAGGED),
            float(in_unit(one.regular, unit)),
        ]
        for one in suspicions(run.body)
    ]
    if rows:
        sheet.gap()
        headings = [Heading("What", width=22), Heading("Measure"), Heading("Size"), Heading("figure", Look.NUMBER)]
        sheet.table([*headings, Heading("regular", Look.NUMBER)], rows, name="Suspected figures")


def _increment_row(area: Area, row: int, increments: FigureTable) -> list[Content]:
    """A measure's increments, each under the size that it leads to, with their mean."""
    values = increments.values[row]
    cells = [Formula(f"={increments.cell(row, step)}", value) for step, value in enumerate(values.tolist())]
    mean = f"=AVERAGE({area.cell(row, 3)}:{area.cell(row, len(values) + 2)})"
    return ["increment", increments.names[row], None, *cells, Formula(mean, float(values.mean()))]


def _regularity_row(area: Area, finished: FigureTable, row: int, places: int) -> list[Content]:
    """How far a measure is from what the other sizes lead to, in each size: rounded, or traces show as -0.00.

    An end of the run has a neighbour on one side only, and is held against the median of the other increments.
    """
    values = finished.values[row]
    grown, last = np.diff(values), len(values) - 1
    cells: list[Content] = []
    for size in range(last + 1):
        if 0 < size < last:
            led_to = f"({finished.cell(row, size - 1)}+{finished.cell(row, size + 1)})/2"
            regular = (values[size - 1] + values[size + 1]) / 2
        elif size == 0:
            led_to = f"({finished.cell(row, 1)}-MEDIAN({area.cell(row, 4)}:{area.cell(row, last + 2)}))"
            regular = values[1] - np.median(grown[1:])
        else:
            led_to = f"({finished.cell(row, last - 1)}+MEDIAN({area.cell(row, 3)}:{area.cell(row, last + 1)}))"
            regular = values[last - 1] + np.median(grown[:-1])
        off = rounded(float(values[size] - regular), places)
        cells.append(Formula(f"=ROUND({finished.cell(row, size)}-{led_to},{places})", off))
    return ["difference from regular", finished.names[row], *cells, None]


def _room_rows(area: Area, finished: FigureTable, run: SizeRun) -> list[list[Content]]:
    """What the tolerances leave of each increment, for the measures that tell the size."""
    telling = {measure.name for measure in run.block.measures if measure.tells_size}
    rows: list[list[Content]] = []
    for row, name in enumerate(finished.names):
        if name not in telling:
            continue
        minus, plus = (finished.cell(row, len(run.sizes) + side) for side in range(2))
        left = np.diff(finished.values[row]) - finished.tolerances[row].sum()
        cells = [
            Formula(f"={area.cell(row, size + 2)}-{plus}-{minus}", round(value, 6))
            for size, value in enumerate(left.tolist(), 1)
        ]
        rows.append(["room between tolerances", name, None, *cells, None])
    return rows


def _chart(run: SizeRun, finished: FigureTable, table: Area, unit: str) -> BarChart:
    """A bar for each increment, those of one measure side by side, from the cells of the audit's table."""
    measures = len(finished.names)
    bars = tuple(
        Bar(
            name=table.fixed(-1, column),
            labels=table.reference(1, measures),
            values=table.reference(column, measures),
            colour=f"{round(255 * level):02X}" * 3,
        )
        for column, level in enumerate(np.linspace(0.1, 1.0, len(run.sizes) - 1).tolist(), 3)
    )
    title = f"Increments, {UNIT_WORDS[unit]}: bars of one height are an even grade"
    return BarChart(title, bars, number_format="General", gap=60, legend=True, framed=False)


def _described(run: SizeRun, finished: FigureTable, unit: str) -> str:
    """The chart in words."""
    told = (
        f"{name} {grown.min():+.2f} to {grown.max():+.2f}"
        for name, grown in zip(finished.names, np.diff(finished.values), strict=True)
    )
    return f"Bar chart of increments over the sizes {', '.join(run.sizes)}, in {UNIT_WORDS[unit]}: {'; '.join(told)}."


def findings_sheet(book: Book, findings: Iterable[Finding]) -> None:
    """Every finding, the worst first, or a line that says there are none."""
    sheet = book.sheet("Findings", landscape=True, frozen_columns=2)
    sheet.title("Findings")
    sheet.note(
        "What was noticed about the tables, the block and the graded patterns. A warning wants a decision before "
        "cutting; a note wants to be known. An error stops a run before anything is written."
    )
    rows: list[list[Content]] = [
        [
            Styled.flagged(str(finding.severity), finding.severity is not Severity.NOTE),
            finding.code,
            str(finding.place),
            finding.found,
            finding.expected,
            finding.action,
        ]
        for finding in worst_first(findings)
    ]
    headings = [("Severity", 10), ("Code", 22), ("Where", 28), ("Found", 38), ("Expected", 34), ("What to do", 38)]
    sheet.table([Heading(heading, width=width) for heading, width in headings], rows or [["none", *[""] * 5]])
