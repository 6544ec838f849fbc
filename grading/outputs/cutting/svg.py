"""A cutting file as SVG 1.1 (W3C): width, height and view box in mm, so that browsers and print shops keep its scale.

A group for each piece, in it a group for each layer; curves are cubic Béziers.
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from grading.geometry.arrays import Floats
from grading.outputs.cutting.layers import CutLayer, CuttingFile, PieceShapes, Words

__all__ = ["svg_file"]

#: Width of lines in mm; cutters go by the path, not by its width.
_WIDE, _NARROW = 0.5, 0.25
#: Dashes, as on printed sheets.
_DASHES = {
    CutLayer.SEW_LINE: "3 0.75",
    CutLayer.FOLD_LINE: "6 0.75 0.5 0.75 0.5 0.75",
    CutLayer.MIRROR_LINE: "6 0.75 0.5 0.75",
    CutLayer.PLACEMENT_LINE: "0.5 0.75",
}
_WIDTHS = {CutLayer.CUT_LINE: _WIDE, CutLayer.CUT_OUT: _WIDE, CutLayer.SLIT: _WIDE}


def svg_file(file: CuttingFile) -> bytes:
    """The file as bytes, the same each time."""
    return "\n".join(_lines(file)).encode() + b"\n"


def _lines(file: CuttingFile) -> Iterator[str]:
    width, height = _figure(file.width), _figure(file.height)
    yield '<?xml version="1.0" encoding="UTF-8"?>'
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" fill="none" stroke="#000" stroke-width="{_NARROW}">'
    )
    yield f"<title>{escape(file.title)}</title>"
    yield "<desc>True to scale in mm. Measure the bar of 100 mm before anything is cut.</desc>"
    taken: set[str] = set()
    for piece, place in zip(file.pieces, file.places, strict=True):
        yield from _piece(piece, place, file.height, taken)
    yield f"<g id={_name('bar of 100 mm', taken)}>"
    for line in file.bar:
        yield f'<path d="{_polyline(line, file.height)}"/>'
    yield "</g>"
    yield "</svg>"


def _piece(piece: PieceShapes, place: tuple[float, float], height: float, taken: set[str]) -> Iterator[str]:
    """A piece's group; y runs down in SVG, so that everything is turned over here."""
    name = piece.piece.name
    yield f"<g id={_name(name, taken)}>"
    yield f"<title>{escape(name)}</title>"
    for layer in CutLayer:
        marks = list(_marks(piece, layer, place, height))
        if marks:
            dashes = f' stroke-dasharray="{_DASHES[layer]}"' if layer in _DASHES else ""
            wide = f' stroke-width="{_WIDTHS[layer]}"' if layer in _WIDTHS else ""
            written = ' fill="#000" stroke="none"' if layer in (CutLayer.WORDS, CutLayer.POINTS) else ""
            yield f"<g id={_name(f'{name} {layer}', taken)}{dashes}{wide}{written}><title>{layer}</title>"
            yield from marks
            yield "</g>"
    yield "</g>"


def _marks(piece: PieceShapes, layer: CutLayer, place: tuple[float, float], height: float) -> Iterator[str]:
    for curve in piece.curves.get(layer, ()):
        yield f'<path d="{_curve(curve + place, height)}"/>'
    for line in piece.lines.get(layer, ()):
        yield f'<path d="{_polyline(line + place, height)}"/>'
    if layer is CutLayer.TICKS:
        for circle in piece.circles:
            x, y = circle.x + place[0], height - circle.y - place[1]
            yield f'<circle cx="{_figure(x)}" cy="{_figure(y)}" r="{_figure(circle.radius)}"/>'
    if layer is CutLayer.WORDS:
        for words in piece.words:
            yield _text(words, place, height)
    if layer is CutLayer.POINTS:
        for name, x, y, turn in [("origin", 0.0, 0.0, True), *piece.points]:
            kind = "turn" if turn else "curve"
            at = f'x="{_figure(x + place[0])}" y="{_figure(height - y - place[1])}"'
            yield f'<text {at} font-size="2" font-family="sans-serif" class="{kind}">{escape(name)}</text>'


def _text(words: Words, place: tuple[float, float], height: float) -> str:
    # Capitals of common sans-serif faces are about 0.72 of the font size high.
    at = f'x="{_figure(words.x + place[0])}" y="{_figure(height - words.y - place[1])}"'
    size = _figure(words.height / 0.72)
    return f'<text {at} font-size="{size}" font-family="sans-serif">{escape(words.text)}</text>'


def _curve(curve: Floats, height: float) -> str:
    """A closed path: where it starts, and a cubic for each segment."""
    points = curve * (1, -1) + (0, height)
    start = _pair(points[0, 0])
    cubics = " ".join(f"C{_pair(b)} {_pair(c)} {_pair(d)}" for _, b, c, d in points)
    return f"M{start} {cubics} Z"


def _polyline(line: Floats, height: float) -> str:
    points = line * (1, -1) + (0, height)
    return "M" + " L".join(_pair(point) for point in points)


def _pair(point: Floats) -> str:
    return f"{_figure(point[0])},{_figure(point[1])}"


def _figure(value: float) -> str:
    """A length with four decimals at most, as short as it goes."""
    shown = f"{float(value):.4f}".rstrip("0").rstrip(".")
    return "0" if shown in ("-0", "") else shown


def _name(words: str, taken: set[str]) -> str:
    """An id of letters that no other has, quoted: words with hyphens for what an id cannot hold."""
    plain = "".join(character if character.isalnum() else "-" for character in words)
    plain = plain if plain[:1].isalpha() else f"p-{plain}"
    name, number = plain, 1
    while name in taken:
        number += 1
        name = f"{plain}-{number}"
    taken.add(name)
    return quoteattr(name)
