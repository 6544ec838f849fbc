"""Skins as areas to lay pieces on: the shape of each, its flaws, and what it costs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import count
from math import inf

import numpy as np
import shapely
from shapely import affinity

from grading.model.stock import SkinKind

__all__ = ["Skin", "best_for_its_price", "best_to_buy", "bought", "on_hand"]

Polygon = Sequence[tuple[float, float]]

#: How far the corners of a stock shape are rounded off, as a part of its shorter side.
ROUNDED = 0.2


@dataclass(frozen=True, eq=False)
class Skin:
    """One skin: its kind, which of the kind it is, and whether it has yet to be bought."""

    kind: SkinKind
    number: int
    to_buy: bool

    @property
    def name(self) -> str:
        return self.kind.name if self.kind.count == 1 and not self.to_buy else f"{self.kind.name} {self.number}"

    @property
    def edge(self) -> shapely.Polygon:
        """The whole skin's outline in mm."""
        return _edge(self.kind)

    @property
    def flaws(self) -> tuple[shapely.Polygon, ...]:
        return tuple(shapely.Polygon(flaw) for flaw in self.kind.flaws)

    @cached_property
    def usable(self) -> shapely.Geometry:
        """What pieces may be cut from, in mm."""
        return _usable(self.kind)

    @cached_property
    def for_mock_ups(self) -> shapely.Geometry:
        """What the pieces of a mock-up may be cut from, in mm: good and poor parts."""
        return _without(self.kind, self.kind.flaws) if self.kind.outline else self.usable

    @cached_property
    def unseen(self) -> shapely.Geometry:
        """What those parts of a piece may be cut from of which the leather's face does not show, in mm."""
        return _without(self.kind, (*self.kind.flaws, *self.kind.poor)) if self.kind.scratched else self.usable

    @property
    def price(self) -> float:
        return price_of(self.kind)


def price_of(kind: SkinKind) -> float:
    """What one skin of a kind costs: its price, or that of its whole area."""
    return kind.price if kind.priced_area is None else kind.price * _edge(kind).area / kind.priced_area


def on_hand(kinds: tuple[SkinKind, ...]) -> Iterator[Skin]:
    """Every skin that is there, in the table's order."""
    for kind in kinds:
        for number in range(1, kind.count + 1):
            yield Skin(kind, number, to_buy=False)


def bought(kind: SkinKind) -> Iterator[Skin]:
    """Further skins of a kind, without end, numbered on from those on hand."""
    for number in count(kind.count + 1):
        yield Skin(kind, number, to_buy=True)


def best_to_buy(kinds: Iterable[SkinKind]) -> SkinKind | None:
    """The kind that can be bought with the lowest price for its usable area; None if there is none."""
    sold = [kind for kind in kinds if kind.buy_more]
    return best_for_its_price(sold) if sold else None


def best_for_its_price(kinds: Iterable[SkinKind]) -> SkinKind:
    """The kind with the lowest price for its usable area. Raises ValueError if there are no kinds."""
    return min(kinds, key=_price_of_usable)


def _price_of_usable(kind: SkinKind) -> float:
    """The price of 1 mm² that can be used, without end where there is none."""
    area = float(_usable(kind).area)
    return price_of(kind) / area if area else inf


def _edge(kind: SkinKind) -> shapely.Polygon:
    if kind.outline:
        return shapely.Polygon(kind.outline)
    radius = ROUNDED * min(kind.width, kind.length)
    shape = shapely.box(radius, radius, kind.width - radius, kind.length - radius).buffer(radius)
    if kind.area is None:
        return shape
    factor = float(np.sqrt(kind.area / (1 - kind.lost) / shape.area))
    return affinity.scale(shape, factor, factor, origin=(0, 0))


def _usable(kind: SkinKind) -> shapely.Geometry:
    """Without its flaws where they are drawn; else made smaller all round by what is lost."""
    if kind.outline:
        return _without(kind, (*kind.flaws, *kind.poor, *kind.scratched))
    factor = float(np.sqrt(1 - kind.lost))
    return affinity.scale(_edge(kind), factor, factor, origin="center").difference(_united(kind.taken))


def _without(kind: SkinKind, flaws: Iterable[Polygon]) -> shapely.Geometry:
    return _edge(kind).difference(_united((*flaws, *kind.taken)))


def _united(polygons: Iterable[Polygon]) -> shapely.Geometry:
    return shapely.union_all([shapely.Polygon(one) for one in polygons])
