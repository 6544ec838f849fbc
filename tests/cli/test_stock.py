"""The command 'grading stock' as a maker types it."""

from __future__ import annotations

import io
import json
import re
import sys
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from pypdf import PdfReader
from unlaid import heaped

from grading.cli import main
from grading.cli.stock import _progress

TABLES = Path(__file__).parents[2] / "tables"
BLOCKS = [word for path in sorted(TABLES.glob("block*.xlsx")) for word in ("--block", path)]
CHILDREN = ["--sizes", TABLES / "sizes.xlsx", *BLOCKS, "--group", "children"]
WORDS = ["stock", *CHILDREN, "--stock", TABLES / "stock.xlsx"]


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return lambda *words: CliRunner().invoke(main, [str(word) for word in words])


def test_a_batch_is_written_told_and_left_alone_when_nothing_changed(run, tmp_path):
    result = run(*WORDS, "--pairs", 8, "--at-least", 1)
    assert result.exit_code == 0, result.output
    folder = tmp_path / "output" / "stock"
    record = json.loads((folder / "run.json").read_text())
    assert set(record["outputs"]) == {
        "stock.xlsx",
        "lay-plan.pdf",
        "tickets.pdf",
        "slips.pdf",
        "stall.pdf",
        "fair.xlsx",
    }
    assert set(record["inputs"]) > {"sizes.xlsx", "stock.xlsx"}
    assert (record["pairs"], list(record["runs"])) == (8, ["Children"])
    for words in ("Children 2-3", "8 pairs from", "bundles in", "one more size would add", "margin"):
        assert words in result.stdout
    assert "all unchanged" in run(*WORDS, "--pairs", 8, "--at-least", 1).stdout


def test_the_pairs_of_other_groups_are_left_out_and_that_is_told(run):
    result = run(*WORDS, "--pairs", 8)
    assert (
        "note rows-not-asked-for  stock.xlsx\n  The rows for Women, Men, Small children are left out." in result.stderr
    )
    assert "warning" not in result.stderr
    assert "Women W1" not in result.stdout


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (["--pairs", 8, "--skins"], 2, "Give one of --pairs, --skins and --budget."),
        (["--pairs", 0], 2, "--pairs"),
        (["--pairs", 3, "--at-least", 2], 1, "pairs-too-few"),
        (["--budget", 10], 1, "batch-too-small"),
        (["--budget", "nan"], 2, "no figure"),
        (["--budget", "inf"], 2, "no figure"),
        (["--budget", "-5"], 2, "below zero"),
        (["--budget", "1e308"], 2, "sum"),
        (["--budget", "1000000"], 1, "batch-too-large"),
        (["--stock", "nowhere.xlsx"], 1, "nowhere.xlsx"),
    ],
)
def test_what_a_user_gets_wrong_ends_with_a_word_and_writes_nothing(run, tmp_path, words, status, said):
    result = run(*WORDS, *words)
    assert result.exit_code == status
    assert said in result.output
    assert result.exception is None or isinstance(result.exception, SystemExit)
    assert not (tmp_path / "output").exists()


def test_what_could_not_be_written_is_not_told_as_unchanged(run, tmp_path):
    (tmp_path / "output").mkdir()
    (tmp_path / "output" / "stock").write_text("in the way")
    told = run(*WORDS, "--pairs", 8, "--at-least", 1)
    assert told.exit_code == 1
    assert "nothing was written" in told.stdout
    assert "unchanged" not in told.output


@pytest.mark.parametrize(
    ("sheet", "cell", "value", "code"),
    [
        ("Stock", "B2", 0, "pairs-too-few"),
        ("Stock", "B2", 900_000, "batch-too-large"),
        ("Stock", "B12", "9999-12-30", "not-a-date"),
        ("Stock", "B13", "0001-01-01", "not-a-date"),
        ("Skins", "B2", 900_000, "figure-out-of-range"),
        ("Customers", "C4", 14.7, "figure-out-of-range"),
    ],
)
def test_what_a_table_cannot_mean_is_an_error_and_no_long_wait(run, tmp_path, sheet, cell, value, code):
    book = openpyxl.load_workbook(TABLES / "stock.xlsx")
    book[sheet][cell] = value
    book["Stock"]["B3"] = 0
    book.save(tmp_path / "stock.xlsx")
    words = [str(word) for word in WORDS]
    if "--stock" in words:
        words[words.index("--stock") + 1] = str(tmp_path / "stock.xlsx")
    else:
        words += ["--stock", str(tmp_path / "stock.xlsx")]
    told = run(*words)
    assert told.exit_code == 1
    assert f"error {code}" in told.stderr
    assert not (tmp_path / "output").exists()


def test_rows_of_groups_that_are_not_graded_are_told_by_the_cell_that_names_them_alike_ones_once(run, tmp_path):
    book = openpyxl.load_workbook(TABLES / "stock.xlsx")
    for row in book["Customers"].iter_rows(min_row=2, max_row=4):
        row[0].value = f"our {row[0].value}"
    book["Making"]["A3"] = "Menn"
    book.save(tmp_path / "stock.xlsx")
    words = ["stock", *CHILDREN, "--stock", tmp_path / "stock.xlsx", "--pairs", 8]
    told = run(*words).stderr
    assert "error no-customers  stock.xlsx, sheet Customers" in told
    assert "our Women, our Men, our Children" in " ".join(told.split())
    book["Customers"]["A4"] = "Children"
    book["Past sales"]["A2"] = book["Past sales"]["A3"] = "Kids"
    book["Past sales"]["B4"] = "six"
    book.save(tmp_path / "stock.xlsx")
    told = run(*words).stderr
    assert "sheet Making, cell A3" in told
    # A size that there is not is told at its own cell.
    assert "sheet Past sales, cell B4\n  There is no size 'six' in Children." in told
    assert "sheet Past sales, cells A2:A3" in told


