"""'grading run --watch' beside somebody who saves workbooks."""

from __future__ import annotations

import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest

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


def wider(folder: Path) -> bytes:
    """The size tables with one figure more, as bytes."""
    book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
    book["Women"].cell(2, 3).value += 1
    book.save(folder / "changed.xlsx")
    return (folder / "changed.xlsx").read_bytes()


def test_what_a_saved_workbook_changes_is_made_again_and_ctrl_c_ends_it_well(watching, tmp_path):
    changed = wider(tmp_path)
    begun = time.monotonic()
    (tmp_path / "tables" / "sizes.xlsx").write_bytes(changed)
    said = told(watching)
    assert "saved: sizes.xlsx" in said
    assert "wrote output/Women/nest.pdf" in said
    assert time.monotonic() - begun < 10  # under 1 s on an idle machine
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
