"""What a batch is planned from: customers, skins, work, outworkers and prices, as plain values in mm and mm²."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain
from typing import Any, NamedTuple, TypeVar

from grading.findings import Place
from grading.model.names import Names
from grading.units import rounded

__all__ = [
    "CORRELATION",
    "GIRTH_SPREAD",
    "HANDS_COUNT",
    "LENGTH_SPREAD",
    "MOCK_UP",
    "NOTHING",
    "PER_SKIN",
    "ROOM_TO_MOVE",
    "TURNED_PARTS",
    "Corner",
    "Customers",
    "Outline",
    "Outworker",
    "SellingPrice",
    "SkinKind",
    "Sold",
    "StockTable",
    "Terms",
    "Work",
    "most_particular",
]


#: How hands spread where nobody says: standard deviations in mm, and the correlation. Plausible, from memory.
GIRTH_SPREAD, LENGTH_SPREAD, CORRELATION = 10.0, 9.0, 0.5
#: As many pairs sold, or asked for in vain, weigh as much as the hands do where nobody says otherwise: about what a
#: small stall sells of a group. Ours.
HANDS_COUNT = 20
#: What is left round a fist to move in where nobody says otherwise, mm: with less it does not close. Common practice.
ROOM_TO_MOVE = 3.0


@dataclass(frozen=True, slots=True)
class Customers:
    """The hands of one group's customers: girth and length in mm, jointly normal. No mean: the sizes' middle."""

    group: str
    share: float = 1.0
    girth: float | None = None
    girth_spread: float = GIRTH_SPREAD
    length: float | None = None
    length_spread: float = LENGTH_SPREAD
    correlation: float = CORRELATION
    source: str = ""
    place: Place = field(default=Place(), compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Sold:
    """How many pairs of a size were sold at a fair, of how many ``brought``, and how many were asked for in vain.

    What nobody wrote down is None.
    """

    group: str
    size: str
    pairs: int | None
    missing: int | None = None
    brought: int | None = None
    fair: str = ""
    place: Place = field(default=Place(), compare=False, repr=False)
    size_place: Place = field(default=Place(), compare=False, repr=False)


#: What a skin is priced by that has no price for its area.
PER_SKIN = "skin"


#: What a flaw is still good for: no piece at all, the pieces of a trial hand, or what is turned or lies under it.
NOTHING, MOCK_UP, TURNED_PARTS = "nothing", "mock-up", "turned parts"


class Corner(NamedTuple):
    """A corner of an outline, mm."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Outline:
    """A polygon drawn of a skin: its edge, or a flaw in it and what that is good for."""

    skin: str
    part: str
    points: tuple[Corner, ...]
    good_for: str = ""
    place: Place = field(default=Place(), compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class SkinKind:
    """Skins of one kind: ``count`` on hand, the pile running from the foot of the outline to its head.

    ``outline`` and ``flaws`` are polygons in mm, the marked face up; ``poor`` are flaws that will do for a mock-up,
    ``scratched`` those where the leather's face does not show; ``taken`` is what was cut from it before. Without an
    outline the skin counts as ``width`` × ``length`` with rounded corners, of which the part ``lost`` is taken off all
    round. ``area`` in mm², where given, is the usable area, typed in ``area_unit``, and scales that shape. ``price`` is
    that of ``priced_area`` mm², or of a skin.
    """

    name: str
    count: int
    width: float
    length: float
    area: float | None
    lost: float
    price: float
    priced_area: float | None
    buy_more: bool
    outline: tuple[tuple[float, float], ...] = ()
    flaws: tuple[tuple[tuple[float, float], ...], ...] = ()
    poor: tuple[tuple[tuple[float, float], ...], ...] = ()
    scratched: tuple[tuple[tuple[float, float], ...], ...] = ()
    area_unit: str = "sq ft"
    taken: tuple[tuple[tuple[float, float], ...], ...] = ()
    place: Place = field(default=Place(), compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Work:
    """What making a pair takes and is paid: by the hour, or a ``piece_rate`` in its stead."""

    group: str
    size: str
    minutes: float
    rate: float
    piece_rate: float | None
    place: Place = field(default=Place(), compare=False, repr=False)
    size_place: Place = field(default=Place(), compare=False, repr=False)

    @property
    def pay(self) -> float:
        """What is paid for a pair, to the hundredth: bundles then add up to what is handed over."""
        by_the_hour = self.minutes / 60 * self.rate
        return rounded(by_the_hour if self.piece_rate is None else self.piece_rate, 2)


@dataclass(frozen=True, slots=True)
class Outworker:
    """Who sews, and how many pairs in a week at most."""

    name: str
    pairs_a_week: int
    place: Place = field(default=Place(), compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class SellingPrice:
    """What a pair is sold for."""

    group: str
    size: str
    price: float
    place: Place = field(default=Place(), compare=False, repr=False)
    size_place: Place = field(default=Place(), compare=False, repr=False)


#: A row that is for a size of a group.
OfASize = TypeVar("OfASize", Sold, Work, SellingPrice)


@dataclass(frozen=True, slots=True)
class Terms:
    """What holds for the whole batch. Tolerances, gap and room to move in mm, ``pile_within`` in degrees.

    ``maker`` and ``care`` are what the labels say of the maker and of caring for the mittens; blank leaves a line.
    The hands weigh as much as ``hands_count`` pairs asked for at past fairs.
    """

    pairs: int
    at_least: int
    girth_row: str
    length_row: str
    girth_tolerance: float
    length_tolerance: float
    gap: float
    pile_within: float
    lay_number: int
    largest_bundle: int
    hand_out_on: dt.date | None
    needed_by: dt.date | None
    currency: str
    other_costs: float
    fist_row: str = "fist girth"
    room_to_move: float = ROOM_TO_MOVE
    maker: str = ""
    care: str = ""
    hands_count: int = HANDS_COUNT


@dataclass(frozen=True, slots=True)
class StockTable:
    """A stock workbook's rows. A row of work or of prices with a blank group or size holds for all of them."""

    terms: Terms
    customers: tuple[Customers, ...]
    sold: tuple[Sold, ...]
    skins: tuple[SkinKind, ...]
    work: tuple[Work, ...]
    outworkers: tuple[Outworker, ...]
    selling: tuple[SellingPrice, ...]

    def without(self, groups: Iterable[str]) -> tuple[StockTable, tuple[str, ...]]:
        """The table without the rows for these groups, and which of them it has rows for."""
        others = Names(groups)
        by_group = {sheet: getattr(self, sheet) for sheet in ("customers", "sold", "work", "selling")}
        kept: dict[str, Any] = {
            sheet: tuple(row for row in rows if row.group not in others) for sheet, rows in by_group.items()
        }
        had = (others.settled(row.group) for rows in by_group.values() for row in rows if row.group in others)
        return replace(self, **kept), tuple(dict.fromkeys(had))

    def spelled_as(self, sizes: Mapping[str, Sequence[str]], measurements: Iterable[str]) -> StockTable:
        """The table with groups, sizes of each and measurements spelled as among those there are."""
        measured, groups, every = Names(measurements), Names(sizes), Names(chain.from_iterable(sizes.values()))

        def settled(rows: Iterable[OfASize]) -> Iterator[OfASize]:
            for row in rows:
                group = groups.settled_or_not(row.group)
                known = Names(sizes[group]) if group in sizes else every
                yield replace(row, group=group, size=known.settled_or_not(row.size))

        return replace(
            self,
            terms=replace(
                self.terms,
                girth_row=measured.settled_or_not(self.terms.girth_row),
                length_row=measured.settled_or_not(self.terms.length_row),
                fist_row=measured.settled_or_not(self.terms.fist_row),
            ),
            customers=tuple(replace(row, group=groups.settled_or_not(row.group)) for row in self.customers),
            sold=tuple(settled(self.sold)),
            work=tuple(settled(self.work)),
            selling=tuple(settled(self.selling)),
        )


def most_particular(rows: Sequence[OfASize], group: str, size: str) -> OfASize | None:
    """The row that holds for a size: its own, else its group's, else the one for all; None if there is none."""
    fitting = [row for row in rows if row.group in ("", group) and row.size in ("", size)]
    return max(fitting, key=lambda row: (bool(row.size), bool(row.group)), default=None)
