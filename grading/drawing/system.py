"""The one system of every printed page: heights of lettering, widths and kinds of lines, as drawing standards say.

Lettering by ISO 3098-1, line kinds and widths by ISO 128-2 (values from memory). A page takes its texts and lines from
here and from nowhere else, so that all sheets read alike, in grey as in black.
"""

from __future__ import annotations

__all__ = [
    "CONTINUOUS",
    "DASHED",
    "DOTTED",
    "FOLD",
    "HEIGHTS",
    "LARGE",
    "LARGEST",
    "LONG_DASH_DOT",
    "MIRROR",
    "NARROW",
    "PLAIN",
    "SIZE_KINDS",
    "SMALL",
    "WIDE",
    "WIDTHS",
    "Dashes",
]

#: Heights of capitals, mm: notes and figures, table rows to work by, headings and letters, and what tells a size.
SMALL, PLAIN, LARGE, LARGEST = 2.5, 3.5, 5.0, 7.0
HEIGHTS = (SMALL, PLAIN, LARGE, LARGEST)

#: Widths of lines, mm.
NARROW, WIDE = 0.25, 0.5
WIDTHS = (NARROW, WIDE)

#: Lengths on, off, on, off, … in mm.
Dashes = tuple[float, ...]

# A dash is 12, a long dash 24, a gap 3 widths of a narrow line; a dot is drawn as two widths, since the half width that
# the standard has does not survive an office printer.
_DASH, _LONG, _GAP, _DOT = 12 * NARROW, 24 * NARROW, 3 * NARROW, 2 * NARROW
CONTINUOUS: Dashes = ()
DASHED: Dashes = (_DASH, _GAP)
DOTTED: Dashes = (_DOT, _GAP)
LONG_DASH_DOT: Dashes = (_LONG, _GAP, _DOT, _GAP)
#: A line of symmetry, and a line along which something is turned over.
MIRROR = LONG_DASH_DOT
FOLD: Dashes = (_LONG, _GAP, _DOT, _GAP, _DOT, _GAP)

#: Kinds that tell sizes apart in pure black, neighbours as unlike as can be: none of them is a mirror or a fold line.
SIZE_KINDS: tuple[Dashes, ...] = (
    DASHED,
    CONTINUOUS,
    DOTTED,
    (_LONG, _GAP, _DASH / 2, _GAP),
    (_DASH, 4 * _GAP),
    (_LONG, _GAP, _DASH / 2, _GAP, _DASH / 2, _GAP),
)
