"""Reads the points of a pattern that were read off grid paper."""

from __future__ import annotations

from grading.codes import Code
from grading.findings import Finding, Place, has_errors
from grading.model.measured import TracedPoint
from grading.sheets.declared import TRACED
from grading.sheets.kinds import POINTS, mistaken
from grading.sheets.opening import Opened
from grading.sheets.refusals import TOO_MANY_CELLS, in_workbook
from grading.sheets.rows import is_headed_by, read_rows
from grading.sheets.values import values

__all__ = ["MOST_POINTS", "read_traced"]

#: A pattern has some dozens of points: each is looked for among all others.
MOST_POINTS = 500


def read_traced(opened: Opened, unit: str) -> tuple[tuple[TracedPoint, ...], list[Finding]]:
    """The points of the first sheet headed 'Piece'; ``unit`` holds for figures that name none."""
    if not opened.grids:
        return (), []
    if wrong := mistaken(opened, POINTS):
        return (), wrong
    grid = next((grid for grid in opened.grids if is_headed_by(grid, TRACED.columns[0].name)), None)
    if grid is None:
        place, found = Place(opened.path.name), "No sheet begins with the heading 'Piece'."
        action = f"Add the headings {', '.join(column.name for column in TRACED.columns)} in the first row."
        return (), [Finding.error(Code.MISSING_SHEET, place, found, TRACED.help, action)]
    if grid.rows > MOST_POINTS:
        return (), [in_workbook(TOO_MANY_CELLS, opened.path.name)]
    table, findings = read_rows(grid, TRACED, unit)
    if has_errors(findings):
        return (), findings
    return values(TRACED, table.rows), findings
