"""Declares the sheets of stock.xlsx, each figure with what a blank cell counts as."""

from __future__ import annotations

from fractions import Fraction

from grading.model.stock import CORRELATION, GIRTH_SPREAD, LENGTH_SPREAD
from grading.sheets.declared import Column, Kind, Sheet

__all__ = [
    "AREA_UNITS",
    "CUSTOMERS",
    "OUTLINES",
    "OUTWORKERS",
    "PAST_SALES",
    "PER_SKIN",
    "SELLING",
    "SKINS",
    "STOCK",
    "STOCK_FIELDS",
    "STOCK_SHEETS",
    "WHOLE_OUTLINE",
    "WORK",
    "counts_as",
]

#: What skins are measured and priced by, besides the piece.
AREA_UNITS = ("sq ft", "sq m", "sq dm")
PER_SKIN = "skin"
#: The part of a skin's outline that is its edge; every other part is a flaw.
WHOLE_OUTLINE = "outline"


def _or(name: str, kind: Kind, default: object, help_: str, choices: tuple[str, ...] = ()) -> Column:
    """A column that may be blank, with what it then counts as."""
    return Column(name, kind, help_, optional=True, choices=choices, default=default)


def counts_as(column: Column) -> str:
    """What a blank cell of the column stands for, or nothing if it stands for none.

    >>> counts_as(STOCK_FIELDS[0]), counts_as(SKINS.column("Width")), counts_as(SKINS.column("Buy more"))
    ('20', '700 mm', 'yes')
    """
    default = column.default
    if not column.optional or default in (None, "", ()):
        return ""
    if isinstance(default, bool):
        return "yes" if default else "no"
    shown = f"{float(default):g}" if isinstance(default, Fraction) else str(default)
    return f"{shown} mm" if column.kind.is_length else shown


_UNIT = _or("Unit", Kind.UNIT, None, "The unit of this row's lengths; blank means mm.")
_NOTE = _or("Note", Kind.TEXT, "", "Anything worth knowing; not used in any sum.")
_GROUP = _or("Group", Kind.NAME, "", "The size group it holds for; blank means all.")
_SIZE = _or("Size", Kind.NAME, "", "The size it holds for; blank means all of the group.")

STOCK_FIELDS = (
    _or("Pairs", Kind.COUNT, 20, "How many pairs to make in all, where the command does not say."),
    _or("Least of a size", Kind.COUNT, 0, "The least to make of every size."),
    _or("Girth measurement", Kind.NAME, "hand girth", "The row of the size tables that is a customer's girth."),
    _or("Length measurement", Kind.NAME, "hand length", "The row of the size tables that is a customer's length."),
    _or("Girth tolerance", Kind.LENGTH, Fraction(6), "How far beyond the outermost sizes a girth is still fitted."),
    _or("Length tolerance", Kind.LENGTH, Fraction(15), "How far from its size's length a hand is still fitted."),
    _or("Gap between pieces", Kind.LENGTH, Fraction(4), "What is left between two pieces on a skin."),
    _or("Pile within", Kind.NUMBER, Fraction(5), "How many degrees a piece may be turned off the pile, 5 at most."),
    _or("Seed", Kind.COUNT, 1, "Any number: the same one gives the same lay."),
    _or("Largest bundle", Kind.COUNT, 10, "The most pairs in one bundle."),
    _or("Hand out on", Kind.DATE, "", "When the first bundles go out; blank: weeks are numbered instead."),
    _or("Needed by", Kind.DATE, "", "When the batch must be done; blank: no bundle is too late."),
    _or("Currency", Kind.TEXT, "€", "What all prices and costs are in."),
    _or("Other costs of a pair", Kind.NUMBER, Fraction(0), "Thread, label, bag and the like."),
)

STOCK = Sheet(
    "Stock",
    "What holds for the whole batch: a field and its value in each row.",
    (
        Column("Field", Kind.TEXT, "What is stated; the fields are listed below."),
        Column("Value", Kind.RAW, "What it is.", optional=True),
    ),
    key=("Field",),
    optional=True,
)

