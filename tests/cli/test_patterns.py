"""Patterns as a maker asks for them."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import click
import openpyxl
import pypdf
import pytest
from click.testing import CliRunner

from grading.cli import main
from grading.cli.options import printed_bar
from grading.drafting.scenario import demo_block, demo_sizes
from grading.sheets.writing import block_workbook, sizes_workbook


@pytest.fixture
def tables(tmp_path, monkeypatch):
    """A folder with the tables of one group, and where its blocks' allowances can be typed over."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables" / "sizes.xlsx").write_bytes(sizes_workbook([demo_sizes()[0]]))
    (tmp_path / "tables" / "block.xlsx").write_bytes(block_workbook(demo_block()))
    return tmp_path / "tables"


def run(*words: str):
    return CliRunner().invoke(main, ["run", *words])


def first_page(path: Path) -> str:
    return " ".join(pypdf.PdfReader(BytesIO(path.read_bytes())).pages[0].extract_text().split())


def test_every_size_gets_its_file(tables):
    result = run("--only", "patterns")
    assert result.exit_code == 0, result.output
    assert sorted(path.name for path in Path("output/Women/patterns").glob("*.pdf")) == [
        f"W{i}.pdf" for i in range(1, 7)
    ]
    assert "outside of the skin up" in first_page(Path("output/Women/patterns/W1.pdf"))


def test_the_face_that_is_marked_can_be_named_for_one_run(tables):
    assert run("--only", "patterns", "--marked-on", "inside", "--paper", "sheet").exit_code == 0
    assert "inside of the skin up" in first_page(Path("output/Women/patterns/W1.pdf"))


def test_one_card_serves_both_hands_unless_each_hand_is_asked_for(tables):
    def hands() -> list[str]:
        text = " ".join(page.extract_text() for page in pypdf.PdfReader("output/Women/patterns/W1.pdf").pages)
        return [hand for hand in ("cut 1 for the left", "cut 1 for the right") if hand in " ".join(text.split())]

    assert run("--only", "patterns").exit_code == 0
    assert len(hands()) == 1
    assert run("--only", "patterns", "--hands", "both").exit_code == 0
    assert len(hands()) == 2


def test_templates_are_made_only_when_asked_for(tables):
    assert run("--only", "templates", "--paper", "sheet").exit_code == 0
    assert "no seam allowance" in first_page(Path("output/Women/templates/W1.pdf"))
    assert not Path("output/Women/patterns").exists()


def test_an_allowance_that_cannot_be_laid_on_stops_the_run_before_anything_is_written(tables):
    book = openpyxl.load_workbook(tables / "block.xlsx")
    sheet = book["Seam types"]
    (row,) = (row for row in sheet.iter_rows(min_row=2) if row[0].value == "inside seam")
    row[1].value = 30
    book.save(tables / "block.xlsx")
    result = run("--only", "patterns")
    assert result.exit_code == 1
    assert "allowance-fills-hole" in result.stderr
    assert "piece Trank, edge thumb hole" in " ".join(result.stderr.split())
    assert not Path("output").exists()


@pytest.mark.parametrize(
    ("typed", "short", "long"),
    [
        ("98.6", 98.6, 98.6),
        ("98,6", 98.6, 98.6),
        ("98.6x99.1", 98.6, 99.1),
        ("98,6 × 99.1 mm", 98.6, 99.1),
        ("9.86cm", 98.6, 98.6),
    ],
)
def test_a_printed_bar_is_one_figure_or_two(typed, short, long):
    assert printed_bar(typed) == pytest.approx((100 / short, 100 / long))


@pytest.mark.parametrize("typed", ["wide", "60", "986", "98x99x97", "98x", "", "-98"])
def test_a_printed_bar_that_cannot_be_is_refused(typed):
    with pytest.raises(click.BadParameter):
        printed_bar(typed)


def test_a_wrong_bar_is_a_wrong_word_with_what_to_do(tables):
    result = run("--printed-bar", "60")
    assert result.exit_code == 2
    assert "Measure the bar marked 100 mm" in " ".join(result.stderr.split())
