"""A ruled table as marks, its columns as wide as their widest cell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from grading.drawing.fonts import DESCENT, LINE_SPACING, text_width
from grading.drawing.marks import Align, Drawing, Mark, Role, Text, line
from grading.drawing.system import PLAIN, SMALL

__all__ = ["ruled_table"]

_CELL = Text("", 0, 0, SMALL)
_GUTTER = 3.0


def ruled_table(headings: Sequence[str], rows: Sequence[Sequence[str]], *, words: int, title: str = "") -> Drawing:
    """Headings and rows of cells, hung from (0, 0) downwards; the first ``words`` columns begin at the left edge.

    The others hold figures and end at the right edge of their column.
    """
    marks: list[Mark] = []
    pitch = LINE_SPACING * _CELL.height * 1.1
    y = 0.0
    if title:
        y -= PLAIN
        marks.append(Text(title, 0, y, PLAIN, bold=True))
        y -= 2.0
    widths = [
        max(text_width(cell, _CELL.height, bold=row is headings) for row in (headings, *rows) for cell in [row[column]])
        for column in range(len(headings))
    ]
    lefts = [sum(widths[:column]) + _GUTTER * column for column in range(len(headings))]
    across = lefts[-1] + widths[-1]
    for row in (headings, *rows):
        y -= pitch
        for column, cell in enumerate(row):
            if not cell:
                continue
            align, x = (Align.LEFT, lefts[column]) if column < words else (Align.RIGHT, lefts[column] + widths[column])
            marks.append(replace(_CELL, text=cell, x=x, y=y, align=align, bold=row is headings))
        rule = y - DESCENT * _CELL.height - 0.1
        marks.append(line([(0, rule), (across, rule)], Role.RULE if row is headings else Role.REFERENCE_LINE))
    return Drawing(tuple(marks))
