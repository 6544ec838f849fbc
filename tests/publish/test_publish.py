"""Publishing is tried with every call to the disk failing in turn, and with processes that are really killed."""

from __future__ import annotations

import contextlib
import datetime as dt
import errno
import hashlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from grading.findings import Severity, has_errors
from grading.publish import MADE_FOR, Disk, made_folders, occupied, publish, verify
from grading.publish.record import read_record

RUN = {"run id": "1f3a", "version": "0.1.0"}
DAY = dt.date(2025, 11, 3)
FIRST = {"nest.pdf": b"nest 1", "patterns/8.pdf": b"eight", "patterns/9.pdf": b"nine 1", "spec.xlsx": b"spec 1"}
SECOND = {"nest.pdf": b"nest 2", "patterns/9.pdf": b"nine 2", "spec.xlsx": b"spec 2", "cards/a/b.pdf": b"card"}
FILLED_IN = b"filled in by hand"


@pytest.fixture(autouse=True)
def quick_syncs(monkeypatch):
    """No test cuts the power: syncs are counted and may fail like every other call, but nobody waits for them."""
    monkeypatch.setattr(os, "fsync", lambda descriptor: None)


def seen(folder: Path) -> dict[str, bytes]:
    """The files that somebody who opens the folder sees."""
    paths = (path for path in folder.rglob("*") if path.is_file() and not path.name.startswith("."))
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in paths}


def hidden(folder: Path) -> list[Path]:
    return [path for path in folder.rglob(".*") if path.is_file()]


def codes(findings: Any) -> list[str]:
    return [finding.code for finding in findings]


class Killed(BaseException):
    """Stands for the end of the process: after it no call reaches the disk."""


