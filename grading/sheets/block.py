"""Reads a block workbook into a `Block`."""

from __future__ import annotations

from collections.abc import Iterable

from grading.findings import Finding, Severity, has_errors
from grading.model.block import (
    Block,
    Edge,
    Instruction,
    Kind,
    Limit,
    Mark,
    Measure,
    Move,
    Piece,
    Point,
    Seam,
    SeamType,
    Share,
    Step,
    Value,
)
from grading.sheets import declared as sheets
from grading.sheets.cells import as_text
from grading.sheets.names import check_loops, check_names, spelled_alike
from grading.sheets.opening import CellValue, Opened
from grading.sheets.rows import Row, find_grid, read_fields, read_rows, unread_sheets
from grading.units import UnreadableError, number

__all__ = ["read_block"]

Rows = dict[str, tuple[Row, ...]]


def read_block(opened: Opened) -> tuple[Block | None, list[Finding]]:
    """The block of an opened workbook, or None with the errors that stand in its way, all of them at once."""
    if not opened.grids:
        return None, []
    fields, findings = _fields(opened)
    unit = fields["Unit"] if fields and fields["Unit"] else "mm"
    findings += unread_sheets(opened, sheets.BLOCK_SHEETS)
    rows: Rows = {}
    for sheet in sheets.BLOCK_SHEETS[1:]:
        grid, wrong = find_grid(opened, sheet)
        findings += wrong
        if grid is not None:
            table, wrong = read_rows(grid, sheet, unit)
            findings += wrong
            rows[sheet.name] = table.rows
        else:
            rows[sheet.name] = ()
    if has_errors(findings) or fields is None:
        return None, findings
    block, wrong = _block(fields, rows)
    findings += wrong
    findings += check_names(block, rows)
    if has_errors(findings):
        return None, findings
    block = spelled_alike(block)
    findings += check_loops(block)
    return (None if has_errors(findings) else block), findings


def _fields(opened: Opened) -> tuple[Row | None, list[Finding]]:
    grid, findings = find_grid(opened, sheets.BLOCK)
    if grid is None:
        return None, findings
    # The unit stands on this very sheet, so it is read first, then everything by it.
    row, _ = read_fields(grid, sheets.BLOCK, sheets.BLOCK_FIELDS, "mm")
    row, wrong = read_fields(grid, sheets.BLOCK, sheets.BLOCK_FIELDS, row["Unit"] or "mm")
    return row, findings + wrong


def _block(fields: Row, rows: Rows) -> tuple[Block, list[Finding]]:
    limits, findings = _limits(rows["Limits"])
    block = Block(
        name=fields["Name"],
        groups=fields["Groups"],
        drawn_from=fields["Drawn from"],
        marked_on=fields["Marked on"],
        compressed_pile=float(fields["Compressed pile"]),
        leather=float(fields["Leather thickness"]),
        date=fields["Date"],
        notes=fields["Notes"],
        values=tuple(_value(row) for row in rows["Base values"]),
        pieces=tuple(
            Piece(
                row["Piece"],
                row["Mirror line"],
                row["Cut left"],
                row["Cut right"],
                row["Material"],
                row["Pile arrow"],
                row["Stretch arrow"],
                row["Stacking point"],
                row["Note"],
                row.place("Piece"),
            )
            for row in rows["Pieces"]
        ),
        moves=_moves(rows["Moves"]),
        points=tuple(
            Point(
                row["Piece"],
                row["Point"],
                float(row["x"]),
                float(row["y"]),
                row["Kind"] == "turn",
                row["Moves with"],
                row["Note"],
                row.place("Point"),
            )
            for row in rows["Points"]
        ),
        edges=tuple(
            Edge(row["Piece"], row["Edge"], row["Loop"], row["Points in order"], row["Seam type"], row.place("Edge"))
            for row in rows["Edges"]
        ),
        seam_types=tuple(
            SeamType(
                row["Seam type"],
                float(row["Allowance"]),
                row["Stitch"],
                row["Note"],
                row["Needle"],
                row.place("Seam type"),
            )
            for row in rows["Seam types"]
        ),
        seams=tuple(
            Seam(
                row["Seam"],
                row["Side A"],
                row["Side B"],
                row["Least ease"],
                row["Most ease"],
                row["Target ease"],
                row["Balance by"],
                row["Matching marks"],
                row["Strokes"],
                float(row["Without ease"]),
                row.place("Seam"),
            )
            for row in rows["Seams"]
        ),
        marks=tuple(
            Mark(row["Piece"], row["Mark"], row["Kind"], row["Where"], row["Note"], row.place("Mark"))
            for row in rows["Marks"]
        ),
        measures=tuple(_measure(row) for row in rows["Measures"]),
        limits=limits,
        making=tuple(
            Step(
                row["Step"],
                row["What to do"],
                row["Stitch"],
                row["Needle"],
                row["Thread"],
                row["Note"],
                row["Shows"],
                row.place("Step"),
            )
            for row in rows["Making"]
        ),
        work=tuple(
            Instruction(row["Topic"], row["What holds"], row.place("Topic"))
            for row in rows["Work"]
            if row["What holds"]
        ),
    )
    return block, findings


