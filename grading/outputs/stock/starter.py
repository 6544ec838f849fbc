"""Writes a stock table as the workbook that the reader reads, with what every column is for."""

from __future__ import annotations

from collections.abc import Sequence

from grading.model.stock import SkinKind, StockTable
from grading.sheets import stock_sheets as sheets
from grading.sheets.declared import ABOUT, Kind, Sheet
from grading.sheets.declared import Column as Declared
from grading.units import MM2_PER
from grading.workbooks.book import Book, Column, Content, Look

__all__ = ["stock_table_workbook"]


def stock_table_workbook(table: StockTable, *, source: str, notes: Sequence[str] = ()) -> bytes:
    """The table's rows, every figure written out; ``source`` stands beside the customers, ``notes`` at the end."""
    book = Book("Stock table")
    terms = table.terms
    days = (day.isoformat() if day else None for day in (terms.hand_out_on, terms.needed_by))
    fields: list[Content] = [terms.pairs, terms.at_least, terms.girth_row, terms.length_row, terms.girth_tolerance]
    fields += [terms.length_tolerance, terms.gap, terms.pile_within, terms.seed, terms.largest_bundle]
    fields += [*days, terms.currency, terms.other_costs]
    written: dict[Sheet, list[list[Content]]] = {
        sheets.STOCK: [[field.name, value] for field, value in zip(sheets.STOCK_FIELDS, fields, strict=True)],
        sheets.CUSTOMERS: [
            [c.group, c.share, c.girth, c.girth_spread, c.length, c.length_spread, c.correlation, "mm", source]
            for c in table.customers
        ],
        sheets.PAST_SALES: [[sold.group, sold.size, sold.pairs] for sold in table.sold],
        sheets.SKINS: [_skin(kind) for kind in table.skins],
        sheets.OUTLINES: [
            [kind.name, part, x, y, "mm"] for kind in table.skins for part, points in _parts(kind) for x, y in points
        ],
        sheets.WORK: [[row.group, row.size, row.minutes, row.rate, row.piece_rate] for row in table.work],
        sheets.OUTWORKERS: [[row.name, row.pairs_a_week, ""] for row in table.outworkers],
        sheets.SELLING: [[row.group, row.size, row.price] for row in table.selling],
    }
    for declared, rows in written.items():
        sheet = book.sheet(declared.name, landscape=True)
        area = sheet.table([Column(column.name, Look.INPUT) for column in declared.columns], rows)
        for number, column in enumerate(declared.columns):
            words = {Kind.YES_NO: ("yes", "no"), Kind.UNIT: ("mm", "cm", "in")}.get(column.kind, column.choices)
            if words and rows:
                sheet.choose_among(area.column(number), words)
    _explained(book, notes)
    return book.to_bytes()


def _skin(kind: SkinKind) -> list[Content]:
    area = None if kind.area is None else kind.area / float(MM2_PER["sq ft"])
    per = next((unit for unit, size in MM2_PER.items() if float(size) == kind.priced_area), sheets.PER_SKIN)
    buy = "yes" if kind.buy_more else "no"
    return [kind.name, kind.count, kind.width, kind.length, "mm", area, "sq ft", kind.lost, kind.price, per, buy, ""]


def _parts(kind: SkinKind) -> list[tuple[str, tuple[tuple[float, float], ...]]]:
    whole = [(sheets.WHOLE_OUTLINE, kind.outline)] if kind.outline else []
    return [*whole, *((f"flaw {number}", flaw) for number, flaw in enumerate(kind.flaws, 1))]


def _explained(book: Book, notes: Sequence[str]) -> None:
    sheet = book.sheet(ABOUT, landscape=True, frozen_columns=2)
    rows: list[list[Content]] = []
    for declared in sheets.STOCK_SHEETS:
        rows.append([declared.name, "", declared.help, "the whole sheet may be left out"])
        rows += [_column(declared.name, column.name, column) for column in declared.columns]
    rows += [_column(sheets.STOCK.name, f"field {field.name}", field) for field in sheets.STOCK_FIELDS]
    columns = [Column("Sheet"), Column("Column"), Column("What it is for", width=60), Column("What it holds", width=50)]
    sheet.table(columns, rows)
    for note in notes:
        sheet.note(note)


def _column(sheet: str, name: str, column: Declared) -> list[Content]:
    holds = f"one of: {', '.join(column.choices)}" if column.choices else column.kind.value
    blank = f"blank counts as {sheets.counts_as(column)}" if sheets.counts_as(column) else "may be blank"
    return [sheet, name, column.help, f"{holds}; {blank if column.optional else 'needed'}"]
