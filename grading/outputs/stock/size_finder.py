"""The size finder: tapes to cut out, true to scale, that tell a size round a fist or, for closed tops, along a hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count, takewhile
from math import pi

from grading.drawing.composing import on_sheets
from grading.drawing.fonts import ASCENT, DESCENT, text_width
from grading.drawing.marks import Align, Arrow, Box, Drawing, Mark, Role, Text, line, paragraph, rectangle
from grading.drawing.pages import PageContent, TitleBlock, frames
from grading.drawing.paper import LINE_ROOM, Printing
from grading.drawing.system import LARGE, PLAIN, SMALL
from grading.stock.fits import Fit, Fits
from grading.units import show

__all__ = ["FIST", "LENGTH", "Taking", "finder_sheets", "tapes"]

_TEXT, _WORDS = Text("", 0, 0, SMALL), Text("", 0, 0, PLAIN)
_HEADING = Text("", 0, 0, LARGE, bold=True)
#: The height of a track whose sizes stand upright, and of the scale below the tracks, mm.
_TRACK, _SCALE = 7.0, 7.0
#: What a number of the scale stands for, by the unit of the figures, mm.
_NUMBERED = {"mm": 10.0, "cm": 10.0, "in": 25.4}
#: What is left beyond the last size, to hold it by; round a text in its place; and of the arrow at the zero line, mm.
_BEYOND, _ROUND, _ARROW = 6.0, 0.5, 9.0
#: Between a name and its sizes, between two parts of a tape, and how far one lies over the other, mm.
_BESIDE, _APART, _LAP = 1.5, 4.0, 15.0
#: The least width of words that is worth reading, mm.
_NARROWEST = 55.0


@dataclass(frozen=True, slots=True)
class Taking:
    """How a hand is taken with a tape: in words ``on_tape`` beside its zero line, ``below`` it, and what is told."""

    heading: str
    on_tape: str
    below: str
    scale: str
    edge: str


FIST = Taking(
    "Size finder",
    "Bare larger hand, a fist, thumb held away. Lay the tape round the knuckles, snug, this end on top, and read where "
    "this edge lies. Between two sizes take the larger.",
    "Bare larger hand, a fist, thumb held away. Lay the tape round the knuckles, snug, the end marked 0 on top, and "
    "read where its edge lies. Between two sizes take the larger.",
    "girth",
    "sizes are read at that edge",
)
LENGTH = Taking(
    "Length rule",
    "Bare larger hand, flat, fingers together. Lay this end at the wrist's crease and read at the tip of the longest "
    "finger. Between two sizes take the larger.",
    "Bare larger hand, flat, fingers together. Lay the end marked 0 at the wrist's crease and read at the tip of the "
    "longest finger. If fist and length say two sizes, take the larger.",
    "length",
    "lengths begin at that edge",
)


@dataclass(frozen=True, slots=True)
class _Track:
    """A group's sizes on the tape between two heights; they are ``turned`` where they are wider than their room.

    The group's name stands before its sizes, or ``behind`` them where there is no room.
    """

    fits: Fits
    bottom: float
    top: float
    height: float
    turned: bool

    @property
    def least(self) -> float:
        return self.fits.sizes[0].least

    @property
    def most(self) -> float:
        return self.fits.sizes[-1].most

    @property
    def name_width(self) -> float:
        return text_width(self.fits.group, PLAIN) + _BESIDE

    @property
    def behind(self) -> bool:
        return self.least - self.name_width < _ARROW + _BESIDE

    @property
    def left(self) -> float:
        """Where the track begins, its name counted."""
        return self.least if self.behind else self.least - self.name_width

    @property
    def right(self) -> float:
        return self.most + self.name_width if self.behind else self.most


def finder_sheets(
    groups: Sequence[Fits], room: float, printing: Printing, title: TitleBlock, taking: Taking = FIST, unit: str = "mm"
) -> list[PageContent]:
    """The tape, with what to do, on its sheet.

    ``room`` (mm) is what is left to move in where a size ends by its ease. The scale is in inches where that is the
    ``unit``, else in centimetres.
    """
    area = frames(printing, title)[1].area
    longest = area.width - 2 * LINE_ROOM
    strips = tapes(groups, longest, taking, unit)
    if not strips:
        return []
    drawing = paragraph([f"{taking.heading} by {groups[0].by}"], 0, 0, longest, _HEADING)
    for strip in strips:
        drawing += strip.moved(-strip.box.left, drawing.box.bottom - _APART)
    told = [
        taking.below,
        f"The row of the group tells the size; the scale below the rows is the {taking.scale} in "
        f"{'inches' if unit == 'in' else 'centimetres'}.",
        f"Cut along the wide lines, and the end marked 0 just on its line: {taking.edge}.",
    ]
    if any(strip.box.left < 0 or strip.box.left > LINE_ROOM for strip in strips):
        told.append("Glue the parts of a tape so that the edge of the second lies on the line of the first.")
    short = [fits.group for fits in groups if fits.by_ease]
    if short:
        told.append(
            f"{' and '.join(short)}: a size ends before it is half-way to the next, where its ease would leave the "
            f"fist less than {show(room, unit)} {unit} to move."
        )
    told = [f"{number}. {text}" for number, text in enumerate(told, 1)]
    words = paragraph(told, 0, drawing.box.bottom - _APART, longest, _WORDS)
    return on_sheets(drawing + words, printing, title, taking.heading)


def tapes(groups: Sequence[Fits], longest: float, taking: Taking = FIST, unit: str = "mm") -> list[Drawing]:
    """A tape with a track for each group, below y = 0 and to the right: every girth lies at its own length in mm.

    One of more than ``longest`` mm is in two parts, the second of which lies over the first from its line on; where
    that is not enough, each group has a tape of its own, and none whose sizes alone are longer.
    """
    tracks = list(_tracks(groups))
    end = max(track.right for track in tracks) + _BEYOND
    numbered = _NUMBERED[unit]
    if end <= longest:
        return [_tape(tracks, 0.0, end, taking, numbered)]
    joint = min(track.left for track in tracks) - _LAP - 2 * _BESIDE
    if joint > _ARROW and end - joint <= longest and joint + _LAP <= longest:
        first = _tape(tracks, 0.0, joint + _LAP, taking, numbered, joint)
        return [first, _tape(tracks, joint, end, taking, numbered)]
    return [tape for fits in groups for tape in tapes([fits], longest, taking, unit)] if len(groups) > 1 else []


def _tape(
    tracks: Sequence[_Track], start: float, end: float, taking: Taking, numbered: float, joint: float | None = None
) -> Drawing:
    """What lies on a tape between two lengths; from the ``joint`` on the next part lies over it.

    Its scale has a number at every ``numbered`` mm.
    """
    bottom = tracks[-1].bottom - _SCALE
    drawing = Drawing((rectangle(Box(start, bottom, end, 0), Role.CUT_LINE),))
    if start == 0.0:
        drawing += _zero(bottom, min(joint or end, *(track.left for track in tracks)) - _BESIDE, taking)
    if joint is not None:
        under = Text("goes under", joint + _LAP / 2 + 0.9, bottom / 2, SMALL, align=Align.CENTRE, angle=pi / 2)
        return drawing + Drawing((line([(joint, bottom), (joint, 0)], Role.TRIM_LINE), under))
    tracked = tuple(mark for track in tracks for mark in _track(track, end))
    first = max(min(track.least for track in tracks) - numbered, start + numbered) // numbered
    return drawing + Drawing((*tracked, *_scale(bottom, int(first), numbered, end)))


def _zero(bottom: float, words_end: float, taking: Taking) -> Drawing:
    """The arrow to the edge where sizes are read, and what to do, where there is room for it."""
    middle = bottom / 2
    arrow = Arrow((_ARROW, middle), (0.6, middle), Role.MEASURE)
    zero = replace(_TEXT, text="0", x=1.2, y=bottom + 1.0, bold=True)
    width = words_end - _ARROW - 2
    words = paragraph([taking.on_tape], _ARROW + 2, 0, max(width, 1.0), replace(_TEXT, bold=True))
    if width < _NARROWEST or words.box.height > -bottom - 1:
        return Drawing((arrow, zero))
    return Drawing((arrow, zero)) + words.moved(0, middle + words.box.height / 2)


def _tracks(groups: Sequence[Fits]) -> Iterator[_Track]:
    top = 0.0
    for fits in groups:
        height = next((h for h in (PLAIN, SMALL) if all(_upright(fit, h) for fit in fits.sizes)), 0.0)
        longest = max(text_width(fit.size, SMALL, bold=True) for fit in fits.sizes)
        high = _TRACK if height else max(_TRACK, longest + 2 * _ROUND)
        yield _Track(fits, top - high, top, height or SMALL, not height)
        top -= high


def _upright(fit: Fit, height: float) -> bool:
    """Whether a size's name has room between its ends in letters of that height."""
    return text_width(fit.size, height, bold=True) + 2 * _ROUND <= fit.most - fit.least


