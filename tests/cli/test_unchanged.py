"""A run of what has not changed: nothing is made, everything is noticed."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tomllib
from importlib.metadata import version
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from grading import asked
from grading.cli import main
from grading.jobs import run as jobs_run
from grading.publish.moves import JOURNAL

ROOT = Path(__file__).parents[2]
WORDS = ("run", "--only", "nest")
SAID = "every file is as it was written"


def grade(*words: str):
    return CliRunner().invoke(main, [*WORDS, *words])


@pytest.fixture(scope="module")
def graded(tmp_path_factory) -> Path:
    """A folder with the demo's tables, one row of them hidden so that there is something to tell, and their run."""
    folder = tmp_path_factory.mktemp("graded")
    shutil.copytree(ROOT / "tables", folder / "tables")
    change(folder / "tables" / "sizes.xlsx", "Men", lambda sheet: setattr(sheet.row_dimensions[4], "hidden", True))
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        assert grade().exit_code == 0
    return folder


@pytest.fixture
def folder(graded, tmp_path, monkeypatch) -> Path:
    shutil.copytree(graded, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def change(workbook: Path, sheet: str, how) -> None:
    book = openpyxl.load_workbook(workbook)
    how(book[sheet])
    book.save(workbook)


def files(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_an_unchanged_run_tells_what_was_found_and_imports_nothing_heavy(folder):
    stamps = {path: path.stat().st_mtime_ns for path in folder.rglob("*")}
    code = f"""
import sys
from grading.cli import main
try:
    main({list(WORDS)!r})
finally:
    print(sorted({{"numpy", "shapely", "pandas", "reportlab", "openpyxl", "PIL", "xlsxwriter"}} & set(sys.modules)))
"""
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert told.returncode == 0
    assert SAID in told.stdout
    assert told.stdout.splitlines()[-1] == "[]"
    assert "warning hidden-rows  sizes.xlsx, sheet Men" in told.stderr
    assert {path: path.stat().st_mtime_ns for path in folder.rglob("*")} == stamps


def alter(name: str):
    def of(folder: Path) -> None:
        (folder / "output" / "Men" / name).write_bytes(b"altered")

    return of


@pytest.mark.parametrize(
    ("done", "noticed"),
    [
        (alter("nest.pdf"), "warning output-altered  output/Men/nest.pdf"),
        (alter("run.json"), "warning record-unreadable  output/Men/run.json"),
        (lambda folder: (folder / "output/Men/nest.pdf").unlink(), "wrote output/Men/nest.pdf"),
        (lambda folder: (folder / "output/Men/run.json").unlink(), "wrote output/Men/run.json"),
        (lambda folder: shutil.rmtree(folder / "output/Men"), "wrote output/Men/nest.pdf"),
        (lambda folder: (folder / "output/Men" / JOURNAL).write_text("[]"), "note run-finished-later  output/Men"),
        (lambda folder: (folder / "tables/~$sizes.xlsx").touch(), "note open-elsewhere  sizes.xlsx"),
        (lambda folder: (folder / "tables/block.xlsx").unlink(), "error blocks-for-group"),
        (lambda folder: shutil.copy("tables/block.xlsx", "tables/block two.xlsx"), "error blocks-for-group"),
        (lambda folder: (folder / "tables/sizes.xlsx").write_bytes(b""), "error not-a-workbook"),
    ],
)
def test_whatever_was_altered_or_is_missing_is_noticed(folder, done, noticed):
    done(folder)
    told = grade()
    assert noticed in told.output
    assert SAID not in told.output


def test_a_figure_that_somebody_changes_in_the_record_is_put_right(folder):
    record = folder / "output" / "Men" / "run.json"
    written = record.read_bytes()
    record.write_bytes(written.replace(b'"fist girth": [\n      2', b'"fist girth": [\n      1'))
    assert record.read_bytes() != written
    assert SAID not in grade().output
    assert record.read_bytes() == written


@pytest.mark.parametrize("words", [("--units", "cm"), ("--group", "Women"), ("--paper", "a3"), ("--printed-bar", "99")])
def test_other_options_are_another_run_and_the_same_ones_again_are_not(folder, words):
    assert SAID not in grade(*words).output
    assert SAID in grade(*words).output


def test_folders_of_groups_that_were_not_asked_for_are_not_left_over(folder):
    for _ in range(2):
        assert "folder-left-over" not in grade("--group", "Women").output


def test_another_program_is_another_run(folder, monkeypatch):
    with monkeypatch.context() as patch:
        asked._installed.cache_clear()
        patch.setattr(asked, "releases", lambda: ["numpy-0.dist-info"])
        assert SAID not in grade().output
    asked._installed.cache_clear()
    assert SAID not in grade().output


def test_the_version_of_every_library_counts_as_its_installer_tells_it():
    told = [folder.lower().rsplit(".dist-info")[0] for folder in asked.releases()]
    assert told == sorted(f"{name.lower()}-{version(name)}" for name in asked.LIBRARIES)


def test_only_the_group_that_changed_is_made_again_and_all_are_as_from_one_run(folder, monkeypatch):
    made = []
    group_files = jobs_run.group_files
    monkeypatch.setattr(
        jobs_run,
        "group_files",
        lambda graded, choices: [made.append(graded.run.group), *group_files(graded, choices)][1:],
    )
    change(folder / "tables" / "sizes.xlsx", "Women", lambda sheet: sheet.cell(2, 3, sheet.cell(2, 3).value + 1))
    told = grade()
    assert made == ["Women"]
    assert "unchanged output/Men" in told.stdout
    assert SAID in grade().output
    assert "every file is as it was written" in CliRunner().invoke(main, ["verify"]).output
    grade("--out", "fresh")
    assert files(folder / "output") == files(folder / "fresh")


def test_a_copied_folder_of_outputs_still_stands(folder):
    shutil.move(folder / "output", folder / "moved")
    assert SAID in grade("--out", "moved").output


def test_the_libraries_that_count_are_those_the_program_asks_for():
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    named = {line.split(">")[0] for line in told["project"]["dependencies"]}
    assert set(asked.LIBRARIES) == named | {"pillow"}  # which reportlab brings
