"""Reads the pieces of a DXF drawing: on layers named as pieces, or in blocks so named with the layers of ASTM D6673."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from grading.codes import Code
from grading.findings import Finding, Place
from grading.geometry.arrays import Floats
from grading.sheets.drawn import FARTHEST, MOST_NODES, DrawnPart, DrawnPattern, Name, TooMuchError, curve_of, too_much

__all__ = ["read_dxf"]

#: How many mm a unit is, by $INSUNITS: none (taken as mm), in, ft, mm, cm, m.
_UNITS = {0: 1.0, 1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}
#: Layers of ASTM D6673: where sew lines are there they are the outline, else boundary and cut-outs; its points.
_SEWN, _CUT, _TURN, _CURVE = {"14"}, {"1", "11"}, "2", "3"
_DRAWN = {"LWPOLYLINE", "POLYLINE", "SPLINE", "ELLIPSE", "CIRCLE", "ARC", "LINE"}
#: More bytes than this are no pattern, and take long to read. So do so many blocks, and lines that say 0, as the line
#: does before each thing that a drawing has.
_MOST_BYTES, _MOST_BLOCKS, _MOST_NOUGHTS = 5_000_000, 1_000, 60_000
#: So many lines and arcs that have to be put together, and points that a spline runs through, are no pattern either;
#: nor is so long a text a name.
_MOST_OPEN, _MOST_FITTED, _LONGEST_NAME = 4_000, 1_000, 400
#: Ends of separate lines and arcs this near, mm, meet.
_MEET = 0.01


def read_dxf(path: Path, content: bytes, pieces: tuple[str, ...]) -> tuple[DrawnPattern, list[Finding]]:
    """The pieces of those names, and whatever stands in the way. Never raises for what the file holds."""
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    if len(content) > _MOST_BYTES:
        return DrawnPattern(()), [too_much(path, f"The drawing has {len(content) / 1e6:.0f} MB.")]
    lines = Counter(line.strip() for line in content.split(b"\n"))
    if lines[b"BLOCK"] > _MOST_BLOCKS or lines[b"0"] > _MOST_NOUGHTS:
        return DrawnPattern(()), [too_much(path, "The drawing has too many lines.")]
    try:
        document, _ = recover.read(BytesIO(content))
        return _pattern(document, pieces, path.stem), []
    except TooMuchError as error:
        return DrawnPattern(()), [too_much(path, str(error))]
    except (DXFError, OSError, ValueError, ArithmeticError, LookupError, TypeError, AttributeError, RecursionError):
        found = "This is no DXF drawing that can be read."
        expected = "A DXF drawing (release 12 or later, as text) of closed lines on layers named as the pieces."
        action = "Save it again from your drawing program."
        return DrawnPattern(()), [Finding.error(Code.UNREADABLE_DRAWING, Place(path.name), found, expected, action)]


def _pattern(document: Any, pieces: tuple[str, ...], stem: str) -> DrawnPattern:
    unit = _UNITS.get(int(document.header.get("$INSUNITS", 0)), 1.0)
    known = {piece.casefold(): piece for piece in pieces}
    parts = []
    for block in document.blocks:
        if piece := known.get(block.name.casefold()):
            parts.append(_part(piece, list(block), unit))
    space = list(document.modelspace())
    if not parts:
        layers: dict[str, list[Any]] = {}
        for entity in space:
            if piece := known.get(entity.dxf.layer.casefold()):
                layers.setdefault(piece, []).append(entity)
        if not layers and (piece := known.get(stem.casefold())):
            layers[piece] = [entity for entity in space if not _in_bar(entity)]
        parts = [_part(piece, entities, unit) for piece, entities in layers.items()]
    if any(not np.isfinite(loop).all() or np.abs(loop).max() > FARTHEST for part in parts for loop in part.loops):
        raise TooMuchError(f"The drawing has nodes more than {FARTHEST / 1000:g} m away.")
    bars = [_longest(entity) * unit for entity in space if _in_bar(entity)]
    return DrawnPattern(tuple(part for part in parts if part.loops), max(bars, default=None))


def _in_bar(entity: Any) -> bool:
    return str(entity.dxf.layer).casefold().startswith("bar")


def _part(piece: str, entities: Iterable[Any], unit: float) -> DrawnPart:
    entities = list(entities)
    layers = {entity.dxf.layer for entity in entities if entity.dxftype() in _DRAWN}
    wanted = _SEWN if layers & _SEWN else _CUT if layers & _CUT else layers
    outlines = [entity for entity in entities if entity.dxftype() in _DRAWN and entity.dxf.layer in wanted]
    points = [entity for entity in entities if entity.dxftype() == "POINT" and entity.dxf.layer in (_TURN, _CURVE)]
    turns = {_rounded(entity.dxf.location, unit): entity.dxf.layer == _TURN for entity in points}
    names = []
    for entity in entities:
        if entity.dxftype() in ("TEXT", "MTEXT"):
            text = entity.dxf.text if entity.dxftype() == "TEXT" else entity.text
            if len(text) > _LONGEST_NAME:
                continue
            text = text if entity.dxftype() == "TEXT" else entity.plain_text()
            at = entity.dxf.insert
            names.append(Name(text.strip(), at.x * unit, at.y * unit, turns.get(_rounded(at, unit))))
    nodes = np.array([(point.dxf.location.x, point.dxf.location.y) for point in points]) * unit if points else None
    return DrawnPart(piece, tuple(loop * unit for loop in _closed_loops(outlines)), tuple(names), nodes)


def _rounded(at: Any, unit: float) -> tuple[float, float]:
    return round(at.x * unit, 2), round(at.y * unit, 2)


def _closed_loops(entities: Iterable[Any]) -> Iterator[Floats]:
    """Closed loops of cubics: entities that close by themselves, and rings of others that meet end to end."""
    open_ones: list[Floats] = []
    nodes = 0
    for entity in entities:
        curve = _cubics(entity)
        if curve is None:
            continue
        nodes += len(curve)
        if nodes > MOST_NODES or len(open_ones) > _MOST_OPEN:
            raise TooMuchError("The drawing has too many nodes.")
        if _meets(curve[0, 0], curve[-1, 3]):
            yield curve
        else:
            open_ones.append(curve)
    yield from _rings(open_ones)


def _rings(curves: list[Floats]) -> Iterator[Floats]:
    """Loops of open curves (n, 4, 2) put together end to end, turned where needed; those that do not close are left."""
    ends = np.array([(curve[0, 0], curve[-1, 3]) for curve in curves]).reshape(-1, 2)
    if not np.isfinite(ends).all():
        raise ValueError("ends that are nowhere")
    tree = shapely.STRtree(shapely.points(ends))
    left = np.ones(len(curves), dtype=bool)
    for number, curve in enumerate(curves):
        if not left[number]:
            continue
        ring, left[number] = [curve], False
        while True:
            at = ring[-1][-1, 3]
            met = tree.query(shapely.Point(at), predicate="dwithin", distance=_MEET)
            met = met[left[met // 2]]
            if not len(met):
                break
            end = int(met.min())
            left[end // 2] = False
            more = curves[end // 2]
            ring.append(more if end % 2 == 0 else more[::-1, ::-1])
        if _meets(ring[0][0, 0], ring[-1][-1, 3]):
            yield np.concatenate(ring)


def _meets(one: Floats, other: Floats) -> bool:
    return bool(np.hypot(*(one - other)) < _MEET)


def _cubics(entity: Any) -> Floats | None:
    """An entity as cubics (n, 4, 2); None for one that has no length."""
    from ezdxf.path import make_path

    if entity.dxftype() == "SPLINE" and len(entity.fit_points) > _MOST_FITTED:
        raise TooMuchError("The drawing has too many nodes.")
    path = make_path(entity)
    commands = path.commands()
    starts = [path.start, *(command.end for command in commands)]
    # A command has its end, then its handles.
    segments = ((start, *handles, end) for start, (end, *handles) in zip(starts, commands, strict=False))
    return curve_of([complex(point.x, point.y) for point in segment] for segment in segments)


def _longest(entity: Any) -> float:
    curve = _cubics(entity) if entity.dxftype() in _DRAWN else None
    return 0.0 if curve is None else float(np.hypot(*(curve[-1, 3] - curve[0, 0])))
