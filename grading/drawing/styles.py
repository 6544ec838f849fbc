"""How a mark of each role looks: line width, dashes, colour and fill, legible without colour."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, cached_property
from typing import NamedTuple

import numpy as np

from grading.drawing.marks import Role

__all__ = ["PATTERNS", "Colour", "Style", "Styles", "ramp"]


class Colour(NamedTuple):
    """Red, green and blue of the screen (sRGB), each from 0 to 1."""

    red: float
    green: float
    blue: float


BLACK, DARK, GREY, LIGHT, PALE, WHITE = (Colour(level, level, level) for level in (0, 0.35, 0.55, 0.75, 0.9, 1))


@dataclass(frozen=True)
class Style:
    """``width`` of the line in mm, 0 for none; ``dash`` lengths on, off, on, ... in mm; ``fill`` inside a shape.

    Texts are written in ``colour``; one whose style has a fill stands on a patch of it.
    """

    width: float = 0.25
    dash: tuple[float, ...] = ()
    colour: Colour = BLACK
    fill: Colour | None = None


_OF_ROLE = {
    Role.OUTLINE: Style(0.4),
    Role.SEW_LINE: Style(0.3, (2.4, 1.2)),
    Role.CUT_LINE: Style(0.5),
    Role.FOLD_LINE: Style(0.25, (5, 1.2, 0.8, 1.2)),
    Role.MIRROR_LINE: Style(0.2, (10, 1.5, 1.5, 1.5, 1.5, 1.5)),
    Role.PLACEMENT_LINE: Style(0.25, (0.9, 0.9)),
    Role.REFERENCE_LINE: Style(0.18, colour=GREY),
    Role.NOTCH: Style(0.4),
    Role.GRADE_POINT: Style(0, fill=BLACK),
    Role.GRADE_PATH: Style(0.15, colour=DARK),
    Role.STACKING_POINT: Style(0.3),
    Role.MEASURE: Style(0.18, fill=BLACK),
    Role.MEASURE_LINE: Style(0.18),
    Role.PILE: Style(0.5, fill=BLACK),
    Role.STRETCH: Style(0.3, fill=BLACK),
    Role.LABEL: Style(),
    Role.LABEL_ON_LINE: Style(fill=WHITE),
    Role.CAUTION: Style(),
    Role.RULE: Style(0.2),
    Role.SHADE: Style(0, fill=PALE),
    Role.FRAME: Style(0.35),
    Role.CHECK_BAR: Style(0.3),
    Role.REGISTRATION: Style(0.2),
    Role.TRIM_LINE: Style(0.2, (0.6, 2.4), GREY),
    Role.MAP_TILE: Style(0.2, fill=WHITE),
    Role.MAP_HERE: Style(0.6, fill=LIGHT),
}
_TEXT_ROLES = {Role.LABEL, Role.LABEL_ON_LINE, Role.CAUTION}
_PATTERNED = {Role.SEW_LINE, Role.CUT_LINE}

#: Line width and dashes that tell sizes apart without colour; neighbours differ most.
PATTERNS: tuple[tuple[float, tuple[float, ...]], ...] = (
    (0.25, (6, 1.5)),
    (0.4, (0.5, 1.1)),
    (0.25, (5, 1.2, 0.6, 1.2)),
    (0.4, (2, 1.4)),
    (0.2, ()),
    (0.5, (0.6, 2.6)),
    (0.25, (8, 1.2, 2, 1.2)),
    (0.6, (1.4, 1.4)),
    (0.25, (6, 1, 0.6, 1, 0.6, 1)),
    (0.5, (4, 3)),
    (0.2, (1, 0.7)),
    (0.6, (5, 1.6, 1, 1.6)),
)
_BASE_PATTERN: tuple[float, tuple[float, ...]] = (0.7, ())

# From dark blue to ochre. Lightness only grows, and red and green never part company far enough to matter
# to an eye that confuses them: what changes besides lightness is blue against yellow.
_ANCHORS = np.array([(14, 26, 74), (40, 66, 150), (104, 86, 156), (168, 96, 116), (200, 122, 34)]) / 255


def ramp(count: int) -> tuple[Colour, ...]:
    """``count`` colours in order of size, from dark to light, each clear on white paper.

    >>> len(ramp(6)), ramp(1)[0] == ramp(6)[0]
    (6, True)
    """
    place = np.linspace(0, len(_ANCHORS) - 1, count)
    channels = [np.interp(place, range(len(_ANCHORS)), channel) for channel in _ANCHORS.T]
    return tuple(Colour(*(round(float(level), 4) for level in colour)) for colour in zip(*channels, strict=True))


@dataclass(frozen=True)
class Styles:
    """The styles of a drawing with ``sizes`` sizes, of which ``base`` (an index) is emphasised."""

    sizes: int = 1
    base: int | None = None

    @cached_property
    def colours(self) -> tuple[Colour, ...]:
        """One for each size."""
        return ramp(self.sizes)

    def of(self, role: Role, size: int | None = None) -> Style:
        """The style of a mark; with a size, its colour, and on sew and cut lines its line pattern too.

        Texts keep their colour. Beyond twelve sizes the patterns come again, twice as heavy.
        """
        return _style(self, role, size)


@cache
def _style(styles: Styles, role: Role, size: int | None) -> Style:
    style = _OF_ROLE[role]
    if size is None or role in _TEXT_ROLES:
        return style
    colour = styles.colours[size]
    style = replace(style, colour=colour, fill=style.fill and colour)
    if role not in _PATTERNED:
        return style
    again, which = divmod(size, len(PATTERNS))
    width, dash = _BASE_PATTERN if size == styles.base else PATTERNS[which]
    return replace(style, width=width * (1 + again), dash=dash)
