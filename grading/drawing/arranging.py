"""Which pieces share a grid of tiles, and how they lie in it, so that a pair takes as few sheets as possible."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations, product

from grading.drawing.marks import Drawing
from grading.drawing.pages import Titled
from grading.drawing.paper import LINE_ROOM, reach, tiles_along

__all__ = ["arranged", "in_one"]

#: What is left free between pieces on a sheet, mm.
BETWEEN = 5.0
#: How many pieces at most share one grid of tiles, and of how many at a time the best sharing is looked for.
MOST_TOGETHER, AT_A_TIME = 4, 8

Sides = tuple[float, float]


@dataclass(frozen=True)
class _Lay:
    """How some pieces lie: the lower left corner of each, whether it is turned, and how many tiles they take."""

    tiles: int
    corners: tuple[Sides, ...]
    turned: tuple[bool, ...]


def arranged(pieces: Sequence[Titled], tiles: Sequence[Sides]) -> list[Titled]:
    """The pieces on as few tiles as can be found, each group of pieces a drawing to be tiled on its own.

    ``tiles`` are the widths and heights (mm) that one sheet can show, upright and lying. Pieces keep to their
    outer boxes and may be turned by a right angle.
    """
    found = []
    for start in range(0, len(pieces), AT_A_TIME):
        batch = pieces[start : start + AT_A_TIME]
        sides = [(piece.drawing.box.width, piece.drawing.box.height) for piece in batch]
        for group in _fewest(sides, tuple(tiles)):
            found.append(_laid([batch[i] for i in group], _lay(tuple(sides[i] for i in group), tuple(tiles))))
    return found


def in_one(pieces: Sequence[Titled], widest: float) -> Titled:
    """All pieces in one drawing no wider than ``widest`` mm, if they go."""
    sides = tuple((piece.drawing.box.width, piece.drawing.box.height) for piece in pieces)
    as_they_are = (False,) * len(sides)
    return _laid(pieces, _Lay(1, _corners(sides, widest), as_they_are))


def _fewest(sides: Sequence[Sides], tiles: tuple[Sides, ...]) -> list[tuple[int, ...]]:
    """The groups of pieces that together take the fewest tiles; of as good ones those of the fewest pieces."""

    @cache
    def best(left: tuple[int, ...]) -> tuple[int, tuple[tuple[int, ...], ...]]:
        if not left:
            return 0, ()
        first, *others = left
        found = None
        for count in range(min(len(others), MOST_TOGETHER - 1) + 1):
            for more in combinations(others, count):
                group = (first, *more)
                rest, groups = best(tuple(i for i in others if i not in more))
                taken = rest + _lay(tuple(sides[i] for i in group), tiles).tiles
                if found is None or taken < found[0]:
                    found = taken, (group, *groups)
        assert found is not None
        return found

    return list(best(tuple(range(len(sides))))[1])


@cache
def _lay(sides: tuple[Sides, ...], tiles: tuple[Sides, ...]) -> _Lay:
    """The lay of some pieces that takes the fewest tiles, and of those the one that is least high."""
    return min(_lays(sides, tiles), key=lambda lay: lay[:2])[2]


def _lays(sides: tuple[Sides, ...], tiles: tuple[Sides, ...]) -> Iterator[tuple[int, float, _Lay]]:
    kinds = list(dict.fromkeys(sides))
    for turns in product((False, True), repeat=len(kinds)):
        turned = tuple(turns[kinds.index(one)] for one in sides)
        lying = tuple(one[::-1] if turn else one for one, turn in zip(sides, turned, strict=True))
        row = sum(width + BETWEEN for width, _ in lying) + 2 * LINE_ROOM
        for across, up in tiles:
            for columns in range(1, tiles_along(row, across) + 1):
                widest = reach(columns, across) - 2 * LINE_ROOM
                if max(width for width, _ in lying) > widest:
                    continue
                corners = _corners(lying, widest)
                high = max(y + height for (_, y), (_, height) in zip(corners, lying, strict=True))
                count = columns * tiles_along(high + 2 * LINE_ROOM, up)
                yield count, high, _Lay(count, corners, turned)


def _corners(sides: tuple[Sides, ...], widest: float) -> tuple[Sides, ...]:
    """Where each piece lies, in the order given: the largest first, each as low as it goes, and then to the left."""
    corners: dict[int, Sides] = {}
    for i in sorted(range(len(sides)), key=lambda i: (-sides[i][0] * sides[i][1], i)):
        width = sides[i][0]
        lefts = [0.0, *(x + sides[j][0] + BETWEEN for j, (x, _) in corners.items())]
        bottoms = [0.0, *(y + sides[j][1] + BETWEEN for j, (_, y) in corners.items())]
        corners[i] = next(
            (x, y)
            for y, x in product(sorted(bottoms), sorted(lefts))
            if (x == 0 or x + width <= widest)
            and not any(_meet((x, y), sides[i], corners[j], sides[j]) for j in corners)
        )
    return tuple(corners[i] for i in range(len(sides)))


def _meet(corner: Sides, sides: Sides, other: Sides, other_sides: Sides) -> bool:
    """Whether two pieces come nearer to one another than they should."""
    (x, y), (width, height), (other_x, other_y), (other_width, other_height) = corner, sides, other, other_sides
    return (
        x < other_x + other_width + BETWEEN
        and other_x < x + width + BETWEEN
        and y < other_y + other_height + BETWEEN
        and other_y < y + height + BETWEEN
    )


def _laid(pieces: Sequence[Titled], lay: _Lay) -> Titled:
    drawing, parts = Drawing(), []
    for piece, (x, y), turned in zip(pieces, lay.corners, lay.turned, strict=True):
        one = piece.drawing.turned() if turned else piece.drawing
        moved = one.moved(x - one.box.left, y - one.box.bottom)
        drawing += moved
        parts.append((piece.title, moved.box))
    return Titled(", ".join(piece.title for piece in pieces), drawing, tuple(parts))
