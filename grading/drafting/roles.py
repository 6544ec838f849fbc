"""The points of a traced pattern by the roles that they have in the standard mitten, and what is wrong with those."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise, takewhile
from math import hypot

from grading.codes import Code
from grading.drafting.style import Mitten
from grading.engine.shapes import loop_points
from grading.findings import Finding, Place
from grading.model.block import BOUNDARY, Move, Share
from grading.model.measured import TracedPoint
from grading.model.names import Names, UnknownNameError, name_key

__all__ = ["DECIMALS", "check_points", "needed", "with_neighbours", "with_roles"]

#: What is worked out of a pattern's points is kept to so many decimals of a millimetre.
DECIMALS = 6


def with_roles(points: Sequence[TracedPoint], made: Mitten) -> tuple[list[TracedPoint], list[Finding]]:
    """The points with piece and role spelled as the standard mitten's, and a finding for each that has none."""
    pieces = Names(piece.name for piece in made.block.pieces)
    known, findings = [], []
    for point in points:
        piece = pieces.settled_or_not(point.piece)
        roles = Names(at.name for at in made.points if at.piece == piece)
        try:
            known.append(replace(point, piece=piece, role=roles.settled(point.role)))
        except UnknownNameError as unknown:
            if point.role == point.name and piece in pieces and not unknown.near:
                known.append(replace(point, piece=piece, role=""))
                continue
            found = f"'{point.role}' is no point of the standard {point.piece}, so nothing says how it moves."
            one_of = f"One of {', '.join(roles) or 'Trank and Thumb'}."
            expected = f"Perhaps '{unknown.near}' is meant." if unknown.near else one_of
            action = "Fill in the column Role with the point of the standard mitten that it moves like."
            findings.append(Finding.error(Code.UNKNOWN_ROLE, point.place, found, expected, action))
    beside = {(one.piece, one.name) for one, _ in with_neighbours(known, made)}
    findings += (_own_point(point, (point.piece, point.name) in beside) for point in known if not point.role)
    return known, findings


def with_neighbours(points: Sequence[TracedPoint], made: Mitten) -> Iterator[tuple[TracedPoint, Move]]:
    """Each point without a role, and its move: part of the one before it and part of the one after, along the outline.

    A point that has not both in its loop is left out.
    """
    moves = {move.name: move for move in made.block.moves}
    loops = list(_loops(made))
    on_loops = {(piece, role) for piece, _, roles in loops for role in roles}
    outlines = [one for one in points if not one.role or (one.piece, one.role) in on_loops]
    for point in outlines:
        own = [one for one in outlines if one.piece == point.piece]
        at = own.index(point)
        before = next((number for number in range(at - 1, -1, -1) if own[number].role), None)
        if point.role or before is None:
            continue
        loop, roles = next((loop, of) for piece, loop, of in loops if piece == point.piece and own[before].role in of)
        between = list(takewhile(lambda one: not one.role, own[before + 1 :]))
        after = next((one for one in own[before + 1 :] if one.role), None)
        if (after is None or after.role not in roles) and loop != BOUNDARY:
            after = next((one for one in own if one.role == roles[0]), None)  # a cut-out ends where it begins
        if after is None or after.role not in roles:
            continue
        way = [own[before], *between, after]
        lengths = [hypot(b.x - a.x, b.y - a.y) for a, b in pairwise(way)]
        # Points that all lie in one place are told for that.
        share = sum(lengths[: at - before]) / (sum(lengths) or 1.0)
        total: dict[str, tuple[float, float]] = {}
        for end, part in ((own[before], 1 - share), (after, share)):
            for name in made.at(end.piece, end.role).moves:
                for one in moves[name].shares:
                    x, y = total.get(one.value, (0.0, 0.0))
                    total[one.value] = round(x + part * one.x, DECIMALS), round(y + part * one.y, DECIMALS)
        shares = tuple(Share(value, x, y) for value, (x, y) in total.items() if x or y)
        yield point, Move(f"{point.piece}, {point.name}", shares)


def check_points(points: Sequence[TracedPoint], made: Mitten) -> Iterator[Finding]:
    """What stands in the way of drawing edges through the points: roles that are missing, out of order or off place."""
    yield from _named_twice(points)
    yield from _wanting(points, made)
    yield from _out_of_order(points, made)
    yield from _off_mirror_line(points, made)
    yield from _upside_down(points, made)
    yield from _coincident(points)


