"""The commands as a maker types them."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from grading.cli import main

TABLES = Path(__file__).parents[2] / "tables"
ONE_GROUP = ["--sizes", str(TABLES / "sizes.xlsx"), "--block", str(TABLES / "block.xlsx"), "--group", "women"]


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return lambda *words: CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def broken_sizes(tmp_path):
    """The demo's sizes with a word where a figure belongs."""
    path = tmp_path / "broken.xlsx"
    book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
    book["Women"]["D2"] = "wide"
    book.save(path)
    return path


@pytest.mark.parametrize("out", ["", "  "])
@pytest.mark.parametrize(
    "words", [("run",), ("hand",), ("stock",), ("returns", "one.xlsx")], ids=lambda words: words[0]
)
def test_nothing_is_written_into_a_folder_without_a_name(words, out, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, [*words, "--out", out])
    assert done.exit_code == 2
    assert "The name is blank" in " ".join(done.stderr.split())
    assert not list(tmp_path.iterdir())


def test_run_writes_a_groups_files_and_says_which(run, tmp_path):
    result = run("run", *ONE_GROUP, "--only", "nest", "--only", "spec")
    assert result.exit_code == 0, result.output
    written = {path.name for path in (tmp_path / "output" / "Women").iterdir() if not path.name.startswith(".")}
    assert written >= {"nest.pdf", "spec.xlsx", "run.json"}
    for name in written:
        assert f"wrote {Path('output') / 'Women' / name}" in result.stdout
    assert "palm width" in result.stdout


def test_a_second_run_changes_no_file(run, tmp_path):
    words = ("run", *ONE_GROUP, "--only", "nest")
    run(*words)
    before = {path: path.stat().st_mtime_ns for path in (tmp_path / "output" / "Women").iterdir()}
    result = run(*words)
    assert "wrote" not in result.stdout
    assert {path: path.stat().st_mtime_ns for path in (tmp_path / "output" / "Women").iterdir()} == before


def test_the_record_names_inputs_and_outputs_by_their_hashes(run, tmp_path):
    run("run", *ONE_GROUP, "--only", "nest")
    record = json.loads((tmp_path / "output" / "Women" / "run.json").read_text())
    assert set(record["inputs"]) == {"sizes.xlsx", "block.xlsx"}
    assert all(len(digest) == 64 for digest in [*record["inputs"].values(), *record["outputs"].values()])


def test_errors_in_the_tables_stop_before_anything_is_written(run, tmp_path, broken_sizes):
    result = run("run", "--sizes", broken_sizes, "--block", TABLES / "block.xlsx")
    assert result.exit_code == 1
    assert "broken.xlsx, sheet Women, cell D2" in result.stderr
    assert not (tmp_path / "output").exists()


def test_a_run_stopped_by_errors_says_that_earlier_files_stay(run, tmp_path, broken_sizes):
    first = run("run", "--sizes", broken_sizes, "--block", TABLES / "block.xlsx", "--only", "nest")
    assert "earlier" not in first.output
    run("run", *ONE_GROUP, "--only", "nest")
    stopped = " ".join(run("run", "--sizes", broken_sizes, "--block", TABLES / "block.xlsx").stderr.split())
    assert f"Nothing was written. What lies in {Path('output') / 'Women'} was made from earlier tables" in stopped


def test_check_says_what_is_wrong_and_writes_nothing(run, tmp_path, broken_sizes):
    result = run("check", "--sizes", broken_sizes, "--block", TABLES / "block.xlsx")
    assert result.exit_code == 1
    assert "cell D2" in result.stderr
    assert list(tmp_path.iterdir()) == [broken_sizes]


def test_check_of_good_tables_ends_well(run):
    assert run("check", *ONE_GROUP).exit_code == 0


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (["run", "--paper", "a2"], 2),
        (["run", "--sizes", "nowhere.xlsx"], 1),
        (["run", "--group", "Giants", *ONE_GROUP[:4]], 1),
        (["rune"], 2),
    ],
)
def test_what_a_user_gets_wrong_ends_with_a_word_and_no_traceback(run, words, status):
    result = run(*words)
    assert result.exit_code == status
    assert result.exception is None or isinstance(result.exception, SystemExit)
    assert result.stderr.strip()


def test_a_filled_in_file_is_never_overwritten(run, tmp_path):
    words = ("run", *ONE_GROUP, "--only", "spec")
    run(*words)
    spec = tmp_path / "output" / "Women" / "spec.xlsx"
    spec.write_bytes(spec.read_bytes() + b"filled in")
    result = run(*words, "--units", "cm")
    assert spec.read_bytes().endswith(b"filled in")
    assert "spec (new).xlsx" in result.stdout
    run(*words, "--units", "cm", "--replace")
    assert not spec.read_bytes().endswith(b"filled in")
    kept = [path for path in spec.parent.glob("*.xlsx") if path.read_bytes().endswith(b"filled in")]
    assert len(kept) == 1


