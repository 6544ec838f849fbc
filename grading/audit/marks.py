"""Audit the marks: notches and ticks that are to meet when a seam is sewn, and do not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

import numpy as np
import shapely

from grading.audit.figures import shown
from grading.audit.subject import Subject
from grading.codes import Code
from grading.engine.run import SizeRun
from grading.findings import Finding, Place
from grading.geometry.arrays import Floats
from grading.model.block import BOUNDARY, Block, Mark
from grading.model.mark_kinds import MARK_KINDS, Drawn
from grading.model.names import name_key
from grading.readings.marks import point_marks, slits
from grading.readings.walks import Walk, walked_sides

__all__ = ["MARK_BLOCK_RULES", "MARK_RULES"]

#: How much more than the seam's ease two marks that meet may lie apart, mm: about as true as one cuts a notch.
APART = 1.0
#: How much leather a slit leaves between its ends and the edges that it does not reach, and how long it is at the
#: least, mm. Common practice.
LEATHER_LEFT, OPENS = 5.0, 3.0
#: An end of a slit that is no further from a sew line than this, mm, reaches it.
REACHES = 0.05


def _marks_pair(subject: Subject) -> Iterator[Finding]:
    """Each notch or tick inside one side of a seam meets one of the other side, within the seam's ease."""
    run = subject.run
    marked = {row.piece for row in run.block.marks if MARK_KINDS[row.kind].drawn is Drawn.STROKE}
    for seam in run.block.seams:
        if marked.isdisjoint(seam.pieces):
            continue
        a, b = walked_sides(run, seam)
        on_a, on_b = _marks_along(run, a), _marks_along(run, b)
        if len(on_a) != len(on_b):
            yield Finding.warning(
                Code.MARKS_DO_NOT_PAIR,
                Place(group=run.group, seam=seam.name),
                f"Notches or ticks between the ends of side A: {len(on_a)}, of side B: {len(on_b)}.",
                "As many on either side: each meets another.",
                "Add the one that is missing, or take out the one that has no other.",
            )
            continue
        ease = a.length - b.length
        for (name, from_a), (other, from_b) in zip(on_a, on_b, strict=True):
            off = from_a - from_b
            astray = (off < np.minimum(ease, 0) - APART) | (off > np.maximum(ease, 0) + APART)
            for size in np.flatnonzero(astray):
                yield Finding.warning(
                    Code.MARKS_DO_NOT_PAIR,
                    subject.place(size, seam=seam.name),
                    f"From the start, {name} is {shown(from_a[size], 1)} mm along side A, {other} "
                    f"{shown(from_b[size], 1)} mm along side B.",
                    f"Apart by no more than the seam's ease, {shown(ease[size], 1)} mm, and {APART:g} mm.",
                    "Move one of the points, or let matching marks be set from the seam: sheet Seams.",
                )


def _marks_along(run: SizeRun, walk: Walk) -> list[tuple[str, Floats]]:
    """The notches and ticks between the ends of a walk, in order, each with its distance (sizes,) from the start."""
    marks = []
    for row in run.block.marks:
        if row.piece != walk.piece or MARK_KINDS[row.kind].drawn is not Drawn.STROKE:
            continue
        for mark in point_marks(run, row):
            away = np.abs(walk.beziers[:, 1:, 0] - mark.places[:, None]).max(axis=(0, 2))
            marks += [(mark.name, walk.reached[:, 1 + joint]) for joint in np.flatnonzero(away < 1e-6)]
    return sorted(marks, key=lambda pair: float(pair[1][0]))


def _folds_at_corners(block: Block) -> Iterator[Finding]:
    """A fold ends at turn points: so each part keeps its shape, and mirrors the one under it."""
    turns = {(point.piece, point.name): point.turn for point in block.points}
    for mark in block.marks:
        if mark.kind != "fold line":
            continue
        curved = [name for name in mark.points if not turns.get((mark.piece, name.removesuffix("'")), True)]
        if curved:
            yield Finding.warning(
                Code.FOLD_OFF_ITS_CORNER,
                mark.place,
                f"The fold line '{mark.name}' of {mark.piece} ends at {' and '.join(curved)}, on a curve.",
                "At turn points: there the outline goes back on itself to the raw edge.",
                "Correct 'Where', or make the kind of those points turn.",
            )


def _folds_and_change_overs(block: Block) -> Iterator[Finding]:
    """Where a block marks change-overs at all, each fold has one at either end, and none stands elsewhere."""
    ends: dict[str, dict[frozenset[str], Mark]] = defaultdict(dict)
    for mark in block.marks:
        if mark.kind in ("fold line", "change-over"):
            ends[mark.kind][frozenset({mark.piece, *mark.points})] = mark
    if not ends["change-over"]:
        return
    for kind, other in (("fold line", "change-over"), ("change-over", "fold line")):
        for where, mark in ends[kind].items():
            if where not in ends[other]:
                yield Finding.warning(
                    Code.FOLD_WITHOUT_CHANGE_OVER,
                    mark.place,
                    f"The {kind} '{mark.name}' of {mark.piece} has no {other} at {mark.where}.",
                    "Both at the same two points: at a fold the seam goes over to the other face.",
                    f"Add the {other}, or correct 'Where' of one of them.",
                )


