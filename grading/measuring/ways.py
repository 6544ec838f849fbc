"""The ways of measuring, each whole in one entry: word, help, ends, what it comes to, and how its arrow is drawn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum

from grading.geometry.arrays import Floats
from grading.measuring import arrows, taking
from grading.measuring.arrows import Beside, Lane, NoArrow, Span
from grading.measuring.outlined import Outlined
from grading.model.block import Measure

__all__ = ["WAYS", "End", "Goes", "Way", "help_of_from", "help_of_how", "help_of_to"]


class End(Enum):
    """What an end of a measure may name."""

    POINT = "point of this piece"
    LOOP = "outline or cut-out of this piece"
    CUT_OUT = "cut-out of this piece"
    CLEAR_OF = "line to be clear of"  # boundary or mirror line
    NOTHING = ""


class Goes(Enum):
    """What a measure runs along: what goes round a piece may be halved, since that lies flat, folded."""

    BETWEEN = "from point to point"
    ROUND = "round the piece"
    NEITHER = "neither"


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """A way of measuring.

    ``taken`` gives what a measure from one end to the other comes to, (sizes,) in mm or degrees; ``arrow`` what is
    drawn of it on one size. ``in_proportion`` says that it follows a figure as exactly as the moves of its ends do;
    ``on_one_loop`` that both ends lie on one loop; ``degrees`` that it is an angle, which no tape takes.
    """

    help: str
    start: End
    end: End
    taken: Callable[[Outlined, str, str], Floats]
    arrow: Callable[[Outlined, Measure, int], Span | Lane | Beside | NoArrow]
    goes: Goes = Goes.NEITHER
    in_proportion: bool = False
    on_one_loop: bool = False
    degrees: bool = False


# fmt: off
#: The ways of measuring, by the word that a block uses for each.
WAYS: dict[str, Way] = {
    "straight": Way("from point to point", End.POINT, End.POINT, taking.straight, arrows.straight, Goes.BETWEEN,
        in_proportion=True),
    "along": Way("along the sew line", End.POINT, End.POINT, taking.along, arrows.along, Goes.BETWEEN,
        on_one_loop=True),
    "across": Way("the width at a point's height", End.POINT, End.NOTHING, taking.across, arrows.across, Goes.ROUND,
        in_proportion=True),
    "perimeter": Way("round a whole outline or cut-out", End.LOOP, End.NOTHING, taking.perimeter, arrows.round_loop,
        Goes.ROUND),
    "height": Way("up and down only", End.POINT, End.POINT, taking.height, arrows.height, Goes.BETWEEN,
        in_proportion=True),
    "sideways": Way("across only", End.POINT, End.POINT, taking.sideways, arrows.sideways, Goes.BETWEEN,
        in_proportion=True),
    "clearance": Way("from a cut-out to the boundary or the mirror line", End.CUT_OUT, End.CLEAR_OF, taking.clearance,
        arrows.clearance),
    "narrowest": Way("the least width between the heights of two points", End.POINT, End.POINT, taking.narrowest,
        arrows.narrowest, Goes.ROUND),
    "radius": Way("the tightest bend of a whole outline or cut-out", End.LOOP, End.NOTHING, taking.radius,
        arrows.round_loop),
    "angle": Way("inside at a point, in degrees", End.POINT, End.NOTHING, taking.angle, arrows.at_corner, degrees=True),
}
# fmt: on


def help_of_how() -> str:
    """What the sheet says of every way."""
    return "; ".join(f"{word}: {way.help}" for word, way in WAYS.items()) + "."


def help_of_from() -> str:
    """What the sheet says of the first end: a point, but for ways that begin with something else.

    >>> help_of_from()
    "The first point; for a perimeter, a clearance or a radius, boundary or the cut-out's name."
    """
    others = _listed([_with_article(word) for word, way in WAYS.items() if way.start is not End.POINT], "or")
    return f"The first point; for {others}, boundary or the cut-out's name."


def help_of_to() -> str:
    """What the sheet says of the second end: a point, but for ways that end at nothing or at a line.

    >>> help_of_to()
    'The second point; blank for across, perimeter, radius and angle; boundary or mirror line for a clearance.'
    """
    blank = _listed([word for word, way in WAYS.items() if way.end is End.NOTHING], "and")
    lines = _listed([_with_article(word) for word, way in WAYS.items() if way.end is End.CLEAR_OF], "or")
    return f"The second point; blank for {blank}; boundary or mirror line for {lines}."


def _with_article(word: str) -> str:
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def _listed(words: Sequence[str], last: str) -> str:
    *first, only = words
    return f"{', '.join(first)} {last} {only}" if first else only
