"""Declares the sheets of block.xlsx."""

from __future__ import annotations

from grading.findings import Severity
from grading.measuring.ways import WAYS, help_of_from, help_of_how, help_of_to
from grading.model.block import (
    BOUNDARY,
    PILE_RUNS,
    STRETCHES,
    Block,
    Edge,
    Kind,
    Limit,
    Mark,
    Measure,
    Move,
    Piece,
    Point,
    Seam,
    SeamType,
    Share,
    Value,
)
from grading.model.hands import INSIDE, OUTSIDE
from grading.model.making import Instruction, Step
from grading.model.mark_kinds import MARK_KINDS, help_of_kinds
from grading.sheets.columns import FIELD_AND_VALUE, Cells, Column, SameAs, Sheet, words

__all__ = [
    "BASE_VALUES",
    "BLOCK",
    "BLOCK_SHEETS",
    "EDGES",
    "LIMITS",
    "MAKING",
    "MARKS",
    "MEASURES",
    "MOVES",
    "PIECES",
    "POINTS",
    "SEAMS",
    "SEAM_TYPES",
    "WORK",
]


def _text(name: str, help_: str, fills: str, *, printed: bool = True) -> Column:
    return Column(name, Cells.TEXT, help_, fills, blank="", printed=printed)


def _note(*, printed: bool) -> Column:
    return _text("Note", "Anything worth knowing; not used in any sum.", "note", printed=printed)


_PIECE = Column("Piece", Cells.NAME, "The piece, as on the sheet Pieces.", "piece", names="piece")

# A column stands in as few lines as it takes.
# fmt: off
BLOCK = Sheet(
    "Block",
    "What holds for the whole block: a field and its value in each row.",
    FIELD_AND_VALUE,
    of=Block,
    key=("Field",),
    fields=(
        Column("Name", Cells.TEXT, "What the style is called; it stands on every sheet that is printed.", "name"),
        _text("Style", "The choice that was drafted for each part; what is graded stands on the other sheets.", "style",
            printed=False),
        Column("Unit", Cells.UNIT, "The unit of every figure in this workbook that names none."),
        Column("Groups", Cells.NAMES, "The size groups it is drafted for; blank means all.", "groups", blank=()),
        Column("Drawn from", Cells.CHOICE, "The face of the skin the pieces are drawn from.", "drawn_from",
            choices=words(INSIDE, OUTSIDE)),
        Column("Marked on", Cells.CHOICE, "The face of the skin that is marked out.", "marked_on",
            choices=words(INSIDE, OUTSIDE)),
        Column("Compressed pile", Cells.LENGTH, "How thick the pile is when worn, pressed between hand and leather.",
            "compressed_pile"),
        Column("Leather thickness", Cells.LENGTH, "How thick the leather is without its pile.", "leather"),
        Column("Lining thickness", Cells.LENGTH, "How thick a lining is when worn; blank for none.", "lining",
            blank=0.0),
        Column("Date", Cells.DATE, "The date of this version of the block.", "date", blank=""),
        _text("Notes", "Anything worth knowing about the block.", "notes", printed=False),
    ),
)

BASE_VALUES = Sheet(
    "Base values",
    "The figures that points move by: what the block was drafted with, and what is used now.",
    (
        Column("Value", Cells.NAME, "The measurement of the size table, or an allowance of your own.", "name"),
        Column("Kind", Cells.CHOICE,
            "body: each size has its own, from the size table; allowance: the same in all sizes; balance: worked "
            "out for each size to hold a seam's ease.", "kind", choices={kind.value: kind for kind in Kind}),
        Column("Drafted with", Cells.SIGNED_LENGTH, "The figure the block was drawn with. Never change it alone.",
            "drafted"),
        Column("Use now", Cells.SIGNED_LENGTH, "The allowance to grade with; blank means as drafted.", "now",
            blank=SameAs("Drafted with")),
        Column("Least", Cells.SIGNED_LENGTH, "The least a balance value may come to.", "least", blank=0.0),
        Column("Most", Cells.SIGNED_LENGTH, "The most a balance value may come to.", "most", blank=0.0),
        Column("Unit", Cells.UNIT, "The unit of this row's figures; blank means the block's.", blank=None),
        _note(printed=False),
    ),
    of=Value,
    fills="values",
    key=("Value",),
)

PIECES = Sheet(
    "Pieces",
    "The pieces to cut.",
    (
        Column("Piece", Cells.NAME, "The name of the piece.", "name"),
        Column("Mirror line", Cells.YES_NO, "yes if only the half beside its mirror line (x = 0) is drawn.",
            "mirrored"),
        Column("Cut left", Cells.COUNT, "How many for a left hand.", "cut_left"),
        Column("Cut right", Cells.COUNT, "How many for a right hand.", "cut_right"),
        _text("Material", "What it is cut from.", "material"),
        Column("Pile arrow", Cells.CHOICE, "Which way the pile runs on the piece; blank for no arrow.", "pile_arrow",
            blank="", choices=words(*PILE_RUNS)),
        Column("Stretch arrow", Cells.CHOICE,
            "Which way the leather stretches, across the hand or along it; blank for no arrow.", "stretch", blank="",
            choices=words(*STRETCHES)),
        Column("Stacking point", Cells.NAME,
            "The point at which sizes lie over one another in a nest; blank means where x and y are 0.",
            "stacking_point", blank="", names="point"),
        _note(printed=True),
        Column("Lining", Cells.YES_NO, "yes for what is worn inside, its face to the hand.", "lining", blank=False),
        Column("From skins", Cells.YES_NO, "no for what is cut from cloth: no lay has it.", "of_skin", blank=True),
    ),
    of=Piece,
    fills="pieces",
    key=("Piece",),
)

