"""Tables that are broken, odd or hostile: whatever is in them, there are findings or files, and never a traceback.

Each mutation has a number, from which it is made anew: a failure names it.
"""

from __future__ import annotations

import datetime as dt
import io
import random
import time
import zipfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result

import grading.jobs.tables
import grading.jobs.unchanged
from grading.cli import main
from grading.sheets.opening import Grid, Opened, open_tables

TABLES = Path(__file__).parents[2] / "tables"
SIZES, BLOCK = TABLES / "sizes.xlsx", TABLES / "block.xlsx"
SLOWEST = 30.0  # seconds for one mutation, on a slow machine that does other things too

NAMES = [
    "../../outside", "..", ".", "/etc/passwd", "a/b", "C:\\x", "con", "nul.pdf", "~$x", "a\x00b", "a\x1b[31mb",
    "\ufffe", "\ud800", "🧤", "👩‍👩‍👧", "قفاز", "\u202eevil", "e\u0301", "ﬁ", "İ", "ß", "=1+1", "@SUM(A1)", "'", '"',
    "<b>&amp;", "%s{0}", "x" * 40_000, " ", "A'", "boundary", "mirror line", "-", "8/9", "1e5", "None", "#REF!",
]  # fmt: skip
FIGURES = [
    0, -1, 0.0, -0.0, 1, 1e-320, 1e308, -1e308, float("nan"), float("inf"), 10**40, True, False, 0.1, 1e5, 599.99,
    "1e308", "nan", "inf", "-5", "1/0", "0/0", "1/3", "8 3/4", "21,5 cm", "1,234.5", "٣٤", "½", "1" * 5000, "10 %",
    "3 in", "--1", "+", "1_000", "0x10",
    dt.datetime(2026, 9, 8), dt.date(1, 1, 1), dt.time(8, 9), dt.timedelta(days=400),
]  # fmt: skip

Mutation = Callable[[random.Random, list[Grid]], list[Grid]]


def some_cell(chance: random.Random, grid: Grid) -> tuple[int, int]:
    row, column = chance.choice(list(grid.cells) or [(1, 1)])
    return (row, column + 1) if chance.random() < 0.1 else (row, column)


def one_grid(change: Callable[[random.Random, Grid], Grid]) -> Mutation:
    def mutated(chance: random.Random, grids: list[Grid]) -> list[Grid]:
        chosen = chance.randrange(len(grids))
        return [change(chance, grid) if i == chosen else grid for i, grid in enumerate(grids)]

    return mutated


def typed_over(chance: random.Random, grid: Grid) -> Grid:
    cells = dict(grid.cells)
    for _ in range(chance.choice([1, 1, 1, 3, 10])):
        cells[some_cell(chance, grid)] = chance.choice(NAMES if chance.random() < 0.4 else FIGURES)
    return replace(grid, cells=cells)


def slipped(chance: random.Random, grid: Grid) -> Grid:
    """A figure off by a digit, a factor or a little."""
    cells = dict(grid.cells)
    figures = [cell for cell, value in cells.items() if isinstance(value, int | float)] or [(1, 1)]
    for _ in range(chance.choice([1, 1, 4])):
        cell = chance.choice(figures)
        value = cells.get(cell)
        if isinstance(value, int | float):
            cells[cell] = chance.choice([value * 10, value / 10, -value, value + chance.gauss(0, 20), value * 1e6, 0])
    return replace(grid, cells=cells)


def swapped(chance: random.Random, grid: Grid) -> Grid:
    cells = dict(grid.cells)
    one, other = some_cell(chance, grid), some_cell(chance, grid)
    cells[one], cells[other] = cells.get(other), cells.get(one)
    return replace(grid, cells={cell: value for cell, value in cells.items() if value is not None})


def line_lost(chance: random.Random, grid: Grid) -> Grid:
    row, column = some_cell(chance, grid)
    by_row = chance.random() < 0.7
    kept = {c: v for c, v in grid.cells.items() if (c[0] != row if by_row else c[1] != column)}
    return replace(grid, cells=kept)


def line_doubled(chance: random.Random, grid: Grid) -> Grid:
    row, _ = some_cell(chance, grid)
    doubled = {(grid.rows + 1, column): value for (r, column), value in grid.cells.items() if r == row}
    return replace(grid, cells={**grid.cells, **doubled})


