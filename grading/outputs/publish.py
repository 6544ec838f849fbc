"""Put a run's files into a folder whole or not at all, and never over what somebody has filled in.

All new files are first written beside their places under hidden names. Then one record, the journal, says what
goes where; from there on the files are moved, the record of the run (``run.json``) last. A run that fails puts
back what it moved, and one that was killed is finished, or put back, at the next start. The moves are made so
that each may be repeated or undone from what is found on the disk.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import errno
import hashlib
import json
import os
import re
import sys
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path, PurePosixPath

from grading.findings import Finding, Place, Severity

__all__ = ["RECORD", "Disk", "Published", "publish", "verify"]

RECORD = "run.json"
_JOURNAL = ".grading-journal.json"
_LOCK = ".grading-lock"
_NEW, _OLD = ".grading-new", ".grading-old"
_RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)  # Windows' devices


class Disk:
    """Every call by which publishing changes a disk, so that a test can let any of them fail."""

    def make_folder(self, path: Path) -> None:
        path.mkdir(exist_ok=True)

    def remove_folder(self, path: Path) -> None:
        path.rmdir()

    def write(self, path: Path, content: bytes) -> None:
        path.write_bytes(content)

    def sync(self, path: Path) -> None:
        """Wait until a file, or a folder's list of names, is safe from a power cut."""
        if path.is_dir():
            if os.name == "nt":  # has no such call for folders
                return
            descriptor = os.open(path, os.O_RDONLY)
        else:
            descriptor = os.open(path, os.O_RDWR | getattr(os, "O_BINARY", 0))
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)

    def rename(self, source: Path, target: Path) -> None:
        source.replace(target)

    def unlink(self, path: Path) -> None:
        path.unlink()

    def open(self, path: Path) -> int:
        """The descriptor of a file that is made if it is not there."""
        return os.open(path, os.O_RDWR | os.O_CREAT, 0o666)


