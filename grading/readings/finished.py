"""The finished piece as it lies flat, seen from palm and back: folded, turned and set together as the block says.

Everything is taken from the block's own rows: the mirror line that a piece is folded on, the fold lines beyond which a
part is turned to the outside, and the seams by which another piece is set into a cut-out. What another layer hides
from the viewer is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
import shapely.affinity

from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.arrays import Floats
from grading.geometry.directions import left_of
from grading.geometry.flattening import flatten
from grading.model.block import BOUNDARY, Block, Seam
from grading.model.hands import OUTSIDE
from grading.readings.marks import fold_lines, slits, turns
from grading.readings.walks import Walk, walked_sides

__all__ = ["Finished", "Layer", "finished", "outermost", "unseen_parts"]

#: How near chords follow the sew lines, and how near two lines must lie to be one, mm.
ROUGH, SAME = 0.15, 0.08
_FAR = 1e4

Placed = Callable[[Floats], Floats]


@dataclass(frozen=True, eq=False)
class Layer:
    """A layer of leather as it lies before the viewer, in mm: x to the right from the fold, y to the fingers.

    ``fold`` names the fold line beyond which the part is turned, and is blank for what is not turned. ``area`` is what
    is seen of it, ``edges`` where it ends and ``seams`` where it is sewn to what lies beside it.
    """

    piece: str
    fold: str
    area: shapely.Geometry
    edges: shapely.Geometry
    seams: shapely.Geometry


@dataclass(frozen=True, eq=False)
class Finished:
    """One hand's piece from both sides: the layers that are seen, the nearest first."""

    hand: str
    palm: tuple[Layer, ...]
    back: tuple[Layer, ...]


@lru_cache(maxsize=2)  # drawn at several scales, one after the other
def finished(run: SizeRun, size: int, hand: str) -> Finished:
    """The finished piece of a size for a hand."""
    layers = list(_layers(outermost(run), size))
    view = run.block.view(hand)
    # Seen from outside; the palm then faces the viewer where it does on the skin that lies with its outside up.
    palm, back = layers, [_moved(layer, lambda points: points * [-1, 1]) for layer in layers]
    if view.reversed == (view.face == OUTSIDE):
        palm, back = back, palm
    return Finished(hand, tuple(_seen(palm)), tuple(_seen(reversed(back))))


def _turned_parts(block: Block, piece: GradedPiece, size: int) -> tuple[shapely.Geometry, dict[str, shapely.Geometry]]:
    """What is left of a piece within its fold lines, and by the name of each the part beyond it, as it is cut.

    The part beyond a fold line is the smaller one.
    """
    whole = _polygon(piece, size)
    body, beyond = whole, {}
    for mark, start, end in fold_lines(block, piece.name):
        sides = [_half_plane(piece.point(start)[size], piece.point(end)[size], way) for way in (1, -1)]
        (turned, _), (_, kept) = sorted(
            ((whole.intersection(half), half) for half in sides), key=lambda side: float(shapely.area(side[0]))
        )
        beyond[mark.name] = turned
        body = body.intersection(kept)
    return body, beyond


def outermost(run: SizeRun) -> SizeRun:
    """The run without the pieces of its lining, of which nothing is seen, and their seams."""
    seen = {name: piece for name, piece in run.pieces.items() if not piece.shape.piece.lining}
    seams = tuple(seam for seam in run.block.seams if seen.keys() >= set(seam.pieces))
    return replace(run, pieces=seen, block=replace(run.block, seams=seams))


def unseen_parts(block: Block, piece: GradedPiece, size: int) -> shapely.Geometry:
    """Where a piece does not show its face when it is worn, as it is cut: what is turned, and what lies under that."""
    body, beyond = _turned_parts(block, piece, size)
    hidden = []
    for mark, start, end in turns(block, piece.name):
        turned, over = beyond[mark.name], _reflection(piece.point(start)[size], piece.point(end)[size])
        hidden += [turned, shapely.transform(turned, over).intersection(body)]
    return shapely.union_all(hidden)


def _layers(run: SizeRun, size: int) -> Iterator[Layer]:
    """Every layer as it lies before whoever looks at the palm of a left hand, the nearest first, nothing hidden yet."""
    body = _body(run)
    piece = run.pieces[body]
    set_in = _sewn_into(run, body)
    for (loop, other), seams in set_in.items():
        yield from _set_in(run, size, body, loop, other, seams)
    filled = [_ring(piece, loop, size) for loop, _ in set_in]
    palm, turned = _folded(run, piece, size, 1)
    yield from turned
    yield palm
    yield from _hung(run, size, body, 1)
    facing = run.pieces[_back_of(run, body)]
    back, turned = _folded(run, facing, size, -1 if facing.mirrored else 1)
    # A cut-out in the palm that something is sewn into shows nothing of the back.
    yield replace(back, area=shapely.union_all([back.area, *filled]) if filled else back.area)
    yield from turned
    yield from _hung(run, size, body, -1)


