"""What a pair of each size costs: skin used and skin lost apart, work, the rest, and the margin at its price."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from grading.model.stock import SellingPrice, StockTable, Work, most_particular
from grading.stock.demand import Wanted
from grading.stock.lays import Lay

__all__ = ["SizeCosts", "SkinCosts", "size_costs", "skin_costs"]


@dataclass(frozen=True, slots=True)
class SkinCosts:
    """What the batch's skins cost, and their areas in mm²: whole, usable, and that of the pieces cut from them."""

    price: float
    whole: float
    usable: float
    pieces: float

    @property
    def used_rate(self) -> float:
        """The price of 1 mm² that is used: what a skin costs by its whole area."""
        return self.price / self.whole

    @property
    def lost_rate(self) -> float:
        """The price of what is lost (flaws, edges, and what lies between pieces) for 1 mm² that is used."""
        return self.price / self.pieces - self.used_rate


@dataclass(frozen=True, slots=True)
class SizeCosts:
    """The figures of one pair of a size, and how many there are."""

    group: str
    size: str
    pairs: int
    area: float
    used: float
    lost: float
    minutes: float
    work: float
    other: float
    price: float

    @property
    def cost(self) -> float:
        return self.used + self.lost + self.work + self.other

    @property
    def margin(self) -> float:
        return self.price - self.cost


def skin_costs(lays: Sequence[Lay]) -> SkinCosts:
    """The whole price of every skin that is cut into, the last one too."""
    return SkinCosts(
        price=sum(lay.skin.price for lay in lays),
        whole=sum(lay.skin.edge.area for lay in lays),
        usable=sum(lay.usable for lay in lays),
        pieces=sum(lay.used for lay in lays),
    )


def size_costs(
    table: StockTable, wanted: Sequence[Wanted], areas: Sequence[float], skins: SkinCosts
) -> tuple[SizeCosts, ...]:
    """The costs of each size wanted, a pair of which is cut from ``areas`` mm² of skin. A larger pair bears more."""
    return tuple(
        SizeCosts(
            group=row.group,
            size=row.size,
            pairs=row.pairs,
            area=area,
            used=area * skins.used_rate,
            lost=area * skins.lost_rate,
            minutes=work.minutes,
            work=work.pay,
            other=table.terms.other_costs,
            price=price.price,
        )
        for row, area in zip(wanted, areas, strict=True)
        for work in [most_particular(table.work, row.group, row.size) or Work("", "", 0.0, 0.0, None)]
        for price in [most_particular(table.selling, row.group, row.size) or SellingPrice("", "", 0.0)]
    )
