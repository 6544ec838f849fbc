"""The cut line of a sew line: every edge's seam allowance laid on, outside a boundary, inside a cut-out.

The areas of the allowances are united with the piece, or taken out of the hole: set operations leave no loop or
tangle behind, where moving a polygon's points along their normals does. What they do leave behind silently is an
allowance that did not find room; so every stretch of the curve at the allowance's distance is then looked for
on the cut line, and what is missing is told as a ``Problem``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.geometry.allowances import GRID, SMOOTH, SewEdge, SewLine, areas, ends_in_step, sampled
from grading.geometry.arrays import Floats
from grading.geometry.beziers import points_at

__all__ = ["CutLine", "Problem", "SewEdge", "Trouble", "boundary_cut_line", "cutout_cut_line"]

#: How often (mm) the curve at a distance is looked for on the cut line, and how near counts as found.
LOOK, FOUND = 1.0, 0.002

#: Where allowances overlap at an inner corner the two cut lines are trimmed by a known length, if they are
#: straight; curved ones by somewhat more. More than so many times as much is no corner, but a bay that closes.
CORNER_SHARE = 2.0

#: Areas smaller than this (mm²) are crumbs of rounding.
CRUMB = 1e-4


class Trouble(Enum):
    """Why an allowance cannot be laid on; the comments say what ``Problem.figure`` then is."""

    TIGHT_CURVE = "tight curve"  # the radius in mm of a bend towards the allowance, less than the allowance
    CLOSED_BAY = "closed bay"  # how many mm of the edge have no cut line: another edge's allowance lies there
    VANISHED_HOLE = "vanished hole"  # the hole's area in mm², all of it taken up by the allowances
    SPLIT_HOLE = "split hole"  # how many holes are left
    CROSSED_SEW_LINE = "crossed sew line"  # 0; the sew line crosses or touches itself and bounds no one area


@dataclass(frozen=True, slots=True)
class Problem:
    """One reason why a cut line cannot be used: what, on which edge (None: on the loop), where, how much.

    ``x``, ``y`` (mm) is a point of the sew line for a problem of an edge, of the area for one of the loop;
    ``allowance`` (mm) is the edge's, or the loop's widest; ``figure`` is as ``Trouble`` says.
    """

    trouble: Trouble
    edge: int | None
    x: float
    y: float
    allowance: float
    figure: float


@dataclass(frozen=True, eq=False)
class CutLine:
    """A cut line (m, 2) and the sew line (k, 2) it was made from, as closed polygons in mm.

    The first vertex is not repeated; both run the way the edges run. ``polygon`` is empty where no cut line
    exists, and the largest part where a hole splits. Without ``problems`` it is one simple polygon that holds
    the sew polygon (lies inside it, at a cut-out), and each edge has its allowance within 0.005 mm; an edge
    without allowance has the sew polygon's own vertices.
    """

    polygon: Floats
    sew: Floats
    problems: tuple[Problem, ...]

    def __repr__(self) -> str:
        troubles = ", ".join(problem.trouble.value for problem in self.problems)
        return f"<CutLine: {len(self.polygon)} vertices; {troubles or 'no problems'}>"


def boundary_cut_line(edges: Sequence[SewEdge]) -> CutLine:
    """The cut line round a piece: allowances go outwards. The edges follow one another, either way round.

    Outer corners are mitred, and squared off beyond the mitre limit. Where the two cut lines do not meet, at a
    smooth or shallow joint of two allowances, the wider one ends in a square step.
    Raises ValueError if an allowance is negative or the edges do not join up into one closed loop.

    >>> starts = np.array([[0, 0], [10, 0], [10, 10], [0, 10.0]])
    >>> step = (np.roll(starts, -1, axis=0) - starts) / 3
    >>> sides = starts[:, None] + step[:, None] * np.arange(4)[:, None]
    >>> square = boundary_cut_line([SewEdge(side[None], width) for side, width in zip(sides, [3, 3, 3, 0])])
    >>> shapely.Polygon(square.polygon).bounds
    (0.0, -3.0, 13.0, 13.0)
    """
    line = sampled(edges, outwards=True)
    piece = shapely.Polygon(line.polygon)
    if not piece.is_valid:
        return _crossed(line, piece)
    whole = _united([piece, *areas(line)])
    encloses_waste = any(shapely.Polygon(ring).area > CRUMB for ring in whole.interiors)
    problems = _edge_problems(line, whole.exterior, 0 if encloses_waste else CORNER_SHARE)
    return CutLine(_vertices(whole.exterior, line), line.polygon, tuple(problems))


def cutout_cut_line(edges: Sequence[SewEdge]) -> CutLine:
    """The cut line of a hole: allowances go into it. Edges, corners, steps and errors are as for a boundary."""
    line = sampled(edges, outwards=False)
    hole = shapely.Polygon(line.polygon)
    if not hole.is_valid:
        return _crossed(line, hole)
    left = shapely.difference(hole, _united(areas(line)), grid_size=GRID)
    parts = sorted(shapely.get_parts(left), key=lambda part: part.area, reverse=True)
    parts = [part for part in parts if part.area > CRUMB]
    if not parts:
        vanished = _loop_problem(Trouble.VANISHED_HOLE, line, hole.representative_point(), hole.area)
        return CutLine(np.empty((0, 2)), line.polygon, (*_tight_curves(line), vanished))
    problems = list(_edge_problems(line, parts[0].exterior, CORNER_SHARE))
    if len(parts) > 1:
        at = parts[0].representative_point()
        problems.append(_loop_problem(Trouble.SPLIT_HOLE, line, at, len(parts)))
    return CutLine(_vertices(parts[0].exterior, line), line.polygon, tuple(problems))


@np.errstate(divide="ignore", invalid="ignore")
def _united(polygons: list[shapely.Polygon]) -> shapely.Polygon | shapely.MultiPolygon:
    """The union of polygons on the grid. GEOS divides by zero on the way where lines are parallel: no matter."""
    return shapely.union_all(polygons, grid_size=GRID)


def _vertices(ring: shapely.LinearRing, line: SewLine) -> Floats:
    """The vertices (m, 2) of a ring, the first not repeated, in the direction of the sew line."""
    vertices: Floats = shapely.get_coordinates(ring)[:-1]
    return vertices if ring.is_ccw == shapely.LinearRing(line.polygon).is_ccw else vertices[::-1]


def _loop_problem(trouble: Trouble, line: SewLine, at: shapely.Point, figure: float) -> Problem:
    return Problem(trouble, None, at.x, at.y, float(line.allowance.max()), figure)


def _crossed(line: SewLine, area: shapely.Polygon) -> CutLine:
    """No cut line, since the sew line crosses itself; where, stands in the validity's reason: '…[x y]'."""
    x, y = shapely.is_valid_reason(area).partition("[")[2].rstrip("]").split()
    crossing = shapely.Point(float(x), float(y))
    problem = _loop_problem(Trouble.CROSSED_SEW_LINE, line, crossing, 0.0)
    return CutLine(np.empty((0, 2)), line.polygon, (problem,))