MOVES = Sheet(
    "Moves",
    "How points move: a move has a row for each value it depends on.",
    (
        Column("Move", Cells.NAME, "The name of the move, as points call it.", "name", printed=False),
        Column("Value", Cells.NAME, "The value it depends on, as on the sheet Base values.", "shares.value",
            names="value"),
        Column("Share x", Cells.NUMBER, "How far across for each 1 of the value; blank is 0.", "shares.x", blank=0.0),
        Column("Share y", Cells.NUMBER, "How far up for each 1 of the value; blank is 0.", "shares.y", blank=0.0),
    ),
    of=Move,
    fills="moves",
    key=("Move", "Value"),
    parts={"shares": Share},
    at="Move",
)

POINTS = Sheet(
    "Points",
    "The points as drafted, in the order in which the outline runs through them.",
    (
        _PIECE,
        Column("Point", Cells.NAME, "The name of the point, the only one of it on this piece.", "name"),
        Column("x", Cells.SIGNED_LENGTH, "Across the hand from the mirror line; the palm half is above zero.", "x"),
        Column("y", Cells.SIGNED_LENGTH, "Up from the wrist line (thumb: from the knuckle line).", "y"),
        Column("Kind", Cells.CHOICE, "turn: a corner; curve: on a smooth curve.", "turn",
            choices={"turn": True, "curve": False}),
        Column("Moves with", Cells.NAMES, "The moves it goes with; blank if it stays.", "moves", blank=(),
            names="move"),
        _note(printed=False),
    ),
    of=Point,
    fills="points",
    key=("Piece", "Point"),
)

EDGES = Sheet(
    "Edges",
    "The stretches of each outline and cut-out, in order round it.",
    (
        _PIECE,
        Column("Edge", Cells.NAME, "The name of the edge, the only one of it on this piece.", "name"),
        Column("Loop", Cells.NAME, "boundary for the outline, or the name of a cut-out; blank means boundary.", "loop",
            blank=BOUNDARY, names="loop"),
        Column("Points in order", Cells.NAMES, "The points it runs through, the first and the last too.", "points",
            names="point"),
        Column("Seam type", Cells.NAME, "How it is sewn, as on the sheet Seam types.", "seam_type", names="seam type"),
    ),
    of=Edge,
    fills="edges",
    key=("Piece", "Edge"),
)

SEAM_TYPES = Sheet(
    "Seam types",
    "How edges are sewn and what is added outside the sew line.",
    (
        Column("Seam type", Cells.NAME, "The name of the seam type.", "name"),
        Column("Allowance", Cells.LENGTH, "Sew line to cut line, the same in every size; 0 for an oversewn edge.",
            "allowance"),
        _text("Stitch", "The stitch.", "stitch"),
        _text("Needle", "The needle.", "needle"),
        _note(printed=True),
    ),
    of=SeamType,
    fills="seam_types",
    key=("Seam type",),
)

SEAMS = Sheet(
    "Seams",
    "What is sewn to what. Ease is how much longer side A is than side B; ends of the same name meet.",
    (
        Column("Seam", Cells.TEXT, "The name of the seam.", "name"),
        Column("Side A", Cells.SIDE, "The side that is eased in: its piece, a colon, its edges from start to end.",
            "side_a", names="edge"),
        Column("Side B", Cells.SIDE, "The side it is sewn to, from the same start. EDGE' is a mirrored edge.",
            "side_b", names="edge"),
        Column("Least ease", Cells.EASE, "The least that is right: a length, a % of side B or an allowance.", "least",
            blank=None, names="value"),
        Column("Most ease", Cells.EASE, "The most that is right.", "most", blank=None, names="value"),
        Column("Target ease", Cells.EASE, "What to aim at; blank means the base's own ease.", "target", blank=None,
            names="value"),
        Column("Balance by", Cells.NAME, "The balance value to change until the ease is on target.", "balance",
            blank="", names="balance value"),
        Column("Matching marks", Cells.COUNT, "How many marks on each side; blank for none.", "matching", blank=0),
        Column("Strokes", Cells.COUNT, "Of how many strokes each of them is; blank is 1.", "strokes", blank=1),
        Column("Without ease", Cells.NUMBER,
            "The share of side B, from its start, along which no ease is taken up: 1/4; blank is 0.", "without_ease",
            blank=0.0),
        Column("Left open", Cells.LENGTH, "How much of its middle is sewn last, to turn the work through; blank is 0.",
            "left_open", blank=0.0),
    ),
    of=Seam,
    fills="seams",
    key=("Seam",),
    optional=True,
)

