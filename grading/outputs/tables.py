"""Writes size tables and a block as the workbooks that the readers read: starters, and drafted blocks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from grading.model.block import Amount, Block, Limit, Side, Value
from grading.model.block import Kind as Driver
from grading.model.sizes import SizeTable
from grading.sheets import declared as sheets
from grading.sheets.declared import ABOUT, Kind
from grading.sheets.declared import Column as Declared
from grading.sheets.hands import Hands
from grading.workbooks.book import Area, Book, Column, Content, Look, Sheet

__all__ = ["block_workbook", "hand_workbook", "sizes_workbook"]

#: How many rows below the last one drop-down lists reach, for those that a maker adds.
SPARE_ROWS = 60
_LOOKS = {Kind.COUNT: Look.COUNT}


def sizes_workbook(tables: Sequence[SizeTable], *, notes: Sequence[str] = ()) -> bytes:
    """A size table workbook: a sheet for each group, and one that says what each column is for."""
    book = Book("Size tables")
    for table in tables:
        sheet = book.sheet(table.group, landscape=True, frozen_columns=2)
        fixed = [column.name for column in sheets.SIZE_GROUP.columns]
        headings = [*fixed[:2], *table.sizes, *fixed[2:]]
        columns = [
            Column(heading, Look.TEXT if heading in fixed else Look.INPUT, 9.0 if heading in table.sizes else None)
            for heading in headings
        ]
        rows: list[list[Content]] = [
            [
                name,
                table.units[row],
                *(_figure(value) for value in table.values[row]),
                table.how_to_measure[row],
                table.source[row],
            ]
            for row, name in enumerate(table.measurements)
        ]
        area = sheet.table(columns, rows)
        sheet.choose_among(_with_spares(area.column(1)), ("mm", "cm", "in"))
        _explain_headings(sheet, sheets.SIZE_GROUP, area, headings)
    _explained(book, [sheets.SIZE_GROUP], notes)
    return book.to_bytes()


def block_workbook(block: Block) -> bytes:
    """A block workbook, each sheet as its declaration says."""
    book = Book("Base block")
    written: dict[sheets.Sheet, list[list[Content]]] = {
        sheets.BLOCK: _fields(block),
        sheets.BASE_VALUES: [
            [
                value.name,
                value.kind.value,
                value.drafted,
                _changed(value.now, value.drafted),
                *_bounds(value),
                None,
                value.note,
            ]
            for value in block.values
        ],
        sheets.PIECES: [
            [
                p.name,
                _yes(p.mirrored),
                p.cut_left,
                p.cut_right,
                p.material,
                p.pile_arrow,
                p.stretch,
                p.stacking_point,
                p.note,
            ]
            for p in block.pieces
        ],
        sheets.MOVES: [
            [move.name, share.value, share.x or None, share.y or None] for move in block.moves for share in move.shares
        ],
        sheets.POINTS: [
            [p.piece, p.name, p.x, p.y, "turn" if p.turn else "curve", ", ".join(p.moves), p.note] for p in block.points
        ],
        sheets.EDGES: [
            [edge.piece, edge.name, edge.loop, ", ".join(edge.points), edge.seam_type] for edge in block.edges
        ],
        sheets.SEAM_TYPES: [
            [kind.name, kind.allowance, kind.stitch, kind.needle, kind.note] for kind in block.seam_types
        ],
        sheets.SEAMS: [
            [
                seam.name,
                _side(seam.side_a),
                _side(seam.side_b),
                *(_amount(amount) for amount in (seam.least, seam.most, seam.target)),
                seam.balance,
                seam.matching or None,
                _changed(seam.strokes, 1),
                seam.without_ease or None,
            ]
            for seam in block.seams
        ],
        sheets.MARKS: [[mark.piece, mark.name, mark.kind, mark.where, mark.note] for mark in block.marks],
        sheets.MEASURES: [
            [
                m.name,
                m.piece,
                m.how,
                m.start,
                m.end,
                _changed(m.times, 1.0),
                m.tolerance_minus,
                m.tolerance_plus,
                _yes(m.tells_size),
                m.follows,
                _changed(m.follows_share, 1.0),
                m.how_to_measure,
            ]
            for m in block.measures
        ],
        sheets.LIMITS: [_limit(limit) for limit in block.limits],
        sheets.MAKING: [[s.name, s.what_to_do, s.stitch, s.needle, s.thread, s.note, s.shows] for s in block.making],
        sheets.WORK: [[instruction.topic, instruction.text] for instruction in block.work],
    }
    for declared, rows in written.items():
        sheet = book.sheet(declared.name, landscape=True, frozen_columns=1)
        area = sheet.table(
            [Column(column.name, _LOOKS.get(column.kind, Look.INPUT)) for column in declared.columns], rows
        )
        _add_choices(sheet, declared.columns, [area.column(number) for number in range(len(declared.columns))])
        _explain_headings(sheet, declared, area, [column.name for column in declared.columns])
    _explained(book, sheets.BLOCK_SHEETS, ())
    return book.to_bytes()


def hand_workbook(hands: Hands, how_to_measure: Mapping[str, str], *, notes: Sequence[str] = ()) -> bytes:
    """A workbook for one person's measurements, with those of ``hands`` filled in, in mm."""
    book = Book("Hands")
    sheet = book.sheet(sheets.HAND.name, frozen_columns=1)
    headings = [column.name for column in sheets.HAND.columns]
    looks = (Look.TEXT, Look.INPUT, Look.INPUT, Look.INPUT, Look.TEXT)
    rows: list[list[Content]] = [
        [name, "mm", *(_figure(of[name]) if name in of else None for of in (hands.left, hands.right)), how]
        for name, how in how_to_measure.items()
    ]
    area = sheet.table([Column(heading, look) for heading, look in zip(headings, looks, strict=True)], rows)
    sheet.choose_among(_with_spares(area.column(1)), ("mm", "cm", "in"))
    _explain_headings(sheet, sheets.HAND, area, headings)
    _explained(book, [sheets.HAND], notes)
    return book.to_bytes()


