"""The lining: the mitten once more, without what is turned, and smaller by what the layers take of the round.

It has no construction of its own. The parts of the style are drafted anew, with other figures, as pieces that are worn
inside the others; where the style says otherwise, nothing here knows which parts those are.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from grading.drafting.parts import cuff, fingers, thumb, thumb_place, trunk
from grading.drafting.parts.part import (
    LINED_LAST,
    LINING_THICKNESS,
    LONGER,
    SHORTER,
    THUMB,
    TRANK,
    WITHIN,
    Allowance,
    At,
    Choice,
    Instead,
    Lined,
    Part,
    Style,
    Sum,
    bounds,
    mirrored_seam,
    no_part,
    times,
    together,
)
from grading.drafting.parts.sewn import FELLED, INSIDE, JOINED, LINING_RIM, LINING_SEAM, OVERSEWN, RAW
from grading.model.block import BOUNDARY, LINING, Amount, Edge, Limit, Measure, Move, Piece, Seam, Share, Side, Value
from grading.model.making import Step

__all__ = ["CHOICES"]

#: The pieces of the lining, by those that they lie in.
LINES = {TRANK: "Lining", THUMB: "Thumb lining"}
#: How each seam type of a lined piece is sewn in its lining.
_SEWN = {OVERSEWN: LINING_SEAM, INSIDE: LINING_RIM}
#: What stands for the ease of a lined piece, in both halves of its round; and how it is shaped: less at the waist, and
#: a thumb, narrower in a hole as large, flares more and has a foot that is fuller rather than deeper.
_SMALLER: Instead = {
    **{ease: {ease: 1.0, WITHIN: -2.0} for ease in ("hand ease", "thumb ease")},
    "waist shaping": {"waist shaping": 1.0, WITHIN: -0.1},
    "thumb flare": {"thumb flare": 1.0, WITHIN: 0.15},
    "foot depth": {"foot depth": 1.0, WITHIN: -0.4},
}
#: How much of the lining's side is left open, mm, where the work is turned through it. Common practice: 60 to 70.
GAP = 65.0

#: The parts whose lining is drafted, in the order in which an outline runs through them.
_PARTS = {"fingers": fingers.CHOICES, "cuff": cuff.CHOICES, "thumb place": thumb_place.CHOICES, "thumb": thumb.CHOICES}


def _lining_name(name: str) -> str:
    return f"lining {name}"


def _lined(style: Style) -> Part:
    own = {part: choices[style[part]].lined for part, choices in _PARTS.items()}
    inner = {**style, **{part: lined.choice for part, lined in own.items() if lined}}
    parts = {part: choices[inner[part]].brings(inner) for part, choices in _PARTS.items()}
    every = together([trunk.brings(inner), *parts.values()])
    inside = _Inside({one.what for one in every.sums}, _instead(filter(None, own.values()), every.balances))
    joined, felled = (
        tuple(edge for part in parts if (inner[part] == style[part]) is alike for edge in _raw(parts[part]))
        for alike in (True, False)
    )
    measures = (*every.widths, trunk.finished_length(parts["fingers"], parts["cuff"]), *every.measures, *every.checks)
    measured = [inside.measure(one) for one in measures]
    names = {one.name for one in measures}
    on_line = {at.name for at in every.points if at.x is None}
    closing = replace(mirrored_seam(_lining_name("side seam"), LINES[TRANK], "side"), left_open=GAP if joined else 0.0)
    joins = tuple(_join(edge, on_line) for edge in joined)
    return Part(
        layer={"compressed pile": 0.0, "leather thickness": 1.0, LINING_THICKNESS: 1.8},
        pieces=tuple(map(inside.piece, every.pieces)),
        allowances=_allowances(),
        balances=tuple(map(inside.balance, every.balances)),
        sums=tuple(map(inside.sum, every.sums)),
        moves=tuple(map(inside.move, every.moves)),
        points=tuple(map(inside.at, every.points)),
        edges=(
            *(inside.edge(edge, frozenset(felled)) for edge in every.edges),
            # What is joined to the lining is no longer left raw.
            *(replace(edge, points=(), seam_type=_joined_type(edge)) for edge in joined),
        ),
        seams=(*map(inside.seam, every.seams), closing, *joins),
        marks=tuple(replace(mark, piece=LINES[mark.piece]) for mark in every.marks),
        measures=tuple(one for one in measured if one.tolerance_plus is not None),
        checks=tuple(one for one in measured if one.tolerance_plus is None),
        # The shape of each piece is held to the limits of what it lies in, but how much room there is only that.
        limits=tuple(
            inside.limit(one, names) for one in every.limits if {one.what, one.less} & names and not one.asks_for_layers
        ),
        steps=tuple((LINED_LAST, step) for step in _steps(parts, joined, felled, closing, joins)),
    )


def _instead(lined: Iterable[Lined], balances: Iterable[Value]) -> Instead:
    """What stands for the figures of the parts in the lining, by name; each balance value is another one there."""
    fitted = {value.name: {_lining_name(value.name): 1.0} for value in balances}
    every = (_SMALLER, *(one.instead for one in lined), fitted)
    return {name: stands for one in every for name, stands in one.items()}


def lining_within(compressed_pile: float, leather: float, lining: float) -> float:
    """How much less than a side, mm, a side of the lining is: half of what its round is less than what it lies in.

    Common practice: the outer layers take 2π × pile and π × leather of the round, and the lining π × its thickness.

    >>> lining_within(0, 1, 2)
    4.71
    """
    return round(math.pi * (2 * compressed_pile + leather + lining) / 2, 2)


def _allowances() -> tuple[Allowance, ...]:
    within = Allowance(
        WITHIN,
        None,
        None,
        "how much less a side of the lining is than one of what it lies in",
        replace(
            bounds(WITHIN, 0.9, 1.1, "The lining has less of the round by what the layers take.", divided_by=LINING),
            times=2.0,
        ),
        of_layers=lining_within,
    )
    shorter = Allowance(
        SHORTER,
        3.5,
        3.0,
        "how much shorter the lining is at each tip",
        bounds(SHORTER, 3.0, 4.0, "With less it folds at the tips; with more it pulls."),
    )
    longer = Allowance(
        LONGER,
        6.5,
        5.5,
        "how much longer the lining is at the cuff",
        bounds(LONGER, 5.0, 8.0, "With less it pulls the cuff in; with more it hangs out."),
    )
    return within, shorter, longer


@dataclass(frozen=True)
class _Inside:
    """Rows of the style's parts as those of their lining: ``own`` are its sums, ``instead`` stands for figures."""

    own: frozenset[str] | set[str]
    instead: Mapping[str, Mapping[str, float]]

    def piece(self, piece: Piece) -> Piece:
        return replace(
            piece,
            name=LINES[piece.name],
            material="lining cloth, such as fleece",
            pile_arrow="",
            note="worn inside, its face to the hand",
            lining=True,
            of_skin=False,
        )

    def balance(self, value: Value) -> Value:
        return replace(value, name=_lining_name(value.name))

    def sum(self, one: Sum) -> Sum:
        written = re.sub(r"\{(.+?)\}", lambda name: self._written(name[1]), one.written)
        along = tuple(map(self.side, one.along))
        stage, what = f"Lining: {_without_capital(one.stage)}", self.named(one.what)
        return replace(one, stage=stage, what=what, written=written, along=along)

    def _written(self, name: str) -> str:
        """A name in a sum, or in brackets what stands for it."""
        if name not in self.instead:
            return f"{{{self.named(name)}}}"
        (first, of_first), *others = self.instead[name].items()
        terms = [times(of_first, first), *(f"{'−' if of < 0 else '+'} {times(abs(of), one)}" for one, of in others)]
        return f"({' '.join(terms)})" if others else terms[0]

    def named(self, what: str) -> str:
        """What the lining has of its own is called so."""
        return _lining_name(what) if what in self.own else what

    def move(self, move: Move) -> Move:
        shares: dict[str, tuple[float, float]] = {}
        for share in move.shares:
            for value, of in self.instead.get(share.value, {share.value: 1.0}).items():
                x, y = shares.get(value, (0.0, 0.0))
                # Without the tails of products, which nobody would write on a sheet.
                shares[value] = round(x + of * share.x, 9), round(y + of * share.y, 9)
        return Move(_lining_name(move.name), tuple(Share(value, x, y) for value, (x, y) in shares.items()))

    def at(self, at: At) -> At:
        x, y = (None if what is None else self.named(what) for what in (at.x, at.y))
        return replace(at, piece=LINES[at.piece], x=x, y=y, moves=tuple(map(_lining_name, at.moves)))

    def edge(self, edge: Edge, felled: frozenset[Edge]) -> Edge:
        seam_type = FELLED if edge in felled else _joined_type(edge) if edge.seam_type == RAW else _SEWN[edge.seam_type]
        return replace(edge, piece=LINES[edge.piece], seam_type=seam_type)

    def side(self, side: Side) -> Side:
        return replace(side, piece=LINES[side.piece])

    def seam(self, seam: Seam) -> Seam:
        own = replace(seam, name=_lining_name(seam.name), side_a=self.side(seam.side_a), side_b=self.side(seam.side_b))
        return replace(own, balance=seam.balance and _lining_name(seam.balance))

    def measure(self, one: Measure) -> Measure:
        """A measure of the lining, sewn but not yet set in; one of the mitten's pieces before that is for the audit."""
        own = replace(one, name=_lining_name(one.name), piece=LINES[one.piece], tells_size=False)
        if one.tolerance_plus is None or one.how_to_measure.startswith("Before"):
            return replace(own, tolerance_minus=None, tolerance_plus=None)
        return replace(own, how_to_measure=f"Before the lining is set in: taken like the {one.name}.")

    def limit(self, limit: Limit, measures: set[str]) -> Limit:
        def named(of: str | None) -> str | None:
            return _lining_name(of) if of in measures else of

        what = named(limit.what)
        assert what is not None
        return replace(limit, name=_lining_name(limit.name), what=what, less=named(limit.less))


