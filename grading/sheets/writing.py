"""Writes values of the model as the workbooks that the readers read, each sheet as it is declared."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from grading.model.block import Block
from grading.model.measured import Chosen, Hands, TracedPoint
from grading.model.sizes import SizeTable
from grading.model.stock import StockTable
from grading.sheets.block_sheets import BLOCK_SHEETS
from grading.sheets.columns import Cells, Column, Sheet
from grading.sheets.declared import ABOUT, FAMILY, HAND, SIZE_GROUP, STYLE, TRACED
from grading.sheets.hands import taken
from grading.sheets.sizes import measured_rows
from grading.sheets.stock import stock_rows
from grading.sheets.stock_sheets import STOCK_SHEETS
from grading.sheets.values import cells
from grading.workbooks.book import Area, Book, BookSheet, Heading, Look

__all__ = ["add_sheet", "block_workbook", "hand_workbook", "sizes_workbook", "stock_table_workbook", "traced_workbook"]

#: How many rows below the last one drop-down lists reach, for those that a maker adds.
SPARE_ROWS = 60


def sizes_workbook(tables: Sequence[SizeTable], *, notes: Sequence[str] = ()) -> bytes:
    """A size table workbook: a sheet for each group, and one that says what each column is for."""
    book = Book("Size tables")
    for table in tables:
        add_sheet(
            book,
            SIZE_GROUP,
            measured_rows(table),
            name=table.group,
            others=table.sizes,
            above=[[FAMILY, "", *table.families]] if table.families else [],
        )
    return _with_explanations(book, [SIZE_GROUP], notes)


def block_workbook(block: Block) -> bytes:
    """A block workbook."""
    book = Book("Base block")
    written = {
        sheet: add_sheet(book, sheet, getattr(block, sheet.fills) if sheet.fills else [block]) for sheet in BLOCK_SHEETS
    }
    _list_names(written)
    return _with_explanations(book, BLOCK_SHEETS)


def hand_workbook(
    hands: Hands,
    how_to_measure: Mapping[str, str],
    parts: Mapping[str, Mapping[str, str]] | None = None,
    pictures: Mapping[str, Mapping[str, bytes]] | None = None,
    *,
    notes: Sequence[str] = (),
) -> bytes:
    """A workbook for one person's measurements, with those of ``hands`` filled in, in mm.

    With ``parts``, the choices for each part of a style in words, it has a sheet on which they are made, too: the
    first of each is chosen; ``pictures`` (PNG) show them.
    """
    book = Book("Hands")
    add_sheet(book, HAND, taken(hands, how_to_measure))
    if parts:
        _add_style(book, parts, pictures or {})
    return _with_explanations(book, [HAND, STYLE] if parts else [HAND], notes)


#: The columns of the sheet Choices, and what each is for.
_CHOICES = (
    (Heading("Of the part"), "The part of the mitten."),
    (Heading("Choice"), "A choice for it, as it is spelled on the sheet Style; the first is the standard mitten's."),
    (Heading("What it is", width=60), "What it is, in words."),
    (Heading("Finished", width=14), "The palm of the standard mitten, made so; all at one scale."),
)
#: Width and height of its picture there, mm.
_PICTURE = (22.0, 26.0)


def _add_style(book: Book, parts: Mapping[str, Mapping[str, str]], pictures: Mapping[str, Mapping[str, bytes]]) -> None:
    """The sheet on which a style is chosen, its lists taken from the sheet after it that says what each choice is."""
    sheet, area = add_sheet(book, STYLE, [Chosen(part, next(iter(choices))) for part, choices in parts.items()])
    every = [(part, choice, words, "") for part, choices in parts.items() for choice, words in choices.items()]
    choices_sheet = book.sheet("Choices", landscape=True)
    listed = choices_sheet.table([heading for heading, _ in _CHOICES], every)
    for number, (heading, help_) in enumerate(_CHOICES):
        choices_sheet.explain(listed.cell(-1, number), heading.text, help_)
    if pictures:
        choices_sheet.tall(listed, _PICTURE[1] + 1)
    for row, (part, choice, words, _) in enumerate(every):
        if picture := pictures.get(part, {}).get(choice):
            told = f"The finished mitten, {part} {choice}: {words}."
            choices_sheet.picture(picture, listed.cell(row, 3), width_mm=_PICTURE[0], instead=told)
    first = 0
    for row, choices in enumerate(parts.values()):
        last = first + len(choices) - 1
        sheet.choose_from(area.cell(row, 1), listed.reference(1, last + 1, first))
        first = last + 1


def stock_table_workbook(table: StockTable, *, notes: Sequence[str] = ()) -> bytes:
    """A stock table, every figure of it written out."""
    book = Book("Stock table")
    _list_names({sheet: add_sheet(book, sheet, stock_rows(table, sheet)) for sheet in STOCK_SHEETS})
    return _with_explanations(book, STOCK_SHEETS, notes)


def traced_workbook(points: Iterable[TracedPoint]) -> bytes:
    """The points of a pattern, in mm."""
    book = Book("Traced points")
    add_sheet(book, TRACED, points)
    return _with_explanations(book, [TRACED])


def add_sheet(
    book: Book,
    declared: Sheet,
    of: Iterable[Any],
    *,
    name: str = "",
    others: Sequence[str] = (),
    above: Sequence[Sequence[str]] = (),
) -> tuple[BookSheet, Area]:
    """Add a sheet with a row for each value; returns it and where its rows are.

    Cells have drop-down lists, and headings say what their columns are for. Rows ``above`` the values are written as
    they are, and may be shorter.
    """
    columns = [
        (heading, column)
        for column in declared.columns_in_order
        for heading in (others if column is declared.others else (column.name,))
    ]
    before = len(declared.before_others) if declared.others else 1
    sheet = book.sheet(name or declared.name, landscape=True, frozen_columns=before)
    written = [
        Heading(heading, _look(column), 9.0 if column is declared.others else None) for heading, column in columns
    ]
    stated = [[*row, *[""] * (len(columns) - len(row))] for row in above]
    area = sheet.table(written, [*stated, *cells(declared, of)])
    for number, (heading, column) in enumerate(columns):
        if choices := _choices(column):
            sheet.choose_among(_with_spares(area.column(number)), choices)
        sheet.explain(area.cell(-1, number), heading, column.help)
    return sheet, area


def _list_names(written: Mapping[Sheet, tuple[BookSheet, Area]]) -> None:
    """Drop-down lists for columns that name rows of another sheet, with room for rows that are added there."""
    homes = {declared.key[0].lower(): declared for declared in written if len(declared.key) == 1}
    for declared, (sheet, area) in written.items():
        for number, column in enumerate(declared.columns_in_order):
            if column.kind is Cells.NAME and column.names in homes:
                home = homes[column.names]
                at = [one.name for one in home.columns_in_order].index(home.key[0])
                names = written[home][1]
                sheet.choose_from(_with_spares(area.column(number)), names.reference(at, names.rows + SPARE_ROWS))


def _look(column: Column) -> Look:
    if column.given:
        return Look.TEXT
    return Look.COUNT if column.kind is Cells.COUNT else Look.INPUT


def _choices(column: Column) -> Sequence[str]:
    return {Cells.YES_NO: ("yes", "no"), Cells.UNIT: ("mm", "cm", "in")}.get(column.kind, tuple(column.choices))


def _with_spares(column: str) -> str:
    """A column of cells, and as many below as a maker may come to fill."""
    first, last = column.split(":")
    letters = last.rstrip("0123456789")
    return f"{first}:{letters}{int(last[len(letters) :]) + SPARE_ROWS}"


def _with_explanations(book: Book, declared: Sequence[Sheet], notes: Sequence[str] = ()) -> bytes:
    """The workbook's bytes, after a last sheet is added that says what every column is for; no reader reads it."""
    sheet = book.sheet(ABOUT, landscape=True, frozen_columns=2)
    rows = []
    for one in declared:
        rows.append([one.name, "", one.help, "the whole sheet may be left out" if one.optional else ""])
        rows += [[one.name, column.name, column.help, _holds_in_words(column)] for column in one.columns_in_order]
        rows += [[one.name, f"field {field.name}", field.help, _holds_in_words(field)] for field in one.fields]
    sheet.table(
        [Heading("Sheet"), Heading("Column"), Heading("What it is for", width=70), Heading("What it holds", width=40)],
        rows,
    )
    for note in notes:
        sheet.note(note)
    return book.to_bytes()


def _holds_in_words(column: Column) -> str:
    holds = f"one of: {', '.join(column.choices)}" if column.choices else column.kind.says
    blank = f"blank counts as {column.counts_as}" if column.counts_as else "may be blank"
    return f"{holds}; {blank if column.optional else 'needed'}"
