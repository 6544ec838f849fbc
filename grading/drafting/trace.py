"""Make a base block of a pattern that a maker has tuned on grid paper: its points, with the grade rules of its style.

The style is told by the points that are there. Each moves like the point of that style's mitten whose role it has, or
else with its neighbours. What the pattern was drafted with, ease and fold-backs, is read off it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product, takewhile
from math import log
from statistics import median

from grading.audit.mistaken import MISTAKEN
from grading.codes import Code
from grading.drafting.base import Drafted, audit_base
from grading.drafting.draft import base_values, own_table
from grading.drafting.hands import check_hands, larger_hand, missing_figures
from grading.drafting.parts.part import LAYER, THUMB, TRANK
from grading.drafting.parts.read_off import Coordinates, ReadOff, read_across, read_up
from grading.drafting.roles import check_points, needed, with_neighbours, with_roles
from grading.drafting.style import PARTS, STANDARD, Mitten, Style, mitten, senseless
from grading.drafting.working import WorkedSum
from grading.engine.run import grade
from grading.findings import Finding, Place, has_errors
from grading.model.block import Block, Edge, Point
from grading.model.measured import Hands, TracedPoint
from grading.model.names import name_key
from grading.readings.seams import walked_seams

__all__ = ["standard_points", "trace"]

#: So many lengths that agree to within this part of them bear witness to a copy that is off by more than ``COPIED``.
WITNESSES, AGREE, COPIED = 3, 0.02, 0.03
#: So many times larger or smaller than the hand is no copy any more.
NO_COPY = 2.0
#: Where no point of the outline lies: it is made here.
_MADE = (THUMB, "web centre")


#: What a pattern has of the hand itself, without any ease, and which measurement of it that is, less which other.
_WITHOUT_EASE = {
    ReadOff("T to H of the hole", (((TRANK, "T", 1), 1.0), ((TRANK, "H", 1), -1.0))): ("thumb root length",),
    read_across("hole across", TRANK, "palm side", "index side"): ("thumb root breadth",),
    read_up("T above the wrist line", TRANK, "T"): ("palm length", "web depth"),
    read_up("finger line", TRANK, "knuckle"): ("palm length",),
}


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
    style = _style_traced(points)
    made = mitten(style)
    points, findings = with_roles(points, made)
    findings += _taken_as(style)
    larger = larger_hand(hands)
    figures = larger.figures
    findings += check_hands(hands)
    findings += missing_figures(figures, made.body)
    findings += check_points(points, made)
    if has_errors(findings):
        return None, findings
    at = {(point.piece, point.role): (point.x, point.y) for point in points}
    witnesses = list(_witnesses(at, figures))
    findings += _copied(witnesses)
    if has_errors(findings):
        return None, findings
    ways = {one.name: way for one in made.allowances if (way := one.way_to_read(at))}
    read = {name: way.of(at, figures) for name, way in ways.items()}
    allowances = {**{one.name: 0.0 for one in made.allowances}, **made.usual(), **read}
    block = replace(
        _through_the_points(made, points),
        name=name,
        groups=groups,
        compressed_pile=layer["compressed pile"],
        leather=layer["leather thickness"],
        date=date,
        notes="Traced from a pattern on grid paper, with the standard grade rules.",
        values=base_values(made, figures, allowances),
    )
    findings += _thumb_fit(block, figures)
    findings += map(_of_the_hand, audit_base(block, figures))
    step = "What was read off the pattern"
    sums = [WorkedSum(step, name, read[name], way.words, {}) for name, way in ways.items()]
    return Drafted(block, larger, (*_asked_first(sums, witnesses), *sums)), findings


def _of_the_hand(finding: Finding) -> Finding:
    """The finding in words for a pattern that is in no sheet yet: what it was drafted with is the hand's figures."""
    if finding.code != Code.DRAFTED_WITH_ANOTHER_FIGURE:
        return finding
    found = finding.found.replace("by the sheet", "by the hand's measurements")
    return replace(finding, found=found, action="Measure that again, or read these points again.")


def _witnesses(at: Coordinates, figures: Mapping[str, float]) -> Iterator[_Witness]:
    """What the pattern has of the hand without any ease, as far as its points tell it."""
    for way, (measurement, *less) in _WITHOUT_EASE.items():
        if way.points <= set(at):
            mm = figures[measurement] - sum(figures[name] for name in less)
            witness = _Witness(way.words, way.of(at, figures), " less ".join((measurement, *less)), mm)
            # What lies the wrong way round, or on the wrong side of the wrist line, tells nothing of the copy.
            if witness.drawn > 0 and mm > 0:
                yield witness


