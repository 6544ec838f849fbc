"""Tells by its sheets which kind of tables a file has, so that one that was given in another's place is found."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from grading.codes import Code
from grading.findings import Finding, Place
from grading.model.hands import LEFT, RIGHT
from grading.model.names import name_key
from grading.sheets.block_sheets import BLOCK_SHEETS
from grading.sheets.check_sheet import CHECK
from grading.sheets.columns import Sheet
from grading.sheets.declared import HAND, SIZE_GROUP, TRACED
from grading.sheets.grids import Grid, Opened
from grading.sheets.rows import headings, is_headed
from grading.sheets.stock_sheets import NEXT_SHARES, PAST_SALES, STOCK_SHEETS

__all__ = [
    "A_BLOCK",
    "A_FAIR",
    "A_STOCK_TABLE",
    "CHECK_SHEETS",
    "HANDS",
    "POINTS",
    "SIZE_TABLES",
    "FileKind",
    "is_of_another_table",
    "mistaken",
]

#: So many of its headings tell a sheet, so many points' headings theirs, and so many sheets a block.
_HEADINGS, _OF_POINTS, _SHEETS = 2, 4, 2
#: The headings of a check sheet stand below a title and fields, so far down at most.
_TITLED = 40


@dataclass(frozen=True)
class FileKind:
    """A kind of file: whether a file is one, what it is called, what it holds, and for which option it is."""

    is_one: Callable[[Opened], bool]
    called: str
    holds: str
    given: str


def mistaken(opened: Opened, wanted: FileKind) -> list[Finding]:
    """One error where a file is not of the kind that is wanted but of another that is known, else nothing."""
    if wanted.is_one(opened):
        return []
    kind = next((kind for kind in _KINDS if kind.is_one(opened)), None)
    if kind is None:
        return []
    return [
        Finding.error(
            Code.ANOTHER_KIND_OF_FILE,
            Place(opened.grids[0].workbook),
            f"This is {kind.called}, not {wanted.called}.",
            f"{wanted.called[0].upper()}{wanted.called[1:]}: {wanted.holds}.",
            f"Name another file. {kind.given}",
        )
    ]


def is_of_another_table(grid: Grid) -> bool:
    """Whether a sheet is one of a block's or of a stock table's, kept in one workbook with others."""
    return any(
        name_key(grid.sheet) == name_key(sheet.name) and _headings_of(grid, sheet) >= _HEADINGS
        for sheet in (*BLOCK_SHEETS, *STOCK_SHEETS)
    )


def _headings_of(grid: Grid, sheet: Sheet, row: int = 0) -> int:
    """How many of a sheet's own headings stand in a row of a grid, else in its first that holds anything."""
    there = headings(grid, row)
    return sum(name_key(column.name) in there for column in sheet.columns)


def _sheets_of(opened: Opened, sheets: Iterable[Sheet]) -> int:
    """How many of these sheets a workbook has, with headings of their own."""
    grids = ((opened.grid(sheet.name), sheet) for sheet in sheets)
    return sum(grid is not None and _headings_of(grid, sheet) >= _HEADINGS for grid, sheet in grids)


def _has_all(*sheets: str) -> Callable[[Opened], bool]:
    return lambda opened: all(opened.grid(name) is not None for name in sheets)


def _is_of_hands(opened: Opened) -> bool:
    hands = {name_key(hand) for hand in (LEFT, RIGHT)}
    return any(is_headed(grid, HAND) and hands & headings(grid).keys() for grid in opened.grids)


def _is_of_sizes(opened: Opened) -> bool:
    return any(is_headed(grid, SIZE_GROUP) for grid in opened.grids) and not _is_of_hands(opened)


def _is_of_points(opened: Opened) -> bool:
    return not A_BLOCK.is_one(opened) and any(_headings_of(grid, TRACED) >= _OF_POINTS for grid in opened.grids)


def _is_a_check_sheet(opened: Opened) -> bool:
    rows = ((grid, row) for grid in opened.grids for row in {row for row, _ in grid.cells} if row <= _TITLED)
    return any(_headings_of(grid, CHECK, row) == len(CHECK.columns) for grid, row in rows)


def _is_a_stock_table(opened: Opened) -> bool:
    return _sheets_of(opened, STOCK_SHEETS) > 0 and not _has_all(PAST_SALES.name, NEXT_SHARES)(opened)


SIZE_TABLES = FileKind(
    _is_of_sizes,
    "size tables",
    "a sheet for each group, headed Measurement, Unit and the sizes",
    "Size tables go behind --sizes.",
)
A_BLOCK = FileKind(
    lambda opened: _sheets_of(opened, BLOCK_SHEETS) >= _SHEETS,
    "a block",
    f"the sheets {', '.join(sheet.name for sheet in BLOCK_SHEETS[:5])} and so on",
    "A block goes behind --block.",
)
A_STOCK_TABLE = FileKind(
    _is_a_stock_table,
    "a stock table",
    f"sheets such as {', '.join(sheet.name for sheet in STOCK_SHEETS[:4])}",
    "A stock table goes behind --stock of 'grading stock'.",
)
A_FAIR = FileKind(
    lambda opened: _sheets_of(opened, [PAST_SALES]) > 0,
    "what was sold at a fair",
    f"the sheet {PAST_SALES.name} of the batch's fair.xlsx",
    "What was sold goes behind --fair of 'grading stock'.",
)
HANDS = FileKind(
    _is_of_hands,
    "the measurements of one person's hands",
    "a sheet headed Measurement, Unit, Left and Right, as hands.xlsx",
    "Measured hands go behind --measured of 'grading draft' or 'grading hand'.",
)
POINTS = FileKind(
    _is_of_points,
    "the points of a pattern",
    f"a sheet headed {', '.join(column.name for column in TRACED.columns)}",
    "Points go behind --from-points of 'grading draft'.",
)
CHECK_SHEETS = FileKind(
    _is_a_check_sheet,
    "a check sheet",
    "the sheet that was handed out for a size, filled in",
    "Check sheets that came back are for 'grading returns'.",
)
_FROM_A_RUN = "What a run wrote is not read again but for check sheets and fair.xlsx."

#: Every kind of file, the surest to be told first: what a run wrote has sheets that are called like those of tables.
_KINDS = (
    FileKind(_has_all("Finished measures", "Grade increments"), "a spec workbook that a run wrote", "", _FROM_A_RUN),
    FileKind(_has_all("Pairs", "Lays", "Cut list"), "the plan of a batch that a run wrote", "", _FROM_A_RUN),
    FileKind(_has_all("Readings", "Pairs"), "the judgement of returned sheets that a run wrote", "", _FROM_A_RUN),
    CHECK_SHEETS,
    A_BLOCK,
    A_STOCK_TABLE,
    A_FAIR,
    HANDS,
    POINTS,
    SIZE_TABLES,
)
