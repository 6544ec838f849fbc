"""The words of a cell, and when two spellings of a word or a name are the same."""

from __future__ import annotations

import unicodedata
from datetime import datetime
from functools import lru_cache

from grading import units
from grading.codes import Code
from grading.model.names import name_key
from grading.sheets.grids import CellValue, Grid
from grading.units import UnreadableError

__all__ = ["CellValue", "as_name", "as_text", "cell_text", "lookalike_key", "shown", "unread_as_length"]

_APOSTROPHES = str.maketrans("\u2019\u2018\u2032", "'''")
#: How a character that merely looks wider, or does not break, is told from one that means something else.
_LOOKS = ("<wide>", "<narrow>", "<font>", "<noBreak>")
#: Letters of other alphabets that look like Latin ones (Unicode Technical Standard 39, confusables).
_TWINS = str.maketrans("АВЕКМНОРСТХасеорхуΑΒΕΗΙΚΜΝΟΡΤΧΖ", "ABEKMHOPCTXaceopxyABEHIKMNOPTXZ")


def as_text(value: CellValue) -> str:
    """A cell as the words it shows, spaces evened out; '' if blank.

    >>> as_text("  palm   width "), as_text(8.0), as_text(datetime(2026, 11, 2))
    ('palm width', '8', '2026-11-02')
    """
    match value:
        case str():
            return " ".join(value.split())
        case None:
            return ""
        case float() if value.is_integer():
            return str(int(value))
        case datetime():
            return str(value.date() if value.time() == datetime.min.time() else value)
    return " ".join(str(value).split())


@lru_cache(maxsize=1 << 10)
def lookalike_key(name: str) -> str:
    """A key that is the same for names that nobody can tell apart on paper.

    >>> {lookalike_key(name) for name in ("W1", "w 1", "W1.", "Ｗ１", "W\u200b1")}
    {'w1'}
    >>> lookalike_key("8+") == lookalike_key("8"), lookalike_key("8.5") == lookalike_key("85")
    (False, False)
    """
    plain = "".join(
        unicodedata.normalize("NFKC", sign) if unicodedata.decomposition(sign).startswith(_LOOKS) else sign
        for sign in unicodedata.normalize("NFC", name)
    )
    return name_key(plain.translate(_TWINS)).rstrip(".")


def cell_text(grid: Grid, row: int, column: int) -> str:
    """The words that a cell shows: ``as_text``, under the cell's number format."""
    seen = grid.shown.get((row, column))
    return as_text(grid.value(row, column)) if seen is None else as_text(str(seen))


def unread_as_length(text: str) -> Code | None:
    """Why a text is not read as one length, None if it is."""
    try:
        units.signed_length(text, "mm")
    except UnreadableError as wrong:
        return wrong.code
    return None


def shown(value: CellValue) -> str:
    text = as_text(value)
    return f"'{text if len(text) <= 40 else text[:37] + '…'}'"


def as_name(value: CellValue) -> str:
    """A cell as a name: its words in one Unicode form (NFC), with one kind of apostrophe."""
    return unicodedata.normalize("NFC", as_text(value)).translate(_APOSTROPHES)
