"""Where a new block goes among a maker's tables, so that it is the one that its groups are graded from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from grading.asked import blocks_in
from grading.codes import Code
from grading.findings import Finding, Place, Severity, has_errors
from grading.model.names import Names
from grading.publish.names import file_name
from grading.sheets.block import read_block
from grading.sheets.opening import open_tables
from grading.sheets.sizes import read_sizes

__all__ = ["InUse", "place_among"]


@dataclass(frozen=True, slots=True)
class InUse:
    """The path that a new block takes, and the other blocks that it makes needless."""

    path: Path
    needless: tuple[Path, ...] = ()


def place_among(sizes: Path, groups: Sequence[str]) -> tuple[InUse | None, list[Finding]]:
    """Where the block for these groups goes, beside the size tables; or findings that say why it cannot.

    It takes the place of the block that names them. One that names others too cannot be replaced by it, and one that
    names none stays: it gives way to a block that names the group.
    """
    opened, findings = open_tables(sizes)
    tables, of_sizes = read_sizes(opened)
    if has_errors(findings):
        return None, findings
    wanted = Names(groups)
    known = [table.group for table in tables]
    if not groups or not all(group in Names(known) for group in groups):
        # A group with an error in its figures is not among those that are read.
        errors = [one for one in of_sizes if one.severity is Severity.ERROR and one.place.sheet in wanted]
        return None, errors or [_which(sizes, known, groups)]
    named: list[Path] = []
    there = blocks_in(sizes.parent)
    for path in there:
        block, of_block = read_block(open_tables(path)[0])
        if block is None:
            findings += [*of_block, _unread(path)]
            continue
        others = [group for group in block.groups if group not in wanted]
        if len(others) < len(block.groups):
            named.append(path)
            if others:
                findings.append(_shared(path, groups, others))
    if has_errors(findings):
        return None, findings
    if named:
        path = named[0].with_suffix(".xlsx")
        return InUse(path, tuple(other for other in named if other != path)), []
    name = file_name(f"block-{groups[0].lower()}", (path.stem for path in there), "block")
    return InUse(sizes.parent / f"{name}.xlsx"), []


def _which(sizes: Path, known: Sequence[str], groups: Sequence[str]) -> Finding:
    found = "No group was named." if not groups else f"{sizes} has no group of the name {' or '.join(groups)}."
    expected = f"The groups that the block is for: {', '.join(known)}."
    return Finding.error(Code.WHICH_GROUP, Place(), found, expected, "Name each with --group.")


def _unread(path: Path) -> Finding:
    found = "This block cannot be read, so that nobody can tell which groups it is for."
    action = "Set it right, or move it out of the folder."
    return Finding.error(Code.BLOCK_UNREAD, Place(str(path)), found, "Nothing was replaced.", action)


def _shared(path: Path, groups: Sequence[str], others: Sequence[str]) -> Finding:
    return Finding.error(
        Code.BLOCK_SHARED,
        Place(str(path)),
        f"This block is for {', '.join(others)} as well, which would be left without one.",
        f"A block of its own for {', '.join(groups)}.",
        f"Take {', '.join(groups)} out of 'Groups' on its sheet Block, or draft for all of its groups.",
    )
