"""Slips: for each outworker a sheet of the bundles, what they pay, when they are due, and places to sign."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from grading.drawing.flowing import on_flowing_sheets
from grading.drawing.marks import Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.pages import Page, PageContent, PlainFrame, TitleBlock, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.ruled import ruled_rows
from grading.drawing.system import LARGE, PLAIN, SMALL
from grading.findings import counted
from grading.outputs.stock.words import by_outworker, days_of, pay_of_a_pair, to_sign, totals_of
from grading.outputs.stock.words import numbered as in_few_words
from grading.outputs.wording import CAUTIONS_AT_WORK
from grading.stock.bundles import Bundle
from grading.stock.plan import Plan

__all__ = ["slip", "slips"]

_HEADINGS = ("Style", "Group", "Size", "Pair numbers", "bundle", "pairs", "pieces", "hand out", "due", "a pair", "pay")
#: How many of those columns hold words.
_WORDS = 4
_HEADING, _TEXT, _NOTE = Text("", 0, 0, LARGE, bold=True), Text("", 0, 0, PLAIN), Text("", 0, 0, SMALL)
#: The height of a line to sign on, and how wide its label stands, mm.
_LINE, _LABEL = 11.0, 46.0


def slips(plan: Plan, styles: Mapping[str, str], printing: Printing, *, run_id: str) -> bytes:
    """A slip for every outworker who has a bundle, as a PDF file; ``styles`` gives each group's style."""
    pages: list[Page] = []
    names = " · ".join(dict.fromkeys(styles[bundle.group] for bundle in plan.bundles))
    day = plan.batch.table.terms.hand_out_on
    for outworker, bundles in by_outworker(plan).items():
        title = TitleBlock("slip", names, piece=outworker, scale="", date=day.isoformat() if day else "", run=run_id)
        frame = PlainFrame(printing.upright(), title)
        pages += numbered(slip(outworker, bundles, plan, styles, frame))
    about = About("Slips", subject=f"What each outworker has of the batch, run {run_id}", keywords=(run_id,))
    return pdf_bytes(pages, about)


def slip(
    outworker: str, bundles: Sequence[Bundle], plan: Plan, styles: Mapping[str, str], frame: PlainFrame
) -> list[PageContent]:
    """The sheets of one outworker."""
    width, money = frame.area.width, plan.batch.table.terms.currency
    pay = pay_of_a_pair(plan)
    rows = []
    for bundle in bundles:
        each, count = pay[bundle.group, bundle.size], len(bundle.pairs)
        words = [styles[bundle.group], bundle.group, bundle.size, in_few_words(p.number for p in bundle.pairs)]
        counts = [str(bundle.number), str(count), str(bundle.pieces), *map(str, days_of(bundle))]
        rows.append([*words, *counts, f"{each:.2f}", f"{count * each:.2f}"])
    pairs, pieces, whole = totals_of(bundles, pay)
    rows.append(["In all", "", "", "", str(len(bundles)), str(pairs), str(pieces), "", "", "", f"{whole:.2f}"])
    told = f"{counted(len(bundles), 'bundle')}, {counted(pairs, 'pair')}, {pieces} pieces. "
    told += f"Pay {whole:.2f} {money} for all that comes back right{_until(bundles)}."
    head = paragraph([outworker], 0, 0, width, _HEADING)
    head += paragraph([told], 0, head.box.bottom - 1, width, _TEXT)
    table = ruled_rows(_HEADINGS, rows, words=_WORDS, width=width)
    foot = paragraph([CAUTIONS_AT_WORK], 0, 0, width, _NOTE)
    parts = [[head], table, [Drawing(tuple(_to_sign(width, money)))], [foot]]
    return on_flowing_sheets(parts, frame, outworker)


def _until(bundles: Sequence[Bundle]) -> str:
    days = [bundle.due for bundle in bundles if bundle.due]
    return f", the last of it due on {max(days).isoformat()}" if days else ""


def _to_sign(width: float, money: str) -> Iterator[Mark]:
    """Lines to sign on."""
    for row, label in enumerate(to_sign(money)):
        y = -_LINE * (row + 1)
        for column, text in enumerate((label, "date", "signature")):
            left = (0.0, width * 0.48, width * 0.68)[column]
            right = (width * 0.46, width * 0.66, width)[column]
            yield replace(_NOTE, text=text, x=left, y=y)
            yield line([(left + (_LABEL if column == 0 else 17.0), y - 0.8), (right, y - 0.8)], Role.RULE)