def test_what_was_sold_comes_back_and_the_next_batch_follows_it_once(run, tmp_path, monkeypatch):
    monkeypatch.setattr("grading.stock.search.Search.lays", heaped)
    first = run(*WORDS, "--pairs", 8)
    assert first.exit_code == 0, first.output
    fair = tmp_path / "output" / "stock" / "fair.xlsx"
    book = openpyxl.load_workbook(fair)
    for row in book["Past sales"].iter_rows(min_row=2):
        row[3].value, row[4].value = (row[2].value, 30) if row[1].value == "10-11" else (0, 0)
    book.save(tmp_path / "back.xlsx")
    told = run(*WORDS, "--pairs", 8, "--fair", tmp_path / "back.xlsx", "--out", "next")
    assert told.exit_code == 0, told.output

    def pairs(text):
        return int(next(line for line in text.splitlines() if line.startswith("Children 10-11")).split()[2])

    assert pairs(told.stdout) > pairs(first.stdout)
    record = json.loads((tmp_path / "next" / "stock" / "run.json").read_text())
    assert "back.xlsx" in record["inputs"]
    twice = run(*WORDS, "--fair", tmp_path / "back.xlsx", "--fair", tmp_path / "back.xlsx", "--out", "third")
    assert twice.exit_code == 1
    assert "error fair-twice  back.xlsx, sheet Past sales" in twice.stderr
    assert not (tmp_path / "third").exists()


def test_the_screen_has_eighty_columns_whole_percents_and_what_they_rest_on(run, tmp_path, monkeypatch):
    monkeypatch.setattr("grading.stock.search.Search.lays", heaped)
    told = run(*WORDS, "--pairs", 8).stdout
    before = told.split("wrote ")[0]
    assert max(map(len, before.splitlines())) <= 80
    plain = " ".join(before.split())
    assert re.search(r"Children: fits \d+% of hands; .* too small, .* one more size would add", plain)
    assert not re.search(r"\d\.\d+%", plain)
    assert "means and spreads of hands in the stock table; on real people such figures were off by up to 3" in plain
    assert "8 pairs from " in plain
    heading = before.splitlines()[0].split()
    assert heading[:4] == ["size", "pairs", "out", "by"]
    assert "quota" not in told


def test_a_group_with_a_long_name_keeps_to_eighty_columns(run, tmp_path, monkeypatch):
    monkeypatch.setattr("grading.stock.search.Search.lays", heaped)
    name = "Children of the valley and its"
    for file, sheets in (("sizes.xlsx", ()), ("stock.xlsx", ("Customers", "Past sales", "Making", "Selling"))):
        book = openpyxl.load_workbook(TABLES / file)
        if not sheets:
            book["Children"].title = name
        for row in (row for sheet in sheets for row in book[sheet].iter_rows()):
            row[0].value = name if row[0].value == "Children" else row[0].value
        book.save(tmp_path / file)
    book = openpyxl.load_workbook(TABLES / "block-children.xlsx")
    for row in book["Block"].iter_rows():
        row[1].value = name if row[0].value == "Groups" else row[1].value
    book.save(tmp_path / "block.xlsx")
    tables = ["--sizes", tmp_path / "sizes.xlsx", "--block", tmp_path / "block.xlsx", "--group", name]
    told = run("stock", *tables, "--stock", tmp_path / "stock.xlsx", "--pairs", 8)
    assert told.exit_code == 0, told.output
    assert max(map(len, told.stdout.split("wrote ")[0].splitlines())) <= 80


def test_a_mock_up_is_told_and_marked_on_the_lay_plan(run, tmp_path, monkeypatch):
    monkeypatch.setattr("grading.stock.search.Search.lays", heaped)
    told = run(*WORDS, "--pairs", 8, "--mock-up", "6-7")
    assert told.exit_code == 0, told.output
    assert "MOCK-UP of Children 6-7, one hand, on " in told.stdout
    assert "8 pairs from " in told.stdout
    pages = PdfReader(tmp_path / "output" / "stock" / "lay-plan.pdf").pages
    assert any("MOCK-UP of Children 6-7" in page.extract_text() for page in pages)
    refused = run(*WORDS, "--pairs", 8, "--mock-up", "XXL", "--out", "second")
    assert refused.exit_code == 1
    assert "error mock-up-of-no-size" in refused.stderr
    assert not (tmp_path / "second").exists()


def test_a_terminal_is_shown_how_far_laying_out_has_come_on_one_line(monkeypatch):
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    monkeypatch.setattr(sys, "stderr", Terminal())
    with _progress(quiet=False) as told:
        told(8, 5, 3, 0.25)
        told(8, 5, 3, 0.25)
        told(8, 8, 3, 0.5)
    assert sys.stderr.getvalue() == (
        "\r5 of 8 pairs laid out on 3 skins, 25% searched"
        "\r8 of 8 pairs laid out on 3 skins, 50% searched; Ctrl+C keeps it\n"
    )
    monkeypatch.setattr(sys, "stderr", Terminal())
    with _progress(quiet=True) as told:
        told(8, 8, 3, 0.5)
    assert sys.stderr.getvalue() == ""
