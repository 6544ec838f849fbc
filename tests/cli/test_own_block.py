"""A maker's own block: the one that is given is used, and one that is put among the tables loses no other."""

from __future__ import annotations

import contextlib
import shlex
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from grading.cli import main
from grading.jobs.tables import check_job
from grading.outputs.starter import starter_files
from grading.publish import keeping
from grading.publish.disk import Disk
from grading.sheets.block import read_block
from grading.sheets.opening import open_tables


@pytest.fixture(scope="module")
def starter():
    return starter_files()


@pytest.fixture
def folder(starter, tmp_path, monkeypatch) -> Path:
    for name, content in starter.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(content)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def typed(*words: object):
    return CliRunner().invoke(main, [str(word) for word in words])


def draft(*words: str):
    return typed("draft", "--measured", "hands.xlsx", *words)


def codes(findings) -> list[str]:
    return [finding.code for finding in findings]


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def test_a_given_block_is_used_for_the_group_asked_for_even_if_it_names_another(folder):
    men = Path("tables/block-men.xlsx")
    job = check_job(Path("tables/sizes.xlsx"), [men], ["Women"])
    assert [group.run.group for group in job.groups] == ["Women"]
    assert job.groups[0].run.block.groups == ("Men",)
    assert "block-of-another-group" in codes(job.findings)


def test_without_a_group_a_given_block_grades_those_that_it_names_and_the_rest_are_told_of(folder):
    job = check_job(Path("tables/sizes.xlsx"), [Path("tables/block-men.xlsx")])
    assert [group.run.group for group in job.groups] == ["Men"]
    (left,) = [finding for finding in job.findings if finding.code == "groups-left-out"]
    assert "Women, Children" in left.found
    assert typed("check", "--block", "tables/block-men.xlsx").exit_code == 0


def test_blocks_beside_the_tables_are_for_the_groups_that_they_name_only(folder):
    (folder / "tables" / "block-men.xlsx").unlink()
    job = check_job(Path("tables/sizes.xlsx"), (), ["Men"])
    assert "blocks-for-group" in codes(job.findings)
    assert not job.groups
    assert [group.run.group for group in check_job(Path("tables/sizes.xlsx"), (), ["Women"]).groups] == ["Women"]


def test_a_block_in_use_takes_its_groups_place_and_the_old_one_is_kept_every_time(folder):
    tables = folder / "tables"
    before = contents(tables)
    ever = set(before.values())
    for name in ("One", "Two", "Three"):
        done = draft("--group", "Women", "--use", "--name", name)
        assert done.exit_code == 0, done.stderr
        block, _ = read_block(open_tables(tables / "block.xlsx")[0])
        assert (block.name, block.groups) == (name, ("Women",))
        ever |= set(contents(tables).values())
        assert ever == set(contents(tables).values())  # whatever was there once is there still
        assert len([file for file in contents(tables) if file.startswith("old block ") and file.endswith(".xlsx")])
    assert {name: before[name] for name in before if name != "block.xlsx"}.items() <= contents(tables).items()
    (line,) = [line.strip() for line in done.stdout.splitlines() if line.strip().startswith("grading ")]
    assert line == "grading run --group Women"
    assert typed(*shlex.split(line)[1:], "--only", "nest").exit_code == 0
    assert typed("check").exit_code == 0  # one block for each group


def test_a_block_for_several_groups_takes_the_place_of_each_of_theirs(folder):
    old = contents(folder / "tables")
    assert draft("--group", "Women", "--group", "men", "--use").exit_code == 0
    after = contents(folder / "tables")
    assert {old["block.xlsx"], old["block-men.xlsx"]} <= set(after.values())
    assert typed("check").exit_code == 0


def test_a_block_that_others_need_too_is_not_replaced(folder):
    draft("--group", "Women", "--group", "Men", "--use")
    before = contents(folder / "tables")
    done = draft("--group", "Women", "--use")
    assert (done.exit_code, contents(folder / "tables")) == (1, before)
    assert "block-shared" in done.stderr
    for words in ((), ("--group", "Womne")):
        done = draft(*words, "--use")
        assert (done.exit_code, contents(folder / "tables")) == (1, before)
        assert "which-group" in done.stderr
    assert draft("--use", "--group", "Women", "--out", "own.xlsx").exit_code == 2


