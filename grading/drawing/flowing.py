"""Parts of rows laid below one another, on as many sheets as they take."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from grading.drawing.marks import Box, Drawing
from grading.drawing.pages import Bookmark, Frame, PageContent

__all__ = ["APART", "flowed", "on_flowing_sheets"]

#: Between two parts, mm.
APART = 3.0


def on_flowing_sheets(parts: Sequence[Sequence[Drawing]], frame: Frame, bookmark: str) -> list[PageContent]:
    """The parts on as many sheets of one frame as they take, the first of them listed by the ``bookmark``."""
    first, *others = (PageContent(frame, drawing=page) for page in flowed(parts, frame.area))
    return [replace(first, bookmarks=(Bookmark(bookmark),)), *others]


def flowed(parts: Sequence[Sequence[Drawing]], area: Box) -> Iterator[Drawing]:
    """Rows, each hung from (0, 0), below one another in the area, as many areas as they take.

    No heading, the first row of its part, stands without a row below it.
    """
    page, top = Drawing(), area.top
    for part in parts:
        for number, row in enumerate(part):
            lowest = row.box.bottom + (part[1].box.bottom if number == 0 and len(part) > 1 else 0.0)
            if page.marks and top + lowest < area.bottom:
                yield page
                page, top = Drawing(), area.top
            page += row.moved(area.left, top)
            top += row.box.bottom
        top -= APART
    if page.marks:
        yield page
