"""How the cells of a workbook look, by what they hold: one named style for each, readable without colour."""

from __future__ import annotations

from enum import Enum

from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Protection, Side

__all__ = ["FIGURES", "GREY", "Look", "named_styles"]

#: What draws attention to a cell, besides bold type and a box.
GREY = PatternFill("solid", fgColor="FFE4E4E4", bgColor="FFE4E4E4")


class Look(Enum):
    """How a cell is drawn, readable without colour; the value is the style's name in the spreadsheet."""

    TITLE = "Sheet title"
    HEADING = "Column heading"
    TEXT = "Table text"
    NUMBER = "Number"
    SIGNED = "Difference"
    FINE = "Small difference"
    COUNT = "Whole number"
    DATE = "Date"
    INPUT = "To fill in"
    FLAGGED = "Needs attention"
    NOTE = "Remark"


#: The looks of figures, which end at the right edge of their column.
FIGURES = (Look.NUMBER, Look.SIGNED, Look.FINE, Look.COUNT, Look.DATE)


def named_styles(decimals: int) -> dict[Look, NamedStyle]:
    """The style of every look, for a book whose numbers show so many decimals."""
    # _0 leaves the room of a nought: LibreOffice does not always keep to an indent from the right.
    shown, finer = (f"0.{'0' * places}_0" for places in (decimals, decimals + 1))
    hair, thin, medium = Side("hair"), Side("thin"), Side("medium")
    ruled, boxed, open_ = Border(bottom=hair), Border(thin, thin, thin, thin), Border()
    text, figure = Alignment(vertical="top", wrap_text=True), Alignment("right", "top")
    heading = Alignment(vertical="bottom", wrap_text=True)
    body, strong = Font(name="Arial", size=10), Font(name="Arial", size=10, bold=True)
    large, small = Font(name="Arial", size=14, bold=True), Font(name="Arial", size=9, italic=True)
    none, grey = PatternFill(), GREY
    drawn = {
        Look.TITLE: (large, Alignment(vertical="top"), open_, none, "@"),
        Look.HEADING: (strong, heading, Border(top=thin, bottom=medium), grey, "@"),
        Look.TEXT: (body, text, ruled, none, "@"),
        Look.NUMBER: (body, figure, ruled, none, shown),
        Look.SIGNED: (body, figure, ruled, none, f"+{shown};-{shown};{shown}"),
        Look.FINE: (body, figure, ruled, none, f"+{finer};-{finer};{finer}"),
        Look.COUNT: (body, figure, ruled, none, "0_0"),
        Look.DATE: (body, figure, ruled, none, "yyyy-mm-dd"),
        Look.INPUT: (body, text, boxed, none, "General"),
        Look.FLAGGED: (strong, text, Border(medium, medium, thin, thin), grey, "General"),
        Look.NOTE: (small, text, open_, none, "@"),
    }
    return {
        look: NamedStyle(
            look.value, font, fill, border, alignment, number_format, Protection(locked=look is not Look.INPUT)
        )
        for look, (font, alignment, border, fill, number_format) in drawn.items()
    }
