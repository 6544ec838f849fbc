"""Places given pieces on one skin: at first they may lie in one another, which costs more the longer it lasts.

This is a guided local search. A piece goes to where it lies in others the least, by the weighted depths at every
place of the skin; what overlaps nevertheless weighs more from then on, until pieces that were in each other's way
have found another arrangement.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import count
from operator import itemgetter
from random import Random

import numpy as np
from numpy.typing import NDArray

from grading.stock.footprints import Footprint
from grading.stock.pieces import CutPiece
from grading.stock.rooms import APART, OFF, Map, Rooms
from grading.stock.skins import Skin

__all__ = ["Effort", "Spot", "placed"]

#: What an overlap weighs at first; by how much the deepest grows heavier in a round, and every one at least.
WEIGHT, HEAVIER, LEAST_HEAVIER = 16, 16, 3
#: So many depths are kept at most for an footprint on a skin; each takes four bytes.
MOST_KEPT = 2_000_000


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a piece lies: the cell of the grid of its origin, and by how many degrees it is turned off the pile."""

    column: int
    row: int
    angle: float


@dataclass(slots=True)
class Effort:
    """How many steps were done: in one, a piece is looked at beside one other at every place of a skin."""

    done: int = 0


def placed(
    pieces: Sequence[CutPiece],
    start: Sequence[Spot | None],
    skin: Skin,
    rooms: Rooms,
    random: Random,
    moves: int,
    effort: Effort,
) -> tuple[Spot, ...] | None:
    """A spot for every piece, none in another, or None if so many ``moves`` did not find any.

    ``start`` says where each lies at first; those without a spot are put in, larger ones before smaller ones.
    """
    crowd = _Crowd(pieces, skin, rooms, random)
    for number, spot in enumerate(start):
        if spot is not None:
            crowd.put(number, spot)
    for number in sorted(range(len(pieces)), key=lambda number: -pieces[number].area):
        if start[number] is None:
            effort.done += len(pieces)
            if not crowd.move(number):
                return None
    while crowd.depths.any():
        crowd.weigh()
        overlapping = np.flatnonzero(crowd.depths.any(axis=1)).tolist()
        for number in sorted(overlapping, key=lambda _: random.random()):
            if crowd.depths[number].any():
                if moves <= 0:
                    return None
                moves -= 1
                effort.done += len(pieces)
                crowd.move(number)
    return tuple(crowd.lying[number].spot for number in range(len(pieces)))


@dataclass(frozen=True, slots=True)
class _Lying:
    spot: Spot
    footprint: Footprint
    move: int


