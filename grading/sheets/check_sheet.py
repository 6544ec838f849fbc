"""Declares the sheet that goes out with the work and comes back filled in.

Above it on the page stands a title, below it the verdict on each reading. So it is found by its headings, and not read
like other sheets; but its fields, its headings and what they fill are declared here, and nowhere else.
"""

from __future__ import annotations

from grading.model.returns import CheckSheet
from grading.sheets.columns import Cells, Column, Sheet

__all__ = ["ASKED", "CHECK"]


def _blank(name: str, help_: str, fills: str = "") -> Column:
    return Column(name, Cells.TEXT, help_, fills, blank="")


CHECK = Sheet(
    "Check sheet",
    "What whoever sews measured of each mitten: the fields above, a row for each measure below.",
    (
        _blank("Letter", "The letter by which the drawing shows the measure."),
        Column("Measure", Cells.TEXT, "What is measured."),
        Column("least", Cells.LENGTH, "The least that passes.", "least"),
        Column("right", Cells.LENGTH, "What it is to come to.", "figure"),
        Column("most", Cells.LENGTH, "The most that passes.", "most"),
    ),
    of=CheckSheet,
    others=Column("a pair's left or right", Cells.MEASUREMENT, "What was measured of that mitten."),
    fields=(
        _blank("Style", "The style's name."),
        Column("Group", Cells.TEXT, "The size group.", "group"),
        Column("Size", Cells.TEXT, "The size.", "size"),
        Column("Run", Cells.TEXT, "The run that the figures are of.", "run_id"),
        Column("Unit", Cells.UNIT, "The unit of every figure of the sheet.", "unit"),
        _blank("Name", "Who measured.", "name"),
        _blank("Date", "When.", "date"),
        _blank("Remarks", "What else there is to say.", "remarks"),
    ),
)

#: The columns of what a measure has to come to.
ASKED = tuple(column for column in CHECK.columns if column.fills)
