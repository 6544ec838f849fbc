"""The command that audits: the tables' own run, a chart by itself, and two against each other."""

from __future__ import annotations

import json
from pathlib import Path

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
    assert line.split() == ["palm", "width", "6", "6", "6", "6", "6"]


def test_a_chart_is_audited_on_its_own_and_the_slip_is_marked_and_named(audit, charts):
    result = audit(charts["slip"])
    line = next(line for line in result.stdout.splitlines() if line.startswith("palm width"))
    assert "33!" in line.split()
    assert "increment-out-of-line" in result.stderr
    assert "cell E2" in result.stderr
    assert "About 114 mm" in result.stderr


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
