"""Equal cards on a sheet, with marks to cut them apart by."""

from __future__ import annotations

from collections.abc import Iterator

from grading.drawing.marks import Box, Mark, Role, line

__all__ = ["cut_marks", "grid"]

_CUT_MARK = 4.0


def grid(inside: Box, across: int, up: int) -> Iterator[Box]:
    """The places of the cards, row by row from the top, that fill what is printable."""
    width, height = inside.width / across, inside.height / up
    for row in range(up):
        for column in range(across):
            left, bottom = inside.left + column * width, inside.top - (row + 1) * height
            yield Box(left, bottom, left + width, bottom + height)


def cut_marks(box: Box, inside: Box) -> Iterator[Mark]:
    """A short cross at each corner of a card, within the printable part."""
    for x in (box.left, box.right):
        for y in (box.bottom, box.top):
            across = max(x - _CUT_MARK, inside.left), min(x + _CUT_MARK, inside.right)
            up = max(y - _CUT_MARK, inside.bottom), min(y + _CUT_MARK, inside.top)
            yield line([(across[0], y), (across[1], y)], Role.REGISTRATION)
            yield line([(x, up[0]), (x, up[1])], Role.REGISTRATION)