class Failing(Disk):
    """A disk whose n-th call fails, before or after it is done; a write fails half way too."""

    def __init__(self, call: int, when: str, error: BaseException, *, for_ever: bool = False) -> None:
        self.calls, self.call, self.when, self.error, self.for_ever = 0, call, when, error, for_ever

    def _do(self, action: Callable[..., Any], *words: Any) -> Any:
        self.calls += 1
        if self.calls > self.call and self.for_ever:
            raise self.error
        if self.calls != self.call:
            return action(self, *words)
        if self.when == "half way" and action is Disk.write:
            Disk.write(self, words[0], words[1][: len(words[1]) // 2])
        elif self.when != "before":
            action(self, *words)
        raise self.error


def _failing(action: Callable[..., Any]) -> Callable[..., Any]:
    return lambda disk, *words: disk._do(action, *words)


for _name in ("make_folder", "remove_folder", "write", "sync", "rename", "unlink", "open", "put_into"):
    setattr(Failing, _name, _failing(getattr(Disk, _name)))


def changed_on(path: Path, day: dt.date) -> None:
    """Let a file have been changed last at noon of a day."""
    noon = dt.datetime.combine(day, dt.time(12), dt.UTC).timestamp()
    os.utime(path, (noon, noon))


@pytest.fixture
def before(tmp_path) -> Path:
    """A folder as a first run left it, in which somebody then filled in the workbook."""
    folder = tmp_path / "before"
    assert not publish(folder, FIRST, RUN).findings
    (folder / "spec.xlsx").write_bytes(FILLED_IN)
    changed_on(folder / "spec.xlsx", DAY)
    return folder


@pytest.fixture
def second(tmp_path, before) -> tuple[dict[str, bytes], int]:
    """What a second run over it leaves, and how many calls to the disk it makes."""
    disk = Failing(-1, "before", OSError())
    folder = shutil.copytree(before, tmp_path / "after")
    publish(folder, SECOND, RUN, replace=True, disk=disk)
    return seen(folder), disk.calls


def every_failure(tmp_path: Path, before: Path, calls: int, error: BaseException, *, for_ever: bool = False):
    for call in range(1, calls + 1):
        for when in ("before", "half way", "after"):
            folder = shutil.copytree(before, tmp_path / f"{when} {call}")
            yield folder, Failing(call, when, error, for_ever=for_ever)


def finished_afterwards(folder: Path, after: dict[str, bytes]) -> bool:
    publish(folder, SECOND, RUN, replace=True)
    return seen(folder) == after and not hidden(folder) and codes(verify(folder)) == ["file-unknown"]  # the backup


def test_a_second_run_replaces_its_own_files_and_backs_up_the_altered_one(second):
    after, _ = second
    record = json.loads(after.pop("run.json"))
    assert after == {**SECOND, "spec (backup 2025-11-03).xlsx": FILLED_IN}
    assert record["outputs"] == {name: hashlib.sha256(content).hexdigest() for name, content in SECOND.items()}
    assert record["run id"] == "1f3a"


def test_whichever_call_fails_the_folder_is_as_it_was_or_as_it_shall_be(tmp_path, before, second):
    after, calls = second
    assert calls > 30
    for folder, disk in every_failure(tmp_path, before, calls, OSError(errno.ENOSPC, "no space left")):
        published = publish(folder, SECOND, RUN, replace=True, disk=disk)
        failed = "disk-full" in codes(published.findings)
        assert seen(folder) == (seen(before) if failed else after), (disk.when, disk.call)
        assert finished_afterwards(folder, after), (disk.when, disk.call)


def test_wherever_the_process_ends_every_file_is_whole_and_the_next_start_puts_all_right(tmp_path, before, second):
    after, calls = second
    whole = set(seen(before).values()) | set(after.values())
    for folder, disk in every_failure(tmp_path, before, calls, Killed(), for_ever=True):
        with pytest.raises(Killed):
            publish(folder, SECOND, RUN, replace=True, disk=disk)
        assert set(seen(folder).values()) <= whole, (disk.when, disk.call)
        assert FILLED_IN in seen(folder).values()
        assert finished_afterwards(folder, after), (disk.when, disk.call)


def test_wherever_the_disk_dies_for_good_nothing_is_lost(tmp_path, before, second):
    after, calls = second
    for folder, disk in every_failure(tmp_path, before, calls, OSError(errno.EIO, "broken"), for_ever=True):
        published = publish(folder, SECOND, RUN, replace=True, disk=disk)
        assert set(codes(published.findings)) & {"disk-failed", "run-stuck", "output-backed-up"}
        assert FILLED_IN in seen(folder).values()
        assert finished_afterwards(folder, after), (disk.when, disk.call)


def test_a_run_that_is_ended_while_it_recovers_from_one_that_was_ended_is_put_right_too(tmp_path, before, second):
    after, calls = second
    for first in range(1, calls, 3):
        killed = shutil.copytree(before, tmp_path / f"killed {first}")
        disk = Failing(first, "after", Killed(), for_ever=True)
        with pytest.raises(Killed):
            publish(killed, SECOND, RUN, replace=True, disk=disk)
        for again in range(1, 20, 2):
            folder = shutil.copytree(killed, tmp_path / f"killed {first} {again}")
            disk = Failing(again, "before", Killed(), for_ever=True)
            with contextlib.suppress(Killed):
                publish(folder, SECOND, RUN, replace=True, disk=disk)
            assert finished_afterwards(folder, after), (first, again)


@pytest.mark.parametrize("touched", [["patterns/9.pdf"], ["nest.pdf"], ["patterns/9.pdf", "nest.pdf"]])
def test_what_somebody_changes_before_an_ended_run_is_put_right_is_not_lost(tmp_path, before, second, touched):
    _, calls = second
    told: set[str] = set()
    for call in range(1, calls + 1):
        folder = shutil.copytree(before, tmp_path / str(call))
        with contextlib.suppress(Killed):
            publish(folder, SECOND, RUN, disk=Failing(call, "before", Killed(), for_ever=True))
        for name in touched:
            (folder / name).write_bytes(f"drawn upon {name}".encode())
        published = publish(folder, SECOND, RUN)
        told |= set(codes(published.findings))
        drawn = {f"drawn upon {name}".encode() for name in touched}
        assert drawn <= set(seen(folder).values()), call
        if has_errors(published.findings):
            for name in touched:
                (folder / name).rename(tmp_path / "moved away")
            publish(folder, SECOND, RUN)
        assert set(SECOND.values()) <= set(seen(folder).values()), call
        assert not hidden(folder)
    assert told >= {"run-finished-later", "output-altered", "output-changed-meanwhile"}


def test_a_file_laid_where_a_backup_belongs_while_a_run_was_ended_is_not_lost(tmp_path, before, second):
    after, calls = second
    (backup,) = (name for name, content in after.items() if content == FILLED_IN)
    stopped = 0
    for call in range(1, calls + 1):
        folder = shutil.copytree(before, tmp_path / str(call))
        with contextlib.suppress(Killed):
            disk = Failing(call, "before", Killed(), for_ever=True)
            publish(folder, SECOND, RUN, replace=True, disk=disk)
        if (folder / backup).exists():
            continue
        (folder / backup).write_bytes(b"laid there")
        published = publish(folder, SECOND, RUN, replace=True)
        stopped += has_errors(published.findings)
        assert {b"laid there", FILLED_IN} <= set(seen(folder).values()), call
    assert stopped > 0


def test_a_disk_that_silently_writes_half_is_found_out(tmp_path):
    class Lying(Disk):
        def write(self, path: Path, content: bytes) -> None:
            super().write(path, content[: len(content) // 2])

    assert codes(publish(tmp_path, FIRST, RUN, disk=Lying()).findings) == ["disk-failed"]
    assert seen(tmp_path) == {}


@pytest.mark.parametrize("when", ["before", "half way", "after"])
def test_a_first_run_that_fails_leaves_no_folder_behind(tmp_path, when):
    for call in (1, 2, *range(4, 25)):  # the third opens the lock, which cannot fail once it is done
        disk = Failing(call, when, OSError(errno.ENOSPC, "no space left"))
        assert codes(publish(tmp_path / "new" / "folder", FIRST, RUN, disk=disk).findings) == ["disk-full"]
        assert not (tmp_path / "new").exists(), call


WRITER = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    from grading.publish import publish
    number = int(sys.argv[2])
    while True:
        number += 1
        files = {f"{name}.bin": f"{number} {name} ".encode() * 20_000 for name in range(8 + number % 3)}
        publish(Path(sys.argv[1]), files, {"run id": str(number)})
    """
)


def kill_at_any_moment(folder: Path, numbers: range) -> None:
    """Kill a process while it publishes: every file is whole then, and the next start puts all right."""
    for number in numbers:
        moments = random.Random(number)
        process = subprocess.Popen([sys.executable, "-c", WRITER, str(folder), str(1000 * number)])
        while not (folder / "run.json").exists():
            assert process.poll() is None, "the writing process ended by itself"
            time.sleep(0.01)
        time.sleep(0.25 + moments.random() / 4)
        process.send_signal(signal.SIGKILL)
        process.wait()
        for name, content in seen(folder).items():
            if name != "run.json":
                run = content.split()[0].decode()
                assert content == f"{run} {name.removesuffix('.bin')} ".encode() * 20_000
        last = {"only.bin": f"{number}".encode()}
        assert not [code for code in codes(publish(folder, last, RUN).findings) if code != "run-finished-later"]
        assert verify(folder) == []
        assert set(seen(folder)) == {"only.bin", "run.json"}
        assert not hidden(folder)
        shutil.rmtree(folder)


@pytest.mark.skipif(os.name == "nt", reason="SIGKILL is POSIX")
def test_two_processes_that_are_really_killed_leave_whole_files_and_a_folder_that_is_put_right(tmp_path):
    kill_at_any_moment(tmp_path / "out", range(2))


@pytest.mark.long
@pytest.mark.skipif(os.name == "nt", reason="SIGKILL is POSIX")
def test_fifty_processes_that_are_really_killed_leave_whole_files_and_a_folder_that_is_put_right(tmp_path):
    kill_at_any_moment(tmp_path / "out", range(2, 52))


def test_a_second_run_at_the_same_time_is_told_so_and_a_dead_one_is_not_waited_for(tmp_path):
    second: list[str] = []

    class Meanwhile(Disk):
        def open(self, path: Path) -> int:
            descriptor = super().open(path)
            if path.read_text():
                path.unlink()  # as the run before does when it ends just now
                path.touch()  # and a third run begins
            return descriptor

        def rename(self, source: Path, target: Path) -> None:
            second.extend(codes(publish(tmp_path, SECOND, RUN).findings))
            super().rename(source, target)

    (tmp_path / ".grading-lock").write_text("999999\n")  # left by a process that is gone
    assert publish(tmp_path, FIRST, RUN, disk=Meanwhile()).findings == ()
    assert set(second) == {"folder-in-use"}
    assert {name: content for name, content in seen(tmp_path).items() if name != "run.json"} == FIRST


def test_unchanged_files_are_not_touched(tmp_path):
    publish(tmp_path, FIRST, RUN)
    stamps = {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*.*")}
    published = publish(tmp_path, FIRST, RUN)
    assert (published.written, set(published.unchanged)) == ((), set(FIRST))
    assert {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*.*")} == stamps


def test_a_filled_in_file_stays_and_the_new_one_stands_beside_it_run_after_run(before):
    for attempt in range(2):
        published = publish(before, SECOND, RUN)
        assert codes(published.findings)[0] == "output-altered"
        assert ("spec (new).xlsx" in published.written) == (attempt == 0)
    publish(before, {**SECOND, "spec.xlsx": b"spec 3"}, RUN)
    files = seen(before)
    assert (files["spec.xlsx"], files["spec (new).xlsx"]) == (FILLED_IN, b"spec 3")
    assert "spec (new 2).xlsx" not in files
    assert codes(verify(before)) == ["output-kept"]


def test_when_the_new_one_is_filled_in_as_well_a_third_stands_beside_both(before):
    publish(before, SECOND, RUN)
    (before / "spec (new).xlsx").write_bytes(b"also filled in")
    publish(before, {**SECOND, "spec.xlsx": b"spec 3"}, RUN)
    files = seen(before)
    assert [files[f"spec{which}.xlsx"] for which in ("", " (new)", " (new 2)")] == [
        FILLED_IN, b"also filled in", b"spec 3",
    ]  # fmt: skip


def test_after_the_filled_in_file_is_moved_away_the_new_one_takes_its_place_again(before):
    publish(before, SECOND, RUN)
    (before / "spec.xlsx").unlink()
    published = publish(before, SECOND, RUN)
    assert published.removed == ("spec (new).xlsx",)
    assert seen(before)["spec.xlsx"] == b"spec 2"
    assert verify(before) == []


def test_a_backup_is_named_by_the_date_of_the_file(before):
    changed_on(before / "spec.xlsx", dt.date(1971, 1, 1))
    publish(before, SECOND, RUN, replace=True)
    assert seen(before)["spec (backup 1971-01-01).xlsx"] == FILLED_IN


def test_files_of_the_last_run_that_are_written_no_more_go_unless_altered(before):
    (before / "patterns" / "9.pdf").write_bytes(b"drawn upon")
    published = publish(before, {"nest.pdf": b"nest 2"}, RUN)
    assert published.removed == ("patterns/8.pdf",)
    assert codes(published.findings) == ["output-kept", "output-kept"]
    assert set(seen(before)) == {"nest.pdf", "patterns/9.pdf", "spec.xlsx", "run.json"}
    assert "output-kept" not in codes(publish(before, {"nest.pdf": b"nest 3"}, RUN).findings)


def test_a_run_of_some_outputs_keeps_the_others_and_a_whole_one_may_remove_them_later(tmp_path):
    publish(tmp_path, FIRST, RUN)
    assert publish(tmp_path, {"nest.pdf": b"nest 2"}, RUN, remove_stale=False).removed == ()
    assert set(seen(tmp_path)) == {*FIRST, "run.json"}
    assert verify(tmp_path) == []
    spec = {"nest.pdf": b"nest 2", "spec.xlsx": b"spec 2"}
    assert publish(tmp_path, spec, RUN, remove_stale=False).findings == ()
    assert set(publish(tmp_path, {"nest.pdf": b"nest 2"}, RUN).removed) == set(FIRST) - {"nest.pdf"}


def test_another_spelling_of_a_name_is_not_removed_where_case_is_the_same_to_the_disk(tmp_path):
    publish(tmp_path, {"s.pdf": b"small"}, RUN)
    (tmp_path / "S.pdf").hardlink_to(tmp_path / "s.pdf")  # what such a disk shows
    assert publish(tmp_path, {"S.pdf": b"small"}, RUN).removed == ()


@pytest.mark.parametrize("mark", [".~lock.spec.xlsx#", "~$spec.xlsx"])
def test_a_workbook_that_is_open_in_a_spreadsheet_program_stops_the_run(tmp_path, mark):
    publish(tmp_path, FIRST, RUN)
    (tmp_path / mark).touch()
    now = seen(tmp_path)
    assert codes(publish(tmp_path, SECOND, RUN).findings) == ["output-open"]
    assert seen(tmp_path) == now
    assert publish(tmp_path, {**SECOND, "spec.xlsx": FIRST["spec.xlsx"]}, RUN).findings == ()


@pytest.mark.parametrize(
    ("number", "code"),
    [(errno.EACCES, "folder-not-writable"), (errno.EROFS, "folder-not-writable"), (errno.ENOSPC, "disk-full")],
)
def test_a_disk_that_refuses_is_explained(tmp_path, number, code):
    disk = Failing(3, "before", OSError(number, os.strerror(number)))
    published = publish(tmp_path, FIRST, RUN, disk=disk)
    assert codes(published.findings) == [code]
    assert seen(tmp_path) == {}


def test_a_file_where_a_folder_belongs_and_a_folder_where_a_file_belongs_are_explained(tmp_path):
    (tmp_path / "taken").write_bytes(b"mine")
    assert codes(publish(tmp_path / "taken", FIRST, RUN).findings) == ["folder-is-file"]
    assert (tmp_path / "taken").read_bytes() == b"mine"
    (tmp_path / "out" / "nest.pdf").mkdir(parents=True)
    assert codes(publish(tmp_path / "out", FIRST, RUN).findings) == ["file-is-folder"]
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "patterns").write_bytes(b"mine")
    assert codes(publish(tmp_path / "other", FIRST, RUN).findings) == ["folder-is-file"]
    assert seen(tmp_path / "other") == {"patterns": b"mine"}


@pytest.mark.parametrize(
    "name",
    ["../spec.xlsx", "/spec.xlsx", "a/../../b", "a\\b", "C:spec", "", "a//b", "a/.", ".hidden", "run.json", "Run.JSON",
     "con.pdf", "a?.pdf", "dot.", " a", "a\nb", "x" * 250],
)  # fmt: skip
def test_names_that_lead_out_of_the_folder_or_that_some_system_lacks_are_refused(tmp_path, name):
    with pytest.raises(ValueError, match="not a name"):
        publish(tmp_path, {name: b""}, RUN)
    with pytest.raises(ValueError, match="case"):
        publish(tmp_path, {"a": b"", "A": b""}, RUN)


def test_neither_a_link_nor_a_forged_record_leads_out_of_the_folder(tmp_path):
    (tmp_path / "elsewhere").mkdir()
    victim = tmp_path / "victim"
    victim.write_bytes(b"dear")
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "patterns").symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    assert codes(publish(folder, FIRST, RUN).findings) == ["output-outside"]
    assert list((tmp_path / "elsewhere").iterdir()) == []
    forged = {"outputs": {"../victim": hashlib.sha256(b"dear").hexdigest()}, "kept": {}}
    (folder / "run.json").write_text(json.dumps(forged))
    assert codes(publish(folder, {"nest.pdf": b"nest"}, RUN).findings) == ["record-unreadable"]
    assert victim.read_bytes() == b"dear"


def test_a_folder_that_was_made_for_something_else_is_refused_and_stays_as_it_is(tmp_path):
    publish(tmp_path, FIRST, {**RUN, MADE_FOR: "size group Women"})
    now = seen(tmp_path)
    refused = publish(tmp_path, SECOND, {**RUN, MADE_FOR: "customer's pair Women"}, replace=True)
    assert codes(refused.findings) == ["folder-of-another"]
    assert "size group Women" in refused.findings[0].found
    assert seen(tmp_path) == now
    assert not publish(tmp_path, SECOND, {**RUN, MADE_FOR: "size group women"}).findings


@pytest.mark.parametrize("lay", [Path.symlink_to, Path.hardlink_to], ids=["a link", "a second name"])
def test_a_lock_that_is_somebodys_file_by_a_link_is_not_written_into(tmp_path, lay):
    victim = tmp_path / "victim"
    victim.write_bytes(b"dear")
    folder = tmp_path / "out"
    folder.mkdir()
    lay(folder / ".grading-lock", victim)
    assert codes(publish(folder, FIRST, RUN).findings) == ["output-outside"]
    assert victim.read_bytes() == b"dear"
    assert seen(folder) == {}


def test_a_planted_journal_moves_and_removes_nothing_behind_a_link(tmp_path):
    tables, folder = tmp_path / "tables", tmp_path / "out"
    tables.mkdir()
    (tables / "sizes.xlsx").write_bytes(b"dear")
    (tables / ".sizes.xlsx.grading-new").write_bytes(b"planted")
    (tables / ".sizes.xlsx.grading-old").write_bytes(b"kept")
    before = {path: path.read_bytes() for path in tables.iterdir()}
    publish(folder, {}, RUN)
    (folder / "patterns").symlink_to(tables, target_is_directory=True)
    dear = hashlib.sha256(b"dear").hexdigest()
    for step in (
        {"name": "patterns/sizes.xlsx", "new": None, "old": dear},
        {"name": "patterns/sizes.xlsx", "new": hashlib.sha256(b"planted").hexdigest(), "old": dear},
        {"name": "nest.pdf", "new": None, "old": None, "backup": "patterns/sizes.xlsx"},
    ):
        (folder / ".grading-journal.json").write_text(json.dumps([step]))
        assert codes(publish(folder, FIRST, RUN).findings) == ["output-outside"]
        assert {path: path.read_bytes() for path in tables.iterdir()} == before


def test_a_record_that_tells_of_files_behind_a_link_has_none_of_them_removed(tmp_path):
    tables, folder = tmp_path / "tables", tmp_path / "out"
    tables.mkdir()
    (tables / "8.pdf").write_bytes(b"eight")
    (tables / ".9.pdf.grading-old").write_bytes(b"nine")
    publish(folder, {"patterns/8.pdf": b"eight"}, RUN)
    shutil.rmtree(folder / "patterns")
    (folder / "patterns").symlink_to(tables, target_is_directory=True)
    assert codes(publish(folder, {"nest.pdf": b"nest"}, RUN).findings) == ["output-outside"]
    assert {path.name for path in tables.iterdir()} == {"8.pdf", ".9.pdf.grading-old"}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with a name are POSIX")
def test_a_pipe_where_a_file_belongs_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "nest.pdf")
    assert codes(publish(tmp_path, FIRST, RUN).findings) == ["disk-failed"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with a name are POSIX")
@pytest.mark.parametrize("name", ["run.json", ".grading-journal.json"])
def test_a_pipe_where_the_program_reads_what_it_wrote_is_not_waited_for(tmp_path, name):
    publish(tmp_path, FIRST, RUN)
    (tmp_path / name).unlink(missing_ok=True)
    os.mkfifo(tmp_path / name)
    refused = publish(tmp_path, SECOND, RUN).findings
    assert codes(refused) == ["disk-failed"]
    assert "a pipe" in refused[0].expected + refused[0].found
    assert codes(occupied(tmp_path, "size group Women")) == (["disk-failed"] if name == "run.json" else [])
    assert seen(tmp_path)["nest.pdf"] == b"nest 1"
    assert verify(tmp_path)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="there is no file without an end")
def test_a_record_without_an_end_or_far_too_long_for_one_is_not_read(tmp_path):
    publish(tmp_path, FIRST, RUN)
    record = tmp_path / "run.json"
    record.unlink()
    record.symlink_to("/dev/zero")
    assert codes(publish(tmp_path, SECOND, RUN).findings) == ["disk-failed"]
    record.unlink()
    with record.open("wb") as file:
        file.truncate(10**12)  # takes no room on the disk
    assert codes(verify(tmp_path)) == ["record-damaged"]


def test_a_record_that_cannot_be_read_makes_every_file_that_differs_somebody_elses(tmp_path):
    publish(tmp_path, FIRST, RUN)
    (tmp_path / "run.json").write_text("{")
    assert codes(verify(tmp_path)) == ["record-damaged"]
    changed_on(tmp_path / "run.json", DAY)
    assert codes(publish(tmp_path, FIRST, RUN).findings) == ["record-unreadable"]
    assert (tmp_path / f"run (backup {DAY}).json").read_text() == "{"  # it may be another program's
    (tmp_path / "run.json").write_text("{")
    publish(tmp_path, {**FIRST, "nest.pdf": b"nest 2"}, RUN)
    files = seen(tmp_path)
    assert (files["nest.pdf"], files["nest (new).pdf"]) == (b"nest 1", b"nest 2")


def test_verify_tells_what_was_altered_what_is_missing_and_what_is_unknown(tmp_path):
    assert codes(verify(tmp_path)) == ["record-missing"]
    publish(tmp_path, FIRST, RUN)
    assert verify(tmp_path) == []
    (tmp_path / "nest.pdf").write_bytes(b"altered")
    (tmp_path / "spec.xlsx").unlink()
    (tmp_path / "patterns" / "mine.txt").touch()
    told = {finding.code: Path(finding.place.workbook).relative_to(tmp_path).as_posix() for finding in verify(tmp_path)}
    assert told == {"file-altered": "nest.pdf", "output-missing": "spec.xlsx", "file-unknown": "patterns/mine.txt"}
    assert codes(verify(tmp_path / "nowhere")) == ["folder-missing"]


def test_a_kept_file_that_somebody_took_away_is_not_missed(before):
    (before / "patterns" / "9.pdf").write_bytes(b"drawn upon")
    publish(before, {"nest.pdf": b"nest 2"}, RUN)
    assert codes(verify(before)) == ["output-kept", "output-kept"]
    (before / "patterns" / "9.pdf").unlink()
    (finding,) = verify(before)
    assert (finding.code, Path(finding.place.workbook).name) == ("output-kept", "spec.xlsx")


def test_a_file_that_somebody_took_away_and_no_run_writes_any_more_is_forgotten(before):
    (before / "patterns" / "9.pdf").unlink()
    published = publish(before, {"nest.pdf": b"nest 2", "spec.xlsx": b"spec 2"}, RUN)
    assert [one.place.workbook for one in published.findings if "9.pdf" in one.place.workbook] == []
    told = read_record(before)
    assert told is not None
    assert "patterns/9.pdf" not in told.all


def test_a_workbook_that_somebody_filled_in_is_no_error_to_verify(before):
    (finding,) = verify(before)
    assert (finding.code, finding.severity) == ("workbook-altered", Severity.WARNING)


@pytest.mark.parametrize(
    "damaged",
    [b"", b"{", b"\xff", b"[1]", b'{"a": 1}', b"[" * 100_000, b'[{"name": "../victim", "new": null, "old": null}]'],
)
def test_a_journal_that_cannot_be_understood_stops_the_run_and_nothing_is_swept_away(tmp_path, before, damaged):
    disk = Failing(30, "before", Killed(), for_ever=True)
    with pytest.raises(Killed):
        publish(before, SECOND, RUN, disk=disk)
    (before / ".grading-journal.json").write_bytes(damaged)
    left = {path: path.read_bytes() for path in before.rglob("*") if path.is_file() and path.name != ".grading-lock"}
    assert codes(publish(before, SECOND, RUN).findings) == ["journal-unreadable"]
    assert {path: path.read_bytes() for path in before.rglob("*") if path.is_file()} == left
    assert "run-unfinished" in codes(verify(before))


def test_a_folder_into_which_no_run_wrote_holds_nothing_of_an_earlier_one(tmp_path):
    (tmp_path / "somebody's.txt").write_text("mine")
    assert made_folders(tmp_path, "") == ()
    publish(tmp_path, FIRST, {**RUN, MADE_FOR: "a batch"})
    assert made_folders(tmp_path, "a batch") == (tmp_path,)
    assert made_folders(tmp_path, "group") == ()
