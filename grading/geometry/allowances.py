"""The areas that seam allowances take up: a band along every segment of a sew line, a patch at its outer joints."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.geometry.arrays import Floats
from grading.geometry.beziers import directions_at, points_at
from grading.geometry.directions import left_of, turn_into
from grading.geometry.flattening import extreme_bends, flatten, parameters, steps_within

__all__ = [
    "DECIMALS",
    "FLATNESS",
    "GRID",
    "MITRE_LIMIT",
    "SMOOTH",
    "SewEdge",
    "SewLine",
    "areas",
    "ends_in_step",
    "sampled",
]

#: Greatest distance in mm of the cut line's chords from the true curve, and of the sew polygon's from its own.
FLATNESS = 0.004

#: A mitre reaches at most so many times the wider allowance from its corner and is squared off there: corners
#: of 60° and more between equal allowances stay pointed.
MITRE_LIMIT = 2.0

#: Coordinates are rounded to so many decimals (mm): areas that share a line then share it exactly.
DECIMALS = 6
GRID = 10.0**-DECIMALS

#: A joint that turns by less (radians) is smooth; splines are smooth to 1e-12.
SMOOTH = 1e-5

#: Edges whose ends are further apart (mm) make no loop.
CLOSURE = 1e-6

#: How far (mm) the patch of a step bites into the wider band, so that no slit is left between the two.
BITE = 0.01

#: A step at an inner corner stands clear of the neighbour's cut line if this (the tangent of 14°) is open between
#: them: nobody cuts a narrower slit.
SLIT = 0.25

#: Near a cusp, where the curvature has no bound, chords are cut as for a bend with the allowance over this as its
#: radius.
SHARPEST = 1e4


@dataclass(frozen=True, eq=False)
class SewEdge:
    """One edge of a sew line: its Bézier segments (n, 4, 2) in mm, in order, and its allowance in mm, ≥ 0."""

    beziers: Floats
    allowance: float


@dataclass(frozen=True, eq=False)
class SewLine:
    """A closed sew line by segment, sampled finely enough for its cut line.

    Per segment: ``beziers`` (n, 4, 2), its extreme ``bends`` and where these are, ``bends_at`` (n, 7), ``edge`` (n,),
    ``allowance`` (n,), the unit tangents at its ends, ``leaving`` and ``arriving`` (n, 2), and ``turn`` (n,), the angle
    from its end into the next segment, positive at an outer corner. ``side`` is 1 where the allowance lies on the
    right, −1 where on the left.

    Per sample, each segment from its start to its end: ``points`` (m, 2) on the sew line and ``shifted`` (m, 2)
    at the allowance's distance; segment i has samples ``first[i]`` to ``last[i]``, both included.
    """

    beziers: Floats
    bends: Floats
    bends_at: Floats
    edge: NDArray[np.intp]
    allowance: Floats
    leaving: Floats
    arriving: Floats
    turn: Floats
    side: float
    points: Floats
    shifted: Floats
    first: NDArray[np.intp]
    last: NDArray[np.intp]

    @property
    def polygon(self) -> Floats:
        """The sew polygon (k, 2): all samples but each segment's last, which is the next one's first."""
        return np.delete(self.points, self.last, axis=0)


def sampled(edges: Sequence[SewEdge], *, outwards: bool) -> SewLine:
    """The sew line of consecutive edges, with the allowance outside the loop, or inside it.

    Raises ValueError if an allowance is negative or the edges do not join up into one loop.
    """
    beziers = np.concatenate([edge.beziers for edge in edges])
    counts = [len(edge.beziers) for edge in edges]
    allowance = np.repeat([float(edge.allowance) for edge in edges], counts)
    if not (allowance >= 0).all():
        raise ValueError("an allowance is negative or not a number")
    following = np.roll(beziers, -1, axis=0)
    if np.abs(following[:, 0] - beziers[:, 3]).max() > CLOSURE:
        raise ValueError("the edges do not join up into one closed loop")

    anticlockwise = shapely.LinearRing(flatten(beziers, FLATNESS)).is_ccw
    side = 1.0 if anticlockwise == outwards else -1.0
    bends, bends_at = extreme_bends(beziers)
    arc = 1 + np.clip((side * bends).max(axis=1) * allowance, 0, SHARPEST)
    steps = steps_within(beziers, FLATNESS / arc)
    last = np.cumsum(steps + 1) - 1
    first = last - steps
    after = np.roll(first, -1)

    segment, t = parameters(steps)
    points = points_at(beziers[segment], t).round(DECIMALS)
    points[last] = points[after]
    directions = directions_at(beziers[segment], t)
    leaving, arriving = directions[first], directions[last]
    turn = side * turn_into(arriving, directions[after])
    smooth = np.abs(turn) <= SMOOTH
    directions[last[smooth]] = directions[after[smooth]]
    shifted = (points - side * allowance[segment, None] * left_of(directions)).round(DECIMALS)
    edge = np.repeat(np.arange(len(edges)), counts)
    return SewLine(
        beziers, bends, bends_at, edge, allowance, leaving, arriving, turn, side, points, shifted, first, last
    )


def ends_in_step(wide: float, narrow: float, turn: float) -> bool:
    """Whether an allowance ends in a square step at a joint that turns by so much into a narrower one.

    It does unless the two cut lines meet beyond its end, or so little before it, at an inner corner, that the
    step would leave a slit.

    >>> ends_in_step(6, 3, 0.0), ends_in_step(6, 3, np.radians(59)), ends_in_step(6, 3, np.radians(61))
    (True, True, False)
    """
    return bool(narrow < wide * (np.cos(turn) - SLIT * max(0.0, -np.sin(turn))))


def areas(line: SewLine) -> list[shapely.Polygon]:
    """The polygons that together are the line's allowances.

    They overlap or share lines, and cross the sew line where an inner corner or a narrow bay has less room than
    they take.
    """
    return [*_bands(line), *_patches(line)]


def _bands(line: SewLine) -> Iterator[shapely.Polygon]:
    """The band of every segment with an allowance, between the sew line and its samples' shifted images.

    A segment that bends more tightly than its allowance, or right round, has a band that crosses itself; it is
    made of its cells, chord by chord, instead.
    """
    wide = line.allowance > 0
    for first, last in zip(line.first[wide], line.last[wide], strict=True):
        points, shifted = line.points[first : last + 1], line.shifted[first : last + 1]
        band = shapely.Polygon(np.concatenate([points, shifted[::-1]]))
        if band.is_valid:
            yield band
        else:
            for cell in np.stack([points[:-1], points[1:], shifted[1:], shifted[:-1]], axis=1):
                yield from _convex(cell)


def _patches(line: SewLine) -> Iterator[shapely.Polygon]:
    """A patch for every joint whose bands leave a gap between them, or could leave a slit.

    Seen from the joint, the bands end in caps along the normals of the two segments. At an outer corner the two
    cut lines are prolonged until they meet: a mitre. Where the narrower one meets the wider one's cap first,
    the corner is too shallow for a mitre, and the cap is the step. At an inner corner the bands overlap, unless
    the step would leave a slit.
    """
    for i, turn in enumerate(line.turn):
        j = (i + 1) % len(line.turn)
        at, a, b = line.points[line.first[j]], line.allowance[i], line.allowance[j]
        end, start = line.shifted[line.last[i]], line.shifted[line.first[j]]
        arriving, leaving = line.arriving[i], line.leaving[j]
        cosine, outer = np.cos(turn), turn >= -SMOOTH
        if ends_in_step(a, b, turn):
            if outer:
                meeting = at + (end - at) * b / (a * cosine)
                yield from _convex(np.array([at, start, meeting, meeting - BITE * arriving]))
        elif ends_in_step(b, a, turn):
            if outer:
                meeting = at + (start - at) * a / (b * cosine)
                yield from _convex(np.array([at, end, meeting, meeting + BITE * leaving]))
        elif abs(turn) > SMOOTH and (outer or min(a, b) < max(a, b) * cosine):
            tip = end + arriving * (b - a * cosine) / np.sin(turn)
            yield from _convex(np.array([at, end, *_mitre(at, end, tip, start, max(a, b)), start]))


def _mitre(at: Floats, end: Floats, tip: Floats, start: Floats, wider: float) -> list[Floats]:
    """What lies between ``end`` and ``start`` of two cut lines: their meeting point, or the line squared off."""
    reach, most = float(np.hypot(*(tip - at))), MITRE_LIMIT * wider
    if reach <= most:
        return [tip]
    axis = (tip - at) / reach
    return [foot + (tip - foot) * (most - (foot - at) @ axis) / ((tip - foot) @ axis) for foot in (end, start)]


def _convex(corners: Floats) -> Iterator[shapely.Polygon]:
    """The convex polygon of some corners (k, 2), unless they lie on one line."""
    hull = shapely.LineString(corners).convex_hull
    if hull.area > 0:
        yield hull
