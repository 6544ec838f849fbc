"""Make a base block of a pattern that a maker has tuned on grid paper: its points, with the standard grade rules.

Each point moves like the point of the standard mitten whose role it has. What the pattern was drafted with, ease and
fold-backs, is read off it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import log
from statistics import median

from grading.audit.mistaken import MISTAKEN
from grading.drafting.base import Drafted, audit_base
from grading.drafting.draft import base_values, blank_block
from grading.drafting.hands import check_hands, larger_hand, missing_figures
from grading.drafting.parts.part import LAYER, THUMB, TRANK, TURN_ROOM
from grading.drafting.style import STANDARD, Mitten, mitten
from grading.drafting.working import Sum, own_table
from grading.engine.run import grade
from grading.engine.shapes import loop_points
from grading.findings import Finding, Place, Severity, has_errors
from grading.model.block import BOUNDARY, Block, Edge, Point
from grading.model.measured import Hands, TracedPoint
from grading.model.names import Names, UnknownNameError
from grading.readings.seams import walked_seams

__all__ = ["READ_OFF", "standard_points", "trace"]

#: So many lengths that agree to within this part of them bear witness to a copy that is off by more than ``COPIED``.
WITNESSES, AGREE, COPIED = 3, 0.02, 0.03
#: So many times larger or smaller than the hand is no copy any more.
NO_COPY = 2.0
#: Allowances are read off to so many decimals of a millimetre.
DECIMALS = 6
#: Where no point of the outline lies: it is made here.
_MADE = (THUMB, "web centre")


@dataclass(frozen=True)
class _Witness:
    """A length of the pattern that is the hand's own, without ease: both in mm, and what the hand's is called."""

    what: str
    drawn: float
    of: str
    mm: float

    @property
    def part(self) -> float:
        return self.drawn / self.mm


@dataclass(frozen=True)
class _Reading:
    """How an allowance is read off a pattern: in words, and as a share of a coordinate and of measurements."""

    words: str
    terms: tuple[tuple[tuple[str, str, int] | str, float], ...]

    def of(self, at: Mapping[tuple[str, str], tuple[float, float]], body: Mapping[str, float]) -> float:
        """The allowance in mm; 0 where the pattern has no such point."""
        total = 0.0
        for source, share in self.terms:
            if isinstance(source, str):
                total += share * body[source]
            elif source[:2] in at:
                total += share * at[source[:2]][source[2]]
            else:
                return 0.0
        return round(total, DECIMALS)


def _difference(words: str, first: tuple[str, str, int], second: tuple[str, str, int]) -> _Reading:
    return _Reading(words, ((first, 1.0), (second, -1.0)))


#: How each allowance of the standard mitten is read off a pattern.
READ_OFF = {
    "hand ease": _Reading("twice a side less fist girth", (((TRANK, "knuckle", 0), 2.0), ("fist girth", -1.0))),
    "thumb ease": _Reading(
        "twice a side of the thumb less thumb girth", (((THUMB, "knuckle", 0), 2.0), ("thumb girth", -1.0))
    ),
    "finger fold-back": _Reading(
        "finger edge above palm length", (((TRANK, "finger edge", 1), 1.0), ("palm length", -1.0))
    ),
    "cuff fold-back": _Reading("cuff edge below the wrist line", (((TRANK, "cuff edge", 1), -1.0),)),
    TURN_ROOM: _difference("finger edge less knuckle", (TRANK, "finger edge", 0), (TRANK, "knuckle", 0)),
    "finger taper": _difference("knuckle less finger fold", (TRANK, "knuckle", 0), (TRANK, "finger fold", 0)),
    "waist shaping": _difference("knuckle less waist", (TRANK, "knuckle", 0), (TRANK, "waist", 0)),
    "cuff flare": _difference("cuff fold less knuckle", (TRANK, "cuff fold", 0), (TRANK, "knuckle", 0)),
    "thumb forward": _Reading("T less index-middle gap", (((TRANK, "T", 0), 1.0), ("index-middle gap", -1.0))),
    "web lowering": _Reading("the thumb's T below web to knuckle", (((THUMB, "T", 1), -1.0), ("web to knuckle", -1.0))),
    "thumb turn": _Reading("turn edge above the knuckle line", (((THUMB, "turn edge", 1), 1.0),)),
    "stem waist": _difference("the thumb's knuckle less stem", (THUMB, "knuckle", 0), (THUMB, "stem", 0)),
    "thumb flare": _difference("the thumb's T less knuckle", (THUMB, "T", 0), (THUMB, "knuckle", 0)),
    "foot depth": _Reading(
        "from T down to H less thumb root length",
        (((THUMB, "T", 1), 1.0), ((THUMB, "H", 1), -1.0), ("thumb root length", -1.0)),
    ),
}


def standard_points(block: Block) -> tuple[TracedPoint, ...]:
    """The points of a block of the standard mitten, as they would be read off its drawing."""
    return tuple(
        TracedPoint(point.piece, point.name, point.x, point.y, point.turn, point.name)
        for point in block.points
        if (point.piece, point.name) != _MADE
    )


def trace(
    points: Sequence[TracedPoint],
    hands: Hands,
    *,
    name: str,
    groups: tuple[str, ...] = (),
    date: str = "",
    layer: Mapping[str, float] = LAYER,
) -> tuple[Drafted | None, list[Finding]]:
    """The base block of a traced pattern, or None with the errors that stand in its way.

    ``hands`` are those that the pattern fits: the sizes are graded from the larger one's measurements. ``layer``
    are the figures of the material in mm, by the names of ``LAYER``.
    """
    made = mitten(STANDARD)
    points, findings = _with_roles(points, made)
    larger = larger_hand(hands)
    figures = larger.figures
    findings += check_hands(hands)
    findings += missing_figures(figures, made.body)
    findings += _wanting(points, made)
    findings += _out_of_order(points, made)
    findings += _off_mirror_line(points, made)
    findings += _coincident(points)
    if has_errors(findings):
        return None, findings
    findings += _copied(_witnesses(points, figures))
    if has_errors(findings):
        return None, findings
    block = _block(made, points, figures, name, groups, date, layer)
    findings += _thumb_fit(block, figures)
    findings += audit_base(block, figures)
    sums = (*_asked_first(block, _witnesses(points, figures)), *_sums(block))
    return Drafted(block, larger, sums), findings


def _witnesses(points: Sequence[TracedPoint], figures: Mapping[str, float]) -> list[_Witness]:
    """What the pattern has of the hand without any ease, as far as its points tell it."""
    at = {(point.piece, point.role): (point.x, point.y) for point in points}

    def apart(one: str, other: str, axis: int) -> float | None:
        if (TRANK, one) not in at or (TRANK, other) not in at:
            return None
        return abs(at[TRANK, one][axis] - at[TRANK, other][axis])

    found = (
        ("T to H of the hole", apart("T", "H", 1), "thumb root length", figures["thumb root length"]),
        ("hole across", apart("palm side", "index side", 0), "thumb root breadth", figures["thumb root breadth"]),
        (
            "T above the wrist line",
            at[TRANK, "T"][1],
            "palm length less web depth",
            figures["palm length"] - figures["web depth"],
        ),
        ("finger line", at[TRANK, "knuckle"][1], "palm length", figures["palm length"]),
    )
    return [_Witness(what, drawn, of, mm) for what, drawn, of, mm in found if drawn is not None and mm > 0]


def _copied(witnesses: Sequence[_Witness]) -> Iterator[Finding]:
    """A copy that is not at 100 % is larger or smaller than the hand by the same part everywhere."""
    parts = [witness.part for witness in witnesses]
    middle = median(parts)
    if parts and not 1 / NO_COPY < middle < NO_COPY:
        yield _in_another_unit(middle)
        return
    agree = [witness for witness in witnesses if abs(witness.part - middle) <= AGREE * middle]
    if len(agree) < WITNESSES or abs(middle - 1) <= COPIED:
        return
    yield Finding(
        "copy-not-full-size",
        Severity.WARNING,
        Place(piece=TRANK),
        f"The pattern is {100 * middle:.0f} % of the hand: "
        + ", ".join(f"{w.what} {w.drawn:.1f} mm to {w.mm:.1f} mm of {w.of}" for w in agree)
        + ".",
        "100 %, where the hand has no ease: so the copy, or the grid it was read on, is probably not at full size.",
        f"Measure a length that you know on the copy; if it is {100 * middle:.0f} %, divide every x and y by "
        f"{middle:.2f}, or copy it anew. If it is at 100 %, the hand is not the one that it fits.",
    )


def _in_another_unit(part: float) -> Finding:
    """No copier and no grid makes a pattern so large or so small: the figures are of another unit."""
    factor = min(MISTAKEN, key=lambda factor: abs(log(part * factor)))
    likely = MISTAKEN[factor] if abs(log(part * factor)) < log(NO_COPY) / 2 else ""
    return Finding(
        "traced-in-another-unit",
        Severity.ERROR,
        Place(piece=TRANK),
        f"The pattern is {part:.2g} times as large as the hand that it is to fit.",
        "A pattern of about the hand's size: nothing is made of one that is not.",
        f"Check the unit of every x and y{f': perhaps {likely}' if likely else ''}. Write it behind the figures, as "
        "'4.5 cm', or name it with --units.",
    )


def _asked_first(block: Block, witnesses: Sequence[_Witness]) -> Iterator[Sum]:
    """The ease that a copy of another size would have changed most, and what else tells that it is one."""
    ease = next(value.drafted for value in block.values if value.name == "hand ease")
    step = "Is the copy at 100 %? By the hand's figures:"
    yield Sum(step, "hand ease", ease, READ_OFF["hand ease"].words, {})
    for witness in witnesses:
        yield Sum(step, witness.what, witness.drawn, f"{100 * witness.part:.0f} % of {witness.of}", {})


def _sums(block: Block) -> Iterator[Sum]:
    """What the pattern was drafted with, as read off it."""
    for value in block.values:
        if value.name in READ_OFF:
            yield Sum("What was read off the pattern", value.name, value.drafted, READ_OFF[value.name].words, {})


def _block(
    made: Mitten,
    points: Sequence[TracedPoint],
    figures: Mapping[str, float],
    name: str,
    groups: tuple[str, ...],
    date: str,
    layer: Mapping[str, float],
) -> Block:
    named = {(point.piece, point.role): point.name for point in points}
    at = {(point.piece, point.role): (point.x, point.y) for point in points}
    own = tuple(
        Point(
            point.piece,
            point.name,
            point.x,
            point.y,
            point.turn,
            made.at(point.piece, point.role).moves,
            place=point.place,
        )
        for point in points
    )
    if _MADE not in named:
        own += (Point(*_MADE, 0.0, at[THUMB, "T"][1], False, made.at(*_MADE).moves),)

    def known(piece: str, role: str) -> str:
        """The traced point that has a role; any other word as it is."""
        stroke = "'" if role.endswith("'") else ""
        plain = role.removesuffix("'")
        return named.get((piece, plain), plain) + stroke

    blank = blank_block(
        made,
        name,
        groups,
        base_values(made, figures, {allowance: reading.of(at, figures) for allowance, reading in READ_OFF.items()}),
        compressed_pile=layer["compressed pile"],
        leather=layer["leather thickness"],
        date=date,
        notes="Traced from a pattern on grid paper, with the standard grade rules.",
    )
    return replace(
        blank,
        pieces=tuple(replace(piece, stacking_point=known(piece.name, piece.stacking_point)) for piece in blank.pieces),
        points=own,
        edges=tuple(replace(edge, points=_between(edge, points)) for edge in blank.edges),
        marks=tuple(
            replace(mark, where=", ".join(known(mark.piece, role.strip()) for role in mark.where.split(",")))
            for mark in blank.marks
        ),
        measures=tuple(
            replace(measure, start=known(measure.piece, measure.start), end=known(measure.piece, measure.end))
            for measure in blank.measures
        ),
    )


def _between(edge: Edge, points: Sequence[TracedPoint]) -> tuple[str, ...]:
    """The traced points along a standard edge, from the one with the role of its first point to that of its last."""
    inner = [point for point in points if point.piece == edge.piece and point.role in edge.points[1:-1]]
    ends = {point.role: point.name for point in points if point.piece == edge.piece}
    return (ends[edge.points[0]], *(point.name for point in inner), ends[edge.points[-1]])


def _loops(made: Mitten) -> Iterator[tuple[str, str, list[str]]]:
    """Each loop of the standard mitten: its piece, its name, and its roles in order."""
    for piece, loop in dict.fromkeys((edge.piece, edge.loop) for edge in made.edges):
        yield piece, loop, loop_points([edge for edge in made.edges if (edge.piece, edge.loop) == (piece, loop)])


def _with_roles(points: Sequence[TracedPoint], made: Mitten) -> tuple[list[TracedPoint], list[Finding]]:
    """The points with piece and role spelled as the standard mitten's, and a finding for each that has none."""
    pieces = Names(piece.name for piece in made.pieces)
    known, findings = [], []
    for point in points:
        piece = pieces.settled_or_not(point.piece)
        roles = Names(at.name for at in made.points if at.piece == piece)
        try:
            known.append(replace(point, piece=piece, role=roles.settled(point.role)))
        except UnknownNameError as unknown:
            found = f"'{point.role}' is no point of the standard {point.piece}, so nothing says how it moves."
            one_of = f"One of {', '.join(roles) or 'Trank and Thumb'}."
            expected = f"Perhaps '{unknown.near}' is meant." if unknown.near else one_of
            action = "Fill in the column Role with the point of the standard mitten that it moves like."
            findings.append(Finding("unknown-role", Severity.ERROR, point.place, found, expected, action))
    return known, findings


