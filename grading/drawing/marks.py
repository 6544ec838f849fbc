"""The marks, in millimetres, from which every printed sheet and every picture is made."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from math import cos, hypot, sin
from typing import NamedTuple, Self

import numpy as np
from numpy.typing import ArrayLike

from grading.drawing.fonts import ASCENT, DESCENT, LINE_SPACING, text_width, wrapped
from grading.geometry.arrays import Floats

__all__ = [
    "Align",
    "Arrow",
    "Box",
    "Curve",
    "Dot",
    "Drawing",
    "Line",
    "Mark",
    "Role",
    "Text",
    "extent",
    "line",
    "paragraph",
    "rectangle",
]


#: Turns rows (x, y) to the left by a right angle.
_QUARTER_TURN = np.array([(0.0, 1.0), (-1.0, 0.0)])


class Role(StrEnum):
    """What a mark stands for; how it looks is the business of the styles."""

    OUTLINE = "outline"
    SEW_LINE = "sew line"
    CUT_LINE = "cut line"
    FOLD_LINE = "fold line"
    MIRROR_LINE = "mirror line"
    PLACEMENT_LINE = "placement line"
    REFERENCE_LINE = "reference line"
    NOTCH = "notch"
    PIERCING = "piercing"
    GRADE_POINT = "grade point"
    GRADE_PATH = "grade path"
    STACKING_POINT = "stacking point"
    MEASURE = "measure"
    MEASURE_LINE = "measure line"
    PILE = "pile"
    STRETCH = "stretch"
    LABEL = "label"
    LABEL_ON_LINE = "label on line"
    RULE = "rule"
    SHADE = "shade"
    BAR = "bar"
    FRAME = "frame"
    CHECK_BAR = "check bar"
    REGISTRATION = "registration"
    TRIM_LINE = "trim line"


class Align(StrEnum):
    """Which end of a text stands at its place."""

    LEFT = "left"
    CENTRE = "centre"
    RIGHT = "right"


_OTHER_END = {Align.LEFT: Align.RIGHT, Align.CENTRE: Align.CENTRE, Align.RIGHT: Align.LEFT}
#: How much of a text stands before its place.
_BEFORE = {Align.LEFT: 0.0, Align.CENTRE: -0.5, Align.RIGHT: -1.0}


class Box(NamedTuple):
    """An upright rectangle, in mm."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.top - self.bottom

    @property
    def centre(self) -> tuple[float, float]:
        return (self.left + self.right) / 2, (self.bottom + self.top) / 2

    def moved(self, dx: float, dy: float) -> Box:
        return Box(self.left + dx, self.bottom + dy, self.right + dx, self.top + dy)

    def turned(self) -> Box:
        """The box turned to the left by a quarter turn about (0, 0)."""
        return Box(-self.top, self.left, -self.bottom, self.right)

    def grown(self, by: float) -> Box:
        return Box(self.left - by, self.bottom - by, self.right + by, self.top + by)

    def contains(self, other: Box) -> bool:
        return (
            self.left <= other.left
            and self.bottom <= other.bottom
            and other.right <= self.right
            and other.top <= self.top
        )

    def overlaps(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        return (
            self.left < other.right and other.left < self.right and self.bottom < other.top and other.bottom < self.top
        )


@dataclass(frozen=True, eq=False)
class _Path:
    """A line of any form through ``points`` (x, y)."""

    points: Floats
    role: Role
    size: int | None = None
    closed: bool = False

    def _through(self, points: Floats) -> Self:
        return type(self)(points, self.role, self.size, self.closed)

    def moved(self, dx: float, dy: float) -> Self:
        return self._through(self.points + np.array([dx, dy]))

    def mirrored(self) -> Self:
        return self._through(self.points * np.array([-1, 1]))

    def turned(self) -> Self:
        return self._through(self.points @ _QUARTER_TURN)

    def scaled(self, by: float) -> Self:
        return self._through(self.points * by)


class Curve(_Path):
    """Joined cubic Bézier segments: ``points`` (n, 4, 2), each segment starting where the one before it ends."""

    @cached_property
    def box(self) -> Box:
        """The exact extent: reached at a segment's end or where its derivative vanishes."""
        first, second, third = np.moveaxis(np.diff(self.points, axis=1), 1, 0)
        a, b = first - 2 * second + third, 2 * (second - first)
        with np.errstate(divide="ignore", invalid="ignore"):
            q = -(b + np.copysign(np.sqrt(b * b - 4 * a * first), b)) / 2
            turning = np.stack([q / a, first / q])
        t = np.clip(np.nan_to_num(turning, nan=0.0), 0, 1)
        u = 1 - t
        p0, p1, p2, p3 = np.moveaxis(self.points, 1, 0)
        at_turning = u**3 * p0 + 3 * u**2 * t * p1 + 3 * u * t**2 * p2 + t**3 * p3
        return extent(np.concatenate([at_turning.reshape(-1, 2), p0, p3]))


class Line(_Path):
    """Straight lines through ``points`` (n, 2)."""

    @cached_property
    def box(self) -> Box:
        return extent(self.points)


@dataclass(frozen=True)
class Text:
    """One line of text on a baseline through (x, y), turned by ``angle`` radians about that place.

    ``height`` is that of its capitals, in mm.
    """

    text: str
    x: float
    y: float
    height: float = 2.5
    role: Role = Role.LABEL
    align: Align = Align.LEFT
    angle: float = 0.0
    bold: bool = False
    size: int | None = None

    @property
    def width(self) -> float:
        return text_width(self.text, self.height, self.bold)

    @property
    def indent(self) -> float:
        """From the place to where the text begins, along the baseline."""
        return _BEFORE[self.align] * self.width

    @cached_property
    def corners(self) -> Floats:
        """The corners (4, 2) of the rectangle that the text fills, anticlockwise from where it begins."""
        return np.array(self._corners())

    @cached_property
    def box(self) -> Box:
        if not self.angle:
            width, height = self.width, self.height
            left = self.x + _BEFORE[self.align] * width
            return Box(left, self.y - DESCENT * height, left + width, self.y + ASCENT * height)
        across, up = zip(*self._corners(), strict=True)
        return Box(min(across), min(up), max(across), max(up))

    def _corners(self) -> list[tuple[float, float]]:
        # In plain figures: there are thousands of texts, and arrays of four points cost more than they save.
        width = self.width
        left = _BEFORE[self.align] * width
        right = left + width
        bottom, top = -DESCENT * self.height, ASCENT * self.height
        c, s, x, y = cos(self.angle), sin(self.angle), self.x, self.y
        upright = ((left, bottom), (right, bottom), (right, top), (left, top))
        return [(x + along * c - above * s, y + along * s + above * c) for along, above in upright]

    def saying(self, text: str, x: float, y: float) -> Text:
        """Another text at another place, in the same letters."""
        # Spelled out, since it is done for tens of thousands of labels: 'replace' takes three times as long.
        return Text(text, x, y, self.height, self.role, self.align, self.angle, self.bold, self.size)

    def at(self, x: float, y: float) -> Text:
        """The text at another place."""
        return self.saying(self.text, x, y)

    def moved(self, dx: float, dy: float) -> Text:
        return self.at(self.x + dx, self.y + dy)

    def scaled(self, by: float) -> Text:
        """The text at its place in the scaled drawing, in letters as large as before."""
        return self.at(self.x * by, self.y * by)

    def mirrored(self) -> Text:
        """The text at the mirrored place, on the mirrored baseline, and still readable."""
        return replace(self, x=-self.x, angle=-self.angle, align=_OTHER_END[self.align])._readable()

    def turned(self) -> Text:
        """The text on the baseline turned to the left by a quarter turn, and still readable."""
        return replace(self, x=-self.y, y=self.x, angle=self.angle + np.pi / 2)._readable()

    def _readable(self) -> Text:
        """The text read from the bottom or the right edge of the sheet (ISO 129-1): turned half about if it is not."""
        c, s = cos(self.angle), sin(self.angle)
        if c > 1e-9 or (c > -1e-9 and s > 0):
            return self
        # The rectangle that it fills stays where it is, so that the baseline moves to its other side.
        up = (ASCENT - DESCENT) * self.height
        x, y = self.x - up * s, self.y + up * c
        return replace(self, x=x, y=y, angle=self.angle - np.pi, align=_OTHER_END[self.align])


@dataclass(frozen=True, eq=False)
class Arrow:
    """A straight arrow from ``start`` to ``end`` (x, y), with a head at its end or at both."""

    start: tuple[float, float]
    end: tuple[float, float]
    role: Role
    both: bool = False
    head: float = 4.0
    size: int | None = None

    @cached_property
    def heads(self) -> Floats:
        """The triangles (1 or 2, 3, 2) of the heads, tip first; each a third as wide as long."""
        (ax, ay), (bx, by) = self.start, self.end
        far = hypot(bx - ax, by - ay)
        x, y = (bx - ax) / far * self.head, (by - ay) / far * self.head
        u, v = -y / 6, x / 6
        head = [(bx, by), (bx - x + u, by - y + v), (bx - x - u, by - y - v)]
        other = [(ax, ay), (ax + x + u, ay + y + v), (ax + x - u, ay + y - v)]
        return np.array([head, other] if self.both else [head])

    @property
    def shaft(self) -> Floats:
        """The line (2, 2) between the heads, or from the start to the one head."""
        tails = self.heads[:, 1:].mean(axis=1)
        return np.array([tails[1] if self.both else self.start, tails[0]])

    @cached_property
    def box(self) -> Box:
        return extent(np.concatenate([self.heads.reshape(-1, 2), [self.start]]))

    def moved(self, dx: float, dy: float) -> Arrow:
        return self._with_ends(lambda x, y: (x + dx, y + dy))

    def mirrored(self) -> Arrow:
        return self._with_ends(lambda x, y: (-x, y))

    def turned(self) -> Arrow:
        return self._with_ends(lambda x, y: (-y, x))

    def scaled(self, by: float) -> Arrow:
        """The arrow between its places in the scaled drawing, its head as large as before."""
        return self._with_ends(lambda x, y: (x * by, y * by))

    def _with_ends(self, place: Callable[[float, float], tuple[float, float]]) -> Arrow:
        """The arrow from where its start comes to lie to where its end does."""
        return Arrow(place(*self.start), place(*self.end), self.role, self.both, self.head, self.size)


@dataclass(frozen=True)
class Dot:
    """A round point mark."""

    x: float
    y: float
    role: Role = Role.GRADE_POINT
    radius: float = 0.5
    size: int | None = None

    @property
    def box(self) -> Box:
        return Box(self.x, self.y, self.x, self.y).grown(self.radius)

    def moved(self, dx: float, dy: float) -> Dot:
        return Dot(self.x + dx, self.y + dy, self.role, self.radius, self.size)

    def mirrored(self) -> Dot:
        return replace(self, x=-self.x)

    def turned(self) -> Dot:
        return replace(self, x=-self.y, y=self.x)

    def scaled(self, by: float) -> Dot:
        """The dot at its place in the scaled drawing, as large as before."""
        return replace(self, x=self.x * by, y=self.y * by)


Mark = Curve | Line | Text | Arrow | Dot


@dataclass(frozen=True, eq=False)
class Drawing:
    """Marks in the order in which they are drawn, in one frame of millimetres, y up."""

    marks: tuple[Mark, ...] = ()

    def __add__(self, other: Drawing) -> Drawing:
        return Drawing(self.marks + other.marks)._known(_around, self, other)

    @cached_property
    def box(self) -> Box:
        """The smallest box around all marks (lines taken without their width). Raises ValueError if empty."""
        return _around(*(mark.box for mark in self.marks))

    def moved(self, dx: float, dy: float) -> Drawing:
        return Drawing(tuple(mark.moved(dx, dy) for mark in self.marks))._known(lambda box: box.moved(dx, dy), self)

    def mirrored(self) -> Drawing:
        """The mirror image about x = 0; texts stay readable."""
        return Drawing(tuple(mark.mirrored() for mark in self.marks))

    def turned(self) -> Drawing:
        """The drawing turned to the left by a quarter turn about (0, 0)."""
        return Drawing(tuple(mark.turned() for mark in self.marks))._known(Box.turned, self)

    def scaled(self, by: float) -> Drawing:
        """The drawing at another scale about (0, 0); letters, dots and heads of arrows stay as large as they are."""
        return Drawing(tuple(mark.scaled(by) for mark in self.marks))

    def _known(self, box: Callable[..., Box], *drawings: Drawing) -> Drawing:
        """This drawing, its box taken from those it was made of where they are known: finding it anew takes long."""
        boxes = [vars(drawing).get("box") for drawing in drawings if drawing.marks]
        if boxes and None not in boxes:
            vars(self)["box"] = box(*boxes)
        return self


def line(points: ArrayLike, role: Role, size: int | None = None, closed: bool = False) -> Line:
    """A line through points given in any form that makes an array (n, 2).

    >>> line([(0, 0), (3, 4)], Role.RULE).box
    Box(left=0.0, bottom=0.0, right=3.0, top=4.0)
    """
    return Line(np.asarray(points, dtype=float), role, size, closed)


def rectangle(box: Box, role: Role) -> Line:
    """The outline of a box."""
    corners = [(box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top)]
    return line(corners, role, closed=True)


def paragraph(texts: Iterable[str], left: float, top: float, width: float, style: Text) -> Drawing:
    """Texts one below the other, each wrapped onto lines no wider than ``width`` mm.

    The first line's box touches ``top``. Height, role, weight and the like are taken from ``style``.
    """
    lines = [part for text in texts for part in wrapped(text, width, style.height, style.bold)]
    first = top - ASCENT * style.height
    step = LINE_SPACING * style.height
    return Drawing(tuple(style.saying(part, left, first - i * step) for i, part in enumerate(lines)))


def _around(*boxes: Box) -> Box:
    left, bottom, right, top = zip(*boxes, strict=True)
    return Box(min(left), min(bottom), max(right), max(top))


def extent(points: Floats) -> Box:
    """The smallest box around points (n, 2)."""
    across, up = zip(*points.tolist(), strict=True)  # most are of two: reducing arrays takes several times as long
    return Box(min(across), min(up), max(across), max(up))
