"""Whether the font of the printed sheets has every character of the names in the tables."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from grading.codes import Code
from grading.drawing.fonts import missing_glyphs
from grading.findings import Finding, Place, Severity
from grading.model.block import Block
from grading.model.returns import CheckSheet
from grading.model.sizes import SizeTable
from grading.model.stock import StockTable
from grading.sheets.block_sheets import BLOCK_SHEETS
from grading.sheets.stock import stock_rows
from grading.sheets.stock_sheets import STOCK_SHEETS
from grading.sheets.values import printed_texts

__all__ = ["unprintable", "unprintable_block", "unprintable_makers", "unprintable_stock"]


def unprintable(block: Block, table: SizeTable) -> Iterator[Finding]:
    """A finding for every printed name or text with a character that the font lacks: it would come out as a box."""
    names = dict.fromkeys((table.group, *table.sizes), Place(sheet=table.group))
    names |= {name: table.place(name) for name in table.measurements}
    yield from _lacking(names | _texts_of(block))


def unprintable_block(block: Block) -> Iterator[Finding]:
    """The same for what a construction sheet prints."""
    yield from _lacking(_texts_of(block))


def _texts_of(block: Block) -> dict[str, Place]:
    texts = (printed_texts(sheet, getattr(block, sheet.fills) if sheet.fills else [block]) for sheet in BLOCK_SHEETS)
    return dict(text for of_sheet in texts for text in of_sheet)


def unprintable_makers(sheets: Iterable[CheckSheet]) -> Iterator[Finding]:
    """The same for the names of those who measured: a warning, since their work is judged all the same."""
    yield from _lacking({sheet.name: sheet.place for sheet in sheets if sheet.name}, Severity.WARNING)


def unprintable_stock(table: StockTable) -> Iterator[Finding]:
    """The same for what a batch prints: skins, outworkers and the currency."""
    yield from _lacking(dict(text for sheet in STOCK_SHEETS for text in printed_texts(sheet, stock_rows(table, sheet))))


def _lacking(names: Mapping[str, Place], severity: Severity = Severity.ERROR) -> Iterator[Finding]:
    for name, place in names.items():
        missing = missing_glyphs(name)
        if missing:
            yield Finding(
                Code.CHARACTER_NOT_PRINTABLE,
                severity,
                place,
                f"'{name}' has characters that cannot be printed: {' '.join(missing)}",
                "Letters of the European alphabets, figures and common signs.",
                "Write the name with other characters.",
            )