def _track(track: _Track, end: float) -> Iterator[Mark]:
    """A group's name, its sizes between their ends, and the line below it."""
    middle = (track.bottom + track.top) / 2
    low = middle - (ASCENT - DESCENT) * PLAIN / 2
    at, align = (track.most + _BESIDE, Align.LEFT) if track.behind else (track.least - _BESIDE, Align.RIGHT)
    yield replace(_WORDS, text=track.fits.group, x=at, y=low, align=align)
    for at in (track.least, *(fit.most for fit in track.fits.sizes)):
        yield line([(at, track.bottom), (at, track.top)], Role.NOTCH)
    for fit in track.fits.sizes:
        x, drift = (fit.least + fit.most) / 2, (ASCENT - DESCENT) * track.height / 2
        name = Text(fit.size, x, 0, track.height, align=Align.CENTRE, bold=True)
        if track.turned:
            yield replace(name, x=x + drift, y=middle, angle=pi / 2)
        else:
            yield replace(name, y=middle - drift)
    yield line([(track.least, track.bottom), (end, track.bottom)], Role.RULE)


def _scale(bottom: float, first: int, numbered: float, end: float) -> Iterator[Mark]:
    """Numbers along the lower edge from the first on, ``numbered`` mm apart, with a tick at each half."""
    for half in takewhile(lambda half: half * numbered / 2 < end, count(2 * first)):
        at, whole = half * numbered / 2, half % 2 == 0
        yield line([(at, bottom), (at, bottom + (2.4 if whole else 1.5))], Role.RULE)
        if whole and at + 4 < end:
            yield replace(_TEXT, text=str(half // 2), x=at, y=bottom + 3.4, align=Align.CENTRE)
