"""Whether the folders of a run are still as it left them, so that the same run has nothing to do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from grading.findings import Finding, Place, Severity
from grading.publish.disk import sum_on_disk
from grading.publish.moves import JOURNAL
from grading.publish.names import is_inside
from grading.publish.record import MADE_FOR, RECORD, read_record

__all__ = ["MADE_FROM", "Standing", "as_left", "standing", "whole_run"]

#: Where a record tells the sum of all that its folder's files depend on.
MADE_FROM = "made from"
#: Where a record tells of the run that its folder was part of.
_WHOLE_RUN = "whole run"


@dataclass(frozen=True, slots=True)
class Standing:
    """The folders of a whole run in its order, each with its run's id, and what the run found.

    ``named`` are the folders of all the groups that the tables have, asked for or not.
    """

    runs: Mapping[Path, str]
    named: tuple[Path, ...]
    findings: tuple[Finding, ...]


def whole_run(
    asked: str, folders: Sequence[str], named: Iterable[str], findings: Iterable[Finding]
) -> dict[str, object]:
    """What the record of each folder is to tell of the whole run: what it was asked for, and what it found."""
    told = [asdict(one) | {"severity": one.severity.value} for one in findings]
    return {_WHOLE_RUN: {"asked": asked, "folders": list(folders), "named": list(named), "findings": told}}


def standing(out: Path, asked: str) -> Standing | None:
    """The earlier run that was asked for the same, if all its folders in ``out`` are as it left them; else None."""
    try:
        records = (read_record(folder) for folder in sorted(out.iterdir()) if (folder / RECORD).is_file())
        runs = (record.told.get(_WHOLE_RUN) for record in records if record)
        run: Any = next((run for run in runs if isinstance(run, dict) and run.get("asked") == asked), None)
        if not asked or run is None or not all(is_inside(name) and "/" not in name for name in run["folders"]):
            return None
        told = {out / name: as_left(out / name) for name in run["folders"]}
        if not all(one and one.get(_WHOLE_RUN) == run for one in told.values()):
            return None
        runs_of = {folder: str(one["run"]) for folder, one in told.items()}
        return Standing(runs_of, tuple(out / name for name in run["named"]), tuple(map(_finding, run["findings"])))
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None  # as a whole run finds and tells it


def as_left(folder: Path) -> Mapping[str, Any]:
    """What the record of a folder tells; empty if it or any file is not as the run left it."""
    record = read_record(folder)
    if record is None or not record.told.get(MADE_FOR) or (folder / JOURNAL).exists():
        return {}
    return record.told if all(sum_on_disk(folder / name) == wrote for name, wrote in record.all.items()) else {}


def _finding(told: Mapping[str, Any]) -> Finding:
    return Finding(**{**told, "severity": Severity(told["severity"]), "place": Place(**told["place"])})