class _Ground:
    """Where pieces of one footprint may lie on a skin, and what it costs at places some way apart.

    How deep they would lie there in each piece of a crowd is kept until that one moves, if it does not take too much
    memory: on a long strip with hundreds of pieces it would.
    """

    def __init__(self, footprint: Footprint, of_skin: Map, count: int) -> None:
        self.footprint, self.column, self.row = footprint, of_skin.column, of_skin.row
        self.off, self.off_apart = of_skin.cells, of_skin.apart(0, 0)
        kept = count if count * self.off_apart.size <= MOST_KEPT else 0
        self._depths = np.zeros((kept, *self.off_apart.shape), np.int32)
        self._moves = [0] * kept

    def costs(self, weights: NDArray[np.int32], crowd: Iterable[tuple[int, _Lying, Map]]) -> NDArray[np.int32]:
        """What the places some way apart cost beside each piece: its number, where it lies, and its map."""
        costs = self.off_apart.copy()
        for number, lying, beside in crowd:
            if not self._moves:
                part, depths = self._part(lying, beside)
                costs[part] += depths * weights[number]
            elif self._moves[number] != lying.move:
                self._moves[number] = lying.move
                part, depths = self._part(lying, beside)
                self._depths[number] = 0
                self._depths[number][part] = depths
        if self._moves:
            costs += np.einsum("n,nyx->yx", weights, self._depths)
        return costs

    def _part(self, lying: _Lying, beside: Map) -> tuple[tuple[slice, slice], NDArray[np.uint8]]:
        """The rows and columns, of those apart, in which a piece lies in the way, and how deep it does."""
        x, y = lying.spot.column + beside.column - self.column, lying.spot.row + beside.row - self.row
        depths = beside.apart(-y % APART, -x % APART)
        x, y = -(-x // APART), -(-y // APART)
        height, width = depths.shape
        rows, columns = self.off_apart.shape
        part = slice(max(y, 0), max(y + height, 0)), slice(max(x, 0), max(x + width, 0))
        return part, depths[max(-y, 0) : max(rows - y, 0), max(-x, 0) : max(columns - x, 0)]


class _Crowd:
    """Pieces on a skin by their numbers, how deep each two lie in one another, in mm, and what that weighs."""

    def __init__(self, pieces: Sequence[CutPiece], skin: Skin, rooms: Rooms, random: Random) -> None:
        self.pieces, self.skin, self.rooms = pieces, skin, rooms
        self.lying: dict[int, _Lying] = {}
        self.depths = np.zeros((len(pieces), len(pieces)), np.int32)
        self.weights = np.full(self.depths.shape, WEIGHT, np.int32)
        np.fill_diagonal(self.weights, 0)
        self._moves = count(1)
        self._grounds: dict[Footprint, _Ground] = {}
        # Of places that are equally good the one furthest to an end of the skin is taken, and there to a side: what
        # is free lies together then.
        self._end, self._side = (1 if random.random() < 0.5 else -1 for _ in range(2))

    def weigh(self) -> None:
        """Lets every overlap that there is weigh more, deep ones most."""
        self.weights += self.depths * HEAVIER // self.depths.max() + (self.depths > 0) * LEAST_HEAVIER

    def put(self, number: int, spot: Spot) -> None:
        """Lays a piece on a spot, whatever lies there."""
        footprint = self.rooms.of(self.pieces[number], spot.angle)
        self.depths[number] = self.depths[:, number] = 0
        for other, lying in self.lying.items():
            if other != number:
                beside = self.rooms.beside(lying.footprint, footprint)
                depth = beside.at(spot.column - lying.spot.column, spot.row - lying.spot.row)
                if depth:
                    self.depths[number, other] = self.depths[other, number] = depth
        self.lying[number] = _Lying(spot, footprint, next(self._moves))

    def move(self, number: int) -> bool:
        """Lays a piece on the best place that is found; False if the skin has none for it at all.

        Places some way apart are looked at first, and all those round the best of them then.
        """
        spots: list[tuple[int, Spot]] = []
        for angle in self.rooms.turns(self.skin, self.pieces[number]):
            footprint = self.rooms.of(self.pieces[number], angle)
            if footprint not in self._grounds:
                on_skin = self.rooms.on(self.skin, footprint)
                self._grounds[footprint] = _Ground(footprint, on_skin, len(self.pieces))
            ground = self._grounds[footprint]
            cost, row, column = self._best_near(number, ground, *self._best_apart(number, ground))
            spots.append((cost, Spot(ground.column + column, ground.row + row, angle)))
        if spots:
            self.put(number, min(spots, key=itemgetter(0))[1])
        return bool(spots)

    def _best_apart(self, number: int, ground: _Ground) -> tuple[int, int]:
        """Row and column of the ground of the best of its places that lie some way apart."""
        crowd = (
            (other, lying, self.rooms.beside(lying.footprint, ground.footprint))
            for other, lying in self.lying.items()
            if other != number
        )
        costs = ground.costs(self.weights[number], crowd)
        cost, row, column = self._best(costs)
        return (row * APART, column * APART) if cost < OFF else self._best(ground.off)[1:]

    def _best_near(self, number: int, ground: _Ground, row: int, column: int) -> tuple[int, int, int]:
        """The cost, and row and column of the ground, of the best place round one."""
        top, left = max(0, row - APART), max(0, column - APART)
        costs = ground.off[top : row + APART + 1, left : column + APART + 1].copy()
        rows, columns = costs.shape
        weights = self.weights[number].tolist()
        for other, lying in self.lying.items():
            if other == number:
                continue
            beside = self.rooms.beside(lying.footprint, ground.footprint)
            height, width = beside.cells.shape
            x = lying.spot.column + beside.column - ground.column - left
            y = lying.spot.row + beside.row - ground.row - top
            if -width < x < columns and -height < y < rows:
                window = beside.cells[max(-y, 0) : rows - y, max(-x, 0) : columns - x]
                costs[max(y, 0) : y + height, max(x, 0) : x + width] += window * np.int32(weights[other])
        cost, row, column = self._best(costs)
        return cost, top + row, left + column

    def _best(self, costs: NDArray[np.int32]) -> tuple[int, int, int]:
        """The lowest cost, and its row and column."""
        rows, columns = costs.shape
        row, column = divmod(int(costs[:: self._end, :: self._side].argmin()), columns)
        row = row if self._end > 0 else rows - 1 - row
        column = column if self._side > 0 else columns - 1 - column
        return int(costs[row, column]), row, column
