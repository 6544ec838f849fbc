"""A lay: a skin, and where on it the pieces of numbered pairs lie."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate

import shapely
from shapely import affinity

from grading.stock.pieces import CutPiece
from grading.stock.skins import Skin

__all__ = ["Laid", "Lay", "Pair", "least_skins"]


@dataclass(frozen=True, eq=False)
class Pair:
    """A numbered pair of mittens: the pieces, larger first, that are to come from one skin."""

    number: int
    group: str
    size: str
    pieces: tuple[CutPiece, ...]

    @property
    def kind(self) -> tuple[str, str]:
        """Pairs of the same kind have the same pieces."""
        return self.group, self.size

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
    """A skin and what is cut from it, the pieces of each pair together."""

    skin: Skin
    laid: tuple[Laid, ...]

    @cached_property
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
        return self.used / self.usable if self.usable else 0.0


def least_skins(lays: Sequence[Lay]) -> int:
    """With fewer of these skins no lay can do: so many of the largest have the area of the pieces."""
    used = sum(lay.used for lay in lays)
    usable = sorted((lay.usable for lay in lays), reverse=True)
    return 1 + sum(area < used for area in accumulate(usable))
