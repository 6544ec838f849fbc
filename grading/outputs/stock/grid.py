"""Equal cards on a sheet, with marks to cut them apart by."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from grading.drawing.marks import Box, Drawing, Mark, Role, line
from grading.drawing.pages import Bookmark, Page
from grading.drawing.paper import Printing

__all__ = ["card_pages", "grid"]

_CUT_MARK = 4.0
Card = TypeVar("Card")


def card_pages(
    cards: Sequence[Card],
    drawn: Callable[[Card, Box], Drawing],
    across: int,
    up: int,
    printing: Printing,
    named: Callable[[Sequence[Card]], str],
) -> list[Page]:
    """The cards, each ``drawn`` in its place, on as many sheets as they take; ``named`` lists a sheet, if not blank."""
    sheet = printing.upright()
    places = list(grid(sheet.printable, across, up))
    pages = []
    for first in range(0, len(cards), len(places)):
        here, drawing = cards[first : first + len(places)], Drawing()
        for card, box in zip(here, places, strict=False):
            drawing += drawn(card, box) + Drawing(tuple(_cut_marks(box, sheet.printable)))
        pages.append(Page(sheet, drawing, bookmarks=tuple(Bookmark(title) for title in (named(here),) if title)))
    return pages


def grid(inside: Box, across: int, up: int) -> Iterator[Box]:
    """The places of the cards, row by row from the top, that fill what is printable."""
    width, height = inside.width / across, inside.height / up
    for row in range(up):
        for column in range(across):
            left, bottom = inside.left + column * width, inside.top - (row + 1) * height
            yield Box(left, bottom, left + width, bottom + height)


def _cut_marks(box: Box, inside: Box) -> Iterator[Mark]:
    """A short cross at each corner of a card, within the printable part."""
    for x in (box.left, box.right):
        for y in (box.bottom, box.top):
            across = max(x - _CUT_MARK, inside.left), min(x + _CUT_MARK, inside.right)
            up = max(y - _CUT_MARK, inside.bottom), min(y + _CUT_MARK, inside.top)
            yield line([(across[0], y), (across[1], y)], Role.REGISTRATION)
            yield line([(x, up[0]), (x, up[1])], Role.REGISTRATION)
