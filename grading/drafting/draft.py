"""Draft a base block from one hand, the way it is done on grid paper: line by line, from the measurements.

Each point is constructed here from the figures of the hand, in the trade's order, without the moves by which the
block is graded afterwards: the two are two routes to the same pattern.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from grading.drafting import mitten, sewing
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.model.block import Amount, Block, Kind, Point, Seam, Value
from grading.model.sizes import SizeTable

__all__ = ["base_values", "construct", "draft", "standard_block", "turn_room"]

Coordinates = dict[tuple[str, str], tuple[float, float]]

#: The bounds of foot fullness, mm: beyond a few millimetres either way the foot is another shape.
FULLNESS_BOUNDS = (-5.0, 5.0)
#: Drafted coordinates are kept to this many decimals of a millimetre.
DECIMALS = 3


def draft(
    name: str,
    groups: tuple[str, ...],
    body: Mapping[str, float],
    allowances: Mapping[str, float],
    *,
    compressed_pile: float,
    leather: float,
    date: str,
    notes: str = "",
    thumb_longer_by: float | None = None,
) -> Block:
    """A base block for one hand, its thumb already as much longer than its hole as the seam asks.

    ``body`` and ``allowances`` give every figure of ``mitten.BODY`` and ``mitten.ALLOWANCES``, in mm; without one
    for ``mitten.TURN_ROOM`` that is what the leather takes. The rim of the thumb becomes longer than the whole hole
    by ``thumb_longer_by`` mm, or else by the share that is usual.
    Raises KeyError for a missing figure.
    """
    allowances = {mitten.TURN_ROOM: turn_room(leather), **allowances}
    blank = standard_block(
        name,
        groups,
        base_values(body, allowances),
        compressed_pile=compressed_pile,
        leather=leather,
        date=date,
        notes=notes,
    )
    if thumb_longer_by is not None:
        blank = replace(blank, seams=_longer_by(thumb_longer_by))

    def block(fullness: float) -> Block:
        coordinates = construct(body, allowances, fullness)
        points = tuple(
            Point(piece, point, round(x, DECIMALS), round(y, DECIMALS), (piece, point) in mitten.TURN_POINTS, moves)
            for (piece, point), moves in mitten.POINT_MOVES.items()
            for x, y in [coordinates[piece, point]]
        )
        return replace(blank, points=points)

    return block(_fullness(block, body))


def turn_room(leather: float) -> float:
    """How much wider, mm, a side of a turned part is at its raw edge than the body: it goes round the outside."""
    return round(math.pi * leather, 2)


def standard_block(
    name: str,
    groups: tuple[str, ...],
    values: tuple[Value, ...],
    *,
    compressed_pile: float,
    leather: float,
    date: str,
    notes: str = "",
) -> Block:
    """The standard mitten with everything but its points."""
    return Block(
        name=name,
        groups=groups,
        drawn_from="inside",
        marked_on="outside",
        compressed_pile=compressed_pile,
        leather=leather,
        date=date,
        notes=notes,
        values=values,
        pieces=sewing.PIECES,
        moves=mitten.MOVES,
        points=(),
        edges=mitten.EDGES,
        seam_types=sewing.SEAM_TYPES,
        seams=sewing.SEAMS,
        marks=sewing.MARKS,
        measures=sewing.MEASURES,
        limits=sewing.LIMITS,
        making=sewing.MAKING,
        work=sewing.WORK,
    )


def base_values(body: Mapping[str, float], allowances: Mapping[str, float]) -> tuple[Value, ...]:
    """The values of the standard mitten, drafted with the figures given, in mm. Raises KeyError for a missing one."""
    measured = (Value(name, Kind.BODY, body[name], body[name]) for name in mitten.BODY)
    allowed = (
        Value(name, Kind.ALLOWANCE, allowances[name], allowances[name], note=note)
        for name, (_, _, note) in mitten.ALLOWANCES.items()
    )
    room = allowances[mitten.TURN_ROOM]
    turned = Value(mitten.TURN_ROOM, Kind.ALLOWANCE, room, room, note="how much wider a side is where it is turned")
    note = "fills or flattens the foot until the thumb fits"
    return (*measured, *allowed, turned, Value("foot fullness", Kind.BALANCE, 0.0, 0.0, *FULLNESS_BOUNDS, note))


def construct(body: Mapping[str, float], allowances: Mapping[str, float], fullness: float = 0.0) -> Coordinates:
    """The coordinates in mm of every point of the standard mitten, by piece and point."""
    return {**_trank(body, allowances), **_thumb(body, allowances, fullness)}


def _trank(body: Mapping[str, float], allowances: Mapping[str, float]) -> Coordinates:
    """The trank, from the wrist line (y = 0) and the mirror line (x = 0)."""
    side = (body["fist girth"] + allowances["hand ease"]) / 2
    finger_line = body["palm length"]
    finger_fold = finger_line + allowances["finger fold-back"] / 2
    cuff_fold = -allowances["cuff fold-back"] / 2
    waist, taper, flare = (allowances[name] for name in ("waist shaping", "finger taper", "cuff flare"))
    room, cuff = allowances[mitten.TURN_ROOM], allowances["cuff fold-back"]
    finger_body = (side - mitten.TAPERED * taper, (finger_line + finger_fold) / 2)
    below = {}
    for name, (up, narrower, wider) in mitten.SIDE.items():
        below[name] = (side - narrower * waist + wider * flare, up * (finger_line if up > 0 else cuff))

    def turned(point: tuple[float, float], fold: float, end: float) -> tuple[float, float]:
        """Where a point of the body lies in the part that is turned onto it: wider the further it is from the fold.

        ``end`` is the height on the body at which the raw edge comes to lie.
        """
        x, y = point
        return x + room * (fold - y) / (fold - end), 2 * fold - y

    points = {
        "finger centre": (0.0, 2 * finger_fold - finger_line),
        "finger edge": turned((side, finger_line), finger_fold, finger_line),
        "finger turn": turned(finger_body, finger_fold, finger_line),
        "finger fold": (side - taper, finger_fold),
        "finger body": finger_body,
        "knuckle": (side, finger_line),
        **below,
        "cuff fold": (side + flare, cuff_fold),
        "cuff turn": turned(below["cuff body"], cuff_fold, 0.0),
        "cuff waist": turned(below["waist"], cuff_fold, 0.0),
        "cuff edge": turned(below["wrist"], cuff_fold, 0.0),
        "cuff centre": (0.0, 2 * cuff_fold),
        **_hole(body, allowances),
    }
    return {(mitten.TRANK, name): point for name, point in points.items()}


def _hole(body: Mapping[str, float], allowances: Mapping[str, float]) -> dict[str, tuple[float, float]]:
    """The thumb hole, hung from T on the thumb line."""
    line = body["index-middle gap"] + allowances["thumb forward"]
    top = body["palm length"] - body["web depth"]
    length, half = body["thumb root length"], body["thumb root breadth"] / 2
    points = {"T": (line, top), "H": (line, top - length)}
    for part, (down, out) in mitten.HOLE.items():
        points[f"palm {part}"] = (line + out * half, top - down * length)
        points[f"index {part}"] = (line - out * half, top - down * length)
    return points


def _thumb(body: Mapping[str, float], allowances: Mapping[str, float], fullness: float) -> Coordinates:
    """The thumb, from the knuckle (y = 0) and the mirror line (x = 0): tube, stem, and foot from T to H."""
    tube = (body["thumb girth"] + allowances["thumb ease"]) / 2
    turn = allowances["thumb turn"]
    web = -(body["web to knuckle"] + allowances["web lowering"])
    at_web = tube + allowances["thumb flare"]
    deep = body["thumb root length"] + allowances["foot depth"]
    points = {
        "turn centre": (0.0, turn),
        "turn edge": (tube + allowances[mitten.TURN_ROOM], turn),
        "turn fold": (tube, turn / 2),
        "knuckle": (tube, 0.0),
        "stem": (tube - allowances["stem waist"], 0.5 * web),
        "T": (at_web, web),
        "H": (0.0, web - deep - fullness),
        "web centre": (0.0, web),
    }
    flare = allowances["thumb flare"]
    for name, (down, up, out) in mitten.FLARE.items():
        points[name] = (tube + out * flare, down * web + up * flare)
    for name, (across, by_width, by_depth) in mitten.FOOT.items():
        out, sink = mitten.FULLNESS[name]
        below = by_width * at_web + by_depth * deep
        points[name] = (across * at_web + out * fullness, web - below + sink * fullness)
    return {(mitten.THUMB, name): point for name, point in points.items()}


def _longer_by(ease: float) -> tuple[Seam, ...]:
    """The seams of the standard mitten, each half of the foot longer than its half of the hole by half of it."""
    half = Amount(mm=ease / 2)
    return tuple(replace(seam, target=half) if seam.balance else seam for seam in sewing.SEAMS)


def _fullness(block: Callable[[float], Block], body: Mapping[str, float]) -> float:
    """The fullness at which the foot is as much longer than its hole as the block's own seams ask.

    The engine's balance says how far the drafted foot is from that. Drafting anew moves its knots a little, so it
    is asked again until it has nothing left to say.
    """
    table = SizeTable("", ("",), tuple(body), np.array([[figure] for figure in body.values()]), (), (), ())
    fullness = 0.0
    for _ in range(5):
        fullness += float(balanced(grade(block(fullness), table)).balances[0].solved[0])
    return fullness
