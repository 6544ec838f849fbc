"""Another maker's first half hour: centimetres with decimal commas, three groups of other names, an own block drafted
and one traced, a customer, a batch, and two returned sheets; what is printed is looked at on each step.
"""

from __future__ import annotations

import csv
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from grading.cli import main
from grading.drafting.scenario import demo_sizes

GROUPS = {"Women": "Ladies", "Men": "Gents", "Children": "Kids"}


def with_comma(mm: float) -> str:
    return f"{round(mm / 10, 2):g}".replace(".", ",")


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """A started folder with this maker's size tables and hands typed over the invented ones."""
    at = tmp_path_factory.mktemp("shop") / "mittens"
    done = CliRunner().invoke(main, ["start", str(at)])
    assert done.exit_code == 0, done.output
    book = openpyxl.Workbook()
    book.remove(book.active)
    for table in demo_sizes():
        sheet = book.create_sheet(GROUPS[table.group])
        sheet.append(["Measurement", "Unit", *table.sizes])
        for name, row in zip(table.measurements, table.values.tolist(), strict=True):
            sheet.append([name, "cm", *(with_comma(mm + 1) for mm in row)])
    book.save(at / "tables" / "sizes.xlsx")
    women = demo_sizes()[0]
    with (at / "my hands.csv").open("w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file, delimiter=";")
        rows.writerow(["Measurement", "Unit", "Left", "Right"])
        for name in women.measurements:
            mm = float(women.row(name)[women.sizes.index("W3")])
            rows.writerow([name, "cm", with_comma(mm - 1), with_comma(mm)])
    return at


@pytest.fixture
def typed(folder, monkeypatch):
    """Types a command in the folder, in a terminal of 80 columns: no line of prose is wider."""
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", "80")

    def run(*words: str, status: int = 0):
        done = CliRunner().invoke(main, [*words])
        assert done.exit_code == status, done.output
        wide = [line for line in done.output.splitlines() if len(line) > 80 and "grading " not in line]
        assert wide == []
        return done

    return run


def test_tables_of_other_groups_are_told_to_have_no_block_yet(typed):
    told = typed("check", status=1).stderr
    for group in GROUPS.values():
        assert f"No block is for group {group}" in " ".join(told.split())
    assert "mm" not in told


def test_a_block_is_drafted_from_hands_with_decimal_commas_and_used(typed, folder):
    done = typed("draft", "--measured", "my hands.csv", "--name", "Own mitten", "--group", "Ladies", "--use")
    assert "figures in cm" in " ".join(done.stdout.split())
    # Common practice: a mitten laid flat is half of the fist and its ease, (20,4 + 2,4) / 2 cm.
    assert "11.4" in done.stdout
    assert (folder / "tables" / "block-ladies.xlsx").exists()
    assert done.stdout.splitlines()[-1].strip() == "grading run --group Ladies"
    graded = typed("run", "--group", "Ladies", "--only", "nest")
    (width,) = (line.split() for line in graded.stdout.splitlines() if line.startswith("palm width"))
    # The sizes' fists are 0,1 cm larger than the invented ones, 16,8 to 22,8 cm; W3 has 20,5.
    assert width[4] == "11.45"
    assert "finished measure (cm)" in graded.stdout
    assert (folder / "output" / "Ladies" / "nest.pdf").exists()


def test_a_traced_pattern_is_used_and_one_in_another_unit_makes_nothing(typed, folder):
    words = ("draft", "--measured", "my hands.csv", "--from-points", "points.csv", "--group", "Gents")
    wrong = typed(*words, "--units", "cm", "--out", "wrong.xlsx", status=1)
    assert "error traced-in-another-unit" in wrong.stderr
    assert not (folder / "wrong.xlsx").exists()
    typed(*words, "--name", "Old pattern", "--use")
    assert (folder / "tables" / "block-gents.xlsx").exists()
    checked = typed("check", "--group", "Gents")
    assert "Gents: 5 sizes" in checked.stdout
    assert "error" not in checked.stderr


@pytest.mark.long
def test_a_customer_a_batch_and_two_returned_sheets(typed, folder):
    for words in (("Own mitten", "Ladies"), ("Little one", "Kids")):
        if not (folder / "tables" / f"block-{words[1].lower()}.xlsx").exists():
            typed("draft", "--measured", "my hands.csv", "--name", words[0], "--group", words[1], "--use")

    pair = ("--right", "fist girth", "21,1", "--left", "fist girth", "20,8", "--units", "cm")
    told = typed("hand", "--group", "Ladies", "--name", "Order 1", *pair).stdout
    assert next(line.split() for line in told.splitlines() if line.startswith("fist girth"))[2:5] == [
        "20.8", "21.1", "-0.3",
    ]  # fmt: skip
    assert sorted(path.name for path in Path("output/Order 1").iterdir()) == [
        "left",
        "nearest-size.pdf",
        "right",
        "run.json",
        "spec-cards.pdf",
    ]

    refused = typed("stock", "--pairs", "12", "--group", "Ladies", status=1)
    assert "Ladies" in refused.stderr
    book = openpyxl.load_workbook("tables/stock.xlsx")
    for cell in (cell for sheet in book for row in sheet.iter_rows() for cell in row):
        if cell.value in GROUPS:
            cell.value = GROUPS[cell.value]
    book.save("tables/stock.xlsx")
    planned = typed("stock", "--pairs", "12", "--group", "Ladies")
    assert "12 pairs" in planned.stdout

    typed("run", "--group", "Ladies", "--only", "spec")
    for name, off in (("Ann", (0.01, -0.02)), ("Bo", (0.19, -0.19))):
        fill_in(Path("output/Ladies/check-sheets/W3.xlsx"), Path(f"{name}.xlsx"), name, off)
    told = " ".join(typed("returns", "Ann.xlsx", "Bo.xlsx", "--group", "Ladies").stdout.split())
    assert "2 check sheets" in told
    assert "Bo, W3, pair 1, not a pair: the two differ: left 0.38 cm longer in palm width, waist width" in told
    assert "Ann, W3" not in told  # a good pair is only counted
    assert "pairs of good to mend not a pair to check pay (€) Ann 1 0 0 0 34.67 Bo 0 0 1 0 0.00" in told


def fill_in(path: Path, to: Path, name: str, off: tuple[float, float]) -> None:
    """Fill in one pair, left and right off their figures by so much in every measure, cm."""
    book = openpyxl.load_workbook(path)
    sheet = book.active
    fields = {row[0].value: row[1] for row in sheet.iter_rows(max_row=12, max_col=2)}
    assert fields["Unit"].value == "cm"
    fields["Name"].value = name
    header = next(row for row in sheet.iter_rows() if row[0].value == "Letter")
    at = {cell.value: cell.column for cell in header}
    row = header[0].row + 1
    while sheet.cell(row, at["Measure"]).value:
        figure = sheet.cell(row, header[3].column).value
        for hand, by in zip(("left", "right"), off, strict=True):
            sheet.cell(row, at[f"Pair 1 {hand}"]).value = f"{round(figure + by, 3):g}".replace(".", ",")
        row += 1
    book.save(to)
