"""Makes of one cell what its column declares, whatever way a maker typed it, or says why it cannot."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from datetime import date, datetime
from fractions import Fraction

from grading import units
from grading.model.block import Amount, Side
from grading.sheets.declared import Column, Kind
from grading.sheets.number_formats import Shown
from grading.sheets.opening import CellValue, Grid
from grading.units import UnreadableError

__all__ = ["as_text", "cell_text", "heading_key", "lookalike_key", "read_as_shown", "read_cell", "shown"]

_YES, _NO = {"yes", "y", "true", "1", "x"}, {"no", "n", "false", "0"}
_SEPARATORS = re.compile(r"[,;:]")
_APOSTROPHES = str.maketrans("\u2019\u2018\u2032", "'''")
#: How a character that merely looks wider, or does not break, is told from one that means something else.
_LOOKS = ("<wide>", "<narrow>", "<font>", "<noBreak>")
#: Letters of other alphabets that look like Latin ones (Unicode Technical Standard 39, confusables).
_TWINS = str.maketrans("АВЕКМНОРСТХасеорхуΑΒΕΗΙΚΜΝΟΡΤΧΖ", "ABEKMHOPCTXaceopxyABEHIKMNOPTXZ")
_UNSEEN = dict.fromkeys(map(ord, "\u200b\u200c\u200d\u2060\ufeff\u00ad"))
#: A figure shown rounded by less than this, mm, is shown as it is.
_SHOWN_ALIKE = 1
_DASHES = str.maketrans("\u2212\u2013\u2014\u2010\u2011", "-----")


def as_text(value: CellValue) -> str:
    """A cell as the words it shows, spaces evened out; '' if blank.

    >>> as_text("  palm   width "), as_text(8.0), as_text(datetime(2026, 11, 2))
    ('palm width', '8', '2026-11-02')
    """
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, datetime):
        return str(value.date() if value.time() == datetime.min.time() else value)
    return "" if value is None else " ".join(str(value).split())


def heading_key(text: str) -> str:
    """What two spellings of one heading or word have in common: no case, no spaces, one kind of dash."""
    return "".join(text.casefold().translate(_UNSEEN).translate(_DASHES).translate(_APOSTROPHES).split())


def lookalike_key(name: str) -> str:
    """What names have in common that a maker cannot tell apart on paper.

    >>> {lookalike_key(name) for name in ("W1", "w 1", "W1.", "Ｗ１", "W\u200b1")}
    {'w1'}
    >>> lookalike_key("8+") == lookalike_key("8"), lookalike_key("8.5") == lookalike_key("85")
    (False, False)
    """
    plain = "".join(
        unicodedata.normalize("NFKC", sign) if unicodedata.decomposition(sign).startswith(_LOOKS) else sign
        for sign in unicodedata.normalize("NFC", name)
    )
    return heading_key(plain.translate(_TWINS)).rstrip(".")


def cell_text(grid: Grid, row: int, column: int) -> str:
    """The words that a cell shows: ``as_text``, under the cell's number format."""
    seen = grid.shown.get((row, column))
    return as_text(grid.value(row, column)) if seen is None else as_text(str(seen))


def read_as_shown(value: CellValue, seen: Shown, column: Column, unit: str) -> tuple[object, str]:
    """What ``read_cell`` makes of a figure that its cell shows otherwise, and what to tell of it, if anything.

    Words are read as they are shown, and so is a length with a unit or one of thousands; a currency behind a price,
    or rounding that no tape shows, changes nothing. Raises UnreadableError where what is shown is another figure.
    """
    if not column.kind.is_figure:
        return read_cell(str(seen), column, unit), "" if heading_key(str(seen)) == heading_key(as_text(value)) else (
            f"The cell shows '{seen}' and holds {as_text(value)}; it is read as shown."
        )
    held = Fraction(repr(value)) if isinstance(value, float) else Fraction(int(value))  # type: ignore[arg-type]
    if seen.figure is None:
        said = f"shows '{seen}'" if str(seen) else "shows nothing"
        told = f"The cell {said} and holds {as_text(value)}, which is read." if held else ""
        return read_cell(value, column, unit), told
    words = f"{seen.before.lstrip('0+ ')} {seen.after}".strip(" -")
    if any(sign.isdigit() for sign in words) or (held < 0) != (seen.figure < 0):
        raise _shown_otherwise(value, seen)
    scaled = Fraction(seen.figure) != held
    if not column.kind.is_length and column.kind is not Kind.EASE:
        if not scaled:
            return read_cell(value, column, unit), ""
        return read_cell(
            f"{seen.figure:f}", column, unit
        ), f"{_both(value, seen)}; {seen.figure.normalize():f} is read."
    try:
        mm = units.signed_length(seen.typed, unit)
    except UnreadableError as wrong:
        if scaled:
            raise _shown_otherwise(value, seen) from wrong
        return read_cell(value, column, unit), f"{_both(value, seen)}; {as_text(value)} {unit} is read."
    if mm != held * units.MM_PER[unit]:
        return read_cell(seen.typed, column, unit), (
            f"{_both(value, seen)}, in a row of {unit}; {units.show(mm, unit)} {unit} is read, as shown."
        )
    off = abs(Fraction(seen.rounded or 0) - Fraction(seen.figure)) * units.MM_PER[unit]
    told = f"{_both(value, seen)}; {as_text(value)} {unit} is read." if off >= _SHOWN_ALIKE else ""
    return read_cell(value, column, unit), told