MARKS = Sheet(
    "Marks",
    "What is drawn on a piece besides its lines.",
    (
        _PIECE,
        Column("Mark", Cells.TEXT, "The name of the mark, or the words of a label.", "name"),
        Column("Kind", Cells.CHOICE, help_of_kinds(), "kind", choices=words(*MARK_KINDS)),
        Column("Where", Cells.TEXT, "At which points, or from point to point, separated by commas.", "where",
            names="point", printed=False),
        _note(printed=True),
    ),
    of=Mark,
    fills="marks",
    key=("Piece", "Mark"),
    optional=True,
)

MEASURES = Sheet(
    "Measures",
    "The points of measure of the finished piece, all taken on sew lines.",
    (
        Column("Measure", Cells.TEXT, "The name of the measure.", "name"),
        _PIECE,
        Column("How", Cells.CHOICE, help_of_how(), "how", choices=words(*WAYS)),
        Column("From", Cells.NAME, help_of_from(), "start", names="start of a measure"),
        Column("To", Cells.NAME, help_of_to(), "end", blank="", names="end of a measure"),
        Column("Times", Cells.NUMBER, "What to multiply by: 1/2 for a piece laid flat; blank is 1.", "times",
            blank=1.0),
        Column("Tolerance −", Cells.LENGTH,
            "How much less is still right; without a sign. Blank in both: checked here, not measured on the piece.",
            "tolerance_minus", blank=None),
        Column("Tolerance +", Cells.LENGTH, "How much more is still right.", "tolerance_plus", blank=None),
        Column("Pair within", Cells.LENGTH,
            "How far left and right of a pair may differ; blank is the mean of the two tolerances.", "pair_within",
            blank=None),
        Column("Tells the size", Cells.YES_NO, "yes if sizes are told apart by it.", "tells_size", blank=False),
        Column("Follows", Cells.NAME, "The body measurement it grows with.", "follows", blank="", printed=False),
        Column("Share followed", Cells.NUMBER, "How much it grows for each 1 of that; blank is 1.", "follows_share",
            blank=1.0),
        _text("How to measure", "How to lay the piece and the tape.", "how_to_measure"),
    ),
    of=Measure,
    fills="measures",
    key=("Measure",),
    optional=True,
)

LIMITS = Sheet(
    "Limits",
    "What this block is held to in every size: (times × what − less times × less) ÷ divided by, within bounds.",
    (
        Column("Limit", Cells.TEXT, "What the limit is called in a finding.", "name", printed=False),
        Column("What", Cells.TEXT,
            "A measure, a measurement or an allowance; or 'material takes', all its layers; or 'leather takes'; or "
            "'lining takes'.", "what", printed=False),
        Column("Times", Cells.NUMBER, "What to multiply it by; blank is 1.", "times",
            blank=1.0),
        Column("Less", Cells.TEXT, "What to take from it, named likewise; blank for nothing.", "less", blank=None,
            printed=False),
        Column("Less times", Cells.NUMBER, "What to multiply that by; blank is 1.", "less_times", blank=1.0),
        Column("Divided by", Cells.FIGURE_OR_NAME, "What to divide by: a figure or a name; blank is 1.", "divided_by",
            blank=1.0),
        Column("Least", Cells.FIGURE_OR_NAME,
            "The least that is right: a figure (mm, degrees or a plain ratio), a name, or a name + so many mm.",
            "least", blank=None),
        Column("Most", Cells.FIGURE_OR_NAME, "The most that is right, likewise.", "most", blank=None),
        Column("Severity", Cells.CHOICE, "error stops the run; warning and note only say so.", "severity",
            choices={str(severity.value): severity for severity in (Severity.ERROR, Severity.WARNING, Severity.NOTE)}),
        _text("Why", "What goes wrong beyond it.", "why", printed=False),
    ),
    of=Limit,
    fills="limits",
    key=("Limit",),
    optional=True,
)

MAKING = Sheet(
    "Making",
    "How the pieces are put together, step by step; printed as it stands.",
    (
        Column("Step", Cells.TEXT, "The number of the step.", "name"),
        Column("What to do", Cells.TEXT, "What to do.", "what_to_do"),
        _text("Stitch", "The stitch.", "stitch"),
        _text("Needle", "The needle.", "needle"),
        _text("Thread", "The thread.", "thread"),
        _note(printed=True),
        Column("Shows", Cells.TEXT,
            "The seams and marks that the step's drawing shows, as they are named there, parted by ';'.", "shows",
            blank="", names="seam or mark"),
    ),
    of=Step,
    fills="making",
    key=("Step",),
    optional=True,
)

WORK = Sheet(
    "Work",
    "What whoever sews is told besides measures and steps: bite, hairs, spoiled pieces; printed as it stands.",
    (
        Column("Topic", Cells.TEXT, "What the line is about.", "topic"),
        _text("What holds", "What holds for it; a topic left blank here is not printed.", "text"),
    ),
    of=Instruction,
    fills="work",
    key=("Topic",),
    optional=True,
)

#: In the order in which they stand in the workbook.
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