def _raw(part: Part) -> Iterator[Edge]:
    return (edge for edge in part.edges if edge.seam_type == RAW)


def _joined_type(edge: Edge) -> str:
    """How an edge is sewn that is joined to its lining's."""
    return JOINED if edge.loop == BOUNDARY else LINING_RIM


def _join(edge: Edge, on_mirror_line: set[str]) -> Seam:
    """The seam of an edge with its lining's, from end to end where it goes on beyond the mirror line."""
    whole = (edge.name, f"{edge.name}'") if on_mirror_line & set(edge.points) else (edge.name,)
    sides = Side(edge.piece, whole), Side(LINES[edge.piece], whole)
    marks = 3 if len(whole) > 1 else 0
    return Seam(f"lining to {edge.name}", *sides, Amount(), None, None, matching=marks)


def _steps(
    parts: Mapping[str, Part], joined: Sequence[Edge], felled: Sequence[Edge], closing: Seam, joins: Sequence[Seam]
) -> Iterator[Step]:
    """The lining is sewn like what it lies in, fixed at its tips, and joined to open ends or felled inside them."""
    upper, lower = parts["fingers"], parts["cuff"]
    for _, step in parts["thumb"].steps:
        shown = "; ".join(map(_lining_name, step.shown))
        yield replace(
            step, what_to_do=f"Lining: {_without_capital(step.what_to_do)}", stitch="running stitch", shows=shown
        )
    sewn = "; ".join([*(_lining_name(seam.name) for seam in upper.seams), closing.name])
    gap = f", leaving {closing.left_open:g} mm open between the double ticks" if closing.left_open else ""
    close = f"Lining: close its side from {upper.raw} to {lower.raw}, faces together{gap}."
    yield Step("", close, "running stitch", shows=sewn)
    tips = [tip for tip, part in (("fingers", upper), ("thumb", parts["thumb"])) if part.seams and not [*_raw(part)]]
    if tips:
        fix = f"Fix the lining to the mitten at the tip of the {' and of the '.join(tips)}, seam to seam."
        yield Step("", fix, "stay of 10 mm, of doubled thread", note="So that it comes out with the hand no more.")
    if joined:
        ends = _ends(joined)
        join = f"Join the lining to the mitten at the {ends}, its face to the leather side."
        yield Step("", join, "running stitch", note="Ticks meet ticks.", shows="; ".join(seam.name for seam in joins))
        turn = "Turn the work through the gap in the lining's side and close the gap."
        yield Step("", turn, "hidden stitches", shows=closing.name)
    if felled:
        fell = f"Push the lining in, thumb into thumb; turn its {_ends(felled)} in and fell it to the inside."
        yield Step("", fell, "felling stitch", note="Its face comes to lie to the hand.")


def _ends(edges: Iterable[Edge]) -> str:
    names = dict.fromkeys(edge.name if edge.loop == BOUNDARY else edge.loop for edge in edges)
    return " and ".join(names)


def _without_capital(text: str) -> str:
    return text[:1].lower() + text[1:]


CHOICES = {"none": Choice("no lining", no_part), "lined": Choice("a lining of its own, worn inside", _lined)}
