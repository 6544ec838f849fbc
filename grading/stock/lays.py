"""Lays the pieces of pairs on skins: each pair on one skin, larger pieces first, the pile kept, flaws avoided.

Where a piece may lie is computed as an area of places: the skin, less what its edge and flaws forbid, less what
the pieces forbid that lie there already. Each of those is a Minkowski sum of convex outlines (the 'no-fit polygon'
of the cutting literature), so that pieces never overlap, whatever the search then does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely
from shapely import affinity

from grading.geometry.arrays import Floats
from grading.stock.pieces import CutPiece
from grading.stock.skins import Skin

__all__ = ["Laid", "Lay", "Pair", "lays"]

#: How far in mm a simplified outline may lie outside the one it stands for; it never lies inside.
SLACK = 0.25
#: How many ways of filling each skin are tried; the one that uses most of it is kept.
TRIES = 6
#: Pieces at least this part of a pair's largest are laid first, pair by pair; the smaller ones of all pairs then.
LARGE = 0.5


@dataclass(frozen=True, eq=False)
class Pair:
    """A numbered pair of mittens: the pieces, larger first, that are to come from one skin."""

    number: int
    group: str
    size: str
    pieces: tuple[CutPiece, ...]

    @cached_property
    def area(self) -> float:
        return sum(piece.area for piece in self.pieces)


@dataclass(frozen=True, eq=False)
class Laid:
    """A piece in its place: turned by ``angle`` degrees off the pile about its origin, then moved to (x, y) mm."""

    pair: Pair
    piece: CutPiece
    x: float
    y: float
    angle: float

    @cached_property
    def outline(self) -> shapely.Polygon:
        """The piece where it lies, its holes too."""
        turned = affinity.rotate(self.piece.polygon, self.angle, origin=(0, 0))
        return affinity.translate(turned, self.x, self.y)


@dataclass(frozen=True, eq=False)
class Lay:
    """A skin and what is cut from it."""

    skin: Skin
    laid: tuple[Laid, ...]

    @property
    def pairs(self) -> tuple[Pair, ...]:
        return tuple(dict.fromkeys(laid.pair for laid in self.laid))

    @cached_property
    def used(self) -> float:
        """The area of the pieces, mm²."""
        return sum(laid.piece.area for laid in self.laid)

    @cached_property
    def usable(self) -> float:
        return float(self.skin.usable.area)

    @property
    def share(self) -> float:
        """The part of the usable area that is used."""
        return self.used / self.usable


def lays(pairs: Sequence[Pair], skins: Iterable[Skin], *, gap: float, pile_within: float, seed: int) -> Iterator[Lay]:
    """One lay after another until every pair has its place, skins run out, or one to be bought takes no pair.

    ``gap`` is left between pieces, half of it to the skin's edge and to flaws, mm; ``pile_within`` is how many
    degrees a piece may be turned. The same pairs, skins and seed give the same lays. A skin on hand that takes no
    pair is passed over.
    """
    shapes = _Shapes(gap)
    random = np.random.default_rng(seed)
    left = sorted(pairs, key=lambda pair: -pair.area)
    for skin in skins:
        if not left:
            return
        filled = max((_filled(skin, left, way, shapes) for way in _ways(random, pile_within)), key=lambda lay: lay.used)
        if not filled.laid:
            if skin.to_buy:
                return
            continue
        gone = set(filled.pairs)
        left = [pair for pair in left if pair not in gone]
        yield filled


# Outlines


@dataclass(frozen=True, eq=False)
class _Shape:
    """A convex outline (m, 2) that holds a piece and half the gap round it, about the piece's own origin.

    ``inner`` is a point of it: where the places of the piece are counted from.
    """

    outline: Floats
    inner: Floats


@dataclass(eq=False)
class _Shapes:
    """Every outline met so far, equal ones once, and the areas that they keep from each other and from skins."""

    gap: float
    _of: dict[tuple[int, float], _Shape] = field(default_factory=dict)
    _alike: dict[bytes, _Shape] = field(default_factory=dict)
    _apart: dict[tuple[_Shape, _Shape], shapely.Polygon] = field(default_factory=dict)
    _within: dict[tuple[int, _Shape], shapely.Geometry] = field(default_factory=dict)

    def of(self, piece: CutPiece, angle: float) -> _Shape:
        key = (id(piece), angle)
        if key not in self._of:
            hull = shapely.convex_hull(shapely.Polygon(piece.outline))
            grown = affinity.rotate(hull, angle, origin=(0, 0)).buffer(self.gap / 2 + SLACK).simplify(SLACK)
            outline = shapely.get_coordinates(grown)[:-1]
            # Left and right of a piece with a mirror line are the same shape, wherever their outlines begin.
            alike = np.unique(outline.round(3) + 0.0, axis=0).tobytes()
            self._of[key] = self._alike.setdefault(alike, _Shape(outline, outline.mean(axis=0)))
        return self._of[key]

    def apart(self, placed: _Shape, new: _Shape) -> shapely.Polygon:
        """Where ``new`` may not be, seen from ``placed``: the sum of that outline and the other one reversed."""
        key = (placed, new)
        if key not in self._apart:
            sums = placed.outline[:, None] - new.outline[None]
            self._apart[key] = shapely.convex_hull(shapely.linestrings(sums.reshape(-1, 2)))
        return self._apart[key]

    def within(self, skin: Skin, new: _Shape) -> shapely.Geometry:
        """Where ``new`` may be on a bare skin: its inner point inside, and no part of it over an edge."""
        key = (id(skin.kind), new)
        if key not in self._within:
            rings = [ring for part in shapely.get_parts(skin.usable) for ring in (part.exterior, *part.interiors)]
            edges = np.concatenate([_edges(ring) for ring in rings])
            over = (edges[:, :, None] - new.outline).reshape(len(edges), -1, 2)
            forbidden = shapely.union_all(shapely.convex_hull(shapely.linestrings(over)))
            inside = affinity.translate(skin.usable, *(-new.inner))
            self._within[key] = inside.difference(forbidden)
        return self._within[key]


def _edges(ring: shapely.LinearRing) -> Floats:
    """The straight edges (n, 2, 2) of a ring."""
    return np.array(list(pairwise(shapely.get_coordinates(ring))))


# Filling one skin


@dataclass(frozen=True, slots=True)
class _Way:
    """One way of filling: which way pieces are pushed, large and small ones, and the turns tried in order."""

    large: tuple[float, float]
    small: tuple[float, float]
    turns: tuple[float, ...]


#: A push to one side that settles between places that are equal in the other.
_ASIDE = 1e-3
_PUSHES = tuple(
    push for along in (1.0, -1.0) for aside in (_ASIDE, -_ASIDE) for push in ((aside, along), (along, aside))
)


def _ways(random: np.random.Generator, pile_within: float) -> Iterator[_Way]:
    for _ in range(TRIES):
        large, small = (_PUSHES[number] for number in random.integers(len(_PUSHES), size=2))
        turns = (0.0,) if pile_within == 0 else (0.0, *(random.permutation([-1, 1]) * pile_within).tolist())
        yield _Way(large, small, turns)


@dataclass(frozen=True, slots=True)
class _Placed:
    pair: Pair
    piece: CutPiece
    shape: _Shape
    x: float
    y: float
    angle: float


def _filled(skin: Skin, pairs: Sequence[Pair], way: _Way, shapes: _Shapes) -> Lay:
    """The skin with the largest pairs that still find room, tried from the largest down.

    The large pieces of a pair stay where they are put; the small ones of all pairs are laid anew with each.
    """
    room = float(skin.usable.area)
    large: list[_Placed] = []
    small: list[_Placed] = []
    taken: list[Pair] = []
    failed: set[tuple[str, str]] = set()
    for pair in pairs:
        if (pair.group, pair.size) in failed:
            continue
        with_large = _placed(skin, _pieces([pair], large=True), large, way.large, way.turns, shapes)
        with_all = None
        if with_large is not None and pair.area <= room:
            with_all = _placed(skin, _pieces([*taken, pair], large=False), with_large, way.small, way.turns, shapes)
        if with_large is None or with_all is None:
            failed.add((pair.group, pair.size))
            continue
        large, small = with_large, with_all[len(with_large) :]
        taken.append(pair)
        room -= pair.area
    return Lay(skin, tuple(Laid(one.pair, one.piece, one.x, one.y, one.angle) for one in (*large, *small)))


def _pieces(pairs: Sequence[Pair], *, large: bool) -> list[tuple[Pair, CutPiece]]:
    """The large or the small pieces of pairs."""
    return [
        (pair, piece) for pair in pairs for piece in pair.pieces if (piece.area >= LARGE * pair.pieces[0].area) == large
    ]


def _placed(
    skin: Skin,
    pieces: Iterable[tuple[Pair, CutPiece]],
    placed: Sequence[_Placed],
    push: tuple[float, float],
    turns: Sequence[float],
    shapes: _Shapes,
) -> list[_Placed] | None:
    """Those that lie there and all of the pieces besides, or None if one of them finds no room."""
    result = list(placed)
    for pair, piece in pieces:
        for angle in turns:
            shape = shapes.of(piece, angle)
            taken = [affinity.translate(shapes.apart(other.shape, shape), other.x, other.y) for other in result]
            places = shapes.within(skin, shape).difference(shapely.union_all(taken))
            if not places.is_empty:
                corners = shapely.get_coordinates(places)
                x, y = corners[np.argmin(corners @ push)].tolist()
                result.append(_Placed(pair, piece, shape, x, y, angle))
                break
        else:
            return None
    return result
