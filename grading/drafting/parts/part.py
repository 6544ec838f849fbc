"""What a part of a mitten brings to its block and to its drafting, and short ways of writing that down.

A part is data plus one construction. The construction is its sums, over measurements, allowances and sums before:
they are worked out to draft the points, and printed as the working. The data are the rows of the block: among them
the moves by which its points are graded, another route to the same pattern.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from itertools import chain
from typing import Any

from grading.codes import Code
from grading.drafting.parts.read_off import Coordinates, ReadOff
from grading.findings import Severity
from grading.model.block import Amount, Edge, Limit, Mark, Measure, Move, Piece, Seam, Share, Side, Value
from grading.model.making import Step

__all__ = [
    "ENDS_LAST",
    "LAYER",
    "LINED_LAST",
    "LINING_THICKNESS",
    "LONGER",
    "MATERIAL_FIRST",
    "ORIGINS",
    "SHORTER",
    "SIDE_THEN",
    "STITCH_TAKES",
    "THUMB",
    "THUMB_FIRST",
    "TRANK",
    "WITHIN",
    "Allowance",
    "Apart",
    "At",
    "Choice",
    "Instead",
    "Least",
    "Lined",
    "Part",
    "Shares",
    "Style",
    "Sum",
    "bounds",
    "limit",
    "measure",
    "mirrored_seam",
    "move",
    "no_part",
    "times",
    "together",
    "width",
]

TRANK, THUMB = "Trank", "Thumb"
#: What the line is called from which heights on a piece are counted.
ORIGINS = {TRANK: "Wrist line", THUMB: "Knuckle line"}

#: When a step is made: the thumb is closed and set while the trank lies flat, then the side is closed, then the ends;
#: the lining is sewn and set in after that.
THUMB_FIRST, SIDE_THEN, ENDS_LAST, LINED_LAST = range(4)

#: The usual figures of the layers of material, mm, by what they are called among the allowances: invented for the demo.
LAYER = {"compressed pile": 1.8, "leather thickness": 1.0}
#: How much shorter the lining is at each tip than what it lies in, and how much longer at the cuff.
SHORTER, LONGER = "lining shorter", "lining longer"
#: How much less a side of the lining is than a side of what it lies in; where nobody asks for another figure, what the
#: layers take.
WITHIN = "lining within"
#: How thick the lining is, among the figures of the material.
LINING_THICKNESS = "lining thickness"

#: What oversewing with a bite of 2 mm takes of a width laid flat. Common practice.
STITCH_TAKES = "Sewn, it is about 1 mm less: the stitch takes that."
MATERIAL_FIRST = "The material takes that much of the round before there is any room to move"

#: How far a point goes, x and y, for one unit of each value.
Shares = Mapping[str, tuple[float, float]]
#: The choice for each part, by the part's name.
Style = Mapping[str, str]
#: What stands for a figure: so many times each of others.
Instead = Mapping[str, Mapping[str, float]]


@dataclass(frozen=True, slots=True)
class Least:
    """The least figure, mm, with which an allowance can be drawn; the code of the finding for less, and why."""

    mm: float
    code: Code
    why: str


@dataclass(frozen=True, slots=True)
class Allowance:
    """An allowance that a maker may set: adults' figure and children's, mm, what it is for, and what it is held to.

    The figures are invented for the demo. Where there are none, ``of_layers`` works it out from how thick compressed
    pile, leather and lining are, mm. ``read_off`` are ways to read it off a pattern: the first counts whose points the
    pattern has.
    """

    name: str
    adults: float | None
    children: float | None
    note: str
    limit: Limit | None = None
    least: Least | None = None
    read_off: tuple[ReadOff, ...] = ()
    of_layers: Callable[[float, float, float], float] | None = None

    def way_to_read(self, at: Coordinates) -> ReadOff | None:
        """How it is read off a pattern that has these points; None where it cannot be."""
        return next((way for way in self.read_off if way.points <= set(at)), None)


@dataclass(frozen=True, slots=True)
class Sum:
    """A line of the working: the stage of drafting that it belongs to, what it gives in mm, and the sum as written.

    Names in braces are measurements, allowances and sums before it. One without any is told in words: its figure is
    that of the balance value it is called by, or else the length of the edges ``along``. ``guide`` is what it is
    called where it is drawn as a line right across a piece, on which points lie; blank where it is not.

    >>> Sum("Half the round", "a side", "{round} ÷ 2").names
    ('round',)
    """

    stage: str
    what: str
    written: str
    along: tuple[Side, ...] = ()
    guide: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """What it is made of."""
        return tuple(part.split("}")[0] for part in self.written.split("{")[1:])


@dataclass(frozen=True, slots=True)
class At:
    """A point: the sums that say how far across and how far up it lies (None is 0), its moves, whether it is a corner.

    Corners are turn points; every other point lies on a smooth curve.
    """

    piece: str
    name: str
    x: str | None
    y: str | None
    moves: tuple[str, ...]
    turn: bool = False


@dataclass(frozen=True, slots=True)
class Lined:
    """How a choice is lined: as which choice its lining is drafted, and what stands for that one's figures."""

    choice: str
    instead: Instead


