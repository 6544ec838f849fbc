"""'grading returns' as a maker types it, and what becomes of files that somebody has filled in."""

from __future__ import annotations

import shutil
from pathlib import Path

import openpyxl
import pypdf
import pytest
from click.testing import CliRunner
from pages_read import breaches, read_pages

from grading.cli import main
from grading.drawing.system import HEIGHTS, WIDTHS
from grading.outputs.wording import CAUTIONS

TABLES = Path(__file__).parents[2] / "tables"
TABLE_WORDS = ["--sizes", str(TABLES / "sizes.xlsx"), "--block", str(TABLES / "block.xlsx"), "--group", "women"]


@pytest.fixture
def grading(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return lambda *words: CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def graded(tmp_path_factory) -> Path:
    """A folder with the women's workbooks, made once."""
    out = tmp_path_factory.mktemp("graded")
    words = ["run", *TABLE_WORDS, "--only", "spec", "--quiet", "--out", str(out)]
    assert CliRunner().invoke(main, words).exit_code == 0
    return out


@pytest.fixture
def handed_out(graded, tmp_path) -> Path:
    """The folder of the women's check sheets."""
    shutil.copytree(graded, tmp_path / "output")
    return tmp_path / "output" / "Women" / "check-sheets"


def fill(path: Path, to: Path, name: str, off: float) -> None:
    """Fill in all boxes, each off its figure by so much and a little more or less."""
    book = openpyxl.load_workbook(path)
    sheet = book.active
    sheet["B8"] = name
    row = next(cell.row for cell in sheet["A"] if cell.value == "Letter") + 1
    while sheet.cell(row, 2).value:
        for column in range(10):
            sheet.cell(row, 6 + column).value = round(sheet.cell(row, 4).value + off + (column - 4.5) / 10, 2)
        row += 1
    book.save(to)


def test_returned_work_is_printed_as_strips_with_a_sentence_a_maker_and_a_measure(grading, handed_out, tmp_path):
    fill(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", -2.0)
    fill(handed_out / "W4.xlsx", tmp_path / "bo.xlsx", "Bo", 0.0)
    assert grading("returns", tmp_path / "ann.xlsx", tmp_path / "bo.xlsx", *TABLE_WORDS).exit_code == 0
    pages = pypdf.PdfReader(tmp_path / "output" / "returns" / "returns.pdf").pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "Ann sews 2 mm short everywhere." in text
    assert "Bo runs neither short nor long." in text
    assert "palm width" in text
    assert "of 20" in text
    for page in read_pages((tmp_path / "output" / "returns" / "returns.pdf").read_bytes()):
        assert breaches(page, HEIGHTS, WIDTHS, 4.9) == []


def test_a_short_hand_is_told_with_how_sure_one_can_be_and_every_reading_is_kept(grading, handed_out, tmp_path):
    fill(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", -2.0)
    fill(handed_out / "W4.xlsx", tmp_path / "bo.xlsx", "Bo", 0.0)
    result = grading("returns", tmp_path / "ann.xlsx", tmp_path / "bo.xlsx", *TABLE_WORDS)
    assert result.exit_code == 0, result.output
    assert "2 check sheets, 260 readings" in result.stdout
    written = openpyxl.load_workbook(tmp_path / "output" / "returns" / "returns.xlsx")
    assert set(CAUTIONS) <= {cell.value for cell in written["By measure"]["A"]}
    hands = result.stdout.partition("whose hand leans")[2]
    assert "Ann, palm width" in hands
    assert "short" in hands
    assert "Bo" not in hands
    book = openpyxl.load_workbook(tmp_path / "output" / "returns" / "returns.xlsx")
    assert book.sheetnames == ["Pairs", "By measure", "By size", "By maker", "Sheets", "Readings", "Findings"]
    readings = list(book["Readings"].iter_rows(values_only=True))
    assert sum(row[0] in ("ann.xlsx", "bo.xlsx") for row in readings) == 260
    makers = list(book["By maker"].iter_rows(values_only=True))
    (palm,) = [row for row in makers if row[:2] == ("Ann", "palm width")]
    # Deviations −2.45 … −1.55 in steps of 0.1: sd 0.3028, and t of 9 degrees at 95 % is 2.262 (any table of t).
    assert palm[2] == 10
    assert palm[7:10] == pytest.approx((-2.0, 2.262 * 0.3028 / 10**0.5, 0.3028), abs=2e-4)
    assert palm[10] == "short"


def fill_pairs(path: Path, to: Path, name: str, off: dict[tuple[int, str], float]) -> None:
    """Fill in pairs, each mitten off its figures by so much in every measure."""
    book = openpyxl.load_workbook(path)
    sheet = book.active
    sheet["B8"] = name
    row = next(cell.row for cell in sheet["A"] if cell.value == "Letter") + 1
    while sheet.cell(row, 2).value:
        for (pair, hand), by in off.items():
            sheet.cell(row, 4 + 2 * pair + (hand == "right")).value = round(sheet.cell(row, 4).value + by, 2)
        row += 1
    book.save(to)


def test_pairs_are_judged_by_both_hands_and_good_ones_are_paid(grading, handed_out, tmp_path):
    off = {(1, "left"): 0.3, (1, "right"): -0.2, (2, "left"): 1.9, (2, "right"): -1.9, (3, "left"): 4.0,
           (3, "right"): 0.0, (4, "left"): 0.0}  # fmt: skip
    fill_pairs(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", off)
    result = grading("returns", tmp_path / "ann.xlsx", *TABLE_WORDS, "--stock", TABLES / "stock.xlsx")
    assert result.exit_code == 0, result.output
    lines = [line.split() for line in result.stdout.splitlines()]
    headings = next(line for line in lines if line[:2] == ["pairs", "of"])
    assert headings[2:] == ["good", "to", "mend", "not", "a", "pair", "to", "check", "pay", "(€)"]
    (ann,) = (line for line in lines if line[0:1] == ["Ann"])
    assert ann[1:5] == ["1", "1", "1", "1"]
    # 130 minutes at 16 an hour, as the demo's stock table has it.
    assert ann[5] == "34.67"
    text = " ".join(result.stdout.split())
    assert "Ann, W3, pair 2, not a pair: the two differ: left 3.8 mm longer in palm width, waist width" in text
    assert "Ann, W3, pair 3, to mend: mend left 4 mm too long in palm width, waist width" in text
    assert "Ann, W3, pair 4, to check: cannot be judged: palm width right not measured" in text
    written = openpyxl.load_workbook(tmp_path / "output" / "returns" / "returns.xlsx")["Pairs"]
    text = pypdf.PdfReader(tmp_path / "output" / "returns" / "returns.pdf").pages[0].extract_text()
    assert "Pairs of Ann: 1 good, 1 to mend, 1 not a pair, 1 to check." in " ".join(text.split())
    verdicts = [row[6].value for row in written.iter_rows() if row[0].value == "ann.xlsx"]
    assert verdicts == ["good", "not a pair", "to mend", "to check"]


def test_a_makers_name_that_the_page_cannot_show_is_told_and_the_work_is_judged(grading, handed_out, tmp_path):
    fill_pairs(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "安", {(1, "left"): 0.0, (1, "right"): 0.0})
    result = grading("returns", tmp_path / "ann.xlsx", *TABLE_WORDS)
    assert result.exit_code == 0
    assert "warning character-not-printable" in result.stderr
    assert "1 check sheet" in result.stdout


def test_a_stock_table_with_errors_stops_no_judgement_and_pay_is_left_open(grading, handed_out, tmp_path):
    fill_pairs(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", {(1, "left"): 0.0, (1, "right"): 0.0})
    book = openpyxl.load_workbook(TABLES / "stock.xlsx")
    book["Making"]["C2"] = "an hour"
    book.save(tmp_path / "stock.xlsx")
    result = grading("returns", tmp_path / "ann.xlsx", *TABLE_WORDS, "--stock", tmp_path / "stock.xlsx")
    assert result.exit_code == 0
    assert "note pay-not-told" in result.stderr
    assert "pay (" not in result.stdout


def test_one_broken_file_is_named_the_rest_is_judged_and_the_status_says_so(grading, handed_out, tmp_path):
    fill(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", 0.0)
    (tmp_path / "torn.xlsx").write_bytes(b"PK\x03\x04torn")
    result = grading("returns", tmp_path / "ann.xlsx", tmp_path / "torn.xlsx", tmp_path / "none.xlsx", *TABLE_WORDS)
    assert result.exit_code == 1
    assert "torn.xlsx" in result.stderr
    assert "none.xlsx" in result.stderr
    assert "1 check sheets" not in result.stdout
    assert "1 check sheet, 130 readings" in result.stdout
    assert (tmp_path / "output" / "returns" / "returns.xlsx").exists()


def test_nothing_is_written_where_nothing_could_be_counted(grading, handed_out, tmp_path):
    (tmp_path / "torn.xlsx").write_bytes(b"PK\x03\x04torn")
    result = grading("returns", tmp_path / "torn.xlsx", *TABLE_WORDS)
    assert result.exit_code == 1
    assert not (tmp_path / "output" / "returns").exists()


def test_another_runs_sheet_needs_any_run(grading, handed_out, tmp_path):
    fill(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", 0.0)
    men = ["--sizes", TABLES / "sizes.xlsx", "--group", "men"]
    for block in TABLES.glob("block*.xlsx"):
        men += ["--block", block]
    refused = grading("returns", tmp_path / "ann.xlsx", *men)
    assert (refused.exit_code, "other-run" in refused.stderr) == (1, True)
    taken = grading("returns", tmp_path / "ann.xlsx", *men, "--any-run")
    assert taken.exit_code == 0
    assert "130 readings" in taken.stdout


def test_a_filled_in_check_sheet_is_kept_and_only_moved_aside_when_told(grading, handed_out, tmp_path):
    path = handed_out / "W3.xlsx"
    handed = path.read_bytes()
    fill(path, path, "Ann", -1.0)
    ours = path.read_bytes()
    result = grading("run", *TABLE_WORDS, "--only", "spec", "--quiet")
    assert path.read_bytes() == ours
    assert "W3.xlsx" in result.stderr
    beside = [other for other in handed_out.glob("W3*") if other != path]
    assert [other.read_bytes() for other in beside] == [handed]
    grading("run", *TABLE_WORDS, "--only", "spec", "--quiet", "--replace")
    assert path.read_bytes() == handed
    kept = [other for other in handed_out.parent.rglob("*W3*") if other.read_bytes() == ours]
    assert len(kept) == 1
    assert any(character.isdigit() for character in kept[0].stem.replace("W3", ""))


def changed(path: Path, change) -> None:
    book = openpyxl.load_workbook(path)
    change(book.active)
    book.save(path)


def times(factor: float, *measures: str):
    """Multiplies the readings of some measures, or of all."""

    def change(sheet) -> None:
        row = next(cell.row for cell in sheet["A"] if cell.value == "Letter") + 1
        while sheet.cell(row, 2).value:
            if not measures or sheet.cell(row, 2).value in measures:
                for column in range(6, 16):
                    sheet.cell(row, column).value *= factor
            row += 1

    return change


def test_a_sheet_filled_in_centimetres_is_told_and_never_has_0_failures(grading, handed_out, tmp_path):
    fill(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", 0.0)
    changed(tmp_path / "ann.xlsx", times(0.1))
    result = grading("returns", tmp_path / "ann.xlsx", *TABLE_WORDS)
    assert result.exit_code == 1
    assert "error unit-mistaken" in result.stderr
    assert "Ann for size W3" in result.stderr
    assert "0 failures" not in result.stdout
    assert "130 to be checked and not judged" in result.stdout


def test_widths_taken_round_are_told_and_the_rest_is_judged(grading, handed_out, tmp_path):
    fill(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", 0.0)
    changed(tmp_path / "ann.xlsx", times(2, "palm width"))
    result = grading("returns", tmp_path / "ann.xlsx", *TABLE_WORDS)
    assert "error measured-otherwise" in result.stderr
    assert "0 failures, 10 to be checked and not judged" in result.stdout


def test_a_sheet_saved_anew_and_sent_again_counts_once(grading, handed_out, tmp_path):
    fill(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", 0.0)
    shutil.copy(tmp_path / "ann.xlsx", tmp_path / "again.xlsx")
    changed(tmp_path / "again.xlsx", lambda sheet: sheet.__setitem__("A60", "sent again"))
    result = grading("returns", tmp_path / "ann.xlsx", tmp_path / "again.xlsx", *TABLE_WORDS)
    assert "warning sheet-twice" in result.stderr
    assert "1 check sheet, 130 readings" in result.stdout


def as_csv(path: Path, to: Path, encoding: str) -> None:
    """What a spreadsheet program saves as text in a narrow encoding."""
    rows = openpyxl.load_workbook(path).active.iter_rows(values_only=True)
    text = "\n".join(";".join("" if value is None else str(value).replace(".", ",") for value in row) for row in rows)
    to.write_bytes(text.encode(encoding, "replace"))


def test_a_check_sheet_saved_as_text_is_read(grading, handed_out, tmp_path):
    fill(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", 0.0)
    as_csv(tmp_path / "ann.xlsx", tmp_path / "ann.csv", "cp1252")
    result = grading("returns", tmp_path / "ann.csv", *TABLE_WORDS)
    assert result.exit_code == 0, result.output
    assert "1 check sheet, 130 readings, 0 failures" in result.stdout


def test_headings_that_lost_their_values_are_known_by_their_place(grading, handed_out, tmp_path):
    fill(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", 0.0)

    def lose(sheet) -> None:
        row = next(cell.row for cell in sheet["A"] if cell.value == "Letter")
        sheet.cell(row, 3).value, sheet.cell(row, 7).value = '="least"', '="Pair 1 right"'

    changed(tmp_path / "ann.xlsx", lose)
    result = grading("returns", tmp_path / "ann.xlsx", *TABLE_WORDS)
    assert "1 check sheet, 130 readings, 0 failures" in result.stdout


@pytest.mark.long
def test_a_check_sheet_saved_as_open_document_counts_like_the_workbook(grading, handed_out, tmp_path, office):
    fill_pairs(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", {(1, "left"): 1.9, (1, "right"): -1.9})
    saved = office(tmp_path / "ann.xlsx", "ods")
    for path in (tmp_path / "ann.xlsx", saved):
        result = grading("returns", path, *TABLE_WORDS, "--out", tmp_path / path.suffix[1:])
        assert result.exit_code == 0, result.output
        assert "Ann, W3, pair 1, not a pair" in result.stdout
    books = [openpyxl.load_workbook(tmp_path / name / "returns.xlsx")["Readings"] for name in ("xlsx", "ods")]
    one, other = ([row[2:14] for row in book.iter_rows(values_only=True)] for book in books)
    assert one == other


def test_a_sheet_that_says_more_takes_the_place_of_the_one_before(grading, handed_out, tmp_path):
    fill(handed_out / "W3.xlsx", tmp_path / "whole.xlsx", "Ann", 0.0)
    shutil.copy(tmp_path / "whole.xlsx", tmp_path / "first.xlsx")
    changed(tmp_path / "first.xlsx", lambda sheet: sheet.__setitem__("O14", None))
    result = grading("returns", tmp_path / "first.xlsx", tmp_path / "whole.xlsx", *TABLE_WORDS)
    assert "this one says more and was counted" in " ".join(result.stderr.split())
    assert "1 check sheet, 130 readings" in result.stdout


def test_the_same_figures_by_two_people_are_told_and_both_are_counted(grading, handed_out, tmp_path):
    for name in ("Ann", "Bo"):
        fill(handed_out / "W3.xlsx", tmp_path / f"{name}.xlsx", name, 0.0)
    result = grading("returns", tmp_path / "Ann.xlsx", tmp_path / "Bo.xlsx", *TABLE_WORDS)
    assert "warning sheet-twice" in result.stderr
    assert "by Ann" in " ".join(result.stderr.split())
    assert "2 check sheets, 260 readings" in result.stdout


def test_nothing_is_judged_by_tables_that_have_errors(grading, handed_out, tmp_path):
    fill(handed_out / "W3.xlsx", tmp_path / "ann.xlsx", "Ann", 0.0)
    result = grading("returns", tmp_path / "ann.xlsx", *TABLE_WORDS[:4], "--group", "Nobody")
    assert result.exit_code == 1
    assert "unknown-group" in result.stderr or "error" in result.stderr
    assert "readings" not in result.stdout
