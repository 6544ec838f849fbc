"""The sheets of sizes: the body's, the finished mitten's, and what they grow by."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from grading.engine.run import SizeRun
from grading.model.block import Kind
from grading.outputs.spec.figures import FigureTable, LengthRow, in_unit, room_of_lengths, table_of_lengths
from grading.readings.measures import measured
from grading.units import UNIT_WORDS, said_in
from grading.workbooks.book import Book, Content, Formula, Heading, Look

__all__ = ["body_sizes", "finished_measures", "grade_increments", "steps"]


def steps(sizes: Sequence[str]) -> list[str]:
    """What each step from a size to the next is called.

    >>> steps(["S", "M", "L"])
    ['S to M', 'M to L']
    """
    return [f"{size} to {larger}" for size, larger in pairwise(sizes)]


def body_sizes(book: Book, run: SizeRun, unit: str) -> FigureTable:
    """The size table as it was given."""
    table = run.table
    sheet = book.sheet("Body sizes", landscape=True)
    sheet.title(f"Body sizes, {UNIT_WORDS[unit]}")
    sheet.note(
        "The figures that this run was graded from, as they stand in the size table: of the hand, not of the "
        "mitten. A row that is called like an allowance of the block sets that allowance for this size group."
    )
    values = in_unit(table.values, unit)
    sizes = [Heading(size, Look.NUMBER) for size in table.sizes]
    columns = [Heading("Measurement")], sizes, [Heading("How to measure"), Heading("Source")]
    texts = zip(table.measurements, values.tolist(), table.how_to_measure, table.source, strict=True)
    rows = [([name], figures, [how, source]) for name, figures, how, source in texts]
    area = table_of_lengths(sheet, columns, rows, unit, name="Body sizes")
    return FigureTable(table.measurements, area, 1, values)


def finished_measures(book: Book, run: SizeRun, unit: str) -> FigureTable:
    """What the finished mitten measures, with tolerances."""
    taken = measured(run)
    sheet = book.sheet("Finished measures", landscape=True)
    sheet.title(f"Finished measures, {UNIT_WORDS[unit]}")
    sheet.note(
        "What the finished mitten measures. Every figure is a finished measure, taken on the sew line: seam "
        "allowances lie outside it and are not in these figures. A measure passes from the figure less the "
        "tolerance − to the figure plus the tolerance +, both included."
    )
    values = in_unit(taken.values, unit)
    tolerances = np.array([[m.tolerance_minus, m.tolerance_plus] for m in taken.measures], dtype=float)
    shown = in_unit(tolerances.reshape(len(values), 2), unit)
    lengths = [Heading(name, Look.NUMBER) for name in (*run.sizes, "tolerance −", "tolerance +")]
    columns = [Heading("Measure"), Heading("Piece")], lengths, [Heading("How to measure")]
    rows = [
        ([measure.name, measure.piece], [*figures, *both], [said_in(unit, measure.how_to_measure)])
        for measure, figures, both in zip(taken.measures, values.tolist(), shown.tolist(), strict=True)
    ]
    area = table_of_lengths(sheet, columns, rows, unit, name="Finished measures")
    return FigureTable(tuple(measure.name for measure in taken.measures), area, 2, values, shown)


def grade_increments(book: Book, run: SizeRun, finished: FigureTable, body: FigureTable, unit: str) -> FigureTable:
    """How much each measure grows, calculated where it stands: the finished mitten's first, then the hand's."""
    sheet = book.sheet("Grade increments", landscape=True)
    sheet.title(f"Grade increments, {UNIT_WORDS[unit]}")
    sheet.note(
        "How much each measure grows from one size to the next: calculated from the sheet that is named beside it, "
        "so a figure changed there changes here. (A changed figure does not change the patterns: grade anew.)"
    )
    names = steps(run.sizes)
    if not names:
        sheet.note("This size group has one size only, and so no increments.")
    allowances = {value.name for value in run.block.values if value.kind is Kind.ALLOWANCE}
    measured_rows = [(finished, row) for row in range(len(finished.names))]
    measured_rows += [(body, row) for row, name in enumerate(body.names) if name not in allowances]
    values = np.array([np.diff(figures.values[row]) for figures, row in measured_rows])
    area = room_of_lengths(sheet, len(measured_rows), len(names) + 3, unit)
    grown = [Heading(name, Look.SIGNED) for name in (*names, *(["mean increment"] if names else []))]
    rows: list[LengthRow] = []
    for (figures, row), increments in zip(measured_rows, values, strict=True):
        cells: list[Content] = [
            Formula(f"={figures.cell(row, step + 1)}-{figures.cell(row, step)}", increment)
            for step, increment in enumerate(increments.tolist())
        ]
        if names:
            first, last = area.cell(len(rows), 2), area.cell(len(rows), len(names) + 1)
            cells.append(Formula(f"=AVERAGE({first}:{last})", float(increments.mean())))
        rows.append(([figures.names[row], figures.area.sheet], cells, []))
    words = [Heading("Measure"), Heading("Taken from")]
    area = table_of_lengths(sheet, (words, grown, []), rows, unit, name="Grade increments")
    return FigureTable(tuple(figures.names[row] for figures, row in measured_rows), area, 2, values)
