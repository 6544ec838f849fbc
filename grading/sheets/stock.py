"""Reads stock.xlsx: everything in it may be left out, and is then told as a default that was used."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

import shapely

from grading.findings import Finding, Place, Severity, has_errors
from grading.model.stock import (
    Customers,
    Outworker,
    SellingPrice,
    SkinKind,
    Sold,
    StockTable,
    Terms,
    Work,
)
from grading.sheets import stock_sheets as sheets
from grading.sheets.cells import as_text
from grading.sheets.declared import Column, Sheet
from grading.sheets.opening import Opened
from grading.sheets.rows import Row, find_grid, read_fields, read_rows, unread_sheets
from grading.units import MM2_PER

__all__ = ["read_stock"]

#: The most that a piece may be turned off the pile, degrees: common practice.
MOST_TURN = 5
#: More skins of a kind are no small batch, and most likely another figure.
MOST_SKINS = 1000
#: The years in which a batch can be handed out or needed; what lies outside is a slip.
EARLIEST, LATEST = 2000, 2199
_NO_ROW = "no row of it"
#: Sheets that count as one row of their defaults where they hold none.
_NEEDED = (sheets.SKINS, sheets.WORK, sheets.OUTWORKERS, sheets.SELLING)


def read_stock(opened: Opened) -> tuple[StockTable | None, list[Finding]]:
    """The stock table of an opened workbook, or None if it has errors; a note for each default that was used."""
    if not opened.grids:
        return None, []
    fields, findings = _fields(opened)
    findings += unread_sheets(opened, sheets.STOCK_SHEETS)
    rows: dict[str, Sequence[Row]] = {}
    for sheet in sheets.STOCK_SHEETS[1:]:
        rows[sheet.name], found = _rows(opened, sheet)
        findings += found
    findings += _checked(fields, rows)
    if has_errors(findings):
        return None, findings
    table = StockTable(
        terms=_terms(fields),
        customers=tuple(_customers(row) for row in rows[sheets.CUSTOMERS.name]),
        sold=tuple(
            Sold(row["Group"], row["Size"], row["Pairs sold"], row.place("Size"))
            for row in rows[sheets.PAST_SALES.name]
        ),
        skins=tuple(_skin(row, rows[sheets.OUTLINES.name]) for row in rows[sheets.SKINS.name]),
        work=tuple(_work(row) for row in rows[sheets.WORK.name]),
        outworkers=tuple(
            Outworker(row["Outworker"], row["Pairs a week"], row.place("Outworker"))
            for row in rows[sheets.OUTWORKERS.name]
        ),
        selling=tuple(
            SellingPrice(row["Group"], row["Size"], float(row["Price"]), row.place("Price"))
            for row in rows[sheets.SELLING.name]
        ),
    )
    return table, findings


# Rows, and the defaults in them


def _fields(opened: Opened) -> tuple[Row, list[Finding]]:
    grid, findings = find_grid(opened, sheets.STOCK)
    if grid is None:
        place = Place(opened.path.name, sheets.STOCK.name)
        row = Row(opened.grids[0], 0, {field.name: field.default for field in sheets.STOCK_FIELDS}, {}, True)
        return row, [_default(place, field, _NO_ROW) for field in sheets.STOCK_FIELDS if sheets.counts_as(field)]
    # A field's own kind reads its value; read_fields gives those that are not there their defaults.
    row, found = read_fields(grid, sheets.STOCK, sheets.STOCK_FIELDS, "mm")
    notes = [
        _default(row.place(field.name) if field.name in row.cells else grid.place(), field, "blank")
        for field in sheets.STOCK_FIELDS
        if sheets.counts_as(field) and row.cells.get(field.name) not in grid.cells
    ]
    return row, [*findings, *found, *notes]


def _rows(opened: Opened, sheet: Sheet) -> tuple[Sequence[Row], list[Finding]]:
    grid, findings = find_grid(opened, sheet)
    rows: tuple[Row, ...] = ()
    if grid is not None:
        table, found = read_rows(grid, sheet, "mm")
        rows, findings = table.rows, [*findings, *found]
    for column in sheet.columns:
        blank = [row for row in rows if row.cells.get(column.name) not in row.grid.cells]
        if blank and sheets.counts_as(column):
            where = f"blank in row {', '.join(str(row.number) for row in blank)}"
            findings.append(_default(blank[0].place(column.name), column, where))
    if not rows and sheet in _NEEDED:
        place = Place(opened.path.name, sheet.name)
        findings += [_default(place, column, _NO_ROW) for column in sheet.columns if sheets.counts_as(column)]
        values = {column.name: column.default for column in sheet.columns}
        rows = (Row(opened.grids[0], 0, values, {}, True),)
    return rows, findings


def _default(place: Place, column: Column, where: str) -> Finding:
    found = f"'{column.name}' is left open ({where}): {sheets.counts_as(column)} was used."
    return Finding("default-used", Severity.NOTE, place, found, column.help, "Fill it in if that is not right.")


# Values


def _terms(row: Row) -> Terms:
    return Terms(
        pairs=row["Pairs"],
        at_least=row["Least of a size"],
        girth_row=row["Girth measurement"],
        length_row=row["Length measurement"],
        girth_tolerance=float(row["Girth tolerance"]),
        length_tolerance=float(row["Length tolerance"]),
        gap=float(row["Gap between pieces"]),
        pile_within=float(row["Pile within"]),
        seed=row["Seed"],
        largest_bundle=row["Largest bundle"],
        hand_out_on=_day(row["Hand out on"]),
        needed_by=_day(row["Needed by"]),
        currency=row["Currency"],
        other_costs=float(row["Other costs of a pair"]),
    )


def _day(text: str) -> dt.date | None:
    return dt.date.fromisoformat(text) if text else None


def _customers(row: Row) -> Customers:
    girth, length = row["Hand girth"], row["Hand length"]
    return Customers(
        group=row["Group"],
        share=float(row["Share"]),
        girth=None if girth is None else float(girth),
        girth_spread=float(row["Girth spread"]),
        length=None if length is None else float(length),
        length_spread=float(row["Length spread"]),
        correlation=float(row["Correlation"]),
        place=row.place("Group"),
    )


def _skin(row: Row, outlines: Sequence[Row]) -> SkinKind:
    parts = _parts(outlines, row["Skin"])
    area, per = row["Usable area"], row["Price per"]
    return SkinKind(
        name=row["Skin"],
        count=row["Count"],
        width=float(row["Width"]),
        length=float(row["Length"]),
        area=None if area is None else float(area * MM2_PER[row["Area unit"]]),
        lost=float(row["Lost to flaws"]),
        price=float(row["Price"]),
        priced_area=None if per == sheets.PER_SKIN else float(MM2_PER[per]),
        buy_more=row["Buy more"],
        outline=parts.get(sheets.WHOLE_OUTLINE, ()),
        flaws=tuple(points for part, points in parts.items() if part != sheets.WHOLE_OUTLINE),
        place=row.place("Skin"),
    )


def _parts(outlines: Sequence[Row], skin: str) -> dict[str, tuple[tuple[float, float], ...]]:
    """The polygons of a skin by part, each its points in the order of the rows."""
    parts: dict[str, tuple[tuple[float, float], ...]] = {}
    for row in outlines:
        if row.sound and row["Skin"].casefold() == skin.casefold():
            part = row["Part"].casefold()
            parts[part] = (*parts.get(part, ()), (float(row["x"]), float(row["y"])))
    return parts


def _work(row: Row) -> Work:
    piece_rate = row["Piece rate"]
    return Work(
        group=row["Group"],
        size=row["Size"],
        minutes=float(row["Minutes a pair"]),
        rate=float(row["Rate an hour"]),
        piece_rate=None if piece_rate is None else float(piece_rate),
        place=row.place("Minutes a pair"),
    )


# What is readable, and still cannot be


def _checked(fields: Row, rows: dict[str, Sequence[Row]]) -> Iterator[Finding]:
    if not 0 <= (fields["Pile within"] or 0) <= MOST_TURN:
        expected = f"Between 0 and {MOST_TURN}: a piece turned further off shows another pile than its pair."
        yield _wrong("pile-turn", fields.place("Pile within"), "The turn off the pile is out of bounds.", expected)
    if fields["Largest bundle"] == 0:
        yield _wrong("empty-bundle", fields.place("Largest bundle"), "A bundle holds 0 pairs.", "One at least.")
    for name in ("Hand out on", "Needed by"):
        yield from _dated(fields, name)
    yield from _in_bounds(fields, "Other costs of a pair", 0)
    for row in rows[sheets.CUSTOMERS.name]:
        yield from _in_bounds(row, "Share", 0)
        yield from _in_bounds(row, "Correlation", -0.99, 0.99)
    customers = rows[sheets.CUSTOMERS.name]
    if customers and not any(row["Share"] for row in customers):
        yield _wrong("no-share", customers[0].place("Share"), "No group has a share.", "One above zero at least.")
    for row in rows[sheets.SKINS.name]:
        yield from _in_bounds(row, "Lost to flaws", 0, 0.9)
        yield from _in_bounds(row, "Price", 0)
        yield from _in_bounds(row, "Usable area", 0.001)
        yield from _in_bounds(row, "Count", 0, MOST_SKINS)
        yield from _drawable(row, rows[sheets.OUTLINES.name])
    yield from _without_skin(rows)
    for sheet, columns in (
        (sheets.WORK, ("Minutes a pair", "Rate an hour", "Piece rate")),
        (sheets.SELLING, ("Price",)),
    ):
        yield from _twice(rows[sheet.name])
        for row in rows[sheet.name]:
            for column in columns:
                yield from _in_bounds(row, column, 0)
    for row in rows[sheets.OUTWORKERS.name]:
        yield from _in_bounds(row, "Pairs a week", 1)


def _twice(rows: Sequence[Row]) -> Iterator[Finding]:
    """Rows for the same group and size, blanks among them, of which only one could hold."""
    seen: set[tuple[str, str]] = set()
    for row in rows:
        key = ((row["Group"] or "").casefold(), (row["Size"] or "").casefold())
        if row.sound and key in seen:
            found = f"A row above is for {row['Group'] or 'all groups'}, {row['Size'] or 'all sizes'} already."
            yield _wrong("duplicate-name", row.place("Group"), found, "One row for each, blanks count as all.")
        seen.add(key)


def _in_bounds(row: Row, column: str, least: float, most: float | None = None) -> Iterator[Finding]:
    value = row[column]
    if value is not None and not (least <= value and (most is None or value <= most)):
        bounds = f"{least:g} or more" if most is None else f"between {least:g} and {most:g}"
        found = f"{column} is {float(value):g}."
        yield _wrong("figure-out-of-range", row.place(column), found, f"It is {bounds}.")


def _dated(fields: Row, name: str) -> Iterator[Finding]:
    try:
        day = _day(fields[name] or "")
        if day and not EARLIEST <= day.year <= LATEST:
            found = f"'{day.isoformat()}' lies far from any batch."
            yield _wrong("not-a-date", fields.place(name), found, f"A day of the years {EARLIEST} to {LATEST}.")
    except ValueError:
        found = f"'{as_text(fields[name])}' is not read as a date."
        yield _wrong("not-a-date", fields.place(name), found, "A date cell, or text as 2026-11-02.")


def _drawable(row: Row, outlines: Sequence[Row]) -> Iterator[Finding]:
    """The outlines of a skin that bound no area, and flaws without a skin's outline."""
    parts = _parts(outlines, row["Skin"] or "")
    for part, points in parts.items():
        if len(points) < 3 or not shapely.Polygon(points).is_valid:
            found = f"The part '{part}' of {row['Skin']} bounds no area."
            yield _wrong("skin-outline", row.place("Skin"), found, "Three points or more, in order round it.")
    if parts and sheets.WHOLE_OUTLINE not in parts:
        found = f"{row['Skin']} has flaws on the sheet Outlines, and no part '{sheets.WHOLE_OUTLINE}'."
        yield _wrong("skin-outline", row.place("Skin"), found, "The edge of a skin whose flaws are drawn.")
    whole = parts.get(sheets.WHOLE_OUTLINE)
    if whole and row["Count"] is not None and row["Count"] > 1:
        found = f"{row['Skin']} is there {row['Count']} times with one outline."
        yield Finding("skin-outline", Severity.NOTE, row.place("Count"), found, "All are laid as if alike.", "")


def _without_skin(rows: dict[str, Sequence[Row]]) -> Iterator[Finding]:
    known = {(row["Skin"] or "").casefold() for row in rows[sheets.SKINS.name]}
    told: set[str] = set()
    for row in rows[sheets.OUTLINES.name]:
        name = row["Skin"]
        if name and name.casefold() not in known | told:
            told.add(name.casefold())
            found = f"There is no skin '{name}' on the sheet {sheets.SKINS.name}."
            yield _wrong("unknown-skin", row.place("Skin"), found, "The name of a skin there.")


def _wrong(code: str, place: Place, found: str, expected: str) -> Finding:
    return Finding(code, Severity.ERROR, place, found, expected, "Correct the cell.")
