"""Checks that every name in a block means something, and spells each as it is spelled where it is declared."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise, product

from grading.codes import Code
from grading.findings import Finding, Findings, Place
from grading.measuring.taking import MIRROR_LINE
from grading.measuring.ways import WAYS, End
from grading.model.block import BOUNDARY, Block, Edge, Kind, Piece, Point, Side, drawn_by_half
from grading.model.mark_kinds import MARK_KINDS, Drawn
from grading.model.names import Names, UnknownNameError, name_key
from grading.sheets.block_sheets import (
    BASE_VALUES,
    BLOCK_SHEETS,
    EDGES,
    MARKS,
    MEASURES,
    MOVES,
    PIECES,
    POINTS,
    SEAM_TYPES,
    SEAMS,
)
from grading.sheets.columns import Cells, Column, Sheet
from grading.sheets.rows import Row

__all__ = ["check_loops", "settled"]

Rows = Mapping[str, tuple[Row, ...]]
#: The points of a block by their pieces and names.
Points = Mapping[tuple[str, str], Point]

#: Marks on a seam, and strokes of a mark, that still can be counted on an edge.
MOST_MARKS, MOST_STROKES = 40, 5
#: What may be blank where nothing is meant there, and nowhere else.
_WHERE_MEANT = ("end of a measure",)
#: What parts names in a text that has several of them, where that is not a comma.
_PARTED_BY = {"seam or mark": ";"}


def settled(rows: Rows) -> tuple[dict[str, tuple[Row, ...]], list[Finding]]:
    """The rows of a block's sheets with every name spelled as where it is declared, and a finding for each that means
    nothing.
    """
    known, findings = _Known(rows), Findings()
    spelled: dict[str, tuple[Row, ...]] = {}
    for sheet in BLOCK_SHEETS[1:]:
        naming = [column for column in sheet.columns if column.names]
        own: list[Row] = []
        for row in rows[sheet.name]:
            for column in naming:
                row = findings.gather(known.settle(row, column))
            own.append(row)
        spelled[sheet.name] = tuple(own)
    for sheet, check in (
        (POINTS, _check_point),
        (SEAMS, _check_seam),
        (MARKS, _check_mark),
        (MEASURES, _check_measure),
    ):
        for row in rows[sheet.name]:
            findings += check(row)
    return spelled, findings


def check_loops(block: Block) -> Iterator[Finding]:
    """What is wrong with the loops of a block and with what refers to them; names are settled before.

    Loops close, every piece has a boundary, no two neighbours lie in one place; sides of seams hang together, and
    what is measured along a loop, or marked on one, lies on it.
    """
    points = {(point.piece, point.name): point for point in block.points}
    edges: dict[tuple[str, str], list[Edge]] = {}
    for edge in block.edges:
        edges.setdefault((edge.piece, edge.loop), []).append(edge)
    for piece in block.pieces:
        if (piece.name, BOUNDARY) not in edges:
            yield Finding.error(
                Code.PIECE_WITHOUT_BOUNDARY,
                piece.place,
                f"The piece {piece.name} has no edge of its boundary.",
                "The edges of its outline on the sheet Edges, with the loop 'boundary'.",
                "Add them, or take the piece out.",
            )
        for (of, _), loop in edges.items():
            if of == piece.name and all(edge.points for edge in loop):
                yield from _open_loop(piece, loop, points)
    yield from _coincident(block, points)
    loops = _Loops(block, edges, points)
    for seam in block.seams:
        for side in seam.sides:
            yield from loops.check_side(seam.place, seam.name, side)
    for measure in block.measures:
        if WAYS[measure.how].on_one_loop and not loops.share_one(measure.piece, measure.start, measure.end):
            yield Finding.error(
                Code.MEASURE_LEAVES_ITS_LOOP,
                measure.place,
                f"{measure.name} runs along a sew line from {measure.start} to {measure.end}, which no one loop has.",
                "Two points of one outline or of one cut-out.",
                "Correct From or To, or measure 'straight'.",
            )
    for mark in block.marks:
        for name in (name.strip() for name in mark.where.split(",")):
            if MARK_KINDS[mark.kind].drawn.on_edge and not loops.share_one(mark.piece, name, name):
                yield Finding.error(
                    Code.MARK_OFF_ITS_EDGE,
                    mark.place,
                    f"The {mark.kind} {mark.name} is at {name}, which lies on no edge of {mark.piece}.",
                    "A point of the outline or of a cut-out: there is nothing to mark elsewhere.",
                    "Name another point, or put the point on an edge.",
                )


class _Loops:
    """Which points lie on one loop of a block, and which edges follow one another."""

    def __init__(self, block: Block, edges: Mapping[tuple[str, str], Sequence[Edge]], points: Points) -> None:
        pieces = {piece.name: piece for piece in block.pieces}
        on_line = {key for key, point in points.items() if point.x == 0}
        self._points: dict[tuple[str, str], set[str]] = {}
        self._ends: dict[tuple[str, str], tuple[str, set[str]]] = {}
        for (piece, loop), own in edges.items():
            has_image = drawn_by_half(pieces[piece], own)
            of_loop = self._points.setdefault((piece, loop), set())
            for edge, stroke in product(own, ("", "'") if has_image else ("",)):
                names = [name if (piece, name) in on_line else f"{name}{stroke}" for name in edge.points]
                of_loop.update(names)
                self._ends[piece, f"{edge.name}{stroke}"] = loop, {*names[:1], *names[-1:]}

    def share_one(self, piece: str, one: str, other: str) -> bool:
        """Whether some loop of the piece has both points."""
        return any({one, other} <= points for (of, _), points in self._points.items() if of == piece)

    def check_side(self, place: Place, seam: str, side: Side) -> Iterator[Finding]:
        for before, after in pairwise(side.edges):
            (loop, ends), (next_loop, next_ends) = (self._ends[side.piece, edge] for edge in (before, after))
            if before == after or loop != next_loop or not ends & next_ends:
                yield Finding.error(
                    Code.SIDE_IN_PIECES,
                    place,
                    f"On a side of the seam {seam}, {after} does not go on where {before} ends.",
                    "Edges of one loop, each once, in the order in which they are sewn.",
                    "Correct the edges of that side.",
                )


def _by_half(edges: Sequence[Row], row: Row) -> bool:
    """Whether the loop that an edge of a mirrored piece lies on is drawn by half: the boundary, or one left open."""
    loop = [edge for edge in edges if name_key(edge["Loop"]) == name_key(row["Loop"])]
    ends = [edge["Points in order"] for edge in (loop[0], loop[-1])]
    first, last = ([name_key(name) for name in names] for names in (ends[0][:1], ends[1][-1:]))
    return name_key(row["Loop"]) == BOUNDARY or first != last


class _Known:
    """The names that a block's sheets declare; those of points, edges and loops by the key of their piece."""

    def __init__(self, rows: Rows) -> None:
        def named(sheet: Sheet, of: Sequence[Row] | None = None) -> Names:
            return Names(row[sheet.placed] for row in (rows[sheet.name] if of is None else of))

        balances = [row for row in rows[BASE_VALUES.name] if row["Kind"] is Kind.BALANCE]
        self._all = {"value": named(BASE_VALUES), "balance value": named(BASE_VALUES, balances)}
        self._all |= {"piece": named(PIECES), "move": named(MOVES), "seam type": named(SEAM_TYPES)}
        self._all["seam or mark"] = Names([*named(SEAMS), *named(MARKS)])
        self._points: dict[str, Names] = {}
        self._edges: dict[str, Names] = {}
        self._loops: dict[str, Names] = {}
        for piece in rows[PIECES.name]:
            key = name_key(piece["Piece"])
            points, edges = (
                [row for row in rows[sheet.name] if name_key(row["Piece"]) == key] for sheet in (POINTS, EDGES)
            )
            outline = [row for row in edges if _by_half(edges, row)] if piece["Mirror line"] else []
            on_it = Names(name for row in outline for name in row["Points in order"])
            # What lies inside a mirrored piece, on no edge, is on both of its halves too.
            on_edges = Names(name for row in edges for name in row["Points in order"])
            names = [row["Point"] for row in points]
            imaged = [name for name in names if name in on_it or (piece["Mirror line"] and name not in on_edges)]
            self._points[key] = Names([*names, *(f"{name}'" for name in imaged)])
            self._edges[key] = Names([*(row["Edge"] for row in edges), *(f"{row['Edge']}'" for row in outline)])
            self._loops[key] = Names([BOUNDARY, *(row["Loop"] for row in edges)])

    def settle(self, row: Row, column: Column) -> tuple[Row, list[Finding]]:
        """The row with the names in one of its cells as declared, and a finding for each that means nothing."""
        cell, findings = row[column.name], []

        def spelled(name: str, what: str, names: Names) -> str:
            try:
                return names.settled(name)
            except UnknownNameError as unknown:
                findings.append(_means_nothing(row.place(column.name), unknown, what))
                return name

        if column.kind is Cells.SIDE:
            piece = spelled(cell.piece, "piece", self._all["piece"])
            if not findings:
                edges = self._edges[name_key(piece)]
                cell = Side(piece, tuple(spelled(edge, f"edge of {cell.piece}", edges) for edge in cell.edges))
        elif column.kind is Cells.EASE:
            if cell is not None and cell.allowance:
                cell = replace(cell, allowance=spelled(cell.allowance, "value", self._all["value"]))
        elif (meant := self._names_for(column, row)) and (cell or not column.optional or column.names in _WHERE_MEANT):
            if column.kind is Cells.NAMES:
                cell = tuple(spelled(name, *meant) for name in cell)
            elif column.kind is Cells.TEXT:
                sign = _PARTED_BY.get(column.names, ",")
                cell = f"{sign} ".join(spelled(name.strip(), *meant) for name in cell.strip(sign).split(sign))
            else:
                cell = spelled(cell, *meant)
        return replace(row, values={**row.values, column.name: cell}), findings

    def _names_for(self, column: Column, row: Row) -> tuple[str, Names] | None:
        """The kind of thing that a cell names, in words, and the names there are; None where it need not be checked."""
        if column.names in self._all:
            return column.names, self._all[column.names]
        piece = name_key(row["Piece"])
        if piece not in self._points:
            return None  # a piece that means nothing is told of already
        points, loops = ("point of this piece", self._points[piece]), self._loops[piece]
        if column.names == "point":
            return points
        if column.names == "loop":
            return "loop", loops
        way = WAYS[row["How"]]
        ends = {
            End.POINT: points[1],
            End.LOOP: loops,
            End.CUT_OUT: Names(set(loops) - {BOUNDARY}),
            End.CLEAR_OF: Names([BOUNDARY, MIRROR_LINE]),
        }
        end = way.start if column.names == "start of a measure" else way.end
        return (end.value, ends[end]) if end in ends else None


