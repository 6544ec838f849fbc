"""Reads a block workbook into a `Block`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from grading.codes import Code
from grading.findings import Finding, Findings, has_errors
from grading.model.block import LEATHER, LINING, MATERIAL, Block
from grading.sheets import block_sheets as sheets
from grading.sheets.grids import Opened
from grading.sheets.kinds import A_BLOCK, mistaken
from grading.sheets.names import check_loops, settled
from grading.sheets.rows import Row, find_grid, read_fields, read_sheet, unread_sheets
from grading.sheets.values import value_of, values

__all__ = ["read_block"]

Rows = dict[str, tuple[Row, ...]]


def read_block(opened: Opened) -> tuple[Block | None, list[Finding]]:
    """The block of an opened workbook, or None with the errors that stand in its way, all of them at once."""
    if not opened.grids:
        return None, []
    if wrong := mistaken(opened, A_BLOCK):
        return None, wrong
    findings = Findings()
    grid = findings.gather(find_grid(opened, sheets.BLOCK))
    fields = None if grid is None else findings.gather(read_fields(grid, sheets.BLOCK, "mm"))
    unit = fields["Unit"] or "mm" if fields else "mm"
    findings += unread_sheets(opened, sheets.BLOCK_SHEETS)
    rows: Rows = {}
    for sheet in sheets.BLOCK_SHEETS[1:]:
        rows[sheet.name] = findings.gather(read_sheet(opened, sheet, unit))
    if has_errors(findings) or fields is None:
        return None, findings
    findings += _divided_by_zero(rows)
    rows = findings.gather(settled(rows))
    if has_errors(findings):
        return None, findings
    filled = {sheet.fills: values(sheet, rows[sheet.name]) for sheet in sheets.BLOCK_SHEETS[1:]}
    block: Block = value_of(sheets.BLOCK, fields, **filled)
    block = replace(block, work=tuple(instruction for instruction in block.work if instruction.text))
    things = (block.values, block.measures, block.seam_types)
    names = (thing.name for some in things for thing in some)
    block = block.with_limits_spelled_as([MATERIAL, LEATHER, LINING, *names])
    findings += check_loops(block)
    return (None if has_errors(findings) else block), findings


def _divided_by_zero(rows: Rows) -> Iterator[Finding]:
    for row in rows[sheets.LIMITS.name]:
        if row["Divided by"] == 0:
            yield Finding.error(
                Code.DIVISION_BY_ZERO,
                row.place("Divided by"),
                "The limit divides by 0.",
                "A figure that is not 0, or a name.",
                "Correct it, or leave it blank.",
            )