def _hung(run: SizeRun, size: int, body: str, half: int) -> Iterator[Layer]:
    """One half (1 or −1) of every piece that is sewn to an end of a folded body: folded too, it hangs from that end.

    It lies as wide as it is relaxed, the end level.
    """
    if not run.pieces[body].mirrored:
        return
    ends: dict[str, float] = {}
    for seam, loop, other in _sewn_to(run, body):
        if loop == BOUNDARY:
            walk = next(one for one in walked_sides(run, seam) if one.piece == body)
            ends.setdefault(other, float(walk.beziers[size, ..., 1].mean()))
    middle = float(run.pieces[body].points[size][:, 1].mean())
    for name, level in ends.items():
        layer, _ = _folded(run, run.pieces[name], size, half)
        _, low, _, high = shapely.bounds(layer.area)
        up = level - (high if level < middle else low)
        area, edges = (shapely.affinity.translate(shape, 0, up) for shape in (layer.area, layer.edges))
        yield Layer(name, "", area, edges, shapely.MultiLineString())


def _body(run: SizeRun) -> str:
    """The piece that others are set into, or else the largest."""
    return _largest(run, [name for name in run.pieces if _sewn_into(run, name)] or run.pieces)


def _largest(run: SizeRun, names: Iterable[str]) -> str:
    """The largest of some pieces, by their areas in the first size."""
    return max(names, key=lambda name: float(shapely.area(_polygon(run.pieces[name], 0))))


def _back_of(run: SizeRun, body: str) -> str:
    """The piece that lies behind the body: itself where it is folded, else the largest one sewn to its outline."""
    if run.pieces[body].mirrored:
        return body
    inserted = {other for _, other in _sewn_into(run, body)}
    return _largest(run, [other for _, _, other in _sewn_to(run, body) if other not in inserted] or [body])


def _sewn_to(run: SizeRun, body: str) -> Iterator[tuple[Seam, str, str]]:
    """Every seam of a piece with another one: the seam, the piece's loop that it runs along, and the other piece."""
    edges = run.pieces[body].shape.edges
    for seam in run.block.seams:
        for side, other in (seam.sides, seam.sides[::-1]):
            if side.piece == body != other.piece:
                yield seam, edges[side.edges[0]].loop, other.piece


def _sewn_into(run: SizeRun, body: str) -> dict[tuple[str, str], list[Seam]]:
    """The seams by which others are sewn into a piece, by its cut-out and the other piece."""
    seams: dict[tuple[str, str], list[Seam]] = {}
    for seam, loop, other in _sewn_to(run, body):
        if loop != BOUNDARY:
            seams.setdefault((loop, other), []).append(seam)
    return seams


def _folded(run: SizeRun, piece: GradedPiece, size: int, half: int) -> tuple[Layer, list[Layer]]:
    """One half (1 or −1) of a piece folded on its mirror line, or all of another, and its parts that are turned."""
    body, beyond = _turned_parts(run.block, piece, size)
    side = shapely.box(0, -_FAR, _FAR, _FAR) if half > 0 else shapely.box(-_FAR, -_FAR, 0, _FAR)
    cuts = shapely.MultiLineString(
        [[piece.point(start)[size], piece.point(end)[size]] for _, start, end in slits(run.block, piece.name)]
    )

    def layer(area: shapely.Geometry, cut: shapely.Geometry, fold: str) -> Layer:
        if piece.mirrored:
            area, cut = (shapely.transform(one.intersection(side), lambda p: p * [half, 1]) for one in (area, cut))
        edges = shapely.boundary(area) if cut.is_empty else shapely.boundary(area).union(cut)
        return Layer(piece.name, fold, area, edges, shapely.MultiLineString())

    turned = []
    for mark, start, end in fold_lines(run.block, piece.name):
        over = _reflection(piece.point(start)[size], piece.point(end)[size])
        part, cut = (shapely.transform(one, over) for one in (beyond[mark.name], cuts.intersection(beyond[mark.name])))
        turned.append(layer(part, cut, mark.name))
    return layer(body, cuts.intersection(body), ""), turned