CUSTOMERS = Sheet(
    "Customers",
    "The hands to sell to, a row a size group. Hands spread as a bell curve, girth and length together.",
    (
        Column("Group", Kind.NAME, "The size group, as its sheet is named."),
        _or("Share", Kind.NUMBER, Fraction(1), "Its part of all customers: a percentage, or any figure in proportion."),
        _or("Hand girth", Kind.MEASUREMENT, None, "The mean; blank means the middle of the sizes."),
        _or(
            "Girth spread",
            Kind.MEASUREMENT,
            Fraction(GIRTH_SPREAD),
            "Standard deviation: two thirds are within it of the mean.",
        ),
        _or("Hand length", Kind.MEASUREMENT, None, "The mean; blank means the middle of the sizes."),
        _or("Length spread", Kind.MEASUREMENT, Fraction(LENGTH_SPREAD), "Standard deviation of the length."),
        _or(
            "Correlation", Kind.NUMBER, Fraction(CORRELATION), "0: girth and length independent; near 1: grow together."
        ),
        _UNIT,
        _or("Source", Kind.TEXT, "", "Where the figures come from."),
    ),
    key=("Group",),
    optional=True,
)

PAST_SALES = Sheet(
    "Past sales",
    "What was sold before; a group that stands here is shared out by its sales and not by its hands.",
    (
        Column("Group", Kind.NAME, "The size group."),
        Column("Size", Kind.NAME, "The size."),
        _or("Pairs sold", Kind.COUNT, 0, "How many."),
    ),
    key=("Group", "Size"),
    optional=True,
)

SKINS = Sheet(
    "Skins",
    "The skins on hand and those that can be bought, a row a kind. Used from the top.",
    (
        _or("Skin", Kind.NAME, "Skin", "The name of the kind, or of the one skin."),
        _or("Count", Kind.COUNT, 0, "How many are on hand."),
        _or(
            "Width", Kind.MEASUREMENT, Fraction(700), "Across the pile, where the sheet Outlines has no outline of it."
        ),
        _or("Length", Kind.MEASUREMENT, Fraction(900), "Along the pile; corners count as rounded off."),
        _UNIT,
        _or("Usable area", Kind.NUMBER, None, "Without flaws, if known; the shape is then scaled to it."),
        _or("Area unit", Kind.CHOICE, AREA_UNITS[0], "The unit of the usable area.", AREA_UNITS),
        _or("Lost to flaws", Kind.NUMBER, Fraction(1, 20), "The part of it that is no use, mostly along the edge."),
        _or("Price", Kind.NUMBER, Fraction(40), "What it costs, by the piece or by its area."),
        _or("Price per", Kind.CHOICE, PER_SKIN, "What that price is for.", (PER_SKIN, *AREA_UNITS)),
        _or("Buy more", Kind.YES_NO, True, "yes if more of the kind can be bought."),
        _NOTE,
    ),
    key=("Skin",),
    optional=True,
)

OUTLINES = Sheet(
    "Outlines",
    "Outlines of single skins and of flaws in them, point by point, marked face up, the pile running up the page.",
    (
        Column("Skin", Kind.NAME, "The skin, as on the sheet Skins."),
        Column("Part", Kind.NAME, f"{WHOLE_OUTLINE} for its edge, any other name for a flaw."),
        Column("x", Kind.SIGNED_LENGTH, "Across the pile."),
        Column("y", Kind.SIGNED_LENGTH, "Along the pile, the way it runs; the neck is below."),
        _UNIT,
    ),
    optional=True,
)

WORK = Sheet(
    "Making",
    "What a pair takes to make and is paid. The row that says most about a size holds for it.",
    (
        _GROUP,
        _SIZE,
        _or("Minutes a pair", Kind.NUMBER, Fraction(120), "Cutting and sewing."),
        _or("Rate an hour", Kind.NUMBER, Fraction(15), "What an hour is paid."),
        _or("Piece rate", Kind.NUMBER, None, "What a pair is paid; blank means by the hour."),
    ),
    optional=True,
)

OUTWORKERS = Sheet(
    "Outworkers",
    "Who sews, and how much in a week.",
    (
        _or("Outworker", Kind.NAME, "Workshop", "The name."),
        _or("Pairs a week", Kind.COUNT, 20, "The most in a week."),
        _NOTE,
    ),
    key=("Outworker",),
    optional=True,
)

SELLING = Sheet(
    "Selling",
    "What a pair is sold for. The row that says most about a size holds for it.",
    (_GROUP, _SIZE, _or("Price", Kind.NUMBER, Fraction(75), "The selling price of a pair.")),
    optional=True,
)

#: The sheets of stock.xlsx, in order.
STOCK_SHEETS = (STOCK, CUSTOMERS, PAST_SALES, SKINS, OUTLINES, WORK, OUTWORKERS, SELLING)
