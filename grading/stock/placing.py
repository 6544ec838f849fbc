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
from grading.stock.rooms import APART, Map, Rooms
from grading.stock.skins import Skin

__all__ = ["Spot", "Work", "placed"]

#: What an overlap weighs at first; by how much the deepest grows heavier in a round, and every one at least.
WEIGHT, HEAVIER, LEAST_HEAVIER = 16, 16, 3


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
    found = iter(crowd.spots[number] for number in range(len(spots)))
    return tuple(tuple(next(found) for _ in pair) for pair in pieces)


class _Ground:
    """Where pieces of one outline may lie on a skin, and how deep each of the others lies in the way there.

    Places some way ``APART`` are looked at first. How deep the pieces of a crowd lie in one at those is kept for each
    of them until it moves.
    """

    def __init__(self, outline: Outline, of_skin: Map, count: int) -> None:
        self.outline, self.column, self.row = outline, of_skin.column, of_skin.row
        self.off, self.off_apart = of_skin.cells, of_skin.apart(0, 0)
        self.depths = np.zeros((count, *self.off_apart.shape), np.int32)
        self.moved = [0] * count


class _Crowd:
    """Pieces on a skin by their numbers, how deep each two lie in one another, in mm, and what that weighs."""

    def __init__(self, pieces: Sequence[CutPiece], skin: Skin, rooms: Rooms, random: Random) -> None:
        self.pieces, self.skin, self.rooms = pieces, skin, rooms
        self.spots: list[Spot | None] = [None] * len(pieces)
        self.outlines: list[Outline | None] = [None] * len(pieces)
        self.moved = [0] * len(pieces)
        self.depths = np.zeros((len(pieces), len(pieces)), np.int32)
        self.weights = np.full(self.depths.shape, WEIGHT, np.int32)
        np.fill_diagonal(self.weights, 0)
        self.grounds: dict[Outline, _Ground] = {}
        # Of places that are equally good the one furthest to an end of the skin is taken, and there to a side: what
        # is free lies together then.
        self.end, self.side = (1 if random.random() < 0.5 else -1 for _ in range(2))

    def weigh(self) -> None:
        """Lets every overlap that there is weigh more, deep ones most."""
        self.weights += self.depths * HEAVIER // self.depths.max() + (self.depths > 0) * LEAST_HEAVIER

    def put(self, number: int, spot: Spot) -> None:
        """Lays a piece on a spot, whatever lies there."""
        outline = self.rooms.of(self.pieces[number], spot.angle)
        depths = {}
        for other, there in enumerate(self.spots):
            lying = self.outlines[other]
            if other != number and there is not None and lying is not None:
                beside = self.rooms.beside(lying, outline)
                depths[other] = beside.at(spot.column - there.column, spot.row - there.row)
        self._lay(number, spot, outline, depths)

    def _lay(self, number: int, spot: Spot, outline: Outline, depths: dict[int, int]) -> None:
        self.spots[number], self.outlines[number] = spot, outline
        self.moved[number] += 1
        self.depths[number] = self.depths[:, number] = 0
        for other, depth in depths.items():
            self.depths[number, other] = self.depths[other, number] = depth

    def move(self, number: int) -> bool:
        """Lays a piece on the best place that is found; False if the skin has none for it at all.

        Places some way apart are looked at first, and all those round the best of them then.
        """
        best: tuple[int, Spot, Outline, dict[int, int]] | None = None
        for angle in self.rooms.turns(self.skin, self.pieces[number]):
            outline = self.rooms.of(self.pieces[number], angle)
            ground = self._ground(outline)
            row, column = self._apart(number, ground)
            cost, row, column, depths = self._close(number, ground, row, column)
            if best is None or cost < best[0]:
                best = cost, Spot(column, row, angle), outline, depths
        if best is not None:
            self._lay(number, *best[1:])
        return best is not None

    def _ground(self, outline: Outline) -> _Ground:
        if outline not in self.grounds:
            self.grounds[outline] = _Ground(outline, self.rooms.on(self.skin, outline), len(self.pieces))
        return self.grounds[outline]

    def _apart(self, number: int, ground: _Ground) -> tuple[int, int]:
        """Row and column of the best of the places of the ground that lie some way apart."""
        rows, columns = ground.off_apart.shape
        for other, spot in enumerate(self.spots):
            if spot is None or ground.moved[other] == self.moved[other] or other == number:
                continue
            lying = self.outlines[other]
            assert lying is not None
            ground.moved[other] = self.moved[other]
            beside = self.rooms.beside(lying, ground.outline)
            x, y = spot.column + beside.column - ground.column, spot.row + beside.row - ground.row
            window = beside.apart(-y % APART, -x % APART)
            x, y = -(-x // APART), -(-y // APART)
            height, width = window.shape
            left, right, low, high = max(x, 0), min(x + width, columns), max(y, 0), min(y + height, rows)
            into = ground.depths[other]
            into[:] = 0
            if left < right and low < high:
                into[low:high, left:right] = window[low - y : high - y, left - x : right - x]
        costs = np.einsum("n,nyx->yx", self.weights[number], ground.depths)
        costs += ground.off_apart
        at = int(costs[:: self.end, :: self.side].argmin())
        row, column = divmod(at, columns)
        return (row if self.end > 0 else rows - 1 - row) * APART, (column if self.side > 0 else columns - 1 - column) * APART

    def _close(self, number: int, ground: _Ground, row: int, column: int) -> tuple[int, int, int, dict[int, int]]:
        """Cost, row and column (of the grid) of the best place round one, and how deep it lies in others there."""
        first_row, first_column = max(0, row - APART), max(0, column - APART)
        costs = ground.off[first_row : row + APART + 1, first_column : column + APART + 1].copy()
        rows, columns = costs.shape
        weights = self.weights[number].tolist()
        near = []
        for other, spot in enumerate(self.spots):
            if spot is None or other == number:
                continue
            lying = self.outlines[other]
            assert lying is not None
            beside = self.rooms.beside(lying, ground.outline)
            x = spot.column + beside.column - ground.column - first_column
            y = spot.row + beside.row - ground.row - first_row
            height, width = beside.cells.shape
            if x < columns and y < rows and x + width > 0 and y + height > 0:
                left, right, low, high = max(x, 0), min(x + width, columns), max(y, 0), min(y + height, rows)
                window = beside.cells[low - y : high - y, left - x : right - x]
                costs[low:high, left:right] += window * np.int32(weights[other])
                near.append((other, beside.cells, y, x))
        at = int(costs[:: self.end, :: self.side].argmin())
        row, column = divmod(at, columns)
        row = row if self.end > 0 else rows - 1 - row
        column = column if self.side > 0 else columns - 1 - column
        depths = {}
        for other, cells, y, x in near:
            height, width = cells.shape
            if 0 <= row - y < height and 0 <= column - x < width:
                depths[other] = int(cells[row - y, column - x])
        cost = int(costs[row, column])
        return cost, ground.row + first_row + row, ground.column + first_column + column, depths
