"""Where a drawing too large for a sheet may be parted: at joints that keep clear of whatever they could spoil."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from grading.drawing.marks import Box, Curve, Drawing, Line, Mark, Role
from grading.geometry.arrays import Floats
from grading.geometry.flattening import flatten

__all__ = ["CLEAR", "LAP", "Cell", "Parting", "partings"]

#: How far a joint keeps from lines that run along it, from holes and from marks, mm.
CLEAR = 15.0
#: How far the lower of two sheets goes on under the upper one, mm.
LAP = 6.0
#: How near a line's direction comes to the joint's to run along it: within 30 degrees.
ALONG = np.cos(np.radians(30))
#: Where nothing keeps ``CLEAR``, these are tried, mm: a joint that is a little near is better than none.
_NEARER = (CLEAR, 10.0, 6.0, 3.0, 0.0)
#: No strip narrower than this is left over, mm, where that can be helped.
_LEAST = 25.0
_LINES = {Role.CUT_LINE, Role.SEW_LINE, Role.FOLD_LINE, Role.MIRROR_LINE, Role.PLACEMENT_LINE, Role.OUTLINE}


@dataclass(frozen=True)
class Cell:
    """One sheet's share of a drawing: what is left of it once trimmed, in the drawing's mm, and its row and column.

    Rows count from the top. A sheet lies on the one at its left and on the one above it, so that it is trimmed along
    its left and upper joints.
    """

    row: int
    column: int
    box: Box

    @property
    def shown(self) -> Box:
        """The share with what goes on under the sheets at its right and below it; no wider than the drawing there."""
        return Box(self.box.left, self.box.bottom - LAP, self.box.right + LAP, self.box.top)


@dataclass(frozen=True)
class Parting:
    """A drawing's box parted at ``across`` (x of upright joints, from the left) and ``up`` (y, from the top)."""

    box: Box
    across: tuple[float, ...] = ()
    up: tuple[float, ...] = ()

    @cached_property
    def cells(self) -> tuple[Cell, ...]:
        columns = list(pairwise((self.box.left, *self.across, self.box.right)))
        rows = list(pairwise((self.box.top, *self.up, self.box.bottom)))
        return tuple(
            Cell(row, column, Box(left, bottom, right, top))
            for row, (top, bottom) in enumerate(rows)
            for column, (left, right) in enumerate(columns)
        )

    @property
    def whole(self) -> bool:
        return not self.across and not self.up

    def holds(self, cell: Cell, box: Box) -> bool:
        """Whether the middle of a box lies in a cell, or beyond it where the drawing ends."""
        x, y = box.centre
        last = self.cells[-1]
        return (
            (x >= cell.box.left or cell.column == 0)
            and (x < cell.box.right or cell.column == last.column)
            and (y <= cell.box.top or cell.row == 0)
            and (y > cell.box.bottom or cell.row == last.row)
        )

    def shown(self, cell: Cell) -> Box:
        """What the sheet of a cell shows: its share and what goes on under others, up to the drawing's own end."""
        box = cell.shown
        return Box(box.left, max(box.bottom, self.box.bottom), min(box.right, self.box.right), box.top)


def partings(drawing: Drawing, box: Box, width: float, height: float, beside: float) -> list[Parting]:
    """The ways to part a drawing's ``box`` into as few cells as go onto sheets of ``width`` × ``height`` mm.

    Along each joint a sheet keeps ``beside`` mm for what stands there. Empty if there are no ways. Where there is a
    choice the largest cell comes first in one of them, last in another.
    """
    across = _joints(drawing, 0, (box.left, box.right), width, beside)
    up = _joints(drawing, 1, (-box.top, -box.bottom), height, beside)
    return [Parting(box, xs, tuple(-y for y in ys)) for xs in across for ys in up]


def _joints(
    drawing: Drawing, axis: int, ends: tuple[float, float], room: float, beside: float
) -> list[tuple[float, ...]]:
    """The ways to lay joints square to an axis, by the length that a sheet has room for.

    Up is counted downwards from the top.
    """
    low, high = ends
    if high - low <= room:
        return [()]
    for clear in _NEARER:
        barred = _barred(drawing, axis, clear)
        forwards = _filled(low, high, room - beside, beside, barred, (LAP, 0.0))
        backwards = _filled(-high, -low, room - beside, beside, -barred[:, ::-1], (0.0, LAP))
        if ways := {joints for joints in (forwards, tuple(-at for at in reversed(backwards))) if joints}:
            return sorted(ways)
    return []


def _filled(
    low: float, high: float, room: float, beside: float, barred: Floats, laps: tuple[float, float]
) -> tuple[float, ...]:
    """Joints by which each sheet is as full as can be, beginning at ``low``. Empty where a joint finds no place.

    ``laps`` are what the first and the last sheet have room for besides: how far they go on under another.
    """
    joints: list[float] = []
    start, (first, last) = low, laps
    while high + (last if joints else 0.0) - start > room:
        lap = LAP + beside if joints else first
        at = _free_below(min(start + room - lap, high - _LEAST), barred)
        if at is None or at < start + _LEAST:
            return ()
        joints.append(at)
        start = at
    return tuple(joints)


def _free_below(at: float, barred: Floats) -> float | None:
    """The largest place up to ``at`` that no barred stretch (n, 2) holds; None if all are."""
    for _ in range(len(barred) + 1):
        holding = barred[(barred[:, 0] < at - 1e-9) & (at + 1e-9 < barred[:, 1])]
        if not len(holding):
            return at
        at = float(holding[:, 0].min())
    return None


def _barred(drawing: Drawing, axis: int, clear: float) -> Floats:
    """The stretches (n, 2) of an axis (0: x; 1: y, counted downwards) in which a joint square to it may not lie."""
    holes = _holes(drawing)
    stretches = [stretch for mark in drawing.marks for stretch in _of_mark(mark, axis, mark in holes)]
    ends = np.array(stretches).reshape(-1, 2)
    widened: Floats = (-ends[:, ::-1] if axis == 1 else ends) + np.array([-clear, clear])
    return widened


def _holes(drawing: Drawing) -> Sequence[Mark]:
    """The closed cut lines but for the outermost."""
    lines = [mark for mark in drawing.marks if isinstance(mark, Curve | Line) and mark.role is Role.CUT_LINE]
    return sorted((mark for mark in lines if mark.closed), key=lambda mark: mark.box.width * mark.box.height)[:-1]


def _of_mark(mark: Mark, axis: int, hole: bool) -> Iterator[tuple[float, float]]:
    if isinstance(mark, Curve | Line) and mark.role in _LINES and not hole:
        points = _points(mark)
        chords = np.diff(points, axis=0)
        lengths = np.hypot(*chords.T)
        along = np.abs(chords[:, 1 - axis]) >= ALONG * lengths
        ends = np.sort(np.stack([points[:-1, axis], points[1:, axis]], axis=1), axis=1)
        yield from map(tuple, ends[along & (lengths > 0)].tolist())
    else:
        box = mark.box
        yield (box.left, box.right) if axis == 0 else (box.bottom, box.top)


def _points(mark: Curve | Line) -> Floats:
    points = flatten(mark.points, 0.5) if isinstance(mark, Curve) else mark.points
    return np.concatenate([points, points[:1]]) if mark.closed else points
