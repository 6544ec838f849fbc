"""The job of 'grading verify': which files of a run are missing, half done, or altered since they were written."""

from __future__ import annotations

from pathlib import Path

from grading.findings import Finding
from grading.outputs.files import made_for_group
from grading.publish import mixed, run_folders, verify

__all__ = ["verified"]


def verified(folder: Path) -> dict[Path, list[Finding]]:
    """The findings of each folder of a run, by its path: of one group's folder, or of all those in ``folder``."""
    folders = run_folders(folder)
    strangers = list(mixed(folders, made_for_group("")))
    return {one: [*verify(one), *(stranger for stranger in strangers if stranger.place.workbook == str(one))]
            for one in folders}  # fmt: skip
