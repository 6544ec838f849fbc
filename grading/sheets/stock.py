"""Reads stock.xlsx. Everything in it may be left out; a default counts then, and a note says so."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from operator import attrgetter
from typing import Any

import shapely

from grading.codes import Code
from grading.findings import Finding, Findings, Place, amount, has_errors
from grading.model.names import Names, name_key
from grading.model.stock import MOCK_UP, NOTHING, TURNED_PARTS, Corner, Outline, SkinKind, Sold, StockTable
from grading.sheets import stock_sheets as sheets
from grading.sheets.columns import Column, Sheet
from grading.sheets.grids import Opened
from grading.sheets.kinds import A_FAIR, A_STOCK_TABLE, mistaken
from grading.sheets.rows import Row, find_grid, read_fields, read_rows, read_sheet, unread_sheets
from grading.sheets.values import value_of, values

__all__ = ["fairs_twice", "read_fair", "read_stock", "stock_rows"]

#: The most that a piece may be turned off the pile, degrees: common practice.
MOST_TURN = 5
#: The years in which a batch can be handed out or needed; what lies outside is a slip.
EARLIEST, LATEST = 2000, 2199
_NO_ROW = "no row of it"
#: In which field a skin has the parts of it that are good for something, and what one is called that has no name.
_FLAWS = {NOTHING: ("flaws", "flaw"), MOCK_UP: ("poor", "poor part"), TURNED_PARTS: ("scratched", "scratch")}
#: Sheets that count as one row of their defaults where they hold none.
_NEEDED = (sheets.SKINS, sheets.WORK, sheets.OUTWORKERS, sheets.SELLING)


def read_stock(
    opened: Opened, *, groups: Iterable[str] | None = None, given: Collection[str] = ()
) -> tuple[StockTable | None, list[Finding]]:
    """The stock table of an opened workbook, or None if it has errors; a note for each default that is used.

    There is no note for rows of other size groups than ``groups``, if those are named, nor for fields of the batch
    whose figures are ``given`` elsewhere.
    """
    if not opened.grids:
        return None, []
    if wrong := mistaken(opened, A_STOCK_TABLE) or _none_of_its_sheets(opened):
        return None, wrong
    planned = None if groups is None else Names(groups)
    findings = Findings()
    fields = findings.gather(_read_terms(opened, given))
    findings += unread_sheets(opened, sheets.STOCK_SHEETS)
    rows: dict[str, Sequence[Row]] = {}
    for sheet in sheets.STOCK_SHEETS[1:]:
        rows[sheet.name] = findings.gather(read_sheet(opened, sheet, "mm"))
        if not rows[sheet.name] and sheet in _NEEDED:
            rows[sheet.name] = (_row_of_defaults(opened, sheet.columns),)
    for sheet in sheets.STOCK_SHEETS[1:]:
        findings += _defaults(opened, sheet, rows, planned)
    findings += _settle_skins(rows)
    findings += _impossible(fields, rows)
    if has_errors(findings):
        return None, findings
    filled = {sheet.fills: values(sheet, rows[sheet.name]) for sheet in sheets.STOCK_SHEETS[1:]}
    outlines = filled.pop("outlines")
    filled["skins"] = tuple(_outlined(skin, outlines) for skin in filled["skins"])
    return StockTable(terms=value_of(sheets.STOCK, fields), **filled), findings


def _none_of_its_sheets(opened: Opened) -> list[Finding]:
    """An error for a workbook of other figures: every sheet may be left out, but what is there must be of a stock."""
    figures = any(isinstance(value, (int, float)) for grid in opened.grids for value in grid.cells.values())
    if not figures or any(opened.grid(sheet.name) is not None for sheet in sheets.STOCK_SHEETS):
        return []
    found = "None of its sheets is one of a stock table."
    expected = f"One at least of {', '.join(sheet.name for sheet in sheets.STOCK_SHEETS)}."
    action = "Name the right file, or call a sheet so."
    return [Finding.error(Code.MISSING_SHEET, Place(opened.path.name), found, expected, action)]


def read_fair(opened: Opened) -> tuple[tuple[Sold, ...], list[Finding]]:
    """What a workbook that was filled in at a fair tells: its sheet of past sales, and nothing else of it."""
    if not opened.grids:
        return (), []
    if wrong := mistaken(opened, A_FAIR):
        return (), wrong
    grid, _ = find_grid(opened, sheets.PAST_SALES)
    if grid is None:
        found = f"There is no sheet '{sheets.PAST_SALES.name}'."
        expected = "The workbook that a batch wrote for its fair, filled in."
        return (), [_wrong(Code.MISSING_SHEET, Place(opened.path.name), found, expected)]
    table, findings = read_rows(grid, sheets.PAST_SALES, "mm")
    findings += [one for row in table.rows for one in _sold(row)]
    return (() if has_errors(findings) else values(sheets.PAST_SALES, table.rows)), findings


def fairs_twice(sold: Iterable[Sold]) -> Iterator[Finding]:
    """An error for each size of a fair that stands in two workbooks, and would count twice."""
    seen: dict[tuple[str, ...], Sold] = {}
    for row in sold:
        key = name_key(row.fair), name_key(row.group), name_key(row.size)
        other = seen.setdefault(key, row)
        if other is not row:
            found = f"{row.group} {row.size} of the fair '{row.fair}' stands in {other.place.workbook} too."
            expected = "Each fair once, or its pairs count twice."
            action = "Delete the rows in one of the two, or name the fairs apart under 'Fair'."
            yield Finding.error(Code.FAIR_TWICE, row.place, found, expected, action, row.fair)


def stock_rows(table: StockTable, sheet: Sheet) -> Iterable[Any]:
    """The values that stand in the rows of one sheet of a stock table."""
    if sheet is sheets.STOCK:
        return [table.terms]
    return _outlines(table.skins) if sheet is sheets.OUTLINES else getattr(table, sheet.fills)


def _outlined(skin: SkinKind, outlines: Iterable[Outline]) -> SkinKind:
    """A skin with what is drawn of it."""
    own = [one for one in outlines if one.skin == skin.name]
    edge = next((one.points for one in own if one.part == sheets.WHOLE_OUTLINE), ())
    flaws: dict[str, Any] = {
        field: tuple(
            one.points for one in own if one.part != sheets.WHOLE_OUTLINE and (one.good_for or NOTHING) == good_for
        )
        for good_for, (field, _) in _FLAWS.items()
    }
    return replace(skin, outline=edge, **flaws)


def _outlines(skins: Iterable[SkinKind]) -> Iterator[Outline]:
    """What is drawn of the skins, the edge of each first."""
    for skin in skins:
        yield Outline(skin.name, sheets.WHOLE_OUTLINE, tuple(Corner(*point) for point in skin.outline), "")
        for good_for, (field, called) in _FLAWS.items():
            for number, flaw in enumerate(getattr(skin, field), 1):
                yield Outline(skin.name, f"{called} {number}", tuple(Corner(*point) for point in flaw), good_for)


# Rows, and the defaults in them


def _read_terms(opened: Opened, given: Collection[str]) -> tuple[Row, list[Finding]]:
    findings = Findings()
    grid = findings.gather(find_grid(opened, sheets.STOCK))
    used = [field for field in sheets.STOCK.fields if field.counts_as and field.name not in given]
    if grid is None:
        place = Place(opened.path.name, sheets.STOCK.name)
        return _row_of_defaults(opened, sheets.STOCK.fields), [_default(place, field, _NO_ROW) for field in used]
    row = findings.gather(read_fields(grid, sheets.STOCK, "mm"))
    findings += (
        _default(row.place(field.name) if field.name in row.cells else grid.place(), field, "blank")
        for field in used
        if row.cells.get(field.name) not in grid.cells
    )
    return row, findings


def _row_of_defaults(opened: Opened, columns: Iterable[Column]) -> Row:
    """What counts where a sheet has no row."""
    return Row(opened.grids[0], 0, {column.name: column.blank for column in columns}, {}, True)


def _defaults(
    opened: Opened, sheet: Sheet, rows: Mapping[str, Sequence[Row]], groups: Names | None
) -> Iterator[Finding]:
    """A note for each column with blank cells whose default is used."""
    drawn = Names(row["Skin"] for row in rows[sheets.OUTLINES.name] if row["Skin"])
    for column in sheet.columns:
        blank = [
            row
            for row in rows[sheet.name]
            if column.counts_as and row.cells.get(column.name) not in row.grid.cells
            if (groups is None or not row.values.get("Group") or row["Group"] in groups)
            if _is_used(column.name, row, drawn)
        ]
        if not blank:
            continue
        if blank[0].number:
            numbers = [str(row.number) for row in blank]
            where = f"blank in row{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}"
            yield _default(blank[0].place(column.name), column, where)
        else:
            yield _default(Place(opened.path.name, sheet.name), column, _NO_ROW)


def _is_used(column: str, row: Row, drawn: Names) -> bool:
    """Whether a figure of the row matters, given the rest of the row and the skins whose outlines are ``drawn``."""
    match column:
        case "Width" | "Length" | "Lost to flaws":
            return (row["Skin"] or "") not in drawn
        case "Area unit":
            return row["Usable area"] is not None
        case "Price per":
            return bool(row["Price"])
        case "Rate an hour":
            return row["Piece rate"] is None
        case "Girth spread" | "Length spread" | "Correlation":
            return bool(row["Share"])
    return True


def _default(place: Place, column: Column, where: str) -> Finding:
    found = f"'{column.name}' is left open ({where}): {column.counts_as} was used."
    return Finding.note(Code.DEFAULT_USED, place, found, column.help, "Fill it in if that is not right.")


def _settle_skins(rows: dict[str, Sequence[Row]]) -> Iterator[Finding]:
    """Spell the skins on the sheet Outlines as on the sheet Skins; an error for each that is not there."""
    known = Names(row["Skin"] for row in rows[sheets.SKINS.name] if row["Skin"])
    told = Names()
    settled = []
    # What a flaw is good for may stand in one of its rows only.
    said: dict[tuple[str, str], str] = {}
    for row in rows[sheets.OUTLINES.name]:
        if row["Good for"]:
            said.setdefault((name_key(row["Skin"] or ""), name_key(row["Part"] or "")), row["Good for"])
    for row in rows[sheets.OUTLINES.name]:
        name, part = (row[column] or "" for column in ("Skin", "Part"))
        if name and name not in known and name not in told:
            told = Names([*told, name])
            found = f"There is no skin '{name}' on the sheet {sheets.SKINS.name}."
            yield _wrong(Code.UNKNOWN_SKIN, row.place("Skin"), found, "The name of a skin there.")
        parts = Names([sheets.WHOLE_OUTLINE])
        good_for = said.setdefault((name_key(name), name_key(part)), row["Good for"] or "")
        spelled = {"Skin": known.settled_or_not(name), "Part": parts.settled_or_not(part), "Good for": good_for}
        settled.append(replace(row, values={**row.values, **spelled}))
    rows[sheets.OUTLINES.name] = settled


# What is readable, and still cannot be


def _impossible(fields: Row, rows: dict[str, Sequence[Row]]) -> Iterator[Finding]:
    if not 0 <= (fields["Pile within"] or 0) <= MOST_TURN:
        expected = f"Between 0 and {MOST_TURN}: a piece turned further off shows another pile than its pair."
        yield _wrong(Code.PILE_TURN, fields.place("Pile within"), "The turn off the pile is out of bounds.", expected)
    if fields["Largest bundle"] == 0:
        yield _wrong(Code.EMPTY_BUNDLE, fields.place("Largest bundle"), "A bundle holds 0 pairs.", "One at least.")
    for name in ("Hand out on", "Needed by"):
        yield from _dated(fields, name)
    customers = rows[sheets.CUSTOMERS.name]
    if customers and not any(row["Share"] for row in customers):
        yield _wrong(Code.NO_SHARE, customers[0].place("Share"), "No group has a share.", "One above zero at least.")
    for row in rows[sheets.PAST_SALES.name]:
        yield from _sold(row)
    for row in rows[sheets.SKINS.name]:
        yield from _drawable(row, rows[sheets.OUTLINES.name])
    for sheet in (sheets.WORK, sheets.SELLING):
        yield from _rows_for_the_same(rows[sheet.name])
    for row in rows[sheets.WORK.name]:
        yield from _paid_less(row)


def _sold(row: Row) -> Iterator[Finding]:
    """An error where more was sold than there was; a note where a size was sold out and 'Asked for' is blank."""
    brought, sold = row["Pairs brought"], row["Pairs sold"]
    if brought is None or sold is None:
        return
    if sold > brought:
        found = f"{sold} pairs of {row['Size']} were sold, and {brought} brought."
        yield _wrong(Code.SOLD_MORE_THAN_BROUGHT, row.place("Pairs sold"), found, "No more sold than there were.")
    elif sold == brought > 0 and row["Asked for"] is None:
        found = f"All {brought} pairs of {row['Size']} were sold, and nobody wrote down who asked for more."
        action = "Fill in 'Asked for', with 0 if nobody did."
        yield Finding.note(Code.SOLD_OUT, row.place("Asked for"), found, "More might have been sold.", action)


def _paid_less(row: Row) -> Iterator[Finding]:
    """A warning of a piece rate that pays less than the rate an hour that is typed beside it."""
    minutes, rate, piece_rate = row["Minutes a pair"], row["Rate an hour"], row["Piece rate"]
    typed = row.cells.get("Rate an hour") in row.grid.cells
    if not typed or None in (minutes, rate, piece_rate) or minutes <= 0:
        return
    an_hour = piece_rate / minutes * 60
    if an_hour < rate - 0.005:
        found = f"The piece rate is {amount(piece_rate)} for {amount(minutes)} minutes, which is {an_hour:.2f} an hour."
        expected = (
            f"No less than the hours would come to: the rate beside it is {amount(rate)}. The piece rate is paid."
        )
        action = f"Raise it to {minutes / 60 * rate:.2f}, or correct the minutes or the rate."
        yield Finding.warning(Code.PAY_TOLD_OTHERWISE, row.place("Piece rate"), found, expected, action)


def _rows_for_the_same(rows: Sequence[Row]) -> Iterator[Finding]:
    """An error for each row of the same group and size as one above; blanks mean all."""
    seen: set[tuple[str, str]] = set()
    for row in rows:
        key = (name_key(row["Group"] or ""), name_key(row["Size"] or ""))
        if row.sound and key in seen:
            found = f"A row above is for {row['Group'] or 'all groups'}, {row['Size'] or 'all sizes'} already."
            yield _wrong(Code.DUPLICATE_NAME, row.place("Group"), found, "One row for each, blanks count as all.")
        seen.add(key)


def _dated(fields: Row, name: str) -> Iterator[Finding]:
    day = fields[name]
    if day and not EARLIEST <= day.year <= LATEST:
        found = f"'{day.isoformat()}' lies far from any batch."
        yield _wrong(Code.NOT_A_DATE, fields.place(name), found, f"A day of the years {EARLIEST} to {LATEST}.")


def _drawable(row: Row, outlines: Sequence[Row]) -> Iterator[Finding]:
    """Errors of outlines that bound no area and of flaws without an outline; a note where skins share an outline."""
    own = [one for one in values(sheets.OUTLINES, filter(attrgetter("sound"), outlines)) if one.skin == row["Skin"]]
    parts = {one.part: one.points for one in own}
    for part, points in parts.items():
        if len(points) < 3 or not shapely.Polygon(points).is_valid:
            found = f"The part '{part}' of {row['Skin']} bounds no area."
            yield _wrong(Code.SKIN_OUTLINE, row.place("Skin"), found, "Three points or more, in order round it.")
    if parts and sheets.WHOLE_OUTLINE not in parts:
        found = f"{row['Skin']} has flaws on the sheet Outlines, and no part '{sheets.WHOLE_OUTLINE}'."
        yield _wrong(Code.SKIN_OUTLINE, row.place("Skin"), found, "The edge of a skin whose flaws are drawn.")
    whole = parts.get(sheets.WHOLE_OUTLINE)
    if whole and row["Count"] is not None and row["Count"] > 1:
        found = f"{row['Skin']} is there {row['Count']} times with one outline."
        yield Finding.note(Code.SKIN_OUTLINE, row.place("Count"), found, "All are laid as if alike.", "")


def _wrong(code: Code, place: Place, found: str, expected: str) -> Finding:
    return Finding.error(code, place, found, expected, "Correct the cell.")
