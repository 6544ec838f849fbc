"""The tally: a sheet to keep at the stall, with strokes for what is sold and for what is asked for in vain."""

from __future__ import annotations

from grading.drawing.flowing import on_flowing_sheets
from grading.drawing.marks import Text, paragraph
from grading.drawing.pages import PageContent, PlainFrame, TitleBlock
from grading.drawing.paper import Printing
from grading.drawing.ruled import ruled_rows
from grading.drawing.system import LARGE, LARGEST, PLAIN
from grading.stock.plan import Plan

__all__ = ["tally"]

_HEADING, _NOTE = Text("", 0, 0, LARGEST, bold=True), Text("", 0, 0, PLAIN)
_HOW = (
    "A stroke for each pair that is sold, and for each that somebody would have bought in a size that is gone. "
    "Afterwards type the sums into fair.xlsx: the next batch follows them."
)


def tally(plan: Plan, printing: Printing, title: TitleBlock) -> list[PageContent]:
    """A row for each size that is brought, as many sheets as that takes."""
    frame = PlainFrame(printing.upright(), title)
    width = frame.area.width
    head = paragraph(["At the fair"], 0, 0, width, _HEADING)
    head += paragraph([_HOW], 0, head.box.bottom - 1, width, _NOTE)
    rows = [[row.group, row.size, str(row.pairs), "", ""] for row in plan.wanted]
    # Columns of words share what the page has left, so that there is room for strokes.
    table = ruled_rows(["Group", "Size", "brought", "sold", "asked for"], rows, words=5, width=width, height=LARGE)
    return on_flowing_sheets([[head], table], frame, "At the fair")
