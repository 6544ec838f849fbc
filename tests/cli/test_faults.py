"""Disks that are full or closed, folders in use, odd paths: told plainly, nothing lost."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from grading.cli import main
from grading.publish import Disk, verify

TABLES = Path(__file__).parents[2] / "tables"
WORDS = ["run", "--sizes", str(TABLES / "sizes.xlsx"), "--block", str(TABLES / "block.xlsx"), "--group", "Women"]
NEST = [*WORDS, "--only", "nest", "--out"]


def grade(*words: object):
    return CliRunner().invoke(main, [str(word) for word in words])


def whole(folder: Path) -> bool:
    """Whether every file is as the record of the run says."""
    return not [finding for finding in verify(folder) if finding.code != "file-unknown"]


@pytest.mark.parametrize(
    ("number", "said"),
    [(errno.ENOSPC, "The disk is full"), (errno.EROFS, "lets nobody write"), (errno.EACCES, "lets nobody write")],
)
def test_a_disk_that_cannot_be_written_is_named_and_the_run_before_stays_whole(tmp_path, monkeypatch, number, said):
    # Tests often run as root, whom no permission stops: the disk itself says no.
    assert grade(*NEST, tmp_path).exit_code == 0
    before = (tmp_path / "Women" / "nest.pdf").read_bytes()

    def refuse(disk: Disk, path: Path, content: bytes) -> None:
        raise OSError(number, os.strerror(number), str(path))

    monkeypatch.setattr(Disk, "write", refuse)
    result = grade(*NEST, tmp_path, "--units", "cm")
    assert result.exit_code == 1
    assert said in " ".join(result.stderr.split())
    assert (tmp_path / "Women" / "nest.pdf").read_bytes() == before
    assert whole(tmp_path / "Women")


@pytest.mark.parametrize("refused", [OSError(errno.ENOSPC, "No space left on device"), MemoryError()])
def test_what_the_system_refuses_is_told_and_is_no_fault_of_the_program(monkeypatch, refused):
    def refuse(*_: object) -> None:
        raise refused

    monkeypatch.setattr("grading.cli.check.check_job", refuse)
    result = grade("check")
    assert result.exit_code == 1
    assert "error system-refused" in result.stderr
    assert ("No space left" if isinstance(refused, OSError) else "no memory is left") in result.stderr


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_closed_to_the_user_is_named(tmp_path):
    tmp_path.chmod(0o500)
    result = grade(*NEST, tmp_path / "out")
    tmp_path.chmod(0o700)
    assert result.exit_code == 1
    assert "folder-not-writable" in result.stderr


def test_spaces_and_letters_of_any_alphabet_in_paths_and_names_do_no_harm(tmp_path):
    folder = tmp_path / "Größen für Åse — зима 手袋 🧤"
    folder.mkdir()
    book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
    book["Women"].title = "Дети & Kinder"
    book.save(folder / "maße 1.xlsx")
    block = openpyxl.load_workbook(TABLES / "block.xlsx")
    for row in block["Block"].iter_rows():
        if row[0].value == "Groups":
            row[1].value = "Дети & Kinder"
    block.save(folder / "čepice.xlsx")
    words = ["run", "--sizes", folder / "maße 1.xlsx", "--block", folder / "čepice.xlsx", "--group", "дети & kinder"]
    result = grade(*words, "--only", "nest", "--only", "spec", "--out", folder / "výstup")
    assert result.exit_code == 0, result.output
    assert whole(folder / "výstup" / "Дети & Kinder")


def test_tables_and_outputs_open_in_a_spreadsheet_program_are_named(tmp_path):
    sizes = tmp_path / "sizes.xlsx"
    sizes.write_bytes((TABLES / "sizes.xlsx").read_bytes())
    (tmp_path / ".~lock.sizes.xlsx#").touch()
    words = [*NEST, tmp_path / "out", "--sizes", sizes]
    result = grade(*words)
    assert result.exit_code == 0
    assert "open in a spreadsheet program" in " ".join(result.stderr.split())
    (tmp_path / "out" / "Women" / ".~lock.nest.pdf#").touch()
    result = grade(*words, "--units", "cm")
    assert result.exit_code == 1
    assert "open in another program" in " ".join(result.stderr.split())


def test_the_tables_are_not_changed_by_a_run(tmp_path):
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in TABLES.iterdir()}
    grade(*NEST, tmp_path)
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in TABLES.iterdir()} == before


def start(folder: Path, unit: str) -> subprocess.Popen[str]:
    words = [sys.executable, "-m", "grading", *WORDS, "--only", "nest", "--units", unit, "--out", str(folder)]
    return subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)


def test_of_two_runs_at_once_on_one_folder_each_ends_whole_or_says_that_the_other_is_writing(tmp_path):
    processes = [start(tmp_path, unit) for unit in ("mm", "cm", "in")]
    told = [(process.communicate()[1], process.returncode) for process in processes]
    for text, status in told:
        assert status == 0 or "Another run" in text, text
    assert any(status == 0 for _, status in told)
    assert whole(tmp_path / "Women")
    assert not [path for path in (tmp_path / "Women").iterdir() if path.name.startswith(".")]


def test_verify_says_what_is_whole_altered_and_missing_and_ends_accordingly(tmp_path):
    grade(*WORDS, "--only", "nest", "--only", "spec", "--out", tmp_path)
    folder = tmp_path / "Women"
    result = grade("verify", tmp_path)
    assert (result.exit_code, result.stderr) == (0, "")
    assert f"{folder}: every file is as it was written" in result.stdout
    spec = folder / "spec.xlsx"
    spec.write_bytes(spec.read_bytes() + b"filled in")
    result = grade("verify", folder)
    assert result.exit_code == 0
    assert "altered since" in result.stderr
    assert str(spec) in result.stderr
    (folder / "nest.pdf").unlink()
    result = grade("verify", tmp_path)
    assert result.exit_code == 1
    assert "output-missing" in result.stderr


def test_verify_of_a_folder_without_a_run_or_of_none_is_an_error(tmp_path):
    assert "record-missing" in grade("verify", tmp_path).stderr
    result = grade("verify", tmp_path / "nowhere")
    assert result.exit_code == 1
    assert "no such folder" in result.stderr


@pytest.mark.parametrize(
    "path", ["", ".", "..", "/", "a**b.xlsx", "[x.xlsx", "x" * 300 + ".xlsx", "a\x01b.xlsx", "~$x.xlsx"]
)
def test_a_path_that_is_no_files_ends_in_a_finding_wherever_it_is_typed(tmp_path, monkeypatch, path):
    (tmp_path / "here").mkdir()  # so that '..' is a folder of no other test's runs
    monkeypatch.chdir(tmp_path / "here")
    sizes = ["--sizes", TABLES / "sizes.xlsx"]
    for words in (
        ["check", "--sizes", path],
        ["check", *sizes, "--block", path],
        ["audit", path or "."],
        ["draft", "--measured", path],
        ["returns", path, *sizes, "--group", "Women"],
    ):
        result = grade(*words)
        assert result.exit_code == 1, words
        assert "error " in result.stderr
    assert list((tmp_path / "here").iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="users and masks are POSIX")
def test_it_works_for_any_user_without_a_home_or_a_folder_for_temporary_files_in_a_long_path(tmp_path):
    folder = tmp_path / "Größe für Åse, äöü ß" / ("und noch ein Ordner, " * 6 + "lang") / "mit einem langen Namen"
    folder.mkdir(parents=True)
    assert len(str(folder)) > 200
    for name in ("sizes.xlsx", "block.xlsx"):
        (folder / name).write_bytes((TABLES / name).read_bytes())
    words = ["run", "--sizes", "sizes.xlsx", "--block", "block.xlsx", "--group", "Women", "--only", "nest"]
    line = [sys.executable, "-m", "grading", *words]
    environment = {"PYTHONPATH": str(TABLES.parent)}
    done = subprocess.run(line, cwd=folder, env=environment, umask=0o077, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert whole(folder / "output" / "Women")
    assert {path.stat().st_mode & 0o077 for path in (folder / "output").rglob("*")} == {0}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with a name are POSIX")
def test_a_pipe_where_a_record_is_looked_for_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "run.json")
    tables = ["--sizes", TABLES / "sizes.xlsx", "--block", TABLES / "block.xlsx", "--group", "Women"]
    for words in (["audit", tmp_path], ["audit", *tables, "--against", tmp_path], ["verify", tmp_path]):
        result = grade(*words)
        assert result.exit_code == 1
        assert "error " in result.stderr