def _copied(witnesses: Sequence[_Witness]) -> Iterator[Finding]:
    """A copy that is not at 100 % is larger or smaller than the hand by the same part everywhere."""
    parts = [witness.part for witness in witnesses]
    if not parts:
        return
    middle = median(parts)
    if not 1 / NO_COPY < middle < NO_COPY:
        yield _in_another_unit(middle)
        return
    agree = [witness for witness in witnesses if abs(witness.part - middle) <= AGREE * middle]
    if len(agree) < WITNESSES or abs(middle - 1) <= COPIED:
        return
    yield Finding.warning(
        Code.COPY_NOT_FULL_SIZE,
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
    return Finding.error(
        Code.TRACED_IN_ANOTHER_UNIT,
        Place(piece=TRANK),
        f"The pattern is {part:.2g} times as large as the hand that it is to fit.",
        "A pattern of about the hand's size: nothing is made of one that is not.",
        f"Check the unit of every x and y{f': perhaps {likely}' if likely else ''}. Write it behind the figures, as "
        "'4.5 cm', or name it with --units.",
    )


def _asked_first(sums: Iterable[WorkedSum], witnesses: Iterable[_Witness]) -> Iterator[WorkedSum]:
    """The ease that a copy of another size would have changed most, and what else tells that it is one."""
    step = "Is the copy at 100 %? By the hand's figures:"
    yield from (replace(one, step=step) for one in sums if one.what == "hand ease")
    for witness in witnesses:
        yield WorkedSum(step, witness.what, witness.drawn, f"{100 * witness.part:.0f} % of {witness.of}", {})


def _through_the_points(made: Mitten, points: Sequence[TracedPoint]) -> Block:
    """A mitten's block with the points that were traced, its edges, marks and measures by the names that those have."""
    named = {(point.piece, point.role): point.name for point in points}
    beside = {(one.piece, one.name): move for one, move in with_neighbours(points, made)}

    def moves(point: TracedPoint) -> tuple[str, ...]:
        return made.at(point.piece, point.role).moves if point.role else (beside[point.piece, point.name].name,)

    own = tuple(
        Point(point.piece, point.name, point.x, point.y, point.turn, moves(point), place=point.place)
        for point in points
    )
    if _MADE not in named and any((one.piece, one.name) == _MADE for one in made.points):
        web = next(point.y for point in points if (point.piece, point.role) == (THUMB, "T"))
        own += (Point(*_MADE, 0.0, web, False, made.at(*_MADE).moves),)

    def known(piece: str, role: str) -> str:
        """The traced point that has a role; any other word as it is."""
        stroke = "'" if role.endswith("'") else ""
        plain = role.removesuffix("'")
        return named.get((piece, plain), plain) + stroke

    blank = made.block
    marks = tuple(
        replace(mark, where=", ".join(known(mark.piece, role.strip()) for role in mark.where.split(",")))
        for mark in blank.marks
        # What stands at a point inside a piece that nobody read off is left out.
        if all((mark.piece, role.removesuffix("'")) in {*named, _MADE} for role in mark.points)
    )
    there = {*(seam.name for seam in blank.seams), *(mark.name for mark in marks)}
    return replace(
        blank,
        making=tuple(replace(step, shows="; ".join(filter(there.__contains__, step.shown))) for step in blank.making),
        pieces=tuple(replace(piece, stacking_point=known(piece.name, piece.stacking_point)) for piece in blank.pieces),
        points=own,
        moves=(*blank.moves, *beside.values()),
        edges=tuple(replace(edge, points=_points_along(edge, points)) for edge in blank.edges),
        marks=marks,
        measures=tuple(
            replace(measure, start=known(measure.piece, measure.start), end=known(measure.piece, measure.end))
            for measure in blank.measures
        ),
    )


def _points_along(edge: Edge, points: Sequence[TracedPoint]) -> tuple[str, ...]:
    """The traced points along a standard edge, from the one with the role of its first point to that of its last."""
    own = [point for point in points if point.piece == edge.piece]
    ends = {point.role: point.name for point in own}
    first = next(number for number, point in enumerate(own) if point.role == edge.points[0])
    inner = takewhile(lambda point: not point.role or point.role in edge.points[1:-1], own[first + 1 :])
    return (ends[edge.points[0]], *(point.name for point in inner), ends[edge.points[-1]])


def _style_traced(points: Sequence[TracedPoint]) -> Style:
    """The style that the points are of: that with the fewest points missing and the fewest that are none of it.

    The standard one where it is as good as another. A lining is no part of a traced pattern.
    """
    given = {(name_key(point.piece), name_key(point.role)) for point in points}

    def amiss(style: Style) -> int:
        made = mitten(style)
        there = {(at.piece, at.name) for at in made.points}
        wanted = {(name_key(piece), name_key(role)) for piece, role in needed(made) if (piece, role) != _MADE}
        known = {(name_key(piece), name_key(name)) for piece, name in there}
        return len(wanted - given) + len(given - known)

    if not amiss(STANDARD):
        return STANDARD
    choices = ([STANDARD[part]] if part == "lining" else choices for part, choices in PARTS.items())
    styles = (dict(zip(PARTS, chosen, strict=True)) for chosen in product(*choices))
    return min((style for style in styles if not any(senseless(style))), key=amiss)


def _taken_as(style: Style) -> Iterator[Finding]:
    """A note for every part of which the pattern has another choice than the standard one."""
    for part, choice in style.items():
        if choice != STANDARD[part]:
            yield Finding.note(
                Code.TRACED_AS_ANOTHER_STYLE,
                Place(measure=part),
                f"No {STANDARD[part]} {part}: taken as '{choice}', {PARTS[part][choice].words}.",
                "The points of a part say which choice of it the pattern is.",
                f"If it is meant to be {STANDARD[part]}, read its points off too.",
            )


def _thumb_fit(block: Block, figures: Mapping[str, float]) -> Iterator[Finding]:
    """The foot as traced against its hole, each half on its own."""
    for walked in walked_seams(grade(block, own_table(figures))):
        ease, least, most = (float(length[0]) for length in (walked.ease, walked.least, walked.most))
        if walked.seam.balance and not least <= ease <= most:
            word = "shorter" if ease < 0 else "longer"
            yield Finding.warning(
                Code.THUMB_DOES_NOT_FIT,
                Place(seam=walked.seam.name),
                f"As traced the foot is {float(walked.side_a[0]):.1f} mm, its half of the hole "
                f"{float(walked.side_b[0]):.1f} mm: {abs(ease):.1f} mm {word}.",
                f"Longer by {least:.1f} to {most:.1f} mm, to be eased in round the belly.",
                "A run fills or flattens the foot until it fits, by a few millimetres; correct the points if it says "
                "that it cannot.",
            )
