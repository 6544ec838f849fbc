"""The base block: one pattern in one size, and the rules by which it becomes every other, as plain values.

Nothing here knows a mitten: pieces, points and moves are data that a workbook fills. Lengths are millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import Any

from grading.findings import Place, Severity
from grading.model.hands import EITHER, HANDS, OUTSIDE, RIGHT, View, is_reversed
from grading.model.making import Instruction, Step
from grading.model.names import Names

__all__ = [
    "BOUNDARY",
    "LEATHER",
    "LINING",
    "MATERIAL",
    "PILE_RUNS",
    "STRETCHES",
    "Amount",
    "Block",
    "Edge",
    "Kind",
    "Limit",
    "Mark",
    "Measure",
    "Move",
    "Piece",
    "Point",
    "Seam",
    "SeamType",
    "Share",
    "Side",
    "Value",
    "drawn_by_half",
    "name_and_more",
]

#: The loop that is a piece's outline; every other loop of a piece is an internal cut-out.
BOUNDARY = "boundary"
#: What a limit calls the part of the round that the material itself takes up.
MATERIAL = "material takes"
#: What a limit calls that part of it which the leather takes alone.
LEATHER = "leather takes"
#: What a limit calls how much less of the round a lining has than what it lies in.
LINING = "lining takes"

#: What a pile arrow may say, and whether the pile then runs up the piece (1), as it is drawn, or down it (-1).
PILE_RUNS = {"cuff to fingers": 1, "foot to tip": 1, "fingers to cuff": -1, "tip to foot": -1}
#: Which ways a stretch arrow may lie on a piece.
STRETCHES = ("across", "along")


class Kind(Enum):
    """What sets a driver's figure: the size table, the block for the whole run, or the engine size by size."""

    BODY = "body"
    ALLOWANCE = "allowance"
    BALANCE = "balance"


