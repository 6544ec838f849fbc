"""Declares the sheets on which measurements and points are filled in: size tables, hands, traced points."""

from __future__ import annotations

from dataclasses import dataclass

from grading.model.measured import Chosen, Taken, TracedPoint
from grading.sheets.columns import Cells, Column, SameAs, Sheet

__all__ = ["ABOUT", "FAMILY", "HAND", "SIZE_GROUP", "STYLE", "TRACED", "MeasuredRow"]

#: The sheet of a starter workbook that says what the others are for; no reader looks at it.
ABOUT = "About these sheets"


@dataclass(frozen=True, slots=True)
class MeasuredRow:
    """One measurement of a size table: its figure in each size, mm, and the unit it was typed in."""

    name: str
    unit: str
    figures: tuple[float, ...]
    how_to_measure: str
    source: str


#: The row of a size group that says which family each size is of.
FAMILY = "Family"

# A column stands in as few lines as it takes.
# fmt: off
SIZE_GROUP = Sheet(
    "Size group",
    "One sheet a group of sizes; the sheet's own name is the group's. A column for each size, smallest first. A row "
    "Family may say which sizes belong together (short, long): each family is then a run of its own for the audit.",
    (
        Column("Measurement", Cells.NAME, "What is measured, or an allowance of the block that this group changes.",
            "name", given=True),
        Column("Unit", Cells.UNIT, "The unit of this row's figures.", "unit", given=True),
        Column("How to measure", Cells.TEXT, "How to lay the tape, so that two people get the same figure.",
            "how_to_measure", blank="", given=True),
        Column("Source", Cells.TEXT, "Where the figures come from.", "source", blank="", given=True),
    ),
    of=MeasuredRow,
    key=("Measurement",),
    others=Column("a size", Cells.MEASUREMENT, "The figure of this size.", "figures"),
)

HAND = Sheet(
    "Hand",
    "One person's hands: a row for each measurement, a column for each hand.",
    (
        Column("Measurement", Cells.NAME, "What is measured.", "name", given=True),
        Column("Unit", Cells.UNIT, "The unit of this row's figures.", blank=None),
        Column("Left", Cells.MEASUREMENT, "The figure of the left hand; blank if it was not taken.", "left",
            blank=None),
        Column("Right", Cells.MEASUREMENT, "The figure of the right hand; blank if it was not taken.", "right",
            blank=None),
        Column("How to measure", Cells.TEXT, "How to lay the tape.", "how_to_measure", blank="", given=True),
    ),
    of=Taken,
    key=("Measurement",),
    in_full=True,
)

STYLE = Sheet(
    "Style",
    "The style to draft: a choice for each part of the mitten.",
    (
        Column("Part", Cells.NAME, "The part of the mitten.", "part", given=True),
        Column("Choice", Cells.TEXT, "How it is made; blank for the standard mitten's.", "choice", blank=""),
    ),
    of=Chosen,
    key=("Part",),
    optional=True,
    at="Choice",
)

TRACED = Sheet(
    "Traced points",
    "The points of a pattern read off grid paper, piece by piece, in the order in which its outline runs.",
    (
        Column("Piece", Cells.NAME, "The piece, as on the sheet Pieces.", "piece"),
        Column("Point", Cells.NAME, "The name of the point, the only one of it on this piece.", "name"),
        Column("x", Cells.SIGNED_LENGTH, "Across the hand from the mirror line; the palm half is above zero.", "x"),
        Column("y", Cells.SIGNED_LENGTH, "Up from the wrist line (thumb: from the knuckle line).", "y"),
        Column("Kind", Cells.CHOICE, "turn: a corner; curve: on a smooth curve.", "turn",
            choices={"turn": True, "curve": False}),
        Column("Role", Cells.NAME,
            "The point of the standard mitten that it moves like; blank if it is called by that name.", "role",
            blank=SameAs("Point")),
    ),
    of=TracedPoint,
    key=("Piece", "Point"),
)
