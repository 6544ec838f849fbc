"""Cutting files as DXF: for cutters of release 2000, and pattern data by ASTM D6673 of release 12.

Curves are polylines that stay within ``CHORD`` of the curve. The unit is mm: in the header for cutters, as text in
pattern data. What stands here of D6673 (the numbers of its layers; a block for each piece; statements as text, 'Piece
Name: …', 'Size: …') is from the standard's public description and, for the spelling of the statements, from memory.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator
from io import StringIO
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from grading.geometry.arrays import Floats
from grading.geometry.flattening import flatten
from grading.outputs.cutting.layers import CutLayer, CuttingFile, PieceShapes

if TYPE_CHECKING:
    from ezdxf.document import Drawing

__all__ = ["CHORD", "cutting_dxf", "pattern_data"]

#: How far chords may leave a curve, mm: somewhat less than the 0.01 mm that a cutter is promised.
CHORD = 0.008
#: Layers by ASTM D6673: boundary, turn points, curve points, notches, mirror line, grain line, internal lines,
#: internal cut-outs, drill holes, sew lines, annotation.
_OF_LAYER = {
    CutLayer.CUT_LINE: "1",
    CutLayer.NOTCHES: "4",
    CutLayer.MIRROR_LINE: "6",
    CutLayer.PILE: "7",
    CutLayer.FOLD_LINE: "8",
    CutLayer.PLACEMENT_LINE: "8",
    CutLayer.CUT_OUT: "11",
    CutLayer.SLIT: "11",
    CutLayer.TICKS: "13",
    CutLayer.SEW_LINE: "14",
    CutLayer.WORDS: "15",
}
_TURN, _CURVE, _ANNOTATION = "2", "3", "15"
#: Release 12 has layers without spaces in their names.
_BAR = "BAR_OF_100_MM"
_MILLIMETRES, _NO_UNIT = 4, 0  # $INSUNITS; release 12 knows none
_TEXT_HEIGHT = 3.5


def cutting_dxf(file: CuttingFile) -> bytes:
    """A hand's pieces beside one another, a layer for each kind of line; release 2000, the unit in the header."""
    drawing = _new("R2000", _MILLIMETRES)
    drawing.header["$MEASUREMENT"] = 1
    space = drawing.modelspace()
    for layer in CutLayer:
        drawing.layers.add(layer.value)
    for piece, place in zip(file.pieces, file.places, strict=True):
        for layer in CutLayer:
            if layer is not CutLayer.POINTS:
                _draw(space, piece, layer, layer.value, place)
    for line in file.bar:
        space.add_lwpolyline(line.tolist(), dxfattribs={"layer": CutLayer.BAR.value})
    return _bytes(drawing)


def pattern_data(file: CuttingFile, style: str, date: str, base: str) -> bytes:
    """A style file by ASTM D6673: a block for each piece of a size, its layers by number; release 12."""
    drawing = _new("R12", _NO_UNIT)
    for layer_number in (*sorted({*_OF_LAYER.values(), _TURN, _CURVE}, key=int), _BAR):
        drawing.layers.add(layer_number)
    space = drawing.modelspace()
    stated = {"Style Name": style, "Creation Date": date, "Author": "grading", "Sample Size": base, "Units": "METRIC"}
    _state(space, stated, 0.0, 0.0)
    for piece, place in {one.piece.name: (one, at) for one, at in zip(file.pieces, file.places, strict=True)}.values():
        block = drawing.blocks.new(_block_name(piece.piece.name))
        for layer in _OF_LAYER:
            if layer is not CutLayer.WORDS:
                _draw(block, piece, layer, _OF_LAYER[layer], (0.0, 0.0))
        for _, x, y, turn in piece.points:
            block.add_point((x, y), dxfattribs={"layer": _TURN if turn else _CURVE})
        for point, x, y, _ in piece.points:
            block.add_text(point, height=1.0, dxfattribs={"layer": _ANNOTATION, "insert": (x, y)})
        said = {
            "Piece Name": piece.piece.name,
            "Size": file.size,
            "Quantity": f"{piece.piece.cut_left},{piece.piece.cut_right}",
            "Material": piece.piece.material,
            "Annotation": f"{file.hand} hand",
        }
        left, bottom, _, _ = piece.bounds
        _state(block, said, left, bottom - 8)
        space.add_blockref(block.name, place, dxfattribs={"layer": "1"})
    for line in file.bar:
        for start, end in _strokes(line):
            space.add_line(start, end, dxfattribs={"layer": _BAR})
    return _bytes(drawing)


def _block_name(name: str) -> str:
    """A name that a block of release 12 may have."""
    return "".join(character if character.isalnum() or character in "-_" else "_" for character in name)


def _state(where: Any, said: dict[str, str], x: float, y: float) -> None:
    for number, (what, text) in enumerate(said.items()):
        at = {"layer": _ANNOTATION, "insert": (x, y - number * 1.5 * _TEXT_HEIGHT)}
        where.add_text(f"{what}: {text}", height=_TEXT_HEIGHT, dxfattribs=at)


def _draw(where: Any, piece: PieceShapes, layer: CutLayer, name: str, place: tuple[float, float]) -> None:
    """Everything of a piece that is on a layer, moved to its place."""
    attributes = {"layer": name}
    lightweight = where.doc.dxfversion > "AC1009"
    for curve in piece.curves.get(layer, ()):
        points = _ring(curve, place)
        (where.add_lwpolyline if lightweight else where.add_polyline2d)(points, close=True, dxfattribs=attributes)
    for line in piece.lines.get(layer, ()):
        for start, end in _strokes(line + place):
            where.add_line(start, end, dxfattribs=attributes)
    if layer is CutLayer.TICKS:
        for circle in piece.circles:
            at = (circle.x + place[0], circle.y + place[1])
            if lightweight:
                where.add_circle(at, circle.radius, dxfattribs=attributes)
            else:
                where.add_point(at, dxfattribs=attributes)
    if layer is CutLayer.WORDS:
        for words in piece.words:
            at = (words.x + place[0], words.y + place[1])
            where.add_text(words.text, height=words.height, dxfattribs={**attributes, "insert": at})


def _ring(curve: Floats, place: tuple[float, float]) -> list[tuple[float, float]]:
    points = flatten(curve, CHORD)[:-1] + place
    return [(x, y) for x, y in points.round(6).tolist()]


def _strokes(points: Floats) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    yield from pairwise([(float(x), float(y)) for x, y in np.asarray(points).round(6)])


def _new(release: str, units: int) -> Drawing:
    # Release 12 knows no unit, and ezdxf says so each time.
    logging.getLogger("ezdxf").setLevel(logging.ERROR)
    from ezdxf._options import options
    from ezdxf.filemanagement import new

    # Neither the clock nor a random name goes into the file.
    options.write_fixed_meta_data_for_testing = True
    return new(release, units=units)


def _bytes(drawing: Drawing) -> bytes:
    out = StringIO(newline="")
    drawing.write(out)
    return out.getvalue().encode(drawing.output_encoding, errors="dxfreplace")