def _edge_problems(line: SewLine, cut: shapely.LinearRing, corner_share: float) -> Iterator[Problem]:
    """Curves too tight, then edges that the cut line misses elsewhere than along those."""
    tight = list(_tight_curves(line))
    yield from tight
    yield from _bays(line, cut, corner_share, tight)


def _tight_curves(line: SewLine) -> Iterator[Problem]:
    """The tightest bend of each edge that bends towards its allowance with a radius less than the allowance."""
    bends = -line.side * line.bends
    tightest = bends.argmax(axis=1)
    excess = bends.max(axis=1) * line.allowance
    for edge in sorted(set(line.edge[excess > 1].tolist())):
        segment = np.flatnonzero(line.edge == edge)[excess[line.edge == edge].argmax()]
        place = segment, tightest[segment]
        x, y = points_at(line.beziers[segment], line.bends_at[place])
        allowance, radius = float(line.allowance[segment]), float(1 / bends[place])
        yield Problem(Trouble.TIGHT_CURVE, edge, float(x), float(y), allowance, radius)


def _looks(line: SewLine) -> tuple[NDArray[np.intp], Floats, Floats, Floats]:
    """Where the cut line is looked for: evenly along the chords of each segment, in the line's order.

    Of each look the segment (n,) and the point (n, 2) of the sew line, the place (n, 2) at the allowance's distance,
    and the length (n,) of sew line in mm that it stands for.
    """
    start = np.delete(np.arange(len(line.points)), line.last)
    chords = np.hypot(*(line.points[start + 1] - line.points[start]).T)
    images = np.hypot(*(line.shifted[start + 1] - line.shifted[start]).T)
    count = np.maximum(1, np.ceil(np.maximum(chords, images) / LOOK)).astype(np.intp)
    chord = np.repeat(np.arange(len(start)), count)
    nth = np.arange(len(chord)) - np.repeat(np.cumsum(count) - count, count)
    share = ((nth + 0.5) / count[chord])[:, None]
    segment = np.repeat(np.arange(len(line.first)), line.last - line.first)[chord]
    i = start[chord]
    points = line.points[i] * (1 - share) + line.points[i + 1] * share
    shifted = line.shifted[i] * (1 - share) + line.shifted[i + 1] * share
    return segment, points, shifted, (chords / count)[chord]


