"""What a command says, wherever it says it: narrow windows, narrow encodings, full disks, names with escapes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from grading.cli import main
from grading.jobs.tables import check_job

TABLES = Path(__file__).parents[2] / "tables"
BLOCK = ["--block", str(TABLES / "block.xlsx")]


def changed(folder: Path, change) -> list[str]:
    """The options for a copy of the demo's size tables with one change to its first sheet."""
    book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
    change(book.worksheets[0])
    book.save(folder / "sizes.xlsx")
    return ["--sizes", str(folder / "sizes.xlsx"), *BLOCK, "--group", book.worksheets[0].title]


def in_cm(sheet) -> None:
    for row in range(2, sheet.max_row + 1):
        if sheet.cell(row, 2).value == "mm":
            sheet.cell(row, 2).value = "cm"


def test_a_sheet_in_the_wrong_unit_is_one_finding_and_one_a_cell_for_scripts(tmp_path):
    words = changed(tmp_path, in_cm)
    told = CliRunner().invoke(main, ["check", *words])
    lines = [line for line in told.stderr.splitlines() if line.startswith(("error ", "warning ", "note "))]
    assert [line.split()[1] for line in lines if line.startswith("error ")] == ["figure-out-of-range"]
    assert "cells C2:" in told.stderr
    for_scripts = json.loads(CliRunner().invoke(main, ["audit", "--json", *words]).stdout)
    of_cells = [one for one in for_scripts["findings"] if one["code"] == "figure-out-of-range"]
    assert len(of_cells) >= 50
    assert len({one["place"]["cell"] for one in of_cells}) == len(of_cells)


def test_two_slips_in_two_rows_are_two_findings(tmp_path):
    def slips(sheet) -> None:
        sheet["C3"], sheet["D5"] = "many", "some"

    told = CliRunner().invoke(main, ["check", *changed(tmp_path, slips)]).stderr
    assert told.count("error not-a-number") == 2


def test_an_escape_in_a_name_is_shown_and_not_obeyed(tmp_path):
    def escape(sheet) -> None:
        sheet["A2"] = "fist\u202e\x9b31m girth"

    told = CliRunner().invoke(main, ["check", *changed(tmp_path, escape)])
    assert "\x9b" not in told.output
    assert "\u202e" not in told.output


@pytest.mark.parametrize("width", ["1", "0", "-3", "80", "many"])
def test_a_window_of_any_width_will_do(tmp_path, monkeypatch, width):
    monkeypatch.setenv("COLUMNS", width)
    told = CliRunner().invoke(main, ["check", *changed(tmp_path, in_cm)])
    assert told.exit_code == 1
    assert "error figure-out-of-range" in told.stderr


def program(*words: str, **options) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([sys.executable, "-m", "grading", *words], timeout=120, check=False, **options)


def test_an_encoding_without_a_sign_gets_a_plainer_one(tmp_path):
    def sign(sheet) -> None:
        sheet["C3"] = "x−½ Ł"

    narrow = {**os.environ, "PYTHONIOENCODING": "cp1252"}
    told = program("check", *changed(tmp_path, sign), env=narrow, capture_output=True)
    assert told.returncode == 1
    assert b"Traceback" not in told.stderr
    assert b"x-\xbd \\u0141" in told.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_under_the_output_ends_no_work(tmp_path):
    with Path("/dev/full").open("wb") as full:
        told = program(
            "audit", "--sizes", str(TABLES / "sizes.xlsx"), *BLOCK, "--group", "Women", stdout=full,
            stderr=subprocess.PIPE,
        )  # fmt: skip
    assert told.returncode == 1
    assert b"Traceback" not in told.stderr
    assert b"No space left" in told.stderr


def test_finished_measures_in_sixteenths_keep_within_eighty_columns(tmp_path):
    words = ["--sizes", TABLES / "sizes.xlsx", *BLOCK, "--group", "Women", "--units", "in", "--only", "nest"]
    told = CliRunner().invoke(main, [*map(str, ["run", *words, "--out", tmp_path])], env={"COLUMNS": "80"}).stdout
    table = told[: told.index("wrote ")].splitlines()
    assert max(map(len, table)) <= 80
    # Six sizes take two tables: each begins with the names, and together they have every size.
    assert [line.split()[3:] for line in table if line.startswith("finished measure")] == [
        ["W1", "W2", "W3", "W4", "W5"],
        ["W6"],
    ]
    assert sum(line.startswith("palm width") for line in table) == 2


@pytest.mark.parametrize(("words", "says"), [
    (("run", "--paper", "a5"), "'a5' is not one of"),
    (("run", "--printed-bar", "9"), "a bar of 100 mm comes out between 80 and 125 mm"),
    (("stock", "--pairs", "zwölf"), "'zwölf' is no whole number. Give one from 1 to 2000."),
    (("stock", "--at-least", "-1"), "Give a whole number of 0 or more, not -1."),
    (("a command that nobody has and whose name is a good deal longer than a line of the window",), "No such command"),
])  # fmt: skip
def test_what_is_wrong_with_the_words_typed_is_told_within_80_columns(words, says):
    done = CliRunner(env={"COLUMNS": "80"}).invoke(main, words)
    assert done.exit_code == 2
    assert says in " ".join(done.stderr.split())
    assert max(map(len, done.stderr.splitlines())) <= 80


def test_a_slip_is_one_finding_and_what_it_makes_odd_elsewhere_is_not_told(tmp_path):
    book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
    book["Women"]["D4"].value = 281  # an entry girth of 183
    book.save(tmp_path / "sizes.xlsx")
    job = check_job(tmp_path / "sizes.xlsx", TABLES / "block.xlsx", "Women")
    assert [(one.code, one.place.cell) for one in job.all_findings] == [("not-increasing", "D4")]


def test_a_limit_that_another_figure_passes_is_told_beside_a_slip(tmp_path):
    book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
    book["Women"]["D4"].value = 281
    book["Women"]["H4"].value = 262  # the largest entry girth is 231
    book.save(tmp_path / "sizes.xlsx")
    job = check_job(tmp_path / "sizes.xlsx", TABLES / "block.xlsx", "Women")
    told = {(one.code, one.place.size or one.place.cell) for one in job.all_findings}
    assert ("not-increasing", "D4") in told
    assert {size for code, size in told if code == "limit-passed"} == {"W6"}


def test_a_limit_whose_row_is_spelled_wrongly_names_the_row_that_is_perhaps_meant(tmp_path):
    book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
    book["Women"]["A5"].value = "hand bredth"
    book.save(tmp_path / "sizes.xlsx")
    job = check_job(tmp_path / "sizes.xlsx", TABLES / "block.xlsx", "Women")
    (finding,) = job.all_findings
    assert (finding.code, finding.expected) == ("limit-unknown-name", "Perhaps its row 'hand bredth' is meant.")
