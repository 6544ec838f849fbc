"""Ruled tables as marks, their columns as wide as their widest cell, or narrower where a page is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import accumulate

from grading.drawing.fonts import ASCENT, DESCENT, LINE_SPACING, text_width
from grading.drawing.marks import Align, Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.system import PLAIN, SMALL

__all__ = ["ruled_rows", "ruled_table"]

_CELL = Text("", 0, 0, SMALL)
_GUTTER = 3.0


def ruled_table(headings: Sequence[str], rows: Sequence[Sequence[str]], *, words: int, title: str = "") -> Drawing:
    """Headings and rows of cells, hung from (0, 0) downwards; the first ``words`` columns begin at the left edge.

    The others hold figures and end at the right edge of their column. A heading may have several lines.
    """
    marks: list[Mark] = []
    pitch = LINE_SPACING * _CELL.height * 1.1
    y = 0.0
    if title:
        y -= PLAIN
        marks.append(Text(title, 0, y, PLAIN, bold=True))
        y -= 2.0
    deep = max(heading.count("\n") for heading in headings)
    heads = [("\n" * deep + heading).split("\n")[-deep - 1 :] for heading in headings]
    lines = [*zip(*heads, strict=True), *rows]
    widths = [
        max(text_width(cells[column], _CELL.height, bold=number <= deep) for number, cells in enumerate(lines))
        for column in range(len(headings))
    ]
    lefts = [sum(widths[:column]) + _GUTTER * column for column in range(len(headings))]
    across = lefts[-1] + widths[-1]
    for number, row in enumerate(lines):
        y -= pitch
        for column, cell in enumerate(row):
            if not cell:
                continue
            align, x = (Align.LEFT, lefts[column]) if column < words else (Align.RIGHT, lefts[column] + widths[column])
            marks.append(replace(_CELL, text=cell, x=x, y=y, align=align, bold=number <= deep))
        if number >= deep:
            rule = y - DESCENT * _CELL.height - 0.1
            marks.append(line([(0, rule), (across, rule)], Role.RULE if number == deep else Role.REFERENCE_LINE))
    return Drawing(tuple(marks))


def ruled_rows(
    headings: Sequence[str], rows: Sequence[Sequence[str]], *, words: int, width: float, height: float = SMALL
) -> list[Drawing]:
    """The headings, then each row of cells, hung from (0, 0), with a rule below it as wide as the page's ``width``.

    The first ``words`` columns hold words, which are wrapped where the page has not the room for all; the others hold
    figures and end at the right edge of their column. What is left of the width goes to the columns of words.
    """
    style = replace(_CELL, height=height)
    gutter = _GUTTER * height / SMALL
    wide = [
        max(text_width(row[column], height, bold=row is headings) for row in (headings, *rows))
        for column in range(len(headings))
    ]
    room = width - sum(wide[words:]) - gutter * (len(headings) - 1)
    wide[:words] = _shared(wide[:words], room)
    lefts = [0.0, *accumulate(column + gutter for column in wide)]
    drawn = []
    for row in (headings, *rows):
        cells = Drawing()
        for column, cell in enumerate(row):
            align, x = (Align.LEFT, lefts[column]) if column < words else (Align.RIGHT, lefts[column] + wide[column])
            if cell:
                bold = replace(style, align=align, bold=row is headings)
                cells += paragraph([cell], x, -0.16 * height, wide[column] + 1e-6, bold)
        below = min(cells.box.bottom, -(ASCENT + DESCENT) * height) - 0.1 * height
        role = Role.RULE if row is headings else Role.REFERENCE_LINE
        drawn.append(cells + Drawing((line([(0, below), (width, below)], role),)))
    return drawn


def _shared(wanted: Sequence[float], room: float) -> list[float]:
    """What is wanted where there is room for it, and more; else narrow columns whole, wide ones with what is left."""
    if not wanted:
        return []
    if sum(wanted) <= room:
        return [column + (room - sum(wanted)) / len(wanted) for column in wanted]
    given = dict.fromkeys(range(len(wanted)), 0.0)
    left = room
    for number, (column, wide) in enumerate(sorted(enumerate(wanted), key=lambda one: one[1])):
        given[column] = min(wide, left / (len(wanted) - number))
        left -= given[column]
    return list(given.values())
