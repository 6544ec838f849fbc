"""How a mark of each role looks: line width, dashes and fill, all in black, by the system of the printed pages."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import NamedTuple

from grading.drawing.marks import Role
from grading.drawing.system import DASHED, DOTTED, FOLD, MIRROR, NARROW, SIZE_KINDS, WIDE, Dashes

__all__ = ["Colour", "Style", "style_of"]


class Colour(NamedTuple):
    """Red, green and blue of the screen (sRGB), each from 0 to 1."""

    red: float
    green: float
    blue: float


BLACK, SHADE, WHITE = (Colour(level, level, level) for level in (0, 0.88, 1))


@dataclass(frozen=True)
class Style:
    """``width`` of the line in mm, 0 for none; ``dash`` lengths on, off, on, ... in mm; ``fill`` inside a shape.

    Texts are written in ``colour``; one whose style has a fill stands on a patch of it.
    """

    width: float = NARROW
    dash: Dashes = ()
    colour: Colour = BLACK
    fill: Colour | None = None


_OF_ROLE = {
    Role.OUTLINE: Style(WIDE),
    Role.SEW_LINE: Style(NARROW, DASHED),
    Role.CUT_LINE: Style(WIDE),
    Role.FOLD_LINE: Style(NARROW, FOLD),
    Role.MIRROR_LINE: Style(NARROW, MIRROR),
    Role.PLACEMENT_LINE: Style(NARROW, DOTTED),
    Role.REFERENCE_LINE: Style(NARROW),
    Role.NOTCH: Style(WIDE),
    Role.PIERCING: Style(NARROW),
    Role.GRADE_POINT: Style(0, fill=BLACK),
    Role.GRADE_PATH: Style(NARROW),
    Role.STACKING_POINT: Style(WIDE),
    Role.MEASURE: Style(NARROW, fill=BLACK),
    Role.MEASURE_LINE: Style(NARROW),
    Role.PILE: Style(WIDE, fill=BLACK),
    Role.STRETCH: Style(NARROW, fill=BLACK),
    Role.LABEL: Style(),
    Role.LABEL_ON_LINE: Style(fill=WHITE),
    Role.RULE: Style(NARROW),
    Role.SHADE: Style(0, fill=SHADE),
    Role.BAR: Style(0, fill=BLACK),
    Role.FRAME: Style(WIDE),
    Role.CHECK_BAR: Style(NARROW),
    Role.REGISTRATION: Style(NARROW, fill=BLACK),
    Role.TRIM_LINE: Style(NARROW),
}


@cache
def style_of(role: Role, size: int | None = None, base: int | None = None) -> Style:
    """The style of a mark of that role; sew lines of a size have the size's own kind of line.

    Sizes are counted from 0, and the ``base`` is drawn with a wide line. Kinds come again after every six sizes:
    neighbours always differ, and each size has its name on it.
    """
    style = _OF_ROLE[role]
    if size is None or role is not Role.SEW_LINE:
        return style
    return replace(style, width=WIDE if size == base else NARROW, dash=SIZE_KINDS[size % len(SIZE_KINDS)])
