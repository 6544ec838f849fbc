"""The marks of a block, found on its pieces."""

from __future__ import annotations

from grading.model.block import Block, Mark

__all__ = ["fold_lines"]


def fold_lines(block: Block, piece: str) -> list[tuple[Mark, str, str]]:
    """The fold lines marked on a piece, each with the two points it runs between."""
    lines = []
    for mark in block.marks:
        if mark.piece == piece and mark.kind == "fold line":
            start, end = mark.points
            lines.append((mark, start, end))
    return lines
