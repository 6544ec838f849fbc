"""Tables that other programs save, hold open, copy and fetch: read where they can be, told where they cannot."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from grading.asked import blocks_in
from grading.cli import main
from grading.outputs.starter import starter_files

TABLES = Path(__file__).parents[2] / "tables"


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Path:
    """A folder with the women's tables."""
    (tmp_path / "tables").mkdir()
    for name in ("sizes.xlsx", "block.xlsx"):
        shutil.copy(TABLES / name, tmp_path / "tables" / name)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def typed(*words: str, status: int = 0) -> str:
    """What is told, with all its spaces single."""
    done = CliRunner().invoke(main, words)
    assert done.exit_code == status, done.output
    return " ".join(done.output.split())


WOMEN = ("--group", "Women")


@pytest.mark.parametrize("command", [("check",), ("audit",), ("run", "--only", "nest")])
@pytest.mark.parametrize("copy", ["sizes (conflicted copy 2026-11-20).xlsx", "sizes.sync-conflict-20261120-A1B2.xlsx"])
def test_a_copy_of_a_save_that_met_another_is_told(folder, command, copy):
    shutil.copy("tables/sizes.xlsx", f"tables/{copy}")
    told = typed(*command, *WOMEN)
    assert "warning conflict-copy sizes.xlsx" in told
    assert copy in told


def test_such_a_copy_of_a_block_is_no_second_block(folder):
    shutil.copy("tables/block.xlsx", "tables/block (conflicted copy).xlsx")
    told = typed("check", *WOMEN)
    assert "warning conflict-copy block.xlsx" in told
    assert "Women: 6 sizes" in told


def test_a_later_save_with_another_ending_is_told(folder):
    shutil.copy("tables/sizes.xlsx", "tables/sizes.ods")
    saved = Path("tables/sizes.xlsx").stat().st_mtime
    os.utime("tables/sizes.ods", (saved - 60, saved - 60))
    assert "saved-later-as" not in typed("check", *WOMEN)
    os.utime("tables/sizes.ods", (saved + 60, saved + 60))
    assert "Save sizes.ods as sizes.xlsx, or move the one away" in typed("check", *WOMEN)


def test_an_unchanged_run_tells_it_too(folder):
    typed("run", *WOMEN, "--only", "nest")
    shutil.copy("tables/block.xlsx", "tables/block-conflict.xlsx")
    assert "warning conflict-copy" in typed("run", *WOMEN, "--only", "nest")
    again = typed("run", *WOMEN, "--only", "nest")
    assert "Neither the tables nor the options have changed" in again
    assert "warning conflict-copy" in again


@pytest.mark.parametrize("part", ["sizes.xlsx.part", ".sizes.xlsx.fetched", "~sizes.xlsx.tmp"])
def test_a_file_that_is_still_fetched_is_told_to_be(folder, part):
    Path("tables/sizes.xlsx").rename(f"tables/{part}")
    told = typed("check", status=1)
    assert f"{part} lies there: it seems to be fetched or copied still." in told
    assert "1 error" in told


@pytest.mark.parametrize("name", ["tables/sizes.xlsx", "tables/block.xlsx"])
def test_a_file_of_no_bytes_is_told_to_be_half_fetched_and_nothing_else_is(folder, name):
    Path(name).write_bytes(b"")
    told = typed("run", status=1)
    assert (
        f"error not-a-workbook {Path(name).name} The file is empty: it was not fully saved, copied or fetched." in told
    )
    assert "1 error" in told
    assert not Path("output").exists()


@pytest.mark.long
def test_tables_kept_as_ods_are_those_of_the_folder_and_a_new_block_leaves_the_others_in_use(folder, office):
    shutil.copy(TABLES / "block-men.xlsx", "tables/block-men.xlsx")
    both = ("check", "--group", "Women", "--group", "Men")
    before = typed(*both)
    for name in ("sizes", "block", "block-men"):
        office(folder / "tables" / f"{name}.xlsx", "ods").rename(folder / "tables" / f"{name}.ods")
        Path(f"tables/{name}.xlsx").unlink()
    assert typed(*both) == before
    Path("hands.xlsx").write_bytes(starter_files()["hands.xlsx"])
    told = typed("draft", "--measured", "hands.xlsx", "--name", "Own", *WOMEN, "--use")
    assert "kept what was tables/block.ods as" in told
    assert sorted(path.name for path in blocks_in(Path("tables"))) == ["block-men.ods", "block.xlsx"]
    assert "Men: 5 sizes" in typed("check", "--group", "Men")