def _bays(line: SewLine, cut: shapely.LinearRing, corner_share: float, tight: list[Problem]) -> Iterator[Problem]:
    """One problem for every edge that the cut line does not follow all along, stretches with a tight curve aside.

    A stretch is what lies between two corners or steps. Next to an inner corner it may be trimmed.
    """
    of_segment, points, shifted, length = _looks(line)
    shapely.prepare(cut)
    lost = ~shapely.dwithin(cut, shapely.points(shifted), FOUND)
    if not lost.any():
        return
    tight_edges = {problem.edge for problem in tight}
    for segments, trimmed_at_start, trimmed_at_end in _stretches(line):
        if not tight_edges.isdisjoint(line.edge[segments].tolist()):
            lost[np.isin(of_segment, segments)] = False
            continue
        order = np.concatenate([np.flatnonzero(of_segment == segment) for segment in segments])
        if lost[order].all():
            continue
        along = np.cumsum(length[order])
        from_start, from_end = along - length[order], along[-1] - along
        trimmed = (from_start < corner_share * trimmed_at_start) | (from_end < corner_share * trimmed_at_end)
        lost[order[trimmed]] = False
    edges = line.edge[of_segment]
    for edge in sorted(set(edges[lost].tolist())):
        where = np.flatnonzero(lost & (edges == edge))
        x, y = points[where[len(where) // 2]]
        allowance = float(line.allowance[of_segment[where[0]]])
        yield Problem(Trouble.CLOSED_BAY, edge, float(x), float(y), allowance, float(length[where].sum()))


def _stretches(line: SewLine) -> Iterator[tuple[NDArray[np.intp], float, float]]:
    """The stretches of a line from one corner or step to the next.

    Each as its segments, in order, and the lengths in mm by which its cut line is trimmed at start and end.
    """
    count = len(line.turn)
    allowance_after = np.roll(line.allowance, -1)
    breaks = np.flatnonzero((np.abs(line.turn) > SMOOTH) | (line.allowance != allowance_after))
    if len(breaks) == 0:
        yield np.arange(count), 0.0, 0.0
        return
    trims = [_trims(line.allowance[i], allowance_after[i], line.turn[i]) for i in breaks]
    for k, start in enumerate(breaks):
        end = breaks[(k + 1) % len(breaks)]
        segments = (start + 1 + np.arange((end - start - 1) % count + 1)) % count
        yield segments, trims[k][1], trims[(k + 1) % len(breaks)][0]


def _trims(before: float, after: float, turn: float) -> tuple[float, float]:
    """How many mm of straight cut lines at distances ``before`` and ``after`` an inner corner takes from each.

    They are trimmed where they meet; where they do not, the wider allowance's square end covers the other one.
    """
    if turn > -SMOOTH:
        return 0.0, 0.0
    cosine, sine = np.cos(turn), -np.sin(turn)
    if ends_in_step(before, after, turn):
        return 0.0, after * sine / cosine
    if ends_in_step(after, before, turn):
        return before * sine / cosine, 0.0
    return (after - before * cosine) / sine, (before - after * cosine) / sine