def _explain_headings(sheet: Sheet, declared: sheets.Sheet, area: Area, headings: Sequence[str]) -> None:
    """What a column is for, shown while its heading is chosen."""
    known = {column.name: column for column in declared.columns}
    for number, heading in enumerate(headings):
        column = known.get(heading, declared.others)
        if column is not None:
            sheet.explain(area.cell(-1, number), heading, column.help)


def _add_choices(sheet: Sheet, columns: Sequence[Declared], cells: Sequence[str]) -> None:
    for column, own in zip(columns, cells, strict=True):
        words = {Kind.YES_NO: ("yes", "no"), Kind.UNIT: ("mm", "cm", "in")}.get(column.kind, column.choices)
        if words:
            sheet.choose_among(_with_spares(own), words)


def _with_spares(cells: str) -> str:
    """A column of cells, and as many below as a maker may come to fill."""
    first, last = cells.split(":")
    letters = last.rstrip("0123456789")
    return f"{first}:{letters}{int(last[len(letters) :]) + SPARE_ROWS}"


def _explained(book: Book, declared: Sequence[sheets.Sheet], notes: Sequence[str]) -> None:
    """The last sheet: what every column is for. Its first heading is none that a reader looks for."""
    sheet = book.sheet(ABOUT, landscape=True, frozen_columns=2)
    rows: list[list[Content]] = []
    for one in declared:
        rows.append([one.name, "", one.help, ""])
        for column in (*one.columns, *([one.others] if one.others else [])):
            needed = "may be blank" if column.optional else "needed"
            holds = f"one of: {', '.join(column.choices)}" if column.choices else column.kind.value
            rows.append([one.name, column.name, column.help, f"{holds}; {needed}"])
    if any(one is sheets.BLOCK for one in declared):
        rows += [
            [sheets.BLOCK.name, f"field {field.name}", field.help, f"{field.kind.value}"]
            for field in sheets.BLOCK_FIELDS
        ]
    sheet.table(
        [Column("Sheet"), Column("Column"), Column("What it is for", width=70), Column("What it holds", width=40)], rows
    )
    for note in notes:
        sheet.note(note)


def _fields(block: Block) -> list[list[Content]]:
    return [
        ["Name", block.name],
        ["Unit", "mm"],
        ["Groups", ", ".join(block.groups)],
        ["Drawn from", block.drawn_from],
        ["Marked on", block.marked_on],
        ["Compressed pile", block.compressed_pile],
        ["Leather thickness", block.leather],
        ["Date", block.date],
        ["Notes", block.notes],
    ]


def _limit(limit: Limit) -> list[Content]:
    return [
        limit.name,
        limit.what,
        _changed(limit.times, 1.0),
        limit.less or "",
        _changed(limit.less_times, 1.0),
        None if limit.divided_by == 1 else limit.divided_by,
        limit.least,
        limit.most,
        limit.severity.value,
        limit.why,
    ]


def _figure(value: float) -> float | int:
    return int(value) if float(value).is_integer() else float(np.round(value, 6))


def _bounds(value: Value) -> tuple[Content, Content]:
    return (value.least, value.most) if value.kind is Driver.BALANCE else (None, None)


def _changed(value: float, usual: float) -> float | None:
    """A figure, or nothing where it is the usual one that a blank cell means."""
    return None if value == usual else value


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _side(side: Side) -> str:
    return f"{side.piece}: {', '.join(side.edges)}"


def _amount(amount: Amount | None) -> Content:
    if amount is None:
        return None
    if amount.allowance:
        return amount.allowance
    return f"{amount.part * 100:g} %" if amount.part else amount.mm
