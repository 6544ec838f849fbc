"""Audit a block against itself and the table it is to be graded by: what the reader cannot see row by row."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
import shapely

from grading.audit.figures import in_unit
from grading.audit.mistaken import unit_beside
from grading.codes import Code
from grading.engine.shapes import Shape, shapes
from grading.findings import Finding, Place
from grading.geometry.arrays import Floats
from grading.geometry.beziers import evaluate
from grading.geometry.directions import turn_into
from grading.model.block import Block, Kind
from grading.model.names import Names, nearest
from grading.model.sizes import SizeTable

__all__ = ["BLOCK_RULES", "KINK_RULES", "audit_drivers", "missing_rows"]

#: Points a segment where a loop is drawn as chords to see whether it crosses itself.
STEPS = np.linspace(0, 1, 17)[:-1]
#: A body figure this many times smaller or larger than the block's is no other hand but another unit.
FEWEST, MOST = 0.4, 2.5
#: Two shares that differ by less are the same.
ALIKE = 1e-6
#: A bulge that grows in proportion to the hand comes to what its share makes of the hand, to within this, mm.
IN_PROPORTION = 1.5
DIRECTION = ("across", "up")
#: A curve point whose removal makes its loop turn this much less, in degrees, is a zigzag; so is one where the
#: chords turn by more than ``CORNER``. The standard mitten's own points stay well under either.
KINK, CORNER = 20.0, 100.0


def _drafted_with_nothing(block: Block) -> Iterator[Finding]:
    for value in block.values:
        if value.kind is Kind.BODY and value.drafted <= 0:
            yield Finding.error(
                Code.DRAFTED_WITH_NOTHING,
                value.place,
                f"The body value {value.name} was drafted with {value.drafted:g} mm.",
                "The measurement of the hand that the block was drawn for, above zero.",
                "Write that hand's figure under 'Drafted with'.",
            )


def _without_seam_type(block: Block) -> Iterator[Finding]:
    for edge in block.edges:
        if not edge.seam_type:
            yield Finding.error(
                Code.EDGE_WITHOUT_SEAM_TYPE,
                edge.place,
                f"The edge {edge.name} of {edge.piece} has no seam type.",
                "One of the Seam types sheet: it says which allowance the edge gets.",
                "Fill it in; 'raw edge' or the like for an edge that is not sewn.",
            )


def _of_a_batch(block: Block) -> Iterator[Finding]:
    """What is said of pay or of days on the sheet Work, where no card takes it from."""
    for one in block.work:
        if one.text and (one.of_pay or one.of_days):
            about = "pay" if one.of_pay else "a date"
            yield Finding.note(
                Code.SETTLED_BY_THE_BATCH,
                one.place,
                f"'{one.topic}' on the sheet Work is about {about}.",
                "Rates, piece rates and dates stand in stock.xlsx only, and tickets and slips take them from there.",
                "Delete the row: cards and spec sheets leave it out.",
                "batch terms",
            )


def missing_rows(block: Block, group: str, rows: Iterable[str], sheet: Place) -> Iterator[Finding]:
    """The body measurements of a block that a group's sheet has no row of."""
    known = Names(rows)
    for value in block.values:
        if value.kind is Kind.BODY and value.name not in known:
            meant = nearest(value.name, list(known))
            yield Finding.error(
                Code.MEASUREMENT_MISSING,
                replace(sheet, cell="", measure=value.name),
                f"Group {group} has no row '{value.name}', by which the block is graded"
                f"{f'; {meant} is perhaps meant' if meant else ''}.",
                f"A row of that name (the block was drafted with {value.drafted:g} mm).",
                "Add the row, or correct the spelling of the one that is meant.",
            )


def audit_drivers(block: Block, table: SizeTable) -> Iterator[Finding]:
    """Whether a table has what the block is driven by, in figures that can be of a hand."""
    yield from missing_rows(block, table.group, table.measurements, table.place(table.measurements[0]))
    for value in block.values:
        row = None if value.kind is Kind.BALANCE else table.row(value.name)
        if row is None:
            continue
        if value.kind is Kind.ALLOWANCE:
            if np.ptp(row) > 0:
                yield Finding.error(
                    Code.ALLOWANCE_VARIES,
                    table.place(value.name),
                    f"The allowance {value.name} runs from {row.min():g} to {row.max():g} mm over the sizes.",
                    "One figure for all sizes of a group: ease and fold-backs do not grow with the hand.",
                    "Write the same figure in every size.",
                )
            continue
        if value.drafted <= 0:
            continue  # audit_block says so
        unit = table.unit(value.name)
        for size in np.flatnonzero((row < FEWEST * value.drafted) | (row > MOST * value.drafted)):
            meant = unit_beside(row[size], value.drafted)
            cause = f": perhaps {meant}" if meant else ""
            yield Finding.error(
                Code.FIGURE_IN_ANOTHER_UNIT if cause else Code.FIGURE_OUT_OF_RANGE,
                table.place(value.name, table.sizes[size]),
                f"{value.name} is {in_unit(row[size], unit)}; the block was drafted with "
                f"{in_unit(value.drafted, unit)}.",
                f"Between {in_unit(FEWEST * value.drafted, unit)} and {in_unit(MOST * value.drafted, unit)}.",
                f"Check the figure and the row's unit{cause}.",
                cause=cause,
            )


