"""Readers of what is printed that go away, or were never there, and disks on which it has no room."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

TABLES = Path(__file__).parents[2] / "tables"
GRADING = f"{sys.executable} -m grading"
TWO = (
    f"--sizes {TABLES}/sizes.xlsx --block {TABLES}/block.xlsx --block {TABLES}/block-men.xlsx --group Women --group Men"
)
RUN = f"{GRADING} run {TWO} --only nest --out out"

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="the shell is POSIX")


def shell(line: str, folder: Path) -> subprocess.CompletedProcess[str]:
    environment = {"PYTHONPATH": str(TABLES.parent), "PATH": "/usr/bin:/bin", "LC_ALL": "C.UTF-8"}
    return subprocess.run(
        ["sh", "-c", line], cwd=folder, env=environment, capture_output=True, text=True, check=False, timeout=60
    )


LATER = [pytest.param(reader, marks=pytest.mark.long) for reader in ("2>&1 >/dev/null | true", ">&- 2>&-")]


@pytest.mark.parametrize("reader", ["| true", "2>&-", "<&- >&- 2>&-", *LATER])
def test_a_reader_that_goes_away_ends_the_talk_and_not_the_work(tmp_path, reader):
    done = shell(f"({RUN}; echo $? >ended) {reader}", tmp_path)
    assert (tmp_path / "ended").read_text() == "0\n", done.stderr
    assert "Traceback" not in done.stderr
    made = {path.relative_to(tmp_path).as_posix() for path in (tmp_path / "out").rglob("*") if path.is_file()}
    assert made == {f"out/{group}/{name}" for group in ("Women", "Men") for name in ("nest.pdf", "run.json")}


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no disk that is always full")
def test_a_full_disk_under_what_is_printed_is_told_and_ends_with_1(tmp_path):
    done = shell(f"{GRADING} check {TWO} >/dev/full", tmp_path)
    assert done.returncode == 1
    assert done.stderr.splitlines()[-1].startswith("Not all that was to be said could be written")
    assert shell(f"{GRADING} check {TWO} 2>/dev/full", tmp_path).returncode == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no disk that is always full")
@pytest.mark.parametrize("words", ["--help", "--version", "run --help", "", "start new", "no-such 2>/dev/full"])
def test_no_room_for_the_help_or_a_suggestion_is_told_and_is_no_fault(tmp_path, words):
    done = shell(f"{GRADING} {words} >/dev/full", tmp_path)
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert "No space left" in done.stderr or "2>" in words
