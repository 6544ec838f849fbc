"""Bundle tickets: eight to a sheet, with cut marks, to travel with the pieces and come back with the mittens."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from grading.drawing.fonts import text_width
from grading.drawing.marks import Align, Box, Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.system import LARGEST, PLAIN, SMALL
from grading.outputs.stock.grid import card_pages
from grading.outputs.stock.words import numbered, pay_of_a_pair, skins_named
from grading.stock.bundles import Bundle
from grading.stock.plan import Plan

__all__ = ["ticket", "tickets"]

ACROSS, UP = 2, 4
_PADDING = 3.5
_SIZE = Text("", 0, 0, LARGEST, bold=True)
_NAME = Text("", 0, 0, PLAIN, bold=True)
_NUMBER = Text("", 0, 0, PLAIN, align=Align.RIGHT, bold=True)
_PLAIN = Text("", 0, 0, SMALL)
_NOTE = "Keep both hands of a pair together: both are of one skin. Count needles out and in. The slip has all cautions."
#: For a style and group that take more than two lines.
_TWO_LINES = 12.0
_LONG_NAME = replace(_NAME, height=SMALL)
#: How wide the number of the bundle and the run stand, and how far apart the lines to write on are, mm.
_RIGHT, _APART = 29.0, 9.0


def tickets(plan: Plan, styles: Mapping[str, str], printing: Printing, *, run_id: str) -> bytes:
    """A ticket for every bundle as a PDF file; ``styles`` gives the style's name for each group."""
    pay, money = pay_of_a_pair(plan), plan.batch.table.terms.currency

    def drawn(bundle: Bundle, box: Box) -> Drawing:
        paid = f"{pay[bundle.group, bundle.size]:.2f} {money} a pair"
        return ticket(bundle, styles[bundle.group], paid, run_id, box)

    def named(bundles: Sequence[Bundle]) -> str:
        return f"Bundles {bundles[0].number} to {bundles[-1].number}"

    pages = card_pages(plan.bundles, drawn, ACROSS, UP, printing, named)
    about = About("Bundle tickets", subject=f"Tickets of {len(plan.bundles)} bundles, run {run_id}", keywords=(run_id,))
    return pdf_bytes(pages, about)


def ticket(bundle: Bundle, style: str, paid: str, run_id: str, box: Box) -> Drawing:
    """One ticket: what the bundle is, from which skins, who has it until when, what is ``paid``, and what came back."""
    inner = box.grown(-_PADDING)
    left, width = inner.left, inner.width
    beside = text_width(bundle.size, _SIZE.height, bold=True) + 3
    heading = paragraph([bundle.size], left, inner.top, width, _SIZE)
    title = paragraph([style, bundle.group], left + beside, inner.top, width - beside - _RIGHT, _NAME)
    if title.box.height > _TWO_LINES:
        title = paragraph([style, bundle.group], left + beside, inner.top, width - beside - _RIGHT, _LONG_NAME)
    number = paragraph([f"Bundle {bundle.number}"], inner.right, inner.top, _RIGHT, _NUMBER)
    run = paragraph([f"run {run_id}"], inner.right, number.box.bottom, _RIGHT, replace(_PLAIN, align=Align.RIGHT))
    below = min(part.box.bottom for part in (heading, title, run)) - 0.5
    count = len(bundle.pairs)
    due = f"week {bundle.week}" + (f", due {bundle.due.isoformat()}" if bundle.due else "")
    said = [
        f"{count} {'pair' if count == 1 else 'pairs'}, left and right: {_pieces(bundle)}",
        f"Pair numbers {numbered([pair.number for pair in bundle.pairs])} · {skins_named(bundle.skins)}",
        f"{bundle.outworker} · {due} · {paid}",
    ]
    facts = paragraph(said, left, below, width, _PLAIN)
    foot = paragraph([_NOTE], left, 0, width, _PLAIN)
    foot = foot.moved(0, inner.bottom - foot.box.bottom)
    blanks = tuple(_blanks(["Pieces out", "Pieces in", "Name", "Date"], left, foot.box.top + 1.2, width))
    return heading + title + number + run + facts + Drawing(blanks) + foot


def _pieces(bundle: Bundle) -> str:
    """How many of each piece the bundle has."""
    names = [piece.name for pair in bundle.pairs for piece in pair.pieces]
    return ", ".join(f"{names.count(name)} × {name}" for name in dict.fromkeys(names))


def _blanks(labels: Sequence[str], left: float, bottom: float, width: float) -> Iterator[Mark]:
    """Places to write, two beside each other: a label and a line."""
    half = width / 2
    for number, label in enumerate(labels):
        row, column = divmod(number, 2)
        x, y = left + column * half, bottom + (1 - row) * _APART
        yield replace(_PLAIN, text=label, x=x, y=y)
        yield line([(x + 20, y - 0.5), (x + half - 3, y - 0.5)], Role.RULE)
