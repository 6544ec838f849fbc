"""The sheet that shows the nearest published glove size beside each size."""

from __future__ import annotations

import numpy as np

from grading.engine.run import SizeRun
from grading.model.names import Names
from grading.outputs.spec.figures import FigureTable, in_unit
from grading.readings.glove_sizes import FRENCH_INCH, PUBLISHED, nearest_by_girth, nearest_by_length
from grading.units import UNIT_WORDS, rounded
from grading.workbooks.book import Book, Content, Formula, Heading, Look

__all__ = ["GIRTH", "LENGTH", "glove_sizes"]

#: The rows of a size table that published sizes go by: those of the open hand.
GIRTH, LENGTH = "hand girth", "hand length"


def glove_sizes(book: Book, run: SizeRun, body: FigureTable, unit: str) -> None:
    """The published and the traditional glove size nearest to each size; no sheet where the table lacks the rows."""
    girth, length = run.table.row(GIRTH), run.table.row(LENGTH)
    if girth is None or length is None:
        return
    sheet = book.sheet("Glove sizes", landscape=True)
    sheet.title(f"Nearest published glove sizes, {UNIT_WORDS[unit]}")
    sheet.note(
        "A comparison, for customers who know their glove size: no claim that these mittens conform to a standard. "
        "Published sizes: EN 420:2003+A1:2009, carried into EN ISO 21420:2020, by girth and length of the open hand. "
        f"The traditional size is the girth of the open hand in French inches of {FRENCH_INCH} mm."
    )
    sheet.note(
        "Where girth and length point to different sizes, the girth says whether the hand gets in. 'Under' and "
        "'over': the hand lies outside the published sizes by more than half a step."
    )
    columns = [
        Heading("Size"),
        Heading(GIRTH, Look.NUMBER),
        Heading("in French inches", Look.NUMBER),
        Heading("to the nearest half", Look.NUMBER),
        Heading("published size by girth"),
        Heading("its girth", Look.NUMBER),
        Heading("girth less that", Look.SIGNED),
        Heading(LENGTH, Look.NUMBER),
        Heading("published size by length"),
        Heading("its length", Look.NUMBER),
        Heading("length less that", Look.SIGNED),
    ]
    area = sheet.room(len(run.sizes), len(columns))
    inch = float(in_unit(FRENCH_INCH, unit))
    by_girth, by_length = nearest_by_girth(girth), nearest_by_length(length)
    rows: list[list[Content]] = []
    for row, size in enumerate(run.sizes):
        around, along = _copied(body, GIRTH, row), _copied(body, LENGTH, row)
        wide = float(in_unit(by_girth[row].size.girth, unit))
        long = float(in_unit(by_length[row].size.length, unit))
        inches = float(around.value) / inch
        rows.append(
            [
                size,
                around,
                Formula(f"={area.cell(row, 1)}/{inch:.10g}", inches),
                Formula(f"=ROUND(2*{area.cell(row, 2)},0)/2", rounded(2 * inches, 0) / 2),
                str(by_girth[row]),
                wide,
                Formula(f"={area.cell(row, 1)}-{area.cell(row, 5)}", float(around.value) - wide),
                along,
                str(by_length[row]),
                long,
                Formula(f"={area.cell(row, 7)}-{area.cell(row, 9)}", float(along.value) - long),
            ]
        )
    sheet.table(columns, rows)
    sheet.gap()
    published = [[str(size.number), *in_unit(np.array([size.girth, size.length]), unit).tolist()] for size in PUBLISHED]
    headings = [Heading("Published size"), Heading(GIRTH, Look.NUMBER), Heading(LENGTH, Look.NUMBER)]
    sheet.table(headings, published)


def _copied(body: FigureTable, measurement: str, column: int) -> Formula:
    """A figure of the body sizes, shown again."""
    row = body.names.index(Names(body.names).settled(measurement))
    return Formula(f"={body.cell(row, column)}", float(body.values[row, column]))
