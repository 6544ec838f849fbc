"""Places given pieces on one skin: at first they may lie in one another, which costs more the longer it lasts.

This is a guided local search. A piece goes to where it lies in others the least, by the weighted depths at every
place of the skin; what overlaps nevertheless weighs more from then on, until pieces that were in each other's way
have found another arrangement.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
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
        """Lays a piece on the best place there is; False if the skin has none for it at all."""
        best: tuple[int, Spot] | None = None
        for angle in self.rooms.turns(self.skin, self.pieces[number]):
            costs = self._costs(number, angle)
            least = int(costs.cells.min())
            rows, columns = np.nonzero(costs.cells == least)
            row = int(rows[0 if self.end > 0 else -1])
            in_row = columns[rows == row]
            column = int(in_row[0 if self.side > 0 else -1])
            spot = Spot(costs.column + column, costs.row + row, angle)
            if best is None or least < best[0]:
                best = least, spot
        if best is not None:
            self.put(number, best[1])
        return best is not None

    def _costs(self, number: int, angle: float) -> Map:
        """What the weighted depths in other pieces come to at every place on the skin."""
        outline = self.rooms.of(self.pieces[number], angle)
        ground = self.rooms.on(self.skin, outline)
        costs = np.where(ground.cells, np.int32(0), np.int32(OFF))
        rows, columns = costs.shape
        for other, there in self.lying.items():
            if other != number:
                depths = self.rooms.beside(there.outline, outline)
                x, y = there.spot.column + depths.column - ground.column, there.spot.row + depths.row - ground.row
                height, width = depths.cells.shape
                left, right, low, high = max(x, 0), min(x + width, columns), max(y, 0), min(y + height, rows)
                if left < right and low < high:
                    window = depths.cells[low - y : high - y, left - x : right - x]
                    costs[low:high, left:right] += window * self.weights[number, other]
        return Map(ground.column, ground.row, costs)
