"""Turns the rows of a sheet into values of the model, and values into rows, both by the sheet's declaration."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields
from typing import Any

from grading.findings import Place
from grading.model.names import name_key
from grading.sheets.columns import NEEDED, Cells, Column, SameAs, Sheet
from grading.sheets.rows import Row

__all__ = ["cells", "printed_texts", "value_of", "values"]


def values(sheet: Sheet, rows: Iterable[Row], others: Sequence[str] = ()) -> tuple[Any, ...]:
    """A value of each row, or of the rows of like names where a value has parts; ``others`` are further headings."""
    if not sheet.parts:
        fills = [sheet.others.fills] if sheet.others else []
        return tuple(
            value_of(sheet, row, **{name: tuple(map(row.values.get, others)) for name in fills}) for row in rows
        )
    own = [column.name for column in sheet.columns if column.fills and not column.part]
    together: dict[tuple[str, ...], list[Row]] = {}
    for row in rows:
        together.setdefault(tuple(name_key(row[name]) for name in own), []).append(row)
    return tuple(
        value_of(sheet, alike[0], **{name: tuple(_part(sheet, name, row) for row in alike) for name in sheet.parts})
        for alike in together.values()
    )


def value_of(sheet: Sheet, row: Row, **further: Any) -> Any:
    """The value of one row, or of a sheet's fields, which may have ``further`` fields of its own."""
    columns = [column for column in sheet.fields or sheet.columns if column.fills and not column.part]
    return sheet.of(**{column.fills: row[column.name] for column in columns}, **further, **_place(sheet, row))


def _part(sheet: Sheet, name: str, row: Row) -> Any:
    """The part that one row stands for, of those in the field of that name."""
    return sheet.parts[name](**{column.attribute: row[column.name] for column in sheet.columns if column.part == name})


def _place(sheet: Sheet, row: Row) -> Mapping[str, Any]:
    """Where the value stands, for the fields of its class that keep that: ``place``, and ``NAME_place`` of a field."""
    headings = {column.fills: column.name for column in sheet.columns}
    kept = [field.name for field in fields(sheet.of) if field.name.endswith("place")]
    return {
        name: row.place(sheet.placed if name == "place" else headings.get(name.removesuffix("_place"), ""))
        for name in kept
    }


def cells(sheet: Sheet, of: Iterable[Any]) -> list[list[Any]]:
    """A row of cells for each value, or for each of its parts, as the columns are declared, others in their place."""
    if sheet.fields:
        return [[field.name, *_spelled(sheet, field, value, None)] for value in of for field in sheet.fields]
    return [
        [cell for column in sheet.columns_in_order for cell in _spelled(sheet, column, value, part)]
        for value in of
        for part in ([part for name in sheet.parts for part in getattr(value, name)] if sheet.parts else [None])
    ]


def printed_texts(sheet: Sheet, of: Iterable[Any]) -> Iterator[tuple[str, Place]]:
    """Each text of the values that is declared to be printed, and its place; names of other things are left out."""
    own = [column for column in sheet.fields or sheet.columns if column.printed and column.fills and not column.names]
    for value in of:
        for column in own:
            if column.kind.is_text:
                yield getattr(value, column.fills), getattr(value, "place", Place(sheet=sheet.name))


def _spelled(sheet: Sheet, column: Column, value: Any, part: Any) -> list[Any]:
    """The cell of one column, or the cells of all others; None for one that is left blank.

    A row of a value with parts is of one ``part`` of it.
    """
    if not column.fills:
        return ["mm" if column.kind is Cells.UNIT and (sheet.in_full or not column.optional) else None]
    held = getattr(part if column.part else value, column.attribute)
    if column is sheet.others:
        return [column.spell(figure, _unit(sheet, column, value)) for figure in held]
    if isinstance(column.blank, SameAs):
        stands_for = getattr(value, sheet.column(column.blank.column).fills)
    else:
        stands_for = NEEDED if sheet.in_full or not column.kind.is_figure else column.blank
    blank = held == stands_for or (held is None and not column.choices)
    return [None if blank else column.spell(held, _unit(sheet, column, value))]


def _unit(sheet: Sheet, column: Column, value: Any) -> str:
    """The unit that a value was typed in, where it has kept that."""
    area = column.kind is Cells.AREA
    giving = Cells.AREA_UNIT if area else Cells.UNIT
    own = next((other.fills for other in sheet.columns if other.kind is giving and other.fills), "")
    return str(getattr(value, own)) if own else ("sq ft" if area else "mm")
