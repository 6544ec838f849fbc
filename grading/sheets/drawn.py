"""Takes the points of a pattern from a drawing: its nodes, named by the texts that stand on them.

A drawing holds each piece in a group or on a layer of the piece's name, or has that name itself. It is true to scale, x
from the mirror line and y up from the wrist line (thumb: from the knuckle line), or has a text 'origin' where both are
0. What is read of SVG is in ``drawn_svg``, of DXF in ``drawn_dxf``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import shapely

from grading.codes import Code
from grading.findings import Finding, Findings, Place, has_errors
from grading.geometry.arrays import Floats
from grading.geometry.beziers import directions_at
from grading.geometry.directions import turn_into
from grading.geometry.flattening import flatten
from grading.model.measured import TracedPoint
from grading.sheets.traced import MOST_POINTS

__all__ = [
    "BAR",
    "FARTHEST",
    "MOST_BYTES",
    "MOST_NODES",
    "ORIGIN",
    "DrawnPart",
    "DrawnPattern",
    "Name",
    "TooMuchError",
    "curve_of",
    "placed",
    "points_of",
    "too_much",
]

#: What a pattern stays far below: bytes of the file, nodes in all, and mm from the origin.
MOST_BYTES, MOST_NODES, FARTHEST = 10_000_000, 20_000, 20_000.0
#: The text that says where x and y are 0, and how long the bar is by which the scale is checked, mm.
ORIGIN, BAR = "origin", 100.0
#: A text within this of a node names it; a bar that is off by more, as a share, is told. mm, a ratio.
NEAR, OFF = 1.0, 0.002
#: A node this near to the mirror line, mm, is on it; and this near to a point that marks a node it is that one.
ON_MIRROR_LINE, ON_NODE = 0.05, 0.02
#: Where a curve turns by more than this at a node, in radians, the node is a turn point.
TURNS = np.radians(3)


@dataclass(frozen=True, slots=True)
class Name:
    """A text of a drawing and its place, mm. ``turn`` says whether a turn point is there, if the drawing tells."""

    text: str
    x: float
    y: float
    turn: bool | None = None


@dataclass(frozen=True, eq=False)
class DrawnPart:
    """One piece as drawn, in mm, y up: closed loops of cubics (n, 4, 2), and the texts in its group.

    ``nodes`` (m, 2) are the places of its points where a loop is but chords of its curves.
    """

    piece: str
    loops: tuple[Floats, ...]
    names: tuple[Name, ...]
    nodes: Floats | None = None


@dataclass(frozen=True, eq=False)
class DrawnPattern:
    """What a drawing holds: its pieces, and how long its bar is in mm, if it has one."""

    parts: tuple[DrawnPart, ...]
    bar: float | None = None


class TooMuchError(Exception):
    """A drawing is beyond what a pattern can be; the text says in what."""


def curve_of(segments: Iterable[Sequence[complex]]) -> Floats | None:
    """Bézier segments, each of 2 to 4 points, as cubics (n, 4, 2); None if none of them goes anywhere.

    Lines and quadratics are raised in degree, which leaves a curve as it is.
    """
    cubics = []
    for points in segments:
        if max(abs(point - points[0]) for point in points) < 1e-9:
            continue
        while (count := len(points)) < 4:
            shares = zip(range(1, count), pairwise(points), strict=True)
            inner = [(one * share + other * (count - share)) / count for share, (one, other) in shares]
            points = [points[0], *inner, points[-1]]
        cubics.append(points)
    return np.array(cubics, dtype=complex).view(float).reshape(-1, 4, 2) if cubics else None


def too_much(path: Path, what: str) -> Finding:
    """The error of a drawing that is larger than a pattern can be; ``what`` says in what."""
    expected = f"Some dozens of nodes within {FARTHEST / 1000:g} m: a pattern, and nothing else."
    action = "Save the outlines of the pieces alone, as paths, into a drawing of their own."
    return Finding.error(Code.DRAWING_TOO_LARGE, Place(path.name), what, expected, action)


def points_of(drawn: DrawnPattern, path: Path) -> tuple[tuple[TracedPoint, ...], list[Finding]]:
    """The points of a drawing's pieces in the order in which outlines run, each named by the text on it.

    The drawing has been `placed` before. Of a piece that is its own mirror image the half with x ≥ 0 is taken.
    """
    findings = Findings(_scale(drawn, path))
    if not drawn.parts:
        found = "No group, layer or block of the drawing has the name of a piece and a closed outline in it."
        expected = "A group or a layer named Trank and one named Thumb, each with its outline as closed paths."
        action = "Name them so in your drawing program, and save the drawing again."
        findings.append(Finding.error(Code.DRAWING_WITHOUT_PIECES, Place(path.name), found, expected, action))
    points = [point for part in drawn.parts for point in findings.gather(_part_points(part, path))]
    if len(points) > MOST_POINTS:
        return (), [too_much(path, f"The drawing has {len(points)} nodes with a name.")]
    return (() if has_errors(findings) else tuple(points)), findings


def _scale(drawn: DrawnPattern, path: Path) -> Iterator[Finding]:
    if drawn.bar is None:
        found = "The drawing has no bar of 100 mm, so its scale cannot be checked."
        expected = "A straight line of 100 mm in a group or on a layer called 'bar of 100 mm'."
        action = "Measure a known length in your drawing program, or draw the bar before the drawing is scaled."
        yield Finding.note(Code.DRAWING_WITHOUT_BAR, Place(path.name), found, expected, action)
    elif abs(drawn.bar / BAR - 1) > OFF:
        yield Finding.error(
            Code.DRAWING_OFF_SCALE,
            Place(path.name),
            f"The bar of 100 mm is {drawn.bar:.2f} mm long.",
            "100 mm: everything else is off by as much.",
            f"Scale the drawing to {10000 / drawn.bar:.2f} %, or look whether its unit is mm.",
        )


def placed(drawn: DrawnPattern) -> DrawnPattern:
    """Each piece with its own origin at (0, 0), its outline first, and turned over if its cut-out lies at x below zero.

    That is where the palm half of a pattern is not: it was drawn for the other hand, or from the other face.
    """
    return replace(drawn, parts=tuple(_at_origin(part) for part in drawn.parts))


def _at_origin(part: DrawnPart) -> DrawnPart:
    origin = next((name for name in part.names if name.text.strip().casefold() == ORIGIN), None)
    move = np.array([origin.x, origin.y]) if origin else np.zeros(2)
    loops = sorted((loop - move for loop in part.loops), key=lambda loop: -_area(loop))
    names = [replace(name, x=name.x - float(move[0]), y=name.y - float(move[1])) for name in part.names]
    nodes = None if part.nodes is None else part.nodes - move
    if len(loops) > 1 and sum(loop[:, 0, 0].mean() for loop in loops[1:]) < 0:
        loops = [loop[::-1, ::-1] * (-1, 1) for loop in loops]
        names = [replace(name, x=-name.x) for name in names]
        nodes = None if nodes is None else nodes * (-1, 1)
    return DrawnPart(part.piece, tuple(loops), tuple(names), nodes)


def _area(loop: Floats) -> float:
    return float(shapely.Polygon(flatten(loop, 0.1)).area)


def _part_points(part: DrawnPart, path: Path) -> tuple[list[TracedPoint], list[Finding]]:
    points: list[TracedPoint] = []
    findings: list[Finding] = []
    # Of several texts at one place the first counts: thousands of them would be looked through for each node.
    firsts = {(name.x, name.y): name for name in reversed(part.names) if np.isfinite([name.x, name.y]).all()}
    names, tree = list(firsts.values()), _tree(np.array(list(firsts)))
    for number, loop in enumerate(part.loops):
        for x, y, turns in _in_order(loop, part.nodes, half=number == 0 and _symmetric(loop)):
            name = _text_near(names, tree, x, y)
            place = Place(path.name, piece=part.piece)
            if name is None:
                found = f"The node at x {x:.1f}, y {y:.1f} mm has no name."
                expected = "The name of its point, as a text whose lower left corner lies on the node."
                action = "Write it there (a point of the standard mitten says how it moves), or take the node away."
                findings.append(Finding.error(Code.NODE_WITHOUT_NAME, place, found, expected, action))
                continue
            turn = turns if name.turn is None else name.turn
            points.append(TracedPoint(part.piece, name.text, round(x, 6), round(y, 6), turn, name.text, place))
    return points, findings


def _symmetric(loop: Floats) -> bool:
    """Whether a loop is its own mirror image about x = 0, and so its half says it all."""
    ring = shapely.Polygon(flatten(loop, 0.05))
    image = shapely.transform(ring, lambda points: points * (-1, 1))
    return bool(ring.is_valid and ring.symmetric_difference(image).area < 0.01 * ring.area)


def _in_order(loop: Floats, nodes: Floats | None, *, half: bool) -> Iterator[tuple[float, float, bool]]:
    """The nodes of a loop from the top, towards +x first: x, y, and whether a corner is there. Of a half only x ≥ 0."""
    places, turns = loop[:, 0], _turns(loop)
    if nodes is not None:
        near = _tree(nodes).query_nearest(shapely.points(places), max_distance=ON_NODE, all_matches=False)[0]
        places, turns = places[near], turns[near]
    places = np.where(np.abs(places) < ON_MIRROR_LINE * np.array([1, 0]), 0.0, places)
    if half:
        kept = places[:, 0] >= 0
        top = int(np.argmax(np.where(places[:, 0] == 0, places[:, 1], -np.inf)))
    else:
        kept = np.ones(len(places), dtype=bool)
        top = int(np.argmax(places[:, 1]))
    ring = np.roll(np.arange(len(places)), -top)
    if places[ring[1], 0] < places[ring[-1], 0]:
        ring = np.concatenate([ring[:1], ring[:0:-1]])
    for i in ring:
        if kept[i]:
            yield float(places[i, 0]), float(places[i, 1]), bool(turns[i])


def _tree(places: Floats) -> shapely.STRtree:
    places = places.reshape(-1, 2)
    return shapely.STRtree(shapely.points(places[np.isfinite(places).all(axis=1)]))


def _turns(loop: Floats) -> Floats:
    """Whether the curve has a corner at each node (n,): its tangents before and after differ."""
    before = directions_at(np.roll(loop, 1, axis=0), np.ones(len(loop)))
    turns: Floats = np.abs(turn_into(before, directions_at(loop, np.zeros(len(loop))))) > TURNS
    return turns


def _text_near(names: Sequence[Name], tree: shapely.STRtree, x: float, y: float) -> Name | None:
    """The text nearest to a place, if any is near; ``tree`` has the places of the names."""
    near = tree.query_nearest(shapely.Point(x, y), max_distance=NEAR)
    if not len(near):
        return None
    name = names[int(near.min())]
    # A piece that is its own mirror image may have been turned over: then a point's image stands for it.
    return replace(name, text=name.text.rstrip("'"))
