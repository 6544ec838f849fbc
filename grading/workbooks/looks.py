"""How the cells of a workbook look, by what they hold, readable without colour: as XlsxWriter's format properties."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Any

__all__ = ["FIGURES", "FLAG", "LINK", "RIGHT", "TEXTS", "Look", "properties"]


class Look(StrEnum):
    """How a cell is drawn, readable without colour."""

    TITLE = "Sheet title"
    HEADING = "Column heading"
    TEXT = "Table text"
    NUMBER = "Number"
    SIXTEENTHS = "Inches and sixteenths"
    SIGNED = "Difference"
    SIGNED_SIXTEENTHS = "Difference in sixteenths"
    FINE = "Small difference"
    COUNT = "Whole number"
    DATE = "Date"
    INPUT = "To fill in"
    BOX = "Figure to fill in"
    FLAGGED = "Needs attention"
    NOTE = "Remark"


#: The looks of figures, which end at the right edge of their column.
FIGURES = (Look.NUMBER, Look.SIXTEENTHS, Look.SIGNED, Look.SIGNED_SIXTEENTHS, Look.FINE, Look.COUNT, Look.DATE)

#: The looks whose cells are text even where a figure is typed over it.
TEXTS = (Look.TITLE, Look.HEADING, Look.TEXT, Look.NOTE)

Properties = Mapping[str, Any]

_THIN, _MEDIUM, _HAIR = 1, 2, 7  # XlsxWriter's numbers for the borders of the format
_GREY: Properties = {"bg_color": "#E4E4E4"}
_BODY: Properties = {"font_name": "Arial", "font_size": 10}
_STRONG: Properties = {**_BODY, "bold": True}
_WRAPPED: Properties = {"valign": "top", "text_wrap": True}
_FIGURE: Properties = {**_BODY, "align": "right", "valign": "top", "bottom": _HAIR}

#: How cells look to which a rule draws attention.
FLAG: Properties = {"bold": True, "border": _THIN, **_GREY}
#: What a text that leads elsewhere changes of its cell's look.
LINK: Properties = {**_BODY, "bold": False, "italic": False, "underline": 1}
#: What the heading over figures changes of a heading's look.
RIGHT: Properties = {"align": "right", "indent": 1}


_BOX: Properties = {"font_size": 9, "align": "center", "valign": "vcenter", "shrink": True}
_SIDES: Properties = {"left": _MEDIUM, "right": _MEDIUM, "top": _THIN, "bottom": _THIN}
_RULED: Properties = {"top": _THIN, "bottom": _MEDIUM, **_GREY, "valign": "bottom", "text_wrap": True}
#: In formats of numbers ``{shown}`` stands for as many decimals as the book shows, ``{finer}`` for one more. _0 leaves
#: the room of a nought: LibreOffice does not always keep to an indent from the right.
_OF_LOOK: Mapping[Look, Properties] = {
    Look.TITLE: {**_STRONG, "font_size": 14, "valign": "top", "num_format": "@"},
    Look.HEADING: {**_STRONG, **_RULED, "num_format": "@"},
    Look.TEXT: {**_BODY, **_WRAPPED, "bottom": _HAIR, "num_format": "@"},
    Look.NUMBER: {**_FIGURE, "num_format": "{shown}"},
    Look.SIXTEENTHS: {**_FIGURE, "num_format": "# ??/??_0"},  # of exact sixteenths it shows the lowest terms
    Look.SIGNED: {**_FIGURE, "num_format": "+{shown};-{shown};{shown}"},
    Look.SIGNED_SIXTEENTHS: {**_FIGURE, "num_format": "+# ??/??_0;-# ??/??_0;0_0"},
    Look.FINE: {**_FIGURE, "num_format": "+{finer};-{finer};{finer}"},
    Look.COUNT: {**_FIGURE, "num_format": "0_0"},
    Look.DATE: {**_FIGURE, "num_format": "yyyy-mm-dd"},
    Look.INPUT: {**_BODY, **_WRAPPED, "border": _THIN, "locked": False},
    Look.BOX: {**_BODY, **_BOX, "border": _THIN, "locked": False},
    Look.FLAGGED: {**_STRONG, **_WRAPPED, **_SIDES, **_GREY},
    Look.NOTE: {**_BODY, **_WRAPPED, "font_size": 9, "italic": True, "num_format": "@"},
}


def properties(look: Look, decimals: int) -> Properties:
    """The properties of a look, in a book whose numbers show ``decimals`` of them."""
    shown, finer = (f"0.{'0' * places}_0" for places in (decimals, decimals + 1))
    known = dict(_OF_LOOK[look])
    if "num_format" in known:
        known["num_format"] = known["num_format"].format(shown=shown, finer=finer)
    return known
