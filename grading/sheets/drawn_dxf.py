"""Reads the pieces of a DXF drawing: on layers named as pieces, or in blocks so named with the layers of ASTM D6673."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np

from grading.findings import Finding, Place
from grading.geometry.arrays import Floats
from grading.sheets.drawn import FARTHEST, MOST_NODES, Drawn, DrawnPart, Name, too_much

__all__ = ["read_dxf"]

#: How many mm a unit is, by $INSUNITS: none (taken as mm), in, ft, mm, cm, m.
_UNITS = {0: 1.0, 1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}
#: Layers of ASTM D6673: where sew lines are there they are the outline, else boundary and cut-outs; its points.
_SEWN, _CUT, _TURN, _CURVE = {"14"}, {"1", "11"}, "2", "3"
_DRAWN = {"LWPOLYLINE", "POLYLINE", "SPLINE", "ELLIPSE", "CIRCLE", "ARC", "LINE"}
#: More bytes than this are no pattern, and take long to read.
_MOST_BYTES = 5_000_000
#: Ends of separate lines and arcs this near, mm, meet.
_MEET = 0.01


def read_dxf(path: Path, content: bytes, pieces: tuple[str, ...]) -> tuple[Drawn, list[Finding]]:
    """The pieces of those names, and whatever stands in the way. Never raises for what the file holds."""
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    if len(content) > _MOST_BYTES:
        return Drawn(()), [too_much(path, f"The drawing has {len(content) / 1e6:.0f} MB.")]
    try:
        document, _ = recover.read(BytesIO(content))
        return _drawn(document, pieces, path)
    except (DXFError, OSError, ValueError, ArithmeticError, LookupError, TypeError, AttributeError, RecursionError):
        found = "This is no DXF drawing that can be read."
        expected = "A DXF drawing (release 12 or later, as text) of closed lines on layers named as the pieces."
        action = "Save it again from your drawing program."
        return Drawn(()), [Finding.error("unreadable-drawing", Place(path.name), found, expected, action)]


def _drawn(document: Any, pieces: tuple[str, ...], path: Path) -> tuple[Drawn, list[Finding]]:
    unit = _UNITS.get(int(document.header.get("$INSUNITS", 0)), 1.0)
    known = {piece.casefold(): piece for piece in pieces}
    parts = []
    for block in document.blocks:
        if piece := known.get(block.name.casefold()):
            parts.append(_part(piece, list(block), unit))
    space = list(document.modelspace())
    if len(space) + sum(len(block) for block in document.blocks) > 5 * MOST_NODES:
        return Drawn(()), [too_much(path, "The drawing has too many lines.")]
    if not parts:
        layers: dict[str, list[Any]] = {}
        for entity in space:
            if piece := known.get(entity.dxf.layer.casefold()):
                layers.setdefault(piece, []).append(entity)
        if not layers and (piece := known.get(path.stem.casefold())):
            layers[piece] = [entity for entity in space if not _in_bar(entity)]
        parts = [_part(piece, entities, unit) for piece, entities in layers.items()]
    nodes = sum(len(loop) for part in parts for loop in part.loops)
    if nodes > MOST_NODES:
        return Drawn(()), [too_much(path, f"The drawing has over {MOST_NODES} nodes.")]
    for part in parts:
        if any(not np.isfinite(loop).all() or np.abs(loop).max() > FARTHEST for loop in part.loops):
            return Drawn(()), [too_much(path, f"The drawing has nodes more than {FARTHEST / 1000:g} m away.")]
    bars = [_longest(entity) * unit for entity in space if _in_bar(entity)]
    return Drawn(tuple(part for part in parts if part.loops), max(bars, default=None)), []


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
            text = entity.dxf.text if entity.dxftype() == "TEXT" else entity.plain_text()
            at = entity.dxf.insert
            names.append(Name(text.strip(), at.x * unit, at.y * unit, turns.get(_rounded(at, unit))))
    nodes = np.array([(point.dxf.location.x, point.dxf.location.y) for point in points]) * unit if points else None
    return DrawnPart(piece, tuple(loop * unit for loop in _closed(outlines)), tuple(names), nodes)


def _rounded(at: Any, unit: float) -> tuple[float, float]:
    return round(at.x * unit, 2), round(at.y * unit, 2)


def _closed(entities: Iterable[Any]) -> Iterator[Floats]:
    """Closed loops of cubics: entities that close by themselves, and rings of others that meet end to end."""
    open_ones = []
    for entity in entities:
        curve = _cubics(entity)
        if curve is None:
            continue
        if _meets(curve[0, 0], curve[-1, 3]):
            yield curve
        else:
            open_ones.append(curve)
    while open_ones:
        ring = open_ones.pop()
        while True:
            at = ring[-1, 3]
            found = next(
                (i for i, one in enumerate(open_ones) if _meets(at, one[0, 0]) or _meets(at, one[-1, 3])), None
            )
            if found is None:
                break
            more = open_ones.pop(found)
            ring = np.concatenate([ring, more if _meets(at, more[0, 0]) else more[::-1, ::-1]])
        if _meets(ring[0, 0], ring[-1, 3]):
            yield ring


def _meets(one: Floats, other: Floats) -> bool:
    return bool(np.hypot(*(one - other)) < _MEET)


def _cubics(entity: Any) -> Floats | None:
    """An entity as cubics (n, 4, 2); None for one that has no length."""
    from ezdxf.path import Curve3To, Curve4To, make_path

    path = make_path(entity)
    found, at = [], path.start
    for command in path.commands():
        end = command.end
        if isinstance(command, Curve4To):
            handles = [at, command.ctrl1, command.ctrl2, end]
        elif isinstance(command, Curve3To):
            handles = [at, at + (command.ctrl - at) * 2 / 3, end + (command.ctrl - end) * 2 / 3, end]
        else:
            handles = [at, at + (end - at) / 3, at + (end - at) * 2 / 3, end]
        if (end - at).magnitude > 1e-9:
            found.append([(handle.x, handle.y) for handle in handles])
        at = end
    return np.array(found) if found else None


def _longest(entity: Any) -> float:
    curve = _cubics(entity) if entity.dxftype() in _DRAWN else None
    return 0.0 if curve is None else float(np.hypot(*(curve[-1, 3] - curve[0, 0])))