def test_help_needs_no_heavy_import():
    listed = "import sys, runpy; sys.argv = ['grading', '--help']\n"
    listed += "try: runpy.run_module('grading', run_name='__main__')\nexcept SystemExit: pass\n"
    listed += "print(sorted({'numpy', 'pandas', 'openpyxl', 'reportlab', 'shapely'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", listed], capture_output=True, text=True, check=True)
    assert done.stdout.strip().endswith("[]")


def test_the_version_is_told(run):
    assert run("--version").stdout.startswith("grading ")


def one_group(folder: Path, name: str, title: str, change=None) -> Path:
    """A workbook of the demo's children only, under another name for their sheet."""
    book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
    for sheet in book.worksheets:
        if sheet.title != "Children":
            book.remove(sheet)
    book["Children"].title = title
    if change:
        change(book[title])
    book.save(folder / name)
    return folder / name


def general(folder: Path) -> Path:
    """The demo's block for no group in particular."""
    book = openpyxl.load_workbook(TABLES / "block.xlsx")
    for row in book["Block"].iter_rows():
        if row[0].value == "Groups":
            row[1].value = None
    book.save(folder / "general.xlsx")
    return folder / "general.xlsx"


def test_a_folder_whose_group_is_no_more_in_the_tables_is_told_by_run_and_verify(run, tmp_path):
    block = general(tmp_path)
    words = ["--block", block, "--only", "spec", "--quiet"]
    assert run("run", "--sizes", one_group(tmp_path, "sizes.xlsx", "Small"), *words).exit_code == 0
    told = run("run", "--sizes", one_group(tmp_path, "sizes.xlsx", "Little"), *words)
    assert told.exit_code == 0
    assert "warning folder-left-over  output/Small" in told.stderr
    verified = run("verify")
    assert "warning folders-mixed" in verified.stderr
    assert verified.exit_code == 0


def test_folders_of_one_run_are_neither_mixed_nor_left_over(run, tmp_path):
    words = ["--block", general(tmp_path), "--sizes", one_group(tmp_path, "sizes.xlsx", "Small"), "--only", "spec"]
    for _ in range(2):
        assert "folder" not in run("run", *words, "--quiet").stderr
    assert "every file is as it was written" in run("verify").stdout


def test_a_warning_about_a_hidden_row_reaches_the_workbook(run, tmp_path):
    def hide(sheet):
        sheet.row_dimensions[4].hidden = True

    words = ["--block", general(tmp_path), "--sizes", one_group(tmp_path, "sizes.xlsx", "Small", hide)]
    assert "warning hidden-rows" in run("run", *words, "--only", "spec").stderr
    sheet = openpyxl.load_workbook(tmp_path / "output" / "Small" / "spec.xlsx")["Findings"]
    assert "hidden-rows" in [cell.value for row in sheet.iter_rows() for cell in row]


def test_check_finds_a_name_that_the_printed_sheets_cannot_show(run, tmp_path):
    words = ["--block", general(tmp_path), "--sizes", one_group(tmp_path, "sizes.xlsx", "手套")]
    told = run("check", *words)
    assert told.exit_code == 1
    assert "error character-not-printable" in told.stderr


def test_verify_says_which_file_cannot_be_read_and_goes_on(run, tmp_path):
    words = ["--block", general(tmp_path), "--sizes", one_group(tmp_path, "sizes.xlsx", "Small")]
    run("run", *words, "--only", "spec", "--quiet")
    spec = tmp_path / "output" / "Small" / "spec.xlsx"
    spec.unlink()
    spec.mkdir()
    next((tmp_path / "output" / "Small" / "check-sheets").iterdir()).unlink()
    told = run("verify")
    assert told.exit_code == 1
    assert "error file-not-read" in told.stderr
    assert "error output-missing" in told.stderr


def test_a_misspelt_measurement_is_told_beside_what_is_wrong_in_cells(tmp_path):
    book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
    sheet = book["Women"]
    sheet["C3"] = "wide"
    row = next(row for row in sheet.iter_rows() if row[0].value == "thumb girth")
    row[0].value = "thumb grith"
    book.save(tmp_path / "sizes.xlsx")
    words = ["check", "--sizes", tmp_path / "sizes.xlsx", "--block", TABLES / "block.xlsx", "--group", "Women"]
    told = CliRunner().invoke(main, [str(word) for word in words]).stderr
    assert "error not-a-number" in told
    assert "cell C3" in told
    assert "no row 'thumb girth'" in " ".join(told.split())
    assert "thumb grith is perhaps meant" in " ".join(told.split())
