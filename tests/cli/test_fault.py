"""A fault of the program itself, which nobody has foreseen."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest
from click.testing import CliRunner

from grading.cli import main
from grading.cli.fault import STATUS
from grading.jobs import run as jobs_run

TABLES = Path(__file__).parents[2] / "tables"
WORDS = ["run", "--sizes", str(TABLES / "sizes.xlsx"), "--only", "nest", "--group", "Women"]


@pytest.fixture
def faulty(tmp_path, monkeypatch) -> Path:
    """A folder in which the program fails half-way through making its files."""

    def failing(*_: object):
        yield "nest.pdf", b"half of them"
        raise ZeroDivisionError("a slip of ours\nover two lines")

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(jobs_run, "group_files", failing)
    return tmp_path


def test_a_fault_is_told_in_three_lines_and_nothing_is_written_but_its_details(faulty):
    told = CliRunner().invoke(main, WORDS)
    assert told.exit_code == STATUS == 3
    done, whose, kept = told.stderr.splitlines()[-3:]
    assert done.startswith("'grading run --sizes")
    assert whose == "Your tables are not at fault, and no file was left half written."
    (details,) = faulty.iterdir()
    assert kept.endswith(str(details))
    assert "ZeroDivisionError: a slip of ours" in details.read_text(encoding="utf-8")
    assert "Traceback" not in told.output


def test_what_ctrl_c_breaks_off_in_an_odd_way_is_no_fault(tmp_path, monkeypatch):
    """An extension module's import, broken off, ends in a TypeError, for one."""

    def broken_off(*_: object):
        with suppress(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
        raise TypeError("expected a message argument")
        yield

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(jobs_run, "group_files", broken_off)
    told = CliRunner().invoke(main, WORDS)
    assert (told.exit_code, told.stderr.splitlines()[-1]) == (1, "Aborted!")
    assert not list(tmp_path.iterdir())


def test_two_faults_in_one_second_are_told_both(faulty, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(faulty))
    for _ in range(2):
        assert CliRunner().invoke(main, WORDS).exit_code == STATUS


def test_details_that_can_be_written_nowhere_are_no_second_fault(faulty, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(faulty / "none"))
    monkeypatch.setattr(Path, "cwd", lambda: faulty / "none")
    told = CliRunner().invoke(main, WORDS)
    assert told.exit_code == STATUS
    assert "The details could not be kept" in told.stderr


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
def test_a_fault_about_a_name_that_the_console_cannot_show_is_told(tmp_path, encoding):
    code = "from grading.cli import check, main; check.check_job = lambda *_: {}['手套']; main()"
    words = [sys.executable, "-c", code, "check", "--group", "手套"]
    told = subprocess.run(
        words, capture_output=True, cwd=tmp_path, env={**os.environ, "PYTHONIOENCODING": encoding}, check=False
    )
    assert told.returncode == STATUS
    assert b"Traceback" not in told.stderr
    assert len(list(tmp_path.iterdir())) == 1