@dataclass(frozen=True, slots=True)
class Value:
    """A driver: a named figure that moves points. ``drafted`` is what the block was drafted with.

    ``now`` is the figure of this run for an allowance; a body value's comes from the size table, and a balance
    value's from the engine, within ``least`` and ``most``.
    """

    name: str
    kind: Kind
    drafted: float
    now: float
    least: float = 0.0
    most: float = 0.0
    note: str = ""
    place: Place = field(default=Place(), compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Piece:
    """A pattern piece; ``mirrored`` pieces are drawn as the half x ≥ 0 of their mirror line.

    ``pile_arrow`` is one of ``PILE_RUNS``, ``stretch`` one of ``STRETCHES``, or blank where no arrow is drawn. The
    sizes of a nest lie on one another at ``stacking_point``, or at the origin where that is blank. A piece of the
    ``lining`` is worn inside the others, its face to the hand; what is not ``of_skin`` is cut from cloth.
    """

    name: str
    mirrored: bool
    cut_left: int
    cut_right: int
    material: str
    pile_arrow: str
    stretch: str = ""
    stacking_point: str = ""
    note: str = ""
    lining: bool = False
    of_skin: bool = True
    place: Place = field(default=Place(), compare=False, repr=False)

    @property
    def pile(self) -> int:
        """Which way the pile runs: 1 up the piece, -1 down it, 0 where nothing is said."""
        return PILE_RUNS.get(self.pile_arrow, 0)

    def cut(self, hand: str) -> int:
        """How many are cut for a hand."""
        return self.cut_right if hand == RIGHT else self.cut_left


@dataclass(frozen=True, slots=True)
class Share:
    """How far a move goes for one unit of one value."""

    value: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Move:
    """A named sum of shares: how a point moves as values change."""

    name: str
    shares: tuple[Share, ...]
    place: Place = field(default=Place(), compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Point:
    """A point as drafted, in mm; ``turn`` points are corners, the others lie on a smooth curve."""

    piece: str
    name: str
    x: float
    y: float
    turn: bool
    moves: tuple[str, ...]
    note: str = ""
    place: Place = field(default=Place(), compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Edge:
    """A stretch of a loop, from point to point: what carries a seam type and takes part in seams."""

    piece: str
    name: str
    loop: str
    points: tuple[str, ...]
    seam_type: str
    place: Place = field(default=Place(), compare=False, repr=False)


def drawn_by_half(piece: Piece, edges: Sequence[Edge]) -> bool:
    """Whether the edges of one of a piece's loops draw but half of it, from mirror line to mirror line.

    So it is with the boundary of a mirrored piece, and with a cut-out of it that does not end where it begins.
    """
    return piece.mirrored and (edges[0].loop == BOUNDARY or edges[0].points[:1] != edges[-1].points[-1:])


@dataclass(frozen=True, slots=True)
class SeamType:
    """How an edge is sewn, and the allowance laid on beyond its sew line, the same in every size."""

    name: str
    allowance: float
    stitch: str
    note: str = ""
    needle: str = ""
    place: Place = field(default=Place(), compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a seam: edges of one piece, walked in order. ``EDGE'`` is a mirrored edge's image."""

    piece: str
    edges: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Amount:
    """A length that may be fixed, a part of the other side of the seam, or the figure of a named allowance."""

    mm: float = 0.0
    part: float = 0.0
    allowance: str = ""


@dataclass(frozen=True, slots=True)
class Seam:
    """Two sides sewn to each other; seam ease is the length of side A less that of side B, signed.

    ``matching`` marks of so many ``strokes`` stand on each side, at places that are sewn to one another; no ease
    is taken up along the first ``without_ease`` of side B, a share of its length. ``left_open`` mm in the middle of
    the seam are sewn last of all: the work is turned through them.
    """

    name: str
    side_a: Side
    side_b: Side
    least: Amount | None
    most: Amount | None
    target: Amount | None
    balance: str = ""
    matching: int = 0
    strokes: int = 1
    without_ease: float = 0.0
    left_open: float = 0.0
    place: Place = field(default=Place(), compare=False, repr=False)

    @property
    def sides(self) -> tuple[Side, Side]:
        return self.side_a, self.side_b

    @property
    def pieces(self) -> tuple[str, str]:
        """The pieces of side A and of side B."""
        return self.side_a.piece, self.side_b.piece


@dataclass(frozen=True, slots=True)
class Mark:
    """A notch, tick, label or line to be drawn on a piece; the sheet Marks says what each ``kind`` is."""

    piece: str
    name: str
    kind: str
    where: str
    note: str = ""
    place: Place = field(default=Place(), compare=False, repr=False)

    @property
    def points(self) -> tuple[str, ...]:
        """The points that ``where`` names, in order."""
        return tuple(name.strip() for name in self.where.split(","))


@dataclass(frozen=True, slots=True)
class Measure:
    """A point of measure on the finished piece: what to measure on the sew lines, and its tolerance in mm.

    A measure without tolerances is for the audit's limits only and stands on no spec sheet. The two of a pair may
    differ by ``pair_within``; None leaves it to `model.returns.TargetGiven`.
    """

    name: str
    piece: str
    how: str
    start: str
    end: str
    times: float
    tolerance_minus: float | None
    tolerance_plus: float | None
    tells_size: bool
    follows: str
    follows_share: float
    how_to_measure: str
    pair_within: float | None = None
    place: Place = field(default=Place(), compare=False, repr=False)

    @property
    def tolerance(self) -> float | None:
        """Both tolerances together, mm; None for a measure that stands on no spec sheet."""
        minus, plus = self.tolerance_minus, self.tolerance_plus
        return None if minus is None or plus is None else minus + plus


@dataclass(frozen=True, slots=True)
class Limit:
    """What the audit holds this block to: (times × what − less times × less) ÷ divided by, within bounds.

    ``what``, ``less``, ``divided_by``, ``least`` and ``most`` are figures, or name a measurement, an allowance, a
    measure, ``MATERIAL``, ``LEATHER`` or ``LINING``; ``less`` and the bounds may be None for nothing. A bound may be a
    name and so many mm more: 'material takes + 4'.
    """

    name: str
    what: str
    times: float
    less: str | None
    less_times: float
    divided_by: float | str
    least: float | str | None
    most: float | str | None
    severity: Severity
    why: str
    place: Place = field(default=Place(), compare=False, repr=False)

    @property
    def names(self) -> set[str]:
        """What it is made of, by name."""
        parts = (self.what, self.less, self.divided_by, self.least, self.most)
        return {name_and_more(part)[0] for part in parts if isinstance(part, str)}

    @property
    def asks_for_layers(self) -> bool:
        """Whether it asks for room for all that the layers take of the round."""
        bounds = (self.least, self.most)
        return any(isinstance(bound, str) and name_and_more(bound)[0] == MATERIAL for bound in bounds)


def _image(name: str) -> str:
    """The name of the mirror image of a point or an edge."""
    return name[:-1] if name.endswith("'") else name + "'"


def name_and_more(bound: str) -> tuple[str, float]:
    """What a bound names, and how many mm it asks beyond that.

    >>> name_and_more("material takes + 4"), name_and_more("entry girth")
    (('material takes', 4.0), ('entry girth', 0.0))
    """
    name, plus, more = bound.rpartition("+")
    try:
        return (name.strip(), float(more)) if plus else (bound, 0.0)
    except ValueError:
        return bound, 0.0


@dataclass(frozen=True, slots=True)
class Block:
    """A base block: the rows of its workbook.

    >>> from grading.drafting.scenario import demo_block
    >>> demo_block()
    <Block Fair mitten (Women): Trank, Thumb>
    """

    name: str
    groups: tuple[str, ...]
    drawn_from: str
    marked_on: str
    compressed_pile: float
    leather: float
    date: str
    notes: str
    values: tuple[Value, ...]
    pieces: tuple[Piece, ...]
    moves: tuple[Move, ...]
    points: tuple[Point, ...]
    edges: tuple[Edge, ...]
    seam_types: tuple[SeamType, ...]
    seams: tuple[Seam, ...] = ()
    marks: tuple[Mark, ...] = ()
    measures: tuple[Measure, ...] = ()
    limits: tuple[Limit, ...] = ()
    making: tuple[Step, ...] = ()
    work: tuple[Instruction, ...] = ()
    style: str = ""
    lining: float = 0.0

    def __repr__(self) -> str:
        groups = f" ({', '.join(self.groups)})" if self.groups else ""
        return f"<Block {self.name}{groups}: {', '.join(piece.name for piece in self.pieces)}>"

    @property
    def house_rules(self) -> tuple[Instruction, ...]:
        """What holds for the style whoever sews it and when: pay and days are a batch's, and stand with the batch."""
        return tuple(one for one in self.work if one.text and not (one.of_pay or one.of_days))

    def with_limits_spelled_as(self, names: Iterable[str]) -> Block:
        """The block with what its limits name, and its measures follow, spelled as among ``names``."""
        known = Names(names)

        def settled(bound: Any) -> Any:
            if not isinstance(bound, str):
                return bound
            name, more = name_and_more(bound)
            return known.settled_or_not(name) + (f" + {more:g}" if more else "")

        bounds = ("what", "less", "divided_by", "least", "most")
        return replace(
            self,
            limits=tuple(
                replace(limit, **{bound: settled(getattr(limit, bound)) for bound in bounds}) for limit in self.limits
            ),
            measures=tuple(replace(one, follows=known.settled_or_not(one.follows)) for one in self.measures),
        )

    @property
    def material_takes(self) -> float:
        """What the layers take of the round before there is room to move, mm: all of ``layers`` together."""
        return sum(self.layers.values())

    @property
    def layers(self) -> dict[str, float]:
        """What each layer takes of the round, mm, by name: π × the leather's thickness, 2π × that of every layer in it.

        The leather's middle stays as long as it was cut; pile and lining are pressed inwards by their own depth.
        Common practice.
        """
        inner = {"pile": self.compressed_pile, "lining": self.lining}
        return {"leather": self.leather_takes} | {name: 2 * math.pi * mm for name, mm in inner.items() if mm}

    @property
    def leather_takes(self) -> float:
        """How much longer the leather's outside is round a fold or a hand than its middle, mm: π × its thickness."""
        return math.pi * self.leather

    @property
    def lining_takes(self) -> float:
        """How much less of the round a lining has than what it lies in, mm: what that takes, and π × its own
        thickness, since its middle too stays as long as it was cut.
        """
        return self.material_takes - math.pi * self.lining

    @property
    def hands(self) -> tuple[str, ...]:
        """The hands that pieces are cut for."""
        return tuple(hand for hand in HANDS if any(piece.cut(hand) for piece in self.pieces))

    def cut_for(self, piece: Piece) -> tuple[tuple[str, int], ...]:
        """The hands that a piece is cut for, each with how many; ``EITHER`` where it is its own mirror image.

        >>> from grading.drafting.scenario import demo_block
        >>> block = demo_block()
        >>> [block.cut_for(piece) for piece in block.pieces]
        [(('right', 1), ('left', 1)), (('right', 1), ('left', 1))]
        """
        if self._own_image(piece):
            return ((EITHER, piece.cut_left + piece.cut_right),)
        return tuple((hand, piece.cut(hand)) for hand in HANDS if piece.cut(hand))

    def _own_image(self, piece: Piece) -> bool:
        """Whether a piece, its marks and the ticks of its seams are the same on both sides of its mirror line."""
        if not piece.mirrored or not piece.cut_left == piece.cut_right > 0:
            return False
        edges = [edge for edge in self.edges if edge.piece == piece.name]
        loops = [[edge for edge in edges if edge.loop == loop] for loop in dict.fromkeys(edge.loop for edge in edges)]
        on_line = {point.name for point in self.points if point.piece == piece.name and point.x == 0}
        marked = [
            (mark.kind, mark.name, name) for mark in self.marks if mark.piece == piece.name for name in mark.points
        ]
        ticks = {
            side.edges: (seam.matching, seam.strokes, seam.without_ease)
            for seam in self.seams
            for side in seam.sides
            if side.piece == piece.name and seam.matching
        }
        return (
            all(drawn_by_half(piece, loop) for loop in loops)
            and all(name in on_line or (kind, mark, _image(name)) in marked for kind, mark, name in marked)
            and all(
                ticks.get(images) == tick or (set(images) == set(names) and not tick[2])
                for names, tick in ticks.items()
                for images in [tuple(map(_image, names))]
            )
        )

    def view(self, hand: str) -> View:
        """How the pattern of a hand lies, the marked face up; one that serves either hand lies as it is shown."""
        if hand == EITHER:
            return self.shown
        return View(hand, self.marked_on, is_reversed(hand, self.drawn_from, self.marked_on))

    def marked_face(self, piece: Piece) -> str:
        """The face of what a piece is cut from that is up where it is marked.

        The face of a lining lies to the hand: what is the outside of the skin, is the back of the lining.
        """
        if piece.lining:
            return f"{'back' if self.marked_on == OUTSIDE else 'face'} of the lining"
        return f"{self.marked_on}{' of the skin' if piece.of_skin else ''}"

    @property
    def shown(self) -> View:
        """The one view that stands for all hands cut, where a sheet draws a piece but once.

        Of a pair it is the hand whose pattern lies as the block is drawn; a hand that is cut alone stands for itself,
        and 'either' for both where each piece is its own mirror image.

        >>> from grading.drafting.scenario import demo_block
        >>> str(demo_block().shown)
        'outside up: left hand'
        """
        shown = min((self.view(hand) for hand in self.hands or HANDS), key=lambda one: one.reversed)
        either = self.pieces and all(map(self._own_image, self.pieces))
        return replace(shown, hand=EITHER) if either else shown

    def value(self, name: str) -> Value | None:
        """The value of that name, or None."""
        return next((value for value in self.values if value.name == name), None)

    def seam_type(self, name: str) -> SeamType:
        """The seam type of that name. Raises KeyError if the block has none."""
        for seam_type in self.seam_types:
            if seam_type.name == name:
                return seam_type
        raise KeyError(name)