def cells_spoilt(chance: random.Random, grid: Grid) -> Grid:
    row, column = some_cell(chance, grid)
    match chance.randrange(4):
        case 0:
            return replace(grid, faults={(row, column): chance.choice(["formula-without-value", "formula-error"])})
        case 1:
            bounds = (column, row, column + chance.randrange(3), row + chance.randrange(3))
            kept = {c: v for c, v in grid.cells.items() if c == (row, column) or not _within(c, bounds)}
            return replace(grid, cells=kept, merges=(bounds,))
        case 2:
            return replace(grid, hidden=True, hidden_rows=frozenset({row, 1}))
        case _:
            return replace(grid, sheet=chance.choice(NAMES))


def _within(cell: tuple[int, int], bounds: tuple[int, int, int, int]) -> bool:
    left, top, right, bottom = bounds
    return top <= cell[0] <= bottom and left <= cell[1] <= right


def widened(chance: random.Random, grid: Grid) -> Grid:
    """As many columns as are read at most, each a copy of the last."""
    last = grid.columns
    more = {
        (row, column): f"{value} {column}" if row == 1 else value
        for (row, at), value in grid.cells.items()
        if at == last
        for column in range(last + 1, chance.choice([last + 3, 60, 200]))
    }
    return replace(grid, cells={**grid.cells, **more})


def emptied(chance: random.Random, grid: Grid) -> Grid:
    keep = chance.choice([0, 1, 2])
    return replace(grid, cells={cell: value for cell, value in grid.cells.items() if cell[0] <= keep})


def sheet_lost(chance: random.Random, grids: list[Grid]) -> list[Grid]:
    lost = chance.randrange(len(grids))
    return [grid for i, grid in enumerate(grids) if i != lost]


def renamed(chance: random.Random, grids: list[Grid]) -> list[Grid]:
    """One word everywhere by another, so that the tables agree with one another still."""
    words = sorted({v for g in grids for v in g.cells.values() if isinstance(v, str) and 0 < len(v) < 30})
    old, new = chance.choice(words), chance.choice(NAMES)
    return [
        replace(
            grid,
            sheet=new if grid.sheet == old else grid.sheet,
            cells={
                cell: _word_for_word(value, old, new) if isinstance(value, str) else value
                for cell, value in grid.cells.items()
            },
        )
        for grid in grids
    ]


def _word_for_word(text: str, old: str, new: str) -> str:
    return ", ".join(new if word == old else word for word in text.split(", "))


MUTATIONS: list[Mutation] = [
    *[one_grid(change) for change in (typed_over, slipped, swapped, line_lost, line_doubled, cells_spoilt)] * 2,
    *[one_grid(change) for change in (widened, emptied, typed_over, slipped)],
    sheet_lost,
    renamed,
    renamed,
]


@pytest.fixture(scope="module")
def opened() -> Mapping[str, Opened]:
    """The demo's tables, women's group only and of three sizes, so that many mutations take little time."""
    sizes, block = open_tables(SIZES)[0], open_tables(BLOCK)[0]
    women = next(grid for grid in sizes.grids if grid.sheet == "Women")
    few = replace(women, cells={cell: value for cell, value in women.cells.items() if cell[1] <= 5})
    plain = tuple(grid for grid in block.grids if not grid.sheet.startswith("About"))
    return {"sizes.xlsx": replace(sizes, grids=(few,)), "block.xlsx": replace(block, grids=plain)}


def mutated(opened: Mapping[str, Opened], chance: random.Random) -> dict[str, Opened]:
    """Either workbook, or where a word is renamed both, with one to three things wrong."""
    tables = dict(opened)
    for _ in range(chance.choice([1, 1, 1, 2, 3])):
        change = chance.choice(MUTATIONS)
        if change is renamed:
            counts = [len(one.grids) for one in tables.values()]
            grids = renamed(chance, [grid for one in tables.values() for grid in one.grids])
            parts = grids[: counts[0]], grids[counts[0] :]
            tables = {n: replace(one, grids=tuple(p)) for (n, one), p in zip(tables.items(), parts, strict=True)}
            continue
        name = chance.choice(list(tables))
        if tables[name].grids:
            tables[name] = replace(tables[name], grids=tuple(change(chance, list(tables[name].grids))))
    return tables


def command(words: list[str], folder: Path, number: int) -> Result:
    """Run the program and see that it ended as it should: with files or with an error that is told, and in time."""
    start = time.perf_counter()
    result = CliRunner().invoke(main, words)
    assert time.perf_counter() - start < SLOWEST, number
    unforeseen = result.exception is not None and not isinstance(result.exception, SystemExit)
    assert not unforeseen, (number, result.exc_info)
    assert result.exit_code in (0, 1), number
    assert (result.exit_code == 1) == ("error " in result.stderr), number
    assert {path.name for path in folder.iterdir()} <= {"output", "sizes.xlsx", "sizes.csv"}, number
    return result


