"""The record of a run, ``run.json``: written, read again, and compared with the files that are there now."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from grading.codes import Code
from grading.findings import Finding
from grading.publish.disk import checksum, plain_bytes, sum_on_disk
from grading.publish.moves import JOURNAL
from grading.publish.names import any_case, is_inside
from grading.publish.notices import explained, notice

__all__ = ["MADE_FOR", "RECORD", "Record", "json_of", "occupied", "read_record", "record_text", "run_folders", "verify"]

RECORD = "run.json"
#: Where a record tells what its folder is for: a group, a customer, a batch. Nothing else is written there.
MADE_FOR = "made for"
#: Where a record tells the sum of all else in it, by which it is known to be as it was written.
_SEAL = "sum of this record"
#: No record is longer, bytes: that of 250 sizes with every kind of file has a hundredth of it.
_LONGEST = 20_000_000
#: What people write in, and so alter rightly.
_FILLED_IN = ".xlsx"


@dataclass(frozen=True, slots=True)
class Record:
    """The sums in a ``run.json``: of that run's outputs, and of earlier files that still stand beside them.

    ``made_for`` is what the folder is for and ``run`` the run's id, ``inputs`` the sums of the tables, each
    empty where the record does not tell. ``told`` is all that it tells, empty if it has been altered since.
    """

    outputs: Mapping[str, str]
    kept: Mapping[str, str]
    made_for: str = ""
    run: str = ""
    inputs: Mapping[str, str] = field(default_factory=dict)
    told: Mapping[str, Any] = field(default_factory=dict)

    @property
    def all(self) -> dict[str, str]:
        return {**self.kept, **self.outputs}


def record_text(run: Mapping[str, object], record: Record) -> bytes:
    """What stands in ``run.json``: what ``run`` tells, and the sums."""
    told = {**run, "outputs": dict(record.outputs), "kept": dict(record.kept)}
    return _as_text({**told, _SEAL: checksum(_as_text(told))})


def _as_text(told: Mapping[str, Any]) -> bytes:
    return (json.dumps(told, indent=2, sort_keys=True, ensure_ascii=False) + "\n").encode()


def json_of(record: Path) -> Any:
    """What stands in the record of a run, whoever wrote it. Raises OSError, ValueError or RecursionError."""
    content = plain_bytes(record, _LONGEST)
    if len(content) > _LONGEST:
        raise ValueError("too long for the record of a run")
    return json.loads(content.decode())


def read_record(folder: Path) -> Record | None:
    """The sums in the folder's ``run.json``; empty without one, ``None`` where it cannot be understood.

    Raises OSError where it cannot be read.
    """
    try:
        told = json_of(folder / RECORD)
        outputs, kept = dict(told["outputs"]), dict(told["kept"])
        made_for, run = (str(told.get(key, "")) for key in (MADE_FOR, "run"))
        inputs = {str(name): str(digest) for name, digest in dict(told.get("inputs", {})).items()}
        if told.pop(_SEAL, "") != checksum(_as_text(told)):
            told = {}
    except FileNotFoundError:
        return Record({}, {})
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
    texts = [*outputs, *outputs.values(), *kept, *kept.values()]
    sound = all(isinstance(text, str) for text in texts) and all(is_inside(name) for name in {**outputs, **kept})
    return Record(outputs, kept, made_for, run, inputs, told) if sound else None


def occupied(folder: Path, made_for: str) -> list[Finding]:
    """A finding if the folder was written for something else than ``made_for``, else none."""
    try:
        record = read_record(folder)
    except OSError as problem:
        return [explained(problem, folder)]
    if record is None or not record.made_for or any_case(record.made_for) == any_case(made_for):
        return []
    return [notice(Code.FOLDER_OF_ANOTHER, folder, record.made_for)]


def run_folders(folder: Path) -> tuple[Path, ...]:
    """The folder itself where a run was written into it, or was to be; else the folders in it, by name."""
    if (folder / RECORD).exists() or (folder / JOURNAL).exists() or not folder.is_dir():
        return (folder,)
    inner = sorted(path for path in folder.iterdir() if path.is_dir() and not path.name.startswith("."))
    return tuple(inner) or (folder,)


def verify(folder: Path) -> list[Finding]:
    """What in a folder is not as its ``run.json`` says: files altered, missing or unknown, a run left half done.

    An error says that something is missing, half done or damaged; a warning, that a workbook was written in.
    """
    try:
        return list(_differences(folder))
    except OSError as problem:
        return [explained(problem, folder)]


def _differences(folder: Path) -> Iterator[Finding]:
    if not folder.exists():
        yield notice(Code.FOLDER_MISSING, folder)
        return
    if (folder / JOURNAL).exists():
        yield notice(Code.RUN_UNFINISHED, folder / RECORD)
    record = read_record(folder)
    if record is None:
        yield notice(Code.RECORD_DAMAGED, folder / RECORD)
        return
    if not (folder / RECORD).exists():
        yield notice(Code.RECORD_MISSING, folder / RECORD)
    for name, wrote in sorted(record.outputs.items()):
        try:
            now = sum_on_disk(folder / name)
        except OSError as problem:
            yield notice(Code.FILE_NOT_READ, folder / name, problem.strerror or str(problem))
            continue
        if now is None:
            yield notice(Code.OUTPUT_MISSING, folder / name)
        elif now != wrote:
            altered = Code.WORKBOOK_ALTERED if name.endswith(_FILLED_IN) else Code.FILE_ALTERED
            yield notice(altered, folder / name)
    for name, wrote in sorted(record.kept.items()):
        if sum_on_disk(folder / name) not in (None, wrote):
            yield notice(Code.OUTPUT_KEPT, folder / name)
    known = {folder / name for name in (RECORD, *record.all)}
    for parent in sorted({path.parent for path in known if path.parent.is_dir()}):
        for path in sorted(parent.iterdir()):
            if path.is_file() and path not in known and not path.name.startswith((".", "~$")):
                yield notice(Code.FILE_UNKNOWN, path)
