"""What is broken, odd or hostile: whatever is given, there are findings or files, and never a traceback.

Each attack has a number, from which it is made anew: a failure names it.
"""

from __future__ import annotations

import random
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from attacks import CLASSES, OPTIONS, SLOWEST, Workshop
from click.testing import CliRunner, Result
from spoilt_tables import mutated

import grading.jobs.tables
import grading.jobs.unchanged
from grading.cli import main
from grading.sheets.opening import Opened, open_tables

TABLES = Path(__file__).parents[2] / "tables"
SIZES, BLOCK = TABLES / "sizes.xlsx", TABLES / "block.xlsx"
#: How many of each class the quick suite draws: those that are quickly made more.
QUICK = dict.fromkeys(CLASSES, 2) | {"a customer's measurements": 1, "stock": 1, OPTIONS: 8}


@pytest.fixture(scope="module")
def opened() -> Mapping[str, Opened]:
    """The demo's tables, women's group only and of three sizes, so that many mutations take little time."""
    sizes, block = open_tables(SIZES)[0], open_tables(BLOCK)[0]
    women = next(grid for grid in sizes.grids if grid.sheet == "Women")
    few = replace(women, cells={cell: value for cell, value in women.cells.items() if cell[1] <= 5})
    plain = tuple(grid for grid in block.grids if not grid.sheet.startswith("About"))
    return {"sizes.xlsx": replace(sizes, grids=(few,)), "block.xlsx": replace(block, grids=plain)}


def command(words: list[str], folder: Path, number: int) -> Result:
    """Run the program and see that it ended as it should: with files or with an error that is told, and in time."""
    start = time.process_time()
    result = CliRunner().invoke(main, words)
    assert time.process_time() - start < SLOWEST, number
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
    for remembered in ("_sizes_of", "_block_of", "_group_of"):  # by the files' sums, which stay the same here
        monkeypatch.setattr(grading.jobs.tables, remembered, getattr(grading.jobs.tables, remembered).__wrapped__)
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
    try_tables(range(60), opened, tmp_path, monkeypatch, write_every=15)


@pytest.mark.long
def test_whatever_stands_in_the_cells_there_are_findings_or_files_tried_much_longer(opened, tmp_path, monkeypatch):
    try_tables(range(1000, 2500), opened, tmp_path, monkeypatch, write_every=4)


@pytest.fixture(scope="module")
def workshop(tmp_path_factory) -> Iterator[Workshop]:
    folder = tmp_path_factory.mktemp("workshop")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        yield Workshop(folder)


def try_attacks(workshop: Workshop, kind: str, numbers: range) -> None:
    """A failure names the class and the number: 'python tests/hostile =NUMBER CLASS' makes that attack again."""
    for number in numbers:
        ended = workshop.tried(kind, number)
        assert not ended.wrong, (kind, number, ended)


@pytest.mark.parametrize("kind", CLASSES)
def test_whatever_a_reader_or_a_command_is_given_it_ends_with_files_or_a_finding(workshop, kind):
    try_attacks(workshop, kind, range(QUICK[kind]))


@pytest.mark.long
@pytest.mark.parametrize("kind", CLASSES)
def test_whatever_a_reader_or_a_command_is_given_it_ends_with_files_or_a_finding_tried_much_longer(workshop, kind):
    try_attacks(workshop, kind, range(1_000, 1_300))