def needed(made: Mitten) -> list[tuple[str, str]]:
    """The points that edges end at, and that measures are taken by, piece and role, each once."""
    there = {(at.piece, at.name) for at in made.points}
    needed = [(edge.piece, role) for edge in made.block.edges for role in (edge.points[0], edge.points[-1])]
    for measure in made.block.measures:
        needed += [(measure.piece, role.removesuffix("'")) for role in (measure.start, measure.end)]
    return list(dict.fromkeys(key for key in needed if key in there))


def _own_point(point: TracedPoint, between: bool) -> Finding:
    """A point of the maker's own goes with its neighbours; one at the end of an outline has not both."""
    if between:
        found = f"{point.name} of the {point.piece} has no role: it goes with the points before and after it."
        expected = "By how near it lies to each along the outline: so it stays between them in every size."
        action = "Fill in the column Role if it is to move like another point."
        return Finding.note(Code.GOES_WITH_ITS_NEIGHBOURS, point.place, found, expected, action)
    found = f"{point.name} of the {point.piece} has no role, and no points with one on both sides of it."
    expected = "A role: nothing says how it moves."
    action = "Fill in the column Role with the point of the standard mitten that it moves like."
    return Finding.error(Code.UNKNOWN_ROLE, point.place, found, expected, action)


def _named_twice(points: Sequence[TracedPoint]) -> Iterator[Finding]:
    """A piece's points have names of their own, in whichever of several files they stand."""
    first: dict[tuple[str, str], TracedPoint] = {}
    for point in points:
        known = first.setdefault((point.piece, name_key(point.name)), point)
        if known is not point:
            where = f" ({known.place})" if str(known.place) else ""
            yield Finding.error(
                Code.DUPLICATE_NAME,
                point.place,
                f"The {point.piece} has a point '{known.name}' already{where}.",
                "Each is there once; case and spaces do not count.",
                "Rename one of them, or leave out the file or the row that is there twice.",
            )


def _wanting(points: Sequence[TracedPoint], made: Mitten) -> Iterator[Finding]:
    """The roles that edges end at, and that measures are taken by, are there once."""
    for piece, role in needed(made):
        own = [point for point in points if (point.piece, point.role) == (piece, role)]
        if len(own) != 1:
            yield Finding.error(
                Code.ROLE_MISSING if not own else Code.ROLE_TWICE,
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
                yield Finding.error(
                    Code.POINTS_OUT_OF_ORDER,
                    after.place,
                    f"{after.name} comes after {before.name}.",
                    f"The order in which the outline runs: {', '.join(roles)}.",
                    "Move its row, or correct its role.",
                )


def _off_mirror_line(points: Sequence[TracedPoint], made: Mitten) -> Iterator[Finding]:
    ends = {(piece, role) for piece, loop, roles in _loops(made) if loop == BOUNDARY for role in (roles[0], roles[-1])}
    for point in points:
        if (point.piece, point.role) in ends and point.x != 0:
            yield Finding.error(
                Code.OFF_MIRROR_LINE,
                point.place,
                f"{point.name} lies {point.x:g} mm from the mirror line.",
                "On it, x = 0: the half outline ends there and goes on as its mirror image.",
                "Correct x, or move the pattern so that its mirror line is at 0.",
            )


def _upside_down(points: Sequence[TracedPoint], made: Mitten) -> Iterator[Finding]:
    at = {(point.piece, point.role): point for point in points}
    for piece, loop, roles in _loops(made):
        first, last = at.get((piece, roles[0])), at.get((piece, roles[-1]))
        if loop == BOUNDARY and first is not None and last is not None and first.y < last.y:
            yield Finding.error(
                Code.UPSIDE_DOWN,
                first.place,
                f"{first.name} of the {piece} lies below {last.name}.",
                f"Above it: y is counted up, from {last.name} to {first.name}.",
                "Turn the piece round, or change the sign of each of its y's.",
            )


def _coincident(points: Sequence[TracedPoint]) -> Iterator[Finding]:
    for before, after in pairwise(points):
        if (before.piece, before.x, before.y) == (after.piece, after.x, after.y):
            yield Finding.error(
                Code.POINTS_COINCIDE,
                after.place,
                f"{after.name} lies in the same place as {before.name}.",
                "Points that follow one another lie apart.",
                "Correct x and y of one of them, or delete its row.",
            )


def _loops(made: Mitten) -> Iterator[tuple[str, str, list[str]]]:
    """Each loop of the standard mitten: its piece, its name, and its roles in order."""
    for piece, loop in dict.fromkeys((edge.piece, edge.loop) for edge in made.block.edges):
        yield piece, loop, loop_points([edge for edge in made.block.edges if (edge.piece, edge.loop) == (piece, loop)])