def _both(value: CellValue, seen: Shown) -> str:
    return f"The cell shows '{seen}' and holds {as_text(value)}"


def _shown_otherwise(value: CellValue, seen: Shown) -> UnreadableError:
    return UnreadableError("shown-otherwise", f"{_both(value, seen)}: its number format shows another figure.")


def shown(value: CellValue) -> str:
    text = as_text(value)
    return f"'{text if len(text) <= 40 else text[:37] + '…'}'"


def read_cell(value: CellValue, column: Column, unit: str) -> object:
    """The value of a cell that is not blank, as its column's kind says; ``unit`` holds for lengths that name none.

    Raises UnreadableError with a stable code and a reason for a maker.
    """
    return _READERS[column.kind](value, column, unit)


def _text(value: CellValue, column: Column, unit: str) -> str:
    return as_text(value)


def _name(value: CellValue, column: Column, unit: str) -> str:
    if isinstance(value, date):
        raise UnreadableError("date-for-name", f"{as_text(value)} is a date, made by the spreadsheet.")
    name = as_text(value).translate(_APOSTROPHES)
    if found := _SEPARATORS.search(name):
        raise UnreadableError("separator-in-name", f"'{name}' has '{found[0]}' in it, which parts names in lists.")
    return name


def _names(value: CellValue, column: Column, unit: str) -> tuple[str, ...]:
    if isinstance(value, float) and not value.is_integer():
        raise UnreadableError("number-for-names", f"{value} is one number, perhaps made of two names and a comma.")
    parts = as_text(value).replace(";", ",").split(",") if isinstance(value, str) else [value]
    return tuple(_name(part, column, unit) for part in parts if as_text(part))


def _side(value: CellValue, column: Column, unit: str) -> Side:
    piece, colon, edges = as_text(value).partition(":")
    if not (piece.strip() and colon and edges.strip(" ,;")):
        raise UnreadableError("not-a-side", f"{shown(value)} does not name a piece, a colon and edges.")
    return Side(_name(piece, column, unit), _names(edges, column, unit))


def _choice(value: CellValue, column: Column, unit: str) -> str:
    for choice in column.choices:
        if heading_key(choice) == heading_key(as_text(value)):
            return choice
    raise UnreadableError("not-a-choice", f"{shown(value)} is none of the words for it.")


def _yes_no(value: CellValue, column: Column, unit: str) -> bool:
    word = as_text(value).casefold()
    if word not in _YES | _NO:
        raise UnreadableError("not-yes-or-no", f"{shown(value)} is neither yes nor no.")
    return word in _YES


def _date(value: CellValue, column: Column, unit: str) -> str:
    if isinstance(value, (str, date)):
        return as_text(value)
    raise UnreadableError("not-a-date", f"{shown(value)} is no date.")


def _count(value: CellValue, column: Column, unit: str) -> int:
    count = units.number(value)
    if count < 0 or count.denominator != 1:
        raise UnreadableError("not-a-whole-number", f"{shown(value)} is no whole number of zero or more.")
    return int(count)


def _ease(value: CellValue, column: Column, unit: str) -> Amount:
    text = as_text(value)
    if isinstance(value, str) and text[0].isalpha():
        return Amount(allowance=_name(value, column, unit))
    if text.endswith("%"):
        return Amount(part=float(units.percent(value)))
    return Amount(mm=float(units.signed_length(value, unit)))


def _raw(value: CellValue, column: Column, unit: str) -> CellValue:
    return as_text(value) if isinstance(value, str) else value


_READERS: dict[Kind, Callable[[CellValue, Column, str], object]] = {
    Kind.TEXT: _text,
    Kind.NAME: _name,
    Kind.NAMES: _names,
    Kind.SIDE: _side,
    Kind.CHOICE: _choice,
    Kind.YES_NO: _yes_no,
    Kind.DATE: _date,
    Kind.UNIT: lambda value, column, unit: units.unit_name(value),
    Kind.MEASUREMENT: lambda value, column, unit: units.measurement(value, unit),
    Kind.LENGTH: lambda value, column, unit: units.length(value, unit),
    Kind.SIGNED_LENGTH: lambda value, column, unit: units.signed_length(value, unit),
    Kind.NUMBER: lambda value, column, unit: units.number(value),
    Kind.COUNT: _count,
    Kind.EASE: _ease,
    Kind.RAW: _raw,
}
