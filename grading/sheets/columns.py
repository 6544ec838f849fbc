"""What a column of a sheet is: its heading, what its cells hold, and the field of the model's value that it fills.

Reading, writing, drop-down lists, in-place help, the README's tables and the check that every text can be printed all
come from lists of these. Each kind of cell says how it is read, and how what was read is written again.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from typing import Any

from grading import units
from grading.codes import Code
from grading.model.block import Amount, Side
from grading.model.days import day_typed
from grading.model.names import name_key
from grading.sheets.cells import CellValue, as_name, as_text, shown
from grading.units import UnreadableError

__all__ = ["FIELD_AND_VALUE", "NEEDED", "Cells", "Column", "SameAs", "Sheet", "words"]

_SEPARATORS = re.compile(r"[,;:]")
_YES, _NO = ("yes", "y", "true", "1", "x"), ("no", "n", "false", "0")


@dataclass(frozen=True, slots=True)
class SameAs:
    """What a blank cell counts as: the same as the cell of another column in its row."""

    column: str


#: What a blank cell counts as where it must be filled in.
NEEDED = object()


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """A column, and the field of its row's value that it ``fills``: nothing where the model does not keep it.

    ``fills`` may name the field of a part: where rows of like names are one value together, 'shares.x' is the x of
    each of its shares. ``blank`` is what a blank cell counts as; unless it is NEEDED the whole column may be missing.
    ``choices`` are the words there are for it, each with what it means. ``names`` says what kind of thing it names
    that stands elsewhere in the workbook. Texts that are ``printed`` must be in the typeface; what is ``given`` is
    there when a sheet is handed out to be filled in. Figures below ``least`` or above ``most`` are refused: as the
    model has them, lengths in mm and areas in mm².
    """

    name: str
    kind: Cells
    help: str
    fills: str = ""
    blank: Any = NEEDED
    choices: Mapping[str, Any] = field(default_factory=dict)
    names: str = ""
    printed: bool = True
    given: bool = False
    least: float = -math.inf
    most: float = math.inf

    def parse(self, value: CellValue, unit: str) -> Any:
        """What a cell says; ``unit`` is that of a length that names none. Raises UnreadableError."""
        if self.choices:
            word = name_key(as_text(value))
            for choice, meaning in self.choices.items():
                if name_key(choice) == word:
                    return meaning
            raise UnreadableError(Code.NOT_A_CHOICE, f"{shown(value)} is none of the words for it.")
        made = self.kind.parse(value, unit)
        return float(made) if isinstance(made, Fraction) else made

    def spell(self, made: Any, unit: str) -> Any:
        """How a cell is written that is to be read as ``made``; a length in ``unit``."""
        if self.choices:
            return next((choice for choice, meaning in self.choices.items() if meaning == made), "")
        return self.kind.spell(made, unit)

    @property
    def optional(self) -> bool:
        """Whether its cells may be blank."""
        return self.blank is not NEEDED

    @property
    def part(self) -> str:
        """The field of the value that holds the parts, if the column fills a field of a part; else blank."""
        return self.fills.rpartition(".")[0]

    @property
    def attribute(self) -> str:
        """The field that the column fills, of the value or of the part."""
        return self.fills.rpartition(".")[2]

    @property
    def if_absent(self) -> Any:
        """What counts in every row if the sheet has no such column; None where it must have it."""
        return self.blank if self.optional else None

    @property
    def counts_as(self) -> str:
        """What a blank cell counts as, in words; blank where it counts as nothing."""
        nothing = self.blank in (None, "", ()) and not self.choices
        if not self.optional or isinstance(self.blank, SameAs) or nothing:
            return ""
        spelled = as_text(self.spell(self.blank, "mm"))
        return f"{spelled} mm" if self.kind.is_length else spelled


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """A sheet of one row a thing. The columns of ``key`` together name a row, which no other may repeat.

    Its rows are values ``of`` a class of the model, and together the field of the workbook's value that the sheet
    ``fills``. ``parts`` are the classes of what several rows of like names hold each, by the field they go to.
    ``others`` is what every further column holds, where a sheet may have any number of them. A sheet with ``fields``
    has one of them in each row, and all together are one value. A value's place is the cell of ``placed``. ``in_full``
    has figures written out that a blank cell would stand for.
    """

    name: str
    help: str
    columns: tuple[Column, ...]
    of: Any = None
    fills: str = ""
    key: tuple[str, ...] = ()
    optional: bool = False
    others: Column | None = None
    fields: tuple[Column, ...] = ()
    parts: Mapping[str, Callable[..., Any]] = field(default_factory=dict)
    at: str = ""
    in_full: bool = False

    def column(self, name: str) -> Column:
        """The column of that heading. Raises KeyError."""
        return {column.name: column for column in self.columns}[name]

    @property
    def placed(self) -> str:
        """The heading of the column whose cell is the place of a value."""
        return self.at or (self.key[-1] if self.key else "")

    @property
    def columns_in_order(self) -> tuple[Column, ...]:
        """The columns as they are written, the others in their place."""
        if self.others is None:
            return self.columns
        return (*self.before_others, self.others, *self.columns[len(self.before_others) :])

    @property
    def before_others(self) -> tuple[Column, ...]:
        """The columns that are written before any others: those that must be filled in."""
        return tuple(column for column in self.columns if not column.optional)


def words(*choices: str) -> dict[str, Any]:
    """Choices that are kept as they are spelled."""
    return {choice: choice for choice in choices}


# Reading a cell: each function takes its value and the unit in force, and raises UnreadableError


def _text(value: CellValue, unit: str) -> str:
    return as_text(value)


def _name(value: CellValue, unit: str) -> str:
    if isinstance(value, date):
        raise UnreadableError(Code.DATE_FOR_NAME, f"{as_text(value)} is a date, made by the spreadsheet.")
    name = as_name(value)
    if sign := _SEPARATORS.search(name):
        raise UnreadableError(Code.SEPARATOR_IN_NAME, f"'{name}' has '{sign[0]}' in it, which parts names in lists.")
    return name


def _names(value: CellValue, unit: str) -> tuple[str, ...]:
    if isinstance(value, float) and not value.is_integer():
        raise UnreadableError(Code.NUMBER_FOR_NAMES, f"{value} is one number, perhaps made of two names and a comma.")
    parts = as_text(value).replace(";", ",").split(",") if isinstance(value, str) else [value]
    return tuple(_name(part, unit) for part in parts if as_text(part))


def _side(value: CellValue, unit: str) -> Side:
    piece, colon, edges = as_text(value).partition(":")
    if not (piece.strip() and colon and edges.strip(" ,;")):
        raise UnreadableError(Code.NOT_A_SIDE, f"{shown(value)} does not name a piece, a colon and edges.")
    return Side(_name(piece, unit), _names(edges, unit))


def _yes_no(value: CellValue, unit: str) -> bool:
    word = name_key(as_text(value))
    if word not in _YES + _NO:
        raise UnreadableError(Code.NOT_YES_OR_NO, f"{shown(value)} is neither yes nor no.")
    return word in _YES


def _date(value: CellValue, unit: str) -> str:
    if isinstance(value, (str, date)):
        return as_text(value)
    raise UnreadableError(Code.NOT_A_DATE, f"{shown(value)} is no date.")


def _count(value: CellValue, unit: str) -> int:
    count = units.number(value)
    if count < 0 or count.denominator != 1:
        raise UnreadableError(Code.NOT_A_WHOLE_NUMBER, f"{shown(value)} is no whole number of zero or more.")
    return int(count)


def _ease(value: CellValue, unit: str) -> Amount:
    text = as_text(value)
    if isinstance(value, str) and text[0].isalpha():
        return Amount(allowance=_name(value, unit))
    if text.endswith("%"):
        return Amount(part=float(units.percent(value)))
    return Amount(mm=float(units.signed_length(value, unit)))


def _figure_or_name(value: CellValue, unit: str) -> Fraction | str:
    try:
        return units.number(value)
    except UnreadableError:
        return as_text(value)


# Writing a cell: each function takes what was read and the unit of its row


def _as_it_is(value: Any, unit: str) -> Any:
    return value


def _in_unit(value: float, unit: str) -> float:
    return units.typed(value, units.MM_PER[unit])


def _amount(value: Amount, unit: str) -> float | str:
    if value.allowance:
        return value.allowance
    if not value.part:
        return _in_unit(value.mm, unit)
    return f"{Decimal(repr(units.typed(value.part, Fraction(1, 100)))).normalize():f} %"


class Cells(Enum):
    """What a column's cells hold, in words for a maker; how one is read, and written again.

    The remark behind each says what it is read as.
    """

    TEXT = "any text", _text, _as_it_is  # str
    NAME = "a name, without , ; or :", _name, _as_it_is  # str
    NAMES = "names, separated by commas", _names, lambda names, unit: ", ".join(names)  # tuple[str, ...]
    SIDE = (  # model Side
        "a piece and its edges, as 'Piece: edge, edge'",
        _side,
        lambda side, unit: f"{side.piece}: {', '.join(side.edges)}",
    )
    CHOICE = "one of the words listed", _text, _as_it_is  # what the word means
    YES_NO = "yes or no", _yes_no, lambda value, unit: "yes" if value else "no"  # bool
    DATE = "a date", _date, _as_it_is  # str, as 2026-11-02 where the cell is a date, else as typed
    DAY = (  # date
        "a date cell, or text as 2026-11-02 or 2.11.2026",
        lambda value, unit: day_typed(_date(value, unit)),
        lambda day, unit: day.isoformat(),
    )
    # 'mm', 'cm' or 'in'; holds for the other cells of its row
    UNIT = "mm, cm or in", lambda value, unit: units.unit_name(value), _as_it_is
    AREA_UNIT = "one of the areas listed", _text, _as_it_is  # a word of MM2_PER; holds for the areas of its row
    MEASUREMENT = "a length above zero", units.measurement, _in_unit  # mm
    LENGTH = "a length of zero or more", units.length, _in_unit  # mm
    SIGNED_LENGTH = "a length, with − if below zero", units.signed_length, _in_unit  # mm
    AREA = (  # mm²
        "a figure",
        lambda value, unit: units.number(value) * units.MM2_PER[unit],
        lambda value, unit: units.typed(value, units.MM2_PER[unit]),
    )
    NUMBER = "a number", lambda value, unit: units.number(value), _as_it_is  # float
    COUNT = "a whole number of zero or more", _count, _as_it_is  # int
    EASE = "a length, a percentage of side B, or the name of an allowance", _ease, _amount  # model Amount
    FIGURE_OR_NAME = "a figure or a name", _figure_or_name, _as_it_is  # float or str

    def __init__(self, says: str, parse: Callable[[CellValue, str], Any], spell: Callable[[Any, str], Any]) -> None:
        self.says, self.parse, self.spell = says, parse, spell

    @property
    def is_figure(self) -> bool:
        """Whether the cells are figures, with or without a unit."""
        others = (Cells.NUMBER, Cells.COUNT, Cells.AREA, Cells.EASE, Cells.FIGURE_OR_NAME)
        return self.is_length or self in others

    @property
    def is_length(self) -> bool:
        """Whether the cells are lengths only, in the unit in force."""
        return self in (Cells.MEASUREMENT, Cells.LENGTH, Cells.SIGNED_LENGTH)

    @property
    def is_text(self) -> bool:
        """Whether the cells are words of a maker's own."""
        return self in (Cells.TEXT, Cells.NAME)


#: The columns of a sheet of fields.
FIELD_AND_VALUE = (
    Column("Field", Cells.TEXT, "What is stated; the fields are listed below."),
    Column("Value", Cells.FIGURE_OR_NAME, "What it is.", blank=None),
)
