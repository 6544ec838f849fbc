"""The key of a document, drawn with words once, and the label that goes on the back of a card."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from grading.drawing.fonts import ASCENT, DESCENT, LINE_SPACING, text_width
from grading.drawing.marks import Align, Arrow, Box, Dot, Drawing, Mark, Role, Text, line, paragraph, rectangle
from grading.drawing.system import LARGE, PLAIN, SMALL
from grading.readings.marks import PIERCED

__all__ = ["Entry", "back_label", "key"]

#: How long a sample is, how far the words stand from it, and what is left free inside the frame, mm.
SAMPLE, GAP, INSIDE = 18.0, 2.5, 2.0
#: Widths that a key is tried in, mm.
WIDTHS = (92.0, 122.0, 182.0, 62.0)
_WORDS = Text("", 0, 0, SMALL)
_ROW = LINE_SPACING * SMALL

#: A sample drawn about (0, 0), 18 mm wide, and what it means.
Entry = tuple[Sequence[Mark], str]


def key(entries: Sequence[Entry], notes: Sequence[str]) -> tuple[Drawing, ...]:
    """The entries and below them the notes in a frame, in several widths, the most welcome first."""
    return tuple(_key(entries, notes, width) for width in WIDTHS)


def sample(role: Role) -> list[Mark]:
    """A stretch of a line."""
    return [line([(-SAMPLE / 2, 0), (SAMPLE / 2, 0)], role)]


def mirror_sample() -> list[Mark]:
    """A mirror line lying, with the strokes at both of its ends."""
    ends = [x + shift for x in (-SAMPLE / 2 + 1, SAMPLE / 2 - 2.2) for shift in (0.0, 1.2)]
    return [*sample(Role.MIRROR_LINE), *(line([(x, -1.6), (x, 1.6)], Role.RULE) for x in ends)]


def arrow_sample(role: Role, *, both: bool = False) -> list[Mark]:
    return [Arrow((-SAMPLE / 2, 0), (SAMPLE / 2, 0), role, both=both, head=3.0)]


def tick_sample() -> list[Mark]:
    """Places to pierce: a single one and a pair."""
    return [Dot(x, 0, Role.PIERCING, PIERCED) for x in (-5.0, 3.75, 6.25)]


def change_over_sample() -> list[Mark]:
    """A place to pierce with a cross through it."""
    arms = [line([(-1.4, way * -1.4), (1.4, way * 1.4)], Role.RULE) for way in (1, -1)]
    return [Dot(0, 0, Role.PIERCING, PIERCED), *arms]


def _key(entries: Sequence[Entry], notes: Sequence[str], width: float) -> Drawing:
    """One width: as many columns as it has room for."""
    columns = 2 if width > 150 else 1
    column = (width - 2 * INSIDE - GAP * (columns - 1)) / columns
    per_column = -(-len(entries) // columns)
    marks: list[Mark] = [Text("Key", INSIDE, -INSIDE - PLAIN, PLAIN, bold=True)]
    top = -INSIDE - PLAIN - DESCENT * PLAIN - 1
    lowest = top
    for number in range(columns):
        y = top
        left = INSIDE + number * (column + GAP)
        for drawn, words in entries[number * per_column : (number + 1) * per_column]:
            text = paragraph([words], left + SAMPLE + GAP, y, column - SAMPLE - GAP, _WORDS)
            middle = y - (ASCENT * SMALL - SMALL / 2)
            marks += [mark.moved(left + SAMPLE / 2, middle) for mark in drawn]
            marks += text.marks
            y = text.box.bottom - 0.6
        lowest = min(lowest, y)
    told = paragraph(notes, INSIDE, lowest - 0.8, width - 2 * INSIDE, _WORDS)
    marks += told.marks
    bottom = (told.box.bottom if told.marks else lowest) - INSIDE / 2
    return Drawing((rectangle(Box(0, bottom, width, 0), Role.RULE), *marks))


def back_label(title: str, hand: str, facts: Iterable[str], letters: Sequence[str]) -> tuple[Drawing, ...]:
    """What is glued on the back of a card, for the hand that it serves when turned over: lying, or standing."""
    lying = Drawing(tuple(_back_label(title, hand, list(facts), letters)))
    return lying, lying.turned()


def _back_label(title: str, hand: str, facts: Sequence[str], letters: Sequence[str]) -> Iterator[Mark]:
    head = Text(f"{title} · {hand.upper()} HAND", INSIDE, -1.5 - ASCENT * PLAIN, PLAIN, bold=True)
    told = ["glue on the back of the card", *facts]
    width = max(head.width, *(text_width(text, SMALL) for text in told)) + 2 * INSIDE
    rows = [
        replace(_WORDS, text=text, x=INSIDE, y=head.y - (number + 1) * _ROW - 0.4) for number, text in enumerate(told)
    ]
    bottom = rows[-1].y - DESCENT * SMALL - 1.0
    right = width
    yield head
    yield from rows
    for letter in letters:
        # Small squares to be cut apart: a letter shows through no card.
        side = max(-bottom / 2, LARGE * (1 + 2 * max(DESCENT, ASCENT - 1)) + 0.4)
        yield rectangle(Box(right, bottom, right + side, bottom + side), Role.RULE)
        yield Text(letter, right + side / 2, bottom + (side - LARGE) / 2, LARGE, align=Align.CENTRE, bold=True)
        right += side
    yield rectangle(Box(0, bottom, width, 0), Role.RULE)