def _wanting(points: Sequence[TracedPoint], made: Mitten) -> Iterator[Finding]:
    """The roles that edges end at, and that measures are taken by, are there once."""
    points_there = {(at.piece, at.name) for at in made.points}
    needed = [(edge.piece, role) for edge in made.edges for role in (edge.points[0], edge.points[-1])]
    for measure in made.measures:
        needed += [(measure.piece, role.removesuffix("'")) for role in (measure.start, measure.end)]
    for piece, role in dict.fromkeys(key for key in needed if key in points_there):
        own = [point for point in points if (point.piece, point.role) == (piece, role)]
        if len(own) != 1:
            yield Finding(
                "role-missing" if not own else "role-twice",
                Severity.ERROR,
                own[1].place if own else Place(piece=piece),
                f"The {piece} has {len(own) or 'no'} point{'s' if own else ''} with the role '{role}'.",
                "One: an edge ends there, or a measure is taken by it.",
                "Read it off, or name it in the column Role.",
            )


def _out_of_order(points: Sequence[TracedPoint], made: Mitten) -> Iterator[Finding]:
    for piece, _, roles in _loops(made):
        own = [point for point in points if point.piece == piece and point.role in roles]
        for before, after in pairwise(own):
            if roles.index(after.role) < roles.index(before.role):
                yield Finding(
                    "points-out-of-order",
                    Severity.ERROR,
                    after.place,
                    f"{after.name} comes after {before.name}.",
                    f"The order in which the outline runs: {', '.join(roles)}.",
                    "Move its row, or correct its role.",
                )


