"""A file given where one of another kind is asked for: one finding, which says what it is and where it belongs."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from grading.cli import main
from grading.drafting.measuring import HOW_TO_MEASURE
from grading.sheets.block import read_block
from grading.sheets.hands import read_hands
from grading.sheets.opening import open_tables
from grading.sheets.returns import read_check_sheets
from grading.sheets.sizes import read_sizes
from grading.sheets.stock import read_fair, read_stock
from grading.sheets.traced import read_traced

#: What a file is called, and its path in a folder in which everything was made once.
FILES = {
    "size tables": "tables/sizes.xlsx",
    "a block": "tables/block.xlsx",
    "a stock table": "tables/stock.xlsx",
    "the measurements of one person's hands": "hands.xlsx",
    "the points of a pattern": "points.csv",
    "a check sheet": "output/Women/check-sheets/W3.xlsx",
    "a spec workbook that a run wrote": "output/Women/spec.xlsx",
    "the judgement of returned sheets that a run wrote": "output/returns/returns.xlsx",
}
READERS = {
    "size tables": read_sizes,
    "a block": read_block,
    "a stock table": read_stock,
    "the measurements of one person's hands": lambda opened: read_hands(opened, HOW_TO_MEASURE, "mm"),
    "the points of a pattern": lambda opened: read_traced(opened, "mm"),
    "what was sold at a fair": read_fair,
    "a check sheet": read_check_sheets,
}
#: A stock table has a sheet of past sales too, and may be given for what was sold.
HOLDS_BOTH = ("what was sold at a fair", "a stock table")


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """A maker's folder after a run and a returned sheet."""
    home = tmp_path_factory.mktemp("maker") / "mittens"
    before = Path.cwd()
    try:
        done = [CliRunner().invoke(main, ["start", str(home)])]
        os.chdir(home)
        done += [CliRunner().invoke(main, ["run", "--group", "Women", "--only", "spec", "--quiet"])]
        book = openpyxl.load_workbook("output/Women/check-sheets/W3.xlsx")
        heading = next(cell for row in book.active.iter_rows() for cell in row if cell.value == "Pair 1 left")
        book.active.cell(heading.row + 1, heading.column).value = 114
        book.save("back.xlsx")
        done.append(CliRunner().invoke(main, ["returns", "back.xlsx", "--group", "Women"]))
    finally:
        os.chdir(before)
    assert [one.exit_code for one in done] == [0, 0, 0], [one.output for one in done]
    return home


@pytest.fixture(scope="module")
def opened(folder):
    return {kind: open_tables(folder / path)[0] for kind, path in FILES.items()}


@pytest.mark.parametrize("wanted", READERS)
def test_a_file_of_another_kind_is_one_finding_that_names_both_kinds(opened, wanted):
    for kind, file in opened.items():
        if kind == wanted:
            assert "another-kind-of-file" not in [one.code for one in READERS[wanted](file)[1]]
        elif (wanted, kind) != HOLDS_BOTH:
            ((code, found),) = [(one.code, one.found) for one in READERS[wanted](file)[1]]
            assert (code, found) == ("another-kind-of-file", f"This is {kind}, not {wanted}.")


@pytest.mark.parametrize(("words", "says"), [
    (("check", "--sizes", "tables/block.xlsx"), "goes behind --block"),
    (("check", "--block", "tables/sizes.xlsx"), "go behind --sizes"),
    (("audit", "hands.xlsx"), "go behind --measured"),
    (("audit", "--group", "Women", "--against", "output/Women/spec.xlsx"), "What a run wrote"),
    (("hand", "--group", "Women", "--measured", "points.csv"), "go behind --from-points"),
    (("draft", "--measured", "tables/sizes.xlsx", "--out", "own.xlsx"), "go behind --sizes"),
    (("stock", "--stock", "back.xlsx", "--group", "Women"), "for 'grading returns'"),
    (("returns", "tables/stock.xlsx", "--group", "Women"), "goes behind --stock"),
])  # fmt: skip
def test_no_command_adds_a_finding_that_this_one_causes(folder, tmp_path, monkeypatch, words, says):
    monkeypatch.chdir(folder)
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 1
    assert "1 error" in done.stderr.splitlines()
    assert says in " ".join(done.stderr.split())


@pytest.mark.parametrize(("name", "kind"), [("nest.pdf", "a PDF"), ("run.json", "the record of a run")])
def test_what_is_no_table_at_all_is_called_by_its_name(folder, tmp_path, name, kind):
    path = tmp_path / name
    path.write_bytes(b"%PDF-1.4" if name.endswith("pdf") else b"{}")
    ((found, action),) = [(one.found, one.action) for one in open_tables(path)[1]]
    assert (found, action) == (f"The file is {kind}.", "Name the workbook itself.")


def test_a_workbook_of_something_else_is_no_stock_table_full_of_defaults(folder, tmp_path, monkeypatch):
    monkeypatch.chdir(folder)
    book = openpyxl.Workbook()
    book.active.append(["Accounts", 2026])
    book.save(tmp_path / "accounts.xlsx")
    done = CliRunner().invoke(main, ["stock", "--stock", str(tmp_path / "accounts.xlsx"), "--group", "Women"])
    assert done.exit_code == 1
    assert "None of its sheets is one of a stock table" in done.stderr


def test_tables_that_are_kept_in_one_workbook_are_read_as_what_is_asked_for(folder, tmp_path):
    shutil.copy(folder / "tables" / "block.xlsx", tmp_path / "all.xlsx")
    book, sizes = (openpyxl.load_workbook(path) for path in (tmp_path / "all.xlsx", folder / "tables" / "sizes.xlsx"))
    sheet = book.create_sheet("Women", 0)
    for row in sizes["Women"].iter_rows(values_only=True):
        sheet.append(row)
    book.save(tmp_path / "all.xlsx")
    both = open_tables(tmp_path / "all.xlsx")[0]
    for read in (read_sizes, read_block):
        assert "error" not in [one.severity.value for one in read(both)[1]]