@pytest.mark.parametrize("call", ["write", "sync", "replace", "hardlink_to"])
@pytest.mark.parametrize("number", [1, 2, 3])
def test_wherever_it_is_ended_both_blocks_are_somewhere_whole(tmp_path, monkeypatch, call, number):
    class Killed(BaseException):
        pass

    home = Disk if hasattr(Disk, call) else Path
    done, calls = getattr(home, call), 0

    def ended(*words):
        nonlocal calls
        calls += 1
        if calls == number:
            raise Killed
        return done(*words)

    block, drawing = tmp_path / "block.xlsx", tmp_path / "block.pdf"
    block.write_bytes(b"old block")
    drawing.write_bytes(b"old drawing")
    new = {block: b"new block", drawing: b"new drawing"}
    with monkeypatch.context() as patch:
        patch.setattr(home, call, ended)
        with contextlib.suppress(Killed):
            keeping.put_in_place(new)
    assert block.read_bytes() in (b"old block", b"new block")
    assert {b"old block", b"old drawing"} <= set(contents(tmp_path).values())
    _, findings = keeping.put_in_place(new)
    assert not findings
    assert {b"old block", b"old drawing", b"new block", b"new drawing"} == set(contents(tmp_path).values())
    assert (block.read_bytes(), drawing.read_bytes()) == (b"new block", b"new drawing")


def test_a_block_that_is_open_in_another_program_or_saved_meanwhile_is_not_replaced(tmp_path, monkeypatch):
    block = tmp_path / "block.xlsx"
    block.write_bytes(b"old")
    (tmp_path / "~$block.xlsx").touch()
    assert codes(keeping.put_in_place({block: b"new"})[1]) == ["output-open"]
    (tmp_path / "~$block.xlsx").unlink()
    monkeypatch.setattr(keeping, "put", lambda *words: block.write_bytes(b"saved meanwhile"))
    assert codes(keeping.put_in_place({block: b"new"})[1]) == ["output-changed-meanwhile"]
    assert block.read_bytes() == b"saved meanwhile"


def test_the_command_that_a_draft_ends_with_can_be_typed_as_it_stands(folder):
    done = draft("--group", "Women", "--out", "my own.xlsx")
    (line,) = [line.strip() for line in done.stdout.splitlines() if line.strip().startswith("grading ")]
    result = typed(*shlex.split(line)[1:], "--only", "nest")
    assert result.exit_code == 0, result.stderr
    assert (folder / "own" / "Women" / "nest.pdf").exists()


def test_a_group_without_a_block_is_told_with_what_the_blocks_are_for(folder):
    (folder / "tables" / "block-men.xlsx").unlink()
    (one,) = check_job(Path("tables/sizes.xlsx"), ()).findings
    assert one.code == "blocks-for-group"
    assert "block.xlsx is for Women" in one.found
    assert "block-children.xlsx is for Children" in one.found
    assert one.action.startswith("Write Men behind 'Groups'")


def test_a_misspelt_group_is_told_with_the_one_that_is_meant_and_not_where_there_are_no_tables(folder):
    (one,) = check_job(Path("tables/sizes.xlsx"), (), ["Wommen"]).findings
    assert one.code == "unknown-group"
    assert "Women is perhaps meant" in one.found
    assert "unknown-group" not in codes(check_job(Path("nowhere/sizes.xlsx"), (), ["Women"]).findings)


def test_the_working_keeps_within_the_line_and_names_the_unit_of_the_ease(folder, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    told = draft("--group", "Women", "--units", "cm").stdout
    assert max(map(len, told.splitlines())) <= 80
    assert "cm of its ease round the" in " ".join(told.split())


def test_no_block_is_replaced_while_one_beside_it_cannot_be_read(folder):
    (folder / "tables" / "block-men.xlsx").write_bytes(b"no workbook")
    before = contents(folder / "tables")
    done = draft("--group", "Women", "--use")
    assert (done.exit_code, contents(folder / "tables")) == (1, before)
    assert "error block-unread" in done.stderr
    assert "block-men.xlsx" in done.stderr


def test_what_is_odd_about_the_block_of_a_group_that_is_not_asked_for_is_not_told(folder):
    path = Path("tables/block-men.xlsx")
    book = openpyxl.load_workbook(path)
    cells = {row[0].value: row for row in book["Base values"].iter_rows()}
    cells["palm length"][2].value += 20
    book.save(path)
    assert "drafted-with-another-figure" in codes(check_job("tables/sizes.xlsx").findings)
    assert check_job("tables/sizes.xlsx", groups="Women").findings == ()
    assert "drafted-with-another-figure" in codes(check_job("tables/sizes.xlsx", groups="Men").findings)
    given = check_job("tables/sizes.xlsx", path, "Women")
    assert "drafted-with-another-figure" in codes(given.findings)