@dataclass(frozen=True, slots=True)
class Published:
    """What became of a run's files. Where a finding is an error, the folder is as it was before,
    unless the finding says that files wait under hidden names for the next start.

    Names are relative to ``folder``, with forward slashes. A new file written beside one that somebody had
    altered stands in ``written`` or ``unchanged`` under the name it got.
    """

    folder: Path
    written: tuple[str, ...]
    unchanged: tuple[str, ...]
    removed: tuple[str, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Step:
    """One file's way into place: ``new`` and ``old`` are SHA-256 sums, ``None`` where there is no such file."""

    name: str
    new: str | None
    old: str | None
    backup: str | None = None


class _Stopped(Exception):  # noqa: N818 - it is not an error of the program
    def __init__(self, finding: Finding) -> None:
        super().__init__(str(finding))
        self.finding = finding


def publish(
    folder: Path,
    files: Mapping[str, bytes],
    run: Mapping[str, object],
    *,
    replace: bool = False,
    remove_stale: bool = True,
    day: dt.date | None = None,
    disk: Disk | None = None,
) -> Published:
    """Write ``files`` (by name relative to ``folder``, with forward slashes) and the record of the run.

    ``run`` is what the record tells besides the files' SHA-256 sums: run id, version, the inputs' sums. A file
    that is not as the program last wrote it is left alone and the new one goes beside it, ``spec (new).xlsx``;
    with ``replace`` the altered one is moved to a backup, named by ``day`` or else by its own date. Files of
    the last run that this one does not write are removed unless altered, or all kept without ``remove_stale``
    (for a run that writes some of its outputs only). Files that are right already are not touched.

    Nothing on the disk raises; it comes back as findings. Raises ValueError for a name that leads out of the
    folder, that some system cannot hold or that is the program's own, and for two names that differ by case
    only.
    """
    _check_names(files)
    disk = disk or Disk()
    findings: list[Finding] = []
    made: list[Path] = []
    try:
        _make_folders(folder, disk, made)
        with _locked(folder, disk):
            findings += _recover(folder, files, disk)
            plan = _plan(folder, files, run, replace, remove_stale, day)
            findings += plan.findings
            if any(finding.severity is Severity.ERROR for finding in findings):
                return Published(folder, (), (), (), tuple(findings))
            if plan.steps:
                _carry_out(folder, plan, disk, made)
            return Published(folder, plan.written, plan.unchanged, plan.removed, tuple(findings))
    except (OSError, _Stopped) as problem:
        for path in reversed(made):
            with contextlib.suppress(OSError):
                disk.remove_folder(path)
        return Published(folder, (), (), (), (*findings, _explained(problem, folder)))


def verify(folder: Path) -> list[Finding]:
    """What in a folder is not as its ``run.json`` says: altered, missing, unknown, or left half done."""
    try:
        return list(_differences(folder))
    except OSError as problem:
        return [_explained(problem, folder)]


# --- What is to be done -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Plan:
    steps: tuple[_Step, ...]
    contents: Mapping[str, bytes]
    written: tuple[str, ...]
    unchanged: tuple[str, ...]
    removed: tuple[str, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Record:
    """The sums in a ``run.json``: of that run's outputs, and of earlier files that still stand beside them."""

    outputs: Mapping[str, str]
    kept: Mapping[str, str]

    @property
    def all(self) -> dict[str, str]:
        return {**self.kept, **self.outputs}


def _plan(
    folder: Path,
    files: Mapping[str, bytes],
    run: Mapping[str, object],
    replace: bool,
    remove_stale: bool,
    day: dt.date | None,
) -> _Plan:
    findings: list[Finding] = []
    record = _read_record(folder)
    if record is None:
        findings.append(_finding("record-unreadable", RECORD))
        record = _Record({}, {})
    ours = set(record.all.values())  # losing any bytes that the program wrote loses nobody's work
    steps: list[_Step] = []
    contents: dict[str, bytes] = {}
    kept: dict[str, str] = {}
    for wanted in sorted(files):
        name, new = wanted, _sum(files[wanted])
        old = _sum_on_disk(folder, name)
        backup = None
        if old not in (None, new) and old not in ours:
            if replace:
                backup = _backup_name(folder, name, day)
                findings.append(_finding("output-backed-up", name, backup))
            else:
                if wanted in record.all:
                    kept[wanted] = record.all[wanted]
                name = _name_beside(folder, name, {new, *ours}, {*files, *contents})
                findings.append(_finding("output-altered", wanted, name))
                old = _sum_on_disk(folder, name)
        contents[name] = files[wanted]
        if old != new:
            steps.append(_Step(name, new, old, backup))
    unchanged = sorted(set(contents) - {step.name for step in steps})
    for name, wrote in sorted(record.all.items()):
        if name in contents or name in kept or _is_twin(folder, name, contents):
            continue
        old = _sum_on_disk(folder, name)
        if old == wrote and remove_stale:
            steps.append(_Step(name, None, old))
        elif old is not None:
            kept[name] = wrote
            if old != wrote and name not in record.kept:
                findings.append(_finding("output-kept", name))
    outputs = {name: _sum(content) for name, content in contents.items()}
    text = json.dumps({**run, "outputs": outputs, "kept": kept}, indent=2, sort_keys=True, ensure_ascii=False)
    contents[RECORD] = f"{text}\n".encode()
    new, old = _sum(contents[RECORD]), _sum_on_disk(folder, RECORD)
    if old != new:
        steps.append(_Step(RECORD, new, old))
    findings += [
        _finding("output-open", step.name, mark)
        for step in steps
        if step.old is not None and (mark := _open_elsewhere(folder / step.name))
    ]
    return _Plan(
        tuple(steps),
        contents,
        tuple(step.name for step in steps if step.new is not None),
        tuple(unchanged),
        tuple(step.name for step in steps if step.new is None),
        tuple(findings),
    )


def _check_names(files: Mapping[str, bytes]) -> None:
    folded = [name.casefold() for name in files]
    if len(set(folded)) < len(folded):
        raise ValueError("two file names differ by case only")
    for name in files:
        if not _is_inside(name) or name.casefold() == RECORD:
            raise ValueError(f"not a name for an output: {name!r}")


def _is_inside(name: str) -> bool:
    """Whether a name stays in its folder and can be held by Linux, macOS and Windows alike."""
    return all(
        part == part.strip()
        and not part.endswith(".")
        and not part.startswith((".", "~$"))
        and not re.search(r'[\x00-\x1f<>:"|?*\\\ud800-\udfff]', part)
        and not _RESERVED.fullmatch(part)
        and 0 < len(part.encode("utf-8", "replace")) <= 200
        for part in name.split("/")
    )


def _name_beside(folder: Path, name: str, replaceable: set[str], taken: set[str]) -> str:
    for beside in _variants(name, "new"):
        if beside not in taken and _sum_on_disk(folder, beside) in {None, *replaceable}:
            return beside
    raise AssertionError("unreachable: the variants never end")


def _backup_name(folder: Path, name: str, day: dt.date | None) -> str:
    path = folder / name
    day = day or dt.datetime.fromtimestamp(path.stat().st_mtime, dt.UTC).date()
    return next(free for free in _variants(name, f"backup {day}") if not os.path.lexists(folder / free))


def _variants(name: str, word: str) -> Iterator[str]:
    path, number = PurePosixPath(name), 1
    while True:
        counted = word if number == 1 else f"{word} {number}"
        yield str(path.with_name(f"{path.stem} ({counted}){path.suffix}"))
        number += 1


def _is_twin(folder: Path, name: str, others: Iterable[str]) -> bool:
    """Whether a name is another spelling of one of ``others``, on a disk to which case is the same."""
    twins = [folder / other for other in others if other.casefold() == name.casefold()]
    place = folder / name
    return any(place.exists() and twin.exists() and place.samefile(twin) for twin in twins)


def _open_elsewhere(path: Path) -> str:
    """The name of the mark that a spreadsheet program lays beside a file while it has it open, or nothing."""
    marks = (path.with_name(f".~lock.{path.name}#"), path.with_name(f"~${path.name}"))
    return next((mark.name for mark in marks if mark.exists()), "")


# --- Doing it, and undoing it -------------------------------------------------------------------------------


def _carry_out(folder: Path, plan: _Plan, disk: Disk, made: list[Path]) -> None:
    steps = plan.steps
    try:
        for step in steps:
            if step.new is None:
                continue
            place = folder / step.name
            if not place.parent.resolve().is_relative_to(folder.resolve()):  # a link may lead out
                raise _Stopped(_finding("output-outside", step.name))
            _make_folders(place.parent, disk, made)
            _write_safely(_beside(place, _NEW), plan.contents[step.name], disk)
        for parent in sorted({(folder / step.name).parent for step in steps}):
            disk.sync(parent)
        journal = folder / _JOURNAL
        text = json.dumps([asdict(step) for step in steps], indent=1)
        _write_safely(_beside(journal, _NEW), text.encode(), disk)
        disk.rename(_beside(journal, _NEW), journal)
        disk.sync(folder)
        _forward(folder, steps, disk)
    except BaseException:
        _back(folder, steps, disk)
        raise
    _tidy(folder, steps, disk)


def _make_folders(folder: Path, disk: Disk, made: list[Path]) -> None:
    for missing in reversed([path for path in (folder, *folder.parents) if not path.exists()]):
        made.append(missing)
        disk.make_folder(missing)


def _write_safely(path: Path, content: bytes, disk: Disk) -> None:
    disk.write(path, content)
    disk.sync(path)
    if path.read_bytes() != content:
        raise OSError(errno.EIO, "what was written does not read back")


def _forward(folder: Path, steps: tuple[_Step, ...], disk: Disk) -> None:
    """Move every file to its place. Each step looks at what is there, so that it can be done twice."""
    for step in steps:
        place = folder / step.name
        new, old = _beside(place, _NEW), _old_place(folder, step)
        if step.new is not None and not new.exists():
            continue  # already in place
        found = _sum_on_disk(folder, step.name)
        if found is not None:
            if found != step.old or os.path.lexists(old):
                raise _Stopped(_finding("output-changed-meanwhile", step.name))
            disk.rename(place, old)
        if step.new is not None:
            disk.rename(new, place)
    for parent in sorted({(folder / step.name).parent for step in steps}):
        if parent.exists():
            disk.sync(parent)


def _back(folder: Path, steps: tuple[_Step, ...], disk: Disk) -> None:
    """Put every file back where it was, whatever of the forward way was done, and forget the journal."""
    journal = folder / _JOURNAL
    if journal.exists():  # before that nothing was moved
        try:
            for step in reversed(steps):
                _step_back(folder, step, disk)
            disk.unlink(journal)
            disk.sync(folder)
        except OSError as problem:
            raise _Stopped(_finding("run-stuck", RECORD, problem.strerror or str(problem))) from problem
    for path in (journal, *(folder / step.name for step in steps)):
        with contextlib.suppress(OSError):  # it is swept away at the next start
            disk.unlink(_beside(path, _NEW))


def _step_back(folder: Path, step: _Step, disk: Disk) -> None:
    place = folder / step.name
    new, old = _beside(place, _NEW), _old_place(folder, step)
    found = _sum_on_disk(folder, step.name)
    if step.new is not None and not new.exists() and found is not None:
        if found != step.new:
            raise _Stopped(_finding("output-changed-meanwhile", step.name))
        disk.rename(place, new)
    if os.path.lexists(old):
        if os.path.lexists(place):
            raise _Stopped(_finding("output-changed-meanwhile", step.name))
        disk.rename(old, place)


def _tidy(folder: Path, steps: tuple[_Step, ...], disk: Disk) -> None:
    """Let go of the journal, then of what was replaced; never the other way, or `_back` would lack it.

    If it fails, all files are in place still and the next start does it again.
    """
    with contextlib.suppress(OSError):
        disk.unlink(folder / _JOURNAL)
        disk.sync(folder)
        for step in steps:
            if step.backup is None and os.path.lexists(_old_place(folder, step)):
                disk.unlink(_old_place(folder, step))


def _recover(folder: Path, files: Mapping[str, bytes], disk: Disk) -> list[Finding]:
    """Finish what an interrupted run left, or put it back; then sweep away what no journal speaks of."""
    journal = folder / _JOURNAL
    findings = []
    if journal.exists():
        steps = tuple(_Step(**step) for step in json.loads(journal.read_text(encoding="utf-8")))
        try:
            _forward(folder, steps, disk)
        except (OSError, _Stopped):
            _back(folder, steps, disk)
        else:
            _tidy(folder, steps, disk)
        findings.append(_finding("run-finished-later", RECORD))
    record = _read_record(folder) or _Record({}, {})
    for parent in {folder, *((folder / name).parent for name in {*files, *record.all})}:
        for left in sorted((*parent.glob(f".*{_NEW}"), *parent.glob(f".*{_OLD}"))):
            disk.unlink(left)
    return findings


def _beside(place: Path, ending: str) -> Path:
    return place.with_name(f".{place.name}{ending}")


def _old_place(folder: Path, step: _Step) -> Path:
    return folder / step.backup if step.backup else _beside(folder / step.name, _OLD)


# --- One run at a time --------------------------------------------------------------------------------------


@contextlib.contextmanager
def _locked(folder: Path, disk: Disk) -> Iterator[None]:
    """Hold the folder's lock. It is the system's own, which ends with the process that holds it."""
    path = folder / _LOCK
    descriptor = _take_lock(path, disk)
    try:
        disk.write(path, f"{os.getpid()}\n".encode())
        yield
    finally:
        try:
            if os.name != "nt":  # there an open file cannot be removed
                _forget_lock(path, disk)
        finally:
            os.close(descriptor)
        if os.name == "nt":
            _forget_lock(path, disk)


def _forget_lock(path: Path, disk: Disk) -> None:
    with contextlib.suppress(OSError):  # left lying about it does no harm: nobody holds it
        disk.unlink(path)


def _take_lock(path: Path, disk: Disk) -> int:
    while True:
        descriptor = disk.open(path)
        try:
            _lock(descriptor)
            # The run before may have removed the file between our opening and our locking it.
            if path.exists() and os.path.samestat(os.fstat(descriptor), path.stat()):
                return descriptor
        except BlockingIOError:
            os.close(descriptor)
            raise _Stopped(_finding("folder-in-use", _LOCK, _holder(path))) from None
        except BaseException:
            os.close(descriptor)
            raise
        os.close(descriptor)


if sys.platform == "win32":
    import msvcrt

    def _lock(descriptor: int) -> None:
        os.lseek(descriptor, 1 << 20, os.SEEK_SET)  # a byte past the text, which others may then still read
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError as problem:
            raise BlockingIOError(*problem.args) from None

else:
    import fcntl

    def _lock(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _holder(path: Path) -> str:
    with contextlib.suppress(OSError):
        return path.read_text().strip()
    return ""


# --- What is there, and what is said about it ---------------------------------------------------------------


def _sum(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _sum_on_disk(folder: Path, name: str) -> str | None:
    try:
        with (folder / name).open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return None


def _read_record(folder: Path) -> _Record | None:
    """The sums in the folder's ``run.json``; empty without one, ``None`` where it cannot be understood."""
    try:
        told = json.loads((folder / RECORD).read_text(encoding="utf-8"))
        outputs, kept = dict(told["outputs"]), dict(told["kept"])
        sound = all(_is_inside(name) and isinstance(wrote, str) for name, wrote in (outputs | kept).items())
    except FileNotFoundError:
        return _Record({}, {})
    except (ValueError, KeyError, TypeError):
        return None
    return _Record(outputs, kept) if sound else None


def _differences(folder: Path) -> Iterator[Finding]:
    if (folder / _JOURNAL).exists():
        yield _finding("run-unfinished", RECORD)
    record = _read_record(folder)
    if record is None:
        yield _finding("record-unreadable", RECORD)
        return
    if not (folder / RECORD).exists():
        yield _finding("record-missing", RECORD)
    for name, wrote in sorted(record.outputs.items()):
        found = _sum_on_disk(folder, name)
        if found != wrote:
            yield _finding("file-missing" if found is None else "file-altered", name)
    for name, wrote in sorted(record.kept.items()):
        if _sum_on_disk(folder, name) not in (None, wrote):
            yield _finding("output-kept", name)
    known = {folder / name for name in (RECORD, *record.all)}
    for parent in sorted({path.parent for path in known if path.parent.is_dir()}):
        for path in sorted(parent.iterdir()):
            if path.is_file() and path not in known and not path.name.startswith((".", "~$")):
                yield _finding("file-unknown", path.relative_to(folder).as_posix())


_ERROR, _WARNING, _NOTE = Severity.ERROR, Severity.WARNING, Severity.NOTE
_SAID = {
    "output-altered": (
        _WARNING,
        "Somebody has changed this file since it was written, so it was left as it is.",
        "The new one is '{other}', beside it.",
        "Carry over what you filled in, or run again and let the file be replaced: a backup is made.",
    ),
    "output-backed-up": (
        _NOTE,
        "Somebody had changed this file since it was written.",
        "It was moved to '{other}' and the new one took its place.",
        "Carry over what you filled in.",
    ),
    "output-kept": (
        _NOTE,
        "This file is from an earlier run and somebody has changed it since.",
        "It was left as it is.",
        "Remove it yourself if you no longer need it.",
    ),
    "output-open": (
        _ERROR,
        "This file is open in another program ('{other}' lies beside it).",
        "Nothing was written.",
        "Close it there and run again; if it is not open anywhere, delete '{other}'.",
    ),
    "output-outside": (
        _ERROR,
        "A link leads this file out of the folder.",
        "Nothing was written.",
        "Remove the link and run again.",
    ),
    "output-changed-meanwhile": (
        _ERROR,
        "Somebody changed this file while the run was writing.",
        "The other files were put back, or wait under hidden names for the next run.",
        "Move this file to another folder and run again.",
    ),
    "folder-in-use": (
        _ERROR,
        "Another run (process {other}) is writing into this folder.",
        "Nothing was written.",
        "Wait until it is done and run again.",
    ),
    "run-stuck": (
        _ERROR,
        "The run failed and its files could not all be put back: {other}.",
        "Nothing is lost; what is missing waits under hidden names.",
        "Look at the disk and run again: that finishes the run or puts it back.",
    ),
    "run-finished-later": (
        _NOTE,
        "The run before was interrupted while it wrote.",
        "Its files were finished or put back first.",
        "",
    ),
    "run-unfinished": (
        _ERROR,
        "A run was interrupted while it wrote, so that the files may be of two runs.",
        "",
        "Run again: that finishes it or puts it back.",
    ),
    "record-unreadable": (
        _WARNING,
        "The record of the last run cannot be understood.",
        "Which files are as they were written cannot be told.",
        "Run again: files that differ are left as they are and the new ones go beside them.",
    ),
    "record-missing": (_ERROR, "There is no record of a run in this folder.", "", "Run again."),
    "file-missing": (_ERROR, "The run wrote this file and it is gone.", "", "Run again."),
    "file-altered": (
        _ERROR,
        "This file is not as the run wrote it.",
        "",
        "If it was filled in by hand, all is well; else run again.",
    ),
    "file-unknown": (_NOTE, "The run did not write this file.", "", ""),
    "disk-full": (_ERROR, "The disk is full.", "Nothing was changed.", "Make room and run again."),
    "folder-not-writable": (
        _ERROR,
        "The system lets nobody write here, or the file is open in another program.",
        "Nothing was changed.",
        "Close the file, or choose another folder, and run again.",
    ),
    "folder-is-file": (
        _ERROR,
        "There is a file where a folder is needed.",
        "Nothing was changed.",
        "Move the file away, or choose another folder.",
    ),
    "file-is-folder": (
        _ERROR,
        "There is a folder where a file is to be written.",
        "Nothing was changed.",
        "Move the folder away and run again.",
    ),
    "disk-failed": (_ERROR, "The disk said: {other}.", "Nothing was changed.", "Look at the disk and run again."),
}
_CODES = {
    errno.ENOSPC: "disk-full",
    errno.EDQUOT: "disk-full",
    errno.EACCES: "folder-not-writable",
    errno.EPERM: "folder-not-writable",
    errno.EROFS: "folder-not-writable",
    errno.ENOTDIR: "folder-is-file",
    errno.EEXIST: "folder-is-file",
    errno.EISDIR: "file-is-folder",
}


def _finding(code: str, name: str, other: str = "") -> Finding:
    severity, *sentences = _SAID[code]
    found, expected, action = (sentence.format(other=other) for sentence in sentences)
    return Finding(code, severity, Place(workbook=name), found, expected, action)


def _explained(problem: OSError | _Stopped, folder: Path) -> Finding:
    if isinstance(problem, _Stopped):
        return problem.finding
    code = _CODES.get(problem.errno or 0, "disk-failed")
    return _finding(code, str(problem.filename or folder), problem.strerror or str(problem))
