"""Reads the points of a pattern that were read off grid paper."""

from __future__ import annotations

from grading.findings import Finding, has_errors
from grading.model.measured import TracedPoint
from grading.sheets.declared import TRACED
from grading.sheets.grids import Opened
from grading.sheets.kinds import POINTS, mistaken
from grading.sheets.refusals import TOO_MANY_CELLS, in_workbook
from grading.sheets.rows import find_headed, read_rows
from grading.sheets.values import values

__all__ = ["MOST_POINTS", "read_traced"]

#: A pattern has some dozens of points: each is looked for among all others.
MOST_POINTS = 500


def read_traced(opened: Opened, unit: str) -> tuple[tuple[TracedPoint, ...], list[Finding]]:
    """The points of the first sheet headed 'Piece'; ``unit`` holds for figures that name none."""
    if wrong := mistaken(opened, POINTS):
        return (), wrong
    grid, findings = find_headed(opened, TRACED, ", ".join(column.name for column in TRACED.columns))
    if grid is None:
        return (), findings
    if grid.rows > MOST_POINTS:
        return (), [in_workbook(TOO_MANY_CELLS, opened.path.name)]
    table, findings = read_rows(grid, TRACED, unit)
    return (() if has_errors(findings) else values(TRACED, table.rows)), findings
