"""Pieces and notes on as few sheets as can be: whole where they fit, else parted, and the rest where there is room."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import permutations, product
from math import ceil

from grading.drawing.joints import Cell, Parting, partings
from grading.drawing.marks import Box, Drawing
from grading.drawing.paper import LINE_ROOM

__all__ = ["BETWEEN", "TRIM", "Layout", "Portion", "Thing", "in_one", "laid"]

#: What is left free between things on a sheet, mm.
BETWEEN = 4.0
#: The strip beside a joint on which stands what belongs to it, outside of what is kept, mm.
TRIM = 4.5
#: How many ways of parting each thing are tried together, and up to how many whole things in every order.
_MOST_WAYS, _ALL_ORDERS = 8, 6

#: Lengths that differ by less are the same, mm.
_NONE = 1e-9

Sides = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Thing:
    """What is to be laid on sheets, in one of its ``forms``, the most welcome first; ``parts`` if it may be parted.

    ``finish`` draws what cannot be drawn before it is known in which form (counted from 0) and how parted a thing lies.
    """

    name: str
    forms: tuple[Drawing, ...]
    parts: bool = False
    finish: Callable[[int, Parting], Drawing] | None = None

    @classmethod
    def piece(cls, name: str, drawing: Drawing) -> Thing:
        """A piece at true scale: it may be turned by a right angle, and parted."""
        return cls(name, (drawing, drawing.turned()), parts=True)

    def drawn(self, form: int, parting: Parting) -> Drawing:
        """The thing as it is drawn in one of its forms, parted so."""
        return self.finish(form, parting) if self.finish else self.forms[form]


@dataclass(frozen=True)
class Portion:
    """A thing's share on a sheet: which thing, in which of its forms, its parting, its cell, and where that lies.

    ``place`` is the box on the sheet (mm from the corner of its area) of what the sheet shows of it.
    """

    thing: int
    form: int
    parting: Parting
    cell: Cell
    place: Box


@dataclass(frozen=True)
class Layout:
    """The sheets: for each whether it is the lying one, and what lies on it."""

    lying: tuple[bool, ...]
    sheets: tuple[tuple[Portion, ...], ...]


def laid(things: Sequence[Thing], upright: Sides, lying: Sides) -> Layout:
    """The things on as few sheets as were found; ``upright`` and ``lying`` say how wide and high a sheet's area is, mm.

    Parted things come first, each cell on a sheet of its own and in its corner; then the others where there is room.
    Raises ValueError where a thing fits no sheet, whole or parted.
    """
    sides = (upright, lying)
    ways = [_ways(thing, sides) for thing in things]
    areas = [thing.forms[0].box.width * thing.forms[0].box.height for thing in things]
    order = sorted(range(len(things)), key=lambda i: (-areas[i], i))
    parted = [i for i in order if not ways[i][0].parting.whole]
    whole = [i for i in order if ways[i][0].parting.whole]
    orders = list(permutations(whole)) if len(whole) <= _ALL_ORDERS else [tuple(whole)]
    least = max(sum(len(ways[i][0].parting.cells) for i in parted), ceil(sum(areas) / (upright[0] * upright[1])), 1)
    best: _Sheets | None = None
    for begun, new, sequence in product(_parted(parted, ways, sides), (0, 1), orders):
        sheets = begun.copy()
        for i in sequence:
            sheets.put(i, ways[i], new)
            if best is not None and len(sheets.shares) >= len(best.shares):
                break
        else:
            best = sheets
            if len(best.shares) == least:
                break
    assert best is not None
    return Layout(tuple(bool(kind) for kind in best.kinds), tuple(tuple(sheet) for sheet in best.shares))


def _parted(parted: Sequence[int], ways: Sequence[Sequence[_WayToLie]], sides: Sequence[Sides]) -> Iterator[_Sheets]:
    """The sheets that the things to be parted take, in every way that they go."""
    for chosen in product(*(ways[i] for i in parted)):
        sheets = _Sheets(sides)
        for i, way in zip(parted, chosen, strict=True):
            sheets.part(i, way)
        yield sheets


def in_one(things: Sequence[Thing], widest: float) -> tuple[Layout, float, float]:
    """All things whole on one sheet no wider than ``widest`` mm if they go, and the width and height that it takes."""
    boxes = [thing.forms[0].box.grown(LINE_ROOM) for thing in things]
    widest, far = max(widest, *(box.width for box in boxes)), 1e5
    sheets = _Sheets(((widest, far), (widest, far)))
    for i in sorted(range(len(things)), key=lambda i: (-boxes[i].height, i)):
        sheets.put(i, [_WayToLie(0, 0, Parting(boxes[i]))], 0)
    (shares,) = sheets.shares
    width = max(share.place.right for share in shares)
    height = far - min(share.place.bottom for share in shares)
    lower = height - far
    down = tuple(replace(share, place=share.place.moved(0, lower)) for share in shares)
    return Layout((False,), (down,)), width, height


@dataclass(frozen=True)
class _WayToLie:
    """One way for a thing to lie: on the upright (0) or the lying sheet (1), in which form, and how it is parted."""

    kind: int
    form: int
    parting: Parting


def _ways(thing: Thing, sides: Sequence[Sides]) -> list[_WayToLie]:
    """The ways of a thing that take the fewest cells; every sheet that holds it whole, else the partings.

    Raises ValueError where there is none.
    """
    forms = [(drawing, drawing.box.grown(LINE_ROOM)) for drawing in thing.forms]
    every = [(form, kind) for form in range(len(forms)) for kind in range(len(sides))]
    ways = [
        _WayToLie(kind, form, Parting(forms[form][1]))
        for form, kind in every
        if forms[form][1].width <= sides[kind][0] and forms[form][1].height <= sides[kind][1]
    ]
    if not ways and thing.parts:
        ways = [
            _WayToLie(kind, form, one) for form, kind in every for one in partings(*forms[form], *sides[kind], TRIM)
        ]
    if not ways:
        (width, height), *_ = sides
        raise ValueError(f"'{thing.name}' goes on no sheet of {width:.0f} × {height:.0f} mm")
    least = min(len(way.parting.cells) for way in ways)
    return [way for way in ways if len(way.parting.cells) == least][:_MOST_WAYS]


class _Sheets:
    """Sheets in the making: the kind of each and what lies on it."""

    def __init__(self, sides: Sequence[Sides]) -> None:
        self._sides = sides
        self.kinds: list[int] = []
        self.shares: list[list[Portion]] = []
        #: What each share on a sheet takes up, with what stands beside its joints.
        self._taken: list[list[Box]] = []

    def copy(self) -> _Sheets:
        copied = _Sheets(self._sides)
        copied.kinds = [*self.kinds]
        copied.shares, copied._taken = [[*one] for one in self.shares], [[*one] for one in self._taken]
        return copied

    def part(self, thing: int, way: _WayToLie) -> None:
        """Every cell of a parted thing on a new sheet of its own, in the corner that lies outermost."""
        for cell in way.parting.cells:
            shown = way.parting.shown(cell)
            width, height = shown.width + TRIM * (cell.column > 0), shown.height + TRIM * (cell.row > 0)
            _, up = self._sides[way.kind]
            self.kinds.append(way.kind)
            share = Portion(thing, way.form, way.parting, cell, Box(0, up - height, width, up))
            self.shares.append([share])
            self._taken.append([_with_joints(share)])

    def put(self, thing: int, ways: Sequence[_WayToLie], new: int) -> None:
        """A whole thing on the first sheet that has room for it, or on a new one of a kind that holds it."""
        for number in range(len(self.shares)):
            if self._take(number, thing, ways):
                return
        kinds = {way.kind for way in ways}
        self.kinds.append(new if new in kinds else min(kinds))
        self.shares.append([])
        self._taken.append([])
        self._take(len(self.shares) - 1, thing, ways)

    def _take(self, number: int, thing: int, ways: Sequence[_WayToLie]) -> bool:
        """The place that lies highest and then furthest left on a sheet, if there is one."""
        width, height = self._sides[self.kinds[number]]
        taken = self._taken[number]
        near = BETWEEN - _NONE
        lefts = sorted({0.0, *(other.right + BETWEEN for other in taken)})
        tops = sorted({height, *(other.bottom - BETWEEN for other in taken)}, reverse=True)
        for way in ways:
            if way.kind != self.kinds[number]:
                continue
            wide, high = way.parting.box.width, way.parting.box.height
            for top, left in product(tops, lefts):
                # Thousands of places are tried: a box is made of the one that is free.
                if top < high - _NONE or left + wide > width + _NONE:
                    continue
                west, east, south, north = left - near, left + wide + near, top - high - near, top + near
                for x0, y0, x1, y1 in taken:
                    if x0 < east and west < x1 and y0 < north and south < y1:
                        break
                else:
                    place = Box(left, top - high, left + wide, top)
                    self.shares[number].append(Portion(thing, way.form, way.parting, way.parting.cells[0], place))
                    taken.append(place)
                    return True
        return False


def _with_joints(share: Portion) -> Box:
    """What a share takes up on its sheet, with what stands beside its joints."""
    box, last = share.place, share.parting.cells[-1]
    right = TRIM if share.cell.column < last.column else 0.0
    below = TRIM if share.cell.row < last.row else 0.0
    return Box(box.left, box.bottom - below, box.right + right, box.top)
