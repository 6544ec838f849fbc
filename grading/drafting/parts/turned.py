"""What every part has that is turned to the outside: room for it, a fold, and a seam that changes over there."""

from __future__ import annotations

import math

from grading.codes import Code
from grading.drafting.parts.part import TRANK, Allowance, Least, Sum, limit, move, times
from grading.drafting.parts.read_off import read_across
from grading.findings import Severity
from grading.model.block import LEATHER, Mark

__all__ = ["FOLD_BACK", "TURNING", "TURNING_ROOM", "TURN_ROOM", "WIDER", "fold_marks", "turned"]

#: How much wider a side of a turned part is at its raw edge than the body under it: it goes round the outside, and so
#: it is π × the leather's thickness where nobody asks for another figure.
TURN_ROOM = "turn room"

#: A fold-back of less leaves no part to turn: 2 mm of it would show.
FOLD_BACK = Least(4.0, Code.NOTHING_TO_TURN, ": it is turned there, and half of the allowance shows")


def turned(stage: str, point: str, body: str, fold: str, room: float) -> tuple[Sum, Sum]:
    """A point of a turned part: the mirror image of one of the body in the fold, and some of the room further out."""
    return (
        Sum(stage, f"{point}, across", f"{{{body}, across}} + {times(room, TURN_ROOM)}"),
        Sum(stage, f"{point}, up", f"2 × {{{fold}}} − {{{body}, up}}"),
    )


def turn_room(compressed_pile: float, leather: float, lining: float) -> float:
    """How much wider, mm, a side of a turned part is at its raw edge than the body: it goes round the outside."""
    return round(math.pi * leather, 2)


def fold_marks(piece: str, part: str, fold: str) -> tuple[Mark, Mark]:
    """The fold of a turned part from the point ``fold`` to its image, and where its seam there changes over."""
    ends = f"{fold}', {fold}"
    return (
        Mark(piece, f"{part} fold line", "fold line", ends),
        Mark(piece, f"{part} change-over", "change-over", ends, "from here on the turned part shows its other face"),
    )


#: What every turned part has: the move out by the room that it takes, the allowance for it, and its bounds.
WIDER = move("turned", {TURN_ROOM: (1.0, 0.0)})
TURNING_ROOM = Allowance(
    TURN_ROOM,
    None,
    None,
    "how much wider a side is where it is turned",
    read_off=(
        read_across("finger edge less knuckle", TRANK, "finger edge", "knuckle"),
        read_across("cuff edge less wrist", TRANK, "cuff edge", "wrist"),
    ),
    of_layers=turn_room,
)
TURNING = limit(
    TURN_ROOM,
    TURN_ROOM,
    0.9,
    1.1,
    Severity.WARNING,
    "A turned part goes round the outside, and so is wider by what the leather takes.",
    divided_by=LEATHER,
)