def _means_nothing(place: Place, unknown: UnknownNameError, what: str) -> Finding:
    return Finding.error(
        Code.UNKNOWN_SEAM_TYPE if what == "seam type" else Code(f"unknown-{what.split()[0]}"),
        place,
        f"'{unknown.name}' is no {what}.",
        f"Perhaps '{unknown.near}' is meant." if unknown.near else f"There is no {what} of a similar name.",
        "Correct the name here, or add it where it belongs.",
    )


def _check_point(row: Row) -> Iterator[Finding]:
    if row["Point"].endswith("'"):
        yield Finding.error(
            Code.STROKE_IN_NAME,
            row.place("Point"),
            f"The point is called {row['Point']}.",
            "A name that does not end in ': that is how the image of a mirrored point is told.",
            "Give the point another name.",
        )


def _check_seam(row: Row) -> Iterator[Finding]:
    for column, least, most in (("Strokes", 1, MOST_STROKES), ("Matching marks", 0, MOST_MARKS)):
        if not least <= row[column] <= most:
            yield Finding.error(
                Code.TOO_MANY_MARKS,
                row.place(column),
                f"{row[column]} is typed under {column}.",
                f"From {least} to {most}: more cannot be told apart on an edge.",
                "Correct the figure, or leave it blank.",
            )
    if not 0 <= row["Without ease"] < 1:
        yield Finding.error(
            Code.SHARE_OUT_OF_RANGE,
            row.place("Without ease"),
            f"{float(row['Without ease']):g} of side B is without ease.",
            "A share from 0 to less than 1: somewhere the ease has to go.",
            "Type 1/4 for the first quarter.",
        )


