"""The findings of publishing and verifying, by code, and what errors of the system mean to a maker."""

from __future__ import annotations

import errno
from pathlib import Path

from grading.codes import Code
from grading.findings import Finding, Place, Severity, StoppedError

__all__ = ["explained", "notice"]


def notice(code: Code, path: Path, other: str = "") -> Finding:
    """The finding of that code about a file; ``other`` is the second name or the reason that its text speaks of."""
    severity, *sentences = _SAID[code]
    found, expected, action = (sentence.format(other=other) for sentence in sentences)
    return Finding(code, severity, Place(workbook=str(path)), found, expected, action)


def explained(problem: OSError | StoppedError, folder: Path) -> Finding:
    """The finding of an error of the system."""
    if isinstance(problem, StoppedError):
        return problem.finding
    code = _CODES.get(problem.errno or 0, Code.DISK_FAILED)
    return notice(code, Path(problem.filename or folder), problem.strerror or str(problem))


_ERROR, _WARNING, _NOTE = Severity.ERROR, Severity.WARNING, Severity.NOTE
# fmt: off
_SAID = {
    Code.OUTPUT_ALTERED: (_WARNING, "Somebody has changed this file since it was written, so it was left as it is.",
        "The new one is '{other}', beside it.",
        "Carry over what you filled in, or run again and let the file be replaced: a backup is made."),
    Code.OUTPUT_BACKED_UP: (_NOTE, "Somebody had changed this file since it was written.",
        "It was moved to '{other}' and the new one took its place.", "Carry over what you filled in."),
    Code.OUTPUT_KEPT: (_NOTE, "This file is from an earlier run and somebody has changed it since.",
        "It was left as it is.", "Remove it yourself if you no longer need it."),
    Code.OUTPUT_OPEN: (_ERROR, "This file is open in another program ('{other}' lies beside it).",
        "Nothing was written.",
        "Close it there and run again; if it is not open anywhere, delete '{other}'."),
    Code.OUTPUT_OUTSIDE: (_ERROR, "A link leads this file out of the folder.", "Nothing was written.",
        "Remove the link and run again."),
    Code.OUTPUT_CHANGED_MEANWHILE: (_ERROR, "Somebody changed this file while the run was writing.",
        "The other files were put back, or wait under hidden names for the next run.",
        "Move this file to another folder and run again."),
    Code.FOLDER_IN_USE: (_ERROR, "Another run (process {other}) is writing into this folder.", "Nothing was written.",
        "Wait until it is done and run again."),
    Code.RUN_STUCK: (_ERROR, "The run failed and its files could not all be put back: {other}.",
        "Nothing is lost; what is missing waits under hidden names.",
        "Look at the disk and run again: that finishes the run or puts it back."),
    Code.RUN_FINISHED_LATER: (_NOTE, "The run before was interrupted while it wrote.",
        "Its files were finished or put back first.", ""),
    Code.RUN_UNFINISHED: (_ERROR, "A run was interrupted while it wrote, so that the files may be of two runs.", "",
        "Run again: that finishes it or puts it back."),
    Code.JOURNAL_UNREADABLE: (_ERROR,
        "A run was interrupted while it wrote, and its notes on what goes where cannot be understood.",
        "Nothing was changed. Files of both runs may wait under hidden names, '.NAME.grading-old' and '.grading-new'.",
        "Copy what you need of them to another folder, delete this file and run again."),
    Code.RECORD_UNREADABLE: (_WARNING,
        "This file is no record of a run, or a damaged one, so that nobody can tell which files are as written.",
        "It was moved to '{other}'. Files that differ were left as they are, with the new ones beside them.",
        "Remove it if it is none of yours."),
    Code.FOLDER_OF_ANOTHER: (_ERROR, "This folder holds what was made for another job: {other}.",
        "A folder for each: nothing was written into it.",
        "Give another name, or another folder by --out; or move this one away."),
    Code.RECORD_DAMAGED: (_ERROR, "The record of the run cannot be understood.",
        "Which files are as they were written cannot be told.",
        "Run again: files that differ are left as they are and the new ones go beside them."),
    Code.RECORD_MISSING: (_ERROR, "There is no record of a run in this folder.", "", "Run again."),
    Code.FOLDER_LEFT_OVER: (_WARNING, "This folder is of the {other}, which the tables have no more.",
        "Its patterns are of earlier tables, and none of this run's.",
        "Do not cut by them: move the folder away, or give the sheet its old name and run again."),
    Code.FOLDERS_MIXED: (_WARNING, "This folder was made from another {other} than the folders beside it.",
        "Folders that are sewn from together come from the same tables.",
        "Run again; if the group is in the tables no more, move its folder away."),
    Code.FILE_NOT_READ: (_ERROR, "The file cannot be read ({other}).", "", "Check the file and its permissions."),
    Code.OUTPUT_MISSING: (_ERROR, "The run wrote this file and it is gone.", "", "Run again."),
    Code.FILE_ALTERED: (_ERROR, "This file has been altered since the run wrote it.",
        "Nobody need write in it, so it may be damaged.", "Do not cut or sew by it: move it away and run again."),
    Code.WORKBOOK_ALTERED: (_WARNING, "This workbook has been altered since the run wrote it.", "",
        "If somebody filled it in, all is well; else move it away and run again."),
    Code.FOLDER_MISSING: (_ERROR, "There is no such folder.", "", "Check the name, or run again."),
    Code.FILE_UNKNOWN: (_NOTE, "The run did not write this file.", "", ""),
    Code.DISK_FULL: (_ERROR, "The disk is full.", "Nothing was changed.", "Make room and run again."),
    Code.FOLDER_NOT_WRITABLE: (_ERROR, "The system lets nobody write here, or the file is open in another program.",
        "Nothing was changed.", "Close the file, or choose another folder, and run again."),
    Code.FOLDER_IS_FILE: (_ERROR, "There is a file where a folder is needed.", "Nothing was changed.",
        "Move the file away, or choose another folder."),
    Code.FILE_IS_FOLDER: (_ERROR, "There is a folder where a file is to be written.", "Nothing was changed.",
        "Move the folder away and run again."),
    Code.DISK_FAILED: (_ERROR, "The disk said: {other}.", "Nothing was changed.", "Look at the disk and run again."),
}
# fmt: on
_CODES = {
    errno.ENOSPC: Code.DISK_FULL,
    errno.EDQUOT: Code.DISK_FULL,
    errno.EACCES: Code.FOLDER_NOT_WRITABLE,
    errno.EPERM: Code.FOLDER_NOT_WRITABLE,
    errno.EROFS: Code.FOLDER_NOT_WRITABLE,
    errno.ENOTDIR: Code.FOLDER_IS_FILE,
    errno.EEXIST: Code.FOLDER_IS_FILE,
    errno.EISDIR: Code.FILE_IS_FOLDER,
}