@dataclass(frozen=True)
class Part:
    """What one choice for one part brings. An edge that several parts have runs through the points of each in turn.

    ``end`` is the point where what is seen of the trank or the thumb ends, in words ``ends``; ``side`` the one where
    its side ends, ``closes`` the one where its side seam ends if that is before ``end``, and ``raw`` what the end of
    its side seam is called; the finished length ``follows`` a measurement. ``folds`` are the fold lines of what is
    turned, by the words for where that is. Measures stand on spec sheets in the order: ``widths``, the finished length,
    ``depths``, the side seam, ``measures``; ``checks`` are for the audit alone. ``offers`` are seam types that no edge
    has yet, for a maker to choose. ``layer`` is what the layers of material usually measure instead, mm. ``steps`` of
    making have their place in the order: ``THUMB_FIRST``, ``SIDE_THEN``, ``ENDS_LAST``, ``LINED_LAST``.
    """

    end: str = ""
    ends: str = ""
    side: str = ""
    closes: str = ""
    follows: str = ""
    raw: str = ""
    folds: Mapping[str, str] = field(default_factory=dict)
    pieces: tuple[Piece, ...] = ()
    allowances: tuple[Allowance, ...] = ()
    balances: tuple[Value, ...] = ()
    sums: tuple[Sum, ...] = ()
    moves: tuple[Move, ...] = ()
    points: tuple[At, ...] = ()
    edges: tuple[Edge, ...] = ()
    offers: tuple[str, ...] = ()
    seams: tuple[Seam, ...] = ()
    marks: tuple[Mark, ...] = ()
    widths: tuple[Measure, ...] = ()
    depths: tuple[Measure, ...] = ()
    measures: tuple[Measure, ...] = ()
    checks: tuple[Measure, ...] = ()
    limits: tuple[Limit, ...] = ()
    steps: tuple[tuple[int, Step], ...] = ()
    layer: Mapping[str, float] | None = None


def together(parts: Iterable[Part]) -> Part:
    """The rows of all the parts, one part after the other; whatever is no rows is the first part's."""
    parts = list(parts)
    rows: dict[str, Any] = {
        one.name: tuple(chain.from_iterable(getattr(part, one.name) for part in parts))
        for one in fields(Part)
        if one.default == ()
    }
    return replace(parts[0], **rows)


@dataclass(frozen=True, slots=True)
class Apart:
    """A choice for another part that makes no mitten with the one that says so; why, and what to choose instead."""

    part: str
    choice: str
    why: str
    action: str


@dataclass(frozen=True, slots=True)
class Choice:
    """A choice for a part: what it is in ``words``, what it ``brings`` to a style, and what it does not go with.

    ``zero_is`` says of an allowance which other choice is meant by 0. A choice is lined as ``lined`` says, or as it is.
    """

    words: str
    brings: Callable[[Style], Part]
    zero_is: Mapping[str, str] = field(default_factory=dict)
    lined: Lined | None = None
    apart: tuple[Apart, ...] = ()


def no_part(style: Style) -> Part:
    """What a choice brings that is to have nothing of its part."""
    return Part()


def move(name: str, shares: Shares) -> Move:
    """A move by shares of values."""
    return Move(name, tuple(Share(value, x, y) for value, (x, y) in shares.items()))


def times(factor: float, name: str) -> str:
    """A name with its factor, as it is written in a sum.

    >>> times(1, "thumb flare"), times(0.5, "turn room")
    ('{thumb flare}', '0.5 × {turn room}')
    """
    return f"{{{name}}}" if factor == 1 else f"{factor:g} × {{{name}}}"


def measure(
    name: str,
    piece: str,
    how: str,
    ends: tuple[str, str],
    tolerance: float | None,
    how_to_measure: str,
    *,
    times: float = 1.0,
    tells_size: bool = False,
    follows: str = "",
    share: float = 1.0,
) -> Measure:
    """A measure with the same tolerance either way; ``follows`` names the body value it grows with, by a share."""
    start, end = ends
    return Measure(
        name, piece, how, start, end, times, tolerance, tolerance, tells_size, follows, share, how_to_measure
    )


def width(name: str, at: str, help_: str) -> Measure:
    """Half of the round at a point of the trank: the width of the closed mitten, laid flat."""
    return measure(
        name,
        TRANK,
        "across",
        (at, ""),
        2.0,
        f"{help_} {STITCH_TAKES}",
        times=0.5,
        tells_size=True,
        follows="fist girth",
        share=0.5,
    )


def limit(
    name: str,
    what: str,
    least: float | str | None,
    most: float | str | None,
    severity: Severity,
    why: str,
    *,
    times: float = 1.0,
    less: str | None = None,
    less_times: float = 1.0,
    divided_by: float | str = 1.0,
) -> Limit:
    """A row of the sheet Limits."""
    return Limit(name, what, times, less, less_times, divided_by, least, most, severity, why)


def bounds(name: str, least: float | str | None, most: float | None, why: str, divided_by: float | str = 1.0) -> Limit:
    """The bounds of an allowance, or of a seam type's: beyond them there is a warning.

    They are common practice, wide enough for any hand: what passes them is more often another unit or a digit too
    many. A maker who means it changes the row.
    """
    return limit(name, name, least, most, Severity.WARNING, why, divided_by=divided_by)


def mirrored_seam(name: str, piece: str, edge: str) -> Seam:
    """The seam of an edge with its own mirror image: without ease."""
    none = Amount()
    return Seam(name, Side(piece, (edge,)), Side(piece, (f"{edge}'",)), none, none, none)