def _check_mark(row: Row) -> Iterator[Finding]:
    names = [name.strip() for name in row["Where"].split(",")]
    kind = MARK_KINDS[row["Kind"]]
    if kind.paired and (len(names) < kind.least or len(names) % 2):
        yield _ends(row, Code.SLIT_ENDS, f"A {row['Kind']} is cut between two points; {len(names)} are given.")
    elif kind.least <= len(names) <= (kind.most or len(names)):
        return
    elif kind.drawn is Drawn.FOLD_LINE:
        yield _ends(row, Code.FOLD_LINE_ENDS, f"A {row['Kind']} runs between two points; {len(names)} are given.")
    else:
        yield _ends(row, Code.PLACEMENT_LINE_ENDS, f"A {row['Kind']} runs from point to point; one is given.")


def _check_measure(row: Row) -> Iterator[Finding]:
    if (row["Tolerance −"] is None) != (row["Tolerance +"] is None):
        yield Finding.error(
            Code.HALF_A_TOLERANCE,
            row.place("Measure"),
            "One tolerance is filled in, the other is blank.",
            "Both, or neither where a measure is only checked here.",
            "Fill in the other; 0 if nothing is allowed that way.",
        )
    elif WAYS[row["How"]].degrees and row["Tolerance +"] is not None:
        yield Finding.error(
            Code.ANGLE_WITH_TOLERANCE,
            row.place("Tolerance +"),
            "An angle is in degrees, and stands on no spec sheet: a tape measures lengths.",
            "Blank in both tolerances; a row on Limits holds the angle.",
            "Delete the tolerances.",
        )


