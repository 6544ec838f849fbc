"""The PDF files of every command, page by page as PDFium reads them, held to the system of printed pages."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from pages_read import breaches, read_pages
from typed_commands import TABLES, WOMEN, filled_in, typed

from grading.drawing.system import HEIGHTS, WIDTHS

GROUPS = ("Women", "Men", "Children", "Small children")
#: Office printers leave out 5 mm along the edges (common practice).
MARGIN = 4.9


def hold(folder: Path, *wanted: str) -> None:
    """Every page of a folder's PDF files keeps to the system; the files that are wanted are there."""
    files = {path.relative_to(folder).as_posix(): path for path in sorted(folder.rglob("*.pdf"))}
    assert set(wanted) <= set(files)
    for name, path in files.items():
        for number, page in enumerate(read_pages(path.read_bytes()), 1):
            assert breaches(page, HEIGHTS, WIDTHS, MARGIN) == [], f"{name}, page {number}"


@pytest.fixture(scope="module")
def started(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("started") / "own"
    typed("start", folder)
    return folder


def test_start(started):
    hold(started, "how to measure.pdf")


@pytest.mark.parametrize("paper", ["letter", "a3", "tabloid"])
def test_start_on_other_papers(tmp_path, paper):
    typed("start", tmp_path / "own", "--paper", paper)
    hold(tmp_path / "own", "how to measure.pdf")


@pytest.mark.parametrize("paper", ["a4", pytest.param("letter", marks=pytest.mark.long),
                                   pytest.param("sheet", marks=pytest.mark.long)])  # fmt: skip
def test_draft(started, tmp_path, paper):
    typed("draft", "--measured", started / "hands.xlsx", "--out", tmp_path / "own.xlsx", "--paper", paper)
    hold(tmp_path, "own.pdf")


def test_draft_from_points(started, tmp_path):
    words = ("--measured", started / "hands.xlsx", "--from-points", started / "points.csv")
    typed("draft", *words, "--out", tmp_path / "own.xlsx")
    hold(tmp_path, "own.pdf")


@pytest.mark.parametrize(("paper", "unit"), [("a4", "in"), pytest.param("letter", "in", marks=pytest.mark.long),
                                             pytest.param("a3", "cm", marks=pytest.mark.long),
                                             pytest.param("tabloid", "in", marks=pytest.mark.long)])  # fmt: skip
def test_hand(started, tmp_path, paper, unit):
    words = ("--measured", started / "hands.xlsx", "--name", "Order 12", "--paper", paper, "--units", unit)
    typed("hand", *WOMEN, *words, "--out", tmp_path)
    wanted = ("nearest-size", "spec-cards", "left/overview", "right/overview")
    hold(tmp_path, *(f"Order 12/{name}.pdf" for name in wanted))


@pytest.mark.long
@pytest.mark.parametrize(("paper", "unit"), [("a4", "mm"), ("a4", "in"), ("a3", "cm"), ("letter", "in"),
                                             ("tabloid", "mm"), ("sheet", "mm")])  # fmt: skip
def test_run(tmp_path, paper, unit):
    typed("run", "--sizes", TABLES / "sizes.xlsx", "--paper", paper, "--units", unit, "--quiet", "--out", tmp_path)
    wanted = ("overview", "nest", "spec-cards")
    hold(tmp_path, *(f"{group}/{name}.pdf" for group in GROUPS for name in wanted))


@pytest.mark.long
@pytest.mark.parametrize("paper", ["a4", "letter", "a3", "tabloid"])
def test_stock(tmp_path, paper):
    words = ("--stock", TABLES / "stock.xlsx", "--pairs", "12", "--quiet", "--paper", paper, "--out", tmp_path)
    typed("stock", *WOMEN, *words)
    hold(tmp_path, *(f"stock/{name}.pdf" for name in ("lay-plan", "tickets", "slips", "stall")))


@pytest.mark.parametrize(("paper", "unit"), [("a4", "mm"), ("letter", "in")])
def test_returns(tmp_path, paper, unit):
    typed("run", *WOMEN, "--only", "spec", "--quiet", "--out", tmp_path / "run", "--units", unit)
    sheets = []
    for number, name in enumerate(("Ann", "Bo", "Somebody with quite a long name", "", "D", "E", "F"), 1):
        sheets.append(tmp_path / f"{number}.xlsx")
        shutil.copy(tmp_path / "run" / "Women" / "check-sheets" / f"W{1 + number % 6}.xlsx", sheets[-1])
        filled_in(sheets[-1], name, off=number / 4)
    typed("returns", *sheets, *WOMEN, "--units", unit, "--paper", paper, "--out", tmp_path / "out")
    hold(tmp_path / "out", "returns.pdf")
