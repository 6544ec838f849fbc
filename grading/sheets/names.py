"""Checks that every name in a block means something, and spells each as it is spelled where it is declared."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from difflib import get_close_matches
from itertools import pairwise
from typing import Any

from grading.findings import Finding, Place, Severity
from grading.model.block import BOUNDARY, Block, Kind, Side
from grading.sheets.rows import Row

__all__ = ["check_loops", "check_names", "spelled_alike"]

Rows = Mapping[str, tuple[Row, ...]]

#: Marks on a seam, and strokes of a mark, that still can be counted on an edge.
MOST_MARKS, MOST_STROKES = 40, 5


def spelled_alike(block: Block) -> Block:
    """The same block with every name of a piece, point, edge or loop spelled as where it is declared.

    Case is forgiven in a workbook; the engine looks names up as they are.
    """
    pieces = {piece.name.casefold(): piece.name for piece in block.pieces}

    def piece(name: str) -> str:
        return pieces[name.casefold()]

    points = {(point.piece.casefold(), point.name.casefold()): point.name for point in block.points}
    edges = {(edge.piece.casefold(), edge.name.casefold()): edge.name for edge in block.edges}
    loops: dict[tuple[str, str], str] = {}
    for edge in block.edges:
        key = (edge.piece.casefold(), edge.loop.casefold())
        loops.setdefault(key, BOUNDARY if key[1] == BOUNDARY else edge.loop)

    def alike(known: Mapping[tuple[str, str], str], of: str, name: str) -> str:
        """A name, or the name and the stroke of an image, as declared; any other word as it is."""
        key = (of.casefold(), name.casefold())
        if key not in known and name.endswith("'"):
            return known.get((key[0], key[1][:-1]), name[:-1]) + "'"
        return known.get(key, name)

    def side(of: Side) -> Side:
        return Side(piece(of.piece), tuple(alike(edges, of.piece, edge) for edge in of.edges))

    return replace(
        block,
        pieces=tuple(replace(one, stacking_point=alike(points, one.name, one.stacking_point)) for one in block.pieces),
        points=tuple(replace(point, piece=piece(point.piece)) for point in block.points),
        edges=tuple(
            replace(
                edge,
                piece=piece(edge.piece),
                loop=loops[edge.piece.casefold(), edge.loop.casefold()],
                points=tuple(alike(points, edge.piece, name) for name in edge.points),
            )
            for edge in block.edges
        ),
        seams=tuple(replace(seam, side_a=side(seam.side_a), side_b=side(seam.side_b)) for seam in block.seams),
        marks=tuple(
            replace(
                mark,
                piece=piece(mark.piece),
                where=", ".join(alike(points, mark.piece, name) for name in mark.points),
            )
            for mark in block.marks
        ),
        measures=tuple(
            replace(
                measure,
                piece=piece(measure.piece),
                start=alike({**points, **loops}, measure.piece, measure.start),
                end=alike({**points, **loops}, measure.piece, measure.end),
            )
            for measure in block.measures
        ),
    )


def check_names(block: Block, rows: Rows) -> Iterator[Finding]:
    """A finding for every name that means nothing."""
    known = _Known(block)
    for row in rows["Moves"]:
        yield from known.look_up(row, "Value", row["Value"], "value", known.values)
    for row in rows["Pieces"]:
        if row["Stacking point"]:
            points = known.points.get(row["Piece"].casefold(), {})
            yield from known.look_up(row, "Stacking point", row["Stacking point"], "point of this piece", points)
    for sheet in ("Points", "Edges", "Marks", "Measures"):
        for row in rows[sheet]:
            yield from known.look_up(row, "Piece", row["Piece"], "piece", known.pieces)
    for row in rows["Points"]:
        if row["Point"].endswith("'"):
            yield _stroke_in_name(row)
        for move in row["Moves with"]:
            yield from known.look_up(row, "Moves with", move, "move", known.moves)
    for row in rows["Edges"]:
        points = known.points.get(row["Piece"].casefold(), {})
        for point in row["Points in order"]:
            yield from known.look_up(row, "Points in order", point, "point of this piece", points)
        yield from known.look_up(row, "Seam type", row["Seam type"], "seam type", known.seam_types)
    for row in rows["Seams"]:
        yield from known.check_seam(row)
    for row in rows["Measures"]:
        yield from known.check_measure(row)
    for row in rows["Marks"]:
        yield from known.check_mark(row)
    for row, step in zip(rows["Making"], block.making, strict=True):
        for name in step.shown:
            yield from known.look_up(row, "Shows", name, "seam or mark", known.shown)


def check_loops(block: Block) -> Iterator[Finding]:
    """A finding for whatever the loops of a block do not bear out; names are spelled alike by now.

    Loops close, every piece has a boundary, no two neighbours lie in one place; sides of seams hang together, and
    what is measured along a loop, or marked on one, lies on it.
    """
    yield from _without_boundary(block)
    yield from _open_loops(block)
    yield from _coincident(block)
    loops = _Loops(block)
    for seam in block.seams:
        for side in (seam.side_a, seam.side_b):
            yield from loops.check_side(seam.place, seam.name, side)
    for measure in block.measures:
        if measure.how == "along" and not loops.share_one(measure.piece, measure.start, measure.end):
            yield Finding(
                "measure-leaves-its-loop",
                Severity.ERROR,
                measure.place,
                f"{measure.name} runs along a sew line from {measure.start} to {measure.end}, which no one loop has.",
                "Two points of one outline or of one cut-out.",
                "Correct From or To, or measure 'straight'.",
            )
    for mark in block.marks:
        for name in (name.strip() for name in mark.where.split(",")):
            if mark.kind in ("notch", "tick", "change-over") and not loops.share_one(mark.piece, name, name):
                yield Finding(
                    "mark-off-its-edge",
                    Severity.ERROR,
                    mark.place,
                    f"The {mark.kind} {mark.name} is at {name}, which lies on no edge of {mark.piece}.",
                    "A point of the outline or of a cut-out: there is nothing to mark elsewhere.",
                    "Name another point, or put the point on an edge.",
                )


class _Loops:
    """Which points and edges of a block hang together."""

    def __init__(self, block: Block) -> None:
        mirrored = {piece.name for piece in block.pieces if piece.mirrored}
        on_line = {(point.piece, point.name) for point in block.points if point.x == 0}
        self._points: dict[tuple[str, str], set[str]] = {}
        self._ends: dict[tuple[str, str], tuple[str, set[str]]] = {}
        for edge in block.edges:
            images = {name if (edge.piece, name) in on_line else f"{name}'" for name in edge.points}
            has_image = edge.piece in mirrored and edge.loop == BOUNDARY
            self._points.setdefault((edge.piece, edge.loop), set()).update(edge.points, images if has_image else ())
            ends = {edge.points[0], edge.points[-1]} if edge.points else set()
            self._ends[edge.piece, edge.name] = edge.loop, ends
            if has_image:
                others = {name if (edge.piece, name) in on_line else f"{name}'" for name in ends}
                self._ends[edge.piece, f"{edge.name}'"] = edge.loop, others

    def share_one(self, piece: str, one: str, other: str) -> bool:
        """Whether some loop of the piece has both points."""
        return any({one, other} <= points for (of, _), points in self._points.items() if of == piece)

    def check_side(self, place: Place, seam: str, side: Side) -> Iterator[Finding]:
        for before, after in pairwise(side.edges):
            (loop, ends), (next_loop, next_ends) = (self._ends[side.piece, edge] for edge in (before, after))
            if before == after or loop != next_loop or not ends & next_ends:
                yield Finding(
                    "side-in-pieces",
                    Severity.ERROR,
                    place,
                    f"On a side of the seam {seam}, {after} does not go on where {before} ends.",
                    "Edges of one loop, each once, in the order in which they are sewn.",
                    "Correct the edges of that side.",
                )


def _without_boundary(block: Block) -> Iterator[Finding]:
    """Every piece has an outline."""
    for piece in block.pieces:
        if not any(edge.piece == piece.name and edge.loop == BOUNDARY for edge in block.edges):
            yield Finding(
                "piece-without-boundary",
                Severity.ERROR,
                piece.place,
                f"The piece {piece.name} has no edge of its boundary.",
                "The edges of its outline on the sheet Edges, with the loop 'boundary'.",
                "Add them, or take the piece out.",
            )


class _Known:
    """The names of a block, by case-folded name."""

    def __init__(self, block: Block) -> None:
        def named(things: Iterable[Any]) -> dict[str, Any]:
            return {thing.name.casefold(): thing for thing in things}

        self.values, self.pieces = named(block.values), named(block.pieces)
        self.moves, self.seam_types = named(block.moves), named(block.seam_types)
        self.shown = {**named(block.seams), **named(block.marks)}
        self.points: dict[str, dict[str, Any]] = {}
        self.edges: dict[str, dict[str, Any]] = {}
        self.loops: dict[str, dict[str, Any]] = {}
        for piece in block.pieces:
            key = piece.name.casefold()
            own = [edge for edge in block.edges if edge.piece.casefold() == key]
            self.points[key] = named(point for point in block.points if point.piece.casefold() == key)
            self.edges[key] = named(own)
            self.loops[key] = {edge.loop.casefold(): edge for edge in own}
            if piece.mirrored:
                outline = {name for edge in own if edge.loop == BOUNDARY for name in edge.points}
                self.edges[key] |= {f"{edge.name.casefold()}'": edge for edge in own if edge.loop == BOUNDARY}
                declared = {name.casefold() for name in outline} & self.points[key].keys()
                self.points[key] |= {f"{name}'": name for name in declared}

    def look_up(self, row: Row, column: str, name: str, what: str, names: dict[str, Any]) -> Iterator[Finding]:
        """A finding if a name is not among those known, with the nearest that is."""
        if name.casefold() in names:
            return
        # An image is what is meant only where a stroke was typed.
        near = _nearest(name, (known for known in names if known.endswith("'") == name.endswith("'")))
        yield Finding(
            f"unknown-{what.split()[0]}" if what != "seam type" else "unknown-seam-type",
            Severity.ERROR,
            row.place(column),
            f"'{name}' is no {what}.",
            f"Perhaps '{near}' is meant." if near else f"There is no {what} of a similar name.",
            "Correct the name here, or add it where it belongs.",
        )

    def check_seam(self, row: Row) -> Iterator[Finding]:
        for column in ("Side A", "Side B"):
            side = row[column]
            if side.piece.casefold() not in self.pieces:
                yield from self.look_up(row, column, side.piece, "piece", self.pieces)
                continue
            for edge in side.edges:
                edges = self.edges[side.piece.casefold()]
                yield from self.look_up(row, column, edge, f"edge of {side.piece}", edges)
        balances = {name: value for name, value in self.values.items() if value.kind is Kind.BALANCE}
        if row["Balance by"]:
            yield from self.look_up(row, "Balance by", row["Balance by"], "balance value", balances)
        for column in ("Least ease", "Most ease", "Target ease"):
            amount = row[column]
            if amount is not None and amount.allowance:
                yield from self.look_up(row, column, amount.allowance, "value", self.values)
        for column, least, most in (("Strokes", 1, MOST_STROKES), ("Matching marks", 0, MOST_MARKS)):
            if not least <= row[column] <= most:
                yield Finding(
                    "too-many-marks",
                    Severity.ERROR,
                    row.place(column),
                    f"{row[column]} is typed under {column}.",
                    f"From {least} to {most}: more cannot be told apart on an edge.",
                    "Correct the figure, or leave it blank.",
                )
        if not 0 <= row["Without ease"] < 1:
            yield Finding(
                "share-out-of-range",
                Severity.ERROR,
                row.place("Without ease"),
                f"{float(row['Without ease']):g} of side B is without ease.",
                "A share from 0 to less than 1: somewhere the ease has to go.",
                "Type 1/4 for the first quarter.",
            )

    def check_measure(self, row: Row) -> Iterator[Finding]:
        piece = row["Piece"].casefold()
        if piece not in self.pieces:
            return
        points, loops = self.points[piece], self.loops[piece]
        if row["How"] in ("perimeter", "radius"):
            yield from self.look_up(row, "From", row["From"], "outline or cut-out of this piece", loops)
        elif row["How"] == "clearance":
            cut_outs = {name: edge for name, edge in loops.items() if name != BOUNDARY}
            yield from self.look_up(row, "From", row["From"], "cut-out of this piece", cut_outs)
        else:
            yield from self.look_up(row, "From", row["From"], "point of this piece", points)
        if row["How"] in ("straight", "along", "height", "sideways", "narrowest"):
            yield from self.look_up(row, "To", row["To"], "point of this piece", points)
        if row["How"] == "clearance":
            yield from self.look_up(row, "To", row["To"], "line to be clear of", {BOUNDARY: 0, "mirror line": 0})
        if (row["Tolerance −"] is None) != (row["Tolerance +"] is None):
            yield Finding(
                "half-a-tolerance",
                Severity.ERROR,
                row.place("Measure"),
                "One tolerance is filled in, the other is blank.",
                "Both, or neither where a measure is only checked here.",
                "Fill in the other; 0 if nothing is allowed that way.",
            )
        elif row["How"] == "angle" and row["Tolerance +"] is not None:
            yield Finding(
                "angle-with-tolerance",
                Severity.ERROR,
                row.place("Tolerance +"),
                "An angle is in degrees, and stands on no spec sheet: a tape measures lengths.",
                "Blank in both tolerances; a row on Limits holds the angle.",
                "Delete the tolerances.",
            )

    def check_mark(self, row: Row) -> Iterator[Finding]:
        if row["Piece"].casefold() not in self.pieces:
            return
        names = [name.strip() for name in row["Where"].split(",")]
        if row["Kind"] == "fold line" and len(names) != 2:
            yield _ends(row, "fold-line-ends", f"A fold line runs between two points; {len(names)} are given.")
            return
        if row["Kind"] == "placement line" and len(names) < 2:
            yield _ends(row, "placement-line-ends", "A placement line runs from point to point; one is given.")
            return
        for name in names:
            yield from self.look_up(row, "Where", name, "point of this piece", self.points[row["Piece"].casefold()])


def _stroke_in_name(row: Row) -> Finding:
    return Finding(
        "stroke-in-name",
        Severity.ERROR,
        row.place("Point"),
        f"The point is called {row['Point']}.",
        "A name that does not end in ': that is how the image of a mirrored point is told.",
        "Give the point another name.",
    )


def _ends(row: Row, code: str, found: str) -> Finding:
    expected = "Two points, separated by a comma."
    return Finding(code, Severity.ERROR, row.place("Where"), found, expected, "Name the two.")


def _nearest(name: str, names: Iterable[str]) -> str:
    return next(iter(get_close_matches(name.casefold(), list(names), 1)), "")


def _open_loops(block: Block) -> Iterator[Finding]:
    """Edges of a loop follow one another; a cut-out ends where it begins, a half at its mirror line."""
    places = {(point.piece, point.name): point for point in block.points}
    for piece in block.pieces:
        edges = [edge for edge in block.edges if edge.piece == piece.name]
        for loop in dict.fromkeys(edge.loop for edge in edges):
            own = [edge for edge in edges if edge.loop == loop]
            if any(not edge.points for edge in own):
                continue
            for before, after in pairwise(own):
                if before.points[-1] != after.points[0]:
                    yield _open(
                        after.place,
                        f"{after.name} begins at {after.points[0]}, {before.name} ends at {before.points[-1]}",
                        "Each edge begins where the one above it ends.",
                    )
            first, last = own[0].points[0], own[-1].points[-1]
            if piece.mirrored and loop == BOUNDARY:
                for edge, name in ((own[0], first), (own[-1], last)):
                    point = places.get((piece.name, name))
                    if point and point.x != 0:
                        yield _open(
                            edge.place,
                            f"The half outline of {piece.name} ends at {name}, at x = {point.x:g}",
                            "On the mirror line, x = 0, at both ends.",
                        )
            elif first != last:
                yield _open(
                    own[-1].place, f"The {loop} begins at {first} and ends at {last}", "It ends where it began."
                )


def _open(place: Place, found: str, expected: str) -> Finding:
    return Finding("loop-not-closed", Severity.ERROR, place, f"{found}.", expected, "Correct the points of the edges.")


def _coincident(block: Block) -> Iterator[Finding]:
    """No two points of a piece that follow one another lie in the same place."""
    places = {(point.piece, point.name): point for point in block.points}
    for edge in block.edges:
        found = [places.get((edge.piece, name)) for name in edge.points]
        for one, other in pairwise(found):
            if one and other and (one.x, one.y) == (other.x, other.y):
                yield Finding(
                    "points-coincide",
                    Severity.ERROR,
                    other.place,
                    f"{other.name} lies in the same place as {one.name}, next to it.",
                    "Points that follow one another lie apart.",
                    "Correct x and y of one of them, or take it out of the edge.",
                )
