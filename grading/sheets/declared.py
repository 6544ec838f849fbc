"""Declares every sheet's columns once: reader, starter workbook, drop-down lists and README all come from here."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from grading.model.block import PILE_RUNS, STRETCHES

__all__ = [
    "ABOUT",
    "BASE_VALUES",
    "BLOCK",
    "BLOCK_FIELDS",
    "BLOCK_SHEETS",
    "EDGES",
    "HAND",
    "LIMITS",
    "MAKING",
    "MARKS",
    "MEASURES",
    "MOVES",
    "PIECES",
    "POINTS",
    "SEAMS",
    "SEAM_TYPES",
    "SIZE_GROUP",
    "TRACED",
    "WORK",
    "Column",
    "Kind",
    "Sheet",
]


#: The sheet of a starter workbook that says what the others are for; no reader looks at it.
ABOUT = "About these sheets"


class Kind(Enum):
    """What a column's cells hold, and so what the reader makes of them (in brackets); the text is for a maker."""

    TEXT = "any text"  # str
    NAME = "a name, without , ; or :"  # str
    NAMES = "names, separated by commas"  # tuple[str, ...]
    SIDE = "a piece and its edges, as 'Piece: edge, edge'"  # model Side
    CHOICE = "one of the words listed"  # str, spelled as in choices
    YES_NO = "yes or no"  # bool
    DATE = "a date"  # str, as 2026-11-02 where the cell is a date, else as typed
    UNIT = "mm, cm or in"  # 'mm', 'cm' or 'in'; holds for the other cells of its row
    MEASUREMENT = "a length above zero"  # Fraction, mm
    LENGTH = "a length of zero or more"  # Fraction, mm
    SIGNED_LENGTH = "a length, with − if below zero"  # Fraction, mm
    NUMBER = "a number"  # Fraction
    COUNT = "a whole number of zero or more"  # int
    EASE = "a length, a percentage of side B, or the name of an allowance"  # model Amount
    RAW = "a figure or a name"  # the cell's own value: the sheet's reader knows what it stands for

    @property
    def is_figure(self) -> bool:
        """Whether the cells are figures, with or without a unit."""
        return self.is_length or self in (Kind.NUMBER, Kind.COUNT, Kind.EASE, Kind.RAW)

    @property
    def is_length(self) -> bool:
        """Whether the cells are lengths only, in the unit in force."""
        return self in (Kind.MEASUREMENT, Kind.LENGTH, Kind.SIGNED_LENGTH)


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, what its cells hold, and whether they may be left blank.

    An optional column may be missing altogether. ``default`` is what the reader gives for a blank cell.
    """

    name: str
    kind: Kind
    help: str
    optional: bool = False
    choices: tuple[str, ...] = ()
    default: object = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of one row a thing. The columns of ``key`` together name a row, which no other may repeat.

    ``others`` is what every further column holds, where a sheet may have any number of them.
    """

    name: str
    help: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    optional: bool = False
    others: Column | None = None

    def column(self, name: str) -> Column:
        """The column of that heading. Raises KeyError."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)


def _text(name: str, help_: str) -> Column:
    return Column(name, Kind.TEXT, help_, optional=True, default="")


_NOTE = _text("Note", "Anything worth knowing; not used in any sum.")
_PIECE = Column("Piece", Kind.NAME, "The piece, as on the sheet Pieces.")

SIZE_GROUP = Sheet(
    "Size group",
    "One sheet a group of sizes; the sheet's own name is the group's. A column for each size, smallest first.",
    (
        Column("Measurement", Kind.NAME, "What is measured, or an allowance of the block that this group changes."),
        Column("Unit", Kind.UNIT, "The unit of this row's figures."),
        _text("How to measure", "How to lay the tape, so that two people get the same figure."),
        _text("Source", "Where the figures come from."),
    ),
    key=("Measurement",),
    others=Column("a size", Kind.MEASUREMENT, "The figure of this size."),
)

HAND = Sheet(
    "Hand",
    "One person's hands: a row for each measurement, a column for each hand.",
    (
        Column("Measurement", Kind.NAME, "What is measured."),
        Column("Unit", Kind.UNIT, "The unit of this row's figures.", True),
        Column("Left", Kind.MEASUREMENT, "The figure of the left hand; blank if it was not taken.", True),
        Column("Right", Kind.MEASUREMENT, "The figure of the right hand; blank if it was not taken.", True),
        _text("How to measure", "How to lay the tape."),
    ),
    key=("Measurement",),
)

TRACED = Sheet(
    "Traced points",
    "The points of a pattern read off grid paper, piece by piece, in the order in which its outline runs.",
    (
        _PIECE,
        Column("Point", Kind.NAME, "The name of the point, the only one of it on this piece."),
        Column("x", Kind.SIGNED_LENGTH, "Across the hand from the mirror line; the palm half is above zero."),
        Column("y", Kind.SIGNED_LENGTH, "Up from the wrist line (thumb: from the knuckle line)."),
        Column("Kind", Kind.CHOICE, "turn: a corner; curve: on a smooth curve.", choices=("turn", "curve")),
        Column(
            "Role",
            Kind.NAME,
            "The point of the standard mitten that it moves like; blank if it is called by that name.",
            True,
            default="",
        ),
    ),
    key=("Piece", "Point"),
)

BLOCK_FIELDS = (
    Column("Name", Kind.TEXT, "What the style is called; it stands on every sheet that is printed."),
    Column("Unit", Kind.UNIT, "The unit of every figure in this workbook that names none."),
    Column("Groups", Kind.NAMES, "The size groups it is drafted for; blank means all.", True, default=()),
    Column("Drawn from", Kind.CHOICE, "The face of the skin the pieces are drawn from.", choices=("inside", "outside")),
    Column("Marked on", Kind.CHOICE, "The face of the skin that is marked out.", choices=("inside", "outside")),
    Column("Compressed pile", Kind.LENGTH, "How thick the pile is when worn, pressed between hand and leather."),
    Column("Leather thickness", Kind.LENGTH, "How thick the leather is without its pile."),
    Column("Date", Kind.DATE, "The date of this version of the block.", True, default=""),
    _text("Notes", "Anything worth knowing about the block."),
)

BLOCK = Sheet(
    "Block",
    "What holds for the whole block: a field and its value in each row.",
    (
        Column("Field", Kind.TEXT, "What is stated; the fields are listed below."),
        Column("Value", Kind.RAW, "What it is.", optional=True),
    ),
    key=("Field",),
)

BASE_VALUES = Sheet(
    "Base values",
    "The figures that points move by: what the block was drafted with, and what is used now.",
    (
        Column("Value", Kind.NAME, "The measurement of the size table, or an allowance of your own."),
        Column(
            "Kind",
            Kind.CHOICE,
            "body: each size has its own, from the size table; allowance: the same in all sizes; balance: worked "
            "out for each size to hold a seam's ease.",
            choices=("body", "allowance", "balance"),
        ),
        Column("Drafted with", Kind.SIGNED_LENGTH, "The figure the block was drawn with. Never change it alone."),
        Column("Use now", Kind.SIGNED_LENGTH, "The allowance to grade with; blank means as drafted.", True),
        Column("Least", Kind.SIGNED_LENGTH, "The least a balance value may come to.", True),
        Column("Most", Kind.SIGNED_LENGTH, "The most a balance value may come to.", True),
        Column("Unit", Kind.UNIT, "The unit of this row's figures; blank means the block's.", True),
        _NOTE,
    ),
    key=("Value",),
)

PIECES = Sheet(
    "Pieces",
    "The pieces to cut.",
    (
        Column("Piece", Kind.NAME, "The name of the piece."),
        Column("Mirror line", Kind.YES_NO, "yes if only the half beside its mirror line (x = 0) is drawn."),
        Column("Cut left", Kind.COUNT, "How many for a left hand."),
        Column("Cut right", Kind.COUNT, "How many for a right hand."),
        _text("Material", "What it is cut from."),
        Column(
            "Pile arrow",
            Kind.CHOICE,
            "Which way the pile runs on the piece; blank for no arrow.",
            True,
            default="",
            choices=tuple(PILE_RUNS),
        ),
        Column(
            "Stretch arrow",
            Kind.CHOICE,
            "Which way the leather stretches, across the hand or along it; blank for no arrow.",
            True,
            default="",
            choices=STRETCHES,
        ),
        Column(
            "Stacking point",
            Kind.NAME,
            "The point at which sizes lie over one another in a nest; blank means where x and y are 0.",
            True,
            default="",
        ),
        _NOTE,
    ),
    key=("Piece",),
)

MOVES = Sheet(
    "Moves",
    "How points move: a move has a row for each value it depends on.",
    (
        Column("Move", Kind.NAME, "The name of the move, as points call it."),
        Column("Value", Kind.NAME, "The value it depends on, as on the sheet Base values."),
        Column("Share x", Kind.NUMBER, "How far across for each 1 of the value; blank is 0.", True, default=0),
        Column("Share y", Kind.NUMBER, "How far up for each 1 of the value; blank is 0.", True, default=0),
    ),
    key=("Move", "Value"),
)

POINTS = Sheet(
    "Points",
    "The points as drafted, in the order in which the outline runs through them.",
    (
        _PIECE,
        Column("Point", Kind.NAME, "The name of the point, the only one of it on this piece."),
        Column("x", Kind.SIGNED_LENGTH, "Across the hand from the mirror line; the palm half is above zero."),
        Column("y", Kind.SIGNED_LENGTH, "Up from the wrist line (thumb: from the knuckle line)."),
        Column("Kind", Kind.CHOICE, "turn: a corner; curve: on a smooth curve.", choices=("turn", "curve")),
        Column("Moves with", Kind.NAMES, "The moves it goes with; blank if it stays.", True, default=()),
        _NOTE,
    ),
    key=("Piece", "Point"),
)

EDGES = Sheet(
    "Edges",
    "The stretches of each outline and cut-out, in order round it.",
    (
        _PIECE,
        Column("Edge", Kind.NAME, "The name of the edge, the only one of it on this piece."),
        Column(
            "Loop",
            Kind.NAME,
            "boundary for the outline, or the name of a cut-out; blank means boundary.",
            True,
            default="boundary",
        ),
        Column("Points in order", Kind.NAMES, "The points it runs through, the first and the last too."),
        Column("Seam type", Kind.NAME, "How it is sewn, as on the sheet Seam types."),
    ),
    key=("Piece", "Edge"),
)

SEAM_TYPES = Sheet(
    "Seam types",
    "How edges are sewn and what is added outside the sew line.",
    (
        Column("Seam type", Kind.NAME, "The name of the seam type."),
        Column("Allowance", Kind.LENGTH, "Sew line to cut line, the same in every size; 0 for an oversewn edge."),
        _text("Stitch", "The stitch."),
        _text("Needle", "The needle."),
        _NOTE,
    ),
    key=("Seam type",),
)

SEAMS = Sheet(
    "Seams",
    "What is sewn to what. Ease is how much longer side A is than side B; ends of the same name meet.",
    (
        Column("Seam", Kind.TEXT, "The name of the seam."),
        Column("Side A", Kind.SIDE, "The side that is eased in: its piece, a colon, its edges from start to end."),
        Column("Side B", Kind.SIDE, "The side it is sewn to, from the same start. EDGE' is a mirrored edge."),
        Column("Least ease", Kind.EASE, "The least that is right: a length, a % of side B or an allowance.", True),
        Column("Most ease", Kind.EASE, "The most that is right.", True),
        Column("Target ease", Kind.EASE, "What to aim at; blank means the base's own ease.", True),
        Column("Balance by", Kind.NAME, "The balance value to change until the ease is on target.", True, default=""),
        Column("Matching marks", Kind.COUNT, "How many marks on each side; blank for none.", True, default=0),
        Column("Strokes", Kind.COUNT, "Of how many strokes each of them is; blank is 1.", True, default=1),
        Column(
            "Without ease",
            Kind.NUMBER,
            "The share of side B, from its start, along which no ease is taken up: 1/4; blank is 0.",
            True,
            default=0,
        ),
    ),
    key=("Seam",),
    optional=True,
)

MARKS = Sheet(
    "Marks",
    "What is drawn on a piece besides its lines.",
    (
        _PIECE,
        Column("Mark", Kind.TEXT, "The name of the mark, or the words of a label."),
        Column(
            "Kind",
            Kind.CHOICE,
            "notch: cut into the allowance, or a tick where that has no room; tick: inside the sew line; change-over: "
            "a small cross where the seam goes on from the other face; label: the words, on the body beside a point; "
            "fold line and placement line: drawn from point to point.",
            choices=("notch", "tick", "change-over", "label", "fold line", "placement line"),
        ),
        Column("Where", Kind.TEXT, "At which points, or from point to point, separated by commas."),
        _NOTE,
    ),
    key=("Piece", "Mark"),
    optional=True,
)

MEASURES = Sheet(
    "Measures",
    "The points of measure of the finished piece, all taken on sew lines.",
    (
        Column("Measure", Kind.TEXT, "The name of the measure."),
        _PIECE,
        Column(
            "How",
            Kind.CHOICE,
            "straight: from point to point; along: along the sew line; across: the width at a point's height; "
            "perimeter: round a whole outline or cut-out; height: up and down only; sideways: across only; "
            "clearance: from a cut-out to the boundary or the mirror line; narrowest: the least width between the "
            "heights of two points; radius: the tightest bend of a whole outline or cut-out; angle: inside at a "
            "point, in degrees.",
            choices=(
                "straight",
                "along",
                "across",
                "perimeter",
                "height",
                "sideways",
                "clearance",
                "narrowest",
                "radius",
                "angle",
            ),
        ),
        Column(
            "From",
            Kind.NAME,
            "The first point; for a perimeter, a clearance or a radius, boundary or the cut-out's name.",
        ),
        Column(
            "To",
            Kind.NAME,
            "The second point; blank for across, perimeter, radius and angle; boundary or mirror line for a clearance.",
            True,
            default="",
        ),
        Column("Times", Kind.NUMBER, "What to multiply by: 1/2 for a piece laid flat; blank is 1.", True, default=1),
        Column(
            "Tolerance −",
            Kind.LENGTH,
            "How much less is still right; without a sign. Blank in both: checked here, not measured on the piece.",
            True,
        ),
        Column("Tolerance +", Kind.LENGTH, "How much more is still right.", True),
        Column("Tells the size", Kind.YES_NO, "yes if sizes are told apart by it.", True, default=False),
        Column("Follows", Kind.NAME, "The body measurement it grows with.", True, default=""),
        Column("Share followed", Kind.NUMBER, "How much it grows for each 1 of that; blank is 1.", True, default=1),
        _text("How to measure", "How to lay the piece and the tape."),
    ),
    key=("Measure",),
    optional=True,
)

LIMITS = Sheet(
    "Limits",
    "What this block is held to in every size: (times × what − less times × less) ÷ divided by, within bounds.",
    (
        Column("Limit", Kind.TEXT, "What the limit is called in a finding."),
        Column(
            "What",
            Kind.TEXT,
            "A measure, a measurement or an allowance; or 'material takes', pile and leather; or 'leather takes'.",
        ),
        Column("Times", Kind.NUMBER, "What to multiply it by; blank is 1.", True, default=1),
        Column("Less", Kind.TEXT, "What to take from it, named likewise; blank for nothing.", True, default=""),
        Column("Less times", Kind.NUMBER, "What to multiply that by; blank is 1.", True, default=1),
        Column("Divided by", Kind.RAW, "What to divide by: a figure or a name; blank is 1.", True),
        Column(
            "Least",
            Kind.RAW,
            "The least that is right: a figure (mm, degrees or a plain ratio), a name, or a name + so many mm.",
            True,
        ),
        Column("Most", Kind.RAW, "The most that is right, likewise.", True),
        Column(
            "Severity",
            Kind.CHOICE,
            "error stops the run; warning and note only say so.",
            choices=("error", "warning", "note"),
        ),
        _text("Why", "What goes wrong beyond it."),
    ),
    key=("Limit",),
    optional=True,
)

MAKING = Sheet(
    "Making",
    "How the pieces are put together, step by step; printed as it stands.",
    (
        Column("Step", Kind.TEXT, "The number of the step."),
        Column("What to do", Kind.TEXT, "What to do."),
        _text("Stitch", "The stitch."),
        _text("Needle", "The needle."),
        _text("Thread", "The thread."),
        _NOTE,
        _text("Shows", "The seams and marks that the step's drawing shows, as they are named there, parted by ';'."),
    ),
    key=("Step",),
    optional=True,
)

WORK = Sheet(
    "Work",
    "What whoever sews is told besides measures and steps: bite, hairs, spoiled pieces; printed as it stands.",
    (
        Column("Topic", Kind.TEXT, "What the line is about."),
        _text("What holds", "What holds for it; a topic left blank here is not printed."),
    ),
    key=("Topic",),
    optional=True,
)

#: The sheets of block.xlsx, in order.
BLOCK_SHEETS = (
    BLOCK,
    BASE_VALUES,
    PIECES,
    MOVES,
    POINTS,
    EDGES,
    SEAM_TYPES,
    SEAMS,
    MARKS,
    MEASURES,
    LIMITS,
    MAKING,
    WORK,
)