def _ends(row: Row, code: Code, found: str) -> Finding:
    expected = "Two points, separated by a comma."
    return Finding.error(code, row.place("Where"), found, expected, "Name the two.")


def _open_loop(piece: Piece, edges: Sequence[Edge], points: Points) -> Iterator[Finding]:
    """Edges of a loop follow one another; a cut-out ends where it begins, a half at its mirror line."""
    for before, after in pairwise(edges):
        if before.points[-1] != after.points[0]:
            found = f"{after.name} begins at {after.points[0]}, {before.name} ends at {before.points[-1]}"
            yield _open(after.place, found, "Each edge begins where the one above it ends.")
    loop, first, last = edges[0].loop, edges[0].points[0], edges[-1].points[-1]
    ends = [points.get((piece.name, name)) for name in (first, last)]
    if piece.mirrored and loop == BOUNDARY:
        for edge, point in zip((edges[0], edges[-1]), ends, strict=True):
            if point and point.x != 0:
                found = f"The half outline of {piece.name} ends at {point.name}, at x = {point.x:g}"
                yield _open(edge.place, found, "On the mirror line, x = 0, at both ends.")
    elif first != last and not (piece.mirrored and all(point and point.x == 0 for point in ends)):
        expected = "It ends where it began."
        if piece.mirrored:
            expected = "It ends where it began; or both lie on the mirror line, x = 0, and it is drawn by half."
        yield _open(edges[-1].place, f"The {loop} begins at {first} and ends at {last}", expected)


def _open(place: Place, found: str, expected: str) -> Finding:
    return Finding.error(Code.LOOP_NOT_CLOSED, place, f"{found}.", expected, "Correct the points of the edges.")


def _coincident(block: Block, points: Points) -> Iterator[Finding]:
    """No two points of a piece that follow one another lie in the same place."""
    for edge in block.edges:
        on_edge = [points.get((edge.piece, name)) for name in edge.points]
        for one, other in pairwise(on_edge):
            if one and other and (one.x, one.y) == (other.x, other.y):
                yield Finding.error(
                    Code.POINTS_COINCIDE,
                    other.place,
                    f"{other.name} lies in the same place as {one.name}, next to it.",
                    "Points that follow one another lie apart.",
                    "Correct x and y of one of them, or take it out of the edge.",
                )
