"""The command that audits: the tables' own run, a chart by itself, and two against each other."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from grading.cli import main

TABLES = Path(__file__).parents[2] / "tables"
WOMEN = ["--sizes", str(TABLES / "sizes.xlsx"), "--block", str(TABLES / "block.xlsx"), "--group", "Women"]


@pytest.fixture
def audit(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return lambda *words: CliRunner().invoke(main, ["audit", *(str(word) for word in words)])


@pytest.fixture
def charts(tmp_path):
    """Last season's chart, this season's with one figure changed and one with two digits swapped."""
    rows = "Measurement;Unit;S;M;L;XL;XXL\npalm width;cm;10,2;10,8;{};12;12,6\nlength;cm;17;17,3;17,6;17,9;18,2\n"
    paths = {}
    for name, figure in {"last": "11,4", "this": "11,6", "slip": "14,1"}.items():
        paths[name] = tmp_path / f"{name}.csv"
        paths[name].write_text(rows.format(figure), encoding="utf-8")
    return paths


def test_increments_of_the_run_are_printed_as_a_table(audit):
    result = audit(*WOMEN)
    assert result.exit_code == 0, result.output
    line = next(line for line in result.stdout.splitlines() if line.startswith("palm width"))
    assert line.split() == ["palm", "width", "█████", "102", "6", "6", "6", "6", "6"]
    assert result.stdout.splitlines()[-1] == "verdict: clean"


def test_a_chart_is_audited_on_its_own_and_the_slip_is_marked_and_named(audit, charts):
    result = audit(charts["slip"])
    line = next(line for line in result.stdout.splitlines() if line.startswith("palm width"))
    assert "3.3!" in line.split()
    assert "increment-out-of-line" in result.stderr
    assert "cell E2" in result.stderr
    assert "About 11.4 cm" in result.stderr
    assert "slip: 2 finished measures in 5 sizes, cm" in result.stdout
    assert ["palm", "width", "L", "14.1", "11.4"] in [row.split() for row in result.stdout.splitlines()]
    assert result.stdout.splitlines()[-1] == "verdict: 1 wrong"


def test_scripts_get_json(audit, charts):
    result = audit(charts["slip"], "--json")
    told = json.loads(result.stdout)
    assert told["groups"][0]["increments"]["length"] == [3, 3, 3, 3]
    assert {finding["code"] for finding in told["findings"]} >= {"increment-out-of-line"}
    (slip,) = [finding for finding in told["findings"] if finding["code"] == "increment-out-of-line"]
    assert slip["place"] == {"workbook": "slip.csv", "sheet": "slip", "cell": "E2"}


def test_against_another_chart_only_what_changed_is_told(audit, charts):
    result = audit(charts["this"], "--against", charts["last"], "--units", "mm")
    assert result.exit_code == 0
    line = next(line for line in result.stdout.splitlines() if line.startswith("palm width"))
    assert line.split() == ["palm", "width", "0", "0", "2", "0", "0"]
    assert "length" not in result.stdout


def test_the_same_chart_against_itself_has_no_change(audit, charts):
    assert "no figure changed" in audit(charts["this"], "--against", charts["this"]).stdout


def test_a_run_is_compared_with_an_earlier_one_by_their_folders(audit, tmp_path):
    words = ["run", *WOMEN, "--only", "nest", "--out"]
    for folder in ("old", "new"):
        run = CliRunner().invoke(main, [*words, str(tmp_path / folder)])
        assert run.exit_code == 0, run.output
    result = audit(tmp_path / "new" / "Women", "--against", tmp_path / "old" / "Women")
    assert result.exit_code == 0, result.output
    assert "no figure changed" in result.stdout


def test_a_chart_that_is_not_there_is_a_finding(audit):
    result = audit("nowhere.csv")
    assert result.exit_code == 1
    assert "nowhere.csv" in result.stderr


def edited(source: Path, target: Path, sheet: str, row: str, column: str, figure: float) -> Path:
    """A copy of a workbook with one figure changed, found by the names of its row and its column."""
    book = openpyxl.load_workbook(source)
    cells = book[sheet]
    number = next(cell.column for cell in cells[1] if cell.value == column)
    (place,) = [line[0].row for line in cells.iter_rows() if line[0].value == row]
    cells.cell(place, number).value = figure
    book.save(target)
    return target


@pytest.fixture(scope="module")
def last_season(tmp_path_factory) -> Path:
    """The folder above the groups' of an earlier run, with a customer's pair beside them."""
    folder = tmp_path_factory.mktemp("last")
    tables = ["--sizes", str(TABLES / "sizes.xlsx")]
    assert CliRunner().invoke(main, ["run", *tables, "--only", "nest", "--out", str(folder)]).exit_code == 0
    words = ["hand", *WOMEN, "--right", "fist girth", "213", "--out", str(folder)]
    assert CliRunner().invoke(main, words).exit_code == 0
    return folder


def test_ten_more_of_hand_ease_are_five_more_of_palm_width_in_every_size_and_said_so(audit, last_season, tmp_path):
    # Half the round is what lies flat, so 10 mm more round the hand are 5 mm across.
    values = {row[0].value: row for row in openpyxl.load_workbook(TABLES / "block.xlsx")["Base values"].iter_rows()}
    ease = values["hand ease"][2].value
    block = edited(TABLES / "block.xlsx", tmp_path / "block.xlsx", "Base values", "hand ease", "Use now", ease + 10)
    words = ["--sizes", TABLES / "sizes.xlsx", "--block", block, "--group", "Women"]
    for folder in (last_season, last_season / "Women"):
        told = " ".join(audit(*words, "--against", folder).stdout.split())
        assert f"hand ease {ease} → {ease + 10} mm: palm width +5 in every size" in told
        assert "Men" not in told
        assert "not compared" not in told
    (data,) = json.loads(audit(*words, "--against", last_season, "--json").stdout)["groups"]
    assert data["allowances"] == {"hand ease": {"was": ease, "now": ease + 10}}
    assert set(data["change"]["palm width"].values()) == {5.0}


def test_a_point_that_was_moved_is_told(audit, last_season, tmp_path):
    points = openpyxl.load_workbook(TABLES / "block.xlsx")["Points"]
    (row,) = [row for row in points.iter_rows() if (row[0].value, row[1].value) == ("Thumb", "T")]
    book = openpyxl.load_workbook(TABLES / "block.xlsx")
    book["Points"][row[3].coordinate].value += 2
    book.save(tmp_path / "block.xlsx")
    words = ["--sizes", TABLES / "sizes.xlsx", "--block", tmp_path / "block.xlsx", "--group", "Women"]
    assert "1 point of the block moved, Thumb, T most: 2 mm" in audit(*words, "--against", last_season).stdout


def test_what_was_not_changed_is_said_to_be_so_only_where_all_of_it_was_compared(audit, last_season, tmp_path):
    told = audit("--sizes", TABLES / "sizes.xlsx", "--against", last_season).stdout
    assert told.count("no figure changed") == 4
    assert "not compared" not in told
    told = " ".join(audit(*WOMEN, "--against", TABLES / "sizes.xlsx").stdout.split())
    assert "no figure changed" not in told
    assert "not compared: allowances, the block's points" in told
    assert "not compared, only here: palm width" in told
    record = json.loads((last_season / "Women" / "run.json").read_text())
    del record["allowances"], record["points"]  # as earlier versions wrote it
    (tmp_path / "run.json").write_text(json.dumps(record))
    told = audit(*WOMEN, "--against", tmp_path).stdout
    assert "Women: nothing changed of what was compared." in told
    assert "not compared: allowances, the block's points" in told


def test_a_group_that_only_one_side_has_is_told_unless_others_were_asked_for(audit, last_season, tmp_path):
    old = shutil.copytree(last_season, tmp_path / "old")
    shutil.rmtree(old / "Men")
    assert "Men: not compared" in audit("--sizes", TABLES / "sizes.xlsx", "--against", old).stdout
    assert "Men" not in audit(*WOMEN, "--against", old).stdout


def test_a_slip_in_the_first_size_is_marked_at_its_figure(audit, tmp_path):
    chart = tmp_path / "chart.csv"
    chart.write_text("Measurement;Unit;S;M;L;XL;XXL\ngirth;mm;150;192;204;216;228\n", encoding="utf-8")
    result = audit(chart)
    assert "cell C2" in result.stderr
    line = next(line for line in result.stdout.splitlines() if line.startswith("girth"))
    assert line.split()[2:] == ["150!", "42", "12", "12", "12"]


def test_a_console_without_the_signs_of_the_little_charts_gets_digits(tmp_path):
    chart = tmp_path / "chart.csv"
    chart.write_text("Measurement;Unit;S;M;L;XL\ngirth;mm;180;192;204;216\npalm;mm;93;96;99;102\n", encoding="utf-8")
    result = CliRunner(charset="ascii").invoke(main, ["audit", str(chart)])
    assert next(line for line in result.stdout.splitlines() if line.startswith("girth")).split()[1] == "888"


def test_many_sizes_are_told_in_tables_no_wider_than_the_window(audit, tmp_path, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    sizes = range(1, 31)
    chart = tmp_path / "chart.csv"
    rows = [["Measurement", "Unit", *sizes], ["girth", "mm", *(150 + 6 * size for size in sizes)]]
    chart.write_text("\n".join(";".join(map(str, row)) for row in rows), encoding="utf-8")
    told = audit(chart).stdout.splitlines()
    assert max(map(len, told)) <= 80
    assert sum(word == "6" for line in told if line.startswith("girth") for word in line.split()) == 29


def test_where_nothing_could_be_read_the_verdict_says_that_nothing_was_audited(audit):
    assert audit("nowhere.xlsx").stdout == "verdict: nothing was audited, 1 wrong\n"


def test_a_chart_of_garments_is_read_whatever_its_lengths_and_ten_times_a_figure_is_told(audit, tmp_path):
    chart = tmp_path / "coats.csv"
    rows = "Measurement;Unit;34;36;38;40\nBust girth;cm;80;84;88;92\nCoat length;cm;118;119;{};121\n"
    chart.write_text(rows.format("120"), encoding="utf-8")
    result = audit(chart)
    assert (result.exit_code, result.stdout.splitlines()[-1]) == (0, "verdict: clean")
    chart.write_text(rows.format("12"), encoding="utf-8")
    result = audit(chart)
    assert (result.exit_code, result.stdout.splitlines()[-1]) == (1, "verdict: 1 wrong")
    assert "Coat length in size 38 is a tenth of what the others lead to" in " ".join(result.stderr.split())


def test_a_side_that_is_not_there_is_told_and_not_that_it_lacks_every_group():
    done = CliRunner().invoke(main, ["audit", "--sizes", str(TABLES / "sizes.xlsx"), "--against", "nowhere.xlsx"])
    assert done.exit_code == 1
    assert "There is no file nowhere.xlsx." in done.stderr
    assert "not compared" not in done.output