def _set_in(run: SizeRun, size: int, body: str, loop: str, other: str, seams: Sequence[Seam]) -> Iterator[Layer]:
    """A piece that is folded on its own mirror line and set into a cut-out, from the nearest layer to the last.

    It stands as it is sewn: the ends of its seam lie on those of the cut-out, and its free end towards the fold. What
    lies beyond the first of those ends keeps its shape; the rest is drawn together to meet the cut-out.
    """
    hole, inset = _ring(run.pieces[body], loop, size), run.pieces[other]
    rim, edge = max(_walks(run, seams, body), key=lambda walks: float(walks[1].beziers[size, ..., 0].mean()))
    sewn = flatten(edge.beziers[size], ROUGH)
    area, turned = _folded(run, inset, size, 1)
    ends = _folded_points(inset, np.array([rim.beziers[size, 0, 0], rim.beziers[size, -1, 3]]))
    ways = [_placing(ends, sewn[[0, -1]], flipped) for flipped in (False, True)]
    place = min(ways, key=lambda way: float(way(shapely.get_coordinates(area.area))[:, 0].mean()))
    outline = place(_without_rim(area.area, _folded_points(inset, flatten(rim.beziers[size], ROUGH))))
    if np.hypot(*(outline[0] - sewn[0])) < np.hypot(*(outline[0] - sewn[-1])):
        outline = outline[::-1]
    tube = shapely.make_valid(shapely.Polygon([*sewn, *outline]))
    free = shapely.LineString([sewn[-1], *outline, sewn[0]])
    turned = [_moved(one, place) for one in turned]
    yield from turned
    yield Layer(other, "", tube, free, shapely.LineString(sewn))
    rest = shapely.boundary(hole).difference(shapely.LineString(sewn).buffer(SAME))
    yield Layer(other, "", hole, shapely.MultiLineString(), rest)
    yield from turned


def _walks(run: SizeRun, seams: Sequence[Seam], body: str) -> Iterator[tuple[Walk, Walk]]:
    """The sides of each seam, that of the piece which is set in first and that of the body's cut-out second."""
    for seam in seams:
        a, b = walked_sides(run, seam)
        yield (b, a) if a.piece == body else (a, b)


def _folded_points(piece: GradedPiece, points: Floats) -> Floats:
    """Where points (n, 2) of a piece lie once it is folded on its mirror line, if it has one."""
    return np.column_stack([np.abs(points[:, 0]), points[:, 1]]) if piece.mirrored else points


def _placing(ends: Floats, onto: Floats, flipped: bool) -> Placed:
    """The way to lay a piece so that both its ends (2, 2) lie ``onto`` others: turned about the first one, mirrored or
    not, and drawn together evenly beyond its height towards the other.
    """
    mirror = np.array([-1.0 if flipped else 1.0, 1.0])
    first, last = ends * mirror
    (ax, ay), (bx, by) = last - first, onto[1] - onto[0]
    angle = np.arctan2(by, bx) - np.arctan2(ay, ax)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    short = onto[1] - onto[0] - (last - first) @ turn
    rise = last[1] - first[1]

    def place(points: Floats) -> Floats:
        own = points * mirror
        share = np.clip((own[:, 1] - first[1]) / rise, 0, 1) if rise else np.zeros(len(own))
        placed: Floats = (own - first) @ turn + onto[0] + share[:, None] * short
        return placed

    return place


def _without_rim(area: shapely.Geometry, rim: Floats) -> Floats:
    """The outline (n, 2) of a folded piece without the stretch along which it is set in."""
    rest = shapely.line_merge(shapely.boundary(area).difference(shapely.LineString(rim).buffer(SAME)))
    longest: Floats = shapely.get_coordinates(max(shapely.get_parts(rest), key=shapely.length))
    return longest


def _moved(layer: Layer, place: Placed) -> Layer:
    area, edges, seams = (shapely.transform(one, place) for one in (layer.area, layer.edges, layer.seams))
    return replace(layer, area=shapely.make_valid(area), edges=edges, seams=seams)


def _seen(layers: Iterable[Layer]) -> Iterator[Layer]:
    """What is seen of each layer beside those that lie nearer."""
    covered: shapely.Geometry = shapely.Polygon()
    for layer in layers:
        near = covered.buffer(SAME, quad_segs=2)
        area = layer.area.difference(near)
        edges, seams = layer.edges.difference(near), layer.seams.difference(near)
        if not (area.is_empty and edges.is_empty and seams.is_empty):
            yield replace(layer, area=area, edges=shapely.line_merge(edges), seams=shapely.line_merge(seams))
        covered = covered.union(layer.area)


def _polygon(piece: GradedPiece, size: int) -> shapely.Geometry:
    """The piece on its sew lines, without its cut-outs."""
    whole = shapely.Polygon(flatten(piece.boundary[size], ROUGH))
    holes = [_ring(piece, loop, size) for loop in piece.beziers if loop != BOUNDARY]
    return whole.difference(shapely.union_all(holes)) if holes else whole


def _ring(piece: GradedPiece, loop: str, size: int) -> shapely.Polygon:
    return shapely.Polygon(flatten(piece.beziers[loop][size], ROUGH))


def _half_plane(start: Floats, end: Floats, way: int) -> shapely.Polygon:
    """All that lies on the left (1) or the right (−1) of the line through two points."""
    along = (end - start) / np.hypot(*(end - start)) * _FAR
    out = left_of(along) * way
    return shapely.Polygon([start - along, start + along, start + along + out, start - along + out])


def _reflection(start: Floats, end: Floats) -> Placed:
    """The reflection in the line through two points: where a part comes to lie that is turned over it."""
    along = (end - start) / np.hypot(*(end - start))

    def over(points: Floats) -> Floats:
        away = points - start
        reflected: Floats = start + 2 * (away @ along)[:, None] * along - away
        return reflected

    return over