def _labels_at_their_points(block: Block) -> Iterator[Finding]:
    """A label that is called like a point stands at that point."""
    points = {(point.piece, name_key(point.name)) for point in block.points}
    for mark in block.marks:
        own = {name_key(name.removesuffix("'")) for name in mark.points}
        if mark.kind == "label" and (mark.piece, name_key(mark.name)) in points and name_key(mark.name) not in own:
            yield Finding.warning(
                Code.LABEL_AT_ANOTHER_POINT,
                mark.place,
                f"The label '{mark.name}' of {mark.piece} stands at {mark.where}.",
                f"At {mark.name}: whoever sews brings letter to letter.",
                "Correct 'Where', or call the label otherwise.",
            )


def _letters_meet(block: Block) -> Iterator[Finding]:
    """A letter at the end of one side of a seam stands at the same end of the other side."""
    labelled = {
        (mark.piece, name.removesuffix("'")): mark
        for mark in block.marks
        if mark.kind == "label"
        for name in mark.points
    }
    ends = {(edge.piece, edge.name): (edge.points[0], edge.points[-1]) for edge in block.edges}
    told = set()
    for seam in block.seams:
        for one, other in (seam.sides, seam.sides[::-1]):
            here, there = (
                {end for name in side.edges for end in ends.get((side.piece, name.removesuffix("'")), ())}
                for side in (one, other)
            )
            for name in sorted(here & there):
                mark = labelled.get((one.piece, name))
                if mark is not None and (other.piece, name) not in labelled and (other.piece, name) not in told:
                    told.add((other.piece, name))
                    yield Finding.warning(
                        Code.LETTER_WITHOUT_ITS_OTHER,
                        mark.place,
                        f"The letter '{mark.name}' stands on {one.piece} but not on {other.piece}, its other side.",
                        "On both: letter meets letter.",
                        f"Add the label to {other.piece}, or take this one out.",
                    )


def _slits_in_the_leather(subject: Subject) -> Iterator[Finding]:
    """A slit lies in its piece, runs into an edge or keeps away from it, and is long enough to open."""
    run = subject.run
    for name, piece in run.pieces.items():
        for mark, start, end in slits(run.block, name):
            ends = np.stack([piece.point(start), piece.point(end)], axis=1)
            for size in range(len(run.sizes)):
                rings = {loop: subject.rings[name, loop][size] for loop in piece.beziers}
                place = subject.place(size, piece=name)
                yield from _one_slit(mark, shapely.LineString(ends[size]), rings, place)


def _one_slit(
    mark: Mark, slit: shapely.LineString, rings: Mapping[str, shapely.Polygon], place: Place
) -> Iterator[Finding]:
    outline = rings[BOUNDARY]
    if slit.length < OPENS:
        yield Finding.warning(
            Code.SLIT_TOO_SHORT,
            place,
            f"The slit '{mark.name}' is {shown(slit.length, 1)} mm long.",
            f"{OPENS:g} mm or more: a shorter one opens nothing.",
            "Check the moves of its ends.",
        )
    holes = [ring for loop, ring in rings.items() if loop != BOUNDARY]
    if not outline.is_valid or not all(hole.is_valid for hole in holes):
        return
    leather = outline.difference(shapely.union_all(holes))
    if not leather.buffer(REACHES).covers(slit):
        yield Finding.error(
            Code.SLIT_OUTSIDE,
            place,
            f"The slit '{mark.name}' lies partly beyond the leather.",
            "From end to end in its piece, and in no cut-out.",
            "Correct its points, or their moves.",
        )
        return
    edges = shapely.boundary(leather)
    away = [edges.distance(shapely.Point(end)) for end in slit.coords]
    left = min((far for far in away if far > REACHES), default=LEATHER_LEFT)
    if left < LEATHER_LEFT:
        yield Finding.warning(
            Code.SLIT_NEAR_AN_EDGE,
            place,
            f"The slit '{mark.name}' leaves {shown(left, 1)} mm of leather to the edge.",
            f"{LEATHER_LEFT:g} mm or more, or it tears out; or let it run into the edge.",
            "Move the end of the slit.",
        )


#: The rules for marks as they are written, in the order in which their findings are told.
MARK_BLOCK_RULES = (_folds_at_corners, _folds_and_change_overs, _labels_at_their_points, _letters_meet)
#: The rules for marks as they come out in a run, in the order in which their findings are told.
MARK_RULES = (_marks_pair, _slits_in_the_leather)
