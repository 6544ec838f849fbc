"""Reads a cell that shows something else than the figure that it holds, because of its number format."""

from __future__ import annotations

from fractions import Fraction

from grading import units
from grading.codes import Code
from grading.model.names import name_key
from grading.sheets.cells import CellValue, as_text
from grading.sheets.columns import Cells, Column
from grading.sheets.number_formats import Shown
from grading.units import UnreadableError

__all__ = ["read_as_shown"]

#: A figure shown rounded by less than this, mm, is shown as it is.
_SHOWN_ALIKE = 1


def read_as_shown(value: CellValue, seen: Shown, column: Column, unit: str) -> tuple[object, str]:
    """The value of a cell that shows something else than it holds, and what to tell of it, if anything.

    Words are read as they are shown, and so is a length with a unit or one of thousands; a currency behind a price,
    or rounding that no tape shows, changes nothing. Raises UnreadableError where what is shown is another figure.
    """
    meant, told = _read_and_told(value, seen, column, unit)
    return column.parse(meant, unit), told


def _read_and_told(value: CellValue, seen: Shown, column: Column, unit: str) -> tuple[CellValue, str]:
    """What counts, the figure that the cell holds or the text that it shows, and what to tell of it."""
    both = f"The cell shows '{seen}' and holds {as_text(value)}"
    another = UnreadableError(Code.SHOWN_OTHERWISE, f"{both}: its number format shows another figure.")
    if not column.kind.is_figure:
        return str(seen), "" if name_key(str(seen)) == name_key(as_text(value)) else f"{both}; it is read as shown."
    held = Fraction(repr(value)) if isinstance(value, float) else Fraction(int(value))  # type: ignore[arg-type]
    if seen.figure is None:
        shows = f"shows '{seen}'" if str(seen) else "shows nothing"
        return value, f"The cell {shows} and holds {as_text(value)}, which is read." if held else ""
    words = f"{seen.before.lstrip('0+ ')} {seen.after}".strip(" -")
    if any(sign.isdigit() for sign in words) or (held < 0) != (seen.figure < 0):
        raise another
    scaled = Fraction(seen.figure) != held
    if not column.kind.is_length and column.kind is not Cells.EASE:
        return (f"{seen.figure:f}", f"{both}; {seen.figure.normalize():f} is read.") if scaled else (value, "")
    is_read = f"{both}; {as_text(value)} {unit} is read."
    try:
        mm = units.signed_length(seen.typed, unit)
    except UnreadableError as wrong:
        if scaled:
            raise another from wrong
        return value, is_read
    if mm != held * units.MM_PER[unit]:
        return seen.typed, f"{both}, in a row of {unit}; {units.show(mm, unit)} {unit} is read, as shown."
    off = abs(Fraction(seen.rounded or 0) - Fraction(seen.figure)) * units.MM_PER[unit]
    return value, is_read if off >= _SHOWN_ALIKE else ""