def try_tables(
    numbers: Sequence[int], opened: Mapping[str, Opened], folder: Path, monkeypatch, *, write_every: int
) -> None:
    """Check each mutation; of those that are no error also make every so many'th run, files and all."""
    monkeypatch.setattr(
        grading.jobs.unchanged, "standing", lambda *_: None
    )  # the files on the disk are the same every time
    good = 0
    for number in numbers:
        tables = mutated(opened, random.Random(number))
        monkeypatch.setattr(grading.jobs.tables, "open_tables", lambda path, tables=tables: (tables[path.name], []))
        words = ["--sizes", str(SIZES), "--block", str(BLOCK)]
        if command(["check", *words], folder, number).exit_code == 0:
            good += 1
            if good % write_every == 0:
                command(["run", "--quiet", *words, "--out", str(folder / "output")], folder, number)
    assert 0 < good < len(numbers)


def test_whatever_stands_in_the_cells_there_are_findings_or_files(opened, tmp_path, monkeypatch):
    try_tables(range(100), opened, tmp_path, monkeypatch, write_every=20)


@pytest.mark.long
def test_whatever_stands_in_the_cells_there_are_findings_or_files_tried_much_longer(opened, tmp_path, monkeypatch):
    try_tables([*range(100, 180), *range(1000, 2400)], opened, tmp_path, monkeypatch, write_every=4)


def small_workbook() -> bytes:
    book = openpyxl.load_workbook(SIZES)
    for sheet in book.worksheets[1:]:
        book.remove(sheet)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def small_csv() -> bytes:
    rows = openpyxl.load_workbook(SIZES)["Women"].iter_rows(values_only=True)
    return "\n".join(";".join("" if v is None else str(v) for v in row[:5]) for row in rows).encode()


def bytes_spoilt(chance: random.Random, data: bytes) -> bytes:
    spoilt = bytearray(data)
    match chance.randrange(5):
        case 0:
            for _ in range(chance.choice([1, 5, 50])):
                spoilt[chance.randrange(len(spoilt))] = chance.randrange(256)
        case 1:
            del spoilt[chance.randrange(len(spoilt)) :]
        case 2:
            at = chance.randrange(len(spoilt))
            del spoilt[at : at + chance.choice([1, 10, 100])]
        case 3:
            at = chance.randrange(len(spoilt))
            spoilt[at:at] = chance.choice([b"\0", b'"', b"\xff\xfe", b"<", b"&x;", b"\x1b[2J", b"1e999", b";" * 500])
        case _:
            one, other = sorted(chance.randrange(len(spoilt)) for _ in range(2))
            spoilt[one:one] = spoilt[other : other + 200]
    return bytes(spoilt)


def part_spoilt(chance: random.Random, data: bytes) -> bytes:
    """The workbook with one part of its archive spoilt, nested deeply, or with odd figures in its cells."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as new:
        chosen = chance.choice([name for name in old.namelist() if "theme" not in name])
        if chance.random() < 0.4:
            chosen = "xl/worksheets/sheet1.xml"
        for name in old.namelist():
            content = old.read(name)
            if name == chosen:
                match chance.randrange(4):
                    case 0:
                        content = content.replace(b"<v>", chance.choice([b"<v>-", b"<v>1e", b"<v>nan", b"<v>9e9"]))
                    case 1:
                        depth = chance.choice([100, 20_000])
                        content = content.replace(b"</sheetData>", b"<a>" * depth + b"</a>" * depth + b"</sheetData>")
                    case _:
                        content = bytes_spoilt(chance, content)
            new.writestr(name, content)
    return stream.getvalue()


def try_files(numbers: range, folder: Path) -> None:
    workbook, table = small_workbook(), small_csv()
    ended = set()
    for number in numbers:
        chance = random.Random(number)
        kind = chance.randrange(4)
        name = "sizes.csv" if kind == 0 else "sizes.xlsx"
        data = [bytes_spoilt(chance, table), bytes_spoilt(chance, workbook)][kind] if kind < 2 else None
        (folder / name).write_bytes(data if data is not None else part_spoilt(chance, workbook))
        result = command(["audit", str(folder / name)], folder, number)
        ended.add(result.exit_code)
        assert bool(result.stdout.strip()) or result.exit_code == 1, number
    assert ended == {0, 1}


def test_whatever_the_bytes_of_a_file_are_there_are_findings_or_figures(tmp_path):
    try_files(range(120), tmp_path)


@pytest.mark.long
def test_whatever_the_bytes_of_a_file_are_there_are_findings_or_figures_tried_much_longer(tmp_path):
    try_files(range(1000, 1600), tmp_path)
