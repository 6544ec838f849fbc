"""What 'make clean' takes away of the outputs, and what it leaves."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from grading.publish import publish
from grading.publish.cleaning import clean

ROOT = Path(__file__).parents[2]
FILES = {"nest.pdf": b"nest", "check-sheets/S.xlsx": b"to fill in", "check-sheets/M.xlsx": b"to fill in too"}


def test_unchanged_files_go_with_their_folders_and_whatever_else_there_is_stays(tmp_path):
    publish(tmp_path / "Women", FILES, {})
    publish(tmp_path / "Men", FILES, {})
    mine = tmp_path / "Women" / "my notes.txt"
    mine.write_text("dear")
    filled = tmp_path / "Women" / "check-sheets" / "S.xlsx"
    filled.write_bytes(b"filled in")
    assert clean(tmp_path) == [filled, mine, tmp_path / "Women" / "run.json"]
    assert {path for path in tmp_path.rglob("*") if path.is_file()} == {filled, mine, tmp_path / "Women" / "run.json"}
    assert not (tmp_path / "Men").exists()


def test_what_no_record_tells_of_stays(tmp_path):
    publish(tmp_path / "Women", FILES, {})
    (tmp_path / "Women" / "run.json").write_text('{"mine": 1}')
    assert len(clean(tmp_path)) == len(FILES) + 1


def test_nothing_behind_a_link_goes(tmp_path):
    folder, elsewhere = tmp_path / "output", tmp_path / "elsewhere"
    publish(elsewhere, FILES, {})
    publish(folder / "Women", {"check-sheets/S.xlsx": b"to fill in"}, {})
    (folder / "Women" / "check-sheets" / "S.xlsx").unlink()
    (folder / "Women" / "check-sheets").rmdir()
    (folder / "Women" / "check-sheets").symlink_to(elsewhere / "check-sheets")
    (folder / "Men").symlink_to(elsewhere)
    clean(folder)
    assert {name for name in FILES if (elsewhere / name).exists()} == set(FILES)


def test_a_folder_in_which_a_run_was_interrupted_stays(tmp_path):
    publish(tmp_path, FILES, {})
    (tmp_path / ".grading-journal.json").write_text("[]")
    assert len(clean(tmp_path)) == len(FILES) + 1


def test_it_needs_nothing_but_python(tmp_path):
    publish(tmp_path / "Women", FILES, {})
    (tmp_path / "mine.txt").write_text("dear")
    words = [sys.executable, "-I", "-S", "-c", _WITHOUT_PACKAGES, str(ROOT), str(tmp_path)]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    assert "mine.txt" in done.stdout
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_a_name_that_steers_a_terminal_is_spelled_out(tmp_path):
    (tmp_path / "\x1b[2Jmine.txt").write_text("dear")
    words = [sys.executable, "-m", "grading.publish.cleaning", str(tmp_path)]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=True)
    assert r"\x1b[2Jmine.txt" in done.stdout
    assert "\x1b" not in done.stdout


#: No site-packages are looked into by a Python that is started with -I -S.
_WITHOUT_PACKAGES = """
import runpy, sys
sys.path.insert(0, sys.argv[1])
sys.argv[1:] = sys.argv[2:]
runpy.run_module("grading.publish.cleaning", run_name="__main__")
"""
