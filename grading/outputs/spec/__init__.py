"""The spec-sheet workbook of a graded run: what it measures, how it grows, how it is cut and sewn."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from grading.engine.cut_lines import CutLoop
from grading.engine.run import SizeRun
from grading.findings import Finding
from grading.outputs.size_sheet import size_sheets
from grading.outputs.spec.auditing import findings_sheet, grade_audit
from grading.outputs.spec.cover import write_cover
from grading.outputs.spec.cutting import cut_list, cut_pieces
from grading.outputs.spec.gloves import glove_sizes
from grading.outputs.spec.making import glossary, materials, order_of_making
from grading.outputs.spec.measures import body_sizes, finished_measures, grade_increments
from grading.outputs.spec.seaming import seams
from grading.outputs.spec.sizes import size_page
from grading.units import DECIMALS
from grading.workbooks.book import Book

__all__ = ["spec_workbook"]


def spec_workbook(
    run: SizeRun,
    *,
    run_id: str,
    inputs: Collection[str],
    findings: Sequence[Finding],
    loops: Sequence[CutLoop],
    unit: str = "mm",
) -> bytes:
    """The workbook of one size group, as a file.

    ``inputs`` are the names of the files the run was made from, ``loops`` its cut lines. ``unit``
    ('mm', 'cm' or 'in') is what figures are shown in; formulas work on the figures shown. The same run gives the
    same bytes. Raises KeyError for an unknown unit, or for an edge without
    a seam type.
    """
    title = f"{run.block.name}, {run.group}"
    book = Book(title, subject=run.group, run_id=run_id, decimals=DECIMALS[unit], read=True)
    cover = book.sheet("Cover")
    body = body_sizes(book, run, unit)
    finished = finished_measures(book, run, unit)
    increments = grade_increments(book, run, finished, body, unit)
    grade_audit(book, run, finished, increments, unit)
    seams(book, run, unit)
    cut_list(book, run, unit)
    cut_pieces(book, run, loops, unit)
    glove_sizes(book, run, body, unit)
    order_of_making(book, run, unit)
    materials(book, run, unit)
    for content in size_sheets(run, run_id=run_id, unit=unit):
        size_page(book, content, unit)
    glossary(book)
    book.define("Finished_measures", finished.area.whole)
    # What the book itself had to change in texts so far is told with the rest.
    findings = [*findings, *book.findings]
    findings_sheet(book, findings)
    listed = [sheet.name for sheet in book.sheets[1:]]
    write_cover(cover, run, run_id=run_id, inputs=inputs, findings=findings, unit=unit, listed=listed)
    return book.to_bytes()
