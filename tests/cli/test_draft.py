"""'grading draft', 'grading hand' and 'grading start' as a maker types them, rightly and wrongly."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import openpyxl
import pypdf
import pytest
from click.testing import CliRunner

from grading.cli import main
from grading.outputs.starter import starter_files
from grading.publish import verify
from grading.sheets.block import read_block
from grading.sheets.opening import open_tables

TABLES = Path(__file__).parents[2] / "tables"


@pytest.fixture(scope="module")
def starter(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("starter")
    for name, content in starter_files().items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(content)
    return folder


def typed(*words: object):
    return CliRunner().invoke(main, [str(word) for word in words])


def test_a_drafted_block_is_written_with_its_construction_and_its_working_printed(starter, tmp_path):
    out = tmp_path / "own.xlsx"
    done = typed("draft", "--measured", starter / "hands.xlsx", "--units", "cm", "--out", out, "--name", "Own")
    assert done.exit_code == 0, done.stderr
    assert "For the right hand, figures in cm." in done.stdout
    assert "11.4  =  round the mitten 22.8 ÷ 2" in done.stdout
    block, findings = read_block(open_tables(out)[0])
    assert not findings
    assert block.name == "Own"
    assert out.with_suffix(".pdf").read_bytes().startswith(b"%PDF")


def test_what_is_there_is_never_written_over(starter, tmp_path):
    out = tmp_path / "own.xlsx"
    out.with_suffix(".pdf").write_text("mine")
    done = typed("draft", "--measured", starter / "hands.xlsx", "--out", out)
    assert (done.exit_code, out.exists(), out.with_suffix(".pdf").read_text()) == (1, False, "mine")
    assert "file-exists" in done.stderr


def test_words_typed_count_before_the_sheet(starter, tmp_path):
    out = tmp_path / "own.xlsx"
    words = ("--right", "fist girth", "22,3 cm", "--allowance", "Hand Ease", '3/4"')
    done = typed("draft", "--measured", starter / "hands.xlsx", *words, "--out", out)
    assert done.exit_code == 0, done.stderr
    values = {value.name: value.drafted for value in read_block(open_tables(out)[0])[0].values}
    assert (values["fist girth"], values["hand ease"]) == pytest.approx((223, 19.05))


def test_a_style_is_picked_on_the_sheet_and_typed_choices_count_before_it(starter, tmp_path):
    book = openpyxl.load_workbook(starter / "hands.xlsx")
    book["Style"]["B2"], book["Style"]["B3"] = "plain", "plain"
    book.save(tmp_path / "hands.xlsx")
    out = tmp_path / "own.xlsx"
    words = ("--style", "fingers", "turned", "--allowance", "thumb turn", "0")
    done = typed("draft", "--measured", tmp_path / "hands.xlsx", *words, "--out", out)
    assert done.exit_code == 0, done.stderr
    style = "fingers: turned; cuff: plain; thumb place: forward; thumb: plain; lining: none"
    assert f"Its style: {style}." in " ".join(done.stdout.split())
    assert "zero-is-a-choice" in done.stderr
    block, findings = read_block(open_tables(out)[0])
    assert (block.style, findings) == (style, [])
    run = typed("run", "--sizes", TABLES / "sizes.xlsx", "--group", "Women", "--block", out, "--out", tmp_path / "run")
    assert run.exit_code == 0, run.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["draft", "--style", "cuff", "ribed"], "One of: turned · plain"),
        (["draft"], "measurement-missing"),
        (["draft", "--right", "fist girth", "8.8", "--units", "cm"], "inches typed as centimetres"),
        (["draft", "--right", "fist girth", "about 20"], "not-a-number"),
        (["draft", "--right", "fistgirht", "20"], "Perhaps 'fist girth'"),
        (["draft", "--allowance", "hand eas", "20"], "Perhaps 'hand ease'"),
        (["draft", "--measured", "nowhere.xlsx"], "file-missing"),
        (["draft", "--from-points", "nowhere.csv"], "file-missing"),
        (["hand", "--group", "Women", "--sizes", "nowhere.xlsx"], "file-missing"),
    ],
)
def test_what_was_typed_wrongly_is_said_and_nothing_is_written(words, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = typed(*words)
    assert done.exit_code == 1
    assert said in " ".join(done.stderr.split())
    assert "Nothing was written." in done.stderr
    assert not list(tmp_path.iterdir())


def test_where_nothing_was_measured_one_finding_names_the_sheet_that_is_there(starter, monkeypatch):
    monkeypatch.chdir(starter)
    done = typed("draft")
    assert done.exit_code == 1
    assert done.stderr.count("measurement-missing") == 1
    assert "--measured hands.xlsx" in done.stderr


def test_a_pair_for_a_customer_needs_one_group(starter, monkeypatch):
    monkeypatch.chdir(starter)
    done = typed("hand", "--measured", "hands.xlsx")
    assert done.exit_code == 1
    assert "which-group" in done.stderr


def test_a_pair_tells_its_estimates_and_its_nearest_size(starter, tmp_path, monkeypatch):
    monkeypatch.chdir(starter)
    done = typed("hand", "--group", "Women", "--right", "fist girth", "213", "--name", "Order 9", "--out", tmp_path)
    assert done.exit_code == 0, done.stderr
    assert "Order 9: nearest stock size W4 of Women" in done.stdout
    assert "  at least ± " in done.stdout
    assert "Where ± stands the figure is estimated" in done.stdout
    assert all(len(line) <= 80 for line in done.stdout.splitlines() if not line.startswith("wrote "))
    assert (tmp_path / "Order 9" / "nearest-size.pdf").exists()
    assert not (tmp_path / "Order 9" / "nest.pdf").exists()


def test_a_starter_folder_is_made_once(tmp_path):
    done = typed("start", tmp_path / "new" / "mittens")
    assert done.exit_code == 0, done.stderr
    kept = {path: path.read_bytes() for path in (tmp_path / "new").rglob("*") if path.is_file()}
    assert {path.relative_to(tmp_path / "new" / "mittens").as_posix() for path in kept} == set(starter_files())
    again = typed("start", tmp_path / "new" / "mittens")
    assert again.exit_code == 1
    assert "folder-not-empty" in again.stderr
    assert {path: path.read_bytes() for path in kept} == kept


@pytest.mark.parametrize("out", ["own.pdf", "own", ".", "/", "", "..", ".xlsx", "own.csv"])
def test_a_block_is_written_as_a_workbook_or_not_at_all(starter, tmp_path, monkeypatch, out):
    monkeypatch.chdir(tmp_path)
    done = typed("draft", "--measured", starter / "hands.xlsx", "--out", out)
    assert (done.exit_code, done.exception.__class__) == (1, SystemExit)
    assert "not-a-workbook" in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_folder_or_what_was_measured_is_not_written_over_by_a_block(starter, tmp_path):
    hands = tmp_path / "hands.xlsx"
    hands.write_bytes((starter / "hands.xlsx").read_bytes())
    (tmp_path / "folder.xlsx").mkdir()
    before = hands.read_bytes()
    for out in (hands, tmp_path / "folder.xlsx"):
        done = typed("draft", "--measured", hands, "--out", out)
        assert done.exit_code == 1
        assert "file-exists" in done.stderr
    assert hands.read_bytes() == before
    assert {path.name for path in tmp_path.iterdir()} == {"hands.xlsx", "folder.xlsx"}


@pytest.fixture
def pair(starter, tmp_path, monkeypatch):
    """'grading hand' for the women's block into a folder of the test's own, and what it finds there afterwards."""
    monkeypatch.chdir(starter)

    def made(*words: object):
        done = typed("hand", "--group", "Women", "--out", tmp_path, *words)
        return done, {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}

    return made


def test_a_second_customer_without_a_name_does_not_take_the_firsts_place(pair):
    first, before = pair("--right", "fist girth", "213")
    assert first.exit_code == 0, first.stderr
    again, after = pair("--right", "fist girth", "213")
    assert (again.exit_code, after) == (0, before)
    for figures in (["--right", "fist girth", "205"], ["--right", "fist girth", "213", "--left", "fist girth", "208"]):
        other, after = pair(*figures)
        assert (other.exit_code, after) == (1, before)
        assert "name-needed" in other.stderr
        assert "--name 'Order 12'" in other.stderr
    named, after = pair("--right", "fist girth", "205", "--name", "Order 12")
    assert named.exit_code == 0, named.stderr
    assert before.items() <= after.items()


def test_a_pair_that_is_called_like_a_group_does_not_take_its_place_nor_the_group_the_pairs(pair, tmp_path):
    run = ("run", "--only", "nest", "--group", "Women", "--out", tmp_path)
    assert typed(*run).exit_code == 0
    (nest,) = tmp_path.rglob("nest.pdf")
    before = nest.read_bytes()
    done, after = pair("--right", "fist girth", "213", "--name", "Women")
    assert done.exit_code == 1
    assert "folder-of-another" in done.stderr
    assert after[nest] == before
    assert pair("--right", "fist girth", "213", "--name", "Men")[0].exit_code == 0
    after = pair("--right", "fist girth", "213", "--name", " ")[1]
    done = typed("run", "--only", "nest", "--out", tmp_path)
    assert done.exit_code == 1
    assert "customer's pair Men" in " ".join(done.stderr.split())
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == after  # no group was written


def test_groups_whose_names_differ_by_what_no_file_may_hold_have_a_folder_each_whichever_is_asked_for(tmp_path):
    book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
    book["Women"].title, book["Men"].title = "A|B", "A-B"
    tables = tmp_path / "sizes.xlsx"
    book.save(tables)
    block = openpyxl.load_workbook(TABLES / "block.xlsx")
    for row in block["Block"].iter_rows():
        if row[0].value == "Groups":
            row[1].value = None
    block.save(tmp_path / "block.xlsx")
    words = ("run", "--sizes", tables, "--block", tmp_path / "block.xlsx", "--only", "nest", "--out", tmp_path / "out")
    for group in ("A|B", "A-B", "A|B"):
        done = typed(*words, "--group", group)
        assert done.exit_code == 0, done.stderr
    told = {path.name: json.loads((path / "run.json").read_text())["group"] for path in (tmp_path / "out").iterdir()}
    assert told == {"A-B": "A-B", "A-B (2)": "A|B"}


def test_a_pair_whose_hands_differ_is_one_folder_with_both_on_one_sheet(starter, tmp_path, monkeypatch):
    monkeypatch.chdir(starter)
    words = ["--left", "fist girth", "200 mm", "--right", "fist girth", "208 mm", "--name", "Order 31"]
    done = CliRunner().invoke(main, ["hand", "--group", "Women", *words, "--out", str(tmp_path)])
    assert done.exit_code == 0, done.output
    made = {path.relative_to(tmp_path / "Order 31").as_posix() for path in (tmp_path / "Order 31").rglob("*.pdf")}
    assert {"nearest-size.pdf", *(f"{hand}/patterns/made to measure.pdf" for hand in ("left", "right"))} <= made
    assert [path.name for path in tmp_path.iterdir()] == ["Order 31"]
    fist = next(line.split() for line in done.stdout.splitlines() if line.startswith("fist girth"))
    assert fist[2:5] == ["200", "208", "-8"]
    assert all(len(line) <= 80 for line in done.stdout.splitlines() if not line.startswith("wrote ")) + len(
        str(tmp_path)
    )
    run = json.loads((tmp_path / "Order 31" / "run.json").read_text())
    assert run["sizes"] == ["left", "right"]
    pages = pypdf.PdfReader(tmp_path / "Order 31" / "nearest-size.pdf").pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert run["run"] in text
    assert "Trank, left" in text
    assert "Trank, right" in text
    assert not verify(tmp_path / "Order 31")


@pytest.mark.parametrize("use", [(), ("--group", "Women", "--use")])
def test_a_name_that_the_sheet_cannot_show_is_refused_before_anything_is_written(starter, tmp_path, monkeypatch, use):
    shutil.copytree(starter, tmp_path / "shop")
    monkeypatch.chdir(tmp_path / "shop")
    before = sorted(path for path in (tmp_path / "shop").rglob("*"))
    done = typed("draft", "--measured", "hands.xlsx", "--name", "手套", *use)
    assert done.exit_code == 1
    assert "error character-not-printable" in done.stderr
    assert sorted(path for path in (tmp_path / "shop").rglob("*")) == before
