"""Reads the pieces of an SVG drawing: paths and shapes in groups named as pieces, in mm whatever unit it is drawn in.

Read are path (all commands), polyline, polygon, rect, circle, ellipse and line, with transforms, a view box, and sides
in mm, cm, in, pt or px (96 to the inch, as CSS has it). Styles, scripts, images, links and references are passed over,
and nothing is ever fetched: documents with a document type or entities are refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from defusedxml import DefusedXmlException
from defusedxml.ElementTree import ParseError, fromstring

from grading.codes import Code
from grading.findings import Finding, Place
from grading.geometry.arrays import Floats
from grading.sheets.drawn import FARTHEST, MOST_NODES, DrawnPart, DrawnPattern, Name, TooMuchError, curve_of, too_much

if TYPE_CHECKING:
    from svgelements import Matrix

__all__ = ["read_svg"]

#: How many mm a unit of a side is (1 in is 25.4 mm: NIST SP 811; 96 px and 72 pt to the inch: CSS).
_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96, "": 25.4 / 96}
_SIDE = re.compile(r"\s*([0-9.]+(?:[eE][-+]?[0-9]+)?)\s*(mm|cm|in|pt|pc|px)?\s*")
_FIGURE = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_SHAPES = {"path", "polyline", "polygon", "rect", "circle", "ellipse", "line"}
#: How deep groups may lie in one another.
_DEEPEST = 60
#: Characters of path data that a node takes at the least.
_LEAST_FOR_NODE = 2


def read_svg(path: Path, content: bytes, pieces: tuple[str, ...]) -> tuple[DrawnPattern, list[Finding]]:
    """The pieces of those names, and whatever stands in the way. Never raises for what the file holds."""
    try:
        root = fromstring(content, forbid_dtd=True)
        return _pattern(root, pieces, path.stem.casefold()), []
    except TooMuchError as error:
        return DrawnPattern(()), [too_much(path, str(error))]
    except (ParseError, DefusedXmlException, ValueError, ArithmeticError, LookupError, TypeError, RecursionError):
        found = "This is no SVG drawing that can be read: its XML is broken, or it holds entities or a document type."
        expected = "A plain SVG drawing of paths in named groups."
        action = "Save it again from your drawing program, as plain SVG."
        return DrawnPattern(()), [Finding.error(Code.UNREADABLE_DRAWING, Place(path.name), found, expected, action)]


def _pattern(root: Any, pieces: tuple[str, ...], stem: str) -> DrawnPattern:
    """The pieces in groups of their names; in a file of a piece's name, whatever is in no such group is that piece."""
    from svgelements import Matrix

    if _tag(root) != "svg":
        raise ValueError("no svg element")
    scale, left, top = _view(root)
    # y runs down in SVG and up here.
    start = Matrix(scale, 0, 0, -scale, -left * scale, top * scale)
    known = {piece.casefold(): piece for piece in pieces}
    loops: dict[str, list[tuple[str, Floats]]] = {}
    names: dict[str, list[Name]] = {}
    bars: list[float] = []
    nodes = 0
    for element, matrix, groups in _walk(root, start, (stem,)):
        piece = next((known[group] for group in reversed(groups) if group in known), "")
        if _tag(element) == "text":
            if piece:
                names.setdefault(piece, []).extend(_texts(element, matrix))
            continue
        in_bar = any(group.startswith("bar") for group in groups)
        if not piece and not in_bar:
            continue
        for curve, closed in _curves(element, matrix):
            nodes += len(curve)
            if nodes > MOST_NODES:
                raise TooMuchError(f"The drawing has over {MOST_NODES} nodes.")
            if not np.isfinite(curve).all() or np.abs(curve).max() > FARTHEST:
                raise TooMuchError(f"The drawing has nodes more than {FARTHEST / 1000:g} m away.")
            if in_bar:
                bars.append(float(np.hypot(*(curve[-1, 3] - curve[0, 0]))))
            elif closed:
                loops.setdefault(piece, []).append((" ".join(groups), curve))
    parts = [DrawnPart(piece, _sewn(lines), tuple(names.get(piece, ()))) for piece, lines in loops.items()]
    return DrawnPattern(tuple(part for part in parts if part.loops), max(bars, default=None))


def _sewn(lines: list[tuple[str, Floats]]) -> tuple[Floats, ...]:
    """The sew lines where groups tell them apart from others, else all loops."""
    sewn = [curve for groups, curve in lines if "sew" in groups]
    return tuple(sewn or [curve for _, curve in lines])


