"""'grading run --watch' beside somebody who saves workbooks."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from grading.asked import Tables
from grading.cli import main
from grading.cli.run import _make_ready
from grading.cli.watching import watch
from grading.jobs.unchanged import Asked
from grading.outputs.files import Choices

TABLES = Path(__file__).parents[2] / "tables"
WAITS = "Watching the tables"


@pytest.fixture
def watching(tmp_path) -> Iterator[subprocess.Popen[str]]:
    """The program at watch over a copy of the women's tables, its first run done."""
    (tmp_path / "tables").mkdir()
    for name in ("sizes.xlsx", "block.xlsx"):
        shutil.copy(TABLES / name, tmp_path / "tables" / name)
    words = [sys.executable, "-u", "-m", "grading", "run", "--watch", "--group", "Women", "--only", "nest"]
    process = subprocess.Popen(words, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    told(process)
    yield process
    process.kill()
    process.communicate()


def told(process: subprocess.Popen[str]) -> str:
    """What is said up to the next wait."""
    lines = []
    assert process.stdout is not None
    for line in process.stdout:
        lines.append(line)
        if line.startswith(WAITS):
            break
    return "".join(lines)


def spent(process: subprocess.Popen[str]) -> float:
    """Seconds of processor time that a program has had, where the system tells: others may keep the machine busy."""
    try:
        # Its own time and the system's for it are the 14th and 15th figure (proc(5)).
        figures = Path(f"/proc/{process.pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(figures[11]) + int(figures[12])) / os.sysconf("SC_CLK_TCK")


def wider(folder: Path) -> bytes:
    """The size tables with one figure more, as bytes."""
    book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
    book["Women"].cell(2, 3).value += 1
    book.save(folder / "changed.xlsx")
    return (folder / "changed.xlsx").read_bytes()


def test_what_a_saved_workbook_changes_is_made_again_and_ctrl_c_ends_it_well(watching, tmp_path):
    changed = wider(tmp_path)
    before = spent(watching)
    (tmp_path / "tables" / "sizes.xlsx").write_bytes(changed)
    said = told(watching)
    assert "saved: sizes.xlsx" in said
    assert "wrote output/Women/nest.pdf" in said
    assert spent(watching) - before < 10  # under 1 s on an idle machine
    watching.send_signal(signal.SIGINT)
    rest, _ = watching.communicate(timeout=20)
    assert rest.strip() == "Stopped watching."
    assert watching.returncode == 0


def test_a_half_saved_workbook_is_waited_for(watching, tmp_path):
    changed, sizes = wider(tmp_path), tmp_path / "tables" / "sizes.xlsx"
    sizes.write_bytes(changed[:3_000])
    time.sleep(1)
    sizes.write_bytes(changed)
    said = told(watching)
    assert "error" not in said
    assert "wrote output/Women/nest.pdf" in said


def test_errors_are_told_and_wait_to_be_mended(watching, tmp_path):
    sizes = tmp_path / "tables" / "sizes.xlsx"
    good = sizes.read_bytes()
    book = openpyxl.load_workbook(sizes)
    book["Women"]["D2"] = "wide"
    book.save(sizes)
    assert "cell D2" in told(watching)
    sizes.write_bytes(good)
    assert "every file is as it was written" in told(watching)


def test_all_is_made_ready_once_while_the_first_change_is_waited_for(tmp_path, monkeypatch, capsys):
    called = []
    sizes = tmp_path / "sizes.csv"
    sizes.write_text("Measurement,Unit,S\n")

    def run():
        called.append("run")

    def make_ready():
        called.append("ready")
        sizes.write_text("Measurement,Unit,S,M\n")

    def sleep(seconds):
        if called.count("run") == 2:
            raise KeyboardInterrupt

    monkeypatch.setattr("grading.cli.watching.time.sleep", sleep)
    watch(run, make_ready, Tables(sizes))
    assert called == ["run", "ready", "run"]
    assert "saved: sizes.csv" in capsys.readouterr().out


def test_an_unchanged_run_is_made_once_more_in_memory_only(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    tables = Tables(TABLES / "sizes.xlsx", (TABLES / "block.xlsx",), ("Women",))
    asked = Asked(tables, Path("output"), Choices(only=("nest",)))
    made = []
    monkeypatch.setattr(
        "grading.cli.run.group_files", lambda graded, choices: made.append(graded.run.group) or iter(())
    )
    _make_ready(asked)
    assert made == []  # what does not stand is made by the run itself
    words = ["run", "--sizes", str(TABLES / "sizes.xlsx"), "--block", str(TABLES / "block.xlsx")]
    CliRunner().invoke(main, [*words, "--group", "Women", "--only", "nest"])
    before = {path: path.stat().st_mtime_ns for path in Path("output").rglob("*")}
    _make_ready(asked)
    assert made == ["Women"]
    assert {path: path.stat().st_mtime_ns for path in Path("output").rglob("*")} == before
