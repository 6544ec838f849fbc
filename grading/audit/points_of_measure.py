"""Audit where measures are taken: at places that can be found on the finished piece, and where their names say.

A measure moves no line, and so nothing that is drawn contradicts one that is taken elsewhere than it is called. What
a maker may well mean is a note; what no way of measuring leads to is a warning.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from operator import itemgetter

import numpy as np

from grading.audit.bases import grows
from grading.audit.figures import shown
from grading.codes import Code
from grading.engine.run import GradedPiece
from grading.engine.shapes import shapes
from grading.findings import Finding
from grading.geometry.outlines import image
from grading.measuring.taking import width_at
from grading.measuring.ways import WAYS, Goes
from grading.model.block import BOUNDARY, Block, Kind, Measure, Side
from grading.model.names import plain_words
from grading.readings.marks import fold_lines

__all__ = ["POINT_OF_MEASURE_RULES"]

#: Words of a measure that is all the way round.
WORDS_OF_A_ROUND = {"round", "girth", "circumference"}
#: So many measures that count alike make another, of the same kind, an odd one.
ALIKE = 3
#: A point this near to where something ends, mm, is at its end.
AT = 1.0
#: Nobody walks further than this share of a loop from point to point: the other way is shorter.
LONG_WAY = 0.75


def _halved(block: Block) -> Iterator[Finding]:
    """What goes round a piece lies flat as its half; the length from point to point lies flat as it is."""
    for measure in block.measures:
        there_and_back = measure.how == "along" and measure.end == image(measure.start)
        if 0 < measure.times < 1 and WAYS[measure.how].goes is Goes.BETWEEN and not there_and_back:
            yield Finding.warning(
                Code.LENGTH_HALVED,
                measure.place,
                f"{measure.name} counts {measure.times:g} times the length from {measure.start} to {measure.end}.",
                "Once: only what goes round a piece is halved, where it lies flat.",
                "Correct 'Times', or 'How' if it is a width.",
            )


def _widths_count_alike(block: Block) -> Iterator[Finding]:
    """All widths of a block are of pieces that lie flat, or all are opened out; a round says in its name that it is."""
    widths = [measure for measure in block.measures if measure.how == "across" and not _is_round(measure)]
    counts = Counter(measure.times for measure in widths)
    usual, as_usual = counts.most_common(1)[0] if counts else (0.0, 0)
    for measure in widths if as_usual >= ALIKE else ():
        if measure.times != usual and counts[measure.times] == 1:
            yield Finding.warning(
                Code.WIDTH_COUNTED_UNLIKE_OTHERS,
                measure.place,
                f"{measure.name} counts {measure.times:g} times the width of {measure.piece}; {as_usual} other "
                f"widths count {usual:g} times.",
                f"{usual:g} times like the others: or one of them lies flat and another is opened out.",
                "Correct 'Times'; call it a round if it is meant all the way round.",
            )


def _widths_at_their_ends(block: Block) -> Iterator[Finding]:
    """A width is found by the point of the outline at which it ends."""
    pieces = _as_drafted(block)
    for measure in block.measures:
        if measure.how != "across":
            continue
        piece = pieces[measure.piece]
        across, up = piece.point(measure.start)[0]
        ends = 0.5 * width_at(piece, np.array([up]))[0] if piece.mirrored else None
        on_outline = measure.start in piece.loops[BOUNDARY].names
        inside = ends - abs(across) if ends is not None else (0.0 if on_outline else AT + 1)
        if inside > AT:
            where = f", which lies {shown(inside)} mm inside the outline" if ends is not None else ""
            yield Finding.note(
                Code.WIDTH_NOT_AT_ITS_END,
                measure.place,
                f"{measure.name} is taken at the height of {measure.start} of {measure.piece}{where}.",
                "A point of the outline: the width ends there, and whoever measures can find it.",
                "Check 'From'; leave it if that height is meant.",
            )


def _long_way(block: Block) -> Iterator[Finding]:
    pieces = _as_drafted(block)
    for measure in block.measures:
        if measure.how != "along" or not measure.end:
            continue
        piece = pieces[measure.piece]
        loop = piece.loops[piece.loop_of(measure.start)]
        way = loop.length(piece.points, loop.segments(measure.start, measure.end))[0]
        whole = loop.length(piece.points, np.arange(len(loop.names)))[0]
        if way > LONG_WAY * whole:
            yield Finding.warning(
                Code.MEASURED_THE_LONG_WAY,
                measure.place,
                f"{measure.name} goes {shown(way)} mm from {measure.start} to {measure.end}, of {shown(whole)} mm all "
                "the way round.",
                f"The other way it is {shown(whole - way)} mm.",
                "Exchange 'From' and 'To', or measure a 'perimeter'.",
            )


def _named_for_a_seam(block: Block) -> Iterator[Finding]:
    """A measure that bears the name of a seam, or of an edge that it goes along, goes from end to end of it."""
    for measure in block.measures:
        named = _namesake(block, measure)
        if named is None or WAYS[measure.how].goes is Goes.NEITHER:
            continue
        what, side = named
        ends = _free_ends(block, side)
        taken = {measure.start.removesuffix("'"), measure.end.removesuffix("'")}
        by_name = any(_bears(measure.name, point) for point in taken - ends if point)
        if ends and (measure.how not in ("along", "straight", "height") or (taken != ends and not by_name)):
            yield Finding.warning(
                Code.MEASURED_BESIDE_ITS_NAME,
                measure.place,
                f"{measure.name} is measured {measure.how}, from {measure.start or 'the outline'}"
                f"{f' to {measure.end}' if measure.end else ''}.",
                f"The length of {what}, from {' to '.join(sorted(ends))}.",
                "Correct 'How', 'From' or 'To', or call it by what it is measured on.",
            )


def _named_for_an_allowance(block: Block) -> Iterator[Finding]:
    """A measure that bears the name of an allowance is as large as that makes it."""
    for measure in block.measures:
        for value in block.values:
            if (
                value.kind is Kind.ALLOWANCE
                and _bears(measure.name, value.name)
                and not grows(block, measure, value.name)
            ):
                yield Finding.warning(
                    Code.MEASURE_WITHOUT_ITS_ALLOWANCE,
                    measure.place,
                    f"{measure.name} stays as it is whatever the allowance {value.name} is.",
                    f"A measure of that name grows with {value.name}.",
                    "Correct 'How', 'From' or 'To', or call it by what it is measured on.",
                )


def _rounds_close(block: Block) -> Iterator[Finding]:
    """What is called a round goes all the way round, or from a point to its image."""
    for measure in block.measures:
        if not _is_round(measure):
            continue
        closed = measure.end == image(measure.start)
        if closed if measure.how == "narrowest" else WAYS[measure.how].goes is Goes.BETWEEN and not closed:
            yield Finding.note(
                Code.ROUND_NOT_CLOSED,
                measure.place,
                f"{measure.name} is measured {measure.how}, from {measure.start} to {measure.end}.",
                f"All the way round, or from {measure.start} to {image(measure.start)}.",
                "Check 'From' and 'To'; leave them if no more of the round is meant.",
            )


def _over_a_fold(block: Block) -> Iterator[Finding]:
    """Beyond a fold line a piece is turned: nothing is measured from there to the part that it lies on."""
    pieces = _as_drafted(block)
    for measure in block.measures:
        if measure.tolerance is None or not measure.end or measure.how not in ("straight", "along", "height"):
            continue
        piece = pieces[measure.piece]
        start, end = (piece.point(name)[0, 1] for name in (measure.start, measure.end))
        over = []
        for mark, *ends in fold_lines(block, measure.piece):
            (x, y), (other_x, other_y) = (piece.point(point)[0] for point in ends)
            height = (y + other_y) / 2
            if abs(x - other_x) > abs(y - other_y) and (start - height) * (end - height) < -AT * AT:
                over.append(mark)
        if len(over) == 1:  # over two, from raw edge to raw edge, it is opened out
            yield Finding.warning(
                Code.MEASURED_OVER_A_FOLD,
                measure.place,
                f"{measure.name} goes from {measure.start} to {measure.end}, over the {over[0].name}.",
                "From the fold line: what is beyond it is turned when the piece is finished.",
                "Correct 'From' or 'To'.",
            )


def _found_by(block: Block) -> Iterator[Finding]:
    """Whoever measures finds the ends of a measure where an edge ends, or by a mark."""
    places = {(edge.piece, point) for edge in block.edges for point in (edge.points[0], edge.points[-1])}
    places |= {(mark.piece, point.removesuffix("'")) for mark in block.marks for point in mark.points}
    for measure in block.measures:
        if measure.tolerance is None or WAYS[measure.how].goes is not Goes.BETWEEN:
            continue
        unmarked = [
            name
            for name in (measure.start, measure.end)
            if name and (measure.piece, name.removesuffix("'")) not in places
        ]
        if unmarked:
            yield Finding.note(
                Code.MEASURED_FROM_NO_MARK,
                measure.place,
                f"{measure.name} is measured from {measure.start} to {measure.end}; no edge ends at "
                f"{' or '.join(unmarked)}, and no mark stands there.",
                "Where an edge ends, or a mark: or nobody finds the place on the piece.",
                "Check 'From' and 'To', or add a row on the sheet Marks.",
            )


def _as_drafted(block: Block) -> Mapping[str, GradedPiece]:
    return {name: GradedPiece.as_drafted(shape) for name, shape in shapes(block).items()}


def _namesake(block: Block, measure: Measure) -> tuple[str, Side] | None:
    """The seam whose name a measure bears, or the edge that it goes along, in words and as its edges on the piece."""
    seams = [(seam.name, f"the seam '{seam.name}'", side) for seam in block.seams for side in seam.sides]
    edges = [(edge.name, f"the edge {edge.name}", Side(edge.piece, (edge.name,))) for edge in block.edges]
    named = [
        (len(name), what, side)
        for name, what, side in (*seams, *(edges if measure.how == "along" else []))
        if side.piece == measure.piece and _bears(measure.name, name)
    ]
    return max(named, key=itemgetter(0))[1:] if named else None


def _free_ends(block: Block, side: Side) -> set[str]:
    """The points at which the edges of a side begin and end, where no other of them goes on."""
    names = Counter(name.removesuffix("'") for name in side.edges)
    drawn = (edge for edge in block.edges if edge.piece == side.piece for _ in range(names[edge.name]))
    ends = Counter(point for edge in drawn for point in (edge.points[0], edge.points[-1]))
    return {point for point, times in ends.items() if times == 1}


def _bears(name: str, other: str) -> bool:
    """Whether one name holds all words of another, one after the other."""
    within, words = (f" {' '.join(plain_words(text))} " for text in (name, other))
    return words in within


def _is_round(measure: Measure) -> bool:
    """Whether a measure is called so as if it went all the way round."""
    return not WORDS_OF_A_ROUND.isdisjoint(plain_words(measure.name))


#: The rules for where measures are taken, in the order in which their findings are told.
POINT_OF_MEASURE_RULES = (
    _halved,
    _widths_count_alike,
    _long_way,
    _named_for_a_seam,
    _named_for_an_allowance,
    _over_a_fold,
    _rounds_close,
    _widths_at_their_ends,
    _found_by,
)
