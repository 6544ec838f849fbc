"""Labels: one for each pair, twenty-four to a sheet of A4, with cut marks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from grading.codes import Code
from grading.drawing.fonts import text_width
from grading.drawing.marks import Box, Drawing, Role, Text, line, paragraph
from grading.drawing.pages import Page
from grading.drawing.paper import Printing
from grading.drawing.system import LARGE, LARGEST, PLAIN, SMALL
from grading.findings import Finding, Place
from grading.outputs.stock.grid import card_pages, grid

__all__ = ["ACROSS", "UP", "LabelWords", "crowded", "label", "label_pages"]

ACROSS, UP = 3, 8
_PADDING, _GUTTER = 2.0, 2.0
_TEXT, _BOLD = Text("", 0, 0, SMALL), Text("", 0, 0, SMALL, bold=True)


@dataclass(frozen=True, slots=True)
class LabelWords:
    """What a label says. Without a maker or care words there is a line to write them on."""

    size: str
    style: str
    group: str
    fits: str
    material: str
    maker: str
    batch: str
    care: str


def label_pages(labels: Sequence[LabelWords], printing: Printing) -> list[Page]:
    """The labels on as many sheets as they take."""
    return card_pages(labels, label, ACROSS, UP, printing, lambda here: "Labels" if here[0] is labels[0] else "")


def label(words: LabelWords, box: Box) -> Drawing:
    """One label: what there is no room for is left out, least needed last (see `crowded`)."""
    return _filled(words, box.grown(-_PADDING))[0]


def crowded(labels: Sequence[LabelWords], printing: Printing) -> Iterator[Finding]:
    """A warning where the words of a label are more than it has room for."""
    inner = next(grid(printing.upright().printable, ACROSS, UP)).grown(-_PADDING)
    lacking: Mapping[str, None] = {what: None for words in labels for what in _filled(words, inner)[1]}
    if lacking:
        found = f"A label has no room for: {', '.join(lacking)}."
        expected = f"{ACROSS * UP} labels to a sheet, each with all its words."
        yield Finding.warning(Code.LABEL_FULL, Place(), found, expected, "Shorten maker, care words or material.")


def _filled(words: LabelWords, inner: Box) -> tuple[Drawing, list[str]]:
    """What is drawn, and what those lines are about for which there is no room: the size is as large as leaves most."""
    ways = [_with(words, inner, height) for height in (LARGEST, LARGE, SMALL)]
    return min(ways, key=lambda way: len(way[1]))


def _with(words: LabelWords, inner: Box, largest: float) -> tuple[Drawing, list[str]]:
    drawn, lacking = _head(words, inner, largest), []
    top = drawn.box.bottom
    for what, row in _rows(words, inner.width):
        if top + row.box.bottom < inner.bottom - 1e-6:
            lacking.append(what)
        else:
            drawn += row.moved(inner.left, top)
            top += row.box.bottom
    return drawn, lacking


def _head(words: LabelWords, inner: Box, largest: float) -> Drawing:
    """The size, in the largest letters that leave room for the style and the group beside it."""
    narrow = 0.45 * inner.width
    heights = [height for height in (LARGEST, LARGE, PLAIN) if height <= largest]
    height = next((h for h in heights if text_width(words.size, h, bold=True) <= narrow), SMALL)
    size = paragraph([words.size], inner.left, inner.top, narrow, Text("", 0, 0, height, bold=True))
    left = size.box.right + _GUTTER
    return size + paragraph([words.style, words.group], left, inner.top - 0.6, inner.right - left, _BOLD)


def _rows(words: LabelWords, width: float) -> Iterator[tuple[str, Drawing]]:
    """What each row is about, and the row, hung from (0, 0); the most needed first."""
    if words.fits:
        yield "the fists it fits", paragraph([f"fits fists {words.fits}"], 0, 0, width, _BOLD)
    for what, text, blank in (
        ("the batch", words.batch, ""),
        ("the material", words.material, "Material"),
        ("the maker", words.maker, "Maker"),
        ("care words", words.care, "Care"),
    ):
        yield what, paragraph([text], 0, 0, width, _TEXT) if text else _to_write(blank, width)


def _to_write(what: str, width: float) -> Drawing:
    """A line to write on."""
    word = paragraph([what], 0, 0, width, _TEXT)
    low = word.box.bottom
    return word + Drawing((line([(word.box.right + _GUTTER, low), (width, low)], Role.RULE),))
