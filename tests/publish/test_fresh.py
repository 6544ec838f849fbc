"""Files that are written where nothing stands yet, and a program that is ended while it does so."""

from __future__ import annotations

import contextlib
import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from grading.outputs.starter import starter_files
from grading.publish.fresh import may_begin, write_fresh


class Killed(BaseException):
    """Stands for the end of the process."""


@pytest.fixture
def files(tmp_path) -> dict[Path, bytes]:
    folder = tmp_path / "new"
    return {folder / "tables" / "sizes.xlsx": b"sizes", folder / "hands.xlsx": b"hands", folder / "START": b"start"}


def codes(findings) -> list[str]:
    return [finding.code for finding in findings]


def test_files_are_written_all_or_none(tmp_path):
    blocked = tmp_path / "a file"
    blocked.write_text("")
    (finding,) = write_fresh({tmp_path / "new" / "one": b"1", blocked / "two": b"2"})
    assert finding.code == "cannot-write"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a file"]


def test_only_an_empty_or_a_new_folder_may_be_begun(tmp_path):
    assert not may_begin(tmp_path, {})
    assert not may_begin(tmp_path / "new", {})
    (tmp_path / ".hidden").write_text("")
    assert codes(may_begin(tmp_path, {})) == ["folder-not-empty"]
    assert codes(may_begin(tmp_path / ".hidden", {})) == ["folder-not-empty"]


@pytest.mark.parametrize("call", ["open", "fsync", "hardlink_to", "unlink"])
@pytest.mark.parametrize("number", [1, 2, 3])
def test_wherever_it_is_ended_no_file_is_half_or_empty_and_it_can_be_done_again(files, monkeypatch, call, number):
    calls = 0

    def ended(*words, **named):
        nonlocal calls
        calls += 1
        if calls == number:
            raise Killed
        return done(*words, **named)

    home = os if call == "fsync" else Path
    done = getattr(home, call)
    with monkeypatch.context() as patch:
        patch.setattr(home, call, ended)
        with contextlib.suppress(Killed):
            write_fresh(files)
    folder = next(iter(files)).parents[1]
    there = [path for path in folder.rglob("*") if path.is_file() and not path.name.startswith(".")]
    assert all(path.read_bytes() == files[path] for path in there)
    assert set(there) == set(files) or not may_begin(folder, files)
    assert not write_fresh(files)
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == files


def test_what_was_begun_and_filled_in_since_is_named_and_not_written_over(files):
    first, second, _ = files
    write_fresh({first: files[first]})
    second.write_bytes(b"my hands")
    (finding,) = may_begin(second.parent, files)
    assert finding.code == "folder-not-empty"
    assert f"move away what is not the program's, and it goes on where it ended: {second}" in finding.action
    assert codes(write_fresh(files)) == ["file-exists"]
    assert second.read_bytes() == b"my hands"


def test_neither_a_link_to_nowhere_nor_a_file_that_comes_meanwhile_is_written_over(files, monkeypatch):
    first, *_ = files
    first.parent.mkdir(parents=True)
    first.symlink_to(first.parent / "nowhere")
    assert codes(write_fresh(files)) == ["file-exists"]
    first.unlink()
    for has_second_names in (True, False):
        usual = Path.hardlink_to

        def meanwhile(path, target, usual=usual, second_names=has_second_names):
            path.write_bytes(b"somebody else's")
            if not second_names:
                raise PermissionError
            usual(path, target)

        monkeypatch.setattr(Path, "hardlink_to", meanwhile)
        assert codes(write_fresh(files)) == ["file-exists"]
        monkeypatch.setattr(Path, "hardlink_to", usual)
        assert first.read_bytes() == b"somebody else's"
        assert [path for path in first.parents[1].rglob("*") if path.is_file()] == [first]
        first.unlink()


@pytest.mark.long
@pytest.mark.skipif(os.name == "nt", reason="SIGKILL is POSIX")
@pytest.mark.parametrize("number", range(12))
def test_a_start_that_is_really_killed_leaves_whole_files_and_goes_on_when_it_is_typed_again(tmp_path, number):
    folder, files = tmp_path / "mittens", starter_files()
    words = [sys.executable, "-m", "grading", "start", str(folder)]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    process = subprocess.Popen(words, env=environment, stdout=subprocess.DEVNULL)
    while not folder.exists() and process.poll() is None:
        time.sleep(0.0005)
    time.sleep(random.Random(number).random() * 0.02)
    process.kill()
    process.wait()
    there = [path for path in folder.rglob("*") if path.is_file() and not path.name.startswith(".")]
    assert all(path.read_bytes() == files[path.relative_to(folder).as_posix()] for path in there)
    if len(there) < len(files):
        subprocess.run(words, env=environment, check=True, stdout=subprocess.DEVNULL)
    whole = {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    assert {name for name in whole if not Path(name).name.startswith(".")} == set(files)