def _value(row: Row) -> Value:
    drafted, now = row["Drafted with"], row["Use now"]
    least, most = row["Least"], row["Most"]
    return Value(
        name=row["Value"],
        kind=Kind(row["Kind"]),
        drafted=float(drafted),
        now=float(drafted if now is None else now),
        least=float(least or 0),
        most=float(most or 0),
        note=row["Note"],
        place=row.place("Value"),
    )


def _moves(rows: Iterable[Row]) -> tuple[Move, ...]:
    """The moves: rows of the same name, wherever they stand, are one move."""
    shares: dict[str, list[Share]] = {}
    first: dict[str, Row] = {}
    for row in rows:
        first.setdefault(row["Move"].casefold(), row)
        share = Share(row["Value"], float(row["Share x"]), float(row["Share y"]))
        shares.setdefault(row["Move"].casefold(), []).append(share)
    return tuple(Move(row["Move"], tuple(shares[key]), row.place("Move")) for key, row in first.items())


def _measure(row: Row) -> Measure:
    minus, plus = row["Tolerance −"], row["Tolerance +"]
    return Measure(
        name=row["Measure"],
        piece=row["Piece"],
        how=row["How"],
        start=row["From"],
        end=row["To"],
        times=float(row["Times"]),
        tolerance_minus=None if minus is None else float(minus),
        tolerance_plus=None if plus is None else float(plus),
        tells_size=row["Tells the size"],
        follows=row["Follows"],
        follows_share=float(row["Share followed"]),
        how_to_measure=row["How to measure"],
        place=row.place("Measure"),
    )


def _limits(rows: Iterable[Row]) -> tuple[tuple[Limit, ...], list[Finding]]:
    limits, findings = [], []
    for row in rows:
        divided_by = _figure_or_name(row["Divided by"])
        if divided_by == 0:
            findings.append(
                Finding(
                    "division-by-zero",
                    Severity.ERROR,
                    row.place("Divided by"),
                    "The limit divides by 0.",
                    "A figure that is not 0, or a name.",
                    "Correct it, or leave it blank.",
                )
            )
            continue
        limits.append(
            Limit(
                name=row["Limit"],
                what=row["What"],
                times=float(row["Times"]),
                less=row["Less"] or None,
                less_times=float(row["Less times"]),
                divided_by=1.0 if divided_by is None else divided_by,
                least=_figure_or_name(row["Least"]),
                most=_figure_or_name(row["Most"]),
                severity=Severity(row["Severity"]),
                why=row["Why"],
                place=row.place("Limit"),
            )
        )
    return tuple(limits), findings


def _figure_or_name(value: CellValue) -> float | str | None:
    """What a cell that may hold either holds; None if it is blank."""
    words = as_text(value)
    if not words:
        return None
    try:
        return float(number(value))
    except UnreadableError:
        return words
