"""Declares the sheets of stock.xlsx, each figure with what a blank cell counts as."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from grading.model.stock import (
    CORRELATION,
    GIRTH_SPREAD,
    HANDS_COUNT,
    LENGTH_SPREAD,
    MOCK_UP,
    NOTHING,
    PER_SKIN,
    ROOM_TO_MOVE,
    TURNED_PARTS,
    Corner,
    Customers,
    Outline,
    Outworker,
    SellingPrice,
    SkinKind,
    Sold,
    Terms,
    Work,
)
from grading.sheets.columns import FIELD_AND_VALUE, Cells, Column, Sheet, words
from grading.units import MM2_PER

__all__ = [
    "CUSTOMERS",
    "NEXT_SHARES",
    "OUTLINES",
    "OUTWORKERS",
    "PAST_SALES",
    "SELLING",
    "SKINS",
    "STOCK",
    "STOCK_SHEETS",
    "WHOLE_OUTLINE",
    "WORK",
]

#: What skins are measured and priced by, besides the piece.
_AREA_UNITS = tuple(MM2_PER)
_PRICED_BY = {PER_SKIN: None, **{unit: float(mm2) for unit, mm2 in MM2_PER.items()}}
#: The sheet on which a batch's fair.xlsx shows what follows from the sales that are typed in; nobody reads it.
NEXT_SHARES = "Next shares"
#: The most that lengths of a batch can be, mm, whatever the hands: twice the gap leather needs, and more than any hand
#: stretches a mitten. Common practice; what is larger was typed in another unit.
_LONGEST = {"gap": 30.0, "girth": 40.0, "length": 60.0}
#: More skins of a kind are no small batch, and most likely another figure.
_MOST_SKINS = 1000
#: The part of a skin's outline that is its edge; every other part is a flaw.
WHOLE_OUTLINE = "outline"


def _or(
    name: str,
    kind: Cells,
    fills: str,
    blank: object,
    help_: str,
    choices: Mapping[str, object] | None = None,
    *,
    printed: bool = False,
    **more: Any,
) -> Column:
    """A column that may be blank, with what it then counts as, and ``more`` that a `Column` says of itself."""
    return Column(name, kind, help_, fills, blank, choices or {}, printed=printed, **more)


def _name(name: str, fills: str, help_: str, names: str = "") -> Column:
    return Column(name, Cells.NAME, help_, fills, names=names, printed=False)


_UNIT = _or("Unit", Cells.UNIT, "", None, "The unit of this row's lengths; blank means mm.")
_NOTE = _or("Note", Cells.TEXT, "", "", "Anything worth knowing; not used in any sum.")
_GROUP = _or("Group", Cells.NAME, "group", "", "The size group it holds for; blank means all.", names="group")
_SIZE = _or("Size", Cells.NAME, "size", "", "The size it holds for; blank means all of the group.")

# A column stands in as few lines as it takes.
# fmt: off
STOCK = Sheet(
    "Stock",
    "What holds for the whole batch: a field and its value in each row.",
    FIELD_AND_VALUE,
    of=Terms,
    fills="terms",
    key=("Field",),
    optional=True,
    in_full=True,
    fields=(
        _or("Pairs", Cells.COUNT, "pairs", 20, "How many pairs to make in all, where the command does not say."),
        _or("Least of a size", Cells.COUNT, "at_least", 0, "The least to make of every size."),
        _or("Girth measurement", Cells.NAME, "girth_row", "hand girth",
            "The row of the size tables that is a customer's girth."),
        _or("Length measurement", Cells.NAME, "length_row", "hand length",
            "The row of the size tables that is a customer's length."),
        _or("Girth tolerance", Cells.LENGTH, "girth_tolerance", 6.0,
            "How far beyond the outermost sizes a girth is still fitted.", least=0, most=_LONGEST["girth"]),
        _or("Length tolerance", Cells.LENGTH, "length_tolerance", 15.0,
            "How far from its size's length a hand is still fitted.", least=0, most=_LONGEST["length"]),
        _or("Gap between pieces", Cells.LENGTH, "gap", 4.0, "What is left between two pieces on a skin.",
            least=0, most=_LONGEST["gap"]),
        _or("Pile within", Cells.NUMBER, "pile_within", 5.0,
            "How many degrees a piece may be turned off the pile, 5 at most."),
        _or("Lay number", Cells.COUNT, "lay_number", 1, "The same one gives the same lay, another perhaps a better."),
        _or("Largest bundle", Cells.COUNT, "largest_bundle", 10, "The most pairs in one bundle."),
        _or("Hand out on", Cells.DAY, "hand_out_on", None,
            "When the first bundles go out; blank: weeks are numbered instead."),
        _or("Needed by", Cells.DAY, "needed_by", None, "When the batch must be done; blank: no bundle is too late."),
        _or("Currency", Cells.TEXT, "currency", "€", "What all prices and costs are in.", printed=True),
        _or("Other costs of a pair", Cells.NUMBER, "other_costs", 0.0, "Thread, label, bag and the like.", least=0),
        _or("Hands count as", Cells.COUNT, "hands_count", HANDS_COUNT,
            "So many pairs sold or asked for at past fairs weigh as much as the hands; 0: only past fairs count."),
        _or("Fist measurement", Cells.NAME, "fist_row", "fist girth",
            "The row of the size tables by which a customer's fist tells the size."),
        _or("Room to move", Cells.LENGTH, "room_to_move", ROOM_TO_MOVE,
            "The least that is left round the fist: a size is offered to none that leaves it less."),
        _or("Maker", Cells.TEXT, "maker", "", "Name and address for the labels; blank leaves a line to write on.",
            printed=True),
        _or("Care", Cells.TEXT, "care", "", "Care words for the labels; blank leaves a line to write on.",
            printed=True),
    ),
)

CUSTOMERS = Sheet(
    "Customers",
    "The hands to sell to, a row a size group. Hands spread as a bell curve, girth and length together.",
    (
        _name("Group", "group", "The size group, as its sheet is named."),
        _or("Share", Cells.NUMBER, "share", 1.0,
            "Its part of all customers: a percentage, or any figure in proportion; 0 for what is made to order.",
            least=0),
        _or("Hand girth", Cells.MEASUREMENT, "girth", None, "The mean; blank means the middle of the sizes."),
        _or("Girth spread", Cells.MEASUREMENT, "girth_spread", GIRTH_SPREAD,
            "Standard deviation: two thirds are within it of the mean."),
        _or("Hand length", Cells.MEASUREMENT, "length", None, "The mean; blank means the middle of the sizes."),
        _or("Length spread", Cells.MEASUREMENT, "length_spread", LENGTH_SPREAD, "Standard deviation of the length."),
        _or("Correlation", Cells.NUMBER, "correlation", CORRELATION,
            "0: girth and length independent; near 1: grow together.", least=-0.99, most=0.99),
        _UNIT,
        _or("Source", Cells.TEXT, "source", "", "Where the figures come from."),
    ),
    of=Customers,
    fills="customers",
    key=("Group",),
    optional=True,
    in_full=True,
)

PAST_SALES = Sheet(
    "Past sales",
    "What was sold at past fairs, and asked for in vain: sizes follow it, the more the more pairs it was.",
    (
        _name("Group", "group", "The size group.", "group"),
        _name("Size", "size", "The size."),
        _or("Pairs brought", Cells.COUNT, "brought", None, "How many were there to be sold; blank if nobody knows."),
        _or("Pairs sold", Cells.COUNT, "pairs", 0, "How many were sold."),
        _or("Asked for", Cells.COUNT, "missing", None, "How many more were asked for when there were none."),
        _or("Fair", Cells.TEXT, "fair", "", "Which fair it was, to keep several apart."),
    ),
    of=Sold,
    fills="sold",
    key=("Fair", "Group", "Size"),
    optional=True,
    in_full=True,
    at="Group",
)

SKINS = Sheet(
    "Skins",
    "The skins on hand and those that can be bought, a row a kind. Used from the top.",
    (
        _or("Skin", Cells.NAME, "name", "Skin", "The name of the kind, or of the one skin.", printed=True),
        _or("Count", Cells.COUNT, "count", 0, "How many are on hand.", least=0, most=_MOST_SKINS),
        _or("Width", Cells.MEASUREMENT, "width", 700.0,
            "Across the pile, where the sheet Outlines has no outline of it."),
        _or("Length", Cells.MEASUREMENT, "length", 900.0, "Along the pile; corners count as rounded off."),
        _UNIT,
        _or("Usable area", Cells.AREA, "area", None, "Without flaws, if known; the shape is then scaled to it.",
            least=0.001),
        _or("Area unit", Cells.AREA_UNIT, "area_unit", _AREA_UNITS[0], "The unit of the usable area.",
            words(*_AREA_UNITS)),
        _or("Lost to flaws", Cells.NUMBER, "lost", 0.05, "The part of it that is no use, mostly along the edge.",
            least=0, most=0.9),
        _or("Price", Cells.NUMBER, "price", 40.0, "What it costs, by the piece or by its area.", least=0),
        _or("Price per", Cells.CHOICE, "priced_area", None, "What that price is for.", _PRICED_BY),
        _or("Buy more", Cells.YES_NO, "buy_more", True, "yes if more of the kind can be bought."),
        _NOTE,
    ),
    of=SkinKind,
    fills="skins",
    key=("Skin",),
    optional=True,
    in_full=True,
)

OUTLINES = Sheet(
    "Outlines",
    "Outlines of single skins and of flaws in them, point by point, marked face up, the pile running up the page.",
    (
        _name("Skin", "skin", "The skin, as on the sheet Skins.", "skin"),
        _name("Part", "part", f"{WHOLE_OUTLINE} for its edge, any other name for a flaw."),
        Column("x", Cells.SIGNED_LENGTH, "Across the pile.", "points.x"),
        Column("y", Cells.SIGNED_LENGTH, "Along the pile, the way it runs; the neck is below.", "points.y"),
        _UNIT,
        _or("Good for", Cells.CHOICE, "good_for", None,
            f"What a flaw will do for; blank: {NOTHING}. {TURNED_PARTS.capitalize()}: where the face does not show.",
            words(NOTHING, MOCK_UP, TURNED_PARTS)),
    ),
    of=Outline,
    fills="outlines",
    optional=True,
    in_full=True,
    parts={"points": Corner},
)

WORK = Sheet(
    "Making",
    "What a pair takes to make and is paid. The row that says most about a size holds for it.",
    (
        _GROUP,
        _SIZE,
        _or("Minutes a pair", Cells.NUMBER, "minutes", 120.0, "Cutting and sewing.", least=0),
        _or("Rate an hour", Cells.NUMBER, "rate", 15.0, "What an hour is paid.", least=0),
        _or("Piece rate", Cells.NUMBER, "piece_rate", None, "What a pair is paid; blank means by the hour.", least=0),
    ),
    of=Work,
    fills="work",
    optional=True,
    in_full=True,
    at="Group",
)

OUTWORKERS = Sheet(
    "Outworkers",
    "Who sews, and how much in a week.",
    (
        _or("Outworker", Cells.NAME, "name", "Workshop", "The name.", printed=True),
        _or("Pairs a week", Cells.COUNT, "pairs_a_week", 20, "The most in a week.", least=1),
        _NOTE,
    ),
    of=Outworker,
    fills="outworkers",
    key=("Outworker",),
    optional=True,
    in_full=True,
)

SELLING = Sheet(
    "Selling",
    "What a pair is sold for. The row that says most about a size holds for it.",
    (_GROUP, _SIZE, _or("Price", Cells.NUMBER, "price", 75.0, "The selling price of a pair.", least=0)),
    of=SellingPrice,
    fills="selling",
    optional=True,
    in_full=True,
    at="Group",
)

#: The sheets of stock.xlsx, in order.
STOCK_SHEETS = (STOCK, CUSTOMERS, PAST_SALES, SKINS, OUTLINES, WORK, OUTWORKERS, SELLING)