def _off_mirror_line(points: Sequence[TracedPoint], made: Mitten) -> Iterator[Finding]:
    ends = {(piece, role) for piece, loop, roles in _loops(made) if loop == BOUNDARY for role in (roles[0], roles[-1])}
    for point in points:
        if (point.piece, point.role) in ends and point.x != 0:
            yield Finding(
                "off-mirror-line",
                Severity.ERROR,
                point.place,
                f"{point.name} lies {point.x:g} mm from the mirror line.",
                "On it, x = 0: the half outline ends there and goes on as its mirror image.",
                "Correct x, or move the pattern so that its mirror line is at 0.",
            )


def _coincident(points: Sequence[TracedPoint]) -> Iterator[Finding]:
    for before, after in pairwise(points):
        if (before.piece, before.x, before.y) == (after.piece, after.x, after.y):
            yield Finding(
                "points-coincide",
                Severity.ERROR,
                after.place,
                f"{after.name} lies in the same place as {before.name}.",
                "Points that follow one another lie apart.",
                "Correct x and y of one of them, or delete its row.",
            )


def _thumb_fit(block: Block, figures: Mapping[str, float]) -> Iterator[Finding]:
    """The foot as traced against its hole, each half on its own."""
    for walked in walked_seams(grade(block, own_table(figures))):
        ease, least, most = (float(length[0]) for length in (walked.ease, walked.least, walked.most))
        if walked.seam.balance and not least <= ease <= most:
            word = "shorter" if ease < 0 else "longer"
            yield Finding(
                "thumb-does-not-fit",
                Severity.WARNING,
                Place(seam=walked.seam.name),
                f"As traced the foot is {float(walked.side_a[0]):.1f} mm, its half of the hole "
                f"{float(walked.side_b[0]):.1f} mm: {abs(ease):.1f} mm {word}.",
                f"Longer by {least:.1f} to {most:.1f} mm, to be eased in round the belly.",
                "A run fills or flattens the foot until it fits, by a few millimetres; correct the points if it says "
                "that it cannot.",
            )