def _crossing_loops(block: Block) -> Iterator[Finding]:
    for name, shape in shapes(block).items():
        for loop_name, loop in shape.loops.items():
            ring = evaluate(loop.beziers(shape.points[None])[0], STEPS).reshape(-1, 2)
            if not shapely.is_simple(shapely.linearrings(ring)):
                yield Finding.error(
                    Code.LOOP_CROSSES_ITSELF,
                    next(edge.place for edge in block.edges if (edge.piece, edge.loop) == (name, loop_name)),
                    f"The {loop_name} of {name} crosses itself as drafted.",
                    "A loop that goes round once.",
                    "Check the order of its edges' points, and their x and y.",
                )


def _points_left_behind(block: Block) -> Iterator[Finding]:
    """A point that stays while both its neighbours move dents the curve in every other size."""
    still = {(point.piece, point.name): point.place for point in block.points if not point.moves}
    for name, shape in shapes(block).items():
        moving = dict(zip(shape.names, np.abs(shape.rules).max(axis=(0, 2)) > 0, strict=True))
        for point, before, after in _with_neighbours(shape):
            if (name, point) in still and moving[before.removesuffix("'")] and moving[after.removesuffix("'")]:
                yield Finding.warning(
                    Code.POINT_WITHOUT_MOVE,
                    still[name, point],
                    f"The point {point} of {name} has no move, its neighbours {before} and {after} have.",
                    "A move: or it stays where it is while the piece grows round it.",
                    "Name its moves, or one with shares of zero if it is meant to stay.",
                )


def _moves_like_its_neighbours(block: Block) -> Iterator[Finding]:
    """Where a measurement moves both neighbours of a point by the same share, it moves the point by that share too."""
    body = [column for column, value in enumerate(block.values) if value.kind is Kind.BODY]
    drafted = np.array([block.values[column].drafted for column in body])
    places = {(point.piece, point.name): point.place for point in block.points}
    for name, shape in shapes(block).items():
        rows = {point: row for row, point in enumerate(shape.names)}
        for point, before, after in _with_neighbours(shape):
            if not rows.keys() >= {before, point, after}:
                continue  # the image of a mirrored point moves as that does
            beside = [rows[before], rows[after]]
            if not shape.rules[:, [rows[point], *beside]].any(axis=(0, 2)).all():
                continue  # one that stays is told elsewhere
            around, own = shape.rules[body][:, beside], shape.rules[body][:, rows[point]]
            alone = (np.abs(around[:, 0] - around[:, 1]) < ALIKE) & (np.abs(own - around[:, 0]) > ALIKE)
            bulge = shape.points[rows[point]] - shape.points[beside].mean(axis=0)
            alone &= np.abs((own - around[:, 0]) * drafted[:, None] - bulge) > IN_PROPORTION
            if not alone.any():
                continue
            column, axis = np.argwhere(alone)[0]
            yield Finding.warning(
                Code.MOVES_UNLIKE_ITS_NEIGHBOURS,
                places[name, point],
                f"{point} of {name} moves {own[column, axis]:g} {DIRECTION[axis]} for each 1 of "
                f"{block.values[body[column]].name}.",
                f"{around[column, 0, axis]:g}, as its neighbours {before} and {after} do: or the outline is dented "
                "in every other size.",
                "Check the moves that it names, and their shares; leave it if the dent is meant.",
            )


def _with_neighbours(shape: Shape) -> Iterator[tuple[str, str, str]]:
    """Every point of every loop with the point before it and the one after it."""
    for loop in shape.loops.values():
        yield from zip(loop.names, (loop.names[-1], *loop.names), (*loop.names[1:], loop.names[0]), strict=False)


def _kinks(block: Block) -> Iterator[Finding]:
    """Curve points that their neighbours contradict: most likely misread by a square."""
    places = {(point.piece, point.name): point.place for point in block.points}
    for piece, shape in shapes(block).items():
        for loop in shape.loops.values():
            corners = loop.beziers(shape.points[None])[0, :, 0]
            turns = _turning(corners)
            for i, name in enumerate(loop.names):
                if loop.turns[i] or (piece, name) not in places:
                    continue
                calmer = turns.sum() - _turning(np.delete(corners, i, axis=0)).sum()
                beside_corner = loop.turns[i - 1] or loop.turns[(i + 1) % len(loop.turns)]
                if (calmer > KINK and not beside_corner) or turns[i] > CORNER:
                    yield Finding.warning(
                        Code.CURVE_KINKED,
                        places[piece, name],
                        f"The curve has a kink at {name} of the {piece}.",
                        "A curve point lies on a smooth line with its neighbours.",
                        "Read its x and y again; if it is a corner, its kind is turn.",
                    )


def _turning(corners: Floats) -> Floats:
    """How far a closed polygon (n, 2) turns at each corner, in degrees, either way."""
    arriving, leaving = corners - np.roll(corners, 1, axis=0), np.roll(corners, -1, axis=0) - corners
    return np.abs(np.degrees(turn_into(arriving, leaving)))


#: The rules for the drawing of a block, in the order in which their findings are told.
BLOCK_RULES = (
    _crossing_loops,
    _points_left_behind,
    _moves_like_its_neighbours,
    _drafted_with_nothing,
    _without_seam_type,
    _of_a_batch,
)
#: The rules for its curves.
KINK_RULES = (_kinks,)
