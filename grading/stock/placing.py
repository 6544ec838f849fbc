"""Places given pieces on one skin: at first they may lie in one another, which costs more the longer it lasts.

This is a guided local search. A piece goes to where it lies in others the least, by the weighted depths at every
place of the skin; what overlaps nevertheless weighs more from then on, until pieces that were in each other's way
have found another arrangement.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import itemgetter
from random import Random

import numpy as np

from grading.stock.outlines import Outline
from grading.stock.pieces import CutPiece
from grading.stock.rooms import Map, Rooms
from grading.stock.skins import Skin

__all__ = ["Spot", "Work", "placed"]

#: What an overlap weighs at first; by how much the deepest grows heavier in a round, and every one at least.
WEIGHT, HEAVIER, LEAST_HEAVIER = 16, 16, 3
#: The cost of a place off the skin: more than any overlap comes to.
OFF = 1 << 30
#: Of so many cells across and along, one is looked at first.
APART = 8


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a piece lies: the cell of the grid of its origin, and by how many degrees it is turned off the pile."""

    column: int
    row: int
    angle: float


@dataclass(slots=True)
class Work:
    """How many steps may still be done: in one, a piece is looked at beside one other at every place of a skin."""

    left: int


def placed(
    pieces: Sequence[Sequence[CutPiece]],
    start: Sequence[Sequence[Spot | None]],
    skin: Skin,
    rooms: Rooms,
    random: Random,
    moves: int,
    work: Work,
) -> tuple[tuple[Spot, ...], ...] | None:
    """A spot for every piece of every pair, none in another, or None if so many ``moves`` did not find any.

    ``start`` says where pieces lie at first; those without a spot are put in, larger ones before smaller ones.
    """
    crowd = _Crowd([piece for pair in pieces for piece in pair], skin, rooms, random)
    spots = [spot for pair in start for spot in pair]
    for number, spot in enumerate(spots):
        if spot is not None:
            crowd.put(number, spot)
    for number in sorted(range(len(spots)), key=lambda number: -crowd.pieces[number].area):
        if spots[number] is None:
            work.left -= len(spots)
            if not crowd.move(number):
                return None
    while crowd.depths.any():
        crowd.weigh()
        overlapping = np.flatnonzero(crowd.depths.any(axis=1)).tolist()
        for number in sorted(overlapping, key=lambda _: random.random()):
            if crowd.depths[number].any():
                if moves <= 0 or work.left <= 0:
                    return None
                moves -= 1
                work.left -= len(spots)
                crowd.move(number)
    found = iter(crowd.lying[number].spot for number in range(len(spots)))
    return tuple(tuple(next(found) for _ in pair) for pair in pieces)


@dataclass(frozen=True, slots=True)
class _Lying:
    outline: Outline
    spot: Spot


class _Crowd:
    """Pieces on a skin by their numbers, how deep each two lie in one another, in mm, and what that weighs."""

    def __init__(self, pieces: Sequence[CutPiece], skin: Skin, rooms: Rooms, random: Random) -> None:
        self.pieces, self.skin, self.rooms = pieces, skin, rooms
        self.lying: dict[int, _Lying] = {}
        self.depths = np.zeros((len(pieces), len(pieces)), np.int32)
        self.weights = np.full(self.depths.shape, WEIGHT, np.int32)
        # Of places that are equally good the one furthest to an end of the skin is taken, and there to a side: what
        # is free lies together then.
        self.end, self.side = (1 if random.random() < 0.5 else -1 for _ in range(2))

    def weigh(self) -> None:
        """Lets every overlap that there is weigh more, deep ones most."""
        self.weights += self.depths * HEAVIER // self.depths.max() + (self.depths > 0) * LEAST_HEAVIER

    def put(self, number: int, spot: Spot) -> None:
        """Lays a piece on a spot, whatever lies there."""
        outline = self.rooms.of(self.pieces[number], spot.angle)
        for other, there in self.lying.items():
            if other != number:
                beside = self.rooms.beside(there.outline, outline)
                depth = beside.at(spot.column - there.spot.column, spot.row - there.spot.row)
                self.depths[number, other] = self.depths[other, number] = depth
        self.lying[number] = _Lying(outline, spot)

    def move(self, number: int) -> bool:
        """Lays a piece on the best place that is found; False if the skin has none for it at all.

        Places some way apart are looked at first, and all those round the best of them then.
        """
        found: list[tuple[int, Spot]] = []
        for angle in self.rooms.turns(self.skin, self.pieces[number]):
            outline = self.rooms.of(self.pieces[number], angle)
            ground = self.rooms.on(self.skin, outline)
            rows, columns = (range(length) for length in ground.cells.shape)
            row, column, _ = self._best(number, outline, ground, rows[::APART], columns[::APART])
            rows, columns = _round(rows, row), _round(columns, column)
            row, column, cost = self._best(number, outline, ground, rows, columns)
            found.append((cost, Spot(ground.column + column, ground.row + row, angle)))
        if found:
            self.put(number, min(found, key=itemgetter(0))[1])
        return bool(found)

    def _best(self, number: int, outline: Outline, ground: Map, rows: range, columns: range) -> tuple[int, int, int]:
        """Row, column and cost of the best of some cells of the ground: the weighted depths in other pieces there."""
        there = ground.cells[rows.start : rows.stop : rows.step, columns.start : columns.stop : columns.step]
        costs = np.where(there, np.int32(0), np.int32(OFF))
        for other, lying in self.lying.items():
            if other == number:
                continue
            depths = self.rooms.beside(lying.outline, outline)
            row = lying.spot.row + depths.row - ground.row
            column = lying.spot.column + depths.column - ground.column
            height, width = depths.cells.shape
            upper, right = _common(rows, row, height), _common(columns, column, width)
            if upper and right:
                window = depths.cells[
                    upper[0] - row : upper[-1] - row + 1 : rows.step,
                    right[0] - column : right[-1] - column + 1 : columns.step,
                ]
                up, aside = rows.index(upper[0]), columns.index(right[0])
                costs[up : up + len(upper), aside : aside + len(right)] += window * self.weights[number, other]
        at = int(costs[:: self.end, :: self.side].argmin())
        up, aside = divmod(at, len(columns))
        return rows[:: self.end][up], columns[:: self.side][aside], int(costs.min())


def _round(cells: range, middle: int) -> range:
    """The cells around one of those that are looked at first."""
    return cells[max(0, middle - APART) : middle + APART + 1]


def _common(cells: range, first: int, count: int) -> range:
    """Those of the cells that are among so many from ``first`` on."""
    step = cells.step
    low = max(0, -((cells.start - first) // step))
    high = max(0, -((cells.start - first - count) // step))
    return cells[low:high]
