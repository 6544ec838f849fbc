"""Every command that the program suggests can be typed as it stands, and 'grading' alone suggests what makes sense."""

from __future__ import annotations

import os
import shlex
import shutil
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result

from grading.cli import main
from grading.outputs.starter import starter_files


@pytest.fixture(scope="module")
def starter(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("starter")
    for name, content in starter_files().items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(content)
    return folder


@pytest.fixture
def folder(starter, tmp_path, monkeypatch) -> Path:
    shutil.copytree(starter, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def typed(line: str) -> Result:
    """What comes of a line as the program prints it; of a run only one kind of file, of a batch few pairs."""
    program, *words = shlex.split(line)
    assert program == "grading"
    quick = {"run": ["--only", "nest"], "stock": ["--pairs", "8", "--group", "Children"]}
    return CliRunner().invoke(main, [*words, *quick.get(words[0] if words else "", [])])


def suggested(text: str) -> list[str]:
    """The lines that are a command and nothing else."""
    return [line.strip() for line in text.splitlines() if line.strip().split(" ")[0] == "grading"]


def test_every_command_of_start_here_goes_well_in_its_order(folder):
    lines = suggested((folder / "START HERE.txt").read_text(encoding="utf-8"))
    assert len(lines) == 8
    for line in lines:
        result = typed(line)
        assert result.exit_code == 0, (line, result.output)


def test_in_an_empty_folder_a_starter_folder_is_suggested_and_in_that_what_to_do(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = typed("grading")
    assert (result.exit_code, suggested(result.stdout)) == (0, ["grading start mittens", "grading --help"])
    result = typed(suggested(result.stdout)[0])
    cd, grading = [line.strip() for line in result.stdout.splitlines()[-2:]]
    assert (cd, grading) == ("cd mittens", "grading")
    monkeypatch.chdir(cd.split()[1])
    assert typed(grading).exit_code == 0


def test_grading_alone_tells_the_state_of_every_group_and_what_makes_sense_now(folder):
    told = typed("grading").stdout
    assert told.count("not graded yet") == 4
    assert suggested(told) == ["grading run", "grading draft --measured hands.xlsx --group Women"]
    assert all(typed(line).exit_code == 0 for line in suggested(told))
    told = typed("grading").stdout
    assert told.count("graded, nothing changed since") == 4
    assert suggested(told) == ["grading audit", "grading stock"]
    assert all(typed(line).exit_code == 0 for line in suggested(told))
    book = openpyxl.load_workbook("tables/sizes.xlsx")
    book["Men"]["C2"].value += 1
    book.save("tables/sizes.xlsx")
    told = typed("grading").stdout
    assert told.count("changed since it was graded") == 1
    assert suggested(told) == ["grading run --group Men", "grading audit --against output"]
    assert all(typed(line).exit_code == 0 for line in reversed(suggested(told)))
    Path("output/Men/nest.pdf").unlink()
    told = typed("grading").stdout
    assert "missing or altered" in told
    assert suggested(told) == ["grading run --group Men"]


def test_tables_with_errors_are_told_of_and_end_with_1(folder):
    book = openpyxl.load_workbook("tables/sizes.xlsx")
    book["Men"]["C2"].value = "wide"
    book.save("tables/sizes.xlsx")
    result = typed("grading")
    assert result.exit_code == 1
    assert "cell C2" in result.stderr
    assert suggested(result.stdout) == ["grading check"]


@pytest.mark.parametrize("name", ["it's Größe $1", pytest.param("Women and girls", marks=pytest.mark.long)])
def test_a_draft_suggests_a_run_that_works_whatever_groups_and_files_are_called(folder, name):
    book = openpyxl.load_workbook("tables/sizes.xlsx")
    book["Women"].title = name
    book.save("tables/sizes.xlsx")
    for out in (["--out", f"{name}.xlsx"], ["--use"]):
        words = ["draft", "--measured", "hands.xlsx", "--group", name, *out]
        result = CliRunner().invoke(main, words)
        (line,) = suggested(result.stdout)
        assert typed(line).exit_code == 0, (line, result.stderr)


@pytest.mark.parametrize("spoil", ["a file", "a link to itself", "a pipe for the record"])
def test_a_place_for_outputs_that_cannot_be_looked_into_is_told_beside_the_group(folder, spoil):
    out = folder / "output"
    if spoil == "a file":
        out.touch()
    elif spoil == "a link to itself":
        out.symlink_to(out)
    else:
        (out / "Women").mkdir(parents=True)
        os.mkfifo(out / "Women" / "run.json")
    result = typed("grading")
    assert result.exit_code == 0
    assert "Women" in result.stdout
    assert "not known: the record in output/Women cannot be read" in result.stdout


def test_where_some_groups_have_no_block_the_others_can_be_graded(folder):
    Path("tables/block-men.xlsx").unlink()
    result = typed("grading")
    assert result.exit_code == 1
    check, run = suggested(result.stdout)
    assert check == "grading check"
    assert run == 'grading run --group Women --group Children --group "Small children"'
    assert typed(run).exit_code == 0


def test_tables_without_any_block_are_told_how_to_get_one(folder):
    for path in Path("tables").glob("block*.xlsx"):
        path.unlink()
    told = " ".join(typed("grading check").stderr.split())
    assert "There is no block beside tables/sizes.xlsx" in told
    assert "Draft one of a measured hand ('grading draft --help' says how)" in told
    assert told.endswith("1 error")