def _view(root: Any) -> tuple[float, float, float]:
    """How many mm a unit is, and the left and the lower end of what is shown, in units."""
    width, height = (_SIDE.fullmatch(root.get(side, "")) for side in ("width", "height"))
    box = [float(figure) for figure in _FIGURE.findall(root.get("viewBox", ""))]
    if len(box) == 4 and box[2] > 0 and width is not None:
        return float(width[1]) * _UNITS[width[2] or ""] / box[2], box[0], box[1] + box[3]
    if len(box) == 4 and box[2] > 0:
        return _UNITS[""], box[0], box[1] + box[3]
    high = float(height[1]) * _UNITS[height[2] or ""] / _UNITS[""] if height is not None else 0.0
    return _UNITS[""], 0.0, high


def _tag(element: Any) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def _walk(element: Any, matrix: Matrix, groups: tuple[str, ...]) -> Iterator[tuple[Any, Matrix, tuple[str, ...]]]:
    """Every shape and text with its transform and the names of the groups that it is in, the innermost last."""
    from svgelements import Matrix

    if len(groups) > _DEEPEST:
        raise TooMuchError(f"Groups lie in one another over {_DEEPEST} deep.")
    for child in element:
        tag = _tag(child)
        if tag not in _SHAPES | {"g", "text", "a"}:
            continue
        own = Matrix(child.get("transform", "")) * matrix if child.get("transform") else matrix
        if tag in ("g", "a"):
            yield from _walk(child, own, (*groups, _name_of(child)))
        else:
            yield child, own, (*groups, _name_of(child))


def _name_of(element: Any) -> str:
    """What an element is called: its label or title if it has one, else its id."""
    label = next((value for key, value in element.attrib.items() if key.rpartition("}")[2] == "label"), "")
    title = next((child.text or "" for child in element if _tag(child) == "title"), "")
    return " ".join((label or title or element.get("id", "")).split()).casefold()


def _texts(element: Any, matrix: Matrix) -> Iterator[Name]:
    """A text and its lines, each at its own place."""
    from svgelements import Point

    turn = {"turn": True, "curve": False}.get(element.get("class", ""))
    for one in (element, *(child for child in element if _tag(child) == "tspan")):
        text = " ".join((one.text or "").split())
        if text:
            x, y = (_first_figure(one.get(key) or element.get(key)) for key in ("x", "y"))
            at = Point(x, y) * matrix
            yield Name(text, float(at.x), float(at.y), turn)


def _first_figure(text: str | None) -> float:
    match = _FIGURE.search(text or "")
    return float(match[0]) if match else 0.0


def _curves(element: Any, matrix: Matrix) -> Iterator[tuple[Floats, bool]]:
    """The subpaths of a shape as cubics (n, 4, 2) in mm, and whether each is closed."""
    from svgelements import Move
    from svgelements import Path as SvgPath

    written = _path_data(element)
    if len(_FIGURE.findall(written)) > 8 * MOST_NODES or len(written) > 40 * MOST_NODES * _LEAST_FOR_NODE:
        raise TooMuchError(f"A path has over {MOST_NODES} nodes.")
    path = SvgPath(written) * matrix
    path.reify()
    path.approximate_arcs_with_cubics()
    for sub in path.as_subpaths():
        curve = curve_of(_points(segment) for segment in sub if not isinstance(segment, Move))
        if curve is not None:
            yield curve, bool(np.hypot(*(curve[0, 0] - curve[-1, 3])) < 0.01)


def _points(segment: Any) -> list[complex]:
    """The ends of a segment, and between them its handles, as points x + iy."""
    points = (getattr(segment, name, None) for name in ("start", "control", "control1", "control2", "end"))
    return [complex(point.x, point.y) for point in points if point is not None]


def _path_data(element: Any) -> str:
    """The path data of any shape."""
    tag = _tag(element)
    if tag == "path":
        return str(element.get("d", ""))
    if tag in ("polyline", "polygon"):
        figures = _FIGURE.findall(element.get("points", ""))
        pairs = [f"{x},{y}" for x, y in zip(figures[::2], figures[1::2], strict=False)]
        return f"M {' L '.join(pairs)}{' Z' if tag == 'polygon' else ''}" if pairs else ""
    a = {key: _first_figure(element.get(key)) for key in ("x", "y", "width", "height", "cx", "cy", "r", "rx", "ry")}
    a |= {key: _first_figure(element.get(key)) for key in ("x1", "y1", "x2", "y2")}
    if tag == "line":
        return f"M {a['x1']},{a['y1']} L {a['x2']},{a['y2']}"
    if tag == "rect":
        return f"M {a['x']},{a['y']} h {a['width']} v {a['height']} h {-a['width']} Z"
    across, up = (a["r"], a["r"]) if tag == "circle" else (a["rx"], a["ry"])
    if across <= 0 or up <= 0:
        return ""
    half = f"a {across},{up} 0 1 0"
    return f"M {a['cx'] - across},{a['cy']} {half} {2 * across},0 {half} {-2 * across},0 Z"
